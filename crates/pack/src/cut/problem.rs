//! The cutting problem in whole numbers: sizes with their demand, stock with its cost.
//! Never: solves anything.
//! Start at [`Problem::of`].

use quantity::Metres;

use super::{CutError, Goal, LONGEST, PER_METRE, Piece, ROUNDING, Stock};

/// Money is counted in hundredths.
pub const PER_MONEY: f64 = 100.0;
/// A length as a cost is counted in tenths of a millimetre, so that metres and feet are both whole.
pub const COST_PER_METRE: f64 = 10_000.0;
/// Entries up to which the smallest sum of stock that holds everything is worked out exactly.
const EXACT_COVER: u64 = 60_000_000;

/// One stock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StockKind {
    /// Length in steps of the problem.
    pub length: u32,
    /// Cost in hundredths of money, or tenths of a millimetre.
    pub cost: u64,
    /// Index in what the caller gave.
    pub index: usize,
}

/// A stock with how many pieces of each size are cut from it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bin {
    /// Index into [`Problem::stocks`].
    pub stock: usize,
    /// Pieces of each size.
    pub counts: Vec<u32>,
}

/// The problem.
pub struct Problem {
    /// Sizes, the largest first, each once, in steps; the loss of a cut is in them.
    pub sizes: Vec<u32>,
    /// How many of each size.
    pub demand: Vec<u32>,
    /// The pieces of each size.
    pub pieces_of: Vec<Vec<usize>>,
    /// Stock worth having, the longest first: what is shorter costs less.
    pub stocks: Vec<StockKind>,
    /// What is minimised.
    pub goal: Goal,
    /// Loss of a cut.
    pub kerf: Metres,
    /// Every cost is a multiple of this.
    lattice: u64,
}

impl Problem {
    /// The problem of these pieces.
    pub fn of(pieces: &[Piece], stock: &[Stock], kerf: Metres) -> Result<Self, CutError> {
        let is_length = |length: Metres| length.get() > 0.0 && length.get() <= LONGEST;
        let bad = |what: String, length: Metres| Err(CutError::BadLength { what, length });
        if !(kerf.get() >= 0.0 && kerf.get() <= LONGEST) {
            return bad("the loss of a cut".to_owned(), kerf);
        }
        if let Some(piece) = pieces.iter().find(|piece| !is_length(piece.length)) {
            return bad(piece.name.clone(), piece.length);
        }
        let loss = up(kerf);
        let goal = if !stock.is_empty() && stock.iter().all(|stock| stock.price.is_some()) {
            Goal::Price
        } else {
            Goal::Length
        };
        let mut stocks = Vec::new();
        for (index, stock) in stock.iter().enumerate() {
            let whole = (stock.length.get() * PER_METRE + ROUNDING).floor();
            if !is_length(stock.length) || whole < 1.0 {
                return bad("a stock".to_owned(), stock.length);
            }
            let cost = match stock.price {
                Some(price) if goal == Goal::Price => match (price.get() * PER_MONEY).round() {
                    hundredths if (1.0..1e12).contains(&hundredths) => hundredths as u64,
                    _ => return Err(CutError::BadPrice { length: stock.length, price }),
                },
                _ => (stock.length.get() * COST_PER_METRE).round() as u64,
            };
            // The last piece needs no cut behind it.
            stocks.push(StockKind { length: whole as u32 + loss, cost, index });
        }
        let longest = stocks.iter().map(|kind| kind.length).max().unwrap_or(0);
        if let Some(piece) = pieces.iter().find(|piece| up(piece.length) + loss > longest) {
            let longest = stock.iter().map(|stock| stock.length).fold(Metres::zero(), Metres::max);
            return Err(CutError::TooLong { piece: piece.name.clone(), length: piece.length, longest });
        }
        let mut by_size: Vec<(u32, usize)> =
            pieces.iter().enumerate().map(|(ix, piece)| (up(piece.length) + loss, ix)).collect();
        by_size.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut problem = Self {
            sizes: Vec::new(),
            demand: Vec::new(),
            pieces_of: Vec::new(),
            stocks,
            goal,
            kerf,
            lattice: 1,
        };
        for (size, ix) in by_size {
            if problem.sizes.last() != Some(&size) {
                problem.sizes.push(size);
                problem.pieces_of.push(Vec::new());
            }
            if let Some(list) = problem.pieces_of.last_mut() {
                list.push(ix);
            }
        }
        problem.demand =
            problem.pieces_of.iter().map(|list| u32::try_from(list.len()).unwrap_or(u32::MAX)).collect();
        problem.reduce();
        Ok(problem)
    }

    /// Sizes divided by what divides them all, and stock without what is both shorter and no cheaper than another.
    fn reduce(&mut self) {
        let step = self.sizes.iter().fold(0, |a, b| gcd(a, u64::from(*b)));
        let step = u32::try_from(step.max(1)).unwrap_or(1);
        for size in &mut self.sizes {
            *size /= step;
        }
        for kind in &mut self.stocks {
            kind.length /= step;
        }
        // What is shorter than every piece holds nothing.
        self.stocks.retain(|kind| kind.length > 0);
        self.stocks.sort_by_key(|kind| (std::cmp::Reverse(kind.length), kind.cost, kind.index));
        let mut kept: Vec<StockKind> = Vec::new();
        for kind in &self.stocks {
            if kept.last().is_none_or(|longer| kind.cost < longer.cost) {
                kept.push(*kind);
            }
        }
        self.stocks = kept;
        self.lattice = self.stocks.iter().fold(0, |a, kind| gcd(a, kind.cost)).max(1);
    }

    /// Steps of all pieces of a demand together.
    pub fn total(&self, demand: &[u32]) -> u64 {
        self.sizes.iter().zip(demand).map(|(size, count)| u64::from(*size) * u64::from(*count)).sum()
    }

    /// Cost of a plan.
    pub fn cost_of(&self, bins: &[Bin]) -> u64 {
        bins.iter().filter_map(|bin| self.stocks.get(bin.stock)).map(|kind| kind.cost).sum()
    }

    /// Steps that the pieces of a bin take.
    pub fn load(&self, bin: &Bin) -> u64 {
        self.total(&bin.counts)
    }

    /// The smallest cost not below a bound that sums of stock can have; what rounding adds to a bound is taken off.
    pub fn on_lattice(&self, bound: f64) -> u64 {
        let lattice = self.lattice as f64;
        let steps = ((bound - 1e-6 * bound.abs().max(1.0)) / lattice).ceil();
        if steps > 0.0 && steps * lattice < 1e18 { (steps * lattice) as u64 } else { 0 }
    }

    /// The cheapest stock that holds some steps.
    pub fn cheapest_for(&self, load: u64) -> Option<usize> {
        self.stocks.iter().rposition(|kind| u64::from(kind.length) >= load)
    }

    /// Cost of the cheapest stock whose lengths add up to those of the pieces, as if pieces could be joined.
    pub fn material_bound(&self) -> u64 {
        match self.cover(self.total(&self.demand)) {
            Some(stocks) => stocks.iter().filter_map(|ix| self.stocks.get(*ix)).map(|kind| kind.cost).sum(),
            None => {
                let each = self.stocks.iter().map(|kind| kind.cost as f64 / f64::from(kind.length));
                let least = each.fold(f64::INFINITY, f64::min);
                self.on_lattice(least * self.total(&self.demand) as f64)
            }
        }
    }

    /// The cheapest stock whose lengths add up to at least `total`, the fewest where several cost the same; `None` where that is
    /// too much to work out.
    pub fn cover(&self, total: u64) -> Option<Vec<usize>> {
        if total.saturating_mul(self.stocks.len() as u64) > EXACT_COVER {
            return None;
        }
        let total = usize::try_from(total).ok()?;
        let mut least: Vec<(u64, u32, u32)> = vec![(0, 0, 0); total + 1];
        for amount in 1..=total {
            let mut best = (u64::MAX, u32::MAX, 0);
            for (ix, kind) in (0u32..).zip(&self.stocks) {
                let before = least.get(amount.saturating_sub(kind.length as usize))?;
                best = best.min((before.0 + kind.cost, before.1 + 1, ix));
            }
            *least.get_mut(amount)? = best;
        }
        let mut stocks = Vec::new();
        let mut left = total;
        while left > 0 {
            let ix = least.get(left)?.2 as usize;
            stocks.push(ix);
            left = left.saturating_sub(self.stocks.get(ix)?.length as usize);
        }
        Some(stocks)
    }
}

fn up(length: Metres) -> u32 {
    (length.get() * PER_METRE - ROUNDING).ceil().max(0.0) as u32
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}
