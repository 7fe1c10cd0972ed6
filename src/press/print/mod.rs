//! Sheets on paper: PDFs for the pocket, the assessor and the store.
//!
//! ```text
//! Proof ─gather→ Manuscript (plain data, figures drawn for their width) ─(world)→ PDF
//!                     in parallel; the typesetter's caches are emptied after each print
//! ```
//!
//! Every print is tagged PDF/UA-1 with embedded fonts, and the same bytes for the same pack. What
//! does not fit on a one-page sheet is a finding that says what to shorten.

mod book;
mod day;
mod handout;
mod head;
mod images;
mod lesson;
mod marking;
mod numbers;
mod questions;
mod record;
mod tables;
mod technique;
mod world;

use std::sync::atomic::{AtomicUsize, Ordering};

use crate::figure::Drawing;
use crate::finding::{Finding, Severity};
use crate::pack::{LessonId, OwnFile, Pack};
use crate::press::own;
use crate::press::view::{criteria, pairings};
use crate::press::words::Words;
use crate::progress::{Progress, Stage};
use crate::rules::Proof;

use super::{
    KIT_PAIRINGS, KIT_RECORDS, OutFile, PRINT_FOLDER, PrintKind, PrintList, course_print_name,
    print_name,
};

pub use world::{Fault, Manuscript, Spot, Templates, Typeset, forget, typeset};

/// What setting the prints gives, besides the PDFs.
#[derive(Debug, Clone, Default)]
pub struct Prints {
    /// Which prints there are.
    pub list: PrintList,
    /// `sheet-full` for each one-page sheet that left something out.
    pub findings: Vec<Finding>,
}

/// One print to make. Its data are gathered when its turn comes, so that memory holds a few at once.
#[derive(Debug, Clone, Copy)]
enum Job {
    Lesson(PrintKind, LessonId),
    /// All lessons of a course, by its place in the pack.
    Book(usize),
    /// Outcomes of a course.
    Outcomes(usize),
    /// A day of a course, by its place in the course.
    Day(usize, usize),
    Records,
    Pairings,
}

/// A figure as a PDF of one page that has the figure's size, its letters searchable, its description
/// as the alternative text.
///
/// # Errors
/// As [`typeset`]: a fault of the template `figure.typ`.
pub fn figure_pdf(pack: &Pack, drawing: &Drawing) -> Result<Vec<u8>, Fault> {
    let file = "figure.svg";
    let manuscript = Manuscript {
        template: "figure.typ",
        data: serde_json::json!({
            "title": drawing.title,
            "alt": drawing.description,
            "language": pack.language,
            "file": file,
            "width": drawing.size_mm.0,
            "height": drawing.size_mm.1,
        }),
        images: vec![(file.to_owned(), drawing.svg.clone().into_bytes())],
        ident: drawing.id.clone(),
    };
    Ok(typeset(&manuscript, &Templates::of_pack(pack))?.pdf)
}

/// Which prints to make: those that everything asked for here holds of.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Batch<'a> {
    /// Those of one lesson only.
    pub lesson: Option<LessonId>,
    /// One kind of a lesson's prints only.
    pub kind: Option<PrintKind>,
    /// The one with this file name only.
    pub name: Option<&'a str>,
}

impl Batch<'_> {
    fn has(self, pack: &Pack, job: Job) -> bool {
        let of_lesson = match job {
            Job::Lesson(kind, id) => {
                self.lesson.is_none_or(|own| own == id) && self.kind.is_none_or(|own| own == kind)
            }
            _ => self.lesson.is_none() && self.kind.is_none(),
        };
        of_lesson && self.name.is_none_or(|own| own == job.name(pack))
    }
}

/// Every print of a pack, or a batch of them.
///
/// - `take`: given each PDF when it is set, from many threads and in no order, so that memory holds
///   a few at once.
///
/// # Errors
/// `sheet-too-long` for a one-page sheet whose text does not fit, with what to shorten;
/// `print-failed` for a fault of a template. PDFs may have been taken by then.
pub fn sheets(
    proof: &Proof,
    batch: Batch<'_>,
    take: &(dyn Fn(OutFile) + Sync),
    progress: &dyn Progress,
) -> Result<Prints, Vec<Finding>> {
    let press = Press {
        proof,
        words: Words::of_pack(&proof.reading.pack),
        templates: Templates::of_pack(&proof.reading.pack),
        take,
    };
    let pack = &proof.reading.pack;
    let jobs: Vec<Job> = jobs(pack).filter(|job| batch.has(pack, *job)).collect();
    progress.begin(Stage::Prints, jobs.len());
    let results = press.set_all(&jobs, progress);
    let mut prints = Prints::default();
    let mut errors = Vec::new();
    for result in results {
        match result {
            Ok((name, bytes, finding)) => {
                prints.list.add(name, bytes);
                prints.findings.extend(finding);
            }
            Err(finding) => errors.push(finding),
        }
    }
    if errors.is_empty() {
        Ok(prints)
    } else {
        Err(errors)
    }
}

/// File names of every print of a pack.
pub(super) fn names(pack: &Pack) -> impl Iterator<Item = String> + '_ {
    jobs(pack).map(|job| job.name(pack))
}

/// Every print of a pack. The longest come first: no core is left alone with a book at the end.
fn jobs(pack: &Pack) -> impl Iterator<Item = Job> + '_ {
    let books = (0..pack.courses.len()).map(Job::Book);
    let lessons = (0..pack.lessons.len()).map(LessonId);
    let of_lessons = lessons.flat_map(|id| PrintKind::ALL.map(|kind| Job::Lesson(kind, id)));
    let of_courses = pack.courses.iter().enumerate().flat_map(|(i, course)| {
        let days = (0..course.days.len()).map(move |day| Job::Day(i, day));
        std::iter::once(Job::Outcomes(i)).chain(days)
    });
    let all = books.chain(of_lessons).chain(of_courses);
    all.chain([Job::Records, Job::Pairings])
        .filter(|job| job.says_something(pack))
}

impl Job {
    /// Whether the pack has something for it: only then is it a print.
    fn says_something(self, pack: &Pack) -> bool {
        match self {
            Self::Lesson(PrintKind::Sheet | PrintKind::Handout, _) => true,
            Self::Book(_) | Self::Day(..) => true,
            Self::Lesson(PrintKind::Marking, id) => criteria(pack.lesson(id)).next().is_some(),
            Self::Lesson(PrintKind::Questions | PrintKind::Answers, id) => {
                questions::questions(pack.lesson(id)).next().is_some()
            }
            Self::Outcomes(i) => !pack.courses[i].outcomes.is_empty(),
            Self::Records => !pack.kit.is_empty(),
            Self::Pairings => pairings(pack).is_some(),
        }
    }

    /// `AS-04-sheet.pdf`, `AS-book.pdf`, `AS-day-1.pdf`.
    fn name(self, pack: &Pack) -> String {
        let of_course = |i: usize, kind: &str| course_print_name(&pack.courses[i], kind);
        match self {
            Self::Lesson(kind, id) => print_name(&pack.lesson(id).code, kind.word()),
            Self::Book(i) => of_course(i, "book"),
            Self::Outcomes(i) => of_course(i, "outcomes"),
            Self::Day(i, day) => of_course(i, &format!("day-{}", day + 1)),
            Self::Records => KIT_RECORDS.to_owned(),
            Self::Pairings => KIT_PAIRINGS.to_owned(),
        }
    }
}

/// What every print is gathered from.
struct Press<'a> {
    proof: &'a Proof,
    words: Words,
    templates: Templates,
    take: &'a (dyn Fn(OutFile) + Sync),
}

/// A print's name, its size in bytes and what it left out.
type Done = Result<(String, usize, Option<Finding>), Finding>;

impl Press<'_> {
    /// Sets prints on all cores; results in the order of the jobs.
    ///
    /// On threads of its own: the typesetter shares out its work within a print, and a worker of that
    /// pool that waits would begin another print on top of the one it is in, until its stack is full.
    fn set_all(&self, jobs: &[Job], progress: &dyn Progress) -> Vec<Done> {
        let next = AtomicUsize::new(0);
        let work = || {
            let mut own = Vec::new();
            loop {
                let i = next.fetch_add(1, Ordering::Relaxed);
                let Some(job) = jobs.get(i) else {
                    return own;
                };
                own.push((i, self.set(*job)));
                progress.advance();
                forget();
            }
        };
        let mut results: Vec<(usize, Done)> = std::thread::scope(|scope| {
            let workers = 0..rayon::current_num_threads().min(jobs.len());
            let workers: Vec<_> = workers.map(|_| scope.spawn(work)).collect();
            let joined = workers.into_iter().map(std::thread::ScopedJoinHandle::join);
            joined
                .flat_map(|own| own.unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
                .collect()
        });
        results.sort_by_key(|(i, _)| *i);
        results.into_iter().map(|(_, done)| done).collect()
    }

    /// Sets one print. The finding says what it left out.
    fn set(&self, job: Job) -> Done {
        let name = job.name(&self.proof.reading.pack);
        let path = format!("{PRINT_FOLDER}{name}");
        let manuscript = self
            .gather(job)
            .map_err(|e| self.failed(job, &path, &e.to_string().as_str().into()))?;
        let done = typeset(&manuscript, &self.templates)
            .map_err(|fault| self.broken(job, &path, manuscript.template, &fault))?;
        self.has_cautions(&path, &manuscript, &done)?;
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
                    let pages = format!("a one-page sheet came out with {} pages", done.pages);
                    let fault = pages.as_str().into();
                    return Err(self.broken(job, &path, manuscript.template, &fault));
                }
                technique::left_out(lesson, kind, &done.notes)
            }
            _ => None,
        };
        let size = done.pdf.len();
        (self.take)(OutFile {
            path,
            bytes: done.pdf,
        });
        Ok((name, size, left_out))
    }

    /// No print leaves without its cautions, whatever a pack's own template does.
    fn has_cautions(
        &self,
        path: &str,
        manuscript: &Manuscript,
        done: &Typeset,
    ) -> Result<(), Finding> {
        // Without its cautions a sheet that does not fit has no page at all: that is said elsewhere.
        if done.notes.iter().any(|note| note.get("over_mm").is_some()) {
            return Ok(());
        }
        for caution in manuscript.cautions() {
            let wanted: String = caution.chars().filter(|c| !c.is_whitespace()).collect();
            if !done.text.contains(&wanted) {
                let message = format!("{path} is laid out without the caution “{caution}”");
                let help = "every print says all of data.cautions";
                let place = self.own(manuscript.template).map(|(_, file)| file.start());
                return Err(Finding {
                    code: "cautions-missing",
                    severity: Severity::Error,
                    place,
                    message,
                    help: Some(help.to_owned()),
                });
            }
        }
        Ok(())
    }

    /// The pack's own file that has a hand in a template: of its name, else one that it may build on.
    fn own(&self, template: &str) -> Option<(String, &OwnFile)> {
        let own = &self.proof.reading.pack.own;
        let named = |name: &str| {
            let path = format!("print/{name}");
            own.get(&path).map(|file| (path, file))
        };
        let shared = ["lesson.typ", "pages.typ", "frame.typ"];
        std::iter::once(template).chain(shared).find_map(named)
    }

    /// A fault of a template: the pack's own at its line, or one of ours.
    fn broken(&self, job: Job, path: &str, template: &str, fault: &Fault) -> Finding {
        let own_at = fault.at.as_ref().and_then(|spot| {
            let name = format!("print/{}", spot.file);
            let file = self.proof.reading.pack.own.get(&name)?;
            Some(own::broken(file, &name, spot.line, spot.column, &spot.why))
        });
        own_at
            .or_else(|| {
                let (name, file) = self.own(template)?;
                Some(own::broken(file, &name, 1, 0, &fault.why))
            })
            .unwrap_or_else(|| self.failed(job, path, fault))
    }

    /// A fault of ours: the template or its data.
    fn failed(&self, job: Job, path: &str, fault: &Fault) -> Finding {
        let pack = &self.proof.reading.pack;
        let place = match job {
            Job::Lesson(_, id) => Some(pack.lesson(id).place),
            Job::Book(i) | Job::Outcomes(i) | Job::Day(i, _) => Some(pack.courses[i].place),
            Job::Records | Job::Pairings => None,
        };
        let help = "this is a fault of the print template, not of the lesson: please report it";
        Finding {
            code: "print-failed",
            severity: Severity::Error,
            place,
            message: format!("{path} could not be set: {}", fault.why),
            help: Some(help.to_owned()),
        }
    }

    fn gather(&self, job: Job) -> Result<Manuscript, serde_json::Error> {
        let (proof, words) = (self.proof, self.words);
        let course = |i: usize| &proof.reading.pack.courses[i];
        match job {
            Job::Lesson(PrintKind::Sheet, id) => technique::manuscript(proof, id, words),
            Job::Lesson(PrintKind::Marking, id) => marking::manuscript(proof, id, words),
            Job::Lesson(kind @ (PrintKind::Questions | PrintKind::Answers), id) => {
                let lesson = proof.reading.pack.lesson(id);
                questions::manuscript(proof, lesson, kind == PrintKind::Answers, words)
            }
            Job::Lesson(PrintKind::Handout, id) => handout::manuscript(proof, id, words),
            Job::Book(i) => book::manuscript(proof, course(i), words),
            Job::Outcomes(i) => tables::outcomes(proof, course(i), words),
            Job::Day(i, day) => day::manuscript(proof, course(i), day, words),
            Job::Records => record::manuscript(proof, words),
            Job::Pairings => tables::tested(proof, words),
        }
    }
}
