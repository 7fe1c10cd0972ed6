//! Sheets on paper: PDFs for the pocket, the assessor and the store.
//!
//! ```text
//! Proof ─gather→ Manuscript (plain data, figures drawn for their width) ─(world)→ PDF
//!                                   in parallel, a chunk at a time
//! ```
//!
//! Every print is tagged PDF/UA-1 with embedded fonts, and the same bytes for the same pack. What
//! does not fit on a one-page sheet is a finding that says what to shorten.

mod handout;
mod head;
mod images;
mod marking;
mod numbers;
mod questions;
mod record;
mod technique;
mod world;

use rayon::prelude::*;

use crate::finding::{Finding, Place, Severity};
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
    place: Option<Place>,
    /// For a one-page sheet: its lesson, and what to say if it does not fit.
    one_page: Option<(LessonId, Overflow)>,
}

/// Turns a template's note of missing room into a finding.
type Overflow = fn(&Lesson, &serde_json::Value) -> Finding;

/// Every print of a pack.
///
/// # Errors
/// `sheet-too-long` for a one-page sheet whose text does not fit, with what to shorten;
/// `print-failed` for a fault of a template.
pub fn sheets(proof: &Proof, figures: &Figures) -> Result<Vec<OutFile>, Vec<Finding>> {
    let jobs = jobs(proof, figures)
        .map_err(|e| vec![failed(None, "the data of a print", &e.to_string())])?;
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

fn jobs(proof: &Proof, figures: &Figures) -> Result<Vec<Job>, serde_json::Error> {
    let pack = &proof.reading.pack;
    let words = Words::of_pack(pack);
    let mut jobs = Vec::new();
    for (i, lesson) in pack.lessons.iter().enumerate() {
        let id = LessonId(i);
        let mut add = |kind, manuscript, overflow: Option<Overflow>| {
            jobs.push(Job {
                path: path(lesson, kind),
                manuscript,
                place: Some(lesson.place),
                one_page: overflow.map(|overflow| (id, overflow)),
            });
        };
        let sheet = technique::manuscript(proof, id, words)?;
        add("sheet", sheet, Some(technique::overflow));
        if let Some(marking) = marking::manuscript(proof, id, words)? {
            add("marking", marking, Some(marking::overflow));
        }
        for (kind, answers) in [("questions", false), ("answers", true)] {
            if let Some(paper) = questions::manuscript(proof, lesson, answers, words)? {
                add(kind, paper, None);
            }
        }
        add(
            "handout",
            handout::manuscript(proof, figures, id, words)?,
            None,
        );
    }
    if let Some(manuscript) = record::manuscript(proof, words)? {
        jobs.push(Job {
            path: "print/kit-records.pdf".to_owned(),
            manuscript,
            place: None,
            one_page: None,
        });
    }
    Ok(jobs)
}

/// `print/AS-04-sheet.pdf`.
fn path(lesson: &Lesson, kind: &str) -> String {
    format!("print/{}", crate::press::print_name(&lesson.code, kind))
}

fn set(proof: &Proof, job: &Job) -> Result<OutFile, Finding> {
    let done = typeset(&job.manuscript).map_err(|e| failed(job.place, &job.path, &e))?;
    if let Some((id, overflow)) = job.one_page {
        let too_long = done.notes.iter().find(|note| note.get("over_mm").is_some());
        if let Some(note) = too_long {
            return Err(overflow(proof.reading.pack.lesson(id), note));
        }
        if done.pages != 1 {
            let pages = format!("a one-page sheet came out with {} pages", done.pages);
            return Err(failed(job.place, &job.path, &pages));
        }
    }
    Ok(OutFile {
        path: job.path.clone(),
        bytes: done.pdf,
    })
}

/// A fault of ours: the template or its data.
fn failed(place: Option<Place>, what: &str, why: &str) -> Finding {
    Finding {
        code: "print-failed",
        severity: Severity::Error,
        place,
        message: format!("{what} could not be set: {why}"),
        help: Some(
            "this is a fault of the print template, not of the lesson: please report it".to_owned(),
        ),
    }
}
