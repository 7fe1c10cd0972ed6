//! The kit register: what to do, every item with its dates, which rope goes with which hitch.

use jiff::civil::Date;
use serde::Serialize;

use crate::kit::KitItem;
use crate::pack::LessonId;
use crate::press::view::{DASH, Document, Rich, kit_limits, pairings};
use crate::rulebook::RULES;

use super::Site;
use super::begin::Subject;
use super::files::print_row;
use super::part::PartView;
use super::sheet::{Field, Neighbour, Sheet};

/// Something to do about kit.
#[derive(Debug, Serialize)]
pub(super) struct TodoRow {
    /// `stop` or `soon`.
    pub(super) state: &'static str,
    pub(super) strong: String,
    /// What stands before the date, the date, what stands after it.
    pub(super) before: String,
    pub(super) date: String,
    pub(super) after: String,
    /// Which rule says so: what stands before its source, the source, what stands after it.
    pub(super) rule: String,
    pub(super) basis: String,
    pub(super) rule_end: String,
    /// The source's language, where it is not the page's.
    pub(super) basis_lang: Option<&'static str>,
}

/// A kit item in the register.
#[derive(Debug, Serialize)]
pub(super) struct RegisterRow {
    pub(super) key: String,
    pub(super) title: String,
    /// Its record, from the page.
    pub(super) href: String,
    pub(super) limits: String,
    pub(super) standards: String,
    pub(super) first_used: String,
    pub(super) retire_by: String,
    pub(super) retire_due: bool,
    pub(super) examine_by: String,
    pub(super) examine_due: bool,
    pub(super) state: &'static str,
    pub(super) state_text: String,
    pub(super) used_in: Vec<Neighbour>,
    pub(super) note: Option<String>,
}

/// A date this near is said beforehand: days.
const SOON_DAYS: i32 = 30;

/// How an item stands on the pack's date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum State {
    /// Out of use.
    Stop,
    /// Due soon.
    Soon,
    /// In date.
    InDate,
}

impl State {
    const fn word(self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::Soon => "soon",
            Self::InDate => "ok",
        }
    }
}

/// One date of an item against the pack's.
struct Due {
    by: Option<Date>,
    /// Days from the pack's date; negative where it is past.
    days: Option<i32>,
}

impl Due {
    fn new(by: Option<Date>, today: Option<Date>) -> Self {
        let days = by.zip(today).map(|(by, today)| (by - today).get_days());
        Self { by, days }
    }

    fn state(&self) -> State {
        match self.days {
            Some(days) if days < 0 => State::Stop,
            Some(days) if days <= SOON_DAYS => State::Soon,
            _ => State::InDate,
        }
    }
}

/// How an item stands on the pack's date: `stop`, `soon` or `ok`.
pub(super) fn state_word(site: &Site<'_>, item: &KitItem) -> &'static str {
    let pack = site.pack();
    let every = pack.rulebook.limit("examine", "every") as i64;
    let retire = Due::new(item.retire_by(), pack.dated);
    let examine = Due::new(item.examine_by(every), pack.dated);
    retire.state().min(examine.state()).word()
}

/// Lessons whose codes a cell of a table holds; more of them would be longer than a screen.
const LESSONS_IN_A_CELL: usize = 60;

/// Builds the register; `None` for a pack without kit.
pub(super) fn sheet(site: &Site<'_>) -> Option<Sheet> {
    let pack = site.pack();
    if pack.kit.is_empty() {
        return None;
    }
    let words = site.words;
    let mut sheet = site.begin(&Subject {
        path: "kit.html".to_owned(),
        current: "kit",
        document: Document::Kit,
        title: words.get("block.kit"),
        code: "",
        place: (1, 1),
    });
    sheet.sub = Some(match pack.dated {
        Some(date) => words.fill("kit.as_of", &[("date", &date.to_string())]),
        None => words.get("kit.no_date").to_owned(),
    });
    sheet.lead = Some(words.get("kit.lead").to_owned());
    sheet.description = words.get("kit.lead").to_owned();
    let every = pack.rulebook.limit("examine", "every") as i64;
    let dues: Vec<(Due, Due)> = pack
        .kit
        .iter()
        .map(|item| {
            let retire = Due::new(item.retire_by(), pack.dated);
            (retire, Due::new(item.examine_by(every), pack.dated))
        })
        .collect();
    let mut todo: Vec<(State, Option<i32>, TodoRow)> = Vec::new();
    for (item, (retire, examine)) in pack.kit.iter().zip(&dues) {
        for (due, is_retire) in [(retire, true), (examine, false)] {
            if due.state() != State::InDate {
                let row = todo_row(site, item, due, is_retire);
                todo.push((due.state(), due.days, row));
            }
        }
    }
    todo.sort_by_key(|(state, days, _)| (*state, *days));
    let count = |state| {
        todo.iter()
            .filter(|(s, ..)| *s == state)
            .count()
            .to_string()
    };
    sheet.fields = site.strip_fields("");
    sheet.fields.push(Field::new(
        words.get("kit.items"),
        pack.kit.len().to_string(),
    ));
    sheet.fields.push(site.owner_field());
    sheet
        .fields
        .push(Field::new(words.get("kit.stop_count"), count(State::Stop)));
    sheet
        .fields
        .push(Field::new(words.get("kit.soon_count"), count(State::Soon)));

    let items = todo.into_iter().map(|(.., row)| row).collect();
    sheet.zone(words.get("kit.todo"), vec![PartView::Todo { items }]);
    let rows = pack
        .kit
        .iter()
        .zip(&dues)
        .map(|(item, due)| register_row(site, item, due));
    let rows: Vec<RegisterRow> = rows.collect();
    for (row, item) in rows.iter().zip(&pack.kit) {
        let text = [Rich::Text {
            text: format!("{}. {} {}", item.title, row.limits, row.standards),
        }];
        sheet.find("", &fragment(item), "kit", &text);
    }
    let mut parts = vec![PartView::Register { rows }];
    let name = words.get("kit.records").to_owned();
    let records = print_row(site, "", site.prints.kit_records(), name, "files.records");
    parts.extend(records.map(|row| PartView::Files { rows: vec![row] }));
    sheet.zone(words.get("kit.register"), parts);
    if let Some(table) = pairings(pack) {
        sheet.zone(words.get("kit.pairs"), vec![PartView::Pairings(table)]);
    }
    let months = words.fill("kit.months", &[("n", &every.to_string())]);
    let examine = words.fill("kit.examine_how", &[("months", &months)]);
    sheet.zone(words.get("kit.dates"), vec![PartView::Dates { examine }]);
    site.close(&mut sheet, Document::Kit);
    Some(sheet)
}

/// Fragment of an item's row.
fn fragment(item: &KitItem) -> String {
    format!("item-{}", item.name)
}

fn todo_row(site: &Site<'_>, item: &KitItem, due: &Due, is_retire: bool) -> TodoRow {
    let words = site.words;
    let rules = &site.pack().rulebook;
    let days = due.days.unwrap_or_default();
    let ago = words.count("kit.day", "kit.days", days.unsigned_abs() as usize);
    let by = due.by.map_or_else(String::new, |d| d.to_string());
    let fields = [
        ("item", item.title.as_str()),
        ("days", ago.as_str()),
        ("date", by.as_str()),
    ];
    let (strong, text, rule) = match (is_retire, due.state() == State::Stop) {
        (true, true) => ("kit.retire_stop", "kit.retire_stop_text", "past-life"),
        (true, false) => ("kit.retire_soon", "kit.retire_soon_text", "past-life"),
        (false, true) => ("kit.examine_stop", "kit.examine_stop_text", "examine"),
        (false, false) => ("kit.examine_soon", "kit.examine_soon_text", "examine"),
    };
    let text = words.fill(text, &fields);
    let (before, after) = text.split_once(by.as_str()).unwrap_or((&text, ""));
    let basis = rules.basis(rule);
    let said = words.fill("kit.rule", &[("rule", rule), ("basis", basis)]);
    let (rule_text, rule_end) = said.rsplit_once(basis).unwrap_or((&said, ""));
    let built_in = RULES
        .iter()
        .any(|own| own.name == rule && own.basis == basis);
    TodoRow {
        state: due.state().word(),
        strong: words.fill(strong, &fields),
        before: before.to_owned(),
        after: after.to_owned(),
        rule: rule_text.to_owned(),
        basis: basis.to_owned(),
        rule_end: rule_end.to_owned(),
        basis_lang: built_in.then(|| site.english()).flatten(),
        date: by,
    }
}

fn register_row(site: &Site<'_>, item: &KitItem, due: &(Due, Due)) -> RegisterRow {
    let (retire, examine) = due;
    let words = site.words;
    let state = retire.state().min(examine.state());
    let text = |date: Option<Date>| date.map_or_else(|| DASH.to_owned(), |d| d.to_string());
    let state_text = match (state, retire.state() == state) {
        (State::Stop, true) => "kit.state_out",
        (State::Stop, false) => "kit.state_overdue",
        (State::Soon, true) => "kit.state_retire",
        (State::Soon, false) => "kit.state_examine",
        (State::InDate, _) if retire.by.is_none() && examine.by.is_none() => "kit.state_unknown",
        (State::InDate, _) => "kit.state_ok",
    };
    RegisterRow {
        key: fragment(item),
        title: item.title.clone(),
        href: super::record::path(item),
        limits: kit_limits(item, site.pack().units, words).join(". "),
        standards: item.standards.join(", "),
        first_used: text(item.record.first_used),
        retire_by: retire
            .by
            .map_or_else(|| words.get("kit.no_retire").to_owned(), |d| d.to_string()),
        retire_due: retire.state() != State::InDate,
        examine_by: text(examine.by),
        examine_due: examine.state() != State::InDate,
        state: state.word(),
        state_text: words.get(state_text).to_owned(),
        used_in: used_in(site, item),
        note: item.note.clone(),
    }
}

/// Links to the lessons that list an item; where they are too many for a cell, one to its record
/// card, which lists them.
pub(super) fn used_in(site: &Site<'_>, item: &KitItem) -> Vec<Neighbour> {
    let lessons: Vec<LessonId> = site.users_of(item).collect();
    if lessons.len() <= LESSONS_IN_A_CELL {
        return site.by_code(lessons.into_iter());
    }
    let words = site.words;
    vec![Neighbour {
        href: super::record::path(item),
        code: words.count("lessons.one", "lessons.many", lessons.len()),
        title: item.title.clone(),
    }]
}
