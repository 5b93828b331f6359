//! `year`: an hourly year of a project: what each month asks, what brings it, what goes short, and how the bank wears.
//! Never: computes a value itself.
//! Start at [`run`].

use energy::outcome::{Books, Year};
use energy::site::MONTH_NAMES;
use energy::{Peaks, Study};
use quantity::WattHours;
use serde_json::json;

use crate::answer::{Answer, Failure};
use crate::cli::YearArgs;
use crate::show::{SAFETY, Screen, plural};
use folder::Existing;

/// Runs it.
pub fn run(args: &YearArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let series = folder::weather(&project, &args.project, args.weather.as_deref())?;
    let system = ::board::derived(&project).system;
    let Some(study) = energy::study(&system, series.as_ref()) else { return Err(no_bank(&args.project)) };
    let charts = [
        (
            "charge.svg",
            drawing::chart::charge_over_the_year(Some(&study.years), &study.year, Some(study.floor)),
        ),
        ("months.svg", drawing::chart::months(&study.year)),
        ("worst-week.svg", drawing::chart::worst_week(&study.year.worst_week, Some(study.floor))),
    ];
    let written = write(args.pictures.out.as_deref(), args.pictures.replace, &charts)?;
    if json {
        return Answer::json(
            &json!({ "safety": SAFETY, "project": project.source.name, "study": study, "written": written }),
        );
    }
    let mut blocks = vec![head(screen, &system.name, "a typical year", &study.year.weather)];
    blocks.push(months(screen, &study.year));
    blocks.push(sums(screen, &study));
    blocks.push(peaks(screen, &study.peaks));
    blocks.push(notes(screen, &study.year));
    blocks.push(listed(&written, "--out FOLDER writes the pictures: charge of the bank, months, worst week"));
    Ok(Answer::text(blocks.join("\n\n")))
}

/// Where there is nothing to study.
pub fn no_bank(project: &std::path::Path) -> Failure {
    Failure::plain(
        "the project has no bank, so there is no energy to study",
        project.display().to_string(),
        "Give it a `[bank]`; where it has one, `wattwain check` says why none could be derived",
    )
}

/// Writes pictures where a folder was named.
pub fn write(
    folder: Option<&std::path::Path>,
    replace: bool,
    pictures: &[(&str, String)],
) -> Result<Vec<String>, Failure> {
    let Some(folder) = folder else { return Ok(Vec::new()) };
    let files: Vec<(String, Vec<u8>)> =
        pictures.iter().map(|(name, text)| ((*name).to_owned(), text.clone().into_bytes())).collect();
    let existing = if replace { Existing::Replace } else { Existing::Keep };
    let paths = folder::write(folder, &files, existing)?;
    Ok(paths.iter().map(|path| path.display().to_string()).collect())
}

/// The files written, or how to have them.
pub fn listed(written: &[String], otherwise: &str) -> String {
    if written.is_empty() { otherwise.to_owned() } else { written.join("\n") }
}

/// Title and weather.
pub fn head(screen: &Screen, name: &str, what: &str, weather: &str) -> String {
    format!(
        "{}\n{}\n{}",
        screen.heading(&format!("{name}: {what}")),
        screen.wrapped(&format!("Weather: {weather}."), ""),
        screen.wrapped(SAFETY, "")
    )
}

/// Energy in watt-hours, as a table shows it.
pub fn kwh(wh: f64) -> String {
    match wh.abs() {
        none if none < 0.5 => "–".to_owned(),
        // A little short is not nothing.
        little if little < 100.0 => format!("{:.3}", wh / 1000.0),
        _ => format!("{:.1}", wh / 1000.0),
    }
}
/// The months of a year or of a mean of years.
pub fn books_row(name: &str, books: &Books) -> Vec<String> {
    [
        name.to_owned(),
        kwh(books.asked()),
        kwh(books.sun_wh),
        kwh(books.curtailed_wh),
        kwh(books.engine_wh),
        kwh(books.shore_wh),
        kwh(books.generator_wh),
        kwh(books.lost()),
        kwh(books.given_up_wh),
        kwh(books.short_wh),
    ]
    .to_vec()
}

/// Their heads.
pub const BOOKS_HEADS: [&str; 10] = [
    "!",
    ">!asked",
    ">!sun",
    ">!sun left",
    ">!engine",
    ">!shore",
    ">!generator",
    ">!lost",
    ">!given up",
    ">!short",
];

fn months(screen: &Screen, year: &Year) -> String {
    let mut heads = BOOKS_HEADS.to_vec();
    heads.extend([">!lowest", ">!days full", ">!days used"]);
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (name, month) in MONTH_NAMES.iter().zip(&year.months) {
        let mut row = books_row(name, &month.books);
        row.push(format!("{:.0} %", month.lowest * 100.0));
        row.push(month.full_days.to_string());
        row.push(month.used_days.to_string());
        rows.push(row);
    }
    let mut total = books_row("year", &year.total);
    total.push(format!("{:.0} %", year.lowest.0 * 100.0));
    total.push(year.months.iter().map(|month| month.full_days).sum::<u32>().to_string());
    total.push(year.months.iter().map(|month| month.used_days).sum::<u32>().to_string());
    rows.push(total);
    format!("{}\n{}", screen.heading("Energy by month, kWh"), screen.table(&heads, rows))
}

fn sums(screen: &Screen, study: &Study) -> String {
    let year = &study.year;
    let worst = year
        .months
        .iter()
        .zip(MONTH_NAMES)
        .max_by(|a, b| {
            let key = |month: &energy::outcome::Month| (month.books.short_wh, -month.lowest);
            let (a, b) = (key(a.0), key(b.0));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        })
        .map_or("", |(_, name)| name);
    let life = &year.bank_life;
    let row = |what: &str, value: String, more: String| vec![what.to_owned(), value, more];
    let rows = vec![
        row(
            "Without charging",
            study.autonomy.map_or("longer than 60 days".to_owned(), |hours| hours.to_string()),
            study.autonomy.map_or(String::new(), |_| {
                format!(
                    "from a full bank, in {}",
                    MONTH_NAMES.get(study.autonomy_month).copied().unwrap_or("")
                )
            }),
        ),
        row(
            "Hardest month",
            worst.to_owned(),
            format!("lowest state of charge {:.0} % on {}", year.lowest.0 * 100.0, date(year.lowest.1 / 24)),
        ),
        row(
            "Runs out",
            format!("{} of years", study.years.running_out.share),
            format!(
                "95 % sure between {} and {}, by {} years of drawn weather; `wattwain years` draws more",
                study.years.running_out.low, study.years.running_out.high, study.years.count
            ),
        ),
        row(
            "Idle draw",
            WattHours::new(year.total.idle_wh).to_string(),
            format!("{} of what is taken", year.share_idle),
        ),
        row(
            "Longest not full",
            counted(year.longest_unfilled.get() / 24.0, "day", "days"),
            format!(
                "{} in the year",
                counted(year.full_cycles, "equivalent full cycle", "equivalent full cycles")
            ),
        ),
        row(
            "Bank holds four fifths for",
            counted(life.years, "year", "years"),
            format!(
                "somewhere from {:.0} to {:.0}; {} of the wear is use",
                life.low, life.high, life.from_use
            ),
        ),
        row(
            "Books",
            format!("{:.0e}", year.total.gap()),
            "what came in, less what went out, was lost and stayed, as a share: rounding alone".to_owned(),
        ),
    ];
    screen.table(&["!", ">!", ""], rows)
}

fn peaks(screen: &Screen, peaks: &Peaks) -> String {
    let row = |what: &str, peak: &energy::Peak| {
        vec![what.to_owned(), peak.median.to_string(), peak.rare.to_string(), peak.most.to_string()]
    };
    let table = screen.table(
        &["!largest minute", ">!half of days", ">!99 of 100", ">!most"],
        [
            row("AC loads", &peaks.ac),
            row("AC loads, one starting", &peaks.ac_starting),
            row("from the bank", &peaks.bank),
        ],
    );
    let over = format!(
        "AC passes the inverter's power on {} of days, its surge power on {}.",
        peaks.over_inverter, peaks.over_surge
    );
    format!("{}\n{table}\n{over}", screen.heading("What runs together"))
}

/// A whole number of things.
fn counted(number: f64, one: &'static str, many: &'static str) -> String {
    format!("{number:.0} {}", plural(number.round().max(0.0) as usize, one, many))
}

/// Assumptions on the way.
pub fn notes(screen: &Screen, year: &Year) -> String {
    let notes: Vec<String> = year.notes.iter().map(|note| screen.item(&note.message, "")).collect();
    format!("{}\n{}", screen.heading("Taken for granted"), notes.join("\n"))
}

/// A day of the year, from 0, as `12 Jan`.
pub fn date(day: usize) -> String {
    let mut left = day;
    for (name, days) in MONTH_NAMES.iter().zip(energy::site::DAYS_OF_MONTH) {
        if left < days {
            return format!("{} {name}", left + 1);
        }
        left -= days;
    }
    String::new()
}
