//! A search in shares: which combinations a share holds, the file that tells what came of it, and all of them together.
//! Never: takes in a file of another project, weather, seed, number of years or program; the message says which line differs.
//! Start at [`Share`] and [`Search::merge`].

use std::fmt::Write;
use std::ops::Range;

use model::{Problem, Project, SourceText};
use serde::{Deserialize, Serialize};
use toml::Spanned;

use super::front::{Found, Point, Trial, of_known, outside};
use super::{Search, Why};
use crate::weather::Series;

/// Version of the file.
const VERSION: u32 = 1;
/// First words of the file.
const WHAT: &str = "wattwain sizes, one share";
/// Most shares of one search.
pub const MOST_SHARES: u32 = 100_000;

/// One of several shares of a search, from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Share {
    /// Which.
    pub which: u32,
    /// Of how many.
    pub of: u32,
}

impl Share {
    /// Reads `2/8`.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub fn parse(text: &str) -> Result<Self, String> {
        let mend = "write which of how many, such as `2/8`";
        let (which, of) = text.split_once('/').ok_or_else(|| format!("`{text}` has no `/`; {mend}"))?;
        let number = |text: &str| {
            text.trim().parse::<u32>().map_err(|_| format!("`{text}` is no whole number; {mend}"))
        };
        let (which, of) = (number(which)?, number(of)?);
        if of == 0 || of > MOST_SHARES {
            return Err(format!("a search has 1 to {MOST_SHARES} shares, not {of}"));
        }
        if which == 0 || which > of {
            return Err(format!("of {of} shares there is no number {which}; they count from 1"));
        }
        Ok(Self { which, of })
    }

    /// Its trials: every so-manieth, so that all shares have dear and cheap ones and take about as long.
    pub fn of(self, trials: &[Trial]) -> Vec<Trial> {
        trials.iter().skip(self.which as usize - 1).step_by(self.of as usize).copied().collect()
    }

    fn has(self, place: usize) -> bool {
        place % self.of as usize == self.which as usize - 1
    }
}

/// The file of a share.
#[derive(Serialize)]
struct Written<'a> {
    what: &'a str,
    version: u32,
    program: &'a str,
    project: &'a str,
    years: u32,
    seed: String,
    combinations: usize,
    share: u32,
    shares: u32,
    front: Vec<[usize; 2]>,
    refused: Vec<[usize; 2]>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Read {
    what: Spanned<String>,
    version: Spanned<u32>,
    program: Spanned<String>,
    project: Spanned<String>,
    years: Spanned<u32>,
    seed: Spanned<String>,
    combinations: Spanned<usize>,
    share: Spanned<u32>,
    shares: Spanned<u32>,
    front: Vec<Spanned<[usize; 2]>>,
    refused: Vec<Spanned<[usize; 2]>>,
}

/// Sixteen hexadecimal digits that stand for project, parts, weather and program: FNV-1a of all their text, 64 bits.
pub fn identity(project: &Project, series: Option<&Series>) -> String {
    let mut sum = Fnv(0xcbf2_9ce4_8422_2325);
    // Writing into a sum cannot fail.
    let _ = write!(sum, "{}\n{:?}\n{:?}", project.source.text, project.library, series);
    format!("{:016x}", sum.0)
}

/// Fowler, Noll and Vo's hash, variant 1a, 64 bits.
struct Fnv(u64);

impl Write for Fnv {
    fn write_str(&mut self, text: &str) -> std::fmt::Result {
        for byte in text.bytes() {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
        Ok(())
    }
}

const PROGRAM: &str = env!("CARGO_PKG_VERSION");

impl Search<'_> {
    /// The file of a share.
    pub fn share_text(&self, share: Share, found: &Found) -> String {
        let pairs = |points: &[Point]| {
            points.iter().map(|point| [point.trial.at, point.ran_out as usize]).collect::<Vec<_>>()
        };
        let written = Written {
            what: WHAT,
            version: VERSION,
            program: PROGRAM,
            project: &self.id,
            years: self.skies.count(),
            seed: self.seed.to_string(),
            combinations: self.combinations,
            share: share.which,
            shares: share.of,
            front: pairs(&found.front),
            refused: pairs(&found.refused),
        };
        // Strings, whole numbers and lists of them: nothing that TOML cannot hold.
        toml::to_string(&written).unwrap_or_default()
    }

    /// All shares of a search together: the same as that of one run.
    ///
    /// # Errors
    /// Every file that does not belong to this search or is missing, with its line.
    pub fn merge(&self, files: &[SourceText]) -> Result<Found, Vec<Problem>> {
        let mut problems = Vec::new();
        let (mut front, mut refused) = (Vec::new(), Vec::new());
        let mut seen: Vec<(u32, &str)> = Vec::new();
        let mut shares = None;
        let mut places: Vec<(usize, usize)> =
            self.trials.iter().enumerate().map(|(place, trial)| (trial.at, place)).collect();
        places.sort_unstable();
        for file in files {
            let before = problems.len();
            let Some(read) = read(file, &mut problems) else { continue };
            self.compare(file, &read, &mut problems);
            let (which, of) = (*read.share.get_ref(), *read.shares.get_ref());
            let share = match Share::parse(&format!("{which}/{of}")) {
                Ok(share) => share,
                Err(message) => {
                    problems.push(problem(file, "share", read.share.span(), message, ALONE));
                    continue;
                }
            };
            match shares {
                None => shares = Some(of),
                Some(known) if known != of => problems.push(problem(
                    file,
                    "shares",
                    read.shares.span(),
                    format!("this is a share of {of}; the files before it are shares of {known}"),
                    "Merge the files of one search only",
                )),
                Some(_) => {}
            }
            if let Some((_, other)) = seen.iter().find(|(known, _)| *known == which) {
                let message = format!("share {which} stands in `{other}` already");
                problems.push(problem(file, "share", read.share.span(), message, "Name each share once"));
            }
            seen.push((which, &file.name));
            if problems.len() > before {
                continue;
            }
            for (list, into) in [(&read.front, &mut front), (&read.refused, &mut refused)] {
                for entry in list {
                    match self.point(*entry.get_ref(), share, &places) {
                        Ok(point) => into.push(point),
                        Err(message) => {
                            problems.push(problem(file, "front", entry.span(), message, ALONE));
                        }
                    }
                }
            }
        }
        if problems.is_empty() {
            problems.extend(missing(files, shares, &seen));
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        let front = of_known(front);
        let refused = outside(&front, refused);
        Ok(Found { front, refused, ..Found::default() })
    }

    fn compare(&self, file: &SourceText, read: &Read, problems: &mut Vec<Problem>) {
        let mut differs = |field: &str, span: Range<usize>, found: String, wanted: String, mend: &str| {
            if found != wanted {
                let message = format!("`{field}` is {found}; this search has {wanted}");
                problems.push(problem(file, field, span, message, mend));
            }
        };
        let again = "Run this share again with the project, weather and program that you merge with";
        differs("program", read.program.span(), read.program.get_ref().clone(), PROGRAM.to_owned(), again);
        differs("project", read.project.span(), read.project.get_ref().clone(), self.id.clone(), again);
        let years = self.skies.count().to_string();
        differs(
            "years",
            read.years.span(),
            read.years.get_ref().to_string(),
            years,
            "Give merge the same `--years`",
        );
        let seed = self.seed.to_string();
        differs("seed", read.seed.span(), read.seed.get_ref().clone(), seed, "Give merge the same `--seed`");
        let all = self.combinations.to_string();
        differs(
            "combinations",
            read.combinations.span(),
            read.combinations.get_ref().to_string(),
            all,
            again,
        );
    }

    fn point(
        &self,
        [at, ran_out]: [usize; 2],
        share: Share,
        places: &[(usize, usize)],
    ) -> Result<Point, String> {
        let place = places
            .binary_search_by_key(&at, |(at, _)| *at)
            .ok()
            .and_then(|index| places.get(index))
            .map(|(_, place)| *place)
            .filter(|place| share.has(*place))
            .ok_or_else(|| format!("combination {at} is not in this share"))?;
        let years = self.skies.count();
        let ran_out = u32::try_from(ran_out)
            .ok()
            .filter(|count| *count <= years)
            .ok_or_else(|| format!("{ran_out} of {years} years cannot run out"))?;
        let trial =
            self.trials.get(place).copied().ok_or_else(|| format!("combination {at} is not known"))?;
        Ok(Point { trial, ran_out })
    }
}

const ALONE: &str = "Leave share files as they were written; run this share again";

fn missing(files: &[SourceText], shares: Option<u32>, seen: &[(u32, &str)]) -> Option<Problem> {
    let all = shares.unwrap_or(0);
    let lost: Vec<String> = (1..=all)
        .filter(|which| !seen.iter().any(|(known, _)| known == which))
        .map(|w| w.to_string())
        .collect();
    if all > 0 && lost.is_empty() {
        return None;
    }
    let file = files.first().cloned().unwrap_or_default();
    let message = if all == 0 {
        "no share was named".to_owned()
    } else {
        format!("of {all} shares these are missing: {}", lost.join(", "))
    };
    Some(problem(&file, "shares", 0..0, message, "Name the files of all shares of the search"))
}

fn read(file: &SourceText, problems: &mut Vec<Problem>) -> Option<Read> {
    let read = match toml::from_str::<Read>(&file.text) {
        Ok(read) => read,
        Err(error) => {
            let span = error.span().unwrap_or(0..0);
            problems.push(problem(
                file,
                "",
                span,
                format!("this is not the file of a share: {}", error.message()),
                "Name files that `wattwain sizes --shard` has written",
            ));
            return None;
        }
    };
    for (field, span, is_right, found) in [
        ("what", read.what.span(), read.what.get_ref() == WHAT, read.what.get_ref().clone()),
        (
            "version",
            read.version.span(),
            *read.version.get_ref() == VERSION,
            read.version.get_ref().to_string(),
        ),
    ] {
        if !is_right {
            let message = format!("`{field}` is `{found}`; this program reads `{WHAT}`, version {VERSION}");
            problems.push(problem(file, field, span, message, "Name files that this program has written"));
            return None;
        }
    }
    Some(read)
}

fn problem(file: &SourceText, field: &str, span: Range<usize>, message: String, mend: &str) -> Problem {
    let (line, column) = file.line_column(span.start);
    Problem {
        message,
        file: file.name.clone(),
        field: field.to_owned(),
        span,
        line,
        column,
        mend: mend.to_owned(),
    }
}

impl Why {
    /// How to mend it.
    pub fn mend(&self) -> &'static str {
        match self {
            Self::NoBank => {
                "Give the project a `[bank]`; where it has one, `wattwain check` says why none could be derived"
            }
            Self::TooMany => "Say more of what is wanted in intent.toml",
            Self::Years(_) => "Ask for fewer years",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Test vectors of the FNV reference (draft-eastlake-fnv, 64-bit FNV-1a): "" and "foobar".
    #[test]
    fn the_sum_is_fowler_noll_vos() {
        let sum = |text: &str| {
            let mut sum = Fnv(0xcbf2_9ce4_8422_2325);
            sum.write_str(text).expect("a sum takes all");
            sum.0
        };
        assert_eq!(sum(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(sum("foobar"), 0x8594_4171_f739_67e8);
    }

    #[test]
    fn shares_are_read_or_say_what_is_wrong() {
        assert_eq!(Share::parse("2/8"), Ok(Share { which: 2, of: 8 }));
        for wrong in ["", "2", "0/8", "9/8", "1/0", "a/b", "1/99999999", "-1/2"] {
            assert!(Share::parse(wrong).is_err_and(|message| !message.is_empty()), "{wrong}");
        }
    }

    #[test]
    fn shares_split_the_trials_and_lose_none() {
        let worth = super::super::worth::Worth::default();
        let trials: Vec<Trial> = (0..23).map(|at| Trial { at, worth }).collect();
        for of in [1, 2, 5, 23, 40] {
            let mut all: Vec<usize> =
                (1..=of).flat_map(|which| Share { which, of }.of(&trials)).map(|trial| trial.at).collect();
            all.sort_unstable();
            assert_eq!(all, (0..23).collect::<Vec<_>>());
        }
    }
}
