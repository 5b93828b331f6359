//! The points of a GPX file, each with where it stands in the file.
//! Never: follows a document type or an entity of the file's own, so that a small file stays small.
//! Start at [`read`].
//!
//! Only what a trip needs is looked at: points with `ele`, `time` and `name`. Everything else may stand in the file,
//! whatever version or extension it comes from.

use jiff::{Timestamp, civil};
use model::{Problem, SourceText};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::{MOST_PROBLEMS, problem_at};

/// Deepest nesting that is read; GPX itself needs six.
const DEEPEST: usize = 64;

/// A point as recorded.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Latitude and longitude [°].
    pub at: (f64, f64),
    /// Height above the sea [m].
    pub altitude: Option<f64>,
    /// When.
    pub time: Option<Timestamp>,
    /// What it is called.
    pub name: Option<String>,
    /// Where its element begins in the file [bytes].
    pub offset: usize,
}

/// What a GPX file holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recorded {
    /// Name of the first track, or of the whole file.
    pub title: Option<String>,
    /// Points of interest.
    pub waypoints: Vec<Point>,
    /// Planned ways.
    pub routes: Vec<Vec<Point>>,
    /// Recorded ways, in unbroken pieces.
    pub segments: Vec<Vec<Point>>,
    /// Where the first time without a zone stands, and how many there are.
    pub zoneless: Option<(usize, usize)>,
}

/// Reads the points of a GPX 1.0 or 1.1 file, or gives every problem found.
pub fn read(source: &SourceText) -> Result<Recorded, Vec<Problem>> {
    let mut walk = Walk {
        source,
        path: Vec::new(),
        recorded: Recorded::default(),
        open: None,
        text: None,
        problems: Vec::new(),
    };
    let mut reader = Reader::from_str(&source.text);
    reader.config_mut().expand_empty_elements = true;
    while walk.problems.len() < MOST_PROBLEMS {
        let start = usize::try_from(reader.buffer_position()).unwrap_or(0);
        match reader.read_event() {
            Ok(Event::Eof) => {
                walk.end_of_file();
                break;
            }
            Ok(event) => {
                if !walk.event(event, start) {
                    break;
                }
            }
            Err(error) => {
                let at = usize::try_from(reader.error_position()).unwrap_or(start);
                walk.report(
                    at,
                    format!("this is not sound XML: {error}"),
                    "Export the file again, or mend it here",
                );
                break;
            }
        }
    }
    if walk.problems.is_empty() { Ok(walk.recorded) } else { Err(walk.problems) }
}

struct Walk<'s> {
    source: &'s SourceText,
    /// Local names of the open elements.
    path: Vec<String>,
    recorded: Recorded,
    /// The point being read and the depth of its element.
    open: Option<(Point, usize)>,
    /// Text of the element being read, where it is wanted.
    text: Option<String>,
    problems: Vec<Problem>,
}

impl Walk<'_> {
    fn report(&mut self, offset: usize, message: String, mend: &str) {
        let field = self.path.last().cloned().unwrap_or_default();
        self.problems.push(problem_at(self.source, &field, offset..offset, message, mend));
    }

    /// Takes one event; false where nothing after it can be understood.
    fn event(&mut self, event: Event<'_>, start: usize) -> bool {
        match event {
            Event::Start(element) => return self.start(&element, start),
            Event::End(_) => self.end(start),
            Event::Text(text) => {
                if let Some(found) = &mut self.text {
                    found.push_str(&text.xml10_content());
                }
            }
            Event::CData(text) => {
                if let Some(found) = &mut self.text {
                    found.push_str(&text.xml10_content());
                }
            }
            Event::GeneralRef(reference) => {
                if let Some(found) = &mut self.text {
                    let named = match &*reference.xml10_content() {
                        "amp" => Some('&'),
                        "lt" => Some('<'),
                        "gt" => Some('>'),
                        "quot" => Some('"'),
                        "apos" => Some('\''),
                        _ => reference.resolve_char_ref().ok().flatten(),
                    };
                    found.push(named.unwrap_or(char::REPLACEMENT_CHARACTER));
                }
            }
            Event::DocType(_) => {
                let mend = "Take the line out: GPX has no document type";
                self.report(start, "the file declares a document type".to_owned(), mend);
                return false;
            }
            _ => {}
        }
        true
    }

    fn start(&mut self, element: &BytesStart<'_>, start: usize) -> bool {
        let name = element.local_name().into_inner().to_owned();
        if self.path.is_empty() && name != "gpx" {
            let message = format!("the file is XML, but its first element is `{name}`, not `gpx`");
            self.report(start, message, "Export the track as GPX, or write trip.toml");
            return false;
        }
        if self.path.len() >= DEEPEST {
            self.report(
                start,
                format!("elements stand more than {DEEPEST} deep in each other"),
                "Check that this is a track",
            );
            return false;
        }
        let depth = self.path.len();
        let above = self.path.last().map(String::as_str);
        if self.open.is_none() {
            match (above, name.as_str()) {
                (Some("gpx"), "rte") => self.recorded.routes.push(Vec::new()),
                (Some("trk"), "trkseg") => self.recorded.segments.push(Vec::new()),
                (Some("gpx"), "wpt") | (Some("rte"), "rtept") | (Some("trkseg"), "trkpt") => {
                    let at = self.coordinates(element, start);
                    let at = at.unwrap_or((f64::NAN, f64::NAN));
                    self.open =
                        Some((Point { at, altitude: None, time: None, name: None, offset: start }, depth));
                }
                (Some("trk" | "metadata"), "name") if self.recorded.title.is_none() => {
                    self.text = Some(String::new())
                }
                // GPX 1.0 has the file's name here.
                (Some("gpx"), "name") if self.recorded.title.is_none() => self.text = Some(String::new()),
                _ => {}
            }
        } else if self.open.as_ref().is_some_and(|(_, at)| at + 1 == depth)
            && matches!(name.as_str(), "ele" | "time" | "name")
        {
            self.text = Some(String::new());
        }
        self.path.push(name);
        true
    }

    fn end(&mut self, start: usize) {
        let Some(name) = self.path.pop() else { return };
        let depth = self.path.len();
        if let Some((_, at)) = &self.open
            && *at == depth
        {
            let Some((point, _)) = self.open.take() else { return };
            let into = match name.as_str() {
                "wpt" => Some(&mut self.recorded.waypoints),
                "rtept" => self.recorded.routes.last_mut(),
                _ => self.recorded.segments.last_mut(),
            };
            // A point without a place has been reported already.
            if let Some(into) = into
                && point.at.0.is_finite()
            {
                into.push(point);
            }
            return;
        }
        let is_field = self.open.as_ref().is_none_or(|(_, at)| at + 1 == depth);
        if !is_field || !matches!(name.as_str(), "ele" | "time" | "name") {
            return;
        }
        let Some(text) = self.text.take() else { return };
        let text = text.trim();
        if name == "time" {
            self.time(text, start);
        } else if let Some((point, _)) = &mut self.open {
            match name.as_str() {
                // Receivers write strange heights; one that is no height on Earth is left out.
                "ele" => {
                    point.altitude = text.parse().ok().filter(|metres| (-500.0..=9000.0).contains(metres))
                }
                _ => point.name = (!text.is_empty()).then(|| text.to_owned()),
            }
        } else if !text.is_empty() {
            self.recorded.title = Some(text.to_owned());
        }
    }

    fn time(&mut self, text: &str, start: usize) {
        let zoned = text.parse::<Timestamp>().ok();
        // GPX says UTC; xsd:dateTime lets the zone be left out.
        let time =
            zoned.or_else(|| jiff::tz::Offset::UTC.to_timestamp(text.parse::<civil::DateTime>().ok()?).ok());
        match (&mut self.open, time) {
            (Some((point, _)), Some(time)) => {
                point.time = Some(time);
                if zoned.is_none() {
                    let zoneless = self.recorded.zoneless.get_or_insert((start, 0));
                    zoneless.1 += 1;
                }
            }
            _ => {
                let shown: String = text.chars().take(40).collect();
                self.report(
                    start,
                    format!("`{shown}` is not a time"),
                    "Write it as in `2027-04-03T16:00:00Z` (UTC)",
                );
            }
        }
    }

    fn coordinates(&mut self, element: &BytesStart<'_>, start: usize) -> Option<(f64, f64)> {
        let latitude = self.coordinate(element, "lat", 90.0, start);
        let longitude = self.coordinate(element, "lon", 180.0, start);
        Some((latitude?, longitude?))
    }

    fn coordinate(&mut self, element: &BytesStart<'_>, key: &str, most: f64, start: usize) -> Option<f64> {
        let mend = "Write `lat` from -90 to 90 and `lon` from -180 to 180, in degrees, or take the point out";
        let Some(found) = element.try_get_attribute(key).ok().flatten() else {
            self.report(start, format!("this point has no `{key}`"), mend);
            return None;
        };
        let shown: String = found.value.trim().chars().take(40).collect();
        match shown.parse::<f64>() {
            Ok(degrees) if degrees.abs() <= most => Some(degrees),
            Ok(_) => {
                self.report(start, format!("`{key}` is {shown}; it lies within ±{most}"), mend);
                None
            }
            Err(_) => {
                self.report(start, format!("`{key}` is `{shown}`, which is not a number"), mend);
                None
            }
        }
    }

    fn end_of_file(&mut self) {
        if let Some(open) = self.path.last().cloned() {
            let message = format!("the file ends inside `{open}`: it is cut off");
            self.report(self.source.text.len(), message, "Export or copy the file again");
        }
    }
}
