//! The pack's own files: `pack.toml`, `rules.toml`, `glossary.toml`, `courses/*.toml`.

use super::day::{self, DayFile};
use super::{Change, Outcome, Pack, Paper, Term};
use crate::block::{BlockText, Item, Problem, Table, Text, walk};
use crate::finding::{Finding, Place, Severity};
use crate::quantity::Units;
use crate::rulebook::{self, LimitUnit, Replaced, Rulebook, Weighed};

/// Language of a pack that names none.
const DEFAULT_LANGUAGE: &str = "en";

/// A pack of which nothing is known.
pub(super) fn plain_pack() -> Pack {
    Pack {
        language: DEFAULT_LANGUAGE.to_owned(),
        ..Pack::default()
    }
}

/// Reads `pack.toml` into a pack that is otherwise empty.
pub(super) fn pack_file(file: &BlockText) -> (Pack, Vec<Finding>) {
    walk(file, |mut root| {
        let title = root
            .need("title", "title = \"Crew school of Aldermoor Arboretum\"")
            .and_then(|item| item.text());
        let units = [("metric", Units::Metric), ("imperial", Units::Imperial)];
        let papers = [("A4", Paper::A4), ("US Letter", Paper::UsLetter)];
        let pack = Pack {
            title: title.map_or_else(String::new, |t| t.value),
            organisation: root.string("organisation"),
            language: root
                .string("language")
                .unwrap_or_else(|| DEFAULT_LANGUAGE.to_owned()),
            units: root
                .take("units")
                .and_then(|item| item.word(&units))
                .unwrap_or_default(),
            paper: root
                .take("paper")
                .and_then(|item| item.word(&papers))
                .unwrap_or_default(),
            revision: root.string("revision"),
            dated: root.take("dated").and_then(|item| item.date()),
            caution: root
                .take("caution")
                .map(|item| {
                    let items = item.one_or_more();
                    let texts = items.iter().filter_map(Item::text);
                    texts.map(|t| t.value).collect()
                })
                .unwrap_or_default(),
            summary: root.string("summary"),
            prepared_by: root.string("prepared_by"),
            approved_by: root.string("approved_by"),
            changes: root
                .table_list("change")
                .into_iter()
                .filter_map(change)
                .collect(),
            ..Pack::default()
        };
        root.finish();
        pack
    })
}

/// `[[change]]` of the table of changes.
fn change(mut table: Table<'_>) -> Option<Change> {
    let revision = table.need("revision", "revision = \"B\"");
    let revision = revision.and_then(|item| item.text());
    let dated = table
        .need("dated", "dated = 2026-03-01")
        .and_then(|item| item.date());
    let what = table
        .need("what", "what = \"Second line added to lesson 3\"")
        .and_then(|item| item.text());
    table.finish();
    Some(Change {
        revision: revision?.value,
        dated: dated?,
        what: what?.value,
    })
}

/// A course file, lessons still as words.
#[derive(Debug)]
pub(super) struct CourseFile {
    pub(super) title: Option<Text>,
    pub(super) code: Option<Text>,
    pub(super) summary: Option<String>,
    pub(super) lessons: Vec<Text>,
    pub(super) outcomes: Vec<Outcome>,
    pub(super) hours: Option<f64>,
    pub(super) days: Vec<DayFile>,
}

/// Reads a course file.
pub(super) fn course_file(file: &BlockText) -> (CourseFile, Vec<Finding>) {
    walk(file, |mut root| {
        let title = root
            .need("title", "title = \"First week\"")
            .and_then(|item| item.text());
        let code = root.take("code").and_then(|item| item.text());
        let summary = root.string("summary");
        let lessons_item = root.need("lessons", "lessons = [\"two-limb\"]");
        let lessons = lessons_item.as_ref().map(Item::texts).unwrap_or_default();
        if let Some(item) = lessons_item.filter(|item| item.list().is_some_and(|l| l.is_empty())) {
            item.report(&Problem::Conflict {
                message: "this course has no lesson".to_owned(),
                help: "name its lessons in the order of teaching, such as [\"two-limb\"]"
                    .to_owned(),
            });
        }
        for (i, text) in lessons.iter().enumerate() {
            if lessons[..i].iter().any(|before| before.value == text.value) {
                let problem = Problem::Conflict {
                    message: format!("this course has the lesson \"{}\" twice", text.value),
                    help: "keep one; a `[[day]]` may teach a lesson in several parts".to_owned(),
                };
                root.report(&problem, text.place);
            }
        }
        let hours = root.take("hours").and_then(|item| item.number_from(0.0));
        let mut outcomes: Vec<Outcome> = Vec::new();
        for mut table in root.table_list("outcome") {
            let key = table
                .need("key", "key = \"O1\"")
                .and_then(|item| item.text());
            let text = table
                .need("text", "text = \"Sets a line with two anchors\"")
                .and_then(|item| item.text());
            let place = table.place();
            if let Some(key) = &key
                && outcomes.iter().any(|o| o.key == key.value)
            {
                let problem = Problem::Conflict {
                    message: format!("this course has two outcomes \"{}\"", key.value),
                    help: "give one of them another key".to_owned(),
                };
                table.report(&problem, key.place);
            }
            table.finish();
            if let (Some(key), Some(text)) = (key, text) {
                outcomes.push(Outcome {
                    key: key.value,
                    text: text.value,
                    place,
                });
            }
        }
        let days = root.table_list("day").into_iter().map(day::read).collect();
        root.finish();
        CourseFile {
            title,
            code,
            summary,
            lessons,
            outcomes,
            hours,
            days,
        }
    })
}

/// The words of `severity`: `none` silences a rule.
const WEIGHTS: [(&str, Option<Severity>); 4] = [
    ("error", Some(Severity::Error)),
    ("warning", Some(Severity::Warning)),
    ("note", Some(Severity::Note)),
    ("none", None),
];

/// Reads `rules.toml`: a table a rule, its limits, its weight and the source that gives them.
pub(super) fn rules_file(file: &BlockText) -> (Rulebook, Vec<Finding>) {
    walk(file, |mut root| {
        let mut book = Rulebook::default();
        for rule in rulebook::RULES {
            let Some(mut table) = root.table(rule.name) else {
                continue;
            };
            let mut replaced = Vec::new();
            for limit in rule.limits {
                let value = table.take(limit.key).and_then(|item| match limit.unit {
                    LimitUnit::Factor => item.number_from(0.0),
                    LimitUnit::Quantity(kind) => item.positive(kind),
                    LimitUnit::Months => item.months().map(|m| m as f64),
                });
                replaced.extend(value.map(|value| (limit, value)));
            }
            let weight = table.take("severity");
            let source = table.take("source");
            // Without a limit or a weight there is nothing to source, but then the table says
            // nothing either.
            if source.is_none() && (rule.protects() || weight.is_none()) {
                table.missing("source", "source = \"Crew school rule 7, 2026\"");
            }
            let given = source.is_some();
            let source = source.and_then(|item| item.text());
            let source = source.map_or_else(String::new, |s| s.value);
            let severity = weight.as_ref().and_then(|item| item.word(&WEIGHTS));
            table.finish();
            for (limit, value) in replaced {
                let source = source.clone();
                book.replace(rule, limit, Replaced { value, source });
            }
            if let (Some(severity), Some(item)) = (severity, weight)
                && (given || !rule.protects())
            {
                let place = item.place();
                let weighed = Weighed {
                    severity,
                    source,
                    place,
                };
                book.weigh(rule, weighed);
            }
        }
        root.finish_names("rule");
        root.finish();
        book
    })
}

/// Reads `glossary.toml`: `[[term]]` with `term` and `means`.
pub(super) fn glossary_file(file: &BlockText) -> (Vec<Term>, Vec<Finding>) {
    walk(file, |mut root| {
        let mut terms: Vec<Term> = Vec::new();
        for mut table in root.table_list("term") {
            let term = table
                .need("term", "term = \"bridge\"")
                .and_then(|item| item.text());
            let means = table
                .need(
                    "means",
                    "means = \"The short rope of a harness that a line hangs on.\"",
                )
                .and_then(|item| item.text());
            if let Some(term) = &term
                && terms
                    .iter()
                    .any(|t| t.term.to_lowercase() == term.value.to_lowercase())
            {
                let problem = Problem::Conflict {
                    message: format!("the glossary has \"{}\" twice", term.value),
                    help: "keep one of them".to_owned(),
                };
                table.report(&problem, term.place);
            }
            table.finish();
            if let (Some(term), Some(means)) = (term, means) {
                terms.push(Term {
                    place: term.place,
                    term: term.value,
                    means: means.value,
                });
            }
        }
        root.finish();
        terms
    })
}

/// The start of a file.
pub(super) const fn start_of(file: usize) -> Place {
    Place {
        file,
        start: 0,
        end: 0,
    }
}
