//! The glossary: terms of the trade, and the lessons that use them.

use std::ops::Range;

use serde::Serialize;

use crate::pack::{Lesson, LessonId, Pack, Term};
use crate::press::text::TERM_MARK;
use crate::press::view::{Document, Rich};
use crate::rules::Proof;

use super::Site;
use super::begin::Subject;
use super::part::PartView;
use super::sheet::{Neighbour, Sheet};
use super::unit::Facts;

/// A term of the trade.
#[derive(Debug, Serialize)]
pub(super) struct TermRow {
    pub(super) id: String,
    pub(super) term: String,
    pub(super) means: String,
    pub(super) used_in: Vec<Neighbour>,
}

/// Builds the page; `None` for a pack without a glossary.
///
/// - `lessons`: of each lesson of the pack.
pub(super) fn sheet(site: &Site<'_>, lessons: &[Facts]) -> Option<Sheet> {
    let pack = site.pack();
    let words = site.words;
    if pack.glossary.is_empty() {
        return None;
    }
    let mut sheet = site.begin(&Subject {
        path: "terms.html".to_owned(),
        current: "terms",
        document: Document::Terms,
        title: words.get("terms.title"),
        code: "",
        place: (1, 1),
    });
    sheet.lead = Some(words.get("terms.lead").to_owned());
    sheet.description = words.get("terms.lead").to_owned();
    sheet.fields = site.strip_fields("");
    sheet.fields.push(site.owner_field());
    let rows: Vec<TermRow> = by_id(pack)
        .into_iter()
        .map(|(id, term)| TermRow {
            id,
            term: term.term.clone(),
            means: term.means.clone(),
            used_in: used_in(site, lessons, &term.term),
        })
        .collect();
    for row in &rows {
        let text = [Rich::Text {
            text: format!("{}: {}", row.term, row.means),
        }];
        sheet.find("", &row.id, "term", &text);
    }
    sheet.zone(words.get("terms.title"), vec![PartView::Terms { rows }]);
    site.close(&mut sheet, Document::Terms);
    Some(sheet)
}

/// The terms in order of the alphabet, each with its fragment name.
fn by_id(pack: &Pack) -> Vec<(String, &Term)> {
    let mut terms: Vec<&Term> = pack.glossary.iter().collect();
    terms.sort_by_key(|term| term.term.to_lowercase());
    let named = terms.into_iter().enumerate();
    named
        .map(|(i, term)| (format!("term-{}", i + 1), term))
        .collect()
}

/// A term that a lesson has not linked yet.
#[derive(Debug, Clone)]
pub(super) struct Unlinked {
    id: String,
    /// In small letters.
    word: String,
}

/// All terms of a pack, the longest first, so that "doubled line" goes before "line".
pub(super) fn unlinked(pack: &Pack) -> Vec<Unlinked> {
    let mut terms: Vec<Unlinked> = by_id(pack)
        .into_iter()
        .map(|(id, term)| Unlinked {
            id,
            word: term.term.to_ascii_lowercase(),
        })
        .collect();
    terms.sort_by_key(|term| std::cmp::Reverse(term.word.len()));
    terms
}

/// Makes the first use of each term that is not linked yet a link to the glossary, and takes the term
/// from the list. Headings, links and code stay as they are.
pub(super) fn link_first_uses(pieces: &mut Vec<Rich>, terms: &mut Vec<Unlinked>) {
    let mut i = 0;
    while i < pieces.len() {
        match &mut pieces[i] {
            Rich::Paragraph { inside }
            | Rich::Quote { inside }
            | Rich::Strong { inside }
            | Rich::Emphasis { inside } => link_first_uses(inside, terms),
            Rich::List { items, .. } => {
                for item in items {
                    link_first_uses(item, terms);
                }
            }
            Rich::Table { rows, .. } => {
                for cell in rows.iter_mut().flatten() {
                    link_first_uses(cell, terms);
                }
            }
            Rich::Text { text } => {
                let small = text.to_ascii_lowercase();
                let uses = terms.iter().enumerate();
                let first = uses
                    .filter_map(|(n, term)| Some((word_at(&small, &term.word)?, n)))
                    .min_by_key(|(at, _)| at.start);
                if let Some((at, n)) = first {
                    let term = terms.remove(n);
                    let text = std::mem::take(text);
                    let say = |part: &str| Rich::Text { text: part.into() };
                    let link = Rich::Link {
                        to: format!("{TERM_MARK}{}", term.id),
                        inside: vec![say(&text[at.clone()])],
                    };
                    // What follows is looked at next, past the link.
                    let parts = [say(&text[..at.start]), link, say(&text[at.end..])];
                    pieces.splice(i..=i, parts);
                    i += 1;
                }
            }
            _ => {}
        }
        i += 1;
    }
}

/// Lessons that use a term.
fn used_in(site: &Site<'_>, lessons: &[Facts], term: &str) -> Vec<Neighbour> {
    let uses = |facts: &Facts| facts.terms.iter().any(|used| used == term);
    let using = lessons.iter().enumerate().filter(|(_, facts)| uses(facts));
    site.by_code(using.map(|(i, _)| LessonId(i)))
}

/// The terms that a lesson's text holds as whole words, capitals ignored.
pub(super) fn used_by(lesson: &Lesson, proof: &Proof) -> Vec<String> {
    let texts = crate::press::view::lesson_texts(lesson, proof);
    let texts: Vec<String> = texts.iter().map(|text| text.to_lowercase()).collect();
    let terms = proof.reading.pack.glossary.iter().map(|term| &term.term);
    let used = terms.filter(|term| {
        let wanted = term.to_lowercase();
        texts.iter().any(|text| holds_word(text, &wanted))
    });
    used.cloned().collect()
}

/// Whether a text holds a word with nothing but an ending `s` or `es` after it.
fn holds_word(text: &str, word: &str) -> bool {
    word_at(text, word).is_some()
}

/// Where a text first holds a word, an ending `s` or `es` included.
fn word_at(text: &str, word: &str) -> Option<Range<usize>> {
    text.match_indices(word).find_map(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = &text[at + word.len()..];
        let free = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
        let ending = ["", "s", "es"].into_iter().find(|ending| {
            let rest = after.strip_prefix(*ending);
            rest.is_some_and(|rest| free(rest.chars().next()))
        })?;
        free(before).then(|| at..at + word.len() + ending.len())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_first_use_outside_links_becomes_a_link() {
        let text = |text: &str| Rich::Text { text: text.into() };
        let link = |to: &str, inside: &str| Rich::Link {
            to: to.into(),
            inside: vec![text(inside)],
        };
        let term = |id: &str, word: &str| Unlinked {
            id: id.into(),
            word: word.into(),
        };
        let mut terms = vec![term("term-1", "doubled line"), term("term-2", "line")];
        let mut pieces = vec![
            link("a.md", "line"),
            Rich::Paragraph {
                inside: vec![text("A Doubled line, then lines and a line.")],
            },
        ];
        link_first_uses(&mut pieces, &mut terms);
        let inside = vec![
            text("A "),
            link("term:term-1", "Doubled line"),
            text(", then "),
            link("term:term-2", "lines"),
            text(" and a line."),
        ];
        assert_eq!(pieces, [link("a.md", "line"), Rich::Paragraph { inside }]);
        assert!(terms.is_empty());
    }

    #[test]
    fn finds_whole_words_and_plurals() {
        assert!(holds_word("the hitches hold", "hitch"));
        assert!(holds_word("a hitch.", "hitch"));
        assert!(!holds_word("unhitched", "hitch"));
        assert!(!holds_word("ringing", "ring"));
    }
}
