//! Rules about kit on the pack's date: `past-life`, `examine`, `record`.

use jiff::civil::Date;

use crate::finding::{Finding, Severity};
use crate::kit::KitItem;
use crate::pack::Pack;
use crate::rulebook::rule_named;

/// Checks every kit item; a pack without a date has no due dates.
pub(super) fn check(pack: &Pack, findings: &mut Vec<Finding>) {
    for item in &pack.kit {
        if let Some(today) = pack.dated {
            past_life(pack, item, today, findings);
            examine(pack, item, today, findings);
        }
        record(pack, item, findings);
    }
}

fn finding(pack: &Pack, rule: &'static str, item: &KitItem, message: String) -> Finding {
    let severity = rule_named(rule).map_or(Severity::Error, |r| r.severity);
    let basis = pack.rulebook.basis(rule);
    Finding {
        severity,
        ..Finding::error(rule, item.place, message)
    }
    .with_help(format!("basis: {basis}"))
}

fn past_life(pack: &Pack, item: &KitItem, today: Date, findings: &mut Vec<Finding>) {
    if let Some(by) = item.retire_by().filter(|by| *by < today) {
        let message = format!(
            "{}: take it out of use. It was due for retirement on {by}, {} ago",
            item.title,
            days(by, today)
        );
        findings.push(finding(pack, "past-life", item, message));
    }
}

fn examine(pack: &Pack, item: &KitItem, today: Date, findings: &mut Vec<Finding>) {
    let every = pack.rulebook.limit("examine", "every") as i64;
    if let Some(by) = item.examine_by(every).filter(|by| *by < today) {
        let message = format!(
            "{}: keep it out of use until it is examined. Its thorough examination was due on {by}, {} ago",
            item.title,
            days(by, today)
        );
        findings.push(finding(pack, "examine", item, message));
    }
}

fn days(from: Date, to: Date) -> String {
    let days = (to - from).get_days();
    if days == 1 {
        "1 day".into()
    } else {
        format!("{days} days")
    }
}

fn record(pack: &Pack, item: &KitItem, findings: &mut Vec<Finding>) {
    let record = &item.record;
    let fields = [
        ("serial or batch number", record.serial.is_some()),
        ("maker", record.maker.is_some()),
        ("date of making", record.made.is_some()),
        ("date of purchase", record.bought.is_some()),
        ("date of first use", record.first_used.is_some()),
        ("user", record.user.is_some()),
    ];
    let missing: Vec<_> = fields
        .iter()
        .filter(|(_, there)| !there)
        .map(|(what, _)| *what)
        .collect();
    if !missing.is_empty() {
        let message = format!(
            "{}: its record lacks the {}",
            item.title,
            missing.join(", the ")
        );
        findings.push(finding(pack, "record", item, message));
    }
}
