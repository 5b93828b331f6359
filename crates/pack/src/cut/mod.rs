//! The cut plan: from which stock lengths or reels the pieces are cut, in which order, and what is left.
//! Never: knows a cable (see `cut/cables.rs`), reads a clock, claims more than it has proven.
//! Start at [`cut_plan`]; `bound.rs` has the lower bound, `dive.rs` and `search.rs` the whole numbers.

mod bound;
pub(crate) mod cables;
mod dive;
mod problem;
mod quick;
mod search;

use quantity::{Fraction, Metres, Money, Written};
use serde::Serialize;

use bound::Bound;
use problem::{Bin, Problem};

/// Lengths are counted in whole centimetres: pieces rounded up, stock rounded down.
const PER_METRE: f64 = 100.0;
/// Longest stock that is planned for.
const LONGEST: f64 = 1000.0;
/// What the rounding of a sum of doubles may add to a length, in centimetres.
const ROUNDING: f64 = 1e-6;
/// How near the stated bound comes to the relaxation, as a share.
const EXACT: f64 = 1e-7;
/// Steps that the exhaustive search may take before it gives up the proof.
const SEARCH_STEPS: u64 = 400_000;

/// A piece to cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Piece {
    /// What it is for: `run 12, main.positive`.
    pub name: String,
    /// Length to cut, slack in it.
    pub length: Metres,
}

/// A length that is sold, as many of it as one likes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stock {
    /// Length.
    pub length: Metres,
    /// Price; the plan minimises money where every stock has one, and length otherwise.
    pub price: Option<Money>,
}

/// What a plan minimises.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Goal {
    /// Length bought, and so waste.
    Length,
    /// Money.
    Price,
}

/// How much is known of a plan.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Proof {
    /// It reaches the lower bound: nothing less can do.
    ReachesBound,
    /// It lies above the lower bound, and every other plan was tried or ruled out.
    Searched,
    /// It lies above the lower bound by this share at most; a better plan may exist.
    Within(Fraction),
}

/// One stock length with its pieces.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reel {
    /// Index of the stock.
    pub stock: usize,
    /// Its length.
    pub length: Metres,
    /// Indices of the pieces in the order of cutting: the longest first, so that a slip can still be a shorter piece.
    pub pieces: Vec<usize>,
    /// What is left.
    pub rest: Metres,
}

/// What to buy and how to cut it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CutPlan {
    /// The reels, the longest first.
    pub reels: Vec<Reel>,
    /// What was minimised.
    pub goal: Goal,
    /// Length bought.
    pub bought: Metres,
    /// Sum of the pieces.
    pub used: Metres,
    /// Value of the goal: metres, or money.
    pub value: f64,
    /// No plan has a smaller value than this.
    pub bound: f64,
    /// How much is known.
    pub proof: Proof,
}

impl CutPlan {
    /// What is bought and not used, loss at the cuts in it.
    pub fn waste(&self) -> Metres {
        self.bought - self.used
    }

    /// How far the plan may lie above the best one, as a share of the bound; zero where it is proven to be the best.
    pub fn gap(&self) -> Fraction {
        match self.proof {
            Proof::Within(gap) => gap,
            Proof::ReachesBound | Proof::Searched => Fraction::zero(),
        }
    }
}

/// Why there is no plan.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CutError {
    /// A piece is longer than every stock.
    #[error("{piece} needs {} in one length and the longest stock has {}; offer a longer stock or join the run at a terminal", length.show(), longest.show())]
    TooLong {
        /// The piece.
        piece: String,
        /// Its length with the loss of a cut.
        length: Metres,
        /// The longest stock.
        longest: Metres,
    },
    /// A length that is no length.
    #[error("{what} has the length {}; give one above zero and up to 1000 m", length.show())]
    BadLength {
        /// The piece or stock.
        what: String,
        /// Its length.
        length: Metres,
    },
    /// A price that is none.
    #[error("the stock of {} has the price {}; give one of at least 0.01, or no price for any stock", length.show(), price.show())]
    BadPrice {
        /// Length of the stock.
        length: Metres,
        /// Its price.
        price: Money,
    },
}

/// The plan that buys least, from stock of which any number can be had.
///
/// - `pieces`: each is cut once, in one length.
/// - `stock`: what is sold; where every one has a price, money is minimised, else length.
/// - `kerf`: lost at each cut between two pieces; none for cable.
///
/// The bound is the linear relaxation over all cutting patterns, by column generation (Gilmore and Gomory 1961), made valid at
/// any stage of it by Farley's scaling, and rounded up to what sums of stock can be. The whole numbers come from filling by size,
/// from diving into the relaxation, and from a search that leaves out only what cannot be better.
///
/// # Errors
/// A piece that no stock holds, or a length or price that is none.
pub fn cut_plan(pieces: &[Piece], stock: &[Stock], kerf: Metres) -> Result<CutPlan, CutError> {
    let problem = Problem::of(pieces, stock, kerf)?;
    let (bins, bound, proof) = solve(&problem);
    Ok(assemble(&problem, pieces, stock, bins, bound, proof))
}

fn solve(problem: &Problem) -> (Vec<Bin>, u64, Proof) {
    let material = problem.material_bound();
    let mut best = quick::join(problem, quick::plan(problem, &problem.demand));
    let mut value = problem.cost_of(&best);
    if value == material {
        return (best, material, Proof::ReachesBound);
    }
    let relaxation = Bound::of(problem, &problem.demand, best.clone(), EXACT);
    let bound = material.max(problem.on_lattice(relaxation.value));
    if value > bound {
        let dived = quick::join(problem, dive::plan(problem, &relaxation, bound));
        let cost = problem.cost_of(&dived);
        if cost < value {
            (best, value) = (dived, cost);
        }
    }
    if value == bound {
        return (best, bound, Proof::ReachesBound);
    }
    let found = search::better(problem, &relaxation, value, bound, SEARCH_STEPS);
    if let Some(bins) = found.bins {
        best = quick::join(problem, bins);
        value = problem.cost_of(&best);
    }
    let proof = if value == bound {
        Proof::ReachesBound
    } else if found.is_exhaustive {
        Proof::Searched
    } else {
        Proof::Within(Fraction::new((value - bound) as f64 / bound.max(1) as f64))
    };
    (best, bound, proof)
}

fn assemble(
    problem: &Problem,
    pieces: &[Piece],
    stock: &[Stock],
    bins: Vec<Bin>,
    bound: u64,
    proof: Proof,
) -> CutPlan {
    // Pieces of one size are given out in the order in which they came.
    let mut waiting: Vec<std::collections::VecDeque<usize>> =
        problem.pieces_of.iter().map(|list| list.iter().copied().collect()).collect();
    let mut reels = Vec::new();
    for bin in &bins {
        let kind = problem.stocks.get(bin.stock).map_or(0, |kind| kind.index);
        let length = stock.get(kind).map_or(Metres::zero(), |stock| stock.length);
        let mut own: Vec<usize> = Vec::new();
        for (queue, count) in waiting.iter_mut().zip(&bin.counts) {
            own.extend(queue.drain(..(*count as usize).min(queue.len())));
        }
        let length_of = |ix: usize| pieces.get(ix).map_or(0.0, |piece| piece.length.get());
        own.sort_by(|a, b| length_of(*b).total_cmp(&length_of(*a)).then(a.cmp(b)));
        let used: f64 = own.iter().map(|ix| length_of(*ix)).sum();
        let cuts = own.len().saturating_sub(1) as f64 * problem.kerf.get();
        let rest = Metres::new((length.get() - used - cuts).max(0.0));
        reels.push(Reel { stock: kind, length, pieces: own, rest });
    }
    reels.sort_by(|a, b| b.length.get().total_cmp(&a.length.get()).then_with(|| a.pieces.cmp(&b.pieces)));
    let per_unit = match problem.goal {
        Goal::Length => problem::COST_PER_METRE,
        Goal::Price => problem::PER_MONEY,
    };
    CutPlan {
        goal: problem.goal,
        bought: reels.iter().map(|reel| reel.length).sum(),
        used: pieces.iter().map(|piece| piece.length).sum(),
        value: problem.cost_of(&bins) as f64 / per_unit,
        bound: bound as f64 / per_unit,
        proof,
        reels,
    }
}
