//! What others write in a project's folder, taken into its history: editors, other windows, a process that was stopped.
//! Never: writes over a text that the history lacks.
//! Start at `Store::take_in`.

use std::fs;
use std::io::ErrorKind;
use std::path::PathBuf;

use model::read::LARGEST_FILE;

use crate::Error;
use crate::disk::{Found, fill};
use crate::history::{Document, History, Origin, Record, State};
use crate::journal::{encode, set_aside};
use crate::lock::Lock;
use crate::stamp::Stamp;
use crate::store::{Store, seconds};
use crate::write::sync_folder;

/// What changed that was not changed through this store.
#[derive(Debug)]
pub struct Outside {
    /// New states, the oldest first.
    pub states: Vec<State>,
    /// The current state's number.
    pub number: u64,
    /// Files that are gone or cannot be read; their last texts stand in the history, and [`Store::go_to`] brings them back.
    pub troubles: Vec<Error>,
}

/// What a store has seen of its folder.
#[derive(Default, Debug)]
pub struct Seen {
    /// New states that were not told yet.
    pub states: Vec<State>,
    troubles: Vec<Error>,
    /// The current state when last told.
    told: Option<u64>,
    stamps: [Option<Stamp>; 3],
    /// The trouble of each document, so that it is told once.
    trouble: [Option<String>; 3],
    replaced: Vec<(PathBuf, Option<Stamp>)>,
}

impl Seen {
    /// Gives what is new since it was last asked.
    pub fn tell(&mut self, number: u64) -> Option<Outside> {
        let has_moved = self.told.is_some_and(|told| told != number);
        self.told = Some(number);
        if self.states.is_empty() && self.troubles.is_empty() && !has_moved {
            return None;
        }
        let (states, troubles) = (std::mem::take(&mut self.states), std::mem::take(&mut self.troubles));
        Some(Outside { states, number, troubles })
    }

    /// What was there before is no news; what cannot be read is.
    pub fn begin(&mut self, number: u64) {
        self.states.clear();
        self.told = Some(number);
    }

    /// A change through this store is no news.
    pub fn own(&mut self, number: u64) {
        if self.states.is_empty() {
            self.told = Some(number);
        }
    }
}

impl Store {
    /// Whether a closer look is needed; reads no file.
    pub(crate) fn may_have_changed(&self) -> bool {
        let has_changed = |document: Document| {
            let now = Stamp::of(&self.place.file(document));
            match (&self.seen.stamps[document as usize], &now) {
                (None, None) => false,
                (Some(before), Some(now)) => !before.is_surely(now),
                _ => true,
            }
        };
        let is_left =
            |document: Document| self.place.part(document).exists() || self.place.swap(document).exists();
        self.journal.has_changed()
            || Document::ALL.into_iter().any(|document| has_changed(document) || is_left(document))
            || self.seen.replaced.iter().any(|(path, before)| match (before, Stamp::of(path)) {
                (Some(before), Some(now)) => !before.is_surely(&now),
                (before, now) => before.is_some() != now.is_some(),
            })
    }

    /// The lock, or none where the folder may only be read.
    pub(crate) fn lock_to_read(&self) -> Result<Option<Lock>, Error> {
        self.place.check_own()?;
        if !self.place.own().exists() {
            return Ok(None);
        }
        match fs::OpenOptions::new().create(true).append(true).open(self.place.own().join("lock")) {
            Err(error)
                if matches!(error.kind(), ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem) =>
            {
                Ok(None)
            }
            _ => Lock::take(&self.place.own()).map(Some),
        }
    }

    /// Reads the history where another process wrote it.
    pub(crate) fn refresh(&mut self) -> Result<(), Error> {
        if !self.journal.has_changed() {
            return Ok(());
        }
        let last = self.history.last();
        self.load()?;
        if self.history.is_empty() {
            return self.start();
        }
        let new: Vec<State> = self.history.states().filter(|state| state.number > last).cloned().collect();
        self.seen.states.extend(new);
        Ok(())
    }

    /// Reads the history from the disk. What cannot be read is set aside and told.
    pub(crate) fn load(&mut self) -> Result<(), Error> {
        let folder = self.place.history();
        if folder.exists() && !folder.is_dir() {
            match set_aside(&folder).and_then(|aside| self.place.make_own().map(|()| aside)) {
                Ok(aside) => {
                    self.note(format!("no folder of history; what stood there is now {}", aside.display()))
                }
                Err(error) => self.note(format!("the history cannot be read: {error}")),
            }
        }
        let (history, damage) = match self.journal.load() {
            Ok(loaded) => (loaded.history, loaded.damage),
            Err(error) => (History::empty(), Some(error.to_string())),
        };
        let (was, now) = (std::mem::replace(&mut self.history, history), &self.history);
        let is_kept = damage.is_none() && !now.is_empty();
        if !was.is_empty() && now.is_empty() {
            // The journal went away while the project was open; what is in memory is written again.
            self.history = was;
            self.pending = self.history.records().iter().map(encode).collect();
        } else if is_kept {
            self.pending.clear();
        }
        if let Some(damage) = damage {
            self.mend(&damage);
        }
        self.learn_texts();
        Ok(())
    }

    /// Sets a damaged journal aside and writes what could be read of it.
    fn mend(&mut self, damage: &str) {
        match self.journal.set_aside() {
            Ok(aside) => self.note(format!(
                "the history was damaged ({damage}); what could be read is kept, and the damaged file is {}",
                aside.display()
            )),
            Err(error) => {
                self.note(format!("the history is damaged ({damage}) and cannot be set aside: {error}"))
            }
        }
        self.pending.clear();
        if !self.history.is_empty() && self.journal.rewrite(&self.history).is_err() {
            self.pending = self.history.records().iter().map(encode).collect();
        }
    }

    /// Begins a history with what stands on the disk.
    pub(crate) fn start(&mut self) -> Result<(), Error> {
        let mut texts: [String; 3] = Default::default();
        for document in Document::ALL {
            match self.place.read(document) {
                Found::Text(text) => texts[document as usize] = text,
                Found::Missing if document == Document::Intent => {
                    let path = self.place.file(document);
                    let error = std::io::Error::from(ErrorKind::NotFound);
                    return Err(Error::cannot("read", &path, &error));
                }
                Found::Missing => {}
                Found::Unreadable(error) if document == Document::Intent => return Err(error),
                // Told by `take_in`.
                Found::Unreadable(_) => {}
            }
        }
        let (history, record) = History::start(texts, seconds());
        self.history = history;
        self.pending = encode(&record);
        self.learn_texts();
        Ok(())
    }

    /// Takes what stands on the disk into the history, and finishes or clears away what a stopped process left.
    ///
    /// The lock is held and the history is as on the disk.
    pub(crate) fn take_in(&mut self) -> Result<(), Error> {
        for document in Document::ALL {
            self.take_left(document)?;
            self.take_late(document);
            self.seen.stamps[document as usize] = Stamp::of(&self.place.file(document));
            let trouble = match self.place.read(document) {
                Found::Text(text) => {
                    if text != self.history.now(document) {
                        let now = ("Changed in an editor", Origin::Editor, seconds());
                        let record = self.history.next(self.history.at(), document, &text, now);
                        self.remember(record);
                        self.seen.states.extend(self.state());
                    }
                    None
                }
                Found::Missing => {
                    let is_empty = self.history.now(document).is_empty() && document != Document::Intent;
                    (!is_empty).then(|| self.gone(document))
                }
                Found::Unreadable(error) => Some(error),
            };
            let said = trouble.as_ref().map(ToString::to_string);
            if said != self.seen.trouble[document as usize] {
                self.seen.troubles.extend(trouble);
                self.seen.trouble[document as usize] = said;
            }
        }
        self.learn();
        Ok(())
    }

    fn gone(&self, document: Document) -> Error {
        Error::whole_file(
            "the file was deleted; its last text stands in the history",
            &self.place.file(document),
            "Go to the current state to bring it back",
        )
    }

    /// Deals with a write that was stopped.
    fn take_left(&mut self, document: Document) -> Result<(), Error> {
        let (part, swap) = (self.place.part(document), self.place.swap(document));
        if !part.exists() && !swap.exists() {
            return Ok(());
        }
        let mut overtaken = Vec::new();
        self.take_replaced(document, self.history.at(), &mut overtaken)?;
        self.seen.states.append(&mut overtaken);
        let now = self.history.now(document).to_owned();
        let is_unfinished = match self.place.read(document) {
            // A text that is not known was written since by someone else, and stays.
            Found::Text(text) => text != now && self.history.knows(document, &text),
            Found::Missing => !now.is_empty(),
            Found::Unreadable(_) => false,
        };
        if is_unfinished {
            let file = self.place.begin(document)?;
            fill(&file, &now).map_err(|error| Error::cannot("write", &part, &error))?;
            drop(file);
            let before = self.history.at();
            self.put(document, before, &mut overtaken)?;
            self.seen.states.append(&mut overtaken);
            let folder = &self.place.folder;
            sync_folder(folder).map_err(|error| Error::cannot("write in", folder, &error))?;
        } else {
            let _ = fs::remove_file(part);
        }
        Ok(())
    }

    /// Keeps what an exchange has replaced, where the history lacks it.
    pub(crate) fn take_replaced(
        &mut self,
        document: Document,
        before: u64,
        overtaken: &mut Vec<State>,
    ) -> Result<(), Error> {
        let swap = self.place.swap(document);
        let Ok(bytes) = fs::read(&swap) else { return Ok(()) };
        match String::from_utf8(bytes) {
            Ok(text) if text.len() <= LARGEST_FILE => {
                overtaken.extend(self.keep_overtaken(document, before, &text));
            }
            _ => {
                let aside = self.place.set_aside(document, &swap)?;
                self.note(format!(
                    "{} could not be read as text and was replaced; what stood there is now {}",
                    self.place.file(document).display(),
                    aside.display()
                ));
            }
        }
        self.place.keep_replaced(document);
        Ok(())
    }

    /// Takes what an editor wrote into a file after that was replaced under its hands.
    fn take_late(&mut self, document: Document) {
        for (path, sum) in self.place.replaced(document) {
            let Ok(bytes) = fs::read(&path) else { continue };
            if crc32fast::hash(&bytes) == sum {
                continue;
            }
            let Ok(text) = String::from_utf8(bytes) else { continue };
            let late = self.keep_overtaken(document, self.history.at(), &text);
            self.seen.states.extend(late);
            self.place.rename_replaced(document, &path);
        }
    }

    /// A state of its own for a text that was written over, where the history lacks it.
    fn keep_overtaken(&mut self, document: Document, before: u64, text: &str) -> Option<State> {
        // An editor empties a file before it writes; that is no text of anybody.
        let is_known = self.texts[document as usize].text == text || self.history.knows(document, text);
        if text.is_empty() || is_known {
            return None;
        }
        let now = ("Changed in an editor and written over", Origin::Overtaken, seconds());
        let record = self.history.next(before, document, text, now);
        let number = self.history.last() + 1;
        self.remember(record);
        self.history.state(number).cloned()
    }

    /// Takes a record into the history, and into the journal where that can be written: what it holds stands in a file
    /// beside, so that nothing is lost where not.
    pub(crate) fn remember(&mut self, record: Record) {
        self.pending.push_str(&encode(&record));
        self.history.take(record);
        let written = self.place.make_own().and_then(|()| {
            let history = self.place.history();
            self.journal.append(&self.pending).map_err(|error| Error::cannot("write in", &history, &error))
        });
        match written {
            Ok(()) => self.pending.clear(),
            Err(error) => self.note(format!("the history is in memory only: {error}")),
        }
    }

    /// Remembers how the folder looks now.
    pub(crate) fn learn(&mut self) {
        self.learn_texts();
        self.seen.replaced = Document::ALL
            .into_iter()
            .flat_map(|document| self.place.replaced(document))
            .map(|(path, _)| {
                let stamp = Stamp::of(&path);
                (path, stamp)
            })
            .collect();
    }

    fn learn_texts(&mut self) {
        for document in Document::ALL {
            let now = self.history.now(document);
            let text = &mut self.texts[document as usize].text;
            if text != now {
                now.clone_into(text);
            }
        }
    }
}
