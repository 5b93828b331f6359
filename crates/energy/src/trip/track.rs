//! From recorded points to stays and drives.
//! Never: reads XML; works on points that have their place already.
//! Start at [`itinerary`]: which points count, whether their times make sense; `stretches.rs` tells standing from moving.

use jiff::SignedDuration;
use model::{Problem, SourceText};

use super::sphere::metres;
use super::stretches::{Moment, legs};
use super::xml::{Point, Recorded};
use super::{ASSUMED_KM_H, FASTEST_KM_H, Itinerary, MOST_DAYS, MOST_PROBLEMS, hours, note, problem_at};
use crate::weather::Note;

/// A gap of the record from which its average speed says nothing any more [h].
const GAP_H: f64 = 1.0;
/// A gap that is told [h].
const TOLD_GAP_H: f64 = 24.0;
/// A jump below this is scatter of the receiver, however fast it looks [m].
const SCATTER_M: f64 = 500.0;
/// A point that lies farther than this is not the same place any more [m].
const SAME_PLACE_M: f64 = 1000.0;

/// The itinerary of a recorded trip, with what was assumed, or every problem found.
///
/// Tracks count where they have times, else routes, else waypoints; waypoints name the stays near them.
pub fn itinerary(recorded: Recorded, source: &SourceText) -> Result<(Itinerary, Vec<Note>), Vec<Problem>> {
    let mut notes = Vec::new();
    if let Some((offset, count)) = recorded.zoneless {
        let message = format!("{count} of the times say no zone: taken as UTC, as GPX has it");
        notes.push(note("time-without-zone", source.line_column(offset).0, message));
    }
    let (lines, left_out) = timed_lines(&recorded, source)?;
    if let Some((offset, count)) = left_out {
        let message = format!("{count} of the points have no time: left out");
        notes.push(note("points-without-time", source.line_column(offset).0, message));
    }
    let points = in_order(lines, source)?;
    check_speeds(&points, source)?;
    let moments = moments(&points, source, &mut notes)?;
    let named: Vec<&Point> = recorded.waypoints.iter().filter(|point| point.name.is_some()).collect();
    let name_of = |at: (f64, f64)| {
        let near = named.iter().map(|point| (metres(point.at, at), point));
        let near = near.filter(|(away, _)| *away <= SAME_PLACE_M).min_by(|a, b| a.0.total_cmp(&b.0));
        near.and_then(|(_, point)| point.name.clone())
    };
    let message = "the file does not say where there was shore power: none is counted; trip.toml can say `shore = true`";
    notes.push(note("no-shore-known", 0, message.to_owned()));
    let legs = legs(&moments, name_of);
    Ok((Itinerary { title: recorded.title.clone(), legs }, notes))
}

type LeftOut = Option<(usize, usize)>;

/// The lines of points that tell the trip, only points with times, and how many points had none.
fn timed_lines(recorded: &Recorded, source: &SourceText) -> Result<(Vec<Vec<Point>>, LeftOut), Vec<Problem>> {
    let waypoints = std::slice::from_ref(&recorded.waypoints);
    let kinds: [&[Vec<Point>]; 3] = [&recorded.segments, &recorded.routes, waypoints];
    for lines in kinds {
        let timed: Vec<Vec<Point>> = lines
            .iter()
            .map(|line| line.iter().filter(|point| point.time.is_some()).cloned().collect())
            .filter(|line: &Vec<Point>| !line.is_empty())
            .collect();
        if timed.is_empty() {
            continue;
        }
        let untimed: Vec<&Point> = lines.iter().flatten().filter(|point| point.time.is_none()).collect();
        return Ok((timed, untimed.first().map(|first| (first.offset, untimed.len()))));
    }
    let all: Vec<&Point> = kinds.iter().flat_map(|lines| lines.iter().flatten()).collect();
    let (offset, message) = match all.first() {
        Some(first) => (first.offset, format!("none of the {} points has a time", all.len())),
        None => (0, "the file has no points".to_owned()),
    };
    let mend = "Add a `time` to each point, or write trip.toml with stops and driving hours";
    Err(vec![problem_at(source, "time", offset..offset, message, mend)])
}

/// All points in the order of their times; times that run backwards and lines that overlap are problems.
fn in_order(mut lines: Vec<Vec<Point>>, source: &SourceText) -> Result<Vec<Point>, Vec<Problem>> {
    let mut problems = Vec::new();
    for line in &lines {
        for pair in line.windows(2) {
            if let [before, after] = pair
                && after.time < before.time
                && problems.len() < MOST_PROBLEMS
            {
                let (Some(earlier), Some(later)) = (after.time, before.time) else { continue };
                let message = format!(
                    "times run backwards: {earlier} stands after {later} of line {}",
                    source.line_column(before.offset).0
                );
                let mend = "Mend the time, or put the points in the order in which they were passed";
                problems.push(problem_at(source, "time", after.offset..after.offset, message, mend));
            }
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    lines.sort_by_key(|line| line.first().and_then(|point| point.time));
    for pair in lines.windows(2) {
        let [before, after] = pair else { continue };
        if let (Some(last), Some(first)) = (before.last(), after.first())
            && first.time < last.time
            && problems.len() < MOST_PROBLEMS
        {
            let (Some(begins), Some(ends)) = (first.time, last.time) else { continue };
            let message = format!(
                "the itinerary overlaps itself: this piece begins at {begins}, before the one of line {} ends at {ends}",
                source.line_column(before.first().map_or(0, |point| point.offset)).0
            );
            let mend = "Keep one of the two pieces";
            problems.push(problem_at(source, "time", first.offset..first.offset, message, mend));
        }
    }
    if problems.is_empty() { Ok(lines.into_iter().flatten().collect()) } else { Err(problems) }
}

fn check_speeds(points: &[Point], source: &SourceText) -> Result<(), Vec<Problem>> {
    let mut problems = Vec::new();
    for pair in points.windows(2) {
        let [before, after] = pair else { continue };
        let (Some(from), Some(to)) = (before.time, after.time) else { continue };
        let (metres, hours) = (metres(before.at, after.at), hours(to.duration_since(from)).get());
        if metres > SCATTER_M && metres / 1000.0 > FASTEST_KM_H * hours && problems.len() < MOST_PROBLEMS {
            let message = format!(
                "{:.1} km in {:.0} s from the point of line {} to this one; nothing here goes faster than {FASTEST_KM_H} km/h",
                metres / 1000.0,
                hours * 3600.0,
                source.line_column(before.offset).0
            );
            let mend = "Take the point out, or mend its place or its time";
            problems.push(problem_at(source, "time", after.offset..after.offset, message, mend));
        }
    }
    if problems.is_empty() { Ok(()) } else { Err(problems) }
}

/// The points as moments, with one put in where a gap ends in a drive.
fn moments(
    points: &[Point],
    source: &SourceText,
    notes: &mut Vec<Note>,
) -> Result<Vec<Moment>, Vec<Problem>> {
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return Ok(Vec::new()) };
    let (Some(begins), Some(ends)) = (first.time, last.time) else { return Ok(Vec::new()) };
    let long = ends.duration_since(begins);
    if long.is_zero() {
        let message = format!("all points have the same time, {begins}: no time passes");
        let mend = "Add points with later times, or write trip.toml";
        return Err(vec![problem_at(source, "time", first.offset..first.offset, message, mend)]);
    }
    if long > SignedDuration::from_hours(24 * MOST_DAYS) {
        let days = long.as_hours() / 24;
        let message =
            format!("the trip takes {days} days, from {begins} to {ends}; the longest is {MOST_DAYS}");
        let mend = "Split the file, or mend the time of the first or last point";
        return Err(vec![problem_at(source, "time", last.offset..last.offset, message, mend)]);
    }
    let mut moments = Vec::with_capacity(points.len());
    let mut assumed = (0, 0.0);
    for (index, point) in points.iter().enumerate() {
        let Some(time) = point.time else { continue };
        if let Some(before) = index.checked_sub(1).and_then(|index| points.get(index))
            && let Some(left) = before.time
        {
            let gap = hours(time.duration_since(left)).get();
            let metres = metres(before.at, point.at);
            if gap >= TOLD_GAP_H {
                let message = format!(
                    "nothing is recorded for {:.1} days: taken as standing at the last place",
                    gap / 24.0
                );
                notes.push(note("gap", source.line_column(point.offset).0, message));
            }
            if gap > GAP_H && metres > SAME_PLACE_M {
                let drive = (metres / 1000.0 / ASSUMED_KM_H).min(gap);
                assumed = (assumed.0 + 1, assumed.1 + metres / 1000.0);
                let leaves = time.checked_sub(SignedDuration::from_secs_f64(drive * 3600.0)).unwrap_or(left);
                moments.push(Moment { time: leaves.max(left), at: before.at, altitude: before.altitude });
            }
        }
        moments.push(Moment { time, at: point.at, altitude: point.altitude });
    }
    if assumed.0 > 0 {
        let message = format!(
            "{} times the place changed by {:.0} km in all while nothing was recorded for more than {GAP_H} h: \
             taken as driven at {ASSUMED_KM_H} km/h, just before the next point",
            assumed.0, assumed.1
        );
        notes.push(note("drive-assumed", 0, message));
    }
    Ok(moments)
}
