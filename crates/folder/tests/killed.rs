//! A process that edits without end is killed at any moment; every acknowledged edit and a readable file are found.

#![allow(clippy::unwrap_used)] // tests may panic

use std::fs;
use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};
use std::time::Duration;

use folder::{Document, Store};
use rand::{RngExt, SeedableRng};

include!("support/stream_text.inc");

const KILLS: usize = 200;

#[test]
fn whoever_is_killed_has_lost_nothing_that_was_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("intent.toml"), text("before", 1)).unwrap();
    let mut random = rand_xoshiro::Xoshiro256PlusPlus::seed_from_u64(20);
    let (mut acknowledged, mut with_edits) = (0, 0);
    let mut last = 1;
    for run in 0..KILLS {
        let run = run.to_string();
        let mut child = Command::new(env!("CARGO_BIN_EXE_edit_stream"))
            .arg(folder.path())
            .arg(&run)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        // Now and then before anything was done; mostly in the middle of it.
        let lines = BufReader::new(child.stdout.take().unwrap());
        let wait = Duration::from_micros(random.random_range(0..120_000));
        let killer = std::thread::spawn(move || {
            std::thread::sleep(wait);
            // SIGKILL, where there are signals.
            child.kill().unwrap();
            child.wait().unwrap()
        });
        // A line that was cut short was not acknowledged.
        let lines: Vec<String> =
            lines.split(b'\n').map(|line| String::from_utf8(line.unwrap()).unwrap()).collect();
        let status = killer.join().unwrap();
        assert!(!status.success() && status.code() != Some(1), "the stream ended by itself: {status}");

        let store = Store::open(folder.path()).unwrap();
        assert_eq!(store.notes(), [""; 0], "run {run}");
        let mut at = last;
        for line in &lines {
            let words: Vec<&str> = line.split(' ').collect();
            match words.as_slice() {
                ["saved", number, count, file] => {
                    let document =
                        Document::ALL.into_iter().find(|document| document.file() == *file).unwrap();
                    at = number.parse().unwrap();
                    let kept = store.text_at(at, document).expect("an acknowledged edit is kept");
                    assert_eq!(kept, text(&run, count.parse().unwrap()), "run {run}, state {at}");
                    acknowledged += 1;
                }
                ["at", number] => at = number.parse().unwrap(),
                other => panic!("{other:?}"),
            }
        }
        with_edits += usize::from(!lines.is_empty());
        // One change more may have been made and not acknowledged: a step, or a new state.
        let number = store.number();
        if number != at {
            let states = store.states();
            let parent =
                |of: u64| states.iter().find(|state| state.number == of).and_then(|state| state.parent);
            let is_one_on = parent(number) == Some(at) || parent(at) == Some(number);
            let is_first = states.first().is_some_and(|state| state.number == number);
            assert!(is_one_on || is_first, "run {run}: at {number}, acknowledged {at}");
        }
        last = number;
        for document in Document::ALL {
            let there = fs::read_to_string(folder.path().join(document.file())).unwrap_or_default();
            assert_eq!(there, store.text(document).text, "run {run}");
            assert!(there.is_empty() || there.ends_with("is_whole = true\n"), "run {run}: {there}");
            assert!(there.parse::<toml_edit::DocumentMut>().is_ok());
        }
        let from_elsewhere =
            store.states().iter().filter(|state| state.from == folder::Origin::Overtaken).count();
        assert_eq!(from_elsewhere, 0, "nobody else wrote");
    }
    assert!(with_edits > KILLS / 10, "{with_edits} of {KILLS} runs came to an edit");
    assert!(acknowledged > KILLS / 4, "{acknowledged} edits in all");
}
