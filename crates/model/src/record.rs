//! Declaring what can be read: a record or a choice of words, with its JSON schema and its reader in one place.
//! Never: reads anything itself (see `read.rs`).
//! Start at [`record!`](crate::record) and [`choice!`](crate::choice).

/// Declares a record: the struct, its JSON schema and its reader in one place, so that they cannot differ.
///
/// A field is required unless its type is `Option`, `Vec` or a map.
#[macro_export]
macro_rules! record {
    ($(#[$meta:meta])* $what:literal pub struct $name:ident {
        $( $(#[$field_meta:meta])* pub $field:ident : $type:ty ),* $(,)?
    }) => {
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
        #[schemars(deny_unknown_fields)]
        pub struct $name {
            $( $(#[$field_meta])* pub $field: $type, )*
        }
        impl $name {
            /// Every key of the record.
            pub const KEYS: &'static [&'static str] = &[$(stringify!($field)),*];
        }
        impl $crate::read::ReadValue for $name {
            fn read(
                value: &toml::Spanned<toml::de::DeValue<'_>>,
                context: &mut $crate::read::Context<'_>,
            ) -> Option<Self> {
                let mut table = $crate::read::TableReader::open(value, $what, context)?;
                $( let $field = table.field::<$type>(stringify!($field), context); )*
                table.close(Self::KEYS, context);
                Some(Self { $( $field: $field?, )* })
            }
            fn example() -> std::borrow::Cow<'static, str> {
                "{ … }".into()
            }
        }
    };
}

/// Declares a choice among words: the enum, its words, its JSON schema and its reader.
#[macro_export]
macro_rules! choice {
    ($(#[$meta:meta])* $what:literal pub enum $name:ident {
        $( $(#[$variant_meta:meta])* $variant:ident = $word:literal ),* $(,)?
    }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
        pub enum $name {
            $( $(#[$variant_meta])* #[serde(rename = $word)] $variant, )*
        }
        impl $name {
            /// Every choice.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];
            /// The word for it.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),* }
            }
            /// The choice for a word.
            pub fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$variant),)* _ => None }
            }
        }
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }
        impl $crate::read::ReadValue for $name {
            fn read(
                value: &toml::Spanned<toml::de::DeValue<'_>>,
                context: &mut $crate::read::Context<'_>,
            ) -> Option<Self> {
                let words: &[&str] = &[$($word),*];
                let toml::de::DeValue::String(text) = value.get_ref() else {
                    context.problem(
                        value.span(),
                        concat!("this is not ", $what),
                        format!("Write one of: \"{}\"", words.join("\", \"")),
                    );
                    return None;
                };
                let found = Self::from_word(text);
                if found.is_none() {
                    let near = $crate::read::nearest(text, words.iter().copied())
                        .map_or(String::new(), |near| format!("Did you mean \"{near}\"? "));
                    context.problem(
                        value.span(),
                        format!("\"{text}\" is not {}", $what),
                        format!("{near}Known: \"{}\"", words.join("\", \"")),
                    );
                }
                found
            }
            fn example() -> std::borrow::Cow<'static, str> {
                let words: &[&str] = &[$($word),*];
                format!("\"{}\"", words[0]).into()
            }
        }
    };
}
