//! Rules about what happens when a line goes: `nothing-left`, `strikes`.

use super::Case;
use crate::finding::{Finding, Severity};
use crate::quantity::Quantity;
use crate::statics::LossOutcome;

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
