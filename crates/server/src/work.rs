//! Work that takes longer than an edit, in threads of its own: how far it is, what came of it, and stopping it.
//! Never: holds a lock of a project, takes the last processor, goes on when nobody has listened for a while.
//! Start at [`Works::begin`].

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use axum::http::StatusCode;
use tokio::sync::watch;

use crate::answer::Trouble;
use crate::{Stand, tell, wire};

/// Pieces of work at a time, waiting ones counted.
const MOST_AT_A_TIME: usize = 4;
/// Pieces of work that are remembered after their end, so that a window that comes late hears how it ended.
const MOST_REMEMBERED: usize = 32;
/// Between two words on how far it is.
const TICK: Duration = Duration::from_millis(100);
/// Work that nobody listens to for this long is stopped.
pub const PATIENCE: Duration = Duration::from_secs(20);

/// All work.
pub struct Works {
    pool: rayon::ThreadPool,
    state: Mutex<State>,
    patience: Duration,
}

#[derive(Default)]
struct State {
    last: u64,
    by_id: BTreeMap<u64, Arc<Piece>>,
}

/// A piece of work.
pub struct Piece {
    progress: energy::Progress,
    listeners: AtomicUsize,
    told: watch::Sender<wire::WorkEvent>,
}

impl Works {
    /// Threads for work: one processor is left for edits.
    ///
    /// Errors: a system that gives no threads.
    pub fn new(patience: Duration) -> Result<Self, rayon::ThreadPoolBuildError> {
        let processors = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(processors.saturating_sub(1).max(1))
            .thread_name(|number| format!("work-{number}"))
            .build()?;
        Ok(Self { pool, state: Mutex::default(), patience })
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Begins a piece of work on a stand; gives its number.
    pub fn begin(self: &Arc<Self>, stand: Arc<Stand>, new: wire::NewWork) -> Result<u64, Trouble> {
        let what = match &new {
            wire::NewWork::Years { count } => format!("{count} years of weather"),
            wire::NewWork::Sizes { .. } => "sizes of bank, array, charger and inverter".to_owned(),
        };
        let (told, _) = watch::channel(progress_event(0, 0, 0.0, &what));
        let piece =
            Arc::new(Piece { progress: energy::Progress::default(), listeners: AtomicUsize::new(0), told });
        let id = {
            let mut state = self.state();
            let running = state.by_id.values().filter(|piece| !piece.is_over()).count();
            if running >= MOST_AT_A_TIME {
                return Err(Trouble::new(
                    StatusCode::TOO_MANY_REQUESTS,
                    format!("{running} pieces of work are under way"),
                    "Wait for one to end, or stop one",
                ));
            }
            while state.by_id.len() >= MOST_REMEMBERED {
                let Some(oldest) = state.by_id.iter().find(|(_, piece)| piece.is_over()).map(|(id, _)| *id)
                else {
                    break;
                };
                state.by_id.remove(&oldest);
            }
            state.last += 1;
            let id = state.last;
            state.by_id.insert(id, Arc::clone(&piece));
            id
        };
        let works = Arc::clone(self);
        let begun = std::thread::Builder::new().name(format!("work {id}")).spawn(move || {
            works.run(&piece, &stand, &new, &what);
        });
        if let Err(error) = begun {
            self.state().by_id.remove(&id);
            return Err(Trouble::ours(format!("no thread can be had: {error}")));
        }
        Ok(id)
    }

    fn run(&self, piece: &Arc<Piece>, stand: &Stand, new: &wire::NewWork, what: &str) {
        let of = AtomicU64::new(match new {
            wire::NewWork::Years { count } => u64::from(*count),
            wire::NewWork::Sizes { .. } => 0,
        });
        let (finished, wait) = channel::<()>();
        let outcome = std::thread::scope(|scope| {
            let of = &of;
            scope.spawn(move || self.keep_telling(piece, of, what, &wait));
            // What panics ends this piece, and nothing else.
            let outcome = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
                self.pool.install(|| match new {
                    wire::NewWork::Years { count } => tell::years(stand, *count, &piece.progress)
                        .map(|outcome| wire::WorkEvent::Years { outcome }),
                    wire::NewWork::Sizes { years } => {
                        let begun = |steps| of.store(steps, Ordering::Relaxed);
                        match tell::sizes(stand, *years, &piece.progress, &begun) {
                            Ok(outcome) => outcome.map(|outcome| wire::WorkEvent::Sizes { outcome }),
                            Err(why) => {
                                Some(failed(&why.to_string(), "Change the project so that there is a choice"))
                            }
                        }
                    }
                })
            }));
            drop(finished);
            outcome
        });
        piece.told.send_replace(match outcome {
            Err(_) => failed("the work failed", "Try it with fewer years; the project is as it was"),
            Ok(Some(event)) => event,
            Ok(None) if piece.is_stopped() => wire::WorkEvent::Stopped,
            Ok(None) => failed("there is no bank, so there is nothing to follow", "Give the project a bank"),
        });
    }

    fn keep_telling(&self, piece: &Piece, of: &AtomicU64, what: &str, wait: &Receiver<()>) {
        let begun = Instant::now();
        let mut heard = begun;
        while wait.recv_timeout(TICK) == Err(RecvTimeoutError::Timeout) {
            let done = piece.progress.done.load(Ordering::Relaxed);
            let of = of.load(Ordering::Relaxed);
            piece.told.send_replace(progress_event(done, of, begun.elapsed().as_secs_f64(), what));
            if piece.listeners.load(Ordering::Relaxed) > 0 {
                heard = Instant::now();
            } else if heard.elapsed() > self.patience {
                piece.stop();
            }
        }
    }

    /// Listens to a piece of work.
    pub fn listen(&self, id: u64) -> Option<Listener> {
        let piece = Arc::clone(self.state().by_id.get(&id)?);
        piece.listeners.fetch_add(1, Ordering::Relaxed);
        let told = piece.told.subscribe();
        Some(Listener { piece, told })
    }

    /// Stops a piece of work; false where there is none of this number.
    pub fn stop(&self, id: u64) -> bool {
        self.state().by_id.get(&id).is_some_and(|piece| {
            piece.stop();
            true
        })
    }

    /// Stops all of it.
    pub fn stop_all(&self) {
        self.state().by_id.values().for_each(|piece| piece.stop());
    }
}

impl Piece {
    fn stop(&self) {
        self.progress.stop.store(true, Ordering::Relaxed);
    }

    fn is_stopped(&self) -> bool {
        self.progress.stop.load(Ordering::Relaxed)
    }

    fn is_over(&self) -> bool {
        is_last(&self.told.borrow())
    }
}

/// Whether nothing comes after an event.
pub fn is_last(event: &wire::WorkEvent) -> bool {
    !matches!(event, wire::WorkEvent::Progress { .. })
}

/// Somebody who listens to a piece of work, until dropped.
pub struct Listener {
    piece: Arc<Piece>,
    /// The latest event.
    pub told: watch::Receiver<wire::WorkEvent>,
}

impl Drop for Listener {
    fn drop(&mut self) {
        self.piece.listeners.fetch_sub(1, Ordering::Relaxed);
    }
}

fn progress_event(done: u64, of: u64, seconds: f64, what: &str) -> wire::WorkEvent {
    let rate = if seconds > 0.0 { done as f64 / seconds } else { 0.0 };
    let left_s = (of > 0 && rate > 0.0).then(|| of.saturating_sub(done) as f64 / rate);
    wire::WorkEvent::Progress { done, of, rate, left_s, what: what.to_owned() }
}

fn failed(message: &str, mend: &str) -> wire::WorkEvent {
    let fault = wire::Fault { message: message.to_owned(), mend: mend.to_owned(), problems: Vec::new() };
    wire::WorkEvent::Failed { fault }
}
