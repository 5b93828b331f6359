//! A change in a project's folder is told, once, and looking at it is no change.

#![allow(clippy::unwrap_used)] // tests may panic

use std::fs;
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use folder::{Document, Expected, Store, Watch};

/// Long enough for any machine; only a failing test waits for it.
const LONG: Duration = Duration::from_secs(30);

fn watched(folder: &std::path::Path) -> (Watch, Receiver<()>) {
    let (send, receive) = channel();
    let watch = Watch::start(folder, move || {
        // The test may have ended.
        let _ = send.send(());
    })
    .unwrap();
    (watch, receive)
}

#[test]
fn documents_parts_and_weather_are_told_and_looking_is_not() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("intent.toml"), "a").unwrap();
    fs::create_dir(folder.path().join("parts")).unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    let (watch, told) = watched(folder.path());
    for file in ["intent.toml", "parts/own.toml", "sky.csv"] {
        fs::write(folder.path().join(file), file).unwrap();
        told.recv_timeout(LONG).expect(file);
        // Whoever is told looks, and that must not go on for ever.
        for _ in 0..100 {
            let seen = store.look().unwrap();
            assert!(seen.is_none_or(|seen| seen.states.len() <= 1));
            if told.recv_timeout(Duration::from_millis(300)).is_err() {
                break;
            }
        }
        assert!(told.try_recv().is_err(), "{file}: looking is told as a change");
    }
    assert_eq!(store.text(Document::Intent).text, "intent.toml");
    // An own save may be told; looking then finds nothing new.
    store.save(Document::Intent, Expected::Number(store.number()), "b", "b").unwrap();
    let _ = told.recv_timeout(Duration::from_millis(300));
    assert!(store.look().unwrap().is_none());
    drop(watch);
    // After that the other end is closed, at the latest once what was under way has been told.
    while told.recv_timeout(LONG).is_ok() {}
    assert_eq!(told.recv_timeout(LONG), Err(std::sync::mpsc::RecvTimeoutError::Disconnected));
}

#[test]
fn a_folder_that_is_not_there_cannot_be_watched() {
    let folder = tempfile::tempdir().unwrap();
    let error = Watch::start(&folder.path().join("none"), || {}).unwrap_err().to_string();
    assert!(error.contains("none"), "{error}");
}
