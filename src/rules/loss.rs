//! Rules about what happens when something gives: `nothing-left`, `strikes`, `fall-force`, `thin-limb`.

use super::Case;
use crate::finding::{Finding, Severity, nearest};
use crate::quantity::Quantity;
use crate::statics::{
    GREEN_STRENGTHS, LossOutcome, green_strength, limb_bending, slack_falls, worst_fall,
};

/// Losing one line leaves nothing that holds.
pub(super) fn nothing_left(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for loss in &case.solved.loss {
        if loss.outcome == LossOutcome::NothingHolds {
            let line = case.rig.line(loss.line);
            let message = format!("if line \"{}\" goes, nothing holds the climber", line.name);
            let mut finding = case.finding("nothing-left", line.place, message);
            if case.two_lines() {
                finding.severity = Severity::Error;
            }
            findings.push(finding);
        }
    }
}

/// The swing after a loss meets wood.
pub(super) fn strikes(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for loss in &case.solved.loss {
        let LossOutcome::Held {
            strikes: Some(strike),
            ..
        } = &loss.outcome
        else {
            continue;
        };
        let line = case.rig.line(loss.line);
        let message = format!(
            "if line \"{}\" goes, the climber swings into \"{}\" after {} at up to {}",
            line.name,
            strike.piece,
            case.text(Quantity::Length(strike.after_m)),
            case.text(Quantity::Speed(strike.speed_m_s)),
        );
        findings.push(case.finding("strikes", line.place, message));
    }
}

/// Peak force of the worst fall that slack allows, above the limit. Lines whose kit has no modulus
/// are passed over: their force is not known.
pub(super) fn fall_force(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let limit = case.limit("fall-force", "peak");
    let falls = slack_falls(case.rig, case.solved, |line| {
        case.kit(case.rig.line(line).kit.as_ref())
            .and_then(|item| item.modulus_n)
    });
    let Some((fall, peak)) = worst_fall(&falls).and_then(|fall| Some((fall, fall.peak_n?))) else {
        return;
    };
    if peak > limit {
        let line = case.rig.line(fall.line);
        let message = format!(
            "a fall of {} onto line \"{}\" (fall factor {:.2}) peaks at {}, above {}",
            case.text(Quantity::Length(fall.height_m)),
            line.name,
            fall.fall_factor,
            case.text(Quantity::Force(peak)),
            case.text(Quantity::Force(limit)),
        );
        findings.push(case.finding("fall-force", line.place, message));
    }
}

/// A limb whose bending is a large share of the published green strength of its species: for
/// teaching why to anchor near the union, never a go or no-go.
pub(super) fn thin_limb(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let Some(species) = &case.rig.tree.species else {
        return;
    };
    if green_strength(species).is_none() {
        let near = nearest(species, GREEN_STRENGTHS.iter().map(|s| s.species));
        let near = near.map_or_else(String::new, |n| format!("; the nearest is \"{n}\""));
        let message =
            format!("no green strength is published here for the species \"{species}\"{near}");
        findings.push(case.finding("thin-limb", case.rig.place, message));
        return;
    }
    let limit = case.limit("thin-limb", "share");
    for bending in limb_bending(case.rig, case.solved) {
        let Some(share) = bending.share.filter(|share| *share > limit) else {
            continue;
        };
        let point = case.rig.point(bending.point);
        let message = format!(
            "the load on \"{}\", {} out on \"{}\", bends it to {} of the published green strength of {species}, more than {}: anchor nearer the union (defects, decay and unions govern in practice)",
            point.name,
            case.text(Quantity::Length(bending.arm_m)),
            bending.limb,
            case.text(Quantity::Share(share)),
            case.text(Quantity::Share(limit)),
        );
        findings.push(case.finding("thin-limb", point.place, message));
    }
}
