//! One project open for editing: saving, undo and redo, what others write, links, damage.

#![allow(clippy::unwrap_used)] // tests may panic

use std::fs;
use std::path::Path;

use folder::{Document, Error, Expected, Origin, Store};
use tempfile::TempDir;

use Document::{Intent, Readings, Ticks};

fn project(text: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("intent.toml"), text).unwrap();
    folder
}

fn open(folder: &TempDir) -> Store {
    Store::open(folder.path()).unwrap()
}

fn on_disk(folder: &TempDir, document: Document) -> String {
    fs::read_to_string(folder.path().join(document.file())).unwrap_or_default()
}

fn edit(folder: &TempDir, document: Document, text: &str) {
    fs::write(folder.path().join(document.file()), text).unwrap();
}

#[track_caller]
fn save(store: &mut Store, document: Document, text: &str) -> u64 {
    let saved = store.save(document, Expected::Number(store.number()), text, text).unwrap();
    assert_eq!(saved.overtaken, []);
    saved.state.number
}

fn every_text(store: &Store, document: Document) -> Vec<String> {
    store.states().iter().map(|state| store.text_at(state.number, document).unwrap().to_owned()).collect()
}

#[test]
fn a_change_stands_in_file_and_history_and_survives() {
    let folder = project("a");
    let mut store = open(&folder);
    assert_eq!((store.number(), store.text(Intent).text.as_str()), (1, "a"));
    assert!(!folder.path().join(".wattwain").exists(), "looking leaves no trace");
    assert_eq!(save(&mut store, Intent, "b"), 2);
    assert_eq!(save(&mut store, Readings, "volts"), 3);
    assert_eq!(save(&mut store, Readings, "volts"), 3, "the same text makes no state");
    assert_eq!((on_disk(&folder, Intent), on_disk(&folder, Readings)), ("b".into(), "volts".into()));
    assert_eq!(on_disk(&folder, Ticks), "");
    for store in [&store, &open(&folder)] {
        assert_eq!(store.number(), 3);
        let state = store.states().pop().unwrap();
        assert_eq!((state.parent, state.document, state.from), (Some(2), Readings, Origin::Page));
        assert_eq!(state.label, "volts");
        assert_eq!(store.text_at(1, Intent), Some("a"));
        assert_eq!(store.text_at(3, Intent), Some("b"));
        assert_eq!(store.text_at(2, Readings), Some(""));
        assert_eq!(store.text_at(4, Intent), None);
    }
    assert!(store.look().unwrap().is_none(), "own changes are no news");
    let ignored = fs::read_to_string(folder.path().join(".wattwain/.gitignore")).unwrap();
    assert_eq!(ignored, "*\n");
}

#[test]
fn undo_redo_and_the_branch_left_behind() {
    let folder = project("a");
    let mut store = open(&folder);
    save(&mut store, Intent, "b");
    save(&mut store, Ticks, "t");
    save(&mut store, Intent, "c");
    assert!(store.forward().unwrap().is_none());
    assert_eq!(store.back().unwrap().unwrap().state.number, 3);
    assert_eq!(store.back().unwrap().unwrap().state.number, 2);
    assert_eq!((on_disk(&folder, Intent), on_disk(&folder, Ticks)), ("b".into(), String::new()));
    let mut store = open(&folder);
    assert_eq!((store.can_go_back(), store.can_go_forward()), (Some(1), Some(3)), "after a restart too");
    assert_eq!(store.forward().unwrap().unwrap().state.number, 3);
    assert_eq!(save(&mut store, Intent, "d"), 5);
    assert!(store.forward().unwrap().is_none(), "a new change is the end of the way");
    assert_eq!(store.go_to(4).unwrap().state.number, 4, "what was undone is still there");
    assert_eq!(on_disk(&folder, Intent), "c");
    store.back().unwrap();
    assert_eq!(store.can_go_forward(), Some(4), "forward leads to where one was last");
    store.go_to(1).unwrap();
    assert!(store.back().unwrap().is_none());
    let error = store.go_to(77).unwrap_err().to_string();
    assert!(error.contains("state 77 is not kept"), "{error}");
}

#[test]
fn what_an_editor_writes_comes_in() {
    let folder = project("a");
    let mut store = open(&folder);
    save(&mut store, Intent, "b");
    assert!(store.look().unwrap().is_none());
    edit(&folder, Intent, "c");
    let outside = store.look().unwrap().unwrap();
    assert_eq!((outside.number, outside.states.len(), outside.troubles.len()), (3, 1, 0));
    assert_eq!((outside.states[0].from, outside.states[0].parent), (Origin::Editor, Some(2)));
    assert!(store.look().unwrap().is_none(), "told once");
    assert_eq!(store.text(Intent).text, "c");
    store.back().unwrap();
    assert_eq!(on_disk(&folder, Intent), "b", "it can be undone like any other");
    edit(&folder, Ticks, "t");
    let store = open(&folder);
    assert_eq!((store.number(), store.text(Ticks).text.as_str()), (4, "t"), "written while nobody looked");
}

#[test]
fn a_change_to_something_else_is_refused_and_nothing_written() {
    let folder = project("a");
    let mut store = open(&folder);
    edit(&folder, Intent, "theirs");
    let refused = store.save(Intent, Expected::Number(1), "mine", "mine").unwrap_err();
    let Error::Overtaken { theirs } = refused else { panic!("{refused}") };
    assert_eq!((theirs.number, theirs.from), (2, Origin::Editor));
    assert_eq!(on_disk(&folder, Intent), "theirs");
    assert_eq!(store.look().unwrap().unwrap().states, [*theirs], "and it is news");
    store.save(Intent, Expected::Text("a"), "mine", "mine").unwrap_err();
    // Another document is no conflict.
    edit(&folder, Intent, "theirs again");
    assert_eq!(store.save(Ticks, Expected::Number(1), "t", "t").unwrap().state.number, 4);
    edit(&folder, Intent, "once more");
    assert!(matches!(store.back(), Err(Error::Overtaken { .. })), "undo does not undo what was not seen");
    assert_eq!(on_disk(&folder, Intent), "once more");
}

#[test]
fn a_file_that_went_away_or_is_no_text_is_told_and_brought_back() {
    let folder = project("a");
    let mut store = open(&folder);
    save(&mut store, Intent, "b");
    fs::remove_file(folder.path().join("intent.toml")).unwrap();
    let outside = store.look().unwrap().unwrap();
    assert_eq!((outside.number, outside.states.len()), (2, 0));
    let said = outside.troubles[0].to_string();
    assert!(said.contains("intent.toml:1:1: the file was deleted"), "{said}");
    assert!(store.look().unwrap().is_none(), "told once");
    assert_eq!(store.text(Intent).text, "b");
    store.go_to(store.number()).unwrap();
    assert_eq!(on_disk(&folder, Intent), "b");

    let bytes = [0xff, 0xfe, b'x'];
    fs::write(folder.path().join("intent.toml"), bytes).unwrap();
    let said = store.look().unwrap().unwrap().troubles[0].to_string();
    assert!(said.contains("not UTF-8"), "{said}");
    let error = store.save(Intent, Expected::Number(2), "c", "c").unwrap_err().to_string();
    assert!(error.contains("not UTF-8"), "it is not written over: {error}");
    store.go_to(2).unwrap();
    assert_eq!(on_disk(&folder, Intent), "b");
    assert!(store.notes()[0].contains("could not be read as text"), "{:?}", store.notes());
    let own = folder.path().join(".wattwain");
    let kept =
        fs::read_dir(own).unwrap().any(|entry| fs::read(entry.unwrap().path()).is_ok_and(|it| it == bytes));
    assert!(kept, "the bytes are kept");
    // Deleted while nobody looked.
    fs::remove_file(folder.path().join("intent.toml")).unwrap();
    let mut store = open(&folder);
    assert_eq!(store.look().unwrap().unwrap().troubles.len(), 1);
    assert_eq!(store.text(Intent).text, "b");
}

#[test]
fn the_last_hundred_states_are_kept() {
    let folder = project("0");
    let mut store = open(&folder);
    for count in 1..=130 {
        save(&mut store, Intent, &count.to_string());
    }
    for store in [&store, &open(&folder)] {
        let states = store.states();
        assert_eq!((states.len(), states[0].number, store.number()), (100, 32, 131));
        assert_eq!(store.text_at(32, Intent), Some("31"));
    }
    // A change made to the oldest can be undone.
    store.go_to(32).unwrap();
    save(&mut store, Intent, "anew");
    assert_eq!(store.back().unwrap().unwrap().state.number, 32);
    assert_eq!(open(&folder).number(), 32);
}

#[test]
fn an_instant_that_an_editor_shares_with_a_save_loses_nothing() {
    let folder = project("page 0");
    let mut store = open(&folder);
    let path = folder.path().join("intent.toml");
    let ended = std::sync::atomic::AtomicBool::new(false);
    let mut refused = 0;
    let written = std::thread::scope(|scope| {
        let editor = scope.spawn(|| {
            let mut written = Vec::new();
            while !ended.load(std::sync::atomic::Ordering::Relaxed) && written.len() < 30 {
                // It writes over what the page wrote only, so every text of its own must stay somewhere.
                if fs::read_to_string(&path).is_ok_and(|text| text.starts_with("page")) {
                    let text = format!("editor {}", written.len());
                    let beside = path.with_extension("swp");
                    fs::write(&beside, &text).unwrap();
                    fs::rename(&beside, &path).unwrap();
                    written.push(text);
                }
                std::thread::yield_now();
            }
            written
        });
        let mut saved = 0;
        while saved < 40 {
            match store.save(Intent, Expected::Number(store.number()), &format!("page {saved}."), "page") {
                Ok(_) => saved += 1,
                Err(Error::Overtaken { .. }) => refused += 1,
                Err(error) => panic!("{error}"),
            }
        }
        ended.store(true, std::sync::atomic::Ordering::Relaxed);
        editor.join().unwrap()
    });
    store.look().unwrap();
    assert!(!written.is_empty());
    let states = store.states();
    assert!(states.len() < 100, "{}", states.len());
    let kept = every_text(&store, Intent);
    for text in &written {
        assert!(kept.contains(text), "{text} is lost; {} written, {refused} refused", written.len());
    }
    assert!(kept.iter().filter(|text| text.starts_with("page")).count() >= 41);
}

#[test]
fn an_editor_that_writes_on_into_a_replaced_file_loses_nothing() {
    use std::io::Write;
    let folder = project("a");
    let mut store = open(&folder);
    let mut editor = fs::OpenOptions::new().append(true).open(folder.path().join("intent.toml")).unwrap();
    save(&mut store, Intent, "b");
    editor.write_all(b" and late").unwrap();
    drop(editor);
    let outside = store.look().unwrap().unwrap();
    assert_eq!((outside.number, outside.states.len()), (2, 1));
    assert_eq!(outside.states[0].from, Origin::Overtaken);
    assert_eq!(store.text_at(outside.states[0].number, Intent), Some("a and late"));
    assert_eq!(on_disk(&folder, Intent), "b");
    assert!(store.look().unwrap().is_none());
    assert_eq!(open(&folder).number(), 2);
}

#[test]
fn two_stores_see_each_other() {
    let folder = project("a");
    let (mut one, mut two) = (open(&folder), open(&folder));
    save(&mut one, Intent, "one");
    let outside = two.look().unwrap().unwrap();
    assert_eq!((outside.number, outside.states.len()), (2, 1));
    assert_eq!(two.text(Intent).text, "one");
    save(&mut two, Intent, "two");
    let refused = one.save(Intent, Expected::Number(2), "one more", "one more");
    assert!(matches!(refused, Err(Error::Overtaken { theirs }) if theirs.number == 3));
    one.look().unwrap();
    one.back().unwrap();
    let outside = two.look().unwrap().unwrap();
    assert_eq!((outside.number, outside.states.len()), (2, 0), "an undo elsewhere is news");
    assert_eq!(two.text(Intent).text, "one");
}

#[test]
fn many_stores_at_once_lose_nothing() {
    let folder = project("a");
    let saved: Vec<(u64, String)> = std::thread::scope(|scope| {
        let writers: Vec<_> = (0..4)
            .map(|writer| {
                let mut store = open(&folder);
                scope.spawn(move || {
                    let mut saved = Vec::new();
                    while saved.len() < 8 {
                        let text = format!("writer {writer}, text {}", saved.len());
                        match store.save(Intent, Expected::Number(store.number()), &text, "at once") {
                            Ok(done) => {
                                assert_eq!(done.overtaken, []);
                                saved.push((done.state.number, text));
                            }
                            Err(Error::Overtaken { .. }) => {}
                            Err(error) => panic!("{error}"),
                        }
                    }
                    saved
                })
            })
            .collect();
        writers.into_iter().flat_map(|writer| writer.join().unwrap()).collect()
    });
    let store = open(&folder);
    assert_eq!((store.number(), saved.len()), (33, 32));
    for (number, text) in saved {
        assert_eq!(store.text_at(number, Intent), Some(text.as_str()));
    }
}

fn journal(folder: &Path) -> std::path::PathBuf {
    folder.join(".wattwain/history/journal")
}

#[test]
fn a_journal_torn_at_any_byte_gives_what_was_whole() {
    let folder = project("a");
    let mut store = open(&folder);
    let mut ends = vec![0];
    for text in ["b", "c\n\"quoted\" ²", "d"] {
        save(&mut store, Intent, text);
        ends.push(fs::metadata(journal(folder.path())).unwrap().len() as usize);
    }
    let whole = fs::read(journal(folder.path())).unwrap();
    let first_line = whole.iter().position(|byte| *byte == b'\n').unwrap() + 1;
    for cut in 0..whole.len() {
        fs::write(journal(folder.path()), &whole[..cut]).unwrap();
        let store = open(&folder);
        let states =
            ends.iter().filter(|end| **end > 0 && **end <= cut).count() + usize::from(cut >= first_line);
        let texts = every_text(&store, Intent);
        assert_eq!(texts[..states], ["a", "b", "c\n\"quoted\" ²", "d"][..states], "cut at {cut}");
        // The file has `d`, which is new to a history that lost it.
        assert_eq!(texts.last().unwrap(), "d", "cut at {cut}");
        assert_eq!(texts.len(), states + 1, "cut at {cut}");
        assert_eq!(store.notes(), [""; 0], "a torn end is no damage");
    }
    // And it goes on after a torn line.
    fs::write(journal(folder.path()), &whole[..whole.len() - 3]).unwrap();
    let mut store = open(&folder);
    save(&mut store, Intent, "e");
    assert_eq!(every_text(&open(&folder), Intent), ["a", "b", "c\n\"quoted\" ²", "d", "e"]);
}

#[test]
fn a_damaged_history_is_set_aside_and_told() {
    let folder = project("a");
    let mut store = open(&folder);
    for text in ["b", "c", "d"] {
        save(&mut store, Intent, text);
    }
    let whole = fs::read(journal(folder.path())).unwrap();
    for at in (0..whole.len() - 200).step_by(17) {
        let mut broken = whole.clone();
        broken[at] ^= 0x41;
        fs::write(journal(folder.path()), &broken).unwrap();
        let mut store = open(&folder);
        assert_eq!(store.notes().len(), 1, "byte {at}: {:?}", store.notes());
        assert!(store.notes()[0].contains("damaged"), "{:?}", store.notes());
        assert_eq!(store.text(Intent).text, "d");
        save(&mut store, Intent, "e");
        assert_eq!(open(&folder).notes(), [""; 0], "mended once");
        edit(&folder, Intent, "d");
    }
    let aside = fs::read_dir(folder.path().join(".wattwain/history")).unwrap().count();
    assert!(aside > 10, "{aside}");
    fs::write(journal(folder.path()), b"\0\0\0\n\0\n").unwrap();
    assert_eq!(open(&folder).notes().len(), 1);
    // No folder at all, and a folder in place of the file.
    fs::remove_dir_all(folder.path().join(".wattwain/history")).unwrap();
    fs::write(folder.path().join(".wattwain/history"), "what").unwrap();
    let mut store = open(&folder);
    assert_eq!(store.notes().len(), 1);
    save(&mut store, Intent, "f");
    fs::remove_file(journal(folder.path())).unwrap();
    fs::create_dir(journal(folder.path())).unwrap();
    let mut store = open(&folder);
    assert_eq!(store.notes().len(), 1);
    save(&mut store, Intent, "g");
    assert_eq!(every_text(&open(&folder), Intent), ["f", "g"]);
}

#[test]
fn a_history_taken_away_while_open_is_written_again() {
    let folder = project("a");
    let mut store = open(&folder);
    save(&mut store, Intent, "b");
    fs::remove_dir_all(folder.path().join(".wattwain")).unwrap();
    save(&mut store, Intent, "c");
    assert_eq!(every_text(&open(&folder), Intent), ["a", "b", "c"]);
}

#[test]
fn what_is_no_project_or_too_long_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let error = Store::open(folder.path()).unwrap_err().to_string();
    assert!(error.contains("intent.toml") && error.contains("wattwain begin"), "{error}");
    Store::open(&folder.path().join("none")).unwrap_err();
    let folder = project("a");
    let mut store = open(&folder);
    let long = "#".repeat(2_000_001);
    let error = store.save(Intent, Expected::Number(1), &long, "long").unwrap_err().to_string();
    assert!(error.contains("the most that is kept is 2000000"), "{error}");
    save(&mut store, Intent, "b");
    let label = "x\ny".repeat(300);
    store.save(Intent, Expected::Number(2), "c", &label).unwrap();
    assert_eq!(store.states().pop().unwrap().label.chars().count(), 200);
    assert!(!store.states().pop().unwrap().label.contains('\n'));
}

#[cfg(unix)]
mod links {
    use super::*;
    use std::os::unix::fs::{PermissionsExt, symlink};

    #[track_caller]
    fn refused<T: std::fmt::Debug>(result: Result<T, Error>, place: &str) {
        match result.unwrap_err() {
            Error::Located { problems, .. } => {
                assert_eq!(problems[0].line, 1);
                assert!(problems[0].file.ends_with(place), "{problems:?}");
                assert!(
                    problems[0].message.contains("link") || problems[0].message.contains("leads outside")
                );
            }
            other => panic!("{other}"),
        }
    }

    #[test]
    fn no_document_leads_outside() {
        let outside = project("secret");
        let folder = tempfile::tempdir().unwrap();
        symlink(outside.path().join("intent.toml"), folder.path().join("intent.toml")).unwrap();
        refused(Store::open(folder.path()), "intent.toml");

        let folder = project("a");
        let mut store = open(&folder);
        for document in [Readings, Intent] {
            let path = folder.path().join(document.file());
            let _ = fs::remove_file(&path);
            symlink(outside.path().join("intent.toml"), &path).unwrap();
            refused(store.save(document, Expected::Number(1), "mine", "mine"), document.file());
            refused(store.go_to(1), document.file());
            fs::remove_file(&path).unwrap();
            symlink(outside.path().join("new.toml"), &path).unwrap();
            refused(store.save(document, Expected::Number(1), "mine", "mine"), document.file());
            fs::remove_file(&path).unwrap();
        }
        assert_eq!(on_disk(&outside, Intent), "secret");
        assert!(!outside.path().join("new.toml").exists());
    }

    #[test]
    fn no_history_leads_outside() {
        let outside = tempfile::tempdir().unwrap();
        let folder = project("a");
        symlink(outside.path(), folder.path().join(".wattwain")).unwrap();
        refused(Store::open(folder.path()), ".wattwain");
        fs::remove_file(folder.path().join(".wattwain")).unwrap();
        let mut store = open(&folder);
        save(&mut store, Intent, "b");
        for inner in ["history", "lock"] {
            let path = folder.path().join(".wattwain").join(inner);
            if path.is_dir() {
                fs::remove_dir_all(&path).unwrap()
            } else {
                fs::remove_file(&path).unwrap()
            }
            symlink(outside.path().join("x"), &path).unwrap();
            refused(Store::open(folder.path()), inner);
            refused(store.save(Intent, Expected::Text("b"), "c", "c"), inner);
            fs::remove_file(&path).unwrap();
        }
        assert_eq!(fs::read_dir(outside.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_link_inside_stays_a_link() {
        let folder = project("a");
        fs::rename(folder.path().join("intent.toml"), folder.path().join("real.toml")).unwrap();
        symlink("real.toml", folder.path().join("intent.toml")).unwrap();
        let mut store = open(&folder);
        save(&mut store, Intent, "b");
        assert_eq!(fs::read_to_string(folder.path().join("real.toml")).unwrap(), "b");
        assert!(folder.path().join("intent.toml").symlink_metadata().unwrap().is_symlink());
    }

    #[test]
    fn permissions_stay() {
        let folder = project("a");
        let path = folder.path().join("intent.toml");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        save(&mut open(&folder), Intent, "b");
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
    }
}
