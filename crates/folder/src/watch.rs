//! Tells when something in a project's folder changes.
//! Never: says what changed; whoever is told looks. Our own bookkeeping is passed over, our own saves may be told.
//! Start at [`Watch::start`].

use std::path::Path;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use notify::{Config, Event, EventKind, PollWatcher, RecommendedWatcher, RecursiveMode, Watcher};

use crate::Error;
use crate::disk::OWN;
use crate::shelf::VARIANTS;

/// A change is told once nothing more has come for this long.
const QUIET: Duration = Duration::from_millis(40);
/// A change is told at the latest after this long.
const LATEST: Duration = Duration::from_millis(400);
/// Time between two looks where the system tells nothing.
const POLL: Duration = Duration::from_millis(1000);

/// Watches a folder until it is dropped.
pub struct Watch {
    _watcher: Box<dyn Watcher + Send>,
}

impl std::fmt::Debug for Watch {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Watch")
    }
}

impl Watch {
    /// Calls `tell` in a thread of its own after something in the folder changed: documents, parts, weather.
    ///
    /// Several changes in short order are told once. History and variants are passed over.
    /// Where the system cannot watch, the folder is looked through every second.
    /// Errors: a folder that cannot be read.
    pub fn start(folder: &Path, tell: impl FnMut() + Send + 'static) -> Result<Self, Error> {
        let real = folder.canonicalize().map_err(|error| Error::cannot("watch", folder, &error))?;
        Self::with(&real, tell, |send| RecommendedWatcher::new(send, config()).map(boxed)).or_else(
            |(_, tell)| {
                Self::with(&real, tell, |send| PollWatcher::new(send, config()).map(boxed)).map_err(
                    |(error, _)| {
                        Error::at(
                            format!("cannot watch this: {error}"),
                            folder,
                            "Check the disk and the path",
                        )
                    },
                )
            },
        )
    }

    fn with<T: FnMut() + Send + 'static>(
        folder: &Path,
        tell: T,
        make: impl FnOnce(Send_) -> notify::Result<Box<dyn Watcher + Send>>,
    ) -> Result<Self, (notify::Error, T)> {
        let (send, receive) = channel();
        let root = folder.to_path_buf();
        let handler: Send_ = Box::new(move |event: notify::Result<Event>| {
            if matters(&root, &event) {
                // Nobody listens any more when the watch is being dropped.
                let _ = send.send(());
            }
        });
        let started = make(handler).and_then(|mut watcher| {
            watcher.watch(folder, RecursiveMode::Recursive)?;
            Ok(watcher)
        });
        match started {
            Ok(watcher) => {
                std::thread::spawn(move || pass_on(&receive, tell));
                Ok(Self { _watcher: watcher })
            }
            Err(error) => Err((error, tell)),
        }
    }
}

type Send_ = Box<dyn FnMut(notify::Result<Event>) + Send>;

fn boxed<W: Watcher + Send + 'static>(watcher: W) -> Box<dyn Watcher + Send> {
    Box::new(watcher)
}

fn config() -> Config {
    // A link is not followed: it could lead anywhere.
    Config::default().with_poll_interval(POLL).with_follow_symlinks(false)
}

/// Whether an event is worth a look. Reading makes events too, so telling those would never end.
fn matters(root: &Path, event: &notify::Result<Event>) -> bool {
    match event {
        Ok(event) if matches!(event.kind, EventKind::Access(_)) => false,
        Ok(event) => event.paths.is_empty() || event.paths.iter().any(|path| !is_passed_over(root, path)),
        // Something may have been missed.
        Err(_) => true,
    }
}

fn is_passed_over(root: &Path, path: &Path) -> bool {
    let inside = path.strip_prefix(root).unwrap_or(path);
    inside.components().next().is_some_and(|first| {
        let first = first.as_os_str();
        first == OWN || first == VARIANTS
    })
}

/// Waits for quiet after each change, then tells it.
fn pass_on(receive: &Receiver<()>, mut tell: impl FnMut()) {
    while receive.recv().is_ok() {
        let latest = Instant::now() + LATEST;
        loop {
            let left = latest.saturating_duration_since(Instant::now()).min(QUIET);
            match receive.recv_timeout(left) {
                Ok(()) if !left.is_zero() => {}
                Err(RecvTimeoutError::Disconnected) => return,
                _ => break,
            }
        }
        tell();
    }
}
