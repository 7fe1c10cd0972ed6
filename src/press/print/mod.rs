//! Sheets on paper: PDFs for the pocket, the assessor and the store.
//!
//! ```text
//! Proof ─gather→ Manuscript (plain data, figures drawn for their width) ─(world)→ PDF
//!                                   in parallel, a chunk at a time
//! ```
//!
//! Every print is tagged PDF/UA-1 with embedded fonts, and the same bytes for the same pack. What
//! does not fit on a one-page sheet is a finding that says what to shorten.

mod head;
mod images;
mod numbers;
mod technique;
mod world;

use rayon::prelude::*;

use crate::finding::{Finding, Place};
use crate::pack::{Lesson, LessonId};
use crate::press::view;
use crate::press::words::Words;
use crate::rules::Proof;

use super::{Figures, OutFile};

pub use world::{Manuscript, Typeset, forget, typeset};

/// Prints set before the typesetter's caches are emptied: enough to keep every core busy, few
/// enough to keep memory flat (about 1.8 MB a print).
const CHUNK: usize = 16;

/// One print to make.
struct Job {
    path: String,
    manuscript: Manuscript,
    /// Where its lesson stands, for a fault of the print itself.
    place: Place,
    /// What to say if it has more than one page or leaves a note of missing room.
    lesson: Option<LessonId>,
}

/// Every print of a pack.
///
/// # Errors
/// `sheet-too-long` for a one-page sheet whose text does not fit, with what to shorten;
/// `print-failed` for a fault of a template.
pub fn sheets(proof: &Proof, figures: &Figures) -> Result<Vec<OutFile>, Vec<Finding>> {
    let jobs = jobs(proof, figures)?;
    let mut files = Vec::with_capacity(jobs.len());
    let mut findings = Vec::new();
    for chunk in jobs.chunks(CHUNK) {
        let done: Vec<_> = chunk.par_iter().map(|job| set(proof, job)).collect();
        forget();
        for result in done {
            match result {
                Ok(file) => files.push(file),
                Err(finding) => findings.push(finding),
            }
        }
    }
    if findings.is_empty() {
        Ok(files)
    } else {
        Err(findings)
    }
}

fn jobs(proof: &Proof, _figures: &Figures) -> Result<Vec<Job>, Vec<Finding>> {
    let pack = &proof.reading.pack;
    let words = Words::for_language(view::language(pack));
    let mut jobs = Vec::new();
    for (i, lesson) in pack.lessons.iter().enumerate() {
        let id = LessonId(i);
        let manuscript = technique::manuscript(proof, id, words)
            .map_err(|e| vec![failed(lesson.place, &lesson.code, &e.to_string())])?;
        jobs.push(Job {
            path: path(lesson, "sheet"),
            manuscript,
            place: lesson.place,
            lesson: Some(id),
        });
    }
    Ok(jobs)
}

/// `print/AS-04-sheet.pdf`. Signs of a code that do not belong in a file name become hyphens.
fn path(lesson: &Lesson, kind: &str) -> String {
    let keep = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
    let code: String = lesson
        .code
        .chars()
        .map(|c| if keep(c) { c } else { '-' })
        .collect();
    format!("print/{code}-{kind}.pdf")
}

fn set(proof: &Proof, job: &Job) -> Result<OutFile, Finding> {
    let done = typeset(&job.manuscript).map_err(|e| failed(job.place, &job.path, &e))?;
    let too_long = done.notes.iter().find(|note| note.get("over_mm").is_some());
    if let (Some(note), Some(id)) = (too_long, job.lesson) {
        return Err(technique::overflow(proof.reading.pack.lesson(id), note));
    }
    if job.lesson.is_some() && done.pages != 1 {
        let pages = format!("a one-page sheet came out with {} pages", done.pages);
        return Err(failed(job.place, &job.path, &pages));
    }
    Ok(OutFile {
        path: job.path.clone(),
        bytes: done.pdf,
    })
}

/// A fault of ours: the template or its data.
fn failed(place: Place, what: &str, why: &str) -> Finding {
    Finding::error(
        "print-failed",
        place,
        format!("{what} could not be set: {why}"),
    )
    .with_help("this is a fault of the print template, not of the lesson: please report it")
}
