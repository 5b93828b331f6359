//! The sparse symmetric matrix of a network: ordered and analysed once (by `faer`: minimum degree,
//! elimination tree, fill), then factorised as `L·D·Lᵀ` as often as values change, solved, and selectively
//! inverted.
//! Never: knows what an element is; rows here are unknown nodes, after the fill-reducing order.
//! Start at [`Pattern::new`]; entries of the inverse come from [`Factor::inverse_on_pattern`].

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::sparse::SymbolicSparseColMatRef;
use faer::sparse::linalg::amd;
use faer::sparse::linalg::cholesky::simplicial as chol;

/// A row that does not exist: the reference node of an island.
pub(crate) const NONE: u32 = u32::MAX;

/// More updates for each row than this are found anew each time instead of remembered.
const REMEMBERED: usize = 64;

/// The pattern of the factor. A matrix is held in it too (with zeros where the factor fills in), so that
/// factorising works in place.
pub(crate) struct Pattern {
    n: usize,
    /// Lower triangle by columns, sorted; the diagonal is first in each column.
    ptr: Vec<u32>,
    idx: Vec<u32>,
    /// Elimination-tree parent of each row; `NONE` at roots.
    parent: Vec<u32>,
    /// Where each product of two values of a column is taken off, column by column; empty if there are too
    /// many.
    targets: Vec<u32>,
}

/// Where an entry of the matrix lives in the values.
pub(crate) type Slot = u32;

impl Pattern {
    /// Orders `n` unknowns joined by `pairs` (both ends existing, unlike) and analyses the factor.
    /// Returns the pattern, the new row of each unknown, and the slot of each pair.
    pub(crate) fn new(n: usize, pairs: &[(u32, u32)]) -> (Self, Vec<u32>, Vec<Slot>) {
        let (col_ptr, row_idx) = upper(n, pairs, None);
        let mut order = vec![0u32; n];
        let mut row_of = vec![0u32; n];
        let mut ordered = false;
        if n > 2 {
            let mut buffer = MemBuffer::new(amd::order_scratch::<u32>(n, row_idx.len()));
            let symbolic = SymbolicSparseColMatRef::new_checked(n, n, &col_ptr, None, &row_idx);
            let control = amd::Control::default();
            ordered =
                amd::order(&mut order, &mut row_of, symbolic, control, MemStack::new(&mut buffer)).is_ok();
        }
        if !ordered {
            // Any order is right, only slower; failing here is an index overflow that a netlist cannot reach.
            row_of = (0..n as u32).collect();
        }
        let (col_ptr, row_idx) = upper(n, pairs, Some(&row_of));
        let mut etree = vec![0i32; n];
        let mut counts = vec![0u32; n];
        let symbolic = {
            let a = SymbolicSparseColMatRef::new_checked(n, n, &col_ptr, None, &row_idx);
            let mut buffer =
                MemBuffer::new(chol::prefactorize_symbolic_cholesky_scratch::<u32>(n, row_idx.len()));
            let tree =
                chol::prefactorize_symbolic_cholesky(&mut etree, &mut counts, a, MemStack::new(&mut buffer));
            let mut buffer = MemBuffer::new(chol::factorize_simplicial_symbolic_cholesky_scratch::<u32>(n));
            chol::factorize_simplicial_symbolic_cholesky(a, tree, &counts, MemStack::new(&mut buffer)).ok()
        };
        let (ptr, idx) =
            symbolic.map_or((vec![0; n + 1], Vec::new()), |s| (s.col_ptr().to_vec(), s.row_idx().to_vec()));
        let parent = etree.iter().map(|&p| if p < 0 { NONE } else { p as u32 }).collect();
        let mut pattern = Self { n, ptr, idx, parent, targets: Vec::new() };
        pattern.remember();
        let slots = pairs
            .iter()
            .map(|&(a, b)| {
                let (a, b) = (row_of[a as usize], row_of[b as usize]);
                pattern.find(a.max(b), a.min(b)).map_or(pattern.idx.len() as u32, |at| at as u32)
            })
            .collect();
        (pattern, row_of, slots)
    }

    fn remember(&mut self) {
        let total: usize = self.ptr.windows(2).map(|w| ((w[1] - w[0]) * (w[1] - w[0]) / 2) as usize).sum();
        if total > REMEMBERED * self.n {
            return;
        }
        let mut targets = Vec::with_capacity(total);
        for j in 0..self.n {
            let rows = &self.idx[self.ptr[j] as usize + 1..self.ptr[j + 1] as usize];
            for (s, &column) in rows.iter().enumerate() {
                for &row in &rows[s..] {
                    targets.push(self.find(row, column).map_or(0, |at| at as u32));
                }
            }
        }
        self.targets = targets;
    }

    pub(crate) fn len(&self) -> usize {
        self.n
    }

    /// How many values the matrix and its factor have.
    pub(crate) fn value_count(&self) -> usize {
        self.idx.len()
    }

    /// The slot of a row's diagonal entry; the extra slot for the row of references.
    pub(crate) fn slot(&self, row: u32) -> Slot {
        self.ptr[row as usize]
    }

    /// Where an entry of the lower triangle lives; `row >= column`.
    fn find(&self, row: u32, column: u32) -> Option<usize> {
        let start = self.ptr[column as usize] as usize;
        if row == column {
            return Some(start);
        }
        let rows = &self.idx[start + 1..self.ptr[column as usize + 1] as usize];
        // Short columns are the rule; a scan beats a search there.
        if rows.len() <= 8 {
            rows.iter().position(|&r| r == row).map(|p| start + 1 + p)
        } else {
            rows.binary_search(&row).ok().map(|p| start + 1 + p)
        }
    }
}

/// Upper triangle by columns, sorted, no doubles, diagonal always there: the shape that the ordering and
/// analysis read.
fn upper(n: usize, pairs: &[(u32, u32)], row_of: Option<&[u32]>) -> (Vec<u32>, Vec<u32>) {
    let placed: Vec<(u32, u32)> = pairs
        .iter()
        .map(|&(a, b)| row_of.map_or((a, b), |r| (r[a as usize], r[b as usize])))
        .map(|(a, b)| (a.min(b), a.max(b)))
        .collect();
    // Two counting sorts, by row then by column, leave each column sorted by row in linear time.
    let starts = |key: &dyn Fn(&(u32, u32)) -> u32| {
        let mut start = vec![0u32; n + 1];
        for pair in &placed {
            start[key(pair) as usize + 1] += 1;
        }
        for i in 0..n {
            start[i + 1] += start[i];
        }
        start
    };
    let mut by_row = vec![(0, 0); placed.len()];
    let mut next = starts(&|p| p.0);
    for &pair in &placed {
        by_row[next[pair.0 as usize] as usize] = pair;
        next[pair.0 as usize] += 1;
    }
    let start = starts(&|p| p.1);
    let mut next = start.clone();
    let mut rows = vec![0u32; placed.len()];
    for (row, column) in by_row {
        rows[next[column as usize] as usize] = row;
        next[column as usize] += 1;
    }
    let mut col_ptr = Vec::with_capacity(n + 1);
    let mut row_idx = Vec::with_capacity(placed.len() + n);
    col_ptr.push(0);
    for column in 0..n {
        let mut last = NONE;
        for &row in &rows[start[column] as usize..start[column + 1] as usize] {
            if row != last {
                row_idx.push(row);
                last = row;
            }
        }
        row_idx.push(column as u32);
        col_ptr.push(row_idx.len() as u32);
    }
    (col_ptr, row_idx)
}

/// A numeric factor `L·D·Lᵀ`, made in the place of the matrix: `L` by columns, the first value of each column
/// is `1/D`.
pub(crate) struct Factor {
    pub(crate) values: Vec<f64>,
}

impl Factor {
    /// Factorises `values` in place; `false` as soon as the matrix proves not to be positive definite.
    ///
    /// Columns from left to right, each taking its products off the columns to its right. On networks like
    /// trees nearly every column has one or two entries, and with their places remembered this is several
    /// times faster than a general routine.
    pub(crate) fn factorise(&mut self, pattern: &Pattern) -> bool {
        let mut targets = pattern.targets.iter();
        for j in 0..pattern.n {
            let (start, end) = (pattern.ptr[j] as usize, pattern.ptr[j + 1] as usize);
            let (left, right) = self.values.split_at_mut(end);
            let Some((d, column)) = left.get_mut(start..).and_then(<[f64]>::split_first_mut) else {
                return false;
            };
            // Written so that "not a number" fails too.
            if !(*d > 0.0 && *d < f64::INFINITY) {
                return false;
            }
            *d = 1.0 / *d;
            for s in 0..column.len() {
                let l = column[s] * *d;
                // Entries before `s` are scaled already, those from `s` on are still raw.
                for (t, raw) in column.iter().enumerate().skip(s) {
                    let target = match targets.next() {
                        Some(&target) => target as usize,
                        None => {
                            let rows = &pattern.idx[start + 1..end];
                            pattern.find(rows[t], rows[s]).unwrap_or(end)
                        }
                    };
                    right[target - end] -= raw * l;
                }
                column[s] = l;
            }
        }
        true
    }

    /// Solves in place.
    pub(crate) fn solve(&self, pattern: &Pattern, x: &mut [f64]) {
        let (ptr, idx) = (&pattern.ptr, &pattern.idx);
        for j in 0..pattern.n {
            let xj = x[j];
            let range = ptr[j] as usize + 1..ptr[j + 1] as usize;
            for (&i, &l) in idx[range.clone()].iter().zip(&self.values[range]) {
                x[i as usize] -= l * xj;
            }
        }
        for j in (0..pattern.n).rev() {
            let start = ptr[j] as usize;
            let range = start + 1..ptr[j + 1] as usize;
            let mut xj = x[j] * self.values[start];
            for (&i, &l) in idx[range.clone()].iter().zip(&self.values[range]) {
                xj -= l * x[i as usize];
            }
            x[j] = xj;
        }
    }

    /// The entries of the inverse on the pattern of `L` (Takahashi, Fagan and Chen 1973): `Z = D⁻¹·L⁻¹ + (I −
    /// Lᵀ)·Z`, from the last column back, needs only entries on the pattern, so the cost is that of the
    /// factor and not of the inverse.
    pub(crate) fn inverse_on_pattern(&self, pattern: &Pattern) -> Vec<f64> {
        let mut z = vec![0.0; pattern.value_count()];
        for j in (0..pattern.n).rev() {
            let start = pattern.ptr[j] as usize;
            let range = start + 1..pattern.ptr[j + 1] as usize;
            for s in range.clone() {
                let i = pattern.idx[s];
                // Z[i,j] = −Σ_k L[k,j]·Z[i,k]; i and k are both in column j, so the smaller one's column
                // holds the pair.
                let mut sum = 0.0;
                for t in range.clone() {
                    let k = pattern.idx[t];
                    sum -= self.values[t] * pattern.find(i.max(k), i.min(k)).map_or(0.0, |at| z[at]);
                }
                z[s] = sum;
            }
            z[start] = range.fold(self.values[start], |sum, s| sum - self.values[s] * z[s]);
        }
        z
    }

    /// One entry of the inverse, if it lies on the pattern.
    pub(crate) fn entry(pattern: &Pattern, z: &[f64], row: u32, column: u32) -> Option<f64> {
        pattern.find(row.max(column), row.min(column)).map(|at| z[at])
    }

    /// `(e_a − e_b)ᵀ·Z·(e_a − e_b)` for any two rows (`NONE` is the reference), by the two paths to the root
    /// of the elimination tree: `‖D^(−1/2)·L⁻¹·(e_a − e_b)‖²`. `y` is scratch of `n` zeros and is left so.
    pub(crate) fn two_point(&self, pattern: &Pattern, y: &mut [f64], a: u32, b: u32) -> f64 {
        if a != NONE {
            y[a as usize] += 1.0;
        }
        if b != NONE {
            y[b as usize] -= 1.0;
        }
        let (mut pa, mut pb, mut sum) = (a, b, 0.0);
        while pa != NONE || pb != NONE {
            let j = pa.min(pb);
            if pa == j {
                pa = pattern.parent[j as usize];
            }
            if pb == j {
                pb = pattern.parent[j as usize];
            }
            let j = j as usize;
            let yj = core::mem::take(&mut y[j]);
            let start = pattern.ptr[j] as usize;
            let range = start + 1..pattern.ptr[j + 1] as usize;
            for (&i, &l) in pattern.idx[range.clone()].iter().zip(&self.values[range]) {
                y[i as usize] -= l * yj;
            }
            sum += yj * yj * self.values[start];
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Work, counted and not timed, stays in proportion to the network: entries and products for each row of
    /// a two-pole tree whose load terminals are joined.
    #[test]
    fn work_grows_with_the_network() {
        for n in [100u32, 1000, 10_000] {
            let mut pairs = Vec::new();
            let mut seed = 9u64;
            for k in 1..n / 2 {
                seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
                // A parent within the hundred before it: deep as well as wide.
                let parent = k - 1 - ((seed >> 33) as u32) % k.min(100);
                pairs.extend([(2 * parent, 2 * k), (2 * parent + 1, 2 * k + 1), (2 * k, 2 * k + 1)]);
            }
            let (pattern, _, _) = Pattern::new(n as usize, &pairs);
            let entries = pattern.value_count() as f64 / f64::from(n);
            let products = pattern.targets.len() as f64 / f64::from(n);
            assert!(
                entries < 4.0 && products > 0.0 && products < 8.0,
                "{n}: {entries} entries, {products} products a row"
            );
        }
    }

    /// A full matrix, too large to remember its products, against the product with its own solution.
    #[test]
    fn a_full_matrix_is_solved_too() {
        let n = 200u32;
        let pairs: Vec<_> = (0..n).flat_map(|i| (0..i).map(move |j| (i, j))).collect();
        let (pattern, row_of, slots) = Pattern::new(n as usize, &pairs);
        assert!(pattern.targets.is_empty());
        let weight = |i: u32, j: u32| 1.0 / f64::from(1 + (i * 7 + j * 13) % 17);
        let mut values = vec![0.0; pattern.value_count()];
        let mut sums = vec![1.0; n as usize];
        for (&(i, j), &slot) in pairs.iter().zip(&slots) {
            values[slot as usize] = -weight(i, j);
            sums[i as usize] += weight(i, j);
            sums[j as usize] += weight(i, j);
        }
        for (i, sum) in sums.iter().enumerate() {
            values[pattern.slot(row_of[i]) as usize] = *sum;
        }
        // Rows of the matrix sum to 1, so a right side of ones has the solution of ones.
        let mut factor = Factor { values };
        assert!(factor.factorise(&pattern));
        let mut x = vec![1.0; n as usize];
        factor.solve(&pattern, &mut x);
        assert!(x.iter().all(|x| (x - 1.0).abs() < 1e-12));
    }
}
