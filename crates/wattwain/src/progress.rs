//! A sign of life on the standard error while something takes longer than a second.
//! Never: shows anything where the standard error is no terminal, or before a second is over.
//! Start at [`counted`].

use std::io::IsTerminal;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// Does `work` while showing how many of `total` steps are done; `work` counts them up. A total of 0 is not known.
pub fn counted<T>(title: &'static str, total: u64, work: impl FnOnce(&AtomicU64) -> T) -> T {
    let done = AtomicU64::new(0);
    watched(title, total, &done, || work(&done))
}

fn watched<T>(title: &'static str, total: u64, steps: &AtomicU64, work: impl FnOnce() -> T) -> T {
    if !std::io::stderr().is_terminal() {
        return work();
    }
    let (finished, wait) = channel::<()>();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            if wait.recv_timeout(Duration::from_secs(1)) != Err(RecvTimeoutError::Timeout) {
                return;
            }
            let bar = bar(title, total);
            while wait.recv_timeout(Duration::from_millis(100)) == Err(RecvTimeoutError::Timeout) {
                bar.set_position(steps.load(Ordering::Relaxed));
                bar.tick();
            }
            bar.finish_and_clear();
        });
        let value = work();
        drop(finished);
        value
    })
}

/// The same for work of the energy study, which counts in its own way.
pub fn shared<T>(title: &'static str, total: u64, work: impl FnOnce(&energy::Progress) -> T) -> T {
    let progress = energy::Progress::default();
    watched(title, total, &progress.done, || work(&progress))
}

fn bar(title: &'static str, total: u64) -> ProgressBar {
    let bar = if total == 0 { ProgressBar::new_spinner() } else { ProgressBar::new(total) };
    let template = if total == 0 {
        "{spinner} {msg} {elapsed}"
    } else {
        "{msg} {wide_bar} {pos} of {len}, {per_sec}, {eta} left"
    };
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    bar.set_message(title);
    bar
}
