//! Sheets on paper: PDFs for the pocket, the assessor and the store.
//!
//! ```text
//! Proof ─gather→ Manuscript (plain data, figures drawn for their width) ─(world)→ PDF
//!                     in parallel; the typesetter's caches are emptied every few prints
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

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use crate::finding::{Finding, Place, Severity};
use crate::pack::{LessonId, Pack};
use crate::press::words::Words;
use crate::progress::{Progress, Stage};
use crate::rules::Proof;

use super::{Figures, KIT_RECORDS, OutFile, PRINT_FOLDER, PrintKind, print_name};

pub use world::{Manuscript, Typeset, forget, typeset};

/// Prints set before the typesetter's caches are emptied: few enough to keep memory flat (about
/// 1.8 MB a print), enough that the emptying costs nothing beside the setting.
const CHUNK: usize = 16;

/// What setting the prints gives.
#[derive(Debug, Clone, Default)]
pub struct Prints {
    /// The PDFs, by lesson, then those of courses and kit.
    pub files: Vec<OutFile>,
    /// `sheet-full` for each one-page sheet that left something out.
    pub findings: Vec<Finding>,
}

/// One print to make. Its data are gathered when its turn comes, so that memory holds a few at once.
#[derive(Debug, Clone, Copy)]
enum Job {
    Lesson(PrintKind, LessonId),
    Records,
}

/// Every print of a pack, or of one lesson.
///
/// # Errors
/// `sheet-too-long` for a one-page sheet whose text does not fit, with what to shorten;
/// `print-failed` for a fault of a template.
pub fn sheets(
    proof: &Proof,
    figures: &Figures,
    lesson: Option<LessonId>,
    progress: &dyn Progress,
) -> Result<Prints, Vec<Finding>> {
    let press = Press {
        proof,
        figures,
        words: Words::of_pack(&proof.reading.pack),
    };
    let jobs = jobs(&proof.reading.pack, lesson);
    progress.begin(Stage::Prints, jobs.len());
    let done = AtomicUsize::new(0);
    let results: Vec<_> = jobs
        .par_iter()
        .map(|job| {
            let result = press.set(*job);
            progress.advance();
            if done.fetch_add(1, Ordering::Relaxed) % CHUNK == CHUNK - 1 {
                forget();
            }
            result
        })
        .collect();
    forget();
    let mut prints = Prints::default();
    let mut errors = Vec::new();
    for result in results {
        match result {
            Ok(Some((file, finding))) => {
                prints.files.push(file);
                prints.findings.extend(finding);
            }
            Ok(None) => {}
            Err(finding) => errors.push(finding),
        }
    }
    if errors.is_empty() {
        Ok(prints)
    } else {
        Err(errors)
    }
}

fn jobs(pack: &Pack, lesson: Option<LessonId>) -> Vec<Job> {
    let lessons = match lesson {
        Some(id) => vec![id],
        None => (0..pack.lessons.len()).map(LessonId).collect(),
    };
    let mut jobs: Vec<Job> = lessons
        .into_iter()
        .flat_map(|id| PrintKind::ALL.map(|kind| Job::Lesson(kind, id)))
        .collect();
    if lesson.is_none() {
        jobs.push(Job::Records);
    }
    jobs
}

/// What every print is gathered from.
struct Press<'a> {
    proof: &'a Proof,
    figures: &'a Figures,
    words: Words,
}

impl Press<'_> {
    /// Sets one print; `None` where the pack has nothing for it. The finding says what it left out.
    fn set(&self, job: Job) -> Result<Option<(OutFile, Option<Finding>)>, Finding> {
        let path = self.path(job);
        let place = match job {
            Job::Lesson(_, id) => Some(self.proof.reading.pack.lesson(id).place),
            Job::Records => None,
        };
        let fault = |why: &str| failed(place, &path, why);
        let Some(manuscript) = self.gather(job).map_err(|e| fault(&e.to_string()))? else {
            return Ok(None);
        };
        let done = typeset(&manuscript).map_err(|why| fault(&why))?;
        let left_out = match job {
            Job::Lesson(kind @ (PrintKind::Sheet | PrintKind::Marking), id) => {
                let lesson = self.proof.reading.pack.lesson(id);
                if let Some(note) = done.notes.iter().find(|note| note.get("over_mm").is_some()) {
                    return Err(match kind {
                        PrintKind::Marking => marking::overflow(lesson, note),
                        _ => technique::overflow(lesson, note),
                    });
                }
                if done.pages != 1 {
                    let n = done.pages;
                    return Err(fault(&format!("a one-page sheet came out with {n} pages")));
                }
                technique::left_out(lesson, kind, &done.notes)
            }
            _ => None,
        };
        let file = OutFile {
            path,
            bytes: done.pdf,
        };
        Ok(Some((file, left_out)))
    }

    fn gather(&self, job: Job) -> Result<Option<Manuscript>, serde_json::Error> {
        let (proof, words) = (self.proof, self.words);
        match job {
            Job::Lesson(PrintKind::Sheet, id) => technique::manuscript(proof, id, words).map(Some),
            Job::Lesson(PrintKind::Marking, id) => marking::manuscript(proof, id, words),
            Job::Lesson(kind @ (PrintKind::Questions | PrintKind::Answers), id) => {
                let lesson = proof.reading.pack.lesson(id);
                questions::manuscript(proof, lesson, kind == PrintKind::Answers, words)
            }
            Job::Lesson(PrintKind::Handout, id) => {
                handout::manuscript(proof, self.figures, id, words).map(Some)
            }
            Job::Records => record::manuscript(proof, words),
        }
    }

    /// `print/AS-04-sheet.pdf`.
    fn path(&self, job: Job) -> String {
        match job {
            Job::Lesson(kind, id) => {
                let code = &self.proof.reading.pack.lesson(id).code;
                format!("{PRINT_FOLDER}{}", print_name(code, kind.word()))
            }
            Job::Records => format!("{PRINT_FOLDER}{KIT_RECORDS}"),
        }
    }
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
