//! The lower bound: the linear relaxation over all cutting patterns, by generating the patterns that are missing.
//! Never: rounds; what it states is below every plan at whatever stage the generation stops.
//! Start at [`Bound::of`].

use microlp::{ComparisonOp, LinearExpr, OptimizationDirection, Problem as Lp, Solution, Variable};

use super::problem::{Bin, Problem};

/// Rounds of pattern generation before the bound of that moment stands.
const ROUNDS: usize = 600;
/// How far a pattern must be worth more than its stock to be taken in.
const WORTH: f64 = 1e-9;
/// Patterns taken in each round, of different stock.
const EACH_ROUND: usize = 4;

/// The relaxation of a demand.
pub struct Bound {
    /// No plan costs less.
    pub value: f64,
    /// Worth of a piece of each size; no pattern is worth more than its stock costs.
    pub worth: Vec<f64>,
    /// The patterns generated.
    pub patterns: Vec<Bin>,
}

impl Bound {
    /// The relaxation of a demand, begun with `patterns`.
    ///
    /// The dual is solved: the worth of each piece, greatest over the demand, such that no pattern is worth more than its stock.
    /// A missing pattern is a row that is broken; a knapsack finds the one that is broken most.
    /// It ends where the bound is within `near` of the relaxation, as a share.
    pub fn of(problem: &Problem, demand: &[u32], patterns: Vec<Bin>, near: f64) -> Self {
        let mut this = Self { value: 0.0, worth: vec![0.0; problem.sizes.len()], patterns };
        this.patterns.retain(|bin| bin.counts.iter().zip(demand).all(|(count, most)| count <= most));
        this.singles(problem, demand);
        let mut bag = Knapsack::new(problem, demand);
        let Some((mut solution, variables)) = this.dual(demand, problem) else { return this };
        for _ in 0..ROUNDS {
            let worth: Vec<f64> =
                variables.iter().map(|variable| solution.var_value(*variable).max(0.0)).collect();
            let (over, new) = bag.worthiest(problem, &worth);
            let scale = 1.0 / over.max(1.0);
            let value =
                scale * worth.iter().zip(demand).map(|(worth, count)| worth * f64::from(*count)).sum::<f64>();
            if value > this.value {
                this.value = value;
                this.worth = worth.iter().map(|worth| worth * scale).collect();
            }
            // The rows so far give at least the relaxation, the scaled worths at most.
            if new.is_empty() || this.value >= solution.objective() * (1.0 - near) {
                break;
            }
            let mut next = Ok(solution);
            for bin in new {
                let (row, cost) = row(problem, &variables, &bin);
                next = next.and_then(|solution| solution.add_constraint(row, ComparisonOp::Le, cost));
                this.patterns.push(bin);
            }
            solution = match next {
                Ok(solution) => solution,
                // The warm start lost its footing: begin anew with what is known, or keep the bound of now.
                Err(_) => match this.dual(demand, problem) {
                    Some((solution, _)) => solution,
                    None => break,
                },
            };
        }
        this
    }

    /// For each size the patterns of nothing else, which keep the dual bounded.
    fn singles(&mut self, problem: &Problem, demand: &[u32]) {
        for (ix, (size, most)) in
            problem.sizes.iter().zip(demand).enumerate().filter(|(_, (_, most))| **most > 0)
        {
            let best =
                problem.stocks.iter().enumerate().filter(|(_, kind)| kind.length >= *size).min_by(|a, b| {
                    let each = |kind: &super::problem::StockKind| {
                        kind.cost as f64 / f64::from((kind.length / size.max(&1)).min(*most))
                    };
                    each(a.1).total_cmp(&each(b.1))
                });
            let Some((stock, kind)) = best else { continue };
            let mut counts = vec![0; problem.sizes.len()];
            if let Some(count) = counts.get_mut(ix) {
                *count = (kind.length / size.max(&1)).min(*most);
            }
            let bin = Bin { stock, counts };
            if !self.patterns.contains(&bin) {
                self.patterns.push(bin);
            }
        }
    }

    fn dual(&self, demand: &[u32], problem: &Problem) -> Option<(Solution, Vec<Variable>)> {
        let mut lp = Lp::new(OptimizationDirection::Maximize);
        let variables: Vec<Variable> = demand
            .iter()
            .map(|count| lp.add_var(f64::from(*count), (0.0, if *count > 0 { f64::INFINITY } else { 0.0 })))
            .collect();
        for bin in &self.patterns {
            let (row, cost) = row(problem, &variables, bin);
            lp.add_constraint(row, ComparisonOp::Le, cost);
        }
        lp.solve().ok().map(|solution| (solution, variables))
    }

    /// How often the relaxation uses each pattern: `(pattern, times)`, times above zero.
    pub fn times(&self, problem: &Problem, demand: &[u32]) -> Vec<(usize, f64)> {
        let mut lp = Lp::new(OptimizationDirection::Minimize);
        let mut rows: Vec<LinearExpr> = demand.iter().map(|_| LinearExpr::empty()).collect();
        let mut variables = Vec::new();
        for bin in &self.patterns {
            let cost = problem.stocks.get(bin.stock).map_or(0, |kind| kind.cost);
            let variable = lp.add_var(cost as f64, (0.0, f64::INFINITY));
            for (row, count) in rows.iter_mut().zip(&bin.counts).filter(|(_, count)| **count > 0) {
                row.add(variable, f64::from(*count));
            }
            variables.push(variable);
        }
        for (row, count) in rows.into_iter().zip(demand).filter(|(_, count)| **count > 0) {
            lp.add_constraint(row, ComparisonOp::Ge, f64::from(*count));
        }
        let Ok(solution) = lp.solve() else { return Vec::new() };
        let times = variables.iter().enumerate().map(|(ix, variable)| (ix, *solution.var_value(*variable)));
        times.filter(|(_, times)| *times > 1e-9).collect()
    }
}

fn row(problem: &Problem, variables: &[Variable], bin: &Bin) -> (LinearExpr, f64) {
    let mut row = LinearExpr::empty();
    for (variable, count) in variables.iter().zip(&bin.counts).filter(|(_, count)| **count > 0) {
        row.add(*variable, f64::from(*count));
    }
    (row, problem.stocks.get(bin.stock).map_or(0.0, |kind| kind.cost as f64))
}

/// The bounded knapsack over all stock lengths at once.
struct Knapsack {
    /// Size index, and how many of it are taken together: powers of two make up every count.
    bundles: Vec<(usize, u32)>,
    width: usize,
    best: Vec<f64>,
    taken: Vec<bool>,
}

impl Knapsack {
    fn new(problem: &Problem, demand: &[u32]) -> Self {
        let width = problem.stocks.iter().map(|kind| kind.length as usize + 1).max().unwrap_or(1);
        let mut bundles = Vec::new();
        for (ix, (size, most)) in problem.sizes.iter().zip(demand).enumerate() {
            let mut left = (*most).min(u32::try_from(width).unwrap_or(u32::MAX) / size.max(&1));
            let mut together = 1;
            while left > 0 {
                let now = left.min(together);
                bundles.push((ix, now));
                left -= now;
                together *= 2;
            }
        }
        Self { taken: vec![false; bundles.len() * width], bundles, width, best: vec![0.0; width] }
    }

    /// How many times over its cost the worthiest pattern is worth, and the patterns that are worth more than their stock.
    fn worthiest(&mut self, problem: &Problem, worth: &[f64]) -> (f64, Vec<Bin>) {
        self.best.fill(0.0);
        self.taken.fill(false);
        for ((ix, together), taken) in self.bundles.iter().zip(self.taken.chunks_mut(self.width)) {
            let (Some(size), Some(each)) = (problem.sizes.get(*ix), worth.get(*ix)) else { continue };
            let (span, gain) = ((size * together) as usize, each * f64::from(*together));
            if gain <= 0.0 || span > self.width {
                continue;
            }
            for at in (span..self.width).rev() {
                let with = self.best.get(at - span).copied().unwrap_or(0.0) + gain;
                if let (Some(best), Some(taken)) = (self.best.get_mut(at), taken.get_mut(at))
                    && with > *best
                {
                    *best = with;
                    *taken = true;
                }
            }
        }
        let mut over: Vec<(f64, usize)> = Vec::new();
        for (stock, kind) in problem.stocks.iter().enumerate() {
            let worth = self.best.get(kind.length as usize).copied().unwrap_or(0.0);
            over.push((worth / kind.cost.max(1) as f64, stock));
        }
        over.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let most = over.first().map_or(0.0, |(over, _)| *over);
        let new = over.into_iter().take_while(|(over, _)| *over > 1.0 + WORTH).take(EACH_ROUND);
        (most, new.map(|(_, stock)| self.pattern(problem, stock)).collect())
    }

    fn pattern(&self, problem: &Problem, stock: usize) -> Bin {
        let mut counts = vec![0; problem.sizes.len()];
        let mut at = problem.stocks.get(stock).map_or(0, |kind| kind.length as usize);
        for ((ix, together), taken) in self.bundles.iter().zip(self.taken.chunks(self.width)).rev() {
            if taken.get(at).copied().unwrap_or(false) {
                if let Some(count) = counts.get_mut(*ix) {
                    *count += together;
                }
                let size = problem.sizes.get(*ix).copied().unwrap_or(0);
                at = at.saturating_sub((size * together) as usize);
            }
        }
        Bin { stock, counts }
    }
}
