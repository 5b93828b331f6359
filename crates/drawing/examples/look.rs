//! Draws every picture of projects as SVG and PNG, to be looked at: `cargo run -p drawing --example look -- OUT intent.toml…`.
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
        let settled = board::with_board_lengths(&project, 8);
        let (system, layout) = (&settled.system, &settled.layout);
        let path = Path::new(&path);
        let folder = path.parent().and_then(Path::file_name);
        let name = if path.ends_with("intent.toml") { folder } else { path.file_stem() };
        let name = name.map_or_else(|| "drawing".to_owned(), |name| name.to_string_lossy().into_owned());
        let mut all = vec![
            (name.clone(), drawing::one_line(system)),
            (format!("board-{name}"), drawing::board(layout, system)),
        ];
        let numbered = |kind: &str, svgs: Vec<String>| -> Vec<(String, String)> {
            svgs.into_iter().enumerate().map(|(ix, svg)| (format!("{kind}-{name}-{}", ix + 1), svg)).collect()
        };
        all.extend(numbered("wiring", drawing::wiring(system)));
        all.extend(numbered("door", drawing::door_cards(system)));
        if let Some(vehicle) = board::Vehicle::of(&project, system) {
            all.push((format!("plan-{name}"), drawing::vehicle_plan(&vehicle, system)));
        }
        for (name, svg) in all {
            let file = Path::new(&out).join(name);
            std::fs::write(file.with_extension("svg"), &svg)?;
            std::fs::write(file.with_extension("png"), drawing::to_png(&svg, 2400)?)?;
        }
    }
    Ok(())
}
