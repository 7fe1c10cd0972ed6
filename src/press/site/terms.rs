//! The glossary: terms of the trade, and the lessons that use them.

use serde::Serialize;

use crate::pack::LessonId;
use crate::press::view::{Document, Rich};

use super::Site;
use super::begin::Subject;
use super::part::PartView;
use super::sheet::{Neighbour, Sheet};

/// A term of the trade.
#[derive(Debug, Serialize)]
pub(super) struct TermRow {
    pub(super) id: String,
    pub(super) term: String,
    pub(super) means: String,
    pub(super) used_in: Vec<Neighbour>,
}

/// Builds the page; `None` for a pack without a glossary.
pub(super) fn sheet(site: &Site<'_>) -> Option<Sheet> {
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
    let mut terms: Vec<_> = pack.glossary.iter().collect();
    terms.sort_by_key(|term| term.term.to_lowercase());
    let rows: Vec<TermRow> = terms
        .iter()
        .enumerate()
        .map(|(i, term)| TermRow {
            id: format!("term-{}", i + 1),
            term: term.term.clone(),
            means: term.means.clone(),
            used_in: used_in(site, &term.term),
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

/// Lessons whose text holds the term as a whole word, capitals ignored.
fn used_in(site: &Site<'_>, term: &str) -> Vec<Neighbour> {
    let wanted = term.to_lowercase();
    let lessons = &site.pack().lessons;
    let using = lessons.iter().enumerate().filter(|(_, lesson)| {
        let texts = crate::press::view::lesson_texts(lesson, site.proof);
        texts
            .iter()
            .any(|text| holds_word(&text.to_lowercase(), &wanted))
    });
    site.by_code(using.map(|(i, _)| LessonId(i)))
}

/// Whether a text holds a word with nothing but an ending `s` or `es` after it.
fn holds_word(text: &str, word: &str) -> bool {
    text.match_indices(word).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = &text[at + word.len()..];
        let ends = after.trim_start_matches("es").trim_start_matches('s');
        let free = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
        free(before) && (free(after.chars().next()) || free(ends.chars().next()))
    })
}

#[cfg(test)]
mod tests {
    use super::holds_word;

    #[test]
    fn finds_whole_words_and_plurals() {
        assert!(holds_word("the hitches hold", "hitch"));
        assert!(holds_word("a hitch.", "hitch"));
        assert!(!holds_word("unhitched", "hitch"));
        assert!(!holds_word("ringing", "ring"));
    }
}
