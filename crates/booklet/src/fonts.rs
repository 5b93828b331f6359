//! The faces that pages are set in: a book type for text, and DejaVu Sans, whose widths the drawings were laid out by.
//! Never: looks for fonts on the computer, so that the same pages come out everywhere.
//! Start at [`faces`].

use std::sync::OnceLock;

use typst::foundations::Bytes;
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;

static REGULAR: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/regular.otf"));
static BOLD: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/bold.otf"));
static ITALIC: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/italic.otf"));

/// The faces and what is known of them, parsed once.
pub(crate) struct Faces {
    pub(crate) book: LazyHash<FontBook>,
    pub(crate) fonts: Vec<Font>,
}

/// All faces.
pub(crate) fn faces() -> &'static Faces {
    static FACES: OnceLock<Faces> = OnceLock::new();
    FACES.get_or_init(|| {
        let data = [REGULAR, BOLD, ITALIC, dejavu::sans::regular(), dejavu::sans::bold()];
        let fonts: Vec<Font> = data.into_iter().flat_map(|bytes| Font::iter(Bytes::new(bytes))).collect();
        Faces { book: LazyHash::new(FontBook::from_fonts(&fonts)), fonts }
    })
}
