//! Renders every chart with invented data to PNG, at desktop and telephone width: `look_charts FOLDER`.

#[path = "../tests/sample/mod.rs"]
mod sample;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("say the folder to write to")?;
    for (name, svg) in sample::all() {
        std::fs::write(format!("{folder}/{name}.svg"), &svg)?;
        for width in [360, 1000] {
            std::fs::write(format!("{folder}/{name}-{width}.png"), drawing::to_png(&svg, width)?)?;
        }
    }
    Ok(())
}
