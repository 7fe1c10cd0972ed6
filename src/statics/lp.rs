//! Small dense linear programs: many objectives over one set of conditions.
//!
//! ```text
//! A·x = b, x ≥ 0 ─Simplex::new→ a first corner ─least(c)→ smallest c·x, or unbounded
//! ```
//!
//! The tableau method in two phases. Every objective starts from the corner where the last one
//! ended, so that the ranges of a rig cost a few exchanges each.

use super::least::Rows;

/// Coefficients of the tableau at or below this count as zero: dimensionless. Coefficients start
/// of order 1; a rig takes a few dozen exchanges.
const ZERO: f64 = 1e-11;

/// How far the first phase may miss the conditions, in the unit of the right side (weights). A
/// rig that holds to 1e-9 in every equation stays below it in their sum.
const MISS: f64 = 1e-7;

/// Exchanges by steepest price before the lowest-index rule takes over, which cannot circle.
const STEEPEST: usize = 60;

/// Exchanges after which a search ends where it is: far above what a rig takes.
const EXCHANGES: usize = 2000;

/// A simplex tableau at a corner of its conditions.
#[derive(Debug, Clone)]
pub(crate) struct Simplex {
    /// Rows of the tableau; the last column is the right side.
    table: Rows,
    /// Variable of each row.
    basis: Vec<usize>,
    /// Variables that may enter.
    vars: usize,
}

/// What an objective comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Least {
    Value(f64),
    Unbounded,
}

impl Simplex {
    /// Finds a first corner of `a·x = b`, `x ≥ 0`; `None` where there is none.
    pub fn new(a: &Rows, b: &[f64]) -> Option<Self> {
        let (m, n) = (a.len(), a.cols);
        let mut table = Rows::new(n + m + 1);
        for i in 0..m {
            let sign = if b[i] < 0.0 { -1.0 } else { 1.0 };
            let row = table.push();
            for (to, from) in row.iter_mut().zip(a.row(i)) {
                *to = sign * from;
            }
            row[n + i] = 1.0;
            row[n + m] = sign * b[i];
        }
        let mut simplex = Self {
            table,
            basis: (n..n + m).collect(),
            vars: n,
        };
        let mut artificial = vec![0.0; n + m];
        artificial[n..].fill(1.0);
        match simplex.least(&artificial) {
            Least::Value(miss) if miss <= MISS => {}
            _ => return None,
        }
        simplex.drop_artificials();
        Some(simplex)
    }

    /// Smallest `c·x` over the conditions. Variables past the end of `c` cost nothing.
    pub fn least(&mut self, c: &[f64]) -> Least {
        let cost = |j: usize| c.get(j).copied().unwrap_or(0.0);
        let last = self.table.cols - 1;
        for exchange in 0..EXCHANGES {
            let price = |j: usize| {
                let rows = (0..self.basis.len()).map(|i| (i, cost(self.basis[i])));
                cost(j)
                    - rows
                        .filter(|(_, c)| *c != 0.0)
                        .map(|(i, c)| c * self.table.row(i)[j])
                        .sum::<f64>()
            };
            let prices = (0..self.vars)
                .filter(|j| !self.basis.contains(j))
                .map(|j| (j, price(j)))
                .filter(|(_, p)| *p < -ZERO);
            let enters = match exchange < STEEPEST {
                true => prices.min_by(|p, q| p.1.total_cmp(&q.1)),
                false => prices.min_by_key(|p| p.0),
            };
            let Some((enters, _)) = enters else { break };
            let leaves = (0..self.basis.len())
                .filter(|i| self.table.row(*i)[enters] > ZERO)
                .map(|i| (i, self.table.row(i)[last] / self.table.row(i)[enters]))
                .min_by(|p, q| {
                    p.1.total_cmp(&q.1)
                        .then(self.basis[p.0].cmp(&self.basis[q.0]))
                });
            let Some((leaves, _)) = leaves else {
                return Least::Unbounded;
            };
            self.exchange(leaves, enters);
        }
        let value = (0..self.basis.len())
            .map(|i| cost(self.basis[i]) * self.table.row(i)[last])
            .sum();
        Least::Value(value)
    }

    fn exchange(&mut self, leaves: usize, enters: usize) {
        let pivot = self.table.row(leaves)[enters];
        let cols = self.table.cols;
        let own: Vec<f64> = self.table.row(leaves).iter().map(|v| v / pivot).collect();
        for i in 0..self.basis.len() {
            let row = &mut self.table.data[i * cols..(i + 1) * cols];
            let by = row[enters];
            if i == leaves {
                row.copy_from_slice(&own);
            } else if by != 0.0 {
                for (to, from) in row.iter_mut().zip(&own) {
                    *to -= by * from;
                }
                row[enters] = 0.0;
            }
            // Rounding must not turn a right side negative.
            row[cols - 1] = row[cols - 1].max(0.0);
        }
        self.basis[leaves] = enters;
    }

    /// Exchanges what the first phase left of its helpers for variables of the problem; a row
    /// without any says nothing new and goes.
    fn drop_artificials(&mut self) {
        let mut i = 0;
        while i < self.basis.len() {
            if self.basis[i] < self.vars {
                i += 1;
                continue;
            }
            let row = self.table.row(i);
            let best = (0..self.vars)
                .filter(|j| !self.basis.contains(j))
                .max_by(|p, q| row[*p].abs().total_cmp(&row[*q].abs()))
                .filter(|j| row[*j].abs() > ZERO.sqrt());
            match best {
                Some(enters) => {
                    // Its right side is zero up to the accepted miss.
                    let cols = self.table.cols;
                    self.table.data[(i + 1) * cols - 1] = 0.0;
                    self.exchange(i, enters);
                    i += 1;
                }
                None => {
                    let cols = self.table.cols;
                    self.table.data.drain(i * cols..(i + 1) * cols);
                    self.basis.remove(i);
                }
            }
        }
    }
}
