//! What a person opens: listing, beginning, copying, and that nothing leaves the folder.

#![allow(clippy::unwrap_used)] // tests may panic

use std::fs;
use std::path::Path;

use folder::{Document, Shelf};
use tempfile::TempDir;

const SMALL: &str = r#"[brief]
name = "Small"
craft = "trailer"
rules = "na"
voltage = "12 V"
autonomy = "24 h"

[bank]
chemistry = "agm"
capacity = "75 Ah"
length = "0.8 m"
"#;

fn put(path: &Path, text: &str) {
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

fn shelf(projects: &[&str]) -> (TempDir, Shelf) {
    let folder = tempfile::tempdir().unwrap();
    for project in projects {
        put(&folder.path().join(project).join("intent.toml"), SMALL);
    }
    let shelf = Shelf::open(folder.path()).unwrap();
    (folder, shelf)
}

fn keys(shelf: &Shelf) -> Vec<String> {
    shelf.projects().unwrap().into_iter().map(|listed| listed.key).collect()
}

#[test]
fn projects_and_their_variants_are_listed() {
    let (folder, shelf) =
        shelf(&["heron", "my van", "heron/variants/lighter", "Teal", ".hidden", "heron/inner"]);
    put(&folder.path().join("papers/notes.txt"), "no project");
    assert!(!shelf.is_project());
    assert_eq!(keys(&shelf), ["Teal", "heron", "heron~lighter", "my_20van"]);
    let variant = shelf.find("heron~lighter").unwrap();
    assert_eq!((variant.name.as_str(), variant.variant_of.as_deref()), ("lighter", Some("heron")));
    assert_eq!(shelf.project("my_20van").unwrap().intent.brief.name, "Small");
    let error = shelf.find("herom").unwrap_err().to_string();
    assert!(error.contains("Did you mean `heron`?"), "{error}");
    for key in [
        "",
        "..",
        "../heron",
        "heron/variants/lighter",
        "heron~../inner",
        ".hidden",
        "papers",
        "heron\0",
        "/",
    ] {
        assert!(shelf.find(key).is_err(), "{key:?}");
        assert!(shelf.store(key).is_err() && shelf.copy(key, "copy").is_err());
    }
    let one = Shelf::open(&folder.path().join("heron")).unwrap();
    assert!(one.is_project());
    assert_eq!(keys(&one), ["heron", "heron~lighter"]);
    Shelf::open(&folder.path().join("none")).unwrap_err();
    Shelf::open(&folder.path().join("heron/intent.toml")).unwrap_err();
}

#[test]
fn a_project_is_begun_under_a_safe_name() {
    let (folder, shelf) = shelf(&["Heron"]);
    let begun = shelf.begin("Next van", SMALL).unwrap();
    assert_eq!((begun.key.as_str(), begun.note.is_some()), ("next-van", true));
    assert_eq!(fs::read_to_string(folder.path().join("next-van/intent.toml")).unwrap(), SMALL);
    let begun = shelf.begin("heron", SMALL).unwrap();
    assert_eq!(begun.key, "heron-2", "names that differ in case only are one name on some systems");
    assert!(begun.note.unwrap().contains("heron-2"));
    for name in ["", "..", "../out", "/tmp/x", "a\\b", "a\0", "\u{202e}", "%%%", &"x".repeat(300)] {
        shelf.begin(name, SMALL).expect_err(name);
    }
    assert_eq!(keys(&shelf), ["Heron", "heron-2", "next-van"]);
    let one = Shelf::open(&folder.path().join("Heron")).unwrap();
    assert_eq!(one.begin("lighter", SMALL).unwrap().key, "Heron~lighter");
    assert_eq!(keys(&shelf), ["Heron", "Heron~lighter", "heron-2", "next-van"]);
}

#[test]
fn a_copy_has_parts_and_weather_and_no_history() {
    let (folder, shelf) = shelf(&["heron"]);
    let heron = folder.path().join("heron");
    let text = format!("{SMALL}\n# ours\n[weather]\nfile = \"../sky/year.csv\" # from the mast\n");
    put(&heron.join("intent.toml"), &text);
    put(&heron.join("parts.toml"), "# none\n");
    put(&heron.join("parts/more.toml"), "# none\n");
    put(&heron.join("trip.gpx"), "not copied");
    put(&folder.path().join("sky/year.csv"), "the sky");
    let mut store = shelf.store("heron").unwrap();
    store.save(Document::Ticks, folder::Expected::Number(1), "t = 1\n", "Tick").unwrap();
    assert_eq!(shelf.copy("heron", "lighter").unwrap().key, "heron~lighter");
    let copy = heron.join("variants/lighter");
    let copied = fs::read_to_string(copy.join("intent.toml")).unwrap();
    assert_eq!(copied, text.replace("../sky/year.csv", "year.csv"), "only the path of the weather changes");
    let mut names: Vec<String> =
        fs::read_dir(&copy).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert_eq!(names, ["intent.toml", "parts", "parts.toml", "year.csv"]);
    assert_eq!(fs::read_to_string(copy.join("year.csv")).unwrap(), "the sky");
    assert_eq!(shelf.store("heron~lighter").unwrap().number(), 1);
    // A copy of a copy stands beside it.
    assert_eq!(shelf.copy("heron~lighter", "lighter").unwrap().key, "heron~lighter-2");
    assert_eq!(keys(&shelf), ["heron", "heron~lighter", "heron~lighter-2"]);
}

#[cfg(unix)]
mod links {
    use super::*;
    use folder::Error;
    use std::os::unix::fs::symlink;

    #[track_caller]
    fn refused<T>(result: Result<T, Error>, place: &str) {
        match result.map(|_| ()).unwrap_err() {
            Error::Located { problems, .. } => {
                assert!(problems[0].file.ends_with(place), "{problems:?}");
                assert!(problems[0].message.contains("leads outside"), "{problems:?}");
                assert!(!problems[0].mend.is_empty());
            }
            other => panic!("{other}"),
        }
    }

    #[test]
    fn nothing_leads_outside() {
        let (outside, _) = super::shelf(&["other"]);
        let other = outside.path().join("other");
        put(&outside.path().join("parts/secret.toml"), "secret = 1");
        put(&outside.path().join("sky.csv"), "secret");
        let (folder, shelf) = super::shelf(&["heron", "teal"]);
        let heron = folder.path().join("heron");

        // A project that is a link, and variants that are one.
        symlink(&other, folder.path().join("linked")).unwrap();
        symlink(outside.path(), folder.path().join("teal/variants")).unwrap();
        assert_eq!(keys(&shelf), ["heron", "teal"]);
        refused(shelf.copy("teal", "copy"), "variants");
        assert_eq!(fs::read_dir(outside.path()).unwrap().count(), 3, "nothing was made outside");

        // Its intent.
        fs::rename(heron.join("intent.toml"), heron.join("kept")).unwrap();
        symlink(other.join("intent.toml"), heron.join("intent.toml")).unwrap();
        refused(shelf.project("heron"), "intent.toml");
        refused(shelf.store("heron"), "intent.toml");
        refused(shelf.copy("heron", "copy"), "intent.toml");
        fs::remove_file(heron.join("intent.toml")).unwrap();
        fs::rename(heron.join("kept"), heron.join("intent.toml")).unwrap();
        let store = shelf.store("heron").unwrap();

        // Its parts: the folder, one file in it, the one file.
        for (to, at) in [
            (outside.path().join("parts"), "parts"),
            (outside.path().join("parts/secret.toml"), "parts/mine.toml"),
            (outside.path().join("parts/secret.toml"), "parts.toml"),
        ] {
            let link = heron.join(at);
            fs::create_dir_all(link.parent().unwrap()).unwrap();
            symlink(to, &link).unwrap();
            refused(shelf.project("heron"), at);
            refused(store.project(), at);
            refused(shelf.copy("heron", "copy"), at);
            fs::remove_file(link).unwrap();
        }

        // Its weather: through a link, upwards, from the root.
        let project = |file: &str| {
            put(&heron.join("intent.toml"), &format!("{SMALL}\n[weather]\nfile = \"{file}\"\n"));
            shelf.project("heron").unwrap()
        };
        symlink(outside.path().join("sky.csv"), heron.join("sky.csv")).unwrap();
        let up = format!("../../{}/sky.csv", outside.path().file_name().unwrap().to_str().unwrap());
        let root = outside.path().join("sky.csv");
        for file in ["sky.csv", &up, root.to_str().unwrap()] {
            let project = project(file);
            refused(store.weather(&project), "sky.csv");
            refused(shelf.copy("heron", "copy"), "sky.csv");
        }
        assert!(!heron.join("variants/copy").exists(), "nothing is left of a copy that failed");
    }

    #[test]
    fn a_link_inside_the_shelf_is_followed() {
        let (folder, shelf) = super::shelf(&["heron"]);
        put(&folder.path().join("shared/more.toml"), "# none\n");
        symlink(folder.path().join("shared"), folder.path().join("heron/parts")).unwrap();
        shelf.project("heron").unwrap();
        symlink(folder.path().join("heron"), folder.path().join("again")).unwrap();
        assert_eq!(keys(&shelf), ["again", "heron"]);
    }
}
