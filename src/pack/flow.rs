//! Text into [`Flow`]: Markdown events with rig values in the place of `` `rig:NAME/path` ``.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use pulldown_cmark::{Event, Tag};

use super::markdown::{self, Source};
use super::{Flow, Inline, LessonId, RigId, RigValue};
use crate::block::{Problem, Text};
use crate::finding::{Finding, Place};
use crate::rig::{Rig, ValuePath};

/// How a rig's value begins in inline code.
const RIG_MARK: &str = "rig:";

/// Stems of the lesson files, by which files name lessons.
#[derive(Debug)]
pub(super) struct LessonNames {
    all: Vec<String>,
    ids: BTreeMap<String, LessonId>,
}

impl LessonNames {
    /// - `all`: each lesson's, in the order of their ids.
    pub(super) fn of(all: Vec<String>) -> Self {
        let ids = all.iter().cloned().zip((0..).map(LessonId)).collect();
        Self { all, ids }
    }

    /// The lesson of a name.
    pub(super) fn id(&self, name: &str) -> Option<LessonId> {
        self.ids.get(name).copied()
    }

    /// All of them, in the order of their ids.
    pub(super) fn all(&self) -> &[String] {
        &self.all
    }
}

/// The names of a pack that texts may use, and a place for what is wrong with them.
#[derive(Debug, Clone)]
pub(super) struct Names<'a> {
    /// Rigs that could be built.
    pub(super) rigs: &'a [Rig],
    /// All rig names; `None` for one whose block has an error, which is noted there.
    pub(super) rig_ids: &'a BTreeMap<String, Option<RigId>>,
    /// Paths below `pictures/`.
    pub(super) pictures: &'a [(String, Vec<u8>)],
    /// The lessons.
    pub(super) lessons: &'a LessonNames,
    /// Keys of all courses' outcomes.
    pub(super) outcomes: &'a [String],
    /// Whether lessons and pictures are known: not for a file on its own.
    pub(super) whole_pack: bool,
    /// What was found wrong.
    pub(super) findings: RefCell<Vec<Finding>>,
    /// Rigs that were asked for by name.
    pub(super) asked: RefCell<BTreeSet<RigId>>,
}

impl Names<'_> {
    /// Notes a problem.
    pub(super) fn report(&self, problem: &Problem, place: Place) {
        self.findings.borrow_mut().push(problem.at(place));
    }

    /// The rig of a name; `None` where there is none (noted) or where it has an error (noted at
    /// its block).
    pub(super) fn rig(&self, name: &str, place: Place) -> Option<RigId> {
        let found = self.rig_ids.get(name).copied();
        self.asked.borrow_mut().extend(found.flatten());
        found.unwrap_or_else(|| {
            let problem = Problem::UnknownName {
                what: "rig",
                name: name.to_owned(),
                valid: self.rig_ids.keys().cloned().collect(),
            };
            self.report(&problem, place);
            None
        })
    }

    /// Notes an outcome that no course has, where there are courses with outcomes.
    pub(super) fn outcome(&self, key: &Text) {
        if self.whole_pack && !self.outcomes.is_empty() && !self.outcomes.contains(&key.value) {
            let problem = Problem::UnknownName {
                what: "outcome",
                name: key.value.clone(),
                valid: self.outcomes.to_vec(),
            };
            self.report(&problem, key.place);
        }
    }

    /// Reads `NAME/path`; `at` gives the place of a part of it.
    pub(super) fn value(&self, text: &str, at: impl Fn(Range<usize>) -> Place) -> Option<RigValue> {
        let place = at(0..text.len());
        let Some((name, path)) = text.split_once('/') else {
            let id = self.rig(text, place)?;
            let problem = Problem::UnknownValue {
                path: String::new(),
                nearest: None,
                valid: value_examples(&self.rigs[id.0]),
            };
            self.report(&problem, place);
            return None;
        };
        let rig = self.rig(name, at(0..name.len()))?;
        let path_start = name.len() + 1;
        match ValuePath::parse(path, &self.rigs[rig.0]) {
            Ok(path) => Some(RigValue { rig, path, place }),
            Err(wrong) => {
                let part = wrong.at.start + path_start..wrong.at.end + path_start;
                let part = if part.is_empty() { place } else { at(part) };
                self.report(&wrong.problem, part);
                None
            }
        }
    }

    /// A value in a block: `"rig:two-limb/main/pull"`.
    pub(super) fn value_of(&self, text: &Text) -> Option<RigValue> {
        let Some(rest) = text.value.strip_prefix(RIG_MARK) else {
            let problem = Problem::UnknownValue {
                path: text.value.clone(),
                nearest: None,
                valid: vec!["rig:NAME/VALUE".to_owned()],
            };
            self.report(&problem, text.place);
            return None;
        };
        self.value(rest, |part| {
            text.part(part.start + RIG_MARK.len()..part.end + RIG_MARK.len())
        })
    }

    /// A text of a block as Markdown.
    pub(super) fn flow(&self, text: &Text) -> Flow {
        let source = Source {
            text: &text.value,
            map: &text.map,
        };
        let mut findings = Vec::new();
        let events = markdown::events(source, &mut findings);
        self.findings.borrow_mut().append(&mut findings);
        let mut flow = Flow::new();
        for (event, place) in events {
            flow.push(self.inline(event, place, source));
        }
        // Flows live as long as the pack.
        flow.shrink_to_fit();
        flow
    }

    /// One event, with a rig's value in its place if it asks for one.
    pub(super) fn inline(&self, event: Event<'static>, place: Place, source: Source<'_>) -> Inline {
        match &event {
            Event::Code(code) => {
                if let Some(path) = code.strip_prefix(RIG_MARK) {
                    let at = |part| code_part(source, place, code, part);
                    if let Some(value) = self.value(path, at) {
                        return Inline::Value(Box::new(value));
                    }
                }
            }
            Event::Start(Tag::Image { dest_url, .. }) => self.check_picture(dest_url, place),
            Event::Start(Tag::Link { dest_url, .. }) => self.check_link(dest_url, place),
            _ => {}
        }
        event.into()
    }

    /// An author's picture must be in `pictures/`.
    fn check_picture(&self, dest: &str, place: Place) {
        if !self.whole_pack || is_outside(dest) {
            return;
        }
        let path = dest.trim_start_matches("../").trim_start_matches("./");
        let path = path.strip_prefix("pictures/").unwrap_or(path);
        if !self.pictures.iter().any(|(name, _)| name == path) {
            let problem = Problem::UnknownName {
                what: "picture",
                name: dest.to_owned(),
                valid: self
                    .pictures
                    .iter()
                    .map(|(name, _)| format!("pictures/{name}"))
                    .collect(),
            };
            self.report(&problem, place);
        }
    }

    /// A link to another lesson's file must find it.
    fn check_link(&self, dest: &str, place: Place) {
        let file = dest.split('#').next().unwrap_or("");
        let Some(stem) = file.strip_suffix(".md") else {
            return;
        };
        if !self.whole_pack || is_outside(dest) {
            return;
        }
        let stem = stem.rsplit('/').next().unwrap_or(stem);
        if self.lessons.id(stem).is_none() {
            let problem = Problem::UnknownName {
                what: "lesson",
                name: dest.to_owned(),
                valid: self
                    .lessons
                    .all()
                    .iter()
                    .map(|l| format!("{l}.md"))
                    .collect(),
            };
            self.report(&problem, place);
        }
    }
}

/// Whether a destination names something outside the pack: `https://...`, `mailto:...`.
fn is_outside(dest: &str) -> bool {
    let scheme = dest.split(['/', '#', '?']).next().unwrap_or("");
    scheme.contains(':') || dest.starts_with("//")
}

/// The values that can be asked of a rig's first line, for an error.
fn value_examples(rig: &Rig) -> Vec<String> {
    let line = rig.lines.first().map_or("LINE", |l| l.name.as_str());
    let forms = crate::rig::VALUE_FORMS.iter();
    let named = |form: &'static &'static str| match form.matches("LINE").count() {
        1 => form.replace("LINE", line),
        _ => (*form).to_owned(),
    };
    forms.map(named).collect()
}

/// The place of a part of what follows `rig:` in a code span.
fn code_part(source: Source<'_>, whole: Place, code: &str, part: Range<usize>) -> Place {
    // The span's own text stands between its marks; find it again in the file through the map.
    let span = span_of(source, whole);
    let found = span.and_then(|span| Some(span.start + source.text[span].find(code)?));
    match found {
        Some(start) => {
            let start = start + RIG_MARK.len();
            source.map.place(start + part.start..start + part.end)
        }
        None => whole,
    }
}

/// The range of the source text whose place is `whole`.
fn span_of(source: Source<'_>, whole: Place) -> Option<Range<usize>> {
    source.map.range_of(whole).filter(|range| {
        source.text.is_char_boundary(range.start) && source.text.is_char_boundary(range.end)
    })
}
