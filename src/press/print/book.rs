//! The course book: every lesson of a course in one document, with the terms of the trade.

use serde::Serialize;

use crate::pack::{Course, Term};
use crate::press::view::{ChangeRow, Document, changes};
use crate::press::words::Words;
use crate::quantity::number_text;
use crate::rules::Proof;

use super::head::Head;
use super::images::Images;
use super::lesson::{Fact, LessonData, gather, pictures};
use super::world::Manuscript;

#[derive(Serialize)]
struct Book<'a> {
    #[serde(flatten)]
    head: Head,
    summary: &'a str,
    facts: Vec<Fact>,
    /// Outcomes of the course: key and words.
    outcomes: Vec<(&'a str, &'a str)>,
    lessons: Vec<LessonData>,
    /// Terms and what they mean, by term.
    terms: Vec<(&'a str, &'a str)>,
    changes: Vec<ChangeRow>,
}

/// Gathers the book of a course.
///
/// # Errors
/// Those of writing plain data as JSON: none that is known.
pub fn manuscript(
    proof: &Proof,
    course: &Course,
    words: Words,
) -> Result<Manuscript, serde_json::Error> {
    let pack = &proof.reading.pack;
    let mut images = Images::default();
    let lessons = course.lessons.iter();
    let lessons = lessons.map(|id| gather(proof, *id, words, &mut images));
    let lessons = lessons.collect::<Result<Vec<_>, _>>()?;
    let mut terms: Vec<&Term> = pack.glossary.iter().collect();
    terms.sort_by_key(|term| term.term.to_lowercase());
    let code = course.code.as_deref().unwrap_or_default();
    let book = Book {
        head: Head::new(pack, Document::Book, code, &course.title, words),
        summary: course.summary.as_deref().unwrap_or_default(),
        facts: facts(course, words),
        outcomes: course
            .outcomes
            .iter()
            .map(|o| (o.key.as_str(), o.text.as_str()))
            .collect(),
        lessons,
        terms: terms
            .iter()
            .map(|t| (t.term.as_str(), t.means.as_str()))
            .collect(),
        changes: changes(pack),
    };
    let data = serde_json::to_value(&book)?;
    images.files.extend(pictures(pack, &data));
    Ok(Manuscript {
        template: "book.typ",
        data,
        images: images.files,
        ident: format!("{} course book", course.name),
    })
}

fn facts(course: &Course, words: Words) -> Vec<Fact> {
    let fact = |key, text| Fact {
        name: words.get(key).to_owned(),
        text,
    };
    let mut facts = vec![fact("course.lessons", course.lessons.len().to_string())];
    if let Some(hours) = course.hours {
        let text = number_text(hours, 1);
        let text = text.strip_suffix(".0").unwrap_or(&text);
        facts.push(fact(
            "print.time",
            words.fill("course.hours", &[("n", text)]),
        ));
    }
    facts
}
