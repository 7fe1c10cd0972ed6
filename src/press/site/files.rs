//! What a lesson leaves to take away: prints, figures.

use serde::Serialize;

use crate::pack::{LessonId, RigId};
use crate::press::PrintKind;
use crate::press::text::url_path;

use super::Site;
use super::gallery::kind_name;
use super::sheet::Neighbour;

/// The kind of a print whose size is not known yet: the same word in every language.
const PDF: &str = "PDF";

/// A file to take away.
#[derive(Debug, Serialize)]
pub(super) struct FileRow {
    pub(super) href: Option<String>,
    pub(super) name: String,
    /// Several files in its place, each by what tells it from the others.
    pub(super) links: Vec<Neighbour>,
    pub(super) use_for: String,
    pub(super) size: String,
}

/// What can be taken away: prints, figures.
pub(super) fn files(site: &Site<'_>, id: LessonId) -> Vec<FileRow> {
    let lesson = site.pack().lesson(id);
    let words = site.words;
    let kinds = [
        (PrintKind::Sheet, "print.sheet", "files.sheet"),
        (PrintKind::Marking, "print.marking", "files.marking"),
        (PrintKind::Handout, "print.handout", "files.handout"),
        (PrintKind::Questions, "print.questions", "files.questions"),
        (PrintKind::Answers, "print.answers", "files.answers"),
    ];
    let prints = kinds.into_iter().filter_map(|(kind, name, use_for)| {
        let name = format!("{} {}", lesson.code, words.get(name));
        print_row(site, "../", site.prints.of(lesson, kind), name, use_for)
    });
    let mut rows: Vec<FileRow> = prints.collect();
    rows.extend(lesson.rigs().filter_map(|rig| figures_row(site, rig)));
    rows
}

/// Every figure of a rig; `None` where none was drawn.
fn figures_row(site: &Site<'_>, rig: RigId) -> Option<FileRow> {
    let words = site.words;
    let drawn = site.figures.of_rig(rig);
    let links: Vec<Neighbour> = drawn
        .map(|(kind, drawing)| Neighbour {
            href: format!("../figures/{}.svg", url_path(&drawing.id)),
            code: words.get(kind_name(kind)).to_owned(),
            title: String::new(),
        })
        .collect();
    let bytes = site
        .figures
        .of_rig(rig)
        .map(|(_, drawing)| drawing.svg.len());
    let size = kilobytes(bytes.sum());
    let rig = site.pack().rig(rig);
    let name = match rig.wrong.is_empty() {
        true => rig.title.clone(),
        false => words.fill("files.mistake", &[("title", &rig.title)]),
    };
    (!links.is_empty()).then(|| FileRow {
        href: None,
        name,
        links,
        use_for: String::new(),
        size: words.fill("files.svg", &[("size", &size)]),
    })
}

/// A print to take away, where there is one.
///
/// - `up`: from the page to the site's root.
/// - `print`: its file name and, if it is set, its size in bytes.
/// - `use_for`: key of the words that say what it is for.
pub(super) fn print_row(
    site: &Site<'_>,
    up: &str,
    print: Option<(&str, Option<usize>)>,
    name: String,
    use_for: &'static str,
) -> Option<FileRow> {
    let (file, bytes) = print?;
    let size = match bytes {
        Some(bytes) => site.words.fill("files.pdf", &[("size", &kilobytes(bytes))]),
        None => PDF.to_owned(),
    };
    Some(FileRow {
        href: Some(format!("{up}print/{}", url_path(file))),
        name,
        links: Vec::new(),
        use_for: site.words.get(use_for).to_owned(),
        size,
    })
}

/// Whole kilobytes, one at least.
fn kilobytes(bytes: usize) -> String {
    format!("{}\u{a0}kB", bytes.div_ceil(1000))
}
