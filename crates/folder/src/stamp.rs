//! What tells without reading that a file is another than before.

use std::fs::{File, Metadata};
use std::path::Path;
use std::time::{Duration, SystemTime};

/// The coarsest clock of a file system that is met; a file written this shortly before it was read may change unseen.
const COARSEST: Duration = Duration::from_secs(3);

/// Length, times and identity of a file when it was looked at.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Stamp {
    /// Bytes.
    pub len: u64,
    written: Option<SystemTime>,
    identity: (u64, u64, i64, i64),
    taken: SystemTime,
}

impl Stamp {
    /// Of a path, links followed; `None` where there is nothing.
    pub fn of(path: &Path) -> Option<Self> {
        std::fs::metadata(path).ok().map(|about| Self::from(&about))
    }

    /// Of an open file.
    pub fn of_file(file: &File) -> Option<Self> {
        file.metadata().ok().map(|about| Self::from(&about))
    }

    fn from(about: &Metadata) -> Self {
        #[cfg(unix)]
        let identity = {
            use std::os::unix::fs::MetadataExt;
            (about.dev(), about.ino(), about.ctime(), about.ctime_nsec())
        };
        #[cfg(not(unix))]
        let identity = (0, 0, 0, 0);
        Self { len: about.len(), written: about.modified().ok(), identity, taken: SystemTime::now() }
    }

    /// Whether the file can be taken as the same without reading it; `self` was taken before it was last read.
    pub fn is_surely(&self, now: &Self) -> bool {
        let is_settled = self
            .written
            .is_some_and(|written| written.checked_add(COARSEST).is_some_and(|until| until < self.taken));
        is_settled && (self.len, self.written, self.identity) == (now.len, now.written, now.identity)
    }

    /// Whether both are one file, whatever stands in it.
    pub fn is_same_file(&self, other: &Self) -> bool {
        (self.identity.0, self.identity.1) == (other.identity.0, other.identity.1)
    }
}
