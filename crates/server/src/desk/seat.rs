//! One project that is open: its store, and what was last computed of it, ready to be shown.
//! Never: makes a view wait for a change; what is shown is swapped whole when the new one is done.
//! Start at [`Seat`].

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};
use std::time::SystemTime;

use energy::weather::Series;
use folder::{Document, Store, Watch};
use model::{Problem, Project, SourceText};

use crate::answer::Trouble;
use crate::tell::Head;
use crate::{Stand, tell, wire};

/// What stands now.
#[derive(Clone)]
pub struct Now {
    /// Number of the state.
    pub number: u64,
    /// What `Back` would take back.
    pub back: Option<String>,
    /// What `Forward` would bring again.
    pub forward: Option<String>,
    /// The last text that could be read, with all that is known of it; `None` where none ever could.
    pub stand: Option<Arc<Stand>>,
    /// What stands in the way of reading the text of now.
    pub problems: Vec<wire::Problem>,
    /// The documents.
    pub texts: [Arc<str>; 3],
    /// Whether a file is gone or is no text, which stands in no state.
    is_troubled: bool,
    /// Files beside the documents when they were read: own parts, weather.
    beside: Vec<(PathBuf, Option<(SystemTime, u64)>)>,
}

impl Now {
    /// A document.
    pub fn text(&self, document: Document) -> &Arc<str> {
        &self.texts[document as usize]
    }

    /// The last stand, or why there is none.
    pub fn stand(&self) -> Result<&Arc<Stand>, Trouble> {
        self.stand
            .as_ref()
            .ok_or_else(|| Trouble::unreadable("intent.toml cannot be read as it is", self.problems.clone()))
    }

    /// What a view says of the state.
    pub fn head(&self, key: &str) -> Head {
        Head {
            key: key.to_owned(),
            number: self.number,
            is_trial: false,
            back: self.back.clone(),
            forward: self.forward.clone(),
            problems: self.problems.clone(),
        }
    }
}

/// A project that is open.
pub struct Seat {
    /// Its name in addresses.
    pub key: String,
    /// Its folder.
    pub home: PathBuf,
    store: Mutex<Store>,
    now: RwLock<Arc<Now>>,
    /// Kept for as long as the project is open.
    watch: Mutex<Option<Watch>>,
}

impl Seat {
    /// Takes a store and computes what stands.
    pub fn new(key: &str, mut store: Store) -> Self {
        // What changed before it was opened is no news.
        let _ = store.look();
        let now = computed(&store, None);
        Self {
            key: key.to_owned(),
            home: store.folder().to_path_buf(),
            store: Mutex::new(store),
            now: RwLock::new(Arc::new(now)),
            watch: Mutex::new(None),
        }
    }

    /// Keeps the watch over its folder.
    pub fn keep(&self, watch: Watch) {
        *self.watch.lock().unwrap_or_else(PoisonError::into_inner) = Some(watch);
    }

    /// What stands now; never waits for a change.
    pub fn now(&self) -> Arc<Now> {
        Arc::clone(&self.now.read().unwrap_or_else(PoisonError::into_inner))
    }

    /// The store, for one change at a time.
    pub fn store(&self) -> MutexGuard<'_, Store> {
        self.store.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Shows something else from now on.
    fn show(&self, now: Now) -> Arc<Now> {
        let now = Arc::new(now);
        *self.now.write().unwrap_or_else(PoisonError::into_inner) = Arc::clone(&now);
        now
    }

    /// Takes in what others wrote. Gives what there is to tell, where something is.
    pub fn take_in(&self, store: &mut Store) -> Result<Option<wire::News>, Trouble> {
        let outside = store.look().map_err(|error| trouble(store, &error))?;
        let before = self.now();
        let outside = outside.filter(|outside| {
            !outside.states.is_empty() || !outside.troubles.is_empty() || outside.number != before.number
        });
        let is_beside = before.beside != beside(store, before.stand.as_deref().map(|stand| &stand.project));
        // The store tells a trouble once, and not that it is over.
        let is_back = before.is_troubled && Document::ALL.iter().all(|document| stands(store, *document));
        if outside.is_none() && !is_beside && !is_back && before.number == store.number() {
            return Ok(None);
        }
        let mut now = computed(store, Some(&before));
        let mut label = "Changed in an editor".to_owned();
        if let Some(outside) = &outside {
            if let Some(last) = outside.states.last() {
                label.clone_from(&last.label);
            }
            // A file that is gone or no text stands in no state, so the store tells of it apart.
            let found: Vec<wire::Problem> =
                outside.troubles.iter().flat_map(|error| problems(store.folder(), error)).collect();
            now.is_troubled = !found.is_empty();
            now.problems.splice(0..0, found);
        } else if before.number == store.number() {
            label = "Parts or weather changed".to_owned();
        }
        let news = wire::News {
            key: self.key.clone(),
            number: now.number,
            by: "editor".to_owned(),
            label,
            is_broken: !now.problems.is_empty(),
        };
        self.show(now);
        Ok(Some(news))
    }

    /// Shows what a change of our own came to. `stand` is that of the store's text where it was computed already.
    pub fn publish(&self, store: &Store, stand: Option<Arc<Stand>>) -> Arc<Now> {
        let before = self.now();
        let now = match stand {
            Some(stand) => with_stand(store, Some(stand), Vec::new()),
            // Ticks and readings change nothing of the design.
            None if **before.text(Document::Intent) == *store.text(Document::Intent).text
                && before.problems.is_empty() =>
            {
                with_stand(store, before.stand.clone(), Vec::new())
            }
            None => computed(store, Some(&before)),
        };
        self.show(now)
    }
}

/// Reads and computes the store's text, keeping of `before` what cannot have changed.
fn computed(store: &Store, before: Option<&Now>) -> Now {
    let last = before.and_then(|before| before.stand.clone());
    match read(store, last.as_deref()) {
        Ok(stand) => with_stand(store, Some(Arc::new(stand)), Vec::new()),
        Err(error) => with_stand(store, last, problems(store.folder(), &error)),
    }
}

fn read(store: &Store, last: Option<&Stand>) -> Result<Stand, folder::Error> {
    let project = store.project()?;
    let series = store.weather(&project)?;
    Ok(match (last, &series) {
        (Some(last), None) if last.series.is_none() => Stand::after(last, project),
        _ => Stand::of(project, series),
    })
}

/// The stand of a changed project: with the same weather where it names the same file.
pub fn stand_after(store: &Store, last: &Stand, project: Project) -> Result<Stand, Trouble> {
    if weather_file(&project) == weather_file(&last.project) {
        return Ok(Stand::after(last, project));
    }
    let series: Option<Series> = store.weather(&project).map_err(|error| trouble(store, &error))?;
    Ok(Stand::of(project, series))
}

fn weather_file(project: &Project) -> Option<&str> {
    project.intent.weather.as_ref()?.file.as_deref()
}

fn with_stand(store: &Store, stand: Option<Arc<Stand>>, problems: Vec<wire::Problem>) -> Now {
    let states = store.states();
    let label =
        |number: u64| states.iter().find(|state| state.number == number).map(|state| state.label.clone());
    let number = store.number();
    Now {
        number,
        is_troubled: false,
        back: store.can_go_back().and_then(|_| label(number)),
        forward: store.can_go_forward().and_then(label),
        problems,
        texts: Document::ALL.map(|document| Arc::from(store.text(document).text.as_str())),
        beside: beside(store, stand.as_deref().map(|stand| &stand.project)),
        stand,
    }
}

/// Whether a document stands on the disk as the store has it.
fn stands(store: &Store, document: Document) -> bool {
    let text = &store.text(document).text;
    match std::fs::read_to_string(store.file(document)) {
        Ok(there) => there == *text,
        Err(_) => text.is_empty() && document != Document::Intent,
    }
}

/// Times and sizes of the files that a project reads beside its documents.
fn beside(store: &Store, project: Option<&Project>) -> Vec<(PathBuf, Option<(SystemTime, u64)>)> {
    let home = store.folder();
    let mut files = vec![home.join("parts.toml")];
    if let Ok(entries) = std::fs::read_dir(home.join("parts")) {
        files.extend(entries.filter_map(|entry| Some(entry.ok()?.path())));
    }
    files.extend(project.and_then(weather_file).map(|file| home.join(file)));
    files.sort();
    files
        .into_iter()
        .map(|file| {
            let about = std::fs::metadata(&file).ok();
            let stamp = about.and_then(|about| Some((about.modified().ok()?, about.len())));
            (file, stamp)
        })
        .collect()
}

/// What a folder's error says to a client: file names, without where the folder stands.
pub fn problems(home: &Path, error: &folder::Error) -> Vec<wire::Problem> {
    match error {
        folder::Error::Located { problems, sources } => problems
            .iter()
            .map(|problem| {
                let none = SourceText { name: String::new(), text: String::new() };
                let source = sources.iter().find(|source| source.name == problem.file).unwrap_or(&none);
                let mut told = tell::problem(problem, source);
                told.file = short(home, &told.file);
                // Where a link leads is nobody's business but the folder's owner's.
                if let Some((what, _)) = told.message.split_once(", to ")
                    && what.starts_with("this leads outside")
                {
                    told.message = what.to_owned();
                }
                told
            })
            .collect(),
        other => vec![tell::problem(
            &whole(&other.to_string(), home),
            &SourceText { name: String::new(), text: String::new() },
        )],
    }
}

fn whole(message: &str, home: &Path) -> Problem {
    Problem {
        message: message.replace(&home.display().to_string(), "the folder"),
        file: String::new(),
        field: String::new(),
        span: 0..0,
        line: 0,
        column: 0,
        mend: "Mend it in the folder, or go back to an earlier state".to_owned(),
    }
}

/// Problems of a text that was never saved.
pub fn problems_of(home: &Path, problems: &[Problem], source: &SourceText) -> Vec<wire::Problem> {
    problems
        .iter()
        .map(|problem| {
            let mut told = tell::problem(problem, source);
            told.file = short(home, &told.file);
            told
        })
        .collect()
}

fn short(home: &Path, file: &str) -> String {
    let path = Path::new(file);
    path.strip_prefix(home)
        .ok()
        .or_else(|| path.file_name().map(Path::new))
        .unwrap_or(path)
        .display()
        .to_string()
}

/// An error of the store as it goes to a client.
pub fn trouble(store: &Store, error: &folder::Error) -> Trouble {
    trouble_at(store.folder(), error)
}

/// The same for a folder.
pub fn trouble_at(home: &Path, error: &folder::Error) -> Trouble {
    match error {
        folder::Error::Located { .. } => {
            Trouble::unreadable("a file of the project cannot be read", problems(home, error))
        }
        folder::Error::Plain { what, mend, .. } => Trouble::refused(what.clone(), mend.clone()),
        other => Trouble::ours(whole(&other.to_string(), home).message),
    }
}
