//! The least and the most that each span can carry over all balances with friction.
//!
//! ```text
//! Balance (friction) ─two linear programs an unknown→ (low, high) of every span, over the weight
//! ```

use glam::DVec3;

use super::balance::{Balance, FeetOn, Passes};
use super::layout::Layout;
use super::least::{Rows, shortest};
use super::lp::{Least, Simplex};

/// Least and most pull of a span over the weight; no most where it is unbounded.
pub(crate) type Range = (f64, Option<f64>);

/// The ranges of all spans of a rig that holds with the given nominal pulls. They always contain
/// the nominal pull.
pub(crate) fn ranges(
    layout: &Layout,
    places: &[DVec3],
    carries: impl Fn(usize) -> bool,
    feet: Option<FeetOn>,
    nominal: &[f64],
) -> Vec<Range> {
    let balance = Balance::new(layout, places, carries, Passes::Friction, feet);
    let single = || nominal.iter().map(|t| (*t, Some(*t))).collect();
    if balance.unknowns() == 0 || shortest(&balance.e, &balance.d).is_unique() {
        return single();
    }
    let Some(mut simplex) = conditions(&balance) else {
        return single();
    };
    let of_unknown: Vec<Range> = (0..balance.unknowns())
        .map(|j| {
            let mut cost = vec![0.0; j + 1];
            cost[j] = 1.0;
            let low = match simplex.least(&cost) {
                Least::Value(low) => low,
                Least::Unbounded => 0.0,
            };
            cost[j] = -1.0;
            let high = match simplex.least(&cost) {
                Least::Value(high) => Some(-high),
                Least::Unbounded => None,
            };
            (low, high)
        })
        .collect();
    balance
        .unknown
        .iter()
        .zip(nominal)
        .map(|(unknown, nominal)| match unknown {
            Some(j) => {
                let (low, high) = of_unknown[*j];
                (low.min(*nominal), high.map(|h| h.max(*nominal)))
            }
            None => (0.0, Some(0.0)),
        })
        .collect()
}

/// Equations and, with one surplus variable each, inequalities.
fn conditions(balance: &Balance) -> Option<Simplex> {
    let (n, k) = (balance.unknowns(), balance.g.len());
    let mut a = Rows::new(n + k);
    for i in 0..balance.e.len() {
        a.push()[..n].copy_from_slice(balance.e.row(i));
    }
    for i in 0..k {
        let row = a.push();
        row[..n].copy_from_slice(balance.g.row(i));
        row[n + i] = -1.0;
    }
    let b: Vec<f64> = balance.d.iter().chain(&balance.h).copied().collect();
    Simplex::new(&a, &b)
}
