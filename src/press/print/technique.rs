//! The technique sheet: one page for the pocket.
//!
//! ```text
//! Lesson ─gather→ Sheet data ─(technique.typ)→ one page, or a note of what does not fit ─→ Finding
//! ```

use serde::Serialize;

use crate::figure::Detail;
use crate::finding::{Finding, Place, Severity};
use crate::pack::{Inline, Lesson, LessonId, Pack, Part, RigId, Section, Step};
use crate::press::PrintKind;
use crate::press::view::{Document, Rich, StepView, rich, rich_run, short_limit, step_view};
use crate::press::words::Words;
use crate::rig::FigureKind;
use crate::rules::Proof;

use super::head::Head;
use super::images::{Image, Images, Room, Twin};
use super::numbers::{Numbers, numbers};
use super::world::Manuscript;

/// The main figure where the sheet has room to spare: beside the numbers, which want 66 mm of the
/// frame's 180.
const FIGURE_HIGH: Room = Room {
    height_mm: 124.0,
    ..FIGURE
};
/// The same as usual.
const FIGURE: Room = Room {
    widths_mm: &[98.0, 92.0, 86.0, 80.0, 74.0],
    height_mm: 100.0,
    detail: Detail::Beside,
    twin: Twin::Alone,
};
/// The same on a full sheet: drawn lower, so that all words stay.
const FIGURE_LOW: Room = Room {
    widths_mm: &[92.0, 86.0, 80.0, 74.0, 66.0, 58.0],
    height_mm: 82.0,
    detail: Detail::Beside,
    twin: Twin::Alone,
};
/// The same on a sheet whose rows stand closer too.
const FIGURE_LEAST: Room = Room {
    height_mm: 70.0,
    ..FIGURE_LOW
};
/// The polygon under the numbers.
const POLYGON: Room = Room {
    widths_mm: &[40.0, 36.0],
    height_mm: 44.0,
    detail: Detail::Small,
    twin: Twin::Alone,
};
/// Do and don't, whose words say which is which, without the height.
const THUMB: Room = Room {
    widths_mm: &[39.0, 36.0, 33.0, 30.0, 27.0, 24.0],
    height_mm: 68.0,
    detail: Detail::Small,
    twin: Twin::Named,
};
/// Heights of them, mm: from where the row has room to spare (a tall tree shows its foot) to a full sheet.
const THUMBS_MM: [f64; 5] = [68.0, 60.0, 54.0, 47.0, 40.0];

#[derive(Serialize)]
struct Sheet {
    #[serde(flatten)]
    head: Head,
    /// The main figure from room to spare to a full sheet; empty without a rig.
    figures: Vec<Image>,
    polygon: Option<Image>,
    numbers: Option<Numbers>,
    steps: Vec<StepView>,
    sections: Vec<SectionData>,
    pair: Option<Pair>,
    kit: Vec<KitRow>,
}

#[derive(Serialize)]
struct SectionData {
    heading: Vec<Rich>,
    text: Vec<Rich>,
}

#[derive(Serialize)]
struct Pair {
    right: Half,
    wrong: Half,
}

#[derive(Serialize)]
struct Half {
    text: String,
    /// Its drawing, from as high as the row may ever be to the least.
    figures: Vec<Image>,
}

/// A row of kit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KitRow {
    count: u32,
    name: String,
    limit: String,
}

/// Gathers a lesson's technique sheet.
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
    let (right, wrong) = rigs(pack, lesson);
    let main_kinds = [FigureKind::Pulls, FigureKind::Space, FigureKind::Setup];
    let mut fit = |room| right.and_then(|rig| images.fit(proof, rig, &main_kinds, room));
    let figures = [FIGURE_HIGH, FIGURE, FIGURE_LOW, FIGURE_LEAST].map(&mut fit);
    let sheet = Sheet {
        head: Head::new(
            pack,
            Document::Technique,
            &lesson.code,
            &lesson.title,
            words,
        ),
        figures: figures.into_iter().flatten().collect(),
        polygon: right.and_then(|rig| images.fit(proof, rig, &[FigureKind::Polygon], POLYGON)),
        numbers: right.map(|rig| numbers(pack.rig(rig), &proof.solved(rig), pack.units, words)),
        steps: steps(lesson).map(|step| step_view(step, proof)).collect(),
        sections: on_sheet(lesson)
            .map(|section| SectionData {
                heading: rich_run(&section.heading, proof),
                text: text_of(section, proof),
            })
            .collect(),
        pair: wrong
            .and_then(|wrong| Some((pack.right_twin(wrong)?, wrong)))
            .map(|(right, wrong)| Pair {
                right: half(proof, right, &mut images),
                wrong: half(proof, wrong, &mut images),
            }),
        kit: kit_rows(pack, lesson, words),
    };
    Ok(Manuscript {
        template: "technique.typ",
        data: serde_json::to_value(&sheet)?,
        images: images.files,
        ident: format!("{} technique sheet", lesson.code),
    })
}

/// The lesson's first rig that is meant to be right, and its first that shows a mistake.
pub fn rigs(pack: &Pack, lesson: &Lesson) -> (Option<RigId>, Option<RigId>) {
    let is_wrong = |id: &RigId| !pack.rig(*id).wrong.is_empty();
    (
        lesson.rigs().find(|id| !is_wrong(id)),
        lesson.rigs().find(is_wrong),
    )
}

/// All steps of a lesson, in order.
fn steps(lesson: &Lesson) -> impl Iterator<Item = &Step> {
    lesson
        .sections
        .iter()
        .flat_map(|section| &section.parts)
        .flat_map(|part| match part {
            Part::Steps(steps) => steps.as_slice(),
            _ => &[],
        })
}

/// Sections marked `{.sheet}` that hold text of their own. Steps, figures and kit are on the sheet
/// in any case.
fn on_sheet(lesson: &Lesson) -> impl Iterator<Item = &Section> {
    let has_text = |section: &&Section| section.parts.iter().any(|p| matches!(p, Part::Text(_)));
    lesson
        .sections
        .iter()
        .filter(|section| section.on_sheet)
        .filter(has_text)
}

fn text_of(section: &Section, proof: &Proof) -> Vec<Rich> {
    let flows = section.parts.iter().filter_map(|part| match part {
        Part::Text(flow) => Some(flow),
        _ => None,
    });
    flows.flat_map(|flow| rich(flow, proof)).collect()
}

fn half(proof: &Proof, rig: RigId, images: &mut Images) -> Half {
    let kinds = [FigureKind::Pulls];
    Half {
        text: proof.reading.pack.rig(rig).title.clone(),
        figures: THUMBS_MM
            .into_iter()
            .filter_map(|height_mm| images.fit(proof, rig, &kinds, Room { height_mm, ..THUMB }))
            .collect(),
    }
}

/// Kit of a lesson, each with what it may carry.
pub fn kit_rows(pack: &Pack, lesson: &Lesson, words: Words) -> Vec<KitRow> {
    let row = |used: &crate::pack::KitUse| {
        let item = pack.kit_item(used.item);
        KitRow {
            count: used.count,
            name: item.title.clone(),
            limit: short_limit(item, pack.units, words),
        }
    };
    lesson.kit.iter().map(row).collect()
}

/// What to say of a sheet that does not fit: by how much, what takes the room, what to shorten.
///
/// `note` is what the template left: heights of its parts and `over_mm`, the missing room.
pub fn overflow(lesson: &Lesson, note: &serde_json::Value) -> Finding {
    let mm = |key: &str| {
        note.get(key)
            .and_then(serde_json::Value::as_f64)
            .unwrap_or(0.0)
    };
    let count = steps(lesson).count();
    let parts = [
        ("figure and numbers".to_owned(), mm("set_up_mm")),
        (format!("{count} steps"), mm("steps_mm")),
        ("sections marked {.sheet}".to_owned(), mm("sections_mm")),
        ("kit, do and don't".to_owned(), mm("row_mm")),
        ("cautions and title block".to_owned(), mm("foot_mm")),
    ];
    let taken: Vec<String> = parts
        .iter()
        .filter(|(_, height)| *height > 0.0)
        .map(|(name, height)| format!("{name} {height:.0} mm"))
        .collect();
    let message = format!(
        "the technique sheet of {} is {:.0} mm too long for one page: {}",
        lesson.code,
        mm("over_mm").ceil(),
        taken.join(", ")
    );
    let longest = longest_steps(lesson);
    let section = on_sheet(lesson).next();
    let place = match (section, longest.first()) {
        (Some(section), _) if mm("sections_mm") > mm("steps_mm") => section.place,
        (_, Some((_, _, place))) => *place,
        _ => lesson.place,
    };
    Finding::error("sheet-too-long", place, message).with_help(shorten(lesson))
}

/// What to say of a one-page sheet that is full: what it left out, and what to shorten. `None` where
/// nothing is missing.
///
/// `notes` are what the template left; `left_out` lists the parts in words.
pub fn left_out(lesson: &Lesson, kind: PrintKind, notes: &[serde_json::Value]) -> Option<Finding> {
    let parts: Vec<&str> = notes
        .iter()
        .filter_map(|note| note.get("left_out")?.as_array())
        .flatten()
        .filter_map(serde_json::Value::as_str)
        .collect();
    if parts.is_empty() {
        return None;
    }
    let sheet = match kind {
        PrintKind::Marking => "marking sheet",
        _ => "technique sheet",
    };
    let message = format!(
        "the {sheet} of {} is full and leaves out {}",
        lesson.code,
        parts.join(", ")
    );
    let help = match kind {
        PrintKind::Marking => "shorten the longest criteria to bring it back".to_owned(),
        _ => format!("{} to bring it back", shorten(lesson)),
    };
    Some(Finding {
        code: "sheet-full",
        severity: Severity::Warning,
        place: Some(lesson.place),
        message,
        help: Some(help),
    })
}

/// The steps by length on the sheet, longest first: letters, number from 1, place.
fn longest_steps(lesson: &Lesson) -> Vec<(usize, usize, Place)> {
    let mut longest: Vec<(usize, usize, Place)> = steps(lesson)
        .enumerate()
        .map(|(i, step)| (letters(step), i + 1, step.place))
        .collect();
    longest.sort_by_key(|(letters, n, _)| (std::cmp::Reverse(*letters), *n));
    longest
}

/// What an author can do for room: `shorten step 2 (140 letters), step 5 (90 letters)`.
fn shorten(lesson: &Lesson) -> String {
    let longest = longest_steps(lesson);
    let named: Vec<String> = longest
        .iter()
        .take(3)
        .map(|(letters, n, _)| format!("step {n} ({letters} letters)"))
        .collect();
    let mut help = if named.is_empty() {
        "shorten the sections marked {.sheet}".to_owned()
    } else {
        format!("shorten {}", named.join(", "))
    };
    if on_sheet(lesson).next().is_some() {
        help.push_str(", or take {.sheet} off a heading");
    }
    help
}

/// How long a step is on the sheet: its text and its check.
fn letters(step: &Step) -> usize {
    let flow = |flow: &[Inline]| -> usize {
        flow.iter()
            .map(|inline| match inline {
                Inline::Text(text) => text.chars().count(),
                Inline::Value(_) => "0.00 kN".len(),
                _ => 1,
            })
            .sum()
    };
    flow(&step.text) + step.check.as_ref().map_or(0, |check| flow(check))
}
