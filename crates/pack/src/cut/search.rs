//! The search that closes the gap: every plan that could be better is built, the stock of the largest piece first.
//! Never: leaves out a plan that could be better, save where it runs out of steps and says so.
//! Start at [`better`].

use super::bound::Bound;
use super::problem::{Bin, Problem};

/// What the search came to.
pub struct Found {
    /// A plan better than the one known; `None` where there is none, or none was met.
    pub bins: Option<Vec<Bin>>,
    /// Whether every plan was tried or ruled out, so that none is better than the best known.
    pub is_exhaustive: bool,
}

/// Calls within each other that a small stack holds; beyond, the search gives up.
const DEEPEST: u32 = 4000;

struct Search<'p> {
    problem: &'p Problem,
    worth: &'p [f64],
    /// Greatest worth of a step among this size and all smaller ones.
    densest: Vec<f64>,
    left: Vec<u32>,
    chosen: Vec<Bin>,
    spent: u64,
    /// A plan must cost less than this.
    ceiling: u64,
    bound: u64,
    steps: u64,
    depth: u32,
    best: Option<Vec<Bin>>,
}

/// A plan that costs less than `known`, down to `bound`, within a number of steps.
///
/// Ruled out is what cannot cost less: with the worths of the relaxation, what is spent plus the worth of what is left is below the
/// cost of every way to go on.
pub fn better(problem: &Problem, relaxation: &Bound, known: u64, bound: u64, steps: u64) -> Found {
    let mut densest = vec![0.0; problem.sizes.len() + 1];
    for (ix, (size, worth)) in problem.sizes.iter().zip(&relaxation.worth).enumerate().rev() {
        let after = densest.get(ix + 1).copied().unwrap_or(0.0);
        if let Some(slot) = densest.get_mut(ix) {
            *slot = f64::max(after, worth / f64::from((*size).max(1)));
        }
    }
    let mut search = Search {
        problem,
        worth: &relaxation.worth,
        densest,
        left: problem.demand.clone(),
        chosen: Vec::new(),
        spent: 0,
        ceiling: known,
        bound,
        steps,
        depth: 0,
        best: None,
    };
    search.next();
    let is_exhaustive = search.steps > 0 || search.ceiling <= bound;
    Found { bins: search.best, is_exhaustive }
}

impl Search<'_> {
    fn is_over(&self) -> bool {
        self.steps == 0 || self.ceiling <= self.bound
    }

    /// Worth of what is left: no less must be spent on it.
    fn owed(&self) -> f64 {
        self.worth.iter().zip(&self.left).map(|(worth, left)| worth * f64::from(*left)).sum()
    }

    fn next(&mut self) {
        let Some(first) = self.left.iter().position(|left| *left > 0) else {
            if self.spent < self.ceiling {
                self.ceiling = self.spent;
                self.best = Some(self.chosen.clone());
            }
            return;
        };
        let owed = self.owed();
        for stock in 0..self.problem.stocks.len() {
            if self.is_over() {
                return;
            }
            let Some(kind) = self.problem.stocks.get(stock).copied() else { return };
            let size = self.problem.sizes.get(first).copied().unwrap_or(0);
            if kind.length < size {
                continue;
            }
            // What this stock may be worth less than it costs.
            let waste = (self.ceiling as f64 - self.spent as f64) - owed;
            if self.problem.on_lattice(self.spent as f64 + owed) >= self.ceiling {
                return;
            }
            let mut counts = vec![0; self.left.len()];
            take(&mut counts, &mut self.left, first, true);
            let worth = self.worth.get(first).copied().unwrap_or(0.0);
            self.fill(stock, &mut counts, first, kind.length - size, kind.cost as f64 - worth, waste);
            take(&mut counts, &mut self.left, first, false);
        }
    }

    /// Adds pieces from size `from` on to the stock that is being filled, the most of the largest first.
    /// `short`: what the stock costs above the worth of its pieces so far.
    fn fill(&mut self, stock: usize, counts: &mut Vec<u32>, from: usize, free: u32, short: f64, waste: f64) {
        if self.is_over() {
            return;
        }
        self.steps -= 1;
        if self.depth >= DEEPEST {
            self.steps = 0;
            return;
        }
        let densest = self.densest.get(from).copied().unwrap_or(0.0);
        if short - densest * f64::from(free) > waste + 1e-6 {
            return;
        }
        let fits = |(ix, left): (usize, &u32)| {
            *left > 0 && self.problem.sizes.get(ix).is_some_and(|size| *size <= free)
        };
        let next =
            self.left.iter().enumerate().skip(from).find(|(ix, left)| fits((*ix, left))).map(|(ix, _)| ix);
        let Some(next) = next else {
            // A stock that could hold one more piece of a size passed over is met with that piece in it.
            let could_hold_more = self.left.iter().enumerate().take(from).any(fits);
            if could_hold_more || short > waste + 1e-6 {
                return;
            }
            let kind_cost = self.problem.stocks.get(stock).map_or(0, |kind| kind.cost);
            let owed = self.owed();
            if self.problem.on_lattice((self.spent + kind_cost) as f64 + owed) >= self.ceiling {
                return;
            }
            self.spent += kind_cost;
            self.chosen.push(Bin { stock, counts: counts.clone() });
            self.next();
            self.chosen.pop();
            self.spent -= kind_cost;
            return;
        };
        let size = self.problem.sizes.get(next).copied().unwrap_or(0).max(1);
        let worth = self.worth.get(next).copied().unwrap_or(0.0);
        let most = self.left.get(next).copied().unwrap_or(0).min(free / size);
        for _ in 0..most {
            take(counts, &mut self.left, next, true);
        }
        for count in (0..=most).rev() {
            let gain = worth * f64::from(count);
            self.depth += 1;
            self.fill(stock, counts, next + 1, free - size * count, short - gain, waste);
            self.depth -= 1;
            if count > 0 {
                take(counts, &mut self.left, next, false);
            }
        }
    }
}

/// Moves one piece of a size into the stock, or back.
fn take(counts: &mut [u32], left: &mut [u32], ix: usize, into: bool) {
    if let (Some(count), Some(left)) = (counts.get_mut(ix), left.get_mut(ix)) {
        if into {
            *count += 1;
            *left -= 1;
        } else {
            *count -= 1;
            *left += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use quantity::{Metres, Money};

    use super::super::{Piece, Stock};
    use super::*;

    /// The least cost by trying every way of putting pieces into stock.
    fn least(pieces: &[u32], loads: &mut Vec<u32>, stock: &[(u32, u64)]) -> u64 {
        let Some((first, rest)) = pieces.split_first() else {
            let cost =
                |load: &u32| stock.iter().filter(|(length, _)| load <= length).map(|(_, cost)| *cost).min();
            return loads.iter().map(|load| cost(load).unwrap_or(1_000_000)).sum();
        };
        let mut best = u64::MAX;
        for ix in 0..loads.len() {
            loads[ix] += first;
            best = best.min(least(rest, loads, stock));
            loads[ix] -= first;
        }
        loads.push(*first);
        best = best.min(least(rest, loads, stock));
        loads.pop();
        best
    }

    #[test]
    fn the_search_alone_finds_the_best_and_says_that_nothing_is_better() {
        let mut state = 7u64;
        let mut dice = |from: u32, to: u32| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            from + ((state >> 33) % u64::from(to - from)) as u32
        };
        for _ in 0..200 {
            let pieces: Vec<u32> = (0..dice(1, 8)).map(|_| dice(10, 100)).collect();
            let stock: Vec<(u32, u64)> =
                (0..dice(1, 4)).map(|_| (dice(100, 250), u64::from(dice(2000, 6000)))).collect();
            let metres = |cm: u32| Metres::new(f64::from(cm) / 100.0);
            let own: Vec<Piece> =
                pieces.iter().map(|cm| Piece { name: String::new(), length: metres(*cm) }).collect();
            let sold: Vec<Stock> = stock
                .iter()
                .map(|(cm, cost)| Stock {
                    length: metres(*cm),
                    price: Some(Money::new(*cost as f64 / 100.0)),
                })
                .collect();
            let problem = Problem::of(&own, &sold, Metres::zero()).unwrap();
            let relaxation = Bound::of(&problem, &problem.demand, Vec::new(), 1e-9);
            let best = least(&pieces, &mut Vec::new(), &stock);
            let found = better(&problem, &relaxation, best + 1, 0, 1_000_000);
            let bins = found.bins.unwrap();
            assert!(found.is_exhaustive);
            assert_eq!(problem.cost_of(&bins), best, "{pieces:?} from {stock:?}");
            let none = better(&problem, &relaxation, best, 0, 1_000_000);
            assert!(none.bins.is_none() && none.is_exhaustive, "{pieces:?} from {stock:?}");
            assert!(relaxation.value <= best as f64 + 1e-6);
        }
    }
}
