//! Names from outside as names of folders, and names of folders as keys in addresses.

use std::path::Path;

use crate::Error;

/// Longest name of a folder [characters, bytes].
const LONGEST: (usize, usize) = (48, 120);

/// Names that mean a device on some systems, or something else in a project's folder.
const TAKEN: [&str; 10] =
    ["con", "prn", "aux", "nul", "variants", "parts", "pack", "intent", "readings", "ticks"];

/// A name that a folder can have.
#[derive(Debug)]
pub struct SafeName {
    /// The name.
    pub name: String,
    /// What was changed, in words.
    pub note: Option<String>,
}

/// The folder's name for a name that a person gives: lower-case letters and digits with single hyphens.
///
/// Errors: nothing to make a name of; a path in place of a name; control characters; far too long.
pub fn safe_name(given: &str) -> Result<SafeName, Error> {
    let shown: String = given.chars().map(|c| if c.is_control() { ' ' } else { c }).take(60).collect();
    let refuse = |what: &str| {
        Err(Error::plain(
            what,
            shown.clone(),
            "Give a name of letters, digits and hyphens, such as `lighter`",
        ))
    };
    let trimmed = given.trim();
    if trimmed.is_empty() {
        return refuse("a project needs a name");
    }
    if given.chars().any(char::is_control) {
        return refuse("a name cannot hold control characters");
    }
    if trimmed.contains(['/', '\\']) || trimmed.chars().all(|c| c == '.') {
        return refuse("this is a path, not a name");
    }
    if trimmed.chars().count() > 4 * LONGEST.0 {
        return refuse("this is too long for a name");
    }
    let mut name = String::new();
    for c in trimmed.chars().flat_map(char::to_lowercase) {
        if name.chars().count() >= LONGEST.0 || name.len() + c.len_utf8() > LONGEST.1 {
            break;
        }
        if c.is_alphanumeric() {
            name.push(c);
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
    }
    let mut name = name.trim_end_matches('-').to_owned();
    if name.is_empty() {
        return refuse("there is no letter or digit in this name");
    }
    let is_port = ["com", "lpt"].iter().any(|port| {
        name.strip_prefix(port).is_some_and(|rest| rest.len() == 1 && rest.as_bytes()[0].is_ascii_digit())
    });
    if is_port || TAKEN.contains(&name.as_str()) {
        name.push_str("-project");
    }
    let note = (name != trimmed).then(|| format!("the folder of \"{trimmed}\" is `{name}`"));
    Ok(SafeName { name, note })
}

/// The key of a folder: its name, with every byte that an address cannot hold as it is as `_` and two digits.
///
/// No two names have one key.
pub fn key_of(folder: &Path) -> String {
    let Some(name) = folder.file_name() else { return "project".to_owned() };
    let bytes = name.as_encoded_bytes();
    let is_hex = |byte: Option<&u8>| byte.is_some_and(|byte| matches!(byte, b'0'..=b'9' | b'A'..=b'F'));
    let mut key = String::new();
    for (at, byte) in bytes.iter().enumerate() {
        // An underscore that would read as such a code is written as one.
        let is_plain = match byte {
            b'_' => !(is_hex(bytes.get(at + 1)) && is_hex(bytes.get(at + 2))),
            byte => byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'.'),
        };
        if is_plain {
            key.push(char::from(*byte));
        } else {
            key.push_str(&format!("_{byte:02X}"));
        }
    }
    key
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn names_are_refused_or_changed_with_a_word() {
        for refused in ["", "  ", "..", ".", "...", "a/b", "../x", "a\\b", "a\0b", "a\nb", "---", "\u{7f}a"] {
            safe_name(refused).expect_err(refused);
        }
        safe_name(&"x".repeat(1000)).unwrap_err();
        for (given, name) in [
            ("lighter", "lighter"),
            ("Heron two", "heron-two"),
            ("  A  &  B ", "a-b"),
            (".hidden", "hidden"),
            ("Märzen", "märzen"),
            ("CON", "con-project"),
            ("com1", "com1-project"),
            ("variants", "variants-project"),
            ("a.b.", "a-b"),
        ] {
            let safe = safe_name(given).unwrap();
            assert_eq!(safe.name, name);
            assert_eq!(safe.note.is_some(), given != name, "{given}");
        }
        assert_eq!(safe_name(&"x".repeat(100)).unwrap().name.len(), 48);
    }

    #[test]
    fn keys_tell_names_apart() {
        let key = |name: &str| key_of(Path::new(name));
        assert_eq!(key("heron"), "heron");
        assert_eq!(key("my_van"), "my_van");
        assert_eq!(key("a b"), "a_20b");
        assert_eq!(key("a_20b"), "a_5F20b");
        assert_eq!(key("a~b"), "a_7Eb");
    }

    proptest! {
        #[test]
        fn any_name_is_safe_or_refused(given in any::<String>()) {
            if let Ok(safe) = safe_name(&given) {
                let path = Path::new(&safe.name);
                prop_assert_eq!(path.components().count(), 1);
                prop_assert!(matches!(path.components().next(), Some(std::path::Component::Normal(_))));
                prop_assert!(safe.name.len() <= 128 && !safe.name.starts_with('.'));
                prop_assert!(safe.name.chars().all(|c| c.is_alphanumeric() || c == '-'));
            }
        }

        #[test]
        fn two_names_have_two_keys(a in "[a-c_~ 0-2A-B%.]{1,6}", b in "[a-c_~ 0-2A-B%.]{1,6}") {
            let key = |name: &str| key_of(Path::new(&format!("x{name}")));
            prop_assert_eq!(a == b, key(&a) == key(&b));
            prop_assert!(key(&a).bytes().all(|b| b.is_ascii_alphanumeric() || b"-._~".contains(&b)));
        }
    }
}
