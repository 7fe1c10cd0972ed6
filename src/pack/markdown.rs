//! A lesson's Markdown as pieces: events with their places, and our fenced blocks.
//!
//! The text of a fenced block comes in several events where the block stands in a list or a quote
//! or has CRLF endings; each is mapped on its own.

use std::ops::Range;

use pulldown_cmark::{CodeBlockKind, Event, Options, Parser, Tag, TagEnd};

use crate::block::{BlockText, PlaceMap, Problem};
use crate::finding::{Finding, Place};

/// Info words of the blocks that a lesson may have.
pub(super) const BLOCK_WORDS: [&str; 7] = [
    "lesson",
    "rig",
    "steps",
    "faults",
    "questions",
    "marking",
    "figure",
];

/// One piece of a lesson.
#[derive(Debug)]
pub(super) enum Piece {
    /// Markdown.
    Event(Event<'static>, Place),
    /// A block of ours; larger than an event, and rarer.
    Fence(Box<Fence>),
}

/// A fenced block with one of [`BLOCK_WORDS`].
#[derive(Debug)]
pub(super) struct Fence {
    /// Its word.
    pub(super) word: &'static str,
    /// The word after it.
    pub(super) name: Option<(String, Place)>,
    /// Whatever follows the name.
    pub(super) extra: Option<Place>,
    /// What stands inside; its `place` is the info string.
    pub(super) body: BlockText,
}

/// A Markdown text with its way to the file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Source<'a> {
    /// The text.
    pub(super) text: &'a str,
    /// Its offsets in the file.
    pub(super) map: &'a PlaceMap,
}

fn options() -> Options {
    Options::ENABLE_TABLES
        | Options::ENABLE_FOOTNOTES
        | Options::ENABLE_TASKLISTS
        | Options::ENABLE_HEADING_ATTRIBUTES
}

/// Splits a lesson into pieces; what is wrong with its outer form is noted.
pub(super) fn pieces(source: Source<'_>, findings: &mut Vec<Finding>) -> Vec<Piece> {
    let mut out = Vec::new();
    let mut events = Parser::new_ext(source.text, options()).into_offset_iter();
    while let Some((event, range)) = events.next() {
        let place = source.map.place(range.clone());
        match event {
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) => {
                let texts = events
                    .by_ref()
                    .take_while(|(e, _)| *e != Event::End(TagEnd::CodeBlock))
                    .filter_map(|(e, r)| match e {
                        Event::Text(text) => Some((text.into_string(), r)),
                        _ => None,
                    })
                    .collect();
                fenced(source, &info, range, texts, &mut out, findings);
            }
            Event::Start(Tag::HtmlBlock) => {
                let inner = events
                    .by_ref()
                    .take_while(|(e, _)| *e != Event::End(TagEnd::HtmlBlock));
                let text: String = inner
                    .filter_map(|(e, _)| match e {
                        Event::Html(text) | Event::Text(text) => Some(text.into_string()),
                        _ => None,
                    })
                    .collect();
                if !is_comment(&text) {
                    findings.push(Problem::RawHtml.at(first_line(source, range)));
                    out.push(Piece::Event(Event::Start(Tag::Paragraph), place));
                    out.push(Piece::Event(Event::Text(text.into()), place));
                    out.push(Piece::Event(Event::End(TagEnd::Paragraph), place));
                }
            }
            Event::InlineHtml(html) | Event::Html(html) => {
                if !is_comment(&html) {
                    findings.push(Problem::RawHtml.at(place));
                    out.push(Piece::Event(Event::Text(html.into_string().into()), place));
                }
            }
            Event::Start(Tag::Heading { .. }) => {
                // The event takes in the line break, and the underline of a heading of that sort.
                let place = first_line(source, range);
                out.push(Piece::Event(event.into_static(), place));
            }
            other => out.push(Piece::Event(other.into_static(), place)),
        }
    }
    out
}

/// The events of a text inside a block; a fence there is plain code.
pub(super) fn events(
    source: Source<'_>,
    findings: &mut Vec<Finding>,
) -> Vec<(Event<'static>, Place)> {
    let mut out = Vec::new();
    for piece in pieces(source, findings) {
        match piece {
            Piece::Event(event, place) => out.push((event, place)),
            Piece::Fence(fence) => findings.push(
                Problem::MisplacedBlock {
                    word: fence.word.to_owned(),
                    why: "stands inside another block's text",
                }
                .at(fence.body.place),
            ),
        }
    }
    out
}

/// An author's own note, which shows nothing.
fn is_comment(html: &str) -> bool {
    let html = html.trim();
    html.starts_with("<!--") && html.ends_with("-->")
}

fn first_line(source: Source<'_>, range: Range<usize>) -> Place {
    let text = &source.text[range.clone()];
    let len = text.find(['\r', '\n']).unwrap_or(text.len());
    source.map.place(range.start..range.start + len)
}

/// A fenced block: ours, or code that is shown as it stands.
fn fenced(
    source: Source<'_>,
    info: &str,
    range: Range<usize>,
    texts: Vec<(String, Range<usize>)>,
    out: &mut Vec<Piece>,
    findings: &mut Vec<Finding>,
) {
    let whole = source.map.place(range.clone());
    let (info_at, exact) = info_range(source.text, range, info);
    let mut words = words_of(info, (info_at.clone(), exact));
    let word = words.next();
    let ours = word.as_ref().and_then(|(word, _)| {
        let ours = BLOCK_WORDS.iter();
        ours.copied().find(|known| known == word)
    });
    let Some(ours) = ours else {
        if let Some((word, at)) = word
            && let Some(near) = near_word(word)
        {
            let problem = Problem::UnknownBlock {
                word: word.to_owned(),
                near: near.to_owned(),
            };
            findings.push(problem.at(source.map.place(at)));
        }
        let kind = CodeBlockKind::Fenced(info.to_owned().into());
        out.push(Piece::Event(Event::Start(Tag::CodeBlock(kind)), whole));
        for (text, at) in texts {
            let place = source.map.place(at);
            out.push(Piece::Event(Event::Text(text.into()), place));
        }
        out.push(Piece::Event(Event::End(TagEnd::CodeBlock), whole));
        return;
    };
    let name = words.next();
    let extra = words
        .next()
        .map(|(_, at)| at.start..info_at.end.max(at.end));
    let mut text = String::new();
    let mut middle = PlaceMap::default();
    for (part, at) in texts {
        middle.push(part.len(), at);
        text.push_str(&part);
    }
    let map = middle.then(source.map);
    out.push(Piece::Fence(Box::new(Fence {
        word: ours,
        name: name.map(|(name, at)| (name.to_owned(), source.map.place(at))),
        extra: extra.map(|at| source.map.place(at)),
        body: BlockText {
            text,
            map,
            place: source.map.place(info_at),
            whole,
            label: format!("this `{ours}` block"),
        },
    })));
}

/// Where the info string stands: after the fence marks of the block's first line. `exact` is false
/// where it was written with escapes, so that its parts have no places of their own.
fn info_range(text: &str, block: Range<usize>, info: &str) -> (Range<usize>, bool) {
    let line = text[block.clone()].lines().next().unwrap_or("");
    let marks = line.len() - line.trim_start_matches(['`', '~']).len();
    match line[marks..].find(info) {
        Some(i) if !info.is_empty() => {
            let start = block.start + marks + i;
            (start..start + info.len(), true)
        }
        _ => (block.start..block.start + line.trim_end().len(), false),
    }
}

/// The words of an info string with their places.
fn words_of(
    info: &str,
    (range, exact): (Range<usize>, bool),
) -> impl Iterator<Item = (&str, Range<usize>)> {
    let mut from = 0;
    info.split_whitespace().map(move |word| {
        let at = from + info[from..].find(word).unwrap_or(0);
        from = at + word.len();
        let place = if exact {
            range.start + at..range.start + from
        } else {
            range.clone()
        };
        (word, place)
    })
}

/// One of our words that a slip of the pen could have made into this one: one edit for each three
/// letters.
fn near_word(word: &str) -> Option<&'static str> {
    let lower = word.to_lowercase();
    let near = |known: &&str| {
        let edits = strsim::damerau_levenshtein(&lower, known);
        edits <= (known.chars().count() / 3).max(1)
    };
    BLOCK_WORDS.into_iter().find(near)
}
