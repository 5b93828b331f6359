//! The trade-off of cost, mass and chance: which points no other beats, found without looking closely at all of them.
//! Never: knows what a point is. Nothing is passed over unless a point that is no worse in all three is known.
//! Start at [`front`].
//!
//! Trials come in ascending order of cost, then mass, so that whoever can beat a trial stands before it. Years are then run one by one,
//! those first that most trials before did not last; a trial is dropped in the year in which it has run out as often as a trial before
//! it that costs and weighs no more. That bound assumes nothing of how a system works, so the front is that of trying everything.
//! The caller may know more: a trial that can do no more than one before it ([`Ask::does_no_more`]) runs out in every year in which
//! that one has been seen to, and need not run those again.

use std::collections::BTreeMap;
use std::sync::atomic::Ordering;

use rayon::prelude::*;

use super::worth::Worth;
use crate::Progress;

/// A point not yet looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trial {
    /// What it is, for the caller.
    pub at: usize,
    /// What it costs and weighs.
    pub worth: Worth,
}

/// A point with the number of years in which it ran out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Point {
    /// The trial.
    pub trial: Trial,
    /// Years in which it ran out.
    pub ran_out: u32,
}

/// What one look at a year leaves for the next; of no meaning here.
pub type Hint = Option<u32>;

/// A year in which a trial runs out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dark {
    /// For the next look at this year.
    pub hint: Hint,
    /// Whether by so much that a trial which [does no more](Ask::does_no_more) runs out too.
    pub is_clear: bool,
}

/// What a search found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Found {
    /// The front, in order of cost, then mass.
    pub front: Vec<Point>,
    /// Points that would stand in it but cannot be built, in the same order.
    pub refused: Vec<Point>,
    /// Trials of which at least one year was run.
    pub tried: u64,
    /// Years that were run.
    pub years_run: u64,
}

/// Trials looked at together; fixed, so that what is run does not depend on the threads.
const WAVE: usize = 64;

/// Least number of years in which a known point that costs and weighs no more ran out; `None` where there is none.
pub fn bound(front: &[Point], worth: Worth) -> Option<u32> {
    front
        .iter()
        .take_while(|point| point.trial.worth.cents <= worth.cents)
        .filter(|point| point.trial.worth.grams <= worth.grams)
        .map(|point| point.ran_out)
        .min()
}

/// Puts a point into a front in order, if none there is as good; points come in the order of [`sort`].
fn insert(front: &mut Vec<Point>, point: Point) -> bool {
    if bound(front, point.trial.worth).is_some_and(|least| least <= point.ran_out) {
        return false;
    }
    // Of the same cost and mass, and running out more often.
    front.retain(|known| known.trial.worth != point.trial.worth);
    front.push(point);
    true
}

/// Ascending by cost, mass, then the caller's number.
pub fn sort(trials: &mut [Trial]) {
    trials.sort_by_key(|trial| (trial.worth.cents, trial.worth.grams, trial.at));
}

/// The front of points whose years are all known.
pub fn of_known(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by_key(|point| (point.trial.worth.cents, point.trial.worth.grams, point.trial.at));
    let mut front = Vec::new();
    for point in points {
        insert(&mut front, point);
    }
    front
}

/// Those of `points` that nothing in `front` is as good as.
pub fn outside(front: &[Point], points: Vec<Point>) -> Vec<Point> {
    let is_out = |point: &Point| bound(front, point.trial.worth).is_none_or(|least| least > point.ran_out);
    let mut points: Vec<Point> = points.into_iter().filter(is_out).collect();
    points.sort_by_key(|point| (point.trial.worth.cents, point.trial.worth.grams, point.trial.at));
    points.dedup();
    points
}

/// What a search asks of its caller; `T` is what one thread works with.
pub trait Ask<T>: Sync {
    /// Makes what one thread needs.
    fn begin(&self) -> T;
    /// Readies it for a trial.
    fn ready(&self, thread: &mut T, at: usize);
    /// Whether the trial runs out in a year, and if so a hint for the next that is asked about this year. `hint` is the last such, which
    /// must not change the answer.
    fn runs_out(&self, thread: &mut T, at: usize, year: u32, hint: Hint) -> Option<Dark>;
    /// Whether it can be built; asked of each point that would stand in the front.
    fn can_be_built(&self, at: usize) -> bool;
    /// Trials of different groups never [do no more](Ask::does_no_more) than one another.
    fn group(&self, at: usize) -> usize;
    /// Whether a trial surely runs out in every year in which another of its group clearly does; `false` where that is not known.
    fn does_no_more(&self, at: usize, other: usize) -> bool;
}

/// A set of years.
#[derive(Clone, Debug, PartialEq)]
struct YearSet(Vec<u64>);

impl YearSet {
    fn none(years: u32) -> Self {
        Self(vec![0; years.div_ceil(64) as usize])
    }
    fn add(&mut self, year: u32) {
        if let Some(word) = self.0.get_mut(year as usize / 64) {
            *word |= 1 << (year % 64);
        }
    }
    fn join(&mut self, other: &Self) {
        for (mine, other) in self.0.iter_mut().zip(&other.0) {
            *mine |= other;
        }
    }
    fn has(&self, year: u32) -> bool {
        self.0.get(year as usize / 64).is_some_and(|word| word >> (year % 64) & 1 == 1)
    }
    fn count(&self) -> u32 {
        self.0.iter().map(|word| word.count_ones()).sum()
    }
}

/// Searches the front of `trials`, which stand in the order of [`sort`]; `None` where it was told to stop.
///
/// - `years`: how many years each is run
pub fn front<T: Send>(trials: &[Trial], years: u32, ask: &impl Ask<T>, progress: &Progress) -> Option<Found> {
    let mut found = Found::default();
    let mut hard = vec![0_u64; years as usize];
    let mut hints: Vec<Hint> = vec![None; years as usize];
    let mut order: Vec<u32> = (0..years).collect();
    let mut seen: BTreeMap<usize, Vec<(usize, YearSet)>> = BTreeMap::new();
    let mut next = 0;
    while next < trials.len() {
        if progress.stop.load(Ordering::Relaxed) {
            return None;
        }
        let from = next;
        let mut wave: Vec<(Trial, u32, YearSet)> = Vec::with_capacity(WAVE);
        while next < trials.len() && wave.len() < WAVE {
            let trial = trials[next];
            next += 1;
            let most = bound(&found.front, trial.worth).unwrap_or(years + 1);
            if most == 0 {
                continue;
            }
            let mut dark = YearSet::none(years);
            for (other, known) in seen.get(&ask.group(trial.at)).into_iter().flatten() {
                if ask.does_no_more(trial.at, *other) {
                    dark.join(known);
                    if dark.count() >= most {
                        break;
                    }
                }
            }
            if dark.count() < most {
                wave.push((trial, most, dark));
            }
        }
        let looked: Vec<Look> = wave
            .par_iter()
            .map_init(
                || ask.begin(),
                |thread, (trial, most, known)| {
                    let mut look = Look {
                        dark: known.clone(),
                        new: Vec::new(),
                        years_run: 0,
                        is_whole: false,
                        can_be_built: false,
                    };
                    if progress.stop.load(Ordering::Relaxed) {
                        return look;
                    }
                    ask.ready(thread, trial.at);
                    let mut count = look.dark.count();
                    for year in order.iter().filter(|year| !known.has(**year)) {
                        look.years_run += 1;
                        let hint = hints.get(*year as usize).copied().flatten();
                        if let Some(dark) = ask.runs_out(thread, trial.at, *year, hint) {
                            look.dark.add(*year);
                            look.new.push((*year, dark));
                            count += 1;
                            if count >= *most {
                                return look;
                            }
                        }
                    }
                    look.is_whole = true;
                    look.can_be_built = ask.can_be_built(trial.at);
                    look
                },
            )
            .collect();
        if progress.stop.load(Ordering::Relaxed) {
            return None;
        }
        for ((trial, ..), look) in wave.iter().zip(looked) {
            found.tried += 1;
            found.years_run += look.years_run;
            let mut clear = YearSet::none(years);
            for (year, dark) in &look.new {
                hard[*year as usize] += 1;
                hints[*year as usize] = dark.hint;
                if dark.is_clear {
                    clear.add(*year);
                }
            }
            let ran_out = look.dark.count();
            if clear.count() > 0 {
                seen.entry(ask.group(trial.at)).or_default().push((trial.at, clear));
            }
            if !look.is_whole {
                continue;
            }
            let point = Point { trial: *trial, ran_out };
            if look.can_be_built {
                insert(&mut found.front, point);
            } else {
                found.refused.push(point);
            }
        }
        order.sort_by_key(|year| (std::cmp::Reverse(hard[*year as usize]), *year));
        progress.done.fetch_add((next - from) as u64, Ordering::Relaxed);
    }
    found.refused = outside(&found.front, found.refused);
    Some(found)
}

/// What came of one trial.
struct Look {
    dark: YearSet,
    new: Vec<(u32, Dark)>,
    years_run: u64,
    is_whole: bool,
    can_be_built: bool,
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn worth(cents: i64, grams: i64) -> Worth {
        Worth { cents, grams }
    }

    /// By the definition: no other is no worse in all three and better in one; of equals the first counts.
    fn by_definition(points: &[Point]) -> Vec<Point> {
        let key = |p: &Point| (p.trial.worth.cents, p.trial.worth.grams, p.ran_out);
        let beats = |a: &Point, b: &Point| {
            let (a_key, b_key) = (key(a), key(b));
            let no_worse = a_key.0 <= b_key.0 && a_key.1 <= b_key.1 && a_key.2 <= b_key.2;
            no_worse && (a_key != b_key || a.trial.at < b.trial.at)
        };
        let mut front: Vec<Point> =
            points.iter().filter(|b| !points.iter().any(|a| beats(a, b))).copied().collect();
        front.sort_by_key(|p| (p.trial.worth.cents, p.trial.worth.grams, p.trial.at));
        front
    }

    /// Points told outright: cost, mass, dark years, whether they can be built.
    struct Told<'p>(&'p [(i64, i64, Vec<bool>)], &'p [bool]);

    impl Ask<()> for Told<'_> {
        fn begin(&self) {}
        fn ready(&self, (): &mut (), _: usize) {}
        fn runs_out(&self, (): &mut (), at: usize, year: u32, _: Hint) -> Option<Dark> {
            self.0[at].2[year as usize].then_some(Dark { hint: None, is_clear: true })
        }
        fn can_be_built(&self, at: usize) -> bool {
            self.1[at]
        }
        fn group(&self, at: usize) -> usize {
            at % 3
        }
        fn does_no_more(&self, at: usize, other: usize) -> bool {
            self.0[at].2.iter().zip(&self.0[other].2).all(|(mine, other)| *mine || !other)
        }
    }

    fn searched(points: &[(i64, i64, Vec<bool>)], built: &[bool], years: u32) -> Found {
        let mut trials: Vec<Trial> = points
            .iter()
            .enumerate()
            .map(|(at, (cents, grams, _))| Trial { at, worth: worth(*cents, *grams) })
            .collect();
        sort(&mut trials);
        front(&trials, years, &Told(points, built), &Progress::default()).expect("not stopped")
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]
        // The search against the definition of a Pareto front, over points that can be built.
        #[test]
        fn the_search_finds_what_trying_all_finds(
            points in prop::collection::vec((0_i64..12, 0_i64..12, prop::collection::vec(any::<bool>(), 6)), 1..200),
            seed in any::<u64>(),
        ) {
            let built: Vec<bool> = (0..points.len()).map(|at| (seed.rotate_left(at as u32) & 7) != 0).collect();
            let found = searched(&points, &built, 6);
            let all = |want: bool| -> Vec<Point> {
                points.iter().enumerate().filter(|(at, _)| built[*at] == want).map(|(at, (cents, grams, dark))| Point {
                    trial: Trial { at, worth: worth(*cents, *grams) },
                    ran_out: dark.iter().filter(|dark| **dark).count() as u32,
                }).collect()
            };
            let wanted = by_definition(&all(true));
            prop_assert_eq!(&found.front, &wanted);
            prop_assert_eq!(of_known(all(true)), wanted.clone());
            prop_assert_eq!(found.refused, outside(&wanted, all(false)));
        }
    }

    // Börzsönyi, Kossmann and Stocker 2001, "The skyline operator": hotels near the beach. A hotel belongs to the skyline if no
    // other is both cheaper and nearer. The figures are ours; the definition is theirs, here with the third measure held equal.
    #[test]
    fn hotels_of_the_skyline_paper() {
        let hotels = [(50, 40), (60, 10), (55, 30), (70, 10), (45, 80), (90, 2), (60, 20)];
        let points: Vec<(i64, i64, Vec<bool>)> =
            hotels.iter().map(|(price, distance)| (*price, *distance, vec![true])).collect();
        let found = searched(&points, &[true; 7], 1);
        let skyline: Vec<usize> = found.front.iter().map(|point| point.trial.at).collect();
        assert_eq!(skyline, [4, 0, 2, 1, 5]);
    }

    #[test]
    fn what_is_stopped_gives_nothing() {
        let progress = Progress::default();
        progress.stop.store(true, Ordering::Relaxed);
        let trials = [Trial { at: 0, worth: worth(1, 1) }];
        let none = front(&trials, 3, &Told(&[(1, 1, vec![false; 3])], &[true]), &progress);
        assert!(none.is_none());
    }
}
