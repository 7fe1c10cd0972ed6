//! Small dense least-squares problems: shortest solution of equations, with inequalities, and
//! non-negative least squares.
//!
//! ```text
//! E·u = d ─shortest→ u of least |u|
//! E·u = d, G·u ≥ h ─shortest_within→ u of least |u|, or None where there is none
//! |A·x − b| least, x ≥ 0 ─non_negative→ x
//! ```
//!
//! Rigs have a dozen unknowns, so everything is row-major and direct. The methods for
//! inequalities are those of Lawson and Hanson, *Solving Least Squares Problems* (1974), ch. 23.

/// A row whose part across the earlier rows is below this share of its own size is taken as
/// depending on them: dimensionless. Entries are direction cosines, so rounding leaves 1e-15.
const RANK_REL: f64 = 1e-10;

/// Dual values of non-negative least squares at or below this count as zero: dimensionless, for
/// columns and right sides of order 1.
const DUAL_ZERO: f64 = 1e-13;

/// How far an inequality may be missed before the search counts it as missed, in the unit of the
/// right side (weights). Ten times below the tolerance with which the answer is judged.
const RELAX: f64 = 1e-10;

/// A row-major matrix of a few rows.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Rows {
    pub cols: usize,
    pub data: Vec<f64>,
}

impl Rows {
    pub fn new(cols: usize) -> Self {
        Self {
            cols,
            data: Vec::new(),
        }
    }

    /// The same with room for so many rows.
    pub fn with_room(cols: usize, rows: usize) -> Self {
        Self {
            cols,
            data: Vec::with_capacity(cols * rows),
        }
    }

    pub fn len(&self) -> usize {
        self.data.len().checked_div(self.cols).unwrap_or(0)
    }

    pub fn row(&self, i: usize) -> &[f64] {
        &self.data[i * self.cols..(i + 1) * self.cols]
    }

    /// Adds a row of zeros and returns it for filling.
    pub fn push(&mut self) -> &mut [f64] {
        let start = self.data.len();
        self.data.resize(start + self.cols, 0.0);
        &mut self.data[start..]
    }

    pub fn push_row(&mut self, row: &[f64]) {
        self.push().copy_from_slice(row);
    }
}

pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn add_scaled(a: &mut [f64], by: f64, b: &[f64]) {
    for (a, b) in a.iter_mut().zip(b) {
        *a += by * b;
    }
}

/// The shortest solution of equations, with what is needed to build on it.
pub(crate) struct Shortest {
    pub u: Vec<f64>,
    /// Largest miss of an equation, in its unit.
    pub miss: f64,
    /// Orthonormal rows that span those of the equations.
    pub span: Rows,
}

impl Shortest {
    /// Whether the equations leave no freedom.
    pub fn is_unique(&self) -> bool {
        self.span.len() == self.span.cols
    }
}

/// The `u` of least length with `e·u = d`, as far as the rows agree with each other.
///
/// Rows are taken largest first; each moves `u` along the direction that is new to it, which
/// leaves the earlier rows satisfied.
pub(crate) fn shortest(e: &Rows, d: &[f64]) -> Shortest {
    let n = e.cols;
    let mut u = vec![0.0; n];
    let mut span = Rows::with_room(n, n);
    let mut left: Vec<usize> = (0..e.len()).collect();
    let mut across = e.data.clone();
    while span.len() < n {
        // The row with the largest part across what is already spanned.
        let size = |i: usize| dot(&across[i * n..(i + 1) * n], &across[i * n..(i + 1) * n]);
        let Some(best) =
            (0..left.len()).max_by(|a, b| size(left[*a]).total_cmp(&size(left[*b])).then(b.cmp(a)))
        else {
            break;
        };
        let i = left.swap_remove(best);
        let own = dot(e.row(i), e.row(i)).sqrt();
        let known = span.data.len();
        span.push_row(&across[i * n..(i + 1) * n]);
        let (earlier, q) = span.data.split_at_mut(known);
        for before in earlier.chunks_exact(n) {
            let along = dot(q, before);
            add_scaled(q, -along, before);
        }
        let length = dot(q, q).sqrt();
        if length <= RANK_REL * own.max(RANK_REL) {
            span.data.truncate(known);
            continue;
        }
        q.iter_mut().for_each(|v| *v /= length);
        let step = (d[i] - dot(e.row(i), &u)) / dot(e.row(i), q);
        add_scaled(&mut u, step, q);
        for &j in &left {
            let row = &mut across[j * n..(j + 1) * n];
            let along = dot(row, q);
            add_scaled(row, -along, q);
        }
    }
    let miss = (0..e.len())
        .map(|i| (dot(e.row(i), &u) - d[i]).abs())
        .fold(0.0, f64::max);
    Shortest { u, miss, span }
}

/// The `u` of least length with `e·u = d` and `g·u ≥ h`, both to within `tolerance`; `None` where
/// there is none.
pub(crate) fn shortest_within(
    e: &Rows,
    d: &[f64],
    g: &Rows,
    h: &[f64],
    tolerance: f64,
) -> Option<Vec<f64>> {
    let start = shortest(e, d);
    if start.miss > tolerance {
        return None;
    }
    if is_within(g, h, &start.u, tolerance) {
        return Some(start.u);
    }
    if start.is_unique() {
        return None;
    }
    // Least distance from `start.u` inside the equations' null space: non-negative least squares
    // on the inequalities' parts across the equations.
    let (n, m) = (e.cols, g.len());
    let mut a = Rows::new(m);
    a.data = vec![0.0; (n + 1) * m];
    for (j, bound) in h.iter().enumerate() {
        let mut row = g.row(j).to_vec();
        for k in 0..start.span.len() {
            let along = dot(&row, start.span.row(k));
            add_scaled(&mut row, -along, start.span.row(k));
        }
        for (i, v) in row.iter().enumerate() {
            a.data[i * m + j] = *v;
        }
        a.data[n * m + j] = bound - RELAX - dot(g.row(j), &start.u);
    }
    let mut f = vec![0.0; n + 1];
    f[n] = 1.0;
    let z = non_negative(&a, &f);
    let short = 1.0 - dot(a.row(n), &z);
    if short <= 0.0 {
        return None;
    }
    // The constraints that hold it there, taken as equations, give the answer to full precision.
    let mut both = e.clone();
    let mut want = d.to_vec();
    for (j, _) in z.iter().enumerate().filter(|(_, z)| **z > 0.0) {
        both.push_row(g.row(j));
        want.push(h[j]);
    }
    let end = shortest(&both, &want);
    (end.miss <= tolerance && is_within(g, h, &end.u, tolerance)).then_some(end.u)
}

fn is_within(g: &Rows, h: &[f64], u: &[f64], tolerance: f64) -> bool {
    (0..g.len()).all(|j| dot(g.row(j), u) >= h[j] - tolerance)
}

/// The `x ≥ 0` that brings `a·x` nearest to `b`.
///
/// Columns enter one at a time by the largest dual value; those that turn negative leave.
pub(crate) fn non_negative(a: &Rows, b: &[f64]) -> Vec<f64> {
    let (m, n) = (a.len(), a.cols);
    let column = |j: usize| (0..m).map(move |i| a.data[i * n + j]);
    let mut x = vec![0.0; n];
    let mut used: Vec<usize> = Vec::new();
    let mut refused = vec![false; n];
    // Each round adds a column and lowers the distance, so sets do not repeat; the bound is for
    // rounding alone.
    for _ in 0..ROUNDS_PER_COLUMN * n {
        let miss: Vec<f64> = (0..m).map(|i| b[i] - dot(a.row(i), &x)).collect();
        let gain = |j: usize| column(j).zip(&miss).map(|(a, r)| a * r).sum::<f64>();
        let enters = (0..n)
            .filter(|j| !used.contains(j) && !refused[*j])
            .map(|j| (j, gain(j)))
            .filter(|(_, w)| *w > DUAL_ZERO)
            .max_by(|p, q| p.1.total_cmp(&q.1).then(q.0.cmp(&p.0)));
        let Some((enters, _)) = enters else { break };
        used.push(enters);
        let mut y = fit(a, &used, b);
        if y[used.len() - 1] <= 0.0 {
            // Rounding made its gain look positive.
            used.pop();
            refused[enters] = true;
            continue;
        }
        refused.fill(false);
        // Step towards the fit as far as none turns negative; the one that stops it leaves.
        while let Some((stop, share)) = used
            .iter()
            .zip(&y)
            .enumerate()
            .filter(|(_, (_, y))| **y <= 0.0)
            .map(|(p, (j, y))| (p, x[*j] / (x[*j] - y)))
            .min_by(|p, q| p.1.total_cmp(&q.1))
        {
            for (j, y) in used.iter().zip(&y) {
                x[*j] = (x[*j] + share * (y - x[*j])).max(0.0);
            }
            x[used.remove(stop)] = 0.0;
            y = fit(a, &used, b);
        }
        for (j, y) in used.iter().zip(&y) {
            x[*j] = *y;
        }
    }
    x
}

/// Rounds that non-negative least squares may take for each column before it stops with what it has.
const ROUNDS_PER_COLUMN: usize = 10;

/// Least-squares fit of `b` by some columns of `a`, by orthogonal columns, each cleaned twice. A
/// column that adds nothing new gets 0.
fn fit(a: &Rows, columns: &[usize], b: &[f64]) -> Vec<f64> {
    let (m, n, k) = (a.len(), a.cols, columns.len());
    let mut q = Rows::new(m);
    let mut r = vec![0.0; k * k];
    let mut c = vec![0.0; k];
    let mut rest = b.to_vec();
    for (p, &j) in columns.iter().enumerate() {
        let mut v: Vec<f64> = (0..m).map(|i| a.data[i * n + j]).collect();
        let own = dot(&v, &v).sqrt();
        for _ in 0..2 {
            for s in 0..p {
                let along = dot(&v, q.row(s));
                r[s * k + p] += along;
                add_scaled(&mut v, -along, q.row(s));
            }
        }
        let length = dot(&v, &v).sqrt();
        if length > RANK_REL * own {
            v.iter_mut().for_each(|x| *x /= length);
            r[p * k + p] = length;
            c[p] = dot(&v, &rest);
            add_scaled(&mut rest, -c[p], &v);
        } else {
            v.fill(0.0);
        }
        q.push_row(&v);
    }
    for p in (0..k).rev() {
        let known: f64 = (p + 1..k).map(|s| r[p * k + s] * c[s]).sum();
        c[p] = if r[p * k + p] > 0.0 {
            (c[p] - known) / r[p * k + p]
        } else {
            0.0
        };
    }
    c
}
