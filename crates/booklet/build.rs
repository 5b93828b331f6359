//! Lays the three faces of the book type beside the build, so that the program carries these and not all seventeen.
//! Never: fetches anything; the fonts come with a crate.
//! Start at `main`.

use std::path::Path;
use std::{env, fs};

/// PostScript names of the faces, and the files that `src/fonts.rs` includes.
const FACES: [(&str, &str); 3] = [
    ("LibertinusSerif-Regular", "regular.otf"),
    ("LibertinusSerif-Bold", "bold.otf"),
    ("LibertinusSerif-Italic", "italic.otf"),
];

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    let folder = env::var("OUT_DIR").expect("cargo names a folder for what a build script writes");
    let mut found = 0;
    for font in typst_assets::fonts() {
        let Ok(face) = ttf_parser::Face::parse(font, 0) else { continue };
        let name = face
            .names()
            .into_iter()
            .filter(|name| name.name_id == ttf_parser::name_id::POST_SCRIPT_NAME)
            .find_map(|name| name.to_string());
        let file = FACES.iter().find(|(known, _)| name.as_deref() == Some(known));
        if let Some((_, file)) = file {
            fs::write(Path::new(&folder).join(file), font).expect("the build folder can be written to");
            found += 1;
        }
    }
    assert_eq!(found, FACES.len(), "the font crate no longer holds the faces that the booklet is set in");
}
