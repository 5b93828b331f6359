//! `trip`: an itinerary followed day by day: what each day brings and takes, and the chance that it lasts.
//! Never: computes a value itself.
//! Start at [`run`].

use drawing::chart;
use energy::outcome::Trace;
use energy::trip::{self, DayChance, Itinerary, LARGEST_FILE, Trip, TripDay, TripOptions};
use energy::weather::Note;
use model::SourceText;
use quantity::Fraction;
use serde_json::json;

use crate::answer::{Answer, Failure};
use crate::cli::TripArgs;
use crate::progress;
use crate::show::{SAFETY, Screen};
use crate::year::{head, kwh, listed, no_bank, write};

/// Runs it.
pub fn run(args: &TripArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let series = folder::weather(&project, &args.project, args.weather.as_deref())?;
    let (itinerary, notes) = itinerary(args)?;
    let system = ::board::derived(&project).system;
    if system.bank.is_none() {
        return Err(no_bank(&args.project));
    }
    let options = TripOptions { charge: args.charge, seed: args.seed, count: args.count };
    let trip = progress::shared("Weathers", u64::from(args.count), |progress| {
        trip::run(&system, &itinerary, series.as_ref(), options, progress)
    });
    let Some(trip) = trip else { return Err(no_bank(&args.project)) };
    let pictures = [("trip.svg", chart::trip_days(&drawn(&trip))), ("trip-hours.svg", hours(&trip.trace))];
    let written = write(args.pictures.out.as_deref(), args.pictures.replace, &pictures)?;
    if json {
        return Answer::json(&json!({
            "safety": SAFETY, "project": project.source.name, "itinerary": args.itinerary.display().to_string(),
            "notes": notes, "trip": trip, "written": written,
        }));
    }
    let title = trip.title.clone().unwrap_or_else(|| "a trip".to_owned());
    let blocks = [
        head(screen, &system.name, &title, &trip.weather),
        days(screen, &trip),
        sums(screen, &trip),
        taken(screen, notes.iter().chain(&trip.notes)),
        listed(&written, "--out FOLDER writes the pictures: the days, and the hours"),
    ];
    Ok(Answer::text(blocks.join("\n\n")))
}

fn itinerary(args: &TripArgs) -> Result<(Itinerary, Vec<Note>), Failure> {
    let name = args.itinerary.display().to_string();
    let bytes = folder::bytes(&args.itinerary, LARGEST_FILE)?;
    trip::read(&name, &bytes).map_err(|problems| {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        Failure::Located { problems, sources: vec![SourceText { name, text }] }
    })
}

fn hours(trace: &Trace) -> String {
    chart::hour_by_hour(trace, None, "The trip, hour by hour")
}

fn drawn(trip: &Trip) -> Vec<chart::TripDay> {
    trip.days
        .iter()
        .map(|day| chart::TripDay {
            date: day.date.clone(),
            soc: [day.soc_start, day.soc_low, day.soc_end],
            came_in_wh: [day.books.sun_wh, day.books.engine_wh, day.books.shore_wh, day.books.generator_wh],
            taken_wh: day.books.served() + day.books.lost(),
            short_wh: day.books.short_wh,
        })
        .collect()
}

fn days(screen: &Screen, trip: &Trip) -> String {
    let chances: &[DayChance] = trip.chance.as_ref().map_or(&[], |chance| &chance.days);
    let rows = trip.days.iter().enumerate().map(|(index, day): (usize, &TripDay)| {
        let books = &day.books;
        vec![
            day.date.clone(),
            day.title.clone().unwrap_or_default(),
            if day.driving.get() > 0.0 { day.driving.to_string() } else { String::new() },
            kwh(books.asked()),
            kwh(books.sun_wh),
            kwh(books.engine_wh),
            kwh(books.shore_wh + books.generator_wh),
            kwh(books.short_wh),
            format!("{:.0} %", day.soc_low * 100.0),
            format!("{:.0} %", day.soc_end * 100.0),
            chances.get(index).map_or(String::new(), |chance| chance.running_out.share.to_string()),
        ]
    });
    let table = screen.table(
        &[
            "!day",
            "",
            ">!driving",
            ">!asked",
            ">!sun",
            ">!engine",
            ">!shore",
            ">!short",
            ">!lowest",
            ">!evening",
            ">!runs out",
        ],
        rows,
    );
    format!("{}\n{table}", screen.heading("Energy by day, kWh"))
}

fn sums(screen: &Screen, trip: &Trip) -> String {
    let row = |what: &str, value: String, more: String| vec![what.to_owned(), value, more];
    let mut rows = vec![row(
        "Driven",
        trip.driving.to_string(),
        format!("{:.0} km as the crow flies, {} days", trip.distance.get() / 1000.0, trip.days.len()),
    )];
    if let Some(chance) = &trip.chance {
        let first = chance.breaks.and_then(|(day, times)| {
            let day = trip.days.get(day)?;
            Some(format!("; it most often runs out first on {} ({times} times)", day.date))
        });
        rows.push(row(
            "Lasts",
            chance.lasts.share.to_string(),
            format!(
                "of {} weathers, seed {}; 95 % sure between {} and {}{}",
                chance.count,
                chance.seed,
                chance.lasts.low,
                chance.lasts.high,
                first.unwrap_or_default()
            ),
        ));
    }
    rows.push(row(
        "Lowest",
        format!("{:.0} %", trip.lowest.0 * 100.0),
        "state of charge, in typical weather".to_owned(),
    ));
    screen.table(&["!", ">!", ""], rows)
}

fn taken<'n>(screen: &Screen, notes: impl Iterator<Item = &'n Note>) -> String {
    let items: Vec<String> = notes.map(|note| screen.item(&note.message, "")).collect();
    format!("{}\n{}", screen.heading("Taken for granted"), items.join("\n"))
}

/// A share between nothing and all, for the charge at the beginning.
pub fn share(text: &str) -> Result<Fraction, String> {
    let share = <Fraction as quantity::Written>::parse(text).map_err(|error| error.to_string())?;
    if (0.0..=1.0).contains(&share.get()) {
        Ok(share)
    } else {
        Err("write a share from 0 % to 100 %".to_owned())
    }
}
