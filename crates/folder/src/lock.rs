//! One writer at a time in a project, among processes too.

use std::fs::{File, OpenOptions, TryLockError};
use std::path::Path;
use std::time::{Duration, Instant};

use crate::Error;

/// How long another writer is waited for; a change takes a few hundredths of a second.
const LONGEST: Duration = Duration::from_secs(10);

/// Held while it lives.
#[derive(Debug)]
pub struct Lock {
    _file: File,
}

impl Lock {
    /// Waits for the lock of a folder.
    pub fn take(folder: &Path) -> Result<Self, Error> {
        let path = folder.join("lock");
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&path)
            .map_err(|error| Error::cannot("write", &path, &error))?;
        let since = Instant::now();
        loop {
            match file.try_lock() {
                Ok(()) => return Ok(Self { _file: file }),
                Err(TryLockError::WouldBlock) if since.elapsed() < LONGEST => {
                    std::thread::sleep(Duration::from_millis(1));
                }
                Err(TryLockError::WouldBlock) => {
                    return Err(Error::at(
                        "another program holds this project locked",
                        &path,
                        "End the other program, then try again",
                    ));
                }
                Err(TryLockError::Error(error)) => return Err(Error::cannot("lock", &path, &error)),
            }
        }
    }
}
