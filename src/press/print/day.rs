//! The session plan: a teaching day with its times, kit for the group and checks to fill in.

use serde::Serialize;

use crate::pack::Course;
use crate::press::view::{DayView, Document, day_view};
use crate::press::words::Words;
use crate::rules::Proof;

use super::head::Head;
use super::world::Manuscript;

#[derive(Serialize)]
struct Plan {
    #[serde(flatten)]
    head: Head,
    day: DayView,
}

/// Gathers the plan of a course's day.
///
/// - `index`: which of the course's days, from 0.
///
/// # Errors
/// Those of writing plain data as JSON: none that is known.
pub fn manuscript(
    proof: &Proof,
    course: &Course,
    index: usize,
    words: Words,
) -> Result<Manuscript, serde_json::Error> {
    let pack = &proof.reading.pack;
    let day = day_view(pack, course, index, words);
    let plan = Plan {
        head: Head::new(pack, Document::Day, &day.course_code, &day.title, words),
        day,
    };
    Ok(Manuscript {
        template: "day.typ",
        data: serde_json::to_value(&plan)?,
        images: Vec::new(),
        ident: format!("{} session plan {}", course.name, index + 1),
    })
}
