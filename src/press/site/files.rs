//! What a lesson leaves to take away: prints that were pressed, figures.

use serde::Serialize;

use crate::pack::LessonId;
use crate::press::PrintKind;
use crate::press::text::url_path;
use crate::press::view::heading_of;

use super::Site;

/// A file to take away.
#[derive(Debug, Serialize)]
pub(super) struct FileRow {
    pub(super) href: String,
    pub(super) name: String,
    pub(super) use_for: String,
    pub(super) size: String,
}

/// What can be taken away: prints that were pressed, figures.
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
    for rig in lesson.rigs() {
        let shown = &site.pack().rig(rig).show;
        let drawn = site.figures.of_rig(rig);
        rows.extend(
            drawn
                .filter(|(kind, _)| shown.contains(kind))
                .map(|(_, drawing)| FileRow {
                    href: format!("../figures/{}.svg", url_path(&drawing.id)),
                    name: heading_of(&drawing.id),
                    use_for: words.fill("files.figure", &[("title", drawing.title.as_str())]),
                    size: words.fill("files.svg", &[("size", &kilobytes(drawing.svg.len()))]),
                })
                .collect::<Vec<_>>(),
        );
    }
    rows
}

/// A print to take away, where it was pressed.
///
/// - `up`: from the page to the site's root.
/// - `use_for`: key of the words that say what it is for.
pub(super) fn print_row(
    site: &Site<'_>,
    up: &str,
    print: Option<(&str, &[u8])>,
    name: String,
    use_for: &'static str,
) -> Option<FileRow> {
    let (file, bytes) = print?;
    let size = kilobytes(bytes.len());
    Some(FileRow {
        href: format!("{up}print/{}", url_path(file)),
        name,
        use_for: site.words.get(use_for).to_owned(),
        size: site.words.fill("files.pdf", &[("size", &size)]),
    })
}

/// Whole kilobytes, one at least.
fn kilobytes(bytes: usize) -> String {
    format!("{}\u{a0}kB", bytes.div_ceil(1000))
}
