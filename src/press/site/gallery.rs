//! All figures of the pack on one page, by lesson and rig, with a filter by kind.

use serde::Serialize;

use crate::pack::{LessonId, RigId};
use crate::press::text::url_path;
use crate::press::view::{Document, Rich};
use crate::rig::FigureKind;

use super::Site;
use super::begin::Subject;
use super::part::PartView;
use super::sheet::{Field, Neighbour, Sheet};

/// A rig's figures on the page of all figures.
#[derive(Debug, Serialize)]
pub(super) struct GalleryRow {
    pub(super) rig: String,
    pub(super) title: String,
    pub(super) lesson: Neighbour,
    pub(super) figures: Vec<GalleryFigure>,
}

/// One of them.
#[derive(Debug, Serialize)]
pub(super) struct GalleryFigure {
    pub(super) src: String,
    pub(super) kind: &'static str,
    pub(super) kind_name: String,
    pub(super) alt: String,
    pub(super) wrong: bool,
    pub(super) width: u32,
    pub(super) height: u32,
}

/// Builds the page; `None` for a pack without figures.
pub(super) fn sheet(site: &Site<'_>) -> Option<Sheet> {
    let pack = site.pack();
    let words = site.words;
    site.figures.iter().next()?;
    let mut sheet = site.begin(&Subject {
        path: "figures.html".to_owned(),
        current: "figures",
        document: Document::Figures,
        title: words.get("figures.title"),
        code: "",
        place: (1, 1),
    });
    sheet.lead = Some(words.get("figures.lead").to_owned());
    sheet.description = words.get("figures.lead").to_owned();
    sheet.fields = site.strip_fields("");
    let count = site.figures.iter().count().to_string();
    sheet
        .fields
        .push(Field::new(words.get("block.figures"), count));
    sheet.fields.push(site.owner_field());
    for id in site.lessons_by_code() {
        let lesson = pack.lesson(id);
        let rows: Vec<GalleryRow> = lesson
            .rigs()
            .map(|rig| row(site, id, rig))
            .filter(|row| !row.figures.is_empty())
            .collect();
        if rows.is_empty() {
            continue;
        }
        let title = format!("{} {}", lesson.code, lesson.title);
        let letter = sheet.next_letter();
        for row in &rows {
            let text = [Rich::Text {
                text: row.title.clone(),
            }];
            sheet.find("", &letter, "figure", &text);
        }
        sheet.zone(&title, vec![PartView::Gallery { rows }]);
    }
    let mut kinds: Vec<FigureKind> = site.figures.iter().map(|(_, kind, _)| kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let kinds = kinds
        .into_iter()
        .map(|kind| Field::new(kind.word(), words.get(kind_name(kind))));
    sheet.filter = kinds.collect();
    site.close(&mut sheet, Document::Figures);
    Some(sheet)
}

/// The words for a kind of figure.
pub(super) fn kind_name(kind: FigureKind) -> &'static str {
    match kind {
        FigureKind::Setup => "figures.setup",
        FigureKind::Pulls => "figures.pulls",
        FigureKind::Polygon => "figures.polygon",
        FigureKind::Zone => "figures.zone",
        FigureKind::Loss => "figures.loss",
        FigureKind::Space => "figures.space",
        FigureKind::Effort => "figures.effort",
        FigureKind::Strip => "figures.strip",
    }
}

fn row(site: &Site<'_>, lesson: LessonId, id: RigId) -> GalleryRow {
    let rig = site.pack().rig(id);
    GalleryRow {
        rig: rig.name.clone(),
        title: rig.title.clone(),
        lesson: site.lesson_link("", lesson),
        figures: site
            .figures
            .of_rig(id)
            .map(|(kind, drawing)| GalleryFigure {
                src: format!("figures/{}.svg", url_path(&drawing.id)),
                kind: kind.word(),
                kind_name: site.words.get(kind_name(kind)).to_owned(),
                alt: drawing.description.clone(),
                wrong: !rig.wrong.is_empty(),
                width: drawing.size_mm.0.round() as u32,
                height: drawing.size_mm.1.round() as u32,
            })
            .collect(),
    }
}
