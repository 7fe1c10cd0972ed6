//! The hand force that takes in a doubled line.
//!
//! ```text
//! Rig + Solved ─r of all passes, the line's share of the weight→ pull of the hitch leg
//! ```

use super::Solved;
use super::layout::{HARNESS, Layout};
use crate::rig::{LineId, Rig};

/// Hand force to take in a doubled line at its hitch leg, the last of its run, while rising,
/// newtons.
///
/// While the line runs, the hitch leg carries r times the other: `T_hitch = r·T_other`, r the
/// product of the passes' friction. Together they carry what the line carries now, S, along its
/// direction; for legs side by side that is `S·r/(1 + r)`, for such a line alone `W·r/(1 + r)`.
///
/// `None` for a line that does not start and end at the climber or that a grip cuts (it gives no
/// help: the climber raises the whole share that it carries), and where the rig does not hold.
pub fn effort_n(rig: &Rig, solved: &Solved, line: LineId) -> Option<f64> {
    let layout = Layout::new(rig);
    let mut parts = layout.parts.iter().filter(|part| part.line == line.0);
    let (Some(part), None) = (parts.next(), parts.next()) else {
        return None;
    };
    let (first, last) = (part.spans.start, part.spans.end - 1);
    let doubled = layout.spans[first].from == HARNESS && layout.spans[last].to == HARNESS;
    if !doubled || first == last {
        return None;
    }
    let carried = solved.lines[line.0].on_climber_n?;
    let along = carried.try_normalize()?;
    let places: Vec<_> = std::iter::once(solved.climber_at)
        .chain(solved.points.iter().map(|p| p.at))
        .collect();
    // 1/r of each pass; together 1/r of the line.
    let hold_back: f64 = layout
        .passes
        .iter()
        .filter(|pass| part.spans.contains(&pass.before))
        .map(|pass| layout.hold_back(*pass, &places))
        .product();
    let other = layout.direction(first, &places).dot(along);
    let hitch = -layout.direction(last, &places).dot(along);
    // S = T_hitch·hitch + T_other·other, T_other = T_hitch/r.
    Some(carried.length() / (hitch + hold_back * other)).filter(|n| n.is_finite() && *n >= 0.0)
}
