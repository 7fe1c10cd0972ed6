//! The question paper, and the answer key that is kept apart from it.

use serde::Serialize;

use crate::pack::{Lesson, Part, Question};
use crate::press::view::{AnswerView, Document, QuestionView, question_view, shown_order};
use crate::press::words::Words;
use crate::rules::Proof;

use super::head::Head;
use super::world::Manuscript;

#[derive(Serialize)]
struct Paper {
    #[serde(flatten)]
    head: Head,
    /// Whether the answers are said.
    answers: bool,
    questions: Vec<QuestionRow>,
}

#[derive(Serialize)]
struct QuestionRow {
    #[serde(flatten)]
    view: QuestionView,
}

/// All questions of a lesson, in order.
pub fn questions(lesson: &Lesson) -> impl Iterator<Item = &Question> {
    let parts = lesson.sections.iter().flat_map(|section| &section.parts);
    parts.flat_map(|part| match part {
        Part::Questions(questions) => questions.as_slice(),
        _ => &[],
    })
}

/// Gathers the paper of a lesson with questions, or with `answers` its key.
///
/// # Errors
/// Those of writing plain data as JSON: none that is known.
pub fn manuscript(
    proof: &Proof,
    lesson: &Lesson,
    answers: bool,
    words: Words,
) -> Result<Manuscript, serde_json::Error> {
    let document = if answers {
        Document::Answers
    } else {
        Document::Questions
    };
    let pack = &proof.reading.pack;
    let paper = Paper {
        head: Head::new(pack, document, &lesson.code, &lesson.title, words),
        answers,
        questions: questions(lesson)
            .map(|question| QuestionRow {
                view: question_view(question, proof, words),
            })
            .collect(),
    };
    let mut data = serde_json::to_value(&paper)?;
    for (row, question) in data["questions"]
        .as_array_mut()
        .into_iter()
        .flatten()
        .zip(&paper.questions)
    {
        if let AnswerView::Order { items } = &question.view.answer {
            row["answer"]["shown"] = shown_order(items.len()).into();
        }
    }
    let kind = if answers {
        "answer key"
    } else {
        "question paper"
    };
    Ok(Manuscript {
        template: "questions.typ",
        data,
        images: Vec::new(),
        ident: format!("{} {kind}", lesson.code),
    })
}
