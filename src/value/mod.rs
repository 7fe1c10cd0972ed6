//! Values of a solved rig by name: the one place where text, figures, questions and sheets get a number.
//!
//! ```text
//! "main/pull" ─parse→ ValuePath ─evaluate(Rig, Solved)→ Quantity
//! ```

use glam::DVec3;

use crate::quantity::Quantity;
use crate::rig::{LineId, Node, Rig, ValuePath};
use crate::statics::{LossOutcome, Solved};

/// The quantity that a path names, or `None` where the rig has no such number: it does not hold,
/// the pull is unbounded, nothing remains after the loss, the zone was not asked for.
pub fn evaluate(rig: &Rig, solved: &Solved, path: ValuePath) -> Option<Quantity> {
    let line = |id: LineId| &solved.lines[id.0];
    let on_climber = |id: LineId| line(id).on_climber_n.map(|v| v.length());
    let loss = |id: LineId| {
        solved
            .loss
            .iter()
            .find(|l| l.line == id)
            .and_then(|l| match &l.outcome {
                LossOutcome::Held {
                    drop_m,
                    speed_m_s,
                    pull_n,
                    ..
                } => Some((*drop_m, *speed_m_s, *pull_n)),
                LossOutcome::NothingHolds => None,
            })
    };
    match path {
        ValuePath::Pull(id) => line(id).pull_n.map(Quantity::Force),
        ValuePath::PullLow(id) => line(id).pull_low_n.map(Quantity::Force),
        ValuePath::PullHigh(id) => line(id).pull_high_n.map(Quantity::Force),
        ValuePath::OnClimber(id) => on_climber(id).map(Quantity::Force),
        ValuePath::Share(id) => on_climber(id).map(|n| Quantity::Share(n / solved.weight_n)),
        ValuePath::Length(id) => Some(Quantity::Length(line(id).length_m)),
        ValuePath::Angle(id) => {
            line_direction(rig, solved, id).map(|d| Quantity::Angle(angle_between(d, DVec3::Z)))
        }
        ValuePath::Load(id) => solved.points[id.0]
            .load_n
            .map(|v| Quantity::Force(v.length())),
        ValuePath::LoadAngle(id) => solved.points[id.0]
            .load_n
            .map(|v| Quantity::Angle(angle_between(v, -DVec3::Z))),
        ValuePath::Spread(a, b) => {
            let (a, b) = (
                line_direction(rig, solved, a)?,
                line_direction(rig, solved, b)?,
            );
            Some(Quantity::Angle(angle_between(a, b)))
        }
        ValuePath::Weight => Some(Quantity::Force(solved.weight_n)),
        ValuePath::ZoneArea => solved.zone.as_ref().map(|z| Quantity::Area(z.area_m2)),
        ValuePath::LossDrop(id) => loss(id).map(|l| Quantity::Length(l.0)),
        ValuePath::LossSpeed(id) => loss(id).map(|l| Quantity::Speed(l.1)),
        ValuePath::LossPull(id) => loss(id).and_then(|l| l.2).map(Quantity::Force),
        ValuePath::Effort(id) => crate::statics::effort_n(rig, solved, id).map(Quantity::Force),
    }
}

/// Unit vector from the climber along a line: its first leg, or the pull's direction where legs differ.
pub fn line_direction(rig: &Rig, solved: &Solved, id: LineId) -> Option<DVec3> {
    let pull = solved.lines[id.0].on_climber_n.unwrap_or(DVec3::ZERO);
    if pull.length() > 0.0 {
        return Some(pull.normalize());
    }
    let first = solved
        .spans
        .iter()
        .find_map(|span| match (span.line == id, span.from, span.to) {
            (true, Node::Climber(_), _) => Some(span.to_at - span.from_at),
            (true, _, Node::Climber(_)) => Some(span.from_at - span.to_at),
            _ => None,
        });
    debug_assert!(id.0 < rig.lines.len(), "a line of another rig");
    first.and_then(DVec3::try_normalize)
}

/// Angle between two vectors, radians, exact near 0 and π: `atan2(|a×b|, a·b)`.
pub fn angle_between(a: DVec3, b: DVec3) -> f64 {
    libm::atan2(a.cross(b).length(), a.dot(b))
}
