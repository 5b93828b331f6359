//! Draws projects as SVG and PNG, to be looked at: `cargo run -p drawing --example look -- OUT intent.toml…`.
//! Never: part of the program.
//! Start at `main`.

use std::path::Path;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let out = args.next().ok_or("give the folder to write to")?;
    for path in args {
        let text = std::fs::read_to_string(&path)?;
        let source = model::SourceText { name: path.clone(), text };
        let project = model::Project::read(source, model::library::builtin().clone())
            .map_err(|problems| format!("{path}: {problems:?}"))?;
        let svg = drawing::one_line(&derive::derive(&project));
        let path = Path::new(&path);
        let folder = path.parent().and_then(Path::file_name);
        let name = if path.ends_with("intent.toml") { folder } else { path.file_stem() };
        let name = name.map_or_else(|| "drawing".to_owned(), |name| name.to_string_lossy().into_owned());
        std::fs::write(Path::new(&out).join(format!("{name}.svg")), &svg)?;
        std::fs::write(Path::new(&out).join(format!("{name}.png")), drawing::to_png(&svg, 2400)?)?;
    }
    Ok(())
}
