//! The static site: pages that open from a folder, without a server, a network or scripts.
//!
//! ```text
//! Proof + Figures + PrintList ─gather→ Sheet (plain data) ─Tera→ HTML ┐
//!                             theme, fonts, pictures, prints ─copy──→ ├→ Vec<OutFile> under site/
//!                             what pages say ─index→ find-index.js ───┘
//! ```
//!
//! A page is a drawing sheet: a title strip, zones with a letter, a title block. A zone and a line
//! make an address (`AS-04 C3`) that is also the page's fragment.

mod address;
mod begin;
mod blocks;
mod course;
mod data;
mod day;
mod engine;
mod explore;
mod files;
mod find;
mod front;
mod gallery;
mod kit;
mod layers;
mod lesson;
mod lighter;
mod list;
mod machine;
mod mistakes;
mod pairings;
mod part;
mod record;
mod references;
mod sheet;
mod shown;
mod sketch;
mod svg;
mod techniques;
mod terms;
mod unit;
mod zone;

use std::collections::BTreeMap;
use std::sync::Arc;

use rayon::prelude::*;

use crate::finding::{Finding, Severity};
use crate::pack::{KitId, KitUse, Lesson, LessonId, Pack, RigId};
use crate::progress::Progress;
use crate::rig::FigureKind;
use crate::rules::Proof;
use crate::statics::Solved;
use crate::store::{Digest, Inputs, Named, Sink, Store};

use super::own;
use super::text::escape;
use super::words::Words;
use super::{Figures, OutFile, PrintList};
use engine::Engine;
use find::{Index, PageFound};
use part::PartView;
use sheet::Sheet;
pub use sketch::Sketch;
pub(crate) use svg::Drawn;
use svg::Element;
pub use unit::Facts;
use unit::{Bench, Listed};

/// What every page is made from.
pub(crate) struct Site<'a> {
    proof: &'a Proof,
    figures: &'a Figures,
    /// Figures of a lesson as elements of its page.
    elements: &'a BTreeMap<(RigId, FigureKind), Element>,
    prints: &'a PrintList,
    words: Words,
    /// Answers with their zones, of the rigs whose figures the page shows.
    solved: &'a BTreeMap<RigId, Arc<Solved>>,
    store: &'a Store,
    named: &'a Named,
    places: &'a Places,
}

/// Where each lesson stands in courses.
pub(crate) struct Places {
    /// For each lesson of the pack: course and place there, both from 0, by course.
    of_lesson: Vec<Vec<(usize, usize)>>,
}

impl Places {
    fn of(pack: &Pack) -> Self {
        let mut of_lesson = vec![Vec::new(); pack.lessons.len()];
        for (course, own) in pack.courses.iter().enumerate() {
            for (place, lesson) in own.lessons.iter().enumerate() {
                let seen: &mut Vec<(usize, usize)> = &mut of_lesson[lesson.0];
                // A lesson named twice stands where it is named first.
                if seen.last().is_none_or(|(last, _)| *last != course) {
                    seen.push((course, place));
                }
            }
        }
        Self { of_lesson }
    }

    fn of_lesson(&self, id: LessonId) -> &[(usize, usize)] {
        &self.of_lesson[id.0]
    }
}

impl<'a> Site<'a> {
    fn pack(&self) -> &'a Pack {
        &self.proof.reading.pack
    }

    /// Courses that a lesson stands in, with its place there, from 0.
    fn courses_of(&self, id: LessonId) -> impl Iterator<Item = (usize, usize)> + '_ {
        self.places.of_lesson(id).iter().copied()
    }

    /// Lessons that stand in no course.
    fn outside_courses(&self) -> Vec<LessonId> {
        let ids = (0..self.pack().lessons.len()).map(LessonId);
        ids.filter(|id| self.places.of_lesson(*id).is_empty())
            .collect()
    }
}

/// The path of a lesson's page below the site's folder.
pub(crate) fn lesson_path(lesson: &Lesson) -> String {
    format!("lessons/{}.html", super::text::url_path(&lesson.name))
}

/// Passes every file of the site to the sink, under `site/`.
///
/// # Errors
/// `page-failed` for a fault of a template.
pub fn pages(
    proof: &Proof,
    prints: &PrintList,
    store: &Store,
    sink: &dyn Sink,
    progress: &dyn Progress,
) -> Result<(), Vec<Finding>> {
    let pack = &proof.reading.pack;
    let words = Words::of_pack(pack);
    let engine = Engine::new(words, pack).map_err(|e| vec![fault(pack, "the templates", &e)])?;
    let bench = Bench::new(proof, prints, &engine, store);
    let lessons: Vec<Result<Facts, Finding>> = (0..pack.lessons.len())
        .into_par_iter()
        .map(|i| {
            let key = bench.key(LessonId(i));
            let facts = match store.lesson(key, sink) {
                Some(facts) => facts,
                None => {
                    let (facts, files) = bench.make(LessonId(i))?;
                    store.made(key, &facts, files, sink);
                    let own = pack.lesson(LessonId(i)).rigs();
                    own.for_each(|rig| proof.release(rig));
                    facts
                }
            };
            progress.advance();
            Ok(facts)
        })
        .collect();
    let lessons = all_well(lessons)?;

    let listed = Listed::of(pack, &lessons);
    sink.put(OutFile {
        path: "site/theme/figures.css".to_owned(),
        bytes: lighter::rules().into_bytes(),
    });
    let site = Site {
        proof,
        figures: &Figures::default(),
        elements: &BTreeMap::new(),
        prints,
        words,
        solved: &BTreeMap::new(),
        store,
        named: bench.named(),
        places: bench.places(),
    };
    let (front, lessons_zone) = front::sheet(&site, &listed);
    let find = find::sheet(&site, &lessons_zone, front.caution_zone.clone());
    let desk = Desk {
        engine: &engine,
        site: &site,
        sink,
        look: look(pack),
    };
    let mut index = Index::default();
    let (laid_out, ()) = rayon::join(
        || desk.write_all(others(&site, &listed, &lessons, front)),
        || lessons.iter().for_each(|facts| index.add(&facts.found)),
    );
    let laid_out = laid_out?;
    laid_out.iter().for_each(|found| index.add(found));
    let write_index = || {
        sink.put(OutFile {
            path: "site/find-index.js".to_owned(),
            bytes: index.script(),
        });
    };
    let write_rest = || {
        carried(&site, sink);
        desk.write_all(vec![Box::new(|| Some(find))])
    };
    let ((), written) = rayon::join(write_index, write_rest);
    written.map(drop)
}

/// Lays out a page; `None` where the pack has nothing for it.
type Layout<'a> = Box<dyn FnOnce() -> Option<Sheet> + Send + 'a>;

/// Every page that is no lesson's, but the one that finds, in the order of the index.
///
/// - `lessons`: facts of each lesson of the pack.
fn others<'a>(
    site: &'a Site<'_>,
    listed: &'a Listed<'_>,
    lessons: &'a [Facts],
    front: Sheet,
) -> Vec<Layout<'a>> {
    let pack = site.pack();
    let mut all: Vec<Layout<'_>> = Vec::new();
    for i in 0..pack.courses.len() {
        all.push(Box::new(move || Some(course::sheet(site, listed, i))));
    }
    all.push(Box::new(|| Some(front)));
    for course in &pack.courses {
        for i in 0..course.days.len() {
            all.push(Box::new(move || Some(day::sheet(site, course, i))));
        }
    }
    all.push(Box::new(|| Some(techniques::sheet(site))));
    all.push(Box::new(|| kit::sheet(site)));
    for i in 0..pack.kit.len() {
        let used = KitUse {
            item: KitId(i),
            count: 1,
        };
        let place = (i + 1, pack.kit.len());
        all.push(Box::new(move || Some(record::sheet(site, used, place))));
    }
    all.push(Box::new(|| pairings::sheet(site)));
    all.push(Box::new(|| Some(references::sheet(site))));
    all.push(Box::new(|| gallery::sheet(site, listed)));
    for course in &pack.courses {
        all.push(Box::new(|| gallery::course_sheet(site, listed, course)));
    }
    all.push(Box::new(|| gallery::outside_sheet(site, listed)));
    all.push(Box::new(|| mistakes::sheet(site, listed)));
    all.push(Box::new(|| terms::sheet(site, lessons)));
    all
}

/// The digest of what a page depends on besides what it shows: its language, the pack's own files.
fn look(pack: &Pack) -> Digest {
    let mut inputs = Inputs::of("look");
    inputs.bytes(pack.language.as_bytes());
    for (path, file) in &pack.own {
        inputs.bytes(path.as_bytes()).bytes(file.text.as_bytes());
    }
    inputs.finish()
}

/// Where pages that are no lesson's are written.
struct Desk<'a> {
    engine: &'a Engine,
    site: &'a Site<'a>,
    sink: &'a dyn Sink,
    look: Digest,
}

impl Desk<'_> {
    /// Writes pages; what the index finds each by.
    ///
    /// # Errors
    /// As [`pages`].
    fn write_all(&self, all: Vec<Layout<'_>>) -> Result<Vec<PageFound>, Vec<Finding>> {
        let written = all.into_par_iter().with_max_len(1).map(|lay_out| {
            let Some(mut sheet) = lay_out() else {
                return Ok(None);
            };
            let found = PageFound::of(&mut sheet);
            self.write(&sheet)?;
            Ok(Some(found))
        });
        let written: Vec<Result<Option<PageFound>, Finding>> = written.collect();
        Ok(all_well(written)?.into_iter().flatten().collect())
    }

    /// Writes a page, unless the store has one that shows the same.
    fn write(&self, sheet: &Sheet) -> Result<(), Finding> {
        let key = sheet.shown(Inputs::of("page").digest(self.look));
        self.site.store.page(key, self.sink, || {
            let mut files = vec![rendered(self.engine, self.site.pack(), sheet)?];
            files.extend(phone_file(sheet));
            Ok(files)
        })
    }
}

/// All values, or all findings.
fn all_well<T>(results: Vec<Result<T, Finding>>) -> Result<Vec<T>, Vec<Finding>> {
    let mut values = Vec::with_capacity(results.len());
    let mut findings = Vec::new();
    for result in results {
        match result {
            Ok(value) => values.push(value),
            Err(finding) => findings.push(finding),
        }
    }
    match findings.is_empty() {
        true => Ok(values),
        false => Err(findings),
    }
}

/// A page as its file.
fn rendered(engine: &Engine, pack: &Pack, sheet: &Sheet) -> Result<OutFile, Finding> {
    let html = engine
        .render(sheet)
        .map_err(|e| fault(pack, &sheet.path, &e))?;
    cautions_kept(pack, engine.words(), sheet, &html)?;
    Ok(OutFile {
        path: format!("site/{}", sheet.path),
        bytes: html,
    })
}

/// A page's drawings for phones as a script; only a narrow screen asks for it.
fn phone_file(sheet: &Sheet) -> Option<OutFile> {
    let script = sheet.phone_script.as_ref()?.trim_start_matches("../");
    Some(OutFile {
        path: format!("site/{script}"),
        bytes: sheet::texts_file("window.ropeleafPhone", &sheet.for_phones),
    })
}

/// What pages point at besides figures and prints: theme, fonts, pictures.
fn carried(site: &Site<'_>, sink: &dyn Sink) {
    for file in engine::theme_files(site.pack()) {
        sink.put(file);
    }
    for (name, bytes) in &site.pack().pictures {
        sink.put(OutFile {
            path: format!("site/pictures/{name}"),
            bytes: bytes.clone(),
        });
    }
}

/// Faults of a pack's own templates that show before a page is written.
pub(crate) fn template_findings(pack: &Pack) -> Vec<Finding> {
    let engine = Engine::new(Words::of_pack(pack), pack);
    let error = engine.err();
    error
        .map(|e| fault(pack, "the templates", &e))
        .into_iter()
        .collect()
}

/// A template engine's error as a finding: at its line where the template is the pack's own.
fn fault(pack: &Pack, what: &str, error: &tera::Error) -> Finding {
    use tera::ErrorKind::{RenderingError, SyntaxError};
    if let SyntaxError(report) | RenderingError(report) = error.kind() {
        let path = format!("site/{}", report.filename());
        if let Some(file) = pack.own.get(&path) {
            let span = report.span();
            let (line, column) = (span.start_line, span.start_col);
            return own::broken(file, &path, line, column, report.message());
        }
    }
    failed(what, error)
}

/// A page laid out by a pack's own templates must still say every caution.
fn cautions_kept(pack: &Pack, words: Words, sheet: &Sheet, html: &[u8]) -> Result<(), Finding> {
    let own = pack.own.iter().find(|(path, _)| path.starts_with("site/"));
    let Some((_, file)) = own else {
        return Ok(());
    };
    let html = String::from_utf8_lossy(html);
    let parts = sheet.zones.iter().flat_map(|zone| &zone.parts);
    let lists = parts.filter_map(|part| match part {
        PartView::Cautions { items } => Some(items),
        _ => None,
    });
    let line = words.get("caution.line");
    let said = lists.flatten().map(String::as_str).chain([line]);
    for caution in said {
        if !html.contains(&escape(caution)) {
            let message = format!(
                "{} is laid out by own templates without the caution “{caution}”",
                sheet.path
            );
            let finding = Finding::error("cautions-missing", file.start(), message);
            return Err(finding
                .with_help("every page says page.caution_zone’s cautions and w.caution.line"));
        }
    }
    Ok(())
}

fn failed(what: &str, why: &dyn std::error::Error) -> Finding {
    let mut message = format!("{what} could not be written: {why}");
    let mut source = why.source();
    while let Some(inner) = source {
        message.push_str(&format!(": {inner}"));
        source = inner.source();
    }
    Finding {
        code: "page-failed",
        severity: Severity::Error,
        place: None,
        message,
        help: None,
    }
}
