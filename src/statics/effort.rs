//! The hand force that takes in a doubled line.
//!
//! ```text
//! Rig + Solved ─r of all passes, the line's share of the weight→ pull of the hitch leg
//! ```

use super::Solved;
use super::layout::{HARNESS, Layout};
use crate::rig::{LineId, Node, PointId, Rig};

/// A doubled line while it runs: what each span carries, and what each pass asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// Pull of each span, in the run's order, newtons; the last is the hand's.
    pub pulls_n: Vec<f64>,
    /// The points that the line passes, and how many times the pull before it the pull after it is.
    pub passes: Vec<(PointId, f64)>,
}

/// Hand force to take in a doubled line at its hitch leg, the last of its run, while rising,
/// newtons; `None` as in [`running`].
pub fn effort_n(rig: &Rig, solved: &Solved, line: LineId) -> Option<f64> {
    running(rig, solved, line)?.pulls_n.last().copied()
}

/// The pulls of a doubled line that runs towards its hitch leg, the last of its run, while rising.
///
/// While the line runs, the hitch leg carries r times the other: `T_hitch = r·T_other`, r the
/// product of the passes' friction. Together they carry what the line carries now, S, along its
/// direction; for legs side by side that is `S·r/(1 + r)`, for such a line alone `W·r/(1 + r)`.
///
/// `None` for a line that does not start and end at the climber or that a grip cuts (it gives no
/// help: the climber raises the whole share that it carries), and where the rig does not hold.
pub fn running(rig: &Rig, solved: &Solved, line: LineId) -> Option<Running> {
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
    // 1/r of each pass, in the run's order; together 1/r of the line.
    let mut passes: Vec<_> = layout
        .passes
        .iter()
        .filter(|pass| part.spans.contains(&pass.before))
        .collect();
    passes.sort_by_key(|pass| pass.before);
    let hold_backs: Vec<f64> = passes
        .iter()
        .map(|pass| layout.hold_back(**pass, &places))
        .collect();
    let hold_back: f64 = hold_backs.iter().product();
    let other = layout.direction(first, &places).dot(along);
    let hitch = -layout.direction(last, &places).dot(along);
    // S = T_hitch·hitch + T_other·other, T_other = T_hitch/r.
    let hand = Some(carried.length() / (hitch + hold_back * other))
        .filter(|n| n.is_finite() && *n >= 0.0)?;
    let mut pulls_n = vec![hand];
    for part in hold_backs.iter().rev() {
        pulls_n.push(pulls_n[pulls_n.len() - 1] * part);
    }
    pulls_n.reverse();
    let points = rig.line(line).run.iter().filter_map(|node| match node {
        Node::Point(id) => Some(*id),
        Node::Climber(_) => None,
    });
    let factors = hold_backs.iter().map(|part| 1.0 / part);
    Some(Running {
        pulls_n,
        passes: points.zip(factors).collect(),
    })
}
