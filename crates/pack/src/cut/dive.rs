//! Whole numbers from the relaxation: the patterns used most are fixed, the rest is relaxed again, until nothing is left.
//! Never: proves anything; what it gives is a plan.
//! Start at [`plan`].

use super::bound::Bound;
use super::problem::{Bin, Problem};
use super::quick;

/// A pattern that the relaxation uses at least so often is fixed once more.
const NEARLY_ONE: f64 = 0.75;
/// Worth over cost from which a pattern is kept for the next round.
const WORTH_KEEPING: f64 = 0.98;
/// How near to the relaxation of what is left is near enough to choose by.
const NEAR: f64 = 1e-3;

/// A plan near the relaxation; ends early where one reaches `bound`.
pub fn plan(problem: &Problem, root: &Bound, bound: u64) -> Vec<Bin> {
    let mut fixed: Vec<Bin> = Vec::new();
    let mut best: Option<(u64, Vec<Bin>)> = None;
    let mut left = problem.demand.clone();
    let mut relaxed: Option<Bound> = None;
    while left.iter().any(|count| *count > 0) {
        let now = relaxed.as_ref().unwrap_or(root);
        let mut times = now.times(problem, &left);
        times.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let before = fixed.len();
        for (rank, (ix, times)) in times.iter().enumerate() {
            let whole = (times + 1.0 - NEARLY_ONE).floor() as u32;
            let whole = if rank == 0 { whole.max(1) } else { whole };
            let Some(pattern) = now.patterns.get(*ix) else { continue };
            for _ in 0..whole {
                fix(problem, pattern, &mut left, &mut fixed);
            }
        }
        // Without a use of any pattern the rest is filled by size.
        let rest = quick::plan(problem, &left);
        let whole: Vec<Bin> = fixed.iter().chain(&rest).cloned().collect();
        let cost = problem.cost_of(&whole);
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, whole));
        }
        if fixed.len() == before || best.as_ref().is_some_and(|(least, _)| *least <= bound) {
            break;
        }
        if left.iter().all(|count| *count == 0) {
            break;
        }
        let patterns: Vec<Bin> =
            now.patterns.iter().filter(|bin| is_near(problem, now, bin)).cloned().collect();
        relaxed = Some(Bound::of(problem, &left, patterns, NEAR));
    }
    best.map(|(_, bins)| bins).unwrap_or_default()
}

/// Whether a pattern is worth nearly what its stock costs; others are not missed.
fn is_near(problem: &Problem, relaxed: &Bound, bin: &Bin) -> bool {
    let cost = problem.stocks.get(bin.stock).map_or(0.0, |kind| kind.cost as f64);
    let worth: f64 =
        relaxed.worth.iter().zip(&bin.counts).map(|(worth, count)| worth * f64::from(*count)).sum();
    worth >= WORTH_KEEPING * cost
}

/// Takes a pattern once, less what is cut already; what then holds on a cheaper stock goes there.
fn fix(problem: &Problem, pattern: &Bin, left: &mut [u32], fixed: &mut Vec<Bin>) {
    let counts: Vec<u32> =
        pattern.counts.iter().zip(left.iter()).map(|(count, left)| *count.min(left)).collect();
    if counts.iter().all(|count| *count == 0) {
        return;
    }
    for (left, count) in left.iter_mut().zip(&counts) {
        *left -= count;
    }
    let mut bin = Bin { stock: pattern.stock, counts };
    bin.stock = problem.cheapest_for(problem.load(&bin)).unwrap_or(bin.stock);
    fixed.push(bin);
}
