//! Renders every chart to PNG, at desktop and telephone width: `look_charts FOLDER [PROJECT…]`, where a project is the
//! path of an `intent.toml` whose energy is studied. The invented samples of the tests are always drawn.
//! Never: part of the program.
//! Start at `main`.

#[path = "../tests/sample/mod.rs"]
mod sample;

use std::path::Path;

use drawing::chart::{
    TripDay, charge_over_the_year, hour_by_hour, months, running_out, trip_days, worst_week,
};
use energy::trip::TripOptions;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let folder = args.next().ok_or("say the folder to write to")?;
    let mut all: Vec<(String, String)> =
        sample::all().into_iter().map(|(name, svg)| (name.to_owned(), svg)).collect();
    for path in args {
        all.extend(studied(&path)?);
    }
    for (name, svg) in all {
        std::fs::write(format!("{folder}/{name}.svg"), &svg)?;
        for (look, svg) in [("colour", svg.clone()), ("grey", grey(&svg))] {
            for width in [360, 900] {
                let picture = drawing::to_png(&svg, width)?;
                std::fs::write(format!("{folder}/{name}-{look}-{width}.png"), picture)?;
            }
        }
    }
    Ok(())
}

/// The same drawing as a printer without colour gives it: each `#rrggbb` by its luma (ITU-R BT.601).
fn grey(svg: &str) -> String {
    let mut parts = svg.split('#');
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let code = part.get(..6).and_then(|code| u32::from_str_radix(code, 16).ok());
        match code {
            Some(code) => {
                let [_, r, g, b] = code.to_be_bytes().map(f64::from);
                let luma = (0.299 * r + 0.587 * g + 0.114 * b).round() as u8;
                out.push_str(&format!(
                    "#{luma:02x}{luma:02x}{luma:02x}{}",
                    part.get(6..).unwrap_or_default()
                ));
            }
            None => out.push_str(&format!("#{part}")),
        }
    }
    out
}

/// The charts of a project's own year, years and trip.
fn studied(path: &str) -> Result<Vec<(String, String)>, Box<dyn std::error::Error>> {
    let text = std::fs::read_to_string(path)?;
    let source = model::SourceText { name: path.to_owned(), text };
    let project = model::Project::read(source, model::library::builtin().clone())
        .map_err(|problems| format!("{path}: {problems:?}"))?;
    let system = derive::derive(&project);
    let study = energy::study(&system, None).ok_or("the project has no bank")?;
    let folder = Path::new(path).parent().ok_or("the project has no folder")?;
    let name = folder.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let mut charts = vec![
        ("charge", charge_over_the_year(Some(&study.years), &study.year, Some(study.floor))),
        ("charge-alone", charge_over_the_year(None, &study.year, Some(study.floor))),
        ("months", months(&study.year)),
        ("week", worst_week(&study.year.worst_week, Some(study.floor))),
        ("chance", running_out(&study.years)),
    ];
    if let Ok(bytes) = std::fs::read(folder.join("trip.toml")) {
        let (itinerary, _) =
            energy::trip::read("trip.toml", &bytes).map_err(|problems| format!("{problems:?}"))?;
        let options = TripOptions { count: 0, ..TripOptions::default() };
        let trip = energy::trip::run(&system, &itinerary, None, options, &energy::Progress::default());
        let trip = trip.ok_or("the trip cannot be run")?;
        let days = trip.days.iter().map(|day| TripDay {
            date: day.date.clone(),
            soc: [day.soc_start, day.soc_low, day.soc_end],
            came_in_wh: [day.books.sun_wh, day.books.engine_wh, day.books.shore_wh, day.books.generator_wh],
            taken_wh: day.books.served() + day.books.lost(),
            short_wh: day.books.short_wh,
        });
        charts.push(("trip", trip_days(&days.collect::<Vec<_>>())));
        charts.push(("hours", hour_by_hour(&trip.trace, None, "The trip, hour by hour")));
    }
    Ok(charts.into_iter().map(|(chart, svg)| (format!("{name}-{chart}"), svg)).collect())
}
