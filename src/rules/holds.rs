//! Rules about the hold itself: `no-hold`, `one-line`, `wide-spread`, `rope-angle`.

use std::collections::BTreeSet;

use glam::DVec3;

use super::Case;
use crate::finding::{Finding, Severity};
use crate::quantity::{Quantity, degrees_text};
use crate::rig::{LineId, Node, PieceKind, PointId, Rig};
use crate::value::{angle_between, line_direction};

/// A line carries something if its most pull is above this share of the weight: well above the
/// solver's rounding (1e-9) and far below anything that a climber feels.
const CARRIES_SHARE: f64 = 1e-6;

/// The lines cannot hold the climber where the rig says.
pub(super) fn no_hold(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let Some(push) = case.solved.push_needed_n else {
        return;
    };
    let message = format!(
        "the lines cannot hold the climber here: a push of {} {} would be needed, so the climber moves the other way",
        case.text(Quantity::Force(push.length())),
        direction_words(push),
    );
    findings.push(case.finding("no-hold", case.rig.climber.place, message));
}

/// A direction for people: "straight up", "to the left, 35° from straight up".
fn direction_words(v: DVec3) -> String {
    let angle = angle_between(v, DVec3::Z);
    let side = if v.y.abs() > v.x.abs() {
        if v.y > 0.0 {
            "to the far side"
        } else {
            "to the near side"
        }
    } else if v.x > 0.0 {
        "to the right"
    } else {
        "to the left"
    };
    // Half a degree: below it the angle prints as nothing.
    if angle < 0.5_f64.to_radians() {
        "straight up".into()
    } else {
        format!("{side}, {} from straight up,", degrees_text(angle))
    }
}

/// Lines that meet the climber and carry something.
fn carrying(case: &Case<'_>) -> Vec<LineId> {
    let least = CARRIES_SHARE * case.solved.weight_n;
    let meets = |id: &LineId| case.solved.lines[id.0].on_climber_n.is_some();
    let pulls = |id: &LineId| {
        let answer = &case.solved.lines[id.0];
        answer
            .pull_high_n
            .or(answer.pull_n)
            .is_some_and(|n| n > least)
    };
    case.rig.line_ids().filter(meets).filter(pulls).collect()
}

/// The one anchor, or else the one limb, that every line needs: if it goes, all of them go. A stem is
/// not counted as one anchor: on a bare stem both lines have to go round it.
fn shared_hold(rig: &Rig, lines: &[LineId]) -> Option<String> {
    let sets: Vec<_> = lines.iter().map(|id| anchors(rig, *id)).collect();
    let (first, others) = sets.split_first()?;
    let in_all = |point: &&PointId| others.iter().all(|set| set.contains(*point));
    if let Some(point) = first.iter().find(in_all) {
        return Some(format!("the one anchor \"{}\"", rig.point(*point).name));
    }
    let limbs = |set: &BTreeSet<PointId>| -> BTreeSet<&str> {
        let woods = set.iter().filter_map(|id| rig.point(*id).on.as_deref());
        let limb = |name: &&str| {
            let mut pieces = rig.tree.pieces.iter();
            pieces.any(|piece| piece.name == **name && piece.kind == PieceKind::Limb)
        };
        woods.filter(limb).collect()
    };
    let own = limbs(first);
    let mut own = own.iter();
    let limb = own.find(|limb| others.iter().all(|set| limbs(set).contains(*limb)))?;
    Some(format!("the one limb \"{limb}\""))
}

/// Fixed points that a line ends on or passes.
fn anchors(rig: &Rig, id: LineId) -> BTreeSet<PointId> {
    let points = rig.line(id).run.iter().filter_map(|node| match node {
        Node::Point(point) => Some(*point),
        Node::Climber(_) => None,
    });
    points.filter(|point| !rig.point(*point).hangs).collect()
}

/// A saw in use and fewer than two lines that hold, or all of them on one anchor or one limb.
pub(super) fn one_line(case: &Case<'_>, findings: &mut Vec<Finding>) {
    if !case.two_lines() || !case.solved.holds {
        return;
    }
    let lines = carrying(case);
    let name = |id: &LineId| format!("\"{}\"", case.rig.line(*id).name);
    let message = if lines.len() < 2 {
        let only = lines.first().map_or_else(|| "no line".into(), name);
        format!(
            "a saw is in use and {only} alone carries the climber: two lines are wanted, each able to hold"
        )
    } else {
        let Some(shared) = shared_hold(case.rig, &lines) else {
            return;
        };
        format!("a saw is in use and every line hangs on {shared}: two lines want two anchors")
    };
    findings.push(case.finding("one-line", case.rig.place, message));
}

/// Two lines spread beyond the limit.
pub(super) fn wide_spread(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let limit = case.limit("wide-spread", "spread");
    let lines = carrying(case);
    for (i, a) in lines.iter().enumerate() {
        for b in &lines[i + 1..] {
            let directions = (
                line_direction(case.rig, case.solved, *a),
                line_direction(case.rig, case.solved, *b),
            );
            let (Some(da), Some(db)) = directions else {
                continue;
            };
            let spread = angle_between(da, db);
            if spread > limit {
                let message = format!(
                    "lines \"{}\" and \"{}\" are {} apart, more than {}: each then carries about the climber's weight or more",
                    case.rig.line(*a).name,
                    case.rig.line(*b).name,
                    case.text(Quantity::Angle(spread)),
                    case.text(Quantity::Angle(limit)),
                );
                findings.push(case.finding("wide-spread", case.rig.climber.place, message));
            }
        }
    }
}

/// The first line flatter at the climber than the limit.
pub(super) fn rope_angle(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let limit = case.limit("rope-angle", "from_vertical");
    let first = LineId(0);
    if !carrying(case).contains(&first) {
        return;
    }
    let Some(direction) = line_direction(case.rig, case.solved, first) else {
        return;
    };
    let angle = angle_between(direction, DVec3::Z);
    if angle > limit {
        let line = case.rig.line(first);
        let message = format!(
            "line \"{}\" leaves the climber at {} from the vertical, flatter than {}",
            line.name,
            case.text(Quantity::Angle(angle)),
            case.text(Quantity::Angle(limit)),
        );
        let finding = case.finding("rope-angle", line.place, message);
        debug_assert_eq!(finding.severity, Severity::Note);
        findings.push(finding);
    }
}
