//! Rules about how things are put together: anchors, connectors, hitches, tails, slack, reach.

use std::f64::consts::PI;

use super::Case;
use crate::finding::Finding;
use crate::kit::KitKind;
use crate::quantity::{Quantity, fine_text};
use crate::rig::{Node, Piece, PointId};

/// A positioning item carries another line without an anchor-device rating.
pub(super) fn not_an_anchor(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for id in case.rig.point_ids() {
        let point = case.rig.point(id);
        let users: Vec<_> = case
            .rig
            .lines
            .iter()
            .filter(|line| line.run.contains(&Node::Point(id)))
            .collect();
        let positioning = |name: Option<&String>| {
            case.kit(name)
                .filter(|item| item.kind == KitKind::Lanyard && !item.anchor_device)
        };
        // The item is at the point itself, or is the line that holds a hanging point up.
        let own = positioning(point.kit.as_ref()).filter(|_| !users.is_empty());
        let holding = || {
            let carrier = users.iter().find_map(|line| positioning(line.kit.as_ref()));
            carrier.filter(|_| point.hangs && users.len() > 1)
        };
        if let Some(item) = own.or_else(holding) {
            let message = format!(
                "\"{}\" carries a line at \"{}\" and is positioning equipment, not rated as an anchor device",
                item.title, point.name,
            );
            findings.push(case.finding("not-an-anchor", point.place, message));
        }
    }
}

/// Length of a loop round a round limb whose two legs meet at an angle: `r·(π + θ) + 2·r / tan(θ/2)`,
/// metres. The legs leave the wood as tangents and the arc covers the rest.
///
/// - `radius_m`: of the wood, metres.
/// - `included_rad`: θ between the legs, radians, in `0 < θ < π`; towards π the loop closes on the
///   girth.
fn loop_length_m(radius_m: f64, included_rad: f64) -> f64 {
    radius_m * (PI + included_rad) + 2.0 * radius_m / libm::tan(included_rad / 2.0)
}

/// The wood that a point is fastened to, and its radius there, metres.
fn wood_at<'a>(case: &Case<'a>, id: PointId) -> Option<(&'a Piece, f64)> {
    let name = case.rig.point(id).on.as_ref()?;
    let piece = case
        .rig
        .tree
        .pieces
        .iter()
        .find(|piece| piece.name == *name)?;
    Some((
        piece,
        piece.diameter_at_m(case.solved.points[id.0].at) / 2.0,
    ))
}

/// A connector that closes a loop too short to hang clear of the wood.
pub(super) fn cross_loaded(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let most = case.limit("cross-loaded", "between_legs");
    for id in case.rig.point_ids() {
        let point = case.rig.point(id);
        let (Some(loop_m), Some(connector)) = (point.fitting.loop_m, &point.fitting.closed_by)
        else {
            continue;
        };
        let Some((piece, radius)) = wood_at(case, id) else {
            continue;
        };
        let needed = loop_length_m(radius, most);
        // Tenths of a metre would hide the difference.
        let fine = |metres| fine_text(Quantity::Length(metres), case.pack.units, 1);
        if loop_m < needed {
            let title = case
                .kit(Some(connector))
                .map_or(connector.as_str(), |item| item.title.as_str());
            let message = format!(
                "the loop at \"{}\" is {} round \"{}\" of {} girth: \"{title}\" is pulled across its spine; {} of loop is needed",
                point.name,
                fine(loop_m),
                piece.name,
                fine(2.0 * PI * radius),
                fine(needed),
            );
            findings.push(case.finding("cross-loaded", point.place, message));
        }
    }
}

/// A connector's gate faces a rope that runs.
pub(super) fn gate_towards_rope(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for point in &case.rig.points {
        if point.fitting.gate_to_rope == Some(true) {
            let message = format!(
                "the connector's gate at \"{}\" faces a rope that runs: the moving rope can open it",
                point.name
            );
            findings.push(case.finding("gate-towards-rope", point.place, message));
        }
    }
}

/// A low-melting friction loop used where the line must slide under load.
pub(super) fn hold_only(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for line in &case.rig.lines {
        let cord = case
            .kit(line.assembly.cord.as_ref())
            .filter(|item| item.hold_only);
        if let Some(item) = cord.filter(|_| line.assembly.slides) {
            let message = format!(
                "line \"{}\" must slide under load and its \"{}\" is for holding only: it melts where it slides",
                line.name, item.title
            );
            findings.push(case.finding("hold-only", line.place, message));
        }
    }
}

/// A tail that could run through its hitch or ring.
pub(super) fn no_stopper(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for line in &case.rig.lines {
        if line.assembly.stopper == Some(false) {
            let message = format!(
                "the tail of line \"{}\" has no stopper knot: it could run through",
                line.name
            );
            findings.push(case.finding("no-stopper", line.place, message));
        }
    }
}

/// A free fall above what positioning equipment allows.
pub(super) fn slack(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let limit = case.limit("slack", "fall");
    for line in &case.rig.lines {
        if let Some(fall) = line.assembly.slack_m.filter(|fall| *fall > limit) {
            let message = format!(
                "the slack of line \"{}\" allows a free fall of {}, more than {}: positioning equipment is not made to stop falls",
                line.name,
                case.text(Quantity::Length(fall)),
                case.text(Quantity::Length(limit)),
            );
            findings.push(case.finding("slack", line.place, message));
        }
    }
}

/// An end that must be retrieved is beyond the hands.
pub(super) fn out_of_reach(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let reach = case.limit("out-of-reach", "reach");
    for line in &case.rig.lines {
        for id in &line.assembly.retrieve {
            let away = case.solved.points[id.0].at.distance(case.solved.climber_at);
            if away > reach {
                let message = format!(
                    "line \"{}\" is got back at \"{}\", {} from the work position, and hands reach {}",
                    line.name,
                    case.rig.point(*id).name,
                    fine_text(Quantity::Length(away), case.pack.units, 1),
                    fine_text(Quantity::Length(reach), case.pack.units, 1),
                );
                findings.push(case.finding("out-of-reach", line.place, message));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked by hand from the tangent geometry: a limb of 280 mm.
    #[test]
    fn loop_lengths_round_a_limb() {
        assert!((loop_length_m(0.14, 60_f64.to_radians()) - 1.07).abs() < 0.005);
        assert!((loop_length_m(0.14, 121_f64.to_radians()) - 0.89).abs() < 0.005);
        let girth = 2.0 * PI * 0.14;
        assert!((loop_length_m(0.14, PI - 1e-9) - girth).abs() < 1e-9);
    }
}
