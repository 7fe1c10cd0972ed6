//! Rules about kit on the pack's date: `past-life`, `examine`, `record`.

use jiff::civil::Date;

use crate::finding::{Finding, Place, Severity};
use crate::kit::KitItem;
use crate::pack::Pack;
use crate::rulebook::rule_named;

/// Checks every kit item; a pack without a date has no due dates.
pub(super) fn check(pack: &Pack, findings: &mut Vec<Finding>) {
    for item in &pack.kit {
        if let Some(today) = pack.dated {
            past_life(pack, item, today, findings);
            examine(pack, item, today, findings);
            later(pack, item, today, findings);
        }
        record(pack, item, findings);
    }
}

/// The finding of a rule at the key to look at, or at the item's title where it has none.
fn finding(
    pack: &Pack,
    rule: &'static str,
    item: &KitItem,
    place: Option<Place>,
    message: String,
) -> Finding {
    let severity = rule_named(rule).map_or(Severity::Error, |r| r.severity);
    let basis = pack.rulebook.basis(rule);
    Finding {
        severity,
        ..Finding::error(rule, place.unwrap_or(item.place), message)
    }
    .with_help(format!("basis: {basis}"))
}

fn past_life(pack: &Pack, item: &KitItem, today: Date, findings: &mut Vec<Finding>) {
    if let Some((by, place)) = item.life_end().filter(|(by, _)| *by < today) {
        let message = format!(
            "{}: take it out of use. It was due for retirement on {by}, {} ago",
            item.title,
            days(by, today)
        );
        findings.push(finding(pack, "past-life", item, place, message));
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
        let last = item.record.examined.last().and_then(|e| e.place);
        let place = last.or(item.places.record);
        findings.push(finding(pack, "examine", item, place, message));
    }
}

/// Days of the record after the pack's date: a slip in one of them puts off what is due.
fn later(pack: &Pack, item: &KitItem, today: Date, findings: &mut Vec<Finding>) {
    let record = &item.record;
    let own = [
        ("making", record.made),
        ("purchase", record.bought),
        ("first use", record.first_used),
    ];
    let own = own.map(|(what, day)| (what, day, item.places.record));
    let history = record.examined.iter();
    let history = history.map(|e| ("an examination", Some(e.dated), e.place));
    for (what, day, place) in own.into_iter().chain(history) {
        if let Some(day) = day.filter(|day| *day > today) {
            let message = format!(
                "{}: the day of {what} is {day}, after the pack's date of {today}: correct it, or bring the pack's date up to it",
                item.title
            );
            findings.push(finding(pack, "record", item, place, message));
        }
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
        findings.push(finding(pack, "record", item, item.places.record, message));
    }
}
