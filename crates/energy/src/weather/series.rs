//! Reading a weather file: which format it is, and the years that come of it.
//! Never: trusts the file's ending; the first lines say what it is.
//! Start at [`read`].

use model::{Place, Problem};
use quantity::{Degrees, math};
use serde::Serialize;

use super::page::{Faults, Page, text};
use super::{Note, WeatherYear, assemble, epw, pvgis, tmy2, tmy3};
use crate::site::Site;

/// Largest file read [bytes]; twenty years of hours are about 10 MB.
pub const LARGEST_FILE: usize = 64 * 1024 * 1024;

/// The formats that are read, and how each counts its hours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Format {
    /// EnergyPlus weather: 8 header lines, then 35 columns. Hour 1 to 24 is the hour that ends then, in standard time.
    Epw,
    /// Typical year of the NREL user's manual TP-581-43156 (2008). 01:00 to 24:00 is the hour that ends then, in standard time.
    Tmy3,
    /// Typical year of the NREL user's manual SP-463-7668 (1995), in fixed columns; hours as in [`Format::Tmy3`].
    Tmy2,
    /// Typical year of the European Commission's PVGIS as CSV. UTC; irradiance of the moment `Irradiance Time Offset (h)`
    /// after each full hour, the rest of the full hour.
    PvgisTypical,
    /// Hourly series of PVGIS as CSV. UTC; values of the moment that the stamp gives, such as 10 minutes past.
    PvgisHourly,
}

impl Format {
    /// Its name for people.
    pub fn name(self) -> &'static str {
        match self {
            Format::Epw => "EPW",
            Format::Tmy3 => "TMY3",
            Format::Tmy2 => "TMY2",
            Format::PvgisTypical => "PVGIS typical year (CSV)",
            Format::PvgisHourly => "PVGIS hourly series (CSV)",
        }
    }
}

/// What a weather file gives.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Series {
    /// Where it was measured or computed for, and the clock that the years keep.
    pub site: Site,
    /// How the file was written.
    pub format: Format,
    /// The place as the file names it.
    pub title: String,
    /// First and last calendar year that values come from.
    pub years: (i32, i32),
    /// Minutes after the beginning of an hour, 0 up to 60, at which the sun stands for that hour's irradiance:
    /// 30 where values are means of the hour, another where they are of one moment.
    pub minutes_into_hour: f64,
    /// The year, or the first whole one of a series.
    pub year: WeatherYear,
    /// Further whole years of a series, in order.
    pub more: Vec<WeatherYear>,
    /// Calendar years of `year` and `more`; empty for a typical year, whose months come from several.
    pub calendar_years: Vec<i32>,
    /// What was assumed or mended.
    pub notes: Vec<Note>,
}

/// Reads a weather file from its bytes; the format is told from its content.
///
/// - `name`: what the file is called in messages; nothing is opened.
/// - `bytes`: at most [`LARGEST_FILE`]; UTF-8 (with or without byte order mark) or Latin-1, line ends LF or CRLF.
///
/// Returns the years in standard time of the site, hour-beginning, 29 February left out, with every assumption as a
/// [`Note`]; or all that is wrong. Spans count bytes of [`text`](super::text)`(bytes)`. Hours that are missing are filled
/// up to 6 in a row: irradiance from the same hour of the days around, air and wind on a straight line; longer gaps are
/// problems.
pub fn read(name: &str, bytes: &[u8]) -> Result<Series, Vec<Problem>> {
    if bytes.len() > LARGEST_FILE {
        let mut faults = Faults::new(Page { name, text: "" });
        faults.problem(
            0..0,
            "",
            format!("the file has {} bytes; the most that is read is {LARGEST_FILE}", bytes.len()),
            "Give one place and at most some twenty years in a file",
        );
        return Err(faults.into_problems());
    }
    let text = text(bytes);
    let mut faults = Faults::new(Page { name, text: &text });
    if let Some((message, mend)) = not_a_table(bytes, &text) {
        faults.problem(0..0, "", message, mend);
        return Err(faults.into_problems());
    }
    // An editor's byte order mark and empty lines before the first are of no matter.
    let start = text.len() - text.trim_start_matches(['\u{feff}', ' ', '\t', '\r', '\n']).len();
    let read = match sniff(faults.page, start) {
        Some(Format::Epw) => epw::read(&mut faults, start),
        Some(Format::Tmy3) => tmy3::read(&mut faults, start),
        Some(Format::Tmy2) => tmy2::read(&mut faults, start),
        Some(Format::PvgisTypical | Format::PvgisHourly) => pvgis::read(&mut faults, start),
        None => {
            unknown(&mut faults, start);
            None
        }
    };
    let series = match read {
        Some(table) if faults.is_clean() => assemble::assemble(&mut faults, table),
        _ => None,
    };
    match series {
        Some(mut series) if faults.is_clean() => {
            series.notes = faults.notes;
            Ok(series)
        }
        _ => Err(faults.into_problems()),
    }
}

fn not_a_table(bytes: &[u8], text: &str) -> Option<(&'static str, &'static str)> {
    let formats = "Give an EPW, TMY3, TMY2 or PVGIS CSV file";
    let begins = |magic: &[u8]| bytes.starts_with(magic);
    let first = text.trim_start_matches('\u{feff}').trim_start();
    if first.is_empty() {
        Some(("the file is empty", formats))
    } else if begins(b"PK\x03\x04") || begins(&[0x1f, 0x8b]) {
        Some(("the file is packed", "Unpack it and give the file inside"))
    } else if begins(&[0xff, 0xfe]) || begins(&[0xfe, 0xff]) {
        Some(("the file is UTF-16 text", "Save it as UTF-8 text"))
    } else if bytes.contains(&0) {
        Some(("the file is not text: it has zero bytes", formats))
    } else if first.starts_with('<') {
        Some(("the file is a web page, not data", "Save the data file itself, not the page that offers it"))
    } else if first.starts_with('{') || first.starts_with('[') {
        Some(("the file is JSON", "Ask for the same data as CSV or EPW"))
    } else {
        None
    }
}

fn sniff(page: Page<'_>, start: usize) -> Option<Format> {
    let first = page.line_at(start);
    let lower = first.to_ascii_lowercase();
    let second = page.line_at(page.next_line(start));
    if lower.starts_with("location,") {
        Some(Format::Epw)
    } else if lower.starts_with("latitude (decimal degrees)") {
        Some(Format::PvgisHourly)
    } else if second.trim_start_matches('"').to_ascii_lowercase().starts_with("date (mm/dd/yyyy)") {
        Some(Format::Tmy3)
    } else if tmy2::is_row(second) {
        Some(Format::Tmy2)
    } else {
        None
    }
}

fn unknown(faults: &mut Faults<'_>, start: usize) {
    let line = faults.page.line_at(start);
    let is_cut_by_semicolons = line.contains(';');
    let mend = if is_cut_by_semicolons {
        "Save the file with commas between the columns and points in the numbers"
    } else {
        "Give an EPW, TMY3, TMY2 or PVGIS CSV file, with all its header lines"
    };
    let what = if is_cut_by_semicolons {
        "its columns are cut by semicolons"
    } else {
        "its first lines are those of no format known here"
    };
    faults.problem(
        start..start + line.len(),
        "",
        format!("the weather file cannot be told: {what} (`{}`)", super::rows::clip(line)),
        mend,
    );
}

/// Distance above which a file is told to be of another place [km]. Common practice, no source: sun and temperature of a
/// lowland keep their monthly means over about this far.
pub const FAR_KM: f64 = 100.0;

/// Distance of two places on a sphere of the Earth's mean radius, 6371 km (IUGG), by the haversine formula [km].
pub fn distance_km(from: (Degrees, Degrees), to: (Degrees, Degrees)) -> f64 {
    let radians = |angle: Degrees| angle.get().to_radians();
    let (north, south) = (radians(from.0), radians(to.0));
    let half = |angle: f64| math::sin(angle / 2.0) * math::sin(angle / 2.0);
    let chord =
        half(south - north) + math::cos(north) * math::cos(south) * half(radians(to.1) - radians(from.1));
    2.0 * 6371.0 * libm::asin(chord.clamp(0.0, 1.0).sqrt())
}

/// A note `weather-of-another-place` when the file's site is more than [`FAR_KM`] from the place, with the distance.
pub fn matches_place(series: &Series, place: &Place) -> Option<Note> {
    let site = (series.site.latitude, series.site.longitude);
    let far = distance_km(site, (place.latitude, place.longitude));
    if far <= FAR_KM {
        return None;
    }
    let near = |a: Degrees, b: Degrees| (a.get() - b.get()).abs() < 1.0;
    let (south, west) = (-place.latitude, -place.longitude);
    let is_mirrored = distance_km(site, (south, place.longitude)) <= FAR_KM
        || distance_km(site, (place.latitude, west)) <= FAR_KM
        || distance_km(site, (south, west)) <= FAR_KM;
    let hint = if is_mirrored {
        "; with the other sign it would be near: north and east are positive"
    } else if near(series.site.latitude, place.longitude) && near(series.site.longitude, place.latitude) {
        "; latitude and longitude seem to have changed places"
    } else {
        ""
    };
    Some(Note {
        id: "weather-of-another-place".to_owned(),
        message: format!(
            "the weather is of {}{}, {}, which is {far:.0} km from the place of the brief; it was used as it is{hint}",
            if series.title.is_empty() { String::new() } else { format!("{} at ", series.title) },
            series.site.latitude,
            series.site.longitude
        ),
        line: 0,
    })
}
