//! Every mistake that the pack shows beside the right way, with what the rules say and the numbers in
//! which the two differ.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::pack::RigId;
use crate::press::view::{Document, PairRow, PairSide, Rich, pair_view, pairs};
use crate::rig::FigureKind;

use super::Site;
use super::begin::Subject;
use super::part::PartView;
use super::sheet::{Field, Sheet};
use super::shown::{FigureView, Room, Shown};
use super::unit::Listed;

/// A mistake and its right twin.
#[derive(Debug, Serialize)]
pub(super) struct Twins {
    pub(super) right: Twin,
    pub(super) wrong: Twin,
    pub(super) rows: Vec<PairRow>,
}

/// One side.
#[derive(Debug, Serialize)]
pub(super) struct Twin {
    pub(super) side: PairSide,
    pub(super) figure: Option<FigureView>,
}

/// Builds the page; `None` for a pack that shows no mistake.
pub(super) fn sheet(site: &Site<'_>, listed: &Listed<'_>) -> Option<Sheet> {
    let pack = site.pack();
    let words = site.words;
    let all: BTreeMap<RigId, RigId> = pairs(pack).into_iter().collect();
    if all.is_empty() {
        return None;
    }
    let mut shown = Shown::default();
    let mut sheet = site.begin(&Subject {
        path: "mistakes.html".to_owned(),
        current: "figures",
        document: Document::Mistakes,
        title: words.get("mistakes.title"),
        code: "",
        place: (1, 1),
    });
    sheet.lead = Some(words.get("mistakes.lead").to_owned());
    sheet.description = words.get("mistakes.lead").to_owned();
    sheet.fields = site.strip_fields("");
    let count = all.len().to_string();
    sheet
        .fields
        .push(Field::new(words.get("mistakes.count"), count));
    sheet.fields.push(site.owner_field());
    for id in site.lessons_by_code() {
        let lesson = pack.lesson(id);
        let pairs = lesson.rigs().filter_map(|rig| all.get_key_value(&rig));
        let twins: Vec<Twins> = pairs
            .filter_map(|(wrong, right)| twins(site, listed, (*wrong, *right), &mut shown))
            .collect();
        if twins.is_empty() {
            continue;
        }
        let letter = sheet.next_letter();
        for pair in &twins {
            let text = [Rich::Text {
                text: format!(
                    "{}. {}",
                    pair.wrong.side.title,
                    pair.wrong.side.says.join(" ")
                ),
            }];
            sheet.find("", &letter, "fault", &text);
        }
        let link = site.lesson_link("", id);
        let mut parts: Vec<PartView> = twins
            .into_iter()
            .map(|pair| PartView::Twins(Box::new(pair)))
            .collect();
        parts.push(PartView::More { link });
        sheet.zone(&format!("{} {}", lesson.code, lesson.title), parts);
    }
    site.close(&mut sheet, Document::Mistakes);
    Some(sheet)
}

fn twins(
    site: &Site<'_>,
    listed: &Listed<'_>,
    (wrong, right): (RigId, RigId),
    shown: &mut Shown,
) -> Option<Twins> {
    let view = pair_view(site.proof, wrong, site.words)?;
    Some(Twins {
        right: Twin {
            side: view.right,
            figure: figure(site, listed, right, shown),
        },
        wrong: Twin {
            side: view.wrong,
            figure: figure(site, listed, wrong, shown),
        },
        rows: view.rows,
    })
}

/// The drawing of the pulls, as lessons have it in half a column; where they have none, the set-up or
/// else the first figure that is asked for.
fn figure(
    site: &Site<'_>,
    listed: &Listed<'_>,
    rig: RigId,
    shown: &mut Shown,
) -> Option<FigureView> {
    let asked = listed.of_rig(rig).iter().map(|drawing| drawing.kind);
    let mut kinds = [FigureKind::Pulls, FigureKind::Setup]
        .into_iter()
        .chain(asked);
    kinds.find_map(|kind| shown.figure(site, rig, kind, Room::Small))
}
