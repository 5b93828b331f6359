//! Names that a person gives: of loads, zones, panels, parts.

use std::borrow::Cow;

use serde::Serialize;
use toml::Spanned;
use toml::de::DeValue;

use crate::read::{Context, ReadValue};

/// A short name in lower-case letters, digits and hyphens, starting with a letter or digit; at most 48 characters.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, schemars::JsonSchema)]
#[schemars(transparent)]
pub struct Name(String);

impl Name {
    /// Makes a name, or says how to mend it.
    pub fn new(text: &str) -> Result<Self, String> {
        let is_legal = text.len() <= 48
            && text.starts_with(|first: char| first.is_ascii_lowercase() || first.is_ascii_digit())
            && text.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
        if is_legal {
            Ok(Self(text.to_owned()))
        } else {
            Err("Use at most 48 lower-case letters, digits and hyphens, such as `roof-fan`".to_owned())
        }
    }

    /// The text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl std::fmt::Display for Name {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl ReadValue for Name {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        let text = String::read(value, context)?;
        match Self::new(&text) {
            Ok(name) => Some(name),
            Err(mend) => {
                context.problem(value.span(), format!("`{text}` cannot be a name"), mend);
                None
            }
        }
    }
    fn example() -> Cow<'static, str> {
        "\"roof-fan\"".into()
    }
}
