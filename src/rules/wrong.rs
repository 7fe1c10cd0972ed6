//! `wrong = [...]`: a rig that shows a mistake must break exactly the rules that it names.

use crate::finding::Finding;
use crate::rig::Rig;

/// Takes away the findings that the rig shows on purpose and returns them, and reports every rule
/// that is named and not broken, or broken and not named.
pub(super) fn compare(rig: &Rig, findings: &mut Vec<Finding>) -> Vec<Finding> {
    if rig.wrong.is_empty() {
        return Vec::new();
    }
    let broken: Vec<&'static str> = findings.iter().map(|f| f.code).collect();
    let named = |code: &str| rig.wrong.iter().any(|(name, _)| name == code);
    let mut own = Vec::new();
    for (name, place) in &rig.wrong {
        if !broken.contains(&name.as_str()) {
            let message = format!("this rig is marked as breaking \"{name}\", and it does not");
            own.push(Finding::error("wrong", *place, message));
        }
    }
    let (shown, stray): (Vec<Finding>, Vec<Finding>) =
        findings.drain(..).partition(|f| named(f.code));
    for finding in stray {
        let message = format!(
            "this rig shows a mistake and also breaks \"{}\", which `wrong` does not name",
            finding.code
        );
        own.push(Finding::error("wrong", rig.place, message).with_help(finding.message));
    }
    own.dedup();
    *findings = own;
    shown
}
