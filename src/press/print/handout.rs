//! The trainee handout: a whole lesson, several pages.

use serde::Serialize;

use crate::pack::LessonId;
use crate::press::view::Document;
use crate::press::words::Words;
use crate::rules::Proof;

use super::head::Head;
use super::images::Images;
use super::lesson::{LessonData, gather, pictures};
use super::world::Manuscript;

#[derive(Serialize)]
struct Handout {
    #[serde(flatten)]
    head: Head,
    lesson: LessonData,
}

/// Gathers a lesson's handout.
///
/// # Errors
/// Those of writing plain data as JSON: none that is known.
pub fn manuscript(
    proof: &Proof,
    id: LessonId,
    words: Words,
) -> Result<Manuscript, serde_json::Error> {
    let pack = &proof.reading.pack;
    let lesson = pack.lesson(id);
    let mut images = Images::default();
    let handout = Handout {
        head: Head::new(pack, Document::Handout, &lesson.code, &lesson.title, words),
        lesson: gather(proof, id, words, &mut images)?,
    };
    let data = serde_json::to_value(&handout)?;
    images.files.extend(pictures(pack, &data));
    Ok(Manuscript {
        template: "handout.typ",
        data,
        images: images.files,
        ident: format!("{} trainee handout", lesson.code),
    })
}
