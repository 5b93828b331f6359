//! The sparse symmetric matrix of a network: ordered and analysed once (`faer`: minimum degree, elimination tree), then
//! factorised as `L·D·Lᵀ` as often as values change, solved, and selectively inverted.
//! Never: knows what an element is; rows here are unknown nodes, after the fill-reducing order.
//! Start at [`Pattern::new`]; entries of the inverse come from [`Factor::inverse_on_pattern`].

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::sparse::linalg::amd;
use faer::sparse::linalg::cholesky::simplicial as chol;
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};

/// A row that does not exist: the reference node of an island.
pub(crate) const NONE: u32 = u32::MAX;

/// The pattern of the matrix and of its factor.
pub(crate) struct Pattern {
    n: usize,
    /// Upper triangle by columns, sorted, diagonal last in each column.
    col_ptr: Vec<u32>,
    row_idx: Vec<u32>,
    symbolic: Option<chol::SymbolicSimplicialCholesky<u32>>,
    /// Elimination-tree parent of each row; `NONE` at roots.
    parent: Vec<u32>,
}

/// Where an off-diagonal pair of rows lives in the values; diagonal slots are found by [`Pattern::diagonal`].
pub(crate) type Slot = u32;

impl Pattern {
    /// Orders `n` unknowns joined by `pairs` (both ends existing, unlike) and analyses the factor.
    /// Returns the pattern, the new row of each unknown, and the slot of each pair.
    pub(crate) fn new(n: usize, pairs: &[(u32, u32)]) -> (Self, Vec<u32>, Vec<Slot>) {
        let (col_ptr, row_idx, _) = upper(n, pairs, None);
        let mut order = vec![0u32; n];
        let mut row_of = vec![0u32; n];
        let mut ordered = false;
        if n > 2 {
            let mut buffer = MemBuffer::new(amd::order_scratch::<u32>(n, row_idx.len()));
            let symbolic = SymbolicSparseColMatRef::new_checked(n, n, &col_ptr, None, &row_idx);
            ordered = amd::order(
                &mut order,
                &mut row_of,
                symbolic,
                amd::Control::default(),
                MemStack::new(&mut buffer),
            )
            .is_ok();
        }
        if !ordered {
            // Any order is right, only slower; failing here is an index overflow that a netlist cannot reach.
            row_of = (0..n as u32).collect();
        }
        let (col_ptr, row_idx, slots) = upper(n, pairs, Some(&row_of));
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
        let parent = etree.iter().map(|&p| if p < 0 { NONE } else { p as u32 }).collect();
        (Self { n, col_ptr, row_idx, symbolic, parent }, row_of, slots)
    }

    pub(crate) fn len(&self) -> usize {
        self.n
    }

    /// How many values the matrix has.
    pub(crate) fn value_count(&self) -> usize {
        self.row_idx.len()
    }

    /// How many values the factor has.
    pub(crate) fn factor_count(&self) -> usize {
        self.symbolic.as_ref().map_or(0, |s| s.len_val())
    }

    /// The slot of a row's diagonal entry.
    pub(crate) fn diagonal(&self, row: u32) -> Slot {
        self.col_ptr[row as usize + 1] - 1
    }

    /// Room for factors of this pattern.
    pub(crate) fn workspace(&self) -> Factor {
        Factor {
            values: vec![0.0; self.factor_count()],
            buffer: MemBuffer::new(chol::factorize_simplicial_numeric_ldlt_scratch::<u32, f64>(self.n)),
        }
    }
}

/// Upper triangle by columns (sorted, no doubles, diagonal always there) and the slot of each pair in it.
fn upper(n: usize, pairs: &[(u32, u32)], row_of: Option<&[u32]>) -> (Vec<u32>, Vec<u32>, Vec<Slot>) {
    let place = |&(a, b): &(u32, u32)| {
        let (a, b) = row_of.map_or((a, b), |r| (r[a as usize], r[b as usize]));
        (a.min(b), a.max(b))
    };
    // Two counting sorts, by row then by column, leave each column sorted by row in linear time.
    let mut start = vec![0u32; n + 2];
    for pair in pairs {
        start[place(pair).0 as usize + 1] += 1;
    }
    for i in 0..n {
        start[i + 1] += start[i];
    }
    let mut by_row = vec![0u32; pairs.len()];
    for (i, pair) in pairs.iter().enumerate() {
        let at = &mut start[place(pair).0 as usize];
        by_row[*at as usize] = i as u32;
        *at += 1;
    }
    let mut start = vec![0u32; n + 1];
    for pair in pairs {
        start[place(pair).1 as usize + 1] += 1;
    }
    for i in 0..n {
        start[i + 1] += start[i];
    }
    let mut next = start.clone();
    let mut by_column = vec![0u32; pairs.len()];
    for &i in &by_row {
        let at = &mut next[place(&pairs[i as usize]).1 as usize];
        by_column[*at as usize] = i;
        *at += 1;
    }
    let mut col_ptr = Vec::with_capacity(n + 1);
    let mut row_idx = Vec::with_capacity(pairs.len() + n);
    let mut slots = vec![0; pairs.len()];
    col_ptr.push(0);
    for column in 0..n {
        let mut last = NONE;
        for &i in &by_column[start[column] as usize..start[column + 1] as usize] {
            let row = place(&pairs[i as usize]).0;
            if row != last {
                row_idx.push(row);
                last = row;
            }
            slots[i as usize] = row_idx.len() as u32 - 1;
        }
        row_idx.push(column as u32);
        col_ptr.push(row_idx.len() as u32);
    }
    (col_ptr, row_idx, slots)
}

/// A numeric factor `L·D·Lᵀ`, with its working memory.
pub(crate) struct Factor {
    /// By columns of `L`; the first value of a column is `D`.
    values: Vec<f64>,
    buffer: MemBuffer,
}

impl Factor {
    /// Factorises; `true` if the matrix is positive definite (every pivot above zero).
    pub(crate) fn factorise(&mut self, pattern: &Pattern, values: &[f64]) -> bool {
        let Some(symbolic) = &pattern.symbolic else { return false };
        let n = pattern.n;
        let a = SparseColMatRef::new(
            SymbolicSparseColMatRef::new_checked(n, n, &pattern.col_ptr, None, &pattern.row_idx),
            values,
        );
        let done = chol::factorize_simplicial_numeric_ldlt(
            &mut self.values,
            a,
            Default::default(),
            symbolic,
            MemStack::new(&mut self.buffer),
        );
        done.is_ok() && symbolic.col_ptr()[..n].iter().all(|&at| self.values[at as usize] > 0.0)
    }

    /// Solves in place.
    pub(crate) fn solve(&self, pattern: &Pattern, x: &mut [f64]) {
        let Some(symbolic) = &pattern.symbolic else { return };
        let (ptr, idx) = (symbolic.col_ptr(), symbolic.row_idx());
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
            let mut xj = x[j] / self.values[start];
            for (&i, &l) in idx[range.clone()].iter().zip(&self.values[range]) {
                xj -= l * x[i as usize];
            }
            x[j] = xj;
        }
    }

    /// The entries of the inverse on the pattern of `L` (Takahashi, Fagan and Chen 1973): `Z = D⁻¹·L⁻¹ + (I − Lᵀ)·Z`, from the
    /// last column back, needs only entries on the pattern, so the cost is that of the factor and not of the inverse.
    pub(crate) fn inverse_on_pattern(&self, pattern: &Pattern) -> Vec<f64> {
        let mut z = vec![0.0; self.values.len()];
        let Some(symbolic) = &pattern.symbolic else { return z };
        let (ptr, idx) = (symbolic.col_ptr(), symbolic.row_idx());
        for j in (0..pattern.n).rev() {
            let start = ptr[j] as usize;
            let range = start + 1..ptr[j + 1] as usize;
            for s in range.clone() {
                let i = idx[s];
                // Z[i,j] = −Σ_k L[k,j]·Z[i,k]; i and k are both in column j, so the smaller one's column holds the pair.
                let mut sum = 0.0;
                for t in range.clone() {
                    let k = idx[t];
                    let (row, column) = (i.max(k), i.min(k));
                    sum -= self.values[t] * find(ptr, idx, row, column).map_or(0.0, |at| z[at]);
                }
                z[s] = sum;
            }
            let mut diagonal = 1.0 / self.values[start];
            for s in range {
                diagonal -= self.values[s] * z[s];
            }
            z[start] = diagonal;
        }
        z
    }

    /// One entry of the inverse, if it lies on the pattern.
    pub(crate) fn entry(pattern: &Pattern, z: &[f64], row: u32, column: u32) -> Option<f64> {
        let symbolic = pattern.symbolic.as_ref()?;
        find(symbolic.col_ptr(), symbolic.row_idx(), row.max(column), row.min(column)).map(|at| z[at])
    }

    /// `(e_a − e_b)ᵀ·Z·(e_a − e_b)` for any two rows (`NONE` is the reference), by the two paths to the root of the elimination
    /// tree: `‖D^(−1/2)·L⁻¹·(e_a − e_b)‖²`. `y` is scratch of `n` zeros and is left so.
    pub(crate) fn two_point(&self, pattern: &Pattern, y: &mut [f64], a: u32, b: u32) -> f64 {
        let Some(symbolic) = &pattern.symbolic else { return 0.0 };
        let (ptr, idx) = (symbolic.col_ptr(), symbolic.row_idx());
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
            let start = ptr[j] as usize;
            let range = start + 1..ptr[j + 1] as usize;
            for (&i, &l) in idx[range.clone()].iter().zip(&self.values[range]) {
                y[i as usize] -= l * yj;
            }
            sum += yj * yj / self.values[start];
        }
        sum
    }
}

fn find(ptr: &[u32], idx: &[u32], row: u32, column: u32) -> Option<usize> {
    let start = ptr[column as usize] as usize;
    if row == column {
        return Some(start);
    }
    let rows = &idx[start + 1..ptr[column as usize + 1] as usize];
    // Short columns are the rule; a scan beats a search there.
    if rows.len() <= 8 {
        rows.iter().position(|&r| r == row).map(|p| start + 1 + p)
    } else {
        rows.binary_search(&row).ok().map(|p| start + 1 + p)
    }
}
