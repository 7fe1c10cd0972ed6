//! A lesson from its pieces: the `lesson` block, then sections with their parts.
//!
//! A block in a list or a quote cuts it: the list is closed before the block and goes on after it
//! with the next number, so that every stretch of text is whole by itself.

use std::collections::BTreeSet;

use pulldown_cmark::{Event, HeadingLevel, Tag, TagEnd};

use super::flow::Names;
use super::markdown::{Fence, Piece, Source};
use super::{Flow, Part, Section, blocks};
use crate::block::{BlockText, Problem, Text, walk};
use crate::finding::{Finding, Place};

/// The `lesson` block, names still as words.
#[derive(Debug)]
pub(super) struct Head {
    pub(super) title: Option<Text>,
    pub(super) code: Option<Text>,
    pub(super) summary: Option<String>,
    pub(super) minutes: Option<u32>,
    pub(super) level: Option<String>,
    pub(super) needs: Vec<Text>,
    pub(super) outcomes: Vec<Text>,
    pub(super) kit: Vec<(Text, u32)>,
    pub(super) two_lines: bool,
    pub(super) references: Vec<String>,
}

/// Reads the `lesson` block.
pub(super) fn head(block: &BlockText) -> (Head, Vec<Finding>) {
    walk(block, |mut root| {
        let head = Head {
            title: root
                .need("title", "title = \"Held between two limbs\"")
                .and_then(|item| item.text()),
            code: root
                .need("code", "code = \"AA-01\"")
                .and_then(|item| item.text()),
            summary: root.string("summary"),
            minutes: root.count("minutes"),
            level: root.string("level"),
            needs: root.texts("needs"),
            outcomes: root.texts("outcomes"),
            kit: kit_uses(&mut root),
            two_lines: root.flag("two_lines"),
            references: root
                .texts("references")
                .into_iter()
                .map(|t| t.value)
                .collect(),
        };
        root.finish();
        head
    })
}

/// `kit = ["climbing-line", { item = "connector", count = 3 }]`.
fn kit_uses(root: &mut crate::block::Table<'_>) -> Vec<(Text, u32)> {
    let items = root.take("kit").and_then(|item| item.list());
    let items = items.unwrap_or_default().into_iter();
    items
        .filter_map(|item| {
            if item.is_text() {
                return item.text().map(|text| (text, 1));
            }
            let mut table = item.table("an entry of `kit`".to_owned())?;
            let name = table
                .need("item", "item = \"connector\"")
                .and_then(|item| item.text());
            let count = table.count("count").unwrap_or(1);
            table.finish();
            Some((name?, count))
        })
        .collect()
}

/// Builds the sections of a lesson.
pub(super) fn sections(
    pieces: Vec<Piece>,
    source: Source<'_>,
    file_start: Place,
    names: &Names<'_>,
) -> Vec<Section> {
    let mut build = Build {
        sections: vec![Section {
            heading: Flow::new(),
            id: String::new(),
            on_sheet: false,
            parts: Vec::new(),
            place: file_start,
        }],
        text: Flow::new(),
        open: Vec::new(),
        ids: BTreeSet::new(),
        source,
        names,
    };
    let mut pieces = pieces.into_iter();
    while let Some(piece) = pieces.next() {
        match piece {
            Piece::Event(Event::Start(Tag::Heading { level, .. }), _)
                if level <= HeadingLevel::H2 && build.open.is_empty() =>
            {
                build.heading(piece, &mut pieces);
            }
            Piece::Event(event, place) => build.event(event, place),
            Piece::Fence(fence) => build.fence(&fence),
        }
    }
    build.end_text();
    let mut sections = build.sections;
    sections.shrink_to_fit();
    for section in &mut sections {
        section.parts.shrink_to_fit();
    }
    if sections.first().is_some_and(|s| s.parts.is_empty()) && sections.len() > 1 {
        sections.remove(0);
    }
    sections
}

struct Build<'a> {
    sections: Vec<Section>,
    /// The text since the last block or heading.
    text: Flow,
    /// Containers around the present place, outermost first.
    open: Vec<Open>,
    ids: BTreeSet<String>,
    source: Source<'a>,
    names: &'a Names<'a>,
}

/// A container that is open in the source.
struct Open {
    start: Tag<'static>,
    /// Items seen so far, for the number to go on with.
    items: u64,
    /// Whether its start is in the present text: not between a block and what follows it.
    written: bool,
}

impl Build<'_> {
    /// A heading of level 1 or 2 begins a section.
    fn heading(&mut self, start: Piece, rest: &mut impl Iterator<Item = Piece>) {
        self.end_text();
        let Piece::Event(Event::Start(Tag::Heading { id, classes, .. }), place) = start else {
            return;
        };
        let mut heading = Flow::new();
        let mut words = String::new();
        for piece in rest.by_ref() {
            match piece {
                Piece::Event(Event::End(TagEnd::Heading(_)), _) => break,
                Piece::Event(event, at) => {
                    let inline = self.names.inline(event, at, self.source);
                    if let Some(Event::Text(text) | Event::Code(text)) = inline.event() {
                        words.push_str(&text);
                    }
                    heading.push(inline);
                }
                Piece::Fence(_) => {}
            }
        }
        heading.shrink_to_fit();
        let mut on_sheet = false;
        for class in &classes {
            if class.as_ref() == SHEET_MARK {
                on_sheet = true;
            } else {
                let problem = Problem::UnknownWord {
                    key: "a heading's mark".to_owned(),
                    word: class.to_string(),
                    valid: vec![SHEET_MARK.to_owned()],
                };
                self.names.report(&problem, self.class_place(class, place));
            }
        }
        let base = id.map_or_else(|| slug(&words), |id| slug(&id));
        let id = self.fresh_id(&base);
        self.sections.push(Section {
            heading,
            id,
            on_sheet,
            parts: Vec::new(),
            place,
        });
    }

    /// Where a heading's mark stands.
    fn class_place(&self, class: &str, heading: Place) -> Place {
        let range = self.source.map.range_of(heading);
        let found = range.and_then(|range| {
            let text = self.source.text.get(range.clone())?;
            let at = range.start + text.rfind(class)?;
            Some(self.source.map.place(at..at + class.len()))
        });
        found.unwrap_or(heading)
    }

    fn event(&mut self, event: Event<'static>, place: Place) {
        match &event {
            Event::End(end) if self.open.last().is_some_and(|o| o.start.to_end() == *end) => {
                let written = self.open.pop().is_some_and(|o| o.written);
                if written {
                    self.text.push(event.into());
                }
            }
            Event::Start(tag) if is_container(tag) => {
                if let (Tag::Item, Some(list)) = (tag, self.open.last_mut()) {
                    list.items += 1;
                }
                self.reopen();
                self.open.push(Open {
                    start: tag.clone(),
                    items: 0,
                    written: true,
                });
                self.text.push(event.into());
            }
            _ => {
                self.reopen();
                let inline = self.names.inline(event, place, self.source);
                self.text.push(inline);
            }
        }
    }

    /// A block: the text before it is closed, its part follows.
    fn fence(&mut self, fence: &Fence) {
        self.end_text();
        let part = if fence.word == "rig" {
            let name = fence.name.as_ref();
            let id = name.and_then(|(name, _)| self.names.rig_ids.get(name).copied().flatten());
            // A second rig of the same name is noted where the rigs are read.
            let own = id.filter(|id| self.names.rigs[id.0].place == fence.body.place);
            own.map(Part::Rig)
        } else {
            blocks::read(fence, self.names)
        };
        if let (Some(part), Some(section)) = (part, self.sections.last_mut()) {
            section.parts.push(part);
        }
    }

    /// Closes what is open and puts the text so far into the section.
    fn end_text(&mut self) {
        for open in self.open.iter_mut().rev() {
            if open.written {
                let end = Event::End(open.start.to_end());
                self.text.push(end.into());
                open.written = false;
            }
        }
        let mut text = std::mem::take(&mut self.text);
        text.shrink_to_fit();
        if let (false, Some(section)) = (text.is_empty(), self.sections.last_mut()) {
            section.parts.push(Part::Text(text));
        }
    }

    /// Opens again what a block has closed, because more of it follows.
    fn reopen(&mut self) {
        for open in self.open.iter_mut().filter(|o| !o.written) {
            let start = match &open.start {
                Tag::List(Some(first)) => Tag::List(Some(first + open.items.saturating_sub(1))),
                other => other.clone(),
            };
            self.text.push(Event::Start(start).into());
            open.written = true;
        }
    }

    /// An id that no other section of the lesson has.
    fn fresh_id(&mut self, base: &str) -> String {
        let base = if base.is_empty() { "section" } else { base };
        let numbered = (2..).map(|n| format!("{base}-{n}"));
        let mut ids = std::iter::once(base.to_owned()).chain(numbered);
        let id = ids.find(|id| !self.ids.contains(id));
        let id = id.unwrap_or_else(|| base.to_owned());
        self.ids.insert(id.clone());
        id
    }
}

/// The class of a heading whose section goes on the technique sheet.
const SHEET_MARK: &str = "sheet";

const fn is_container(tag: &Tag<'_>) -> bool {
    matches!(
        tag,
        Tag::List(_) | Tag::Item | Tag::BlockQuote(_) | Tag::FootnoteDefinition(_)
    )
}

/// Letters and digits in lower case with single hyphens between.
fn slug(words: &str) -> String {
    let mut slug = String::new();
    for c in words.chars().flat_map(char::to_lowercase) {
        if c.is_alphanumeric() {
            slug.push(c);
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    slug.trim_end_matches('-').to_owned()
}
