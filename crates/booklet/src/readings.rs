//! The readings of commissioning as the sheet shows them: what all of a stretch have in common is said once.
//! Never: leaves out a caution or a sentence, or changes the order.
//! Start at [`stretches`].

use prove::{Expected, Kind};
use serde::Serialize;

/// Readings in a row with the same caution, taken alike.
#[derive(Debug, Serialize)]
pub(crate) struct Stretch {
    /// Empty where none is called for.
    caution: String,
    /// How each of them is taken, as far as it is the same.
    how: String,
    rows: Vec<ReadingRow>,
}

/// A reading, worded.
#[derive(Debug, Serialize)]
struct ReadingRow {
    number: usize,
    title: String,
    /// What is its own in how it is taken.
    how: String,
    expect: String,
    unit: &'static str,
}

/// The readings of one stage, the first of them with the given number.
pub(crate) fn stretches(first: usize, readings: &[Expected]) -> Vec<Stretch> {
    let alike = |one: &Expected, next: &Expected| {
        one.caution == next.caution && sentences(&one.how).first() == sentences(&next.how).first()
    };
    let mut number = first;
    let mut made = Vec::new();
    for group in readings.chunk_by(alike) {
        let hows: Vec<Vec<&str>> = group.iter().map(|reading| sentences(&reading.how)).collect();
        let Some(model) = hows.first() else { continue };
        let least = hows.iter().map(Vec::len).min().unwrap_or(0);
        let is_common = |at: &usize, from_end: bool| {
            hows.iter().all(|how| {
                let place = if from_end { how.len() - 1 - at } else { *at };
                let own = if from_end { model.len() - 1 - at } else { *at };
                how.get(place) == model.get(own)
            })
        };
        // A reading alone keeps its words beside it.
        let (before, after) = if group.len() == 1 {
            (0, 0)
        } else {
            let before = (0..least).take_while(|at| is_common(at, false)).count();
            (before, (0..least - before).take_while(|at| is_common(at, true)).count())
        };
        let common: Vec<&str> =
            model.iter().take(before).chain(model.iter().skip(model.len() - after)).copied().collect();
        let rows = group.iter().zip(&hows).map(|(reading, how)| {
            let own: Vec<&str> = how.iter().take(how.len() - after).skip(before).copied().collect();
            let row = ReadingRow {
                number,
                title: reading.title.clone(),
                how: own.join(" "),
                expect: reading.shown.clone(),
                unit: unit(reading),
            };
            number += 1;
            row
        });
        let rows = rows.collect();
        let caution = group.first().and_then(|reading| reading.caution.clone()).unwrap_or_default();
        made.push(Stretch { caution, how: common.join(" "), rows });
    }
    made
}

/// A text by its sentences, each with its stop. A stop within a name or a number ends none.
fn sentences(text: &str) -> Vec<&str> {
    let mut list = Vec::new();
    let mut rest = text.trim();
    while let Some((at, _)) = rest.match_indices(". ").find(|(at, _)| {
        rest.get(at + 2..).and_then(|after| after.chars().next()).is_some_and(char::is_uppercase)
    }) {
        let (sentence, after) = rest.split_at(at + 1);
        list.push(sentence);
        rest = after.trim_start();
    }
    if !rest.is_empty() {
        list.push(rest);
    }
    list
}

fn unit(reading: &Expected) -> &'static str {
    match (reading.kind, reading.unit) {
        (Kind::Insulation, prove::Unit::Ohms) => "MΩ",
        (_, prove::Unit::Volts) => "V",
        (_, prove::Unit::Amps) => "A",
        (_, prove::Unit::Ohms) => "Ω",
        (_, prove::Unit::Seconds) => "s",
        (_, prove::Unit::YesNo) => "",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_falls_into_its_sentences() {
        assert_eq!(sentences("One at a.b. Two at 3.5 V. three"), ["One at a.b.", "Two at 3.5 V. three"]);
        assert_eq!(sentences(""), [""; 0]);
    }
}
