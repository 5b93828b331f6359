//! The examples, derived, with their boards, for the tests of drawings.
//! Never: draws.
//! Start at [`examples`].

use std::path::Path;

use board::Layout;
use model::{Project, SourceText, System};

/// Every example.
pub const NAMES: [&str; 5] = ["heron", "teal", "wren", "marten", "faulty"];

/// An example, derived with the lengths of its board.
pub fn example(name: &str) -> (System, Layout) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name).join("intent.toml");
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    made(name, text)
}

/// A system from the text of its intent.
pub fn made(name: &str, text: String) -> (System, Layout) {
    let source = SourceText { name: "intent.toml".to_owned(), text };
    let project = match Project::read(source, model::library::builtin().clone()) {
        Ok(project) => project,
        Err(problems) => panic!("{name}: {problems:#?}"),
    };
    let settled = board::with_board_lengths(&project, 8);
    (settled.system, settled.layout)
}

/// Every example with its name.
pub fn examples() -> Vec<(&'static str, System, Layout)> {
    NAMES
        .into_iter()
        .map(|name| {
            let (system, layout) = example(name);
            (name, system, layout)
        })
        .collect()
}

/// Writes a drawing and its picture to the folder of `DRAWING_OUT`, to look at.
#[allow(dead_code)] // not every test looks
pub fn look(name: &str, svg: &str, width: u32) {
    if let Some(out) = std::env::var_os("DRAWING_OUT").map(std::path::PathBuf::from) {
        std::fs::write(out.join(name).with_extension("svg"), svg).expect("a drawing to look at");
        let png = drawing::to_png(svg, width).expect("a picture");
        std::fs::write(out.join(name).with_extension("png"), png).expect("a picture to look at");
    }
}
