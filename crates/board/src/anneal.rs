//! The search: simulated annealing from fixed seeds, then every piece tried at every place until nothing gets better.
//! Never: takes a clock; the same problem gives the same placing on any number of threads.
//! Start at [`solve`]. Kirkpatrick, Gelatt and Vecchi 1983 (10.1126/science.220.4598.671); overlaps cost, more and more, as
//! in Sechen and Sangiovanni-Vincentelli 1985 (10.1109/JSSC.1985.1052337), both from memory.

use rayon::prelude::*;

use crate::geometry::Turn;
use crate::problem::{PARKED, Problem, Spot};

/// SplitMix64 (Steele, Lea and Flood 2014, 10.1145/2714064.2660195): small, and the same on every machine.
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
    /// From 0 to below `count`, which is positive.
    fn below(&mut self, count: i32) -> i32 {
        (((self.next() >> 32) * count.max(1) as u64) >> 32) as i32
    }
    /// From 0 to below 1.
    fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// Up to this many pieces, two that change places are also tried at every place after it.
const FEW: usize = 8;

/// Moves of a run, however few the pieces.
const LEAST_MOVES: usize = 40_000;

/// How hard to search.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Moves of one run for each piece.
    pub moves: usize,
    /// Runs from different seeds.
    pub runs: u64,
    /// Further runs while nothing is found that stands well.
    pub more: u64,
    /// Times that a few pieces of each run are taken away and put back.
    pub rebuilds: usize,
}

/// The best placing found, and how far it is from standing as it must [mm]; zero where it does.
pub fn solve(problem: &Problem, effort: Effort) -> (Vec<Spot>, i32) {
    let one = |run: u64| {
        let mut spots = anneal(problem, 0x5EED + run, effort.moves);
        polish(problem, &mut spots);
        rebuild(problem, 0xB01D + run, effort.rebuilds, &mut spots);
        (problem.faults_mm(&spots), problem.cost(&spots), spots)
    };
    // Runs know nothing of each other; of equals the first counts, so that the number of threads changes nothing.
    let better = |best: (i32, i64, Vec<Spot>), found: (i32, i64, Vec<Spot>)| {
        if (found.0, found.1) < (best.0, best.1) { found } else { best }
    };
    let runs = effort.runs.max(1);
    let found: Vec<_> = (0..runs).into_par_iter().map(one).collect();
    let mut best = found.into_iter().reduce(better);
    for run in runs..runs + effort.more {
        if best.as_ref().is_some_and(|best| best.0 == 0) {
            break;
        }
        best = best.into_iter().chain([one(run)]).reduce(better);
    }
    let (wrong, _, spots) = best.unwrap_or_default();
    (spots, wrong)
}

/// The placing `from`, bettered piece by piece without a new search; and how far it is from standing as it must [mm].
pub fn better(problem: &Problem, mut spots: Vec<Spot>, effort: Effort) -> (Vec<Spot>, i32) {
    polish(problem, &mut spots);
    rebuild(problem, 0xB01D, effort.rebuilds, &mut spots);
    let wrong = problem.faults_mm(&spots);
    (spots, wrong)
}

/// What the strongest pull on one piece gains by a millimetre.
fn strongest(problem: &Problem) -> i64 {
    let pull = |piece: usize| -> i64 {
        let nets =
            problem.nets_of[piece].iter().map(|net| problem.nets[*net].weight + problem.nets[*net].over);
        problem.pieces[piece].lift + nets.sum::<i64>()
    };
    (0..problem.pieces.len()).map(pull).max().unwrap_or(1).max(1)
}

/// What a millimetre of standing wrong costs at the end: more than a piece gains by crossing the whole board.
fn price(problem: &Problem) -> i64 {
    2 * strongest(problem) * i64::from(problem.extent.0 + problem.extent.1)
}

fn random_spot(problem: &Problem, piece: usize, random: &mut Random) -> Spot {
    let turns = &problem.pieces[piece].turns;
    let turn = Turn::quarters(turns[random.below(turns.len() as i32) as usize]);
    let (cols, rows) = problem.positions(piece, turn);
    Spot { x: random.below(cols) * problem.grid, y: random.below(rows) * problem.grid, turn }
}

/// Keeps a spot on the board.
fn within(problem: &Problem, piece: usize, spot: Spot) -> Spot {
    let (cols, rows) = problem.positions(piece, spot.turn);
    let clip = |value: i32, count: i32| (value / problem.grid).clamp(0, count - 1) * problem.grid;
    Spot { x: clip(spot.x, cols), y: clip(spot.y, rows), turn: spot.turn }
}

fn anneal(problem: &Problem, seed: u64, moves: usize) -> Vec<Spot> {
    let mut random = Random::new(seed);
    let pieces = &problem.pieces;
    let free: Vec<usize> = (0..pieces.len()).filter(|piece| pieces[*piece].pin.is_none()).collect();
    let mut spots: Vec<Spot> = (0..pieces.len())
        .map(|piece| pieces[piece].pin.unwrap_or_else(|| random_spot(problem, piece, &mut random)))
        .collect();
    if free.is_empty() {
        return spots;
    }
    let pull = strongest(problem) as f64;
    let steps = (moves * free.len()).max(LEAST_MOVES);
    let hot = pull * f64::from(problem.extent.0 + problem.extent.1) / 10.0;
    let cold = pull * f64::from(problem.grid) / 100.0;
    let cooling = quantity::math::exp(quantity::math::ln(cold / hot) / steps.max(1) as f64);
    let mut heat = hot;
    let widest = problem.extent.0.max(problem.extent.1) / problem.grid;
    for step in 0..steps {
        let share = step as f64 / steps as f64;
        let wrong_price = pull * (0.2 + 20.0 * share);
        heat *= cooling;
        let piece = free[random.below(free.len() as i32) as usize];
        let old = spots[piece];
        let choice = random.below(10);
        let other = (choice >= 8 && free.len() > 1).then(|| free[random.below(free.len() as i32) as usize]);
        let other = other.filter(|other| *other != piece);
        let before = state(problem, piece, other, &spots, wrong_price);
        let old_other = other.map(|other| spots[other]);
        match other {
            Some(other) => {
                let (a, b) = (spots[piece], spots[other]);
                spots[piece] = within(problem, piece, Spot { turn: a.turn, ..b });
                spots[other] = within(problem, other, Spot { turn: b.turn, ..a });
            }
            None => {
                let window = ((f64::from(widest) * (1.0 - share)) as i32).max(2);
                let mut spot = old;
                if choice < 2 {
                    let turns = &pieces[piece].turns;
                    spot.turn = Turn::quarters(turns[random.below(turns.len() as i32) as usize]);
                }
                spot.x += (random.below(2 * window + 1) - window) * problem.grid;
                spot.y += (random.below(2 * window + 1) - window) * problem.grid;
                spots[piece] = within(problem, piece, spot);
            }
        }
        let change = state(problem, piece, other, &spots, wrong_price) - before;
        if change > 0.0 && random.share() >= quantity::math::exp(-change / heat) {
            spots[piece] = old;
            if let (Some(other), Some(old)) = (other, old_other) {
                spots[other] = old;
            }
        }
    }
    spots
}

/// What one piece, or two, cost where they stand. A cable between the two is counted twice, before and after alike.
fn state(problem: &Problem, piece: usize, other: Option<usize>, spots: &[Spot], wrong_price: f64) -> f64 {
    let of = |piece: usize| {
        problem.piece_cost(piece, spots) as f64 + wrong_price * f64::from(problem.piece_mm(piece, spots))
    };
    of(piece) + other.map_or(0.0, of)
}

/// Takes a few pieces away and puts them back, each where it is best, in another order; keeps what is no worse.
/// Ruin and recreate, Schrimpf and others 2000 (10.1006/jcph.1999.6413), from memory.
fn rebuild(problem: &Problem, seed: u64, rounds: usize, spots: &mut Vec<Spot>) {
    let mut random = Random::new(seed);
    let free: Vec<usize> =
        (0..problem.pieces.len()).filter(|piece| problem.pieces[*piece].pin.is_none()).collect();
    if free.len() < 2 {
        return;
    }
    let price = price(problem);
    let whole = |spots: &[Spot]| problem.cost(spots) + price * i64::from(problem.faults_mm(spots));
    let mut best = whole(spots);
    for _ in 0..rounds {
        let wrong: Vec<usize> =
            free.iter().copied().filter(|piece| problem.piece_mm(*piece, spots) > 0).collect();
        let from = if wrong.is_empty() { &free } else { &wrong };
        let first = from[random.below(from.len() as i32) as usize];
        let mut taken = vec![first];
        let count = 2 + random.below(3) as usize;
        while taken.len() < count.min(free.len()) {
            let next = free[random.below(free.len() as i32) as usize];
            if !taken.contains(&next) {
                taken.push(next);
            }
        }
        // Any order is as good; the first that was taken is put back last or first by turns.
        if random.below(2) == 0 {
            taken.reverse();
        }
        let before = spots.clone();
        for piece in &taken {
            spots[*piece].x = PARKED;
        }
        for piece in taken.iter().chain(&taken) {
            settle_one(problem, *piece, spots, price);
        }
        let now = whole(spots);
        if now <= best {
            best = now;
        } else {
            *spots = before;
        }
    }
}

/// Tries every piece at every place, coarsely and then finely, and every pair in each other's place, until nothing gets better.
fn polish(problem: &Problem, spots: &mut [Spot]) {
    let price = price(problem);
    for _ in 0..12 {
        let mut is_better = false;
        for piece in 0..problem.pieces.len() {
            if problem.pieces[piece].pin.is_none() {
                is_better |= settle_one(problem, piece, spots, price);
            }
        }
        is_better |= exchange(problem, spots, price);
        if !is_better {
            break;
        }
    }
}

fn worth(problem: &Problem, piece: usize, spots: &[Spot], price: i64, best: i64) -> i64 {
    let cables = problem.piece_cost(piece, spots);
    // Standing wrong only adds, so what is already dearer need not be looked at.
    if cables >= best { cables } else { cables + price * i64::from(problem.piece_mm(piece, spots)) }
}

fn settle_one(problem: &Problem, piece: usize, spots: &mut [Spot], price: i64) -> bool {
    let start = spots[piece];
    let mut best = (worth(problem, piece, spots, price, i64::MAX), start);
    let first = best.0;
    // Few pieces leave time to look closer.
    let step_mm = if problem.pieces.len() <= FEW { 20 } else { 40 };
    let coarse = (step_mm / problem.grid).max(1);
    for turn in &problem.pieces[piece].turns {
        let turn = Turn::quarters(*turn);
        let (cols, rows) = problem.positions(piece, turn);
        for row in (0..rows).step_by(coarse as usize) {
            for col in (0..cols).step_by(coarse as usize) {
                try_at(
                    problem,
                    piece,
                    spots,
                    price,
                    Spot { x: col * problem.grid, y: row * problem.grid, turn },
                    &mut best,
                );
            }
        }
    }
    let near = best.1;
    for dy in -coarse..=coarse {
        for dx in -coarse..=coarse {
            let spot = Spot { x: near.x + dx * problem.grid, y: near.y + dy * problem.grid, turn: near.turn };
            let spot = within(problem, piece, spot);
            try_at(problem, piece, spots, price, spot, &mut best);
        }
    }
    spots[piece] = best.1;
    best.0 < first
}

fn try_at(
    problem: &Problem,
    piece: usize,
    spots: &mut [Spot],
    price: i64,
    spot: Spot,
    best: &mut (i64, Spot),
) {
    spots[piece] = spot;
    let worth = worth(problem, piece, spots, price, best.0);
    if worth < best.0 {
        *best = (worth, spot);
    }
}

/// Every pair in each other's place.
fn exchange(problem: &Problem, spots: &mut [Spot], price: i64) -> bool {
    let mut is_better = false;
    let whole = |spots: &[Spot]| problem.cost(spots) + price * i64::from(problem.faults_mm(spots));
    let mut best = whole(spots);
    for a in 0..spots.len() {
        for b in a + 1..spots.len() {
            if problem.pieces[a].pin.is_some() || problem.pieces[b].pin.is_some() {
                continue;
            }
            let old = (spots[a], spots[b]);
            spots[a] = within(problem, a, Spot { turn: old.0.turn, ..old.1 });
            spots[b] = within(problem, b, Spot { turn: old.1.turn, ..old.0 });
            if spots.len() <= FEW {
                settle_one(problem, a, spots, price);
                settle_one(problem, b, spots, price);
            }
            let now = whole(spots);
            if now < best {
                best = now;
                is_better = true;
            } else {
                (spots[a], spots[b]) = old;
            }
        }
    }
    is_better
}
