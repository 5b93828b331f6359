//! A weather file from outside: read before it is kept, then named in the project.
//! Never: keeps a file that cannot be read, writes over one that is there.
//! Start at [`Desk::weather`].

use std::path::Path;

use folder::Existing;

use super::seat::{problems, trouble_at};
use super::{Desk, merge};
use crate::answer::Trouble;
use crate::wire;

/// Longest stem of a file's name [characters].
const LONGEST_STEM: usize = 40;
/// Files of one name that are kept beside each other.
const MOST_OF_A_NAME: usize = 50;

impl Desk {
    /// Keeps a weather file in the project's folder and names it in intent.toml.
    pub fn weather(&self, key: &str, name: &str, base: u64, bytes: Vec<u8>) -> Result<wire::View, Trouble> {
        let seat = self.seat(key)?;
        let name = plain_name(name)?;
        let read = energy::weather::read(&name, &bytes);
        let home = seat.home.clone();
        if let Err(found) = read {
            let text = energy::weather::text(&bytes).into_owned();
            let sources = vec![model::SourceText { name: name.clone(), text }];
            let error = folder::Error::Located { problems: found, sources };
            return Err(Trouble::unreadable("the weather file cannot be read", problems(&home, &error)));
        }
        let edits = vec![wire::Edit {
            path: vec!["weather".to_owned(), "file".to_owned()],
            value: Some(String::new()),
        }];
        // Before anything is kept, it is seen whether it could be named.
        {
            let (store, now) = (seat.store(), seat.now());
            let base = store.text_at(base, folder::Document::Intent);
            let values = merge::clashes(base, now.text(folder::Document::Intent), &edits);
            if !values.is_empty() {
                drop(store);
                return Err(super::clash(&now, key, values, &[], std::time::Instant::now()));
            }
        }
        let kept = keep(&home, &name, bytes)?;
        let edits = edits.into_iter().map(|edit| wire::Edit { value: Some(kept.clone()), ..edit }).collect();
        let label = format!("Weather: {kept}");
        self.change(key, &wire::Change { base, label, edits, with: Vec::new(), over: false, dry: false })
    }
}

/// Writes the file under its name or the next free one; one that is there with the same content is taken.
fn keep(home: &Path, name: &str, bytes: Vec<u8>) -> Result<String, Trouble> {
    let (stem, end) = name.rsplit_once('.').unwrap_or((name, "txt"));
    let mut files = vec![(String::new(), bytes)];
    for count in 1..=MOST_OF_A_NAME {
        let tried = if count == 1 { name.to_owned() } else { format!("{stem}-{count}.{end}") };
        let place = home.join(&tried);
        if let Ok(about) = place.symlink_metadata() {
            let is_same = about.is_file()
                && std::fs::read(&place)
                    .is_ok_and(|there| files.first().is_some_and(|(_, new)| *new == there));
            if is_same {
                return Ok(tried);
            }
            continue;
        }
        if let Some(file) = files.first_mut() {
            file.0.clone_from(&tried);
        }
        return match folder::write(home, &files, Existing::Keep) {
            Ok(_) => Ok(tried),
            Err(error) => Err(trouble_at(home, &error)),
        };
    }
    Err(Trouble::refused(format!("there are {MOST_OF_A_NAME} files of this name"), "Give it another name"))
}

/// A file name of letters, digits and hyphens, with the ending of a weather file.
fn plain_name(given: &str) -> Result<String, Trouble> {
    let (stem, end) = given.rsplit_once('.').unwrap_or((given, ""));
    let end = end.to_ascii_lowercase();
    if !["epw", "csv", "tm2", "txt"].contains(&end.as_str()) {
        return Err(Trouble::refused(
            "the name does not end as that of a weather file",
            "Give an EPW, TMY3, TMY2 or PVGIS file: `.epw`, `.csv`, `.tm2` or `.txt`",
        ));
    }
    let mut plain = String::from("weather-");
    for c in stem.chars().take(LONGEST_STEM) {
        if c.is_ascii_alphanumeric() {
            plain.push(c.to_ascii_lowercase());
        } else if !plain.ends_with('-') {
            plain.push('-');
        }
    }
    Ok(format!("{}.{end}", plain.trim_end_matches('-')))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_from_outside_is_a_file_beside_the_others() {
        for (given, plain) in [
            ("Turin 2020.EPW", "weather-turin-2020.epw"),
            ("../../etc/passwd.csv", "weather-etc-passwd.csv"),
            (".csv", "weather.csv"),
            ("intent.toml.txt", "weather-intent-toml.txt"),
            ("a\0b\n.epw", "weather-a-b-.epw"),
        ] {
            let name = plain_name(given).unwrap();
            assert_eq!(name.replace("-.", "."), plain.replace("-.", "."), "{given}");
            assert_eq!(Path::new(&name).components().count(), 1);
        }
        for refused in ["", "intent.toml", "weather", "x.epw/", "x.svg"] {
            plain_name(refused).unwrap_err();
        }
    }

    #[test]
    fn nothing_is_written_over() {
        let home = tempfile::tempdir().unwrap();
        assert_eq!(keep(home.path(), "weather-a.csv", b"one".to_vec()).unwrap(), "weather-a.csv");
        assert_eq!(keep(home.path(), "weather-a.csv", b"two".to_vec()).unwrap(), "weather-a-2.csv");
        assert_eq!(keep(home.path(), "weather-a.csv", b"one".to_vec()).unwrap(), "weather-a.csv");
        assert_eq!(std::fs::read(home.path().join("weather-a.csv")).unwrap(), b"one");
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink("/nowhere", home.path().join("weather-b.csv")).unwrap();
            assert_eq!(keep(home.path(), "weather-b.csv", b"x".to_vec()).unwrap(), "weather-b-2.csv");
        }
    }
}
