//! The folder that is open, its projects in memory, and every change to them.
//! Never: acknowledges a change before it is on the disk; holds a lock while somebody only looks.
//! Start at [`Desk`]; one project is a [`seat::Seat`], joining changes is [`merge`].

mod cards;
mod merge;
pub mod seat;
mod upload;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError, Weak};
use std::time::{Duration, Instant};

use folder::{Document, Error, Expected, Saved, Shelf, Store, Watch};
use tokio::sync::broadcast;

use crate::answer::Trouble;
use crate::{Stand, tell, wire};
use seat::{Now, Seat, problems_of, stand_after, trouble, trouble_at};

/// Projects that are kept in memory; the one that was used longest ago goes first.
const MOST_SEATS: usize = 16;
/// News that wait for a window that is slow to listen.
const NEWS_WAITING: usize = 64;
/// How often a change is joined anew when an editor was quicker.
const MOST_RACES: usize = 4;
/// How long computing lets a save go first, so that on few cores it is not slowed; a slower disk then works beside it.
const HEAD_START: Duration = Duration::from_millis(5);

/// The folder that is open.
pub struct Desk {
    shelf: Shelf,
    seats: Mutex<Seats>,
    news: broadcast::Sender<wire::News>,
    this: Weak<Self>,
}

#[derive(Default)]
struct Seats {
    /// With the count of the last use.
    by_key: BTreeMap<String, (u64, Arc<Seat>)>,
    uses: u64,
}

impl Desk {
    /// Opens a folder.
    pub fn new(shelf: Shelf) -> Arc<Self> {
        let (news, _) = broadcast::channel(NEWS_WAITING);
        Arc::new_cyclic(|this| Self { shelf, seats: Mutex::default(), news, this: this.clone() })
    }

    /// Listens to what changes.
    pub fn listen(&self) -> broadcast::Receiver<wire::News> {
        self.news.subscribe()
    }

    /// A project, opened where it is not.
    pub fn seat(&self, key: &str) -> Result<Arc<Seat>, Trouble> {
        if let Some(seat) = self.known(key) {
            return Ok(seat);
        }
        let listed = self.shelf.find(key).map_err(|_| Trouble::missing("project", key))?;
        let store = self.shelf.store(key).map_err(|error| trouble_at(&listed.folder, &error))?;
        let seat = Arc::new(Seat::new(key, store));
        let mut seats = self.seats.lock().unwrap_or_else(PoisonError::into_inner);
        seats.uses += 1;
        let uses = seats.uses;
        // Another request may have opened it meanwhile; then that one stays.
        let entry = seats.by_key.entry(key.to_owned()).or_insert_with(|| (uses, Arc::clone(&seat)));
        let (kept, is_new) = (Arc::clone(&entry.1), Arc::ptr_eq(&entry.1, &seat));
        if seats.by_key.len() > MOST_SEATS {
            let oldest = seats.by_key.iter().min_by_key(|(_, (used, _))| *used).map(|(key, _)| key.clone());
            oldest.and_then(|oldest| seats.by_key.remove(&oldest));
        }
        drop(seats);
        if is_new {
            self.watch(&kept, &listed.folder);
        }
        Ok(kept)
    }

    fn known(&self, key: &str) -> Option<Arc<Seat>> {
        let mut seats = self.seats.lock().unwrap_or_else(PoisonError::into_inner);
        seats.uses += 1;
        let uses = seats.uses;
        let (used, seat) = seats.by_key.get_mut(key)?;
        *used = uses;
        Some(Arc::clone(seat))
    }

    /// Tells of what editors do. Where the folder cannot be watched, it is looked at before every change all the same.
    fn watch(&self, seat: &Arc<Seat>, folder: &std::path::Path) {
        let (desk, watched) = (self.this.clone(), Arc::downgrade(seat));
        let watch = Watch::start(folder, move || {
            if let (Some(desk), Some(seat)) = (desk.upgrade(), watched.upgrade()) {
                let mut store = seat.store();
                // What goes wrong here is told to whoever changes something next.
                let _ = desk.take_in(&seat, &mut store);
            }
        });
        if let Ok(watch) = watch {
            seat.keep(watch);
        }
    }

    fn take_in(&self, seat: &Seat, store: &mut Store) -> Result<(), Trouble> {
        if let Some(news) = seat.take_in(store)? {
            self.tell(news);
            if let Some(seat) = self.known(&seat.key) {
                self.settle(&seat, &seat.now());
            }
        }
        Ok(())
    }

    /// Searches the places on the board where an edit left them due, on a thread of its own, and then shows and tells them.
    /// What was changed again meanwhile is left to the search of that change.
    fn settle(&self, seat: &Arc<Seat>, now: &Arc<Now>) {
        let Some(due) = now.stand.clone().filter(|stand| stand.derived.is_due) else { return };
        let (desk, seat) = (self.this.clone(), Arc::clone(seat));
        // Where no thread can be had the lengths stay those of the board before, until the next edit.
        let _ = std::thread::Builder::new().name("board".to_owned()).spawn(move || {
            let is_now = || seat.now().stand.as_ref().is_some_and(|stand| Arc::ptr_eq(stand, &due));
            if !is_now() {
                return;
            }
            let settled = Arc::new(Stand::settled(&due));
            let store = seat.store();
            if !is_now() {
                return;
            }
            let now = seat.publish(&store, Some(settled));
            drop(store);
            if let Some(desk) = desk.upgrade() {
                desk.tell(wire::News {
                    key: seat.key.clone(),
                    number: now.number,
                    by: "board".to_owned(),
                    label: "Placed anew".to_owned(),
                    is_broken: !now.problems.is_empty(),
                });
            }
        });
    }

    fn tell(&self, news: wire::News) {
        // Nobody may be listening.
        let _ = self.news.send(news);
    }

    /// Tells of a change of our own, and of what an editor wrote in the same instant and it has written over: that stands among
    /// the states, from where it can be brought back.
    fn tell_own(&self, seat: &Seat, now: &Now, saved: &Saved) {
        for state in &saved.overtaken {
            self.tell(wire::News {
                key: seat.key.clone(),
                number: now.number,
                by: "editor".to_owned(),
                label: state.label.clone(),
                is_broken: false,
            });
        }
        self.tell(wire::News {
            key: seat.key.clone(),
            number: now.number,
            by: "page".to_owned(),
            label: saved.state.label.clone(),
            is_broken: !now.problems.is_empty(),
        });
    }

    /// What stands of a project.
    pub fn now(&self, key: &str) -> Result<Arc<Now>, Trouble> {
        Ok(self.seat(key)?.now())
    }

    /// The project as it stands.
    pub fn view(&self, key: &str, with: &[wire::Part]) -> Result<wire::View, Trouble> {
        let begun = Instant::now();
        let now = self.now(key)?;
        viewed(&now, key, with, begun)
    }

    /// The states that are kept, the latest first.
    pub fn states(&self, key: &str) -> Result<Vec<wire::State>, Trouble> {
        let seat = self.seat(key)?;
        let store = seat.store();
        let number = store.number();
        let mut states: Vec<wire::State> = store
            .states()
            .into_iter()
            .map(|state| wire::State {
                is_now: state.number == number,
                number: state.number,
                label: state.label,
                when: state.when,
                by: match state.from {
                    folder::Origin::Start => "start",
                    folder::Origin::Page => "page",
                    folder::Origin::Editor | folder::Origin::Overtaken => "editor",
                }
                .to_owned(),
                file: state.document.file().to_owned(),
            })
            .collect();
        states.reverse();
        Ok(states)
    }

    /// Makes a change, or only tries it.
    pub fn change(&self, key: &str, change: &wire::Change) -> Result<wire::View, Trouble> {
        let begun = Instant::now();
        let seat = self.seat(key)?;
        if change.dry {
            return self.trial(&seat, change, begun);
        }
        let mut store = seat.store();
        for _ in 0..MOST_RACES {
            self.take_in(&seat, &mut store)?;
            let now = seat.now();
            if !now.problems.is_empty() {
                return Err(Trouble::unreadable(
                    "the project cannot be read as it is, so nothing is changed in it",
                    now.problems.clone(),
                ));
            }
            let last = now.stand()?;
            if !change.over {
                let base = store.text_at(change.base, Document::Intent);
                let values = merge::clashes(base, now.text(Document::Intent), &change.edits);
                if !values.is_empty() {
                    drop(store);
                    return Err(clash(&now, key, values, &change.with, begun));
                }
            }
            let project = edited(last, &change.edits, store.folder())?;
            let text = project.source.text.clone();
            let before = now.text(Document::Intent);
            // A weather file may not be readable, and then nothing is saved; it is read before, and seldom.
            let is_same_weather = same_weather(last, &project);
            let early =
                if is_same_weather { None } else { Some(stand_after(&store, last, project.clone())?) };
            // The disk and the processor work side by side; but a save that is quick is not made to wait for the processor.
            let (saved, stand) = std::thread::scope(|scope| {
                let store = &mut *store;
                let (done, is_done) = std::sync::mpsc::channel::<()>();
                let saving = scope.spawn(move || {
                    let saved = store.save(Document::Intent, Expected::Text(before), &text, &change.label);
                    drop(done);
                    saved
                });
                // Ends when the saver drops its end, or at the latest after the head start.
                let _ = is_done.recv_timeout(HEAD_START);
                let stand = early.unwrap_or_else(|| Stand::after(last, project));
                (saving.join(), stand)
            });
            match saved {
                Ok(Ok(saved)) => {
                    let now = seat.publish(&store, Some(Arc::new(stand)));
                    drop(store);
                    self.tell_own(&seat, &now, &saved);
                    self.settle(&seat, &now);
                    return viewed(&now, key, &change.with, begun);
                }
                Ok(Err(Error::Overtaken { .. })) => {}
                Ok(Err(error)) => return Err(not_saved(&store, &error)),
                Err(_) => return Err(Trouble::ours("the change could not be saved")),
            }
        }
        Err(Trouble::new(
            axum::http::StatusCode::SERVICE_UNAVAILABLE,
            "the file is being changed all the time elsewhere",
            "Close the other program and try again; nothing was saved",
        ))
    }

    fn trial(&self, seat: &Seat, change: &wire::Change, begun: Instant) -> Result<wire::View, Trouble> {
        let now = seat.now();
        let last = now.stand()?;
        let project = edited(last, &change.edits, &seat.home)?;
        let stand = if same_weather(last, &project) {
            Stand::after(last, project)
        } else {
            stand_after(&seat.store(), last, project)?
        };
        let mut head = now.head(&seat.key);
        head.is_trial = true;
        let mut view = tell::view(&stand, &head, &change.with);
        view.took_ms = begun.elapsed().as_secs_f64() * 1e3;
        Ok(view)
    }

    /// What a change would do.
    pub fn effect(&self, key: &str, edits: &[wire::Edit]) -> Result<wire::Effect, Trouble> {
        let seat = self.seat(key)?;
        let now = seat.now();
        let last = now.stand()?;
        // Read first, so that what is wrong is told with its line.
        edited(last, edits, &seat.home)?;
        tell::effect(last, edits)
            .ok_or_else(|| Trouble::refused("the change cannot be made", "Check the paths of the change"))
    }

    /// Goes back, forward or to a state.
    pub fn go(&self, key: &str, go: &wire::Go) -> Result<wire::View, Trouble> {
        let begun = Instant::now();
        let seat = self.seat(key)?;
        let mut store = seat.store();
        self.take_in(&seat, &mut store)?;
        let gone = match go.to {
            wire::Whither::Back => store.back(),
            wire::Whither::Forward => store.forward(),
            wire::Whither::State => {
                let number = go.number.unwrap_or_default();
                if store.text_at(number, Document::Intent).is_none() {
                    return Err(Trouble::missing("state", &number.to_string()));
                }
                store.go_to(number).map(Some)
            }
        };
        match gone {
            Ok(Some(saved)) => {
                let now = seat.publish(&store, None);
                drop(store);
                self.tell_own(&seat, &now, &saved);
                self.settle(&seat, &now);
                viewed(&now, key, &go.with, begun)
            }
            Ok(None) => Err(Trouble::refused(
                "there is no state to go to",
                "The list of states shows those that are kept",
            )),
            Err(Error::Overtaken { .. }) => {
                self.take_in(&seat, &mut store)?;
                drop(store);
                Err(clash(&seat.now(), key, Vec::new(), &go.with, begun))
            }
            Err(error) => Err(not_saved(&store, &error)),
        }
    }

    /// Changes a document beside the intent: readings or ticks. `make` gives the new text for the text of now.
    pub fn note(
        &self,
        key: &str,
        document: Document,
        label: &str,
        make: impl Fn(&str) -> Result<String, Trouble>,
    ) -> Result<Arc<Now>, Trouble> {
        let seat = self.seat(key)?;
        let mut store = seat.store();
        for _ in 0..MOST_RACES {
            self.take_in(&seat, &mut store)?;
            let before = store.text(document).text.clone();
            let text = make(&before)?;
            match store.save(document, Expected::Text(&before), &text, label) {
                Ok(saved) => {
                    let now = seat.publish(&store, None);
                    drop(store);
                    self.tell_own(&seat, &now, &saved);
                    return Ok(now);
                }
                Err(Error::Overtaken { .. }) => {}
                Err(error) => return Err(not_saved(&store, &error)),
            }
        }
        Err(Trouble::ours("the file is being changed all the time elsewhere"))
    }
}

fn same_weather(last: &Stand, project: &model::Project) -> bool {
    let file =
        |project: &model::Project| project.intent.weather.as_ref().and_then(|weather| weather.file.clone());
    file(&last.project) == file(project)
}

/// The project with the edits made; an edit that makes it unreadable is refused with where and why.
fn edited(last: &Stand, edits: &[wire::Edit], home: &std::path::Path) -> Result<model::Project, Trouble> {
    let edits: Vec<model::Edit> =
        edits.iter().map(|edit| model::Edit { path: edit.path.clone(), value: edit.value.clone() }).collect();
    last.project.with_edits(&edits).map_err(|problems| {
        let text = model::edit::apply(&last.project.source.text, &edits).unwrap_or_default();
        let source = model::SourceText { name: last.project.source.name.clone(), text };
        Trouble::unreadable(
            "the change would make the file unreadable",
            problems_of(home, &problems, &source),
        )
    })
}

fn viewed(now: &Now, key: &str, with: &[wire::Part], begun: Instant) -> Result<wire::View, Trouble> {
    let mut view = tell::view(now.stand()?, &now.head(key), with);
    view.took_ms = begun.elapsed().as_secs_f64() * 1e3;
    Ok(view)
}

fn clash(
    now: &Now,
    key: &str,
    values: Vec<wire::ClashValue>,
    with: &[wire::Part],
    begun: Instant,
) -> Trouble {
    match viewed(now, key, with, begun) {
        Ok(view) => Trouble::Clash(Box::new(wire::Clash {
            message: "this was changed elsewhere meanwhile".to_owned(),
            values,
            view,
        })),
        Err(trouble) => trouble,
    }
}

fn not_saved(store: &Store, error: &Error) -> Trouble {
    match trouble(store, error) {
        Trouble::Fault(status, mut fault) => {
            fault.message = format!("nothing was saved: {}", fault.message);
            Trouble::Fault(status, fault)
        }
        clash => clash,
    }
}
