//! One project open for editing: its documents, every change durable, history, undo and redo.
//! Never: says that a change is saved before it is on the disk in history and file.
//! Start at [`Store::open`] and [`Store::save`]; what others write comes in through `outside`.

use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use energy::weather::Series;
use model::read::LARGEST_FILE;
use model::{Project, SourceText};

use crate::Error;
use crate::bounds::Bounds;
use crate::disk::{Found, Place, fill};
use crate::history::{Document, History, Origin, Record, State};
use crate::journal::{Journal, encode};
use crate::lock::Lock;
use crate::outside::{Outside, Seen};
use crate::write::sync_folder;

/// What a change was made to, so that one made to something else is refused.
#[derive(Clone, Copy, Debug)]
pub enum Expected<'t> {
    /// The document as it was in this state.
    Number(u64),
    /// The document with this text.
    Text(&'t str),
}

/// What came of a change.
#[derive(Clone, Debug, PartialEq)]
pub struct Saved {
    /// The current state.
    pub state: State,
    /// What others wrote in the instant of the change and the change has written over; it stands in the history.
    pub overtaken: Vec<State>,
}

/// One project open for editing.
#[derive(Debug)]
pub struct Store {
    pub(crate) place: Place,
    pub(crate) history: History,
    pub(crate) journal: Journal,
    /// Lines that are not in the journal yet.
    pub(crate) pending: String,
    pub(crate) texts: [SourceText; 3],
    pub(crate) seen: Seen,
    pub(crate) notes: Vec<String>,
}

impl Store {
    /// Opens the project in a folder; nothing that it reads stands outside that folder, links followed.
    ///
    /// A folder without history gets one with the first change.
    /// A history that cannot be read is set aside and told in [`Store::notes`].
    /// Errors: no folder; an intent.toml that cannot be read; a link that leads outside.
    pub fn open(folder: &Path) -> Result<Self, Error> {
        Self::open_within(folder, Bounds::of(folder)?)
    }

    pub(crate) fn open_within(folder: &Path, bounds: Bounds) -> Result<Self, Error> {
        bounds.real(folder)?;
        let place = Place { folder: folder.to_path_buf(), bounds };
        place.check_own()?;
        let texts = Document::ALL.map(|document| SourceText {
            name: place.file(document).display().to_string(),
            text: String::new(),
        });
        let journal = Journal::new(&place.history());
        let mut store = Self {
            place,
            history: History::empty(),
            journal,
            pending: String::new(),
            texts,
            seen: Seen::default(),
            notes: Vec::new(),
        };
        let lock = store.lock_to_read()?;
        store.load()?;
        if store.history.is_empty() {
            store.start()?;
        }
        store.take_in()?;
        drop(lock);
        // What had changed before it was opened is no news.
        store.seen.begin(store.history.at());
        Ok(store)
    }

    /// The project's folder.
    pub fn folder(&self) -> &Path {
        &self.place.folder
    }

    /// A document as last known; empty where it has no file.
    pub fn text(&self, document: Document) -> &SourceText {
        &self.texts[document as usize]
    }

    /// The current state's number. The same number is the same texts, whatever was undone and redone in between.
    pub fn number(&self) -> u64 {
        self.history.at()
    }

    /// The kept states, the oldest first: the last 100, and the current one.
    pub fn states(&self) -> Vec<State> {
        self.history.states().cloned().collect()
    }

    /// A document's text in a kept state.
    pub fn text_at(&self, number: u64, document: Document) -> Option<&str> {
        self.history.text(number, document)
    }

    /// The state to which [`Store::back`] goes.
    pub fn can_go_back(&self) -> Option<u64> {
        self.history.back()
    }

    /// The state to which [`Store::forward`] goes.
    pub fn can_go_forward(&self) -> Option<u64> {
        self.history.forward()
    }

    /// What a person should know about this folder, such as a damaged history that was set aside.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// The project of the current texts, with the parts that stand in its folder now.
    ///
    /// Errors: every mistake in intent.toml and parts with its line; a link that leads outside.
    pub fn project(&self) -> Result<Project, Error> {
        let source = self.text(Document::Intent).clone();
        crate::read::project_of(source, &self.place.folder, &self.place.bounds)
    }

    /// The weather file that a project of this folder names; `None` where it names none.
    ///
    /// Errors: a file that cannot be read or leads outside, and every mistake in it with its line.
    pub fn weather(&self, project: &Project) -> Result<Option<Series>, Error> {
        crate::read::weather_of(project, &self.place.folder, &self.place.bounds)
    }

    /// Saves a document: when this returns, the change is in history and file, both on the disk.
    ///
    /// The text is not read as TOML. Saving what stands there already makes no state.
    /// Errors: [`Error::Overtaken`] where the document is no longer as expected, and then nothing was written; a text that
    /// is too long; a file that cannot be read or written.
    pub fn save(
        &mut self,
        document: Document,
        expected: Expected<'_>,
        text: &str,
        label: &str,
    ) -> Result<Saved, Error> {
        let path = self.place.file(document);
        if text.len() > LARGEST_FILE {
            return Err(Error::whole_file(
                format!("the new text has {} bytes; the most that is kept is {LARGEST_FILE}", text.len()),
                &path,
                "Make it shorter",
            ));
        }
        let _lock = self.lock()?;
        self.refresh()?;
        self.take_in()?;
        let is_as_expected = match expected {
            Expected::Number(number) => {
                self.history.text(number, document) == Some(self.history.now(document))
            }
            Expected::Text(text) => self.history.now(document) == text,
        };
        if !is_as_expected {
            return Err(self.overtaken(document));
        }
        let is_missing = match self.place.read(document) {
            Found::Unreadable(error) => return Err(error),
            Found::Missing => true,
            Found::Text(_) => false,
        };
        if text == self.history.now(document) {
            if is_missing && !(text.is_empty() && document != Document::Intent) {
                return self.go(self.number());
            }
            return Ok(Saved { state: self.state()?, overtaken: Vec::new() });
        }
        let now = (label, Origin::Page, seconds());
        let record = self.history.next(self.number(), document, text, now);
        self.commit(record, &[document])
    }

    /// Goes to the state before the current one; `None` where none is kept.
    ///
    /// Errors: [`Error::Overtaken`] where something was changed outside that has not been told yet, and then nothing is
    /// undone; a file that cannot be written.
    pub fn back(&mut self) -> Result<Option<Saved>, Error> {
        self.step(History::back)
    }

    /// Goes to the state that [`Store::back`] came from; `None` where there is none.
    ///
    /// Errors: as for [`Store::back`].
    pub fn forward(&mut self) -> Result<Option<Saved>, Error> {
        self.step(History::forward)
    }

    /// Goes to a kept state: every document gets the text that it had then. To the current one, it brings back a file
    /// that was deleted or cannot be read.
    ///
    /// Errors: a number that is not kept; a file that cannot be written.
    pub fn go_to(&mut self, number: u64) -> Result<Saved, Error> {
        let _lock = self.lock()?;
        self.refresh()?;
        self.take_in()?;
        self.go(number)
    }

    fn step(&mut self, way: impl Fn(&History) -> Option<u64>) -> Result<Option<Saved>, Error> {
        let _lock = self.lock()?;
        let before = self.number();
        self.refresh()?;
        self.take_in()?;
        if self.number() != before {
            return Err(self.overtaken(self.state()?.document));
        }
        way(&self.history).map(|number| self.go(number)).transpose()
    }

    /// Goes to a state; the lock is held and what stands on the disk is known.
    fn go(&mut self, number: u64) -> Result<Saved, Error> {
        if self.history.state(number).is_none() {
            return Err(Error::at(
                format!("state {number} is not kept"),
                &self.place.folder,
                "Choose one of those that are listed; the last 100 are kept",
            ));
        }
        let differs = |document: &Document| {
            let text = self.history.text(number, *document).unwrap_or_default();
            match self.place.read(*document) {
                Found::Text(there) => there != text,
                Found::Missing => !text.is_empty() || *document == Document::Intent,
                Found::Unreadable(_) => true,
            }
        };
        let documents: Vec<Document> = Document::ALL.into_iter().filter(differs).collect();
        if number == self.number() && documents.is_empty() {
            return Ok(Saved { state: self.state()?, overtaken: Vec::new() });
        }
        self.commit(Record::At { number, forward: Vec::new() }, &documents)
    }

    /// Makes a change last: new texts beside their places and the record in the journal, then the texts into their places.
    ///
    /// Stopped anywhere, `take_in` finishes it or finds that nothing was begun.
    fn commit(&mut self, record: Record, documents: &[Document]) -> Result<Saved, Error> {
        self.place.make_own()?;
        let before = self.history.at();
        let mut after = self.history.clone();
        let files: Vec<(Document, std::fs::File)> = documents
            .iter()
            .map(|document| Ok((*document, self.place.begin(*document)?)))
            .collect::<Result<_, Error>>()?;
        let line = std::mem::take(&mut self.pending) + &encode(&record);
        after.take(record);
        let len = self.journal.len();
        let journal = &mut self.journal;
        // The disk brings both home in one go.
        let (filled, recorded) = std::thread::scope(|scope| {
            let filling = scope
                .spawn(|| files.iter().try_for_each(|(document, file)| fill(file, after.now(*document))));
            let recorded = journal.append(&line);
            (filling.join().unwrap_or_else(|_| Err(std::io::Error::other("the writer stopped"))), recorded)
        });
        drop(files);
        if filled.is_err() || recorded.is_err() {
            if recorded.is_ok() {
                self.journal.cut(len);
            }
            for document in documents {
                let _ = std::fs::remove_file(self.place.part(*document));
            }
            // What was pending is so again.
            let own = line.trim_end_matches('\n').rfind('\n').map_or(0, |at| at + 1);
            self.pending = line[..own].to_owned();
            let history = self.place.history();
            recorded.map_err(|error| Error::cannot("write in", &history, &error))?;
            filled.map_err(|error| Error::cannot("write in", &self.place.own(), &error))?;
        }
        self.history = after;
        let mut overtaken = Vec::new();
        for document in documents {
            if let Err(error) = self.put(*document, before, &mut overtaken) {
                self.give_up(before, documents);
                return Err(error);
            }
        }
        let folder = &self.place.folder;
        if !documents.is_empty() {
            sync_folder(folder).map_err(|error| Error::cannot("write in", folder, &error))?;
        }
        self.learn();
        self.seen.own(self.history.at());
        if let Err(error) = self.journal.shorten(&self.history) {
            self.note(format!("the history could not be shortened: {error}"));
        }
        Ok(Saved { state: self.state()?, overtaken })
    }

    /// Puts a new text in its place and keeps what it replaced, where that is not what was known of state `before`.
    pub(crate) fn put(
        &mut self,
        document: Document,
        before: u64,
        overtaken: &mut Vec<State>,
    ) -> Result<(), Error> {
        if self.place.exchange(document)? {
            self.take_replaced(document, before, overtaken)?;
        }
        Ok(())
    }

    /// After a text could not be put in its place: the state stays listed and the place is where it was.
    fn give_up(&mut self, before: u64, documents: &[Document]) {
        let record = Record::At { number: before, forward: Vec::new() };
        self.remember(record);
        for document in documents {
            let _ = std::fs::remove_file(self.place.part(*document));
            let swap = self.place.swap(*document);
            if std::fs::read_to_string(&swap).is_ok_and(|text| self.history.knows(*document, &text)) {
                let _ = std::fs::remove_file(swap);
            }
        }
        self.learn();
    }

    fn overtaken(&self, document: Document) -> Error {
        match self.history.changed(document) {
            Some(state) => Error::Overtaken { theirs: Box::new(state.clone()) },
            None => Error::at("there is no state", &self.place.folder, "Open the project again"),
        }
    }

    pub(crate) fn state(&self) -> Result<State, Error> {
        let state = self.history.state(self.history.at()).cloned();
        state.ok_or_else(|| Error::at("there is no state", &self.place.folder, "Open the project again"))
    }

    pub(crate) fn lock(&self) -> Result<Lock, Error> {
        self.place.make_own()?;
        Lock::take(&self.place.own())
    }

    /// Tells once what a person should know.
    pub(crate) fn note(&mut self, note: String) {
        if !self.notes.contains(&note) {
            self.notes.push(note);
        }
    }

    /// What changed on the disk since it was last asked; `None` where nothing did.
    ///
    /// Cheap while nothing changed, so it may be called often.
    /// Errors: a history that cannot be locked or read.
    pub fn look(&mut self) -> Result<Option<Outside>, Error> {
        if self.may_have_changed() {
            let _lock = self.lock_to_read()?;
            self.refresh()?;
            self.take_in()?;
        }
        Ok(self.seen.tell(self.history.at()))
    }

    /// The file of a document.
    pub fn file(&self, document: Document) -> PathBuf {
        self.place.file(document)
    }
}

/// Now [s since 1970-01-01 UTC].
pub(crate) fn seconds() -> u64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs())
}
