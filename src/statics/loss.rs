//! What happens when one line goes and the others keep the length they had.
//!
//! ```text
//! Rig at its place ─without one line, hung→ rest ─swing→ path ─strike→ Loss, one a line
//! Loss ─swing, when it is drawn→ path
//! ```

use glam::DVec3;

use super::hung::rest_after_loss;
use super::layout::{HARNESS, Layout};
use super::swing::{Swing, strike};
use super::{Loss, LossOutcome, STANDARD_GRAVITY, Solved, StaticsProblem};
use crate::rig::{LineId, Node, Rig};

/// A drop below this is none: metres, the accuracy promised for lengths.
const NO_DROP_M: f64 = 1e-9;

/// The loss of every line of a rig at its place.
///
/// - `lengths_m`: what each part keeps, see [`Layout::lengths_m`].
///
/// # Errors
/// [`StaticsProblem::NotSettled`] where a resting place was not found.
pub(crate) fn losses(
    rig: &Rig,
    layout: &Layout,
    places: &[DVec3],
    lengths_m: &[f64],
) -> Result<Vec<Loss>, StaticsProblem> {
    rig.line_ids()
        .map(|line| {
            let outcome = loss(rig, layout, places, lengths_m, line)?;
            Ok(Loss { line, outcome })
        })
        .collect()
}

fn loss(
    rig: &Rig,
    layout: &Layout,
    places: &[DVec3],
    lengths_m: &[f64],
    line: LineId,
) -> Result<LossOutcome, StaticsProblem> {
    let (less, kept) = without(layout, lengths_m, line);
    let start = places[HARNESS];
    let found = match rest_after_loss(&less, places, &kept) {
        Ok(found) => found,
        Err(StaticsProblem::NothingHolds) => return Ok(LossOutcome::NothingHolds),
        Err(problem) => return Err(problem),
    };
    let fallen = start.z - found[HARNESS].z;
    let (at_rest, drop_m) = match fallen > NO_DROP_M {
        true => (found, fallen),
        false => (places.to_vec(), 0.0),
    };
    let rest = at_rest[HARNESS];
    let path = Swing {
        layout: &less,
        places,
        lengths_m: &kept,
        rest,
    }
    .path();
    Ok(LossOutcome::Held {
        rest,
        points: at_rest[HARNESS + 1..].to_vec(),
        drop_m,
        speed_m_s: (2.0 * STANDARD_GRAVITY * drop_m).sqrt(),
        pull_n: single_straight_m(rig, &less, places, &kept).map(|length| {
            let weight_n = rig.climber.nominal_mass_kg() * STANDARD_GRAVITY;
            weight_n * (1.0 + 2.0 * drop_m / length)
        }),
        strikes: strike(&path, &rig.tree),
    })
}

/// The swing after a loss: harness points from the start, through the lowest, to the mirror height.
/// Empty where nothing holds.
///
/// - `solved`: the answer of the rig that the loss is from.
pub fn swing(rig: &Rig, solved: &Solved, loss: &Loss) -> Vec<DVec3> {
    let LossOutcome::Held { rest, .. } = loss.outcome else {
        return Vec::new();
    };
    let layout = Layout::new(rig);
    let points = solved.points.iter().map(|point| point.at);
    let places: Vec<DVec3> = std::iter::once(solved.climber_at).chain(points).collect();
    let (less, kept) = without(&layout, &layout.lengths_m(rig, &places), loss.line);
    Swing {
        layout: &less,
        places: &places,
        lengths_m: &kept,
        rest,
    }
    .path()
}

/// What remains without a line, and what each of its parts keeps.
fn without(layout: &Layout, lengths_m: &[f64], line: LineId) -> (Layout, Vec<f64>) {
    let parts = layout.parts.iter().zip(lengths_m);
    let remaining = parts.filter(|(part, _)| part.line != line.0);
    let kept = remaining.map(|(_, length)| *length).collect();
    (layout.without(line.0), kept)
}

/// Length of the one line that remains, if it runs straight from the climber to a fixed point and
/// is taut at the start. A slack one catches a fall with a jerk that this model has no number for.
fn single_straight_m(rig: &Rig, less: &Layout, places: &[DVec3], lengths_m: &[f64]) -> Option<f64> {
    let [part] = less.parts.as_slice() else {
        return None;
    };
    let straight = match rig.lines[part.line].run.as_slice() {
        [Node::Climber(_), Node::Point(id)] | [Node::Point(id), Node::Climber(_)] => {
            !rig.point(*id).hangs
        }
        _ => false,
    };
    let taut = less.part_length(0, places) >= lengths_m[0] - NO_DROP_M;
    (straight && taut && lengths_m[0] > 0.0).then_some(lengths_m[0])
}
