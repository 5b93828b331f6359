//! The states of a project's documents: a tree with a place in it, kept in memory.
//! Never: touches a file; `journal` does.
//! Start at [`History`].

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

/// States that are kept: the last ones, with the current one and the one before it.
pub const MOST_STATES: usize = 100;

/// Longest label [characters].
const LONGEST_LABEL: usize = 200;

/// A document of a project that is kept with its history.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Document {
    /// `intent.toml`: what is wanted.
    Intent,
    /// `readings.toml`: what was measured at first power-up.
    Readings,
    /// `ticks.toml`: what has been built.
    Ticks,
}

impl Document {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Intent, Self::Readings, Self::Ticks];

    /// Its file in the project folder.
    pub const fn file(self) -> &'static str {
        match self {
            Self::Intent => crate::INTENT,
            Self::Readings => "readings.toml",
            Self::Ticks => "ticks.toml",
        }
    }
}

/// Where a state's text came from.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// It was there when the history began.
    Start,
    /// It was saved through this program.
    Page,
    /// Something else wrote the file.
    Editor,
    /// Something else wrote the file just as it was written over; the text stands here only.
    Overtaken,
}

/// One state of a project: what all documents were after one of them changed.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct State {
    /// Its number, from 1; later states have higher ones.
    pub number: u64,
    /// The state that it changed; that one may no longer be kept.
    pub parent: Option<u64>,
    /// What was done, in words.
    pub label: String,
    /// When [s since 1970-01-01 UTC].
    pub when: u64,
    /// The document that changed.
    pub document: Document,
    /// Where the text came from.
    pub from: Origin,
}

/// What the journal holds, one a line.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Record {
    /// A new state.
    State {
        state: State,
        /// The documents that differ from the parent's; all of them where there is no parent.
        texts: BTreeMap<Document, String>,
        /// The place stays where it was.
        #[serde(default)]
        is_aside: bool,
    },
    /// The place moves.
    At {
        number: u64,
        /// Which child of a state is the way forward, where moving alone does not tell.
        #[serde(default)]
        forward: Vec<(u64, u64)>,
    },
}

#[derive(Clone, Debug)]
struct Kept {
    state: State,
    texts: [Arc<str>; 3],
    forward: Option<u64>,
}

/// The states that are kept and the place among them.
#[derive(Clone, Debug)]
pub struct History {
    kept: BTreeMap<u64, Kept>,
    at: u64,
    last: u64,
}

impl History {
    /// A history of one state, and its record.
    pub fn start(texts: [String; 3], when: u64) -> (Self, Record) {
        let state = State {
            number: 1,
            parent: None,
            label: "As found".to_owned(),
            when,
            document: Document::Intent,
            from: Origin::Start,
        };
        let record = Record::State { state, texts: all(&texts), is_aside: false };
        let mut history = Self::empty();
        history.take(record.clone());
        (history, record)
    }

    /// No state yet; only good for taking records.
    pub fn empty() -> Self {
        Self { kept: BTreeMap::new(), at: 0, last: 0 }
    }

    /// Whether there is any state.
    pub fn is_empty(&self) -> bool {
        self.kept.is_empty()
    }

    /// The current state's number.
    pub fn at(&self) -> u64 {
        self.at
    }

    /// The highest number that was given.
    pub fn last(&self) -> u64 {
        self.last
    }

    /// A kept state.
    pub fn state(&self, number: u64) -> Option<&State> {
        self.kept.get(&number).map(|kept| &kept.state)
    }

    /// All kept states in order of number.
    pub fn states(&self) -> impl Iterator<Item = &State> {
        self.kept.values().map(|kept| &kept.state)
    }

    /// A document's text in a kept state.
    pub fn text(&self, number: u64, document: Document) -> Option<&str> {
        self.kept.get(&number).map(|kept| &*kept.texts[document as usize])
    }

    /// A document's text now.
    pub fn now(&self, document: Document) -> &str {
        self.text(self.at, document).unwrap_or_default()
    }

    /// Whether some kept state has this text.
    pub fn knows(&self, document: Document, text: &str) -> bool {
        self.kept.values().any(|kept| &*kept.texts[document as usize] == text)
    }

    /// The kept parent of the current state.
    pub fn back(&self) -> Option<u64> {
        self.state(self.at)?.parent.filter(|parent| self.kept.contains_key(parent))
    }

    /// The kept state that undoing came from.
    pub fn forward(&self) -> Option<u64> {
        self.kept.get(&self.at)?.forward.filter(|child| self.kept.contains_key(child))
    }

    /// The latest state on the way to the current one that changed this document.
    pub fn changed(&self, document: Document) -> Option<&State> {
        let mut state = self.state(self.at)?;
        while state.document != document {
            match state.parent.and_then(|parent| self.state(parent)) {
                Some(parent) => state = parent,
                None => break,
            }
        }
        Some(state)
    }

    /// The record of a new state that changes `document` of state `parent`.
    pub fn next(
        &self,
        parent: u64,
        document: Document,
        text: &str,
        (label, from, when): (&str, Origin, u64),
    ) -> Record {
        let state = State {
            number: self.last + 1,
            parent: Some(parent),
            label: plain_label(label),
            when,
            document,
            from,
        };
        let mut texts: BTreeMap<Document, String> = BTreeMap::new();
        if !self.kept.contains_key(&parent) {
            texts.extend(Document::ALL.map(|other| (other, self.now(other).to_owned())));
        }
        texts.insert(document, text.to_owned());
        Record::State { state, texts, is_aside: from == Origin::Overtaken }
    }

    /// Takes one record in. False where it does not fit to what came before.
    pub fn take(&mut self, record: Record) -> bool {
        match record {
            Record::State { state, mut texts, is_aside } => {
                if state.number <= self.last {
                    return false;
                }
                // Where the parent is gone, the record holds every text; a damaged history may lack some, and then the
                // nearest is the current one's.
                let before = state.parent.and_then(|parent| self.kept.get(&parent));
                let is_whole = before.is_some() || texts.len() == Document::ALL.len();
                let before = before.or_else(|| self.kept.get(&self.at)).map(|kept| kept.texts.clone());
                let before = before.unwrap_or_else(|| [Arc::from(""), Arc::from(""), Arc::from("")]);
                let texts = Document::ALL.map(|document| match texts.remove(&document) {
                    Some(text) => Arc::from(text),
                    None => Arc::clone(&before[document as usize]),
                });
                let number = state.number;
                if !is_aside && let Some(parent) = state.parent.and_then(|parent| self.kept.get_mut(&parent))
                {
                    parent.forward = Some(number);
                }
                self.kept.insert(number, Kept { state, texts, forward: None });
                self.last = number;
                if !is_aside || self.at == 0 {
                    self.at = number;
                }
                while self.kept.len() > MOST_STATES {
                    // The last step can be undone, wherever it was made.
                    let parent = self.state(self.at).and_then(|state| state.parent);
                    let is_needed = |number: &u64| *number == self.at || Some(*number) == parent;
                    let Some(oldest) = self.kept.keys().copied().find(|number| !is_needed(number)) else {
                        break;
                    };
                    self.kept.remove(&oldest);
                }
                is_whole
            }
            Record::At { number, forward } => {
                if !self.kept.contains_key(&number) {
                    return false;
                }
                self.at = number;
                // Going to a state makes the way to it the way forward.
                let mut child = number;
                while let Some(parent) = self.state(child).and_then(|state| state.parent) {
                    let Some(kept) = self.kept.get_mut(&parent) else { break };
                    kept.forward = Some(child);
                    child = parent;
                }
                for (parent, child) in forward {
                    if let Some(kept) = self.kept.get_mut(&parent) {
                        kept.forward = Some(child);
                    }
                }
                true
            }
        }
    }

    /// The records from which this history comes back.
    pub fn records(&self) -> Vec<Record> {
        let mut records = Vec::new();
        for kept in self.kept.values() {
            let parent = kept.state.parent.and_then(|parent| self.kept.get(&parent));
            let texts = Document::ALL
                .into_iter()
                .filter(|document| {
                    let at = *document as usize;
                    parent.is_none_or(|parent| parent.texts[at] != kept.texts[at])
                })
                .map(|document| (document, kept.texts[document as usize].to_string()))
                .collect();
            records.push(Record::State { state: kept.state.clone(), texts, is_aside: false });
        }
        let forward = self.kept.iter().filter_map(|(number, kept)| Some((*number, kept.forward?))).collect();
        records.push(Record::At { number: self.at, forward });
        records
    }
}

fn all(texts: &[String; 3]) -> BTreeMap<Document, String> {
    Document::ALL.into_iter().zip(texts.iter().cloned()).collect()
}

/// A label on one line and not too long.
fn plain_label(label: &str) -> String {
    label.chars().map(|c| if c.is_control() { ' ' } else { c }).take(LONGEST_LABEL).collect()
}
