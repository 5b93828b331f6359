//! Plans by filling, the largest piece first, and fewer reels for the same cost.
//! Never: proves anything.
//! Start at [`plan`] and [`join`].

use super::problem::{Bin, Problem};

/// The cheapest of several ways of filling: the stock that a cheapest sum of lengths asks for, and each stock by itself with what
/// is nearly empty replaced by something shorter.
pub fn plan(problem: &Problem, demand: &[u32]) -> Vec<Bin> {
    let mut plans: Vec<Vec<Bin>> = Vec::new();
    let total = problem.total(demand);
    if let Some(mut stocks) = problem.cover(total) {
        // The shortest stock first, as long as there is a choice of pieces.
        stocks.sort_by_key(|ix| problem.stocks.get(*ix).map_or(0, |kind| kind.length));
        plans.push(brim(problem, demand, &stocks));
        plans.push(fill(problem, demand, stocks, None));
    }
    for only in 0..problem.stocks.len() {
        if problem.stocks.len() > MANY_STOCKS && only % (problem.stocks.len() / MANY_STOCKS) != 0 {
            continue;
        }
        plans.push(fill(problem, demand, Vec::new(), Some(only)));
    }
    let cheapest = plans.into_iter().min_by_key(|bins| (problem.cost_of(bins), bins.len()));
    cheapest.unwrap_or_default()
}

/// Each stock in turn gets the largest piece left that it holds, and then what fills it best; what is left over is filled in
/// by size.
fn brim(problem: &Problem, demand: &[u32], stocks: &[usize]) -> Vec<Bin> {
    let mut left = demand.to_vec();
    let mut bins = Vec::new();
    for stock in stocks {
        let Some(kind) = problem.stocks.get(*stock) else { continue };
        let held = |(size, left): (&u32, &u32)| *left > 0 && *size <= kind.length;
        let Some(first) = problem.sizes.iter().zip(&left).position(held) else { continue };
        let mut counts = vec![0; problem.sizes.len()];
        let mut take = |ix: usize, left: &mut [u32]| {
            if let (Some(count), Some(left)) = (counts.get_mut(ix), left.get_mut(ix)) {
                *count += 1;
                *left -= 1;
            }
        };
        take(first, &mut left);
        let free = kind.length - problem.sizes.get(first).copied().unwrap_or(0);
        for ix in fullest(problem, &left, free as usize) {
            take(ix, &mut left);
        }
        bins.push(Bin { stock: *stock, counts });
    }
    bins.extend(fill(problem, &left, Vec::new(), None));
    bins
}

/// Pieces of what is left whose sizes add up to the most that a length holds, large ones rather than small.
fn fullest(problem: &Problem, left: &[u32], free: usize) -> Vec<usize> {
    // How each sum is reached: the size added last, and how many of that size are in it.
    let mut last: Vec<Option<(usize, u32)>> = vec![None; free + 1];
    for (ix, (size, most)) in problem.sizes.iter().zip(left).enumerate() {
        let size = *size as usize;
        for sum in size..=free {
            let before =
                if sum == size { Some((usize::MAX, 0)) } else { last.get(sum - size).copied().flatten() };
            let Some((from, count)) = before else { continue };
            let count = if from == ix { count + 1 } else { 1 };
            if let Some(slot) = last.get_mut(sum).filter(|slot| slot.is_none() && count <= *most) {
                *slot = Some((ix, count));
            }
        }
        if last.last().is_some_and(Option::is_some) {
            break;
        }
    }
    let mut sum = (1..=free).rev().find(|sum| last.get(*sum).is_some_and(Option::is_some)).unwrap_or(0);
    let mut taken = Vec::new();
    while let Some((ix, _)) = last.get(sum).copied().flatten() {
        taken.push(ix);
        sum = sum.saturating_sub(problem.sizes.get(ix).map_or(sum, |size| *size as usize));
    }
    taken
}

/// Stock kinds beyond which only some are tried by themselves.
const MANY_STOCKS: usize = 12;

/// Each piece, the largest first, goes where it leaves least; what fits nowhere opens a new stock: `only`, or the cheapest that
/// holds it.
fn fill(problem: &Problem, demand: &[u32], open: Vec<usize>, only: Option<usize>) -> Vec<Bin> {
    let empty = |stock: usize| Bin { stock, counts: vec![0; problem.sizes.len()] };
    let length = |stock: usize| problem.stocks.get(stock).map_or(0, |kind| kind.length);
    let mut bins: Vec<(u32, Bin)> = open.into_iter().map(|stock| (length(stock), empty(stock))).collect();
    for (ix, (size, count)) in problem.sizes.iter().zip(demand).enumerate() {
        for _ in 0..*count {
            let tightest = bins.iter_mut().filter(|(free, _)| free >= size).min_by_key(|(free, _)| *free);
            let (free, bin) = match tightest {
                Some(found) => found,
                None => {
                    let stock = only.filter(|stock| length(*stock) >= *size);
                    let Some(stock) = stock.or_else(|| problem.cheapest_for(u64::from(*size))) else {
                        continue;
                    };
                    bins.push((length(stock), empty(stock)));
                    let Some(last) = bins.last_mut() else { continue };
                    last
                }
            };
            *free -= size;
            if let Some(count) = bin.counts.get_mut(ix) {
                *count += 1;
            }
        }
    }
    let mut bins: Vec<Bin> = bins.into_iter().map(|(_, bin)| bin).collect();
    bins.retain(|bin| bin.counts.iter().any(|count| *count > 0));
    for bin in &mut bins {
        bin.stock = problem.cheapest_for(problem.load(bin)).unwrap_or(bin.stock);
    }
    bins
}

/// Fewer reels at no more cost: two or more whose stock adds up to a longer one that costs no more become one.
pub fn join(problem: &Problem, mut bins: Vec<Bin>) -> Vec<Bin> {
    for (stock, longer) in problem.stocks.iter().enumerate() {
        while let Some(mut chosen) = parts_of(problem, &bins, longer.length, longer.cost) {
            chosen.sort_unstable();
            let mut joined = Bin { stock, counts: vec![0; problem.sizes.len()] };
            for ix in chosen.into_iter().rev() {
                let bin = bins.remove(ix);
                for (sum, count) in joined.counts.iter_mut().zip(&bin.counts) {
                    *sum += count;
                }
            }
            bins.push(joined);
        }
    }
    bins
}

/// Two or more bins whose loads fit into a length and whose stock costs at least `cost`; the shortest are taken first.
fn parts_of(problem: &Problem, bins: &[Bin], length: u32, cost: u64) -> Option<Vec<usize>> {
    let mut order: Vec<usize> = (0..bins.len()).collect();
    let kind = |ix: &usize| bins.get(*ix).and_then(|bin| problem.stocks.get(bin.stock));
    order.retain(|ix| kind(ix).is_some_and(|kind| kind.length < length));
    order.sort_by_key(|ix| kind(ix).map_or(0, |kind| kind.length));
    // Greedy from each start; sums that only an exact choice would find stay apart, which costs nothing.
    for start in 0..order.len() {
        let (mut load, mut worth, mut chosen) = (0u64, 0u64, Vec::new());
        for ix in order.iter().skip(start).chain(order.iter().take(start)) {
            let Some(bin) = bins.get(*ix) else { continue };
            let more = problem.load(bin);
            if load + more > u64::from(length) {
                continue;
            }
            load += more;
            worth += kind(ix).map_or(0, |kind| kind.cost);
            chosen.push(*ix);
            if chosen.len() > 1 && worth >= cost {
                return Some(chosen);
            }
        }
    }
    None
}
