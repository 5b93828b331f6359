//! `years`: many years of drawn weather: how often it runs out, when, for how long.
//! Never: computes a value itself; the answer does not depend on the number of threads.
//! Start at [`run`].

use energy::outcome::Years;
use energy::site::MONTH_NAMES;
use quantity::Fraction;
use serde_json::json;

use crate::answer::{Answer, Failure};
use crate::cli::YearsArgs;
use crate::progress;
use crate::show::{SAFETY, Screen};
use crate::year::{head, listed, no_bank, write};

/// Runs it.
pub fn run(args: &YearsArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let series = folder::weather(&project, &args.project, args.weather.as_deref())?;
    let system = ::board::derived(&project).system;
    let Some(plant) = energy::Plant::of(&system) else { return Err(no_bank(&args.project)) };
    let sky = energy::Sky::of(&system, &plant, series.as_ref());
    let typical = energy::typical_year(&plant, &sky, args.seed);
    let years = progress::shared("Years of weather", u64::from(args.count), |progress| {
        energy::years(&plant, &sky, args.count, args.seed, progress)
    });
    let Some(years) = years else {
        return Err(Failure::plain("the run was stopped before its end", "", "Run it again"));
    };
    let charts = [
        (
            "charge-of-years.svg",
            drawing::chart::charge_over_the_year(Some(&years), &typical, Some(plant.floor)),
        ),
        ("running-out.svg", drawing::chart::running_out(&years)),
    ];
    let written = write(args.pictures.out.as_deref(), args.pictures.replace, &charts)?;
    if json {
        return Answer::json(
            &json!({ "safety": SAFETY, "project": project.source.name, "years": years, "written": written }),
        );
    }
    let blocks = [
        head(screen, &system.name, &format!("{} years, seed {}", years.count, years.seed), &years.weather),
        summary(screen, &years, system.usage.running_out),
        months(screen, &years),
        listed(
            &written,
            "--out FOLDER writes the pictures: charge over the year in all years, chance of running out",
        ),
    ];
    Ok(Answer::text(blocks.join("\n\n")))
}

fn summary(screen: &Screen, years: &Years, wish: Fraction) -> String {
    let chance = &years.running_out;
    let row = |what: &str, value: String, more: String| vec![what.to_owned(), value, more];
    let rows = vec![
        row(
            "Runs out in a year",
            chance.share.to_string(),
            format!(
                "{} of {} years; 95 % sure between {} and {}; the brief puts up with {wish}",
                chance.happened, chance.of, chance.low, chance.high
            ),
        ),
        row(
            "Hours short",
            format!("{:.0} h", years.short_hours.0),
            format!("in a year that runs out; {:.0} h in the worst", years.short_hours.1),
        ),
        row(
            "Longest on end",
            years.longest_short.to_string(),
            "with something off that is not spare".to_owned(),
        ),
        row(
            "Energy short",
            years.short.0.to_string(),
            format!("in the mean year; {} in the worst, which is number {}", years.short.1, years.worst_year),
        ),
        row(
            "Sun that could be taken",
            years.sun.1.to_string(),
            format!("in the mean year; from {} to {}", years.sun.0, years.sun.2),
        ),
    ];
    screen.table(&["!", ">!", ""], rows)
}

fn months(screen: &Screen, years: &Years) -> String {
    let rows = MONTH_NAMES.iter().zip(&years.months).map(|(name, month)| {
        vec![
            (*name).to_owned(),
            month.running_out.share.to_string(),
            format!("{} to {}", month.running_out.low, month.running_out.high),
            format!("{:.1} h", month.short_hours),
            format!("{:.0} %", month.lowest.1 * 100.0),
            format!("{:.0} %", month.lowest.0 * 100.0),
        ]
    });
    let table = screen.table(
        &["!", ">!runs out", ">!95 % sure", ">!short, mean", ">!lowest charge, mean", ">!lowest of all"],
        rows,
    );
    format!("{}\n{table}", screen.heading("By month"))
}
