//! Held rigs: whether the lines hold at a place, the nominal pulls, the push that is missing.
//!
//! ```text
//! Balance (passes free) ─shortest_within→ pulls
//!        └ none → Balance (friction) ─shortest_within→ pulls, needs_friction
//!                        └ none → ─non_negative→ the push needed
//! ```

use glam::DVec3;

use super::balance::{Balance, FeetOn, Passes};
use super::layout::Layout;
use super::least::{Rows, dot, non_negative, shortest_within};

/// Largest miss of a balance, over the weight, that still counts as holding: dimensionless. It
/// is the accuracy promised for every reported equilibrium, decades above rounding.
pub(crate) const HOLDS_REL: f64 = 1e-9;

/// Weight of the conditions that a push cannot help with (hanging points, passes, moments)
/// against the balance of forces at the harness: dimensionless. The push comes out wrong by its
/// inverse square; rounding grows in proportion to it.
const FIRM: f64 = 1e5;

/// An answer to "does it hold here?", everything over the weight.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Hold {
    /// The lines hold.
    Yes {
        /// Nominal pull of every span.
        pulls: Vec<f64>,
        /// Push of the feet, if they are on.
        feet: Option<DVec3>,
        /// Whether the passes' friction is needed for it.
        needs_friction: bool,
    },
    /// They do not.
    No {
        /// Smallest extra force at the harness point that would make a balance.
        push: DVec3,
    },
}

/// Asks whether the lines hold with every spot at its place.
pub(crate) fn hold(
    layout: &Layout,
    places: &[DVec3],
    carries: impl Fn(usize) -> bool + Copy,
    feet: Option<FeetOn>,
) -> Hold {
    let free = Balance::new(layout, places, carries, Passes::Free, feet);
    if let Some(pulls) = nominal(&free) {
        return yes(&free, &pulls, false);
    }
    if layout.is_free_of_friction() {
        return Hold::No {
            push: push_needed(&free),
        };
    }
    let rubbing = Balance::new(layout, places, carries, Passes::Friction, feet);
    match nominal(&rubbing) {
        Some(pulls) => yes(&rubbing, &pulls, true),
        None => Hold::No {
            push: push_needed(&rubbing),
        },
    }
}

fn yes(balance: &Balance, pulls: &[f64], needs_friction: bool) -> Hold {
    Hold::Yes {
        pulls: balance
            .unknown
            .iter()
            .map(|u| u.map_or(0.0, |u| pulls[u]))
            .collect(),
        feet: balance.feet.map(|_| feet_push(balance, pulls)),
        needs_friction,
    }
}

/// What the lines leave of the weight for the feet.
fn feet_push(balance: &Balance, pulls: &[f64]) -> DVec3 {
    let mut push = DVec3::Z;
    for (k, &axis) in balance.axes().iter().enumerate() {
        push[axis] -= dot(balance.on_harness.row(k), pulls);
    }
    push
}

/// The pulls with the least sum of squares over the spans; `None` where there are none.
fn nominal(balance: &Balance) -> Option<Vec<f64>> {
    let n = balance.unknowns();
    if n == 0 {
        return None;
    }
    // In u = T·√(spans that share it) the sum of squares is |u|².
    let scale: Vec<f64> = balance.shared_by.iter().map(|k| 1.0 / k.sqrt()).collect();
    let scaled = |rows: &Rows, more: usize| {
        let mut to = Rows::with_room(n, rows.len() + more);
        for row in rows.data.chunks_exact(n) {
            to.data.extend(row.iter().zip(&scale).map(|(v, s)| v * s));
        }
        to
    };
    let (e, mut g) = (scaled(&balance.e, 0), scaled(&balance.g, n));
    let mut h = Vec::with_capacity(balance.h.len() + n);
    h.extend_from_slice(&balance.h);
    for j in 0..n {
        g.push()[j] = 1.0;
        h.push(0.0);
    }
    let u = shortest_within(&e, &balance.d, &g, &h, HOLDS_REL)?;
    Some(
        u.iter()
            .zip(&scale)
            .map(|(u, s)| (u * s).max(0.0))
            .collect(),
    )
}

/// The smallest extra force at the harness point that makes a balance, over the weight: what is
/// left of the weight after the best that pulls and feet can do.
fn push_needed(balance: &Balance) -> DVec3 {
    let n = balance.unknowns();
    let surplus = balance.g.len() - if balance.feet.is_some() { 2 } else { 0 };
    let cone = n + surplus;
    let cols = cone + 2;
    let mut a = Rows::new(cols);
    let mut b = Vec::new();
    for (k, &axis) in balance.axes().iter().enumerate() {
        let row = a.push();
        if n > 0 {
            row[..n].copy_from_slice(balance.on_harness.row(k));
        }
        if let Some(feet) = balance.feet {
            for (i, edge) in feet.edges.iter().enumerate() {
                row[cone + i] = if axis == 2 { edge.y } else { edge.x };
            }
        }
        b.push(balance.wanted(axis));
    }
    for i in 0..balance.hanging_rows {
        let row = a.push();
        for (to, from) in row.iter_mut().zip(balance.e.row(i)) {
            *to = FIRM * from;
        }
        b.push(0.0);
    }
    for i in 0..surplus {
        let row = a.push();
        for (to, from) in row.iter_mut().zip(balance.g.row(i)) {
            *to = FIRM * from;
        }
        row[n + i] = -FIRM;
        b.push(0.0);
    }
    if let Some(feet) = balance.feet {
        let row = a.push();
        for (i, edge) in feet.edges.iter().enumerate() {
            row[cone + i] = FIRM * feet.lever.perp_dot(*edge);
        }
        b.push(FIRM * feet.com.x);
    }
    let x = non_negative(&a, &b);
    let mut push = DVec3::ZERO;
    for (k, &axis) in balance.axes().iter().enumerate() {
        push[axis] = b[k] - dot(a.row(k), &x);
    }
    push
}
