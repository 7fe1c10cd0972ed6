//! A whole lesson on paper, with all its figures: the body of the handout and of the course book.

use serde::Serialize;
use serde_json::{Value, json};

use crate::figure::Detail;
use crate::pack::{FigureAsk, LessonId, Pack, Part, RigId};
use crate::press::view::{
    PairSide, Rich, criterion_view, fault_view, pair_view, rich, rich_run, step_view,
};
use crate::press::words::Words;
use crate::rig::FigureKind;
use crate::rules::Proof;

use super::images::{Image, Images, Room, Twin};
use super::marking::outcome_text;
use super::numbers::numbers;
use super::technique::{KitRow, kit_rows};

/// Kinds that a table of numbers stands beside, and that a mistake is compared by.
const BESIDE: [FigureKind; 3] = [FigureKind::Pulls, FigureKind::Space, FigureKind::Setup];

/// Width that figures share: the text's on A4, and a little less than on US Letter.
const ROW_MM: f64 = 166.0;
/// Least room between two of them.
const GAP_MM: f64 = 5.0;

/// Beside the numbers, which want 65 mm. As high as lets two stand on a page with their text.
const PLATE: Room = Room {
    widths_mm: &[98.0, 90.0, 82.0, 74.0, 66.0],
    height_mm: 96.0,
    detail: Detail::Beside,
    twin: Twin::Alone,
};
/// One in a row, with its key: a little more than half a page at most.
const WIDE: Room = Room {
    widths_mm: &[166.0, 150.0, 132.0, 116.0, 106.0, 92.0],
    height_mm: 136.0,
    detail: Detail::Full,
    twin: Twin::Alone,
};
/// The polygon: as narrow as keeps its two parts beside one another, where it is half as high.
const POLYGON: Room = Room {
    widths_mm: &[120.0, 132.0, 166.0],
    height_mm: 136.0,
    detail: Detail::Full,
    twin: Twin::Alone,
};
/// A mistake beside its twin.
const MISTAKE: Room = Room {
    widths_mm: &[80.0, 72.0, 64.0],
    height_mm: 104.0,
    detail: Detail::Small,
    twin: Twin::Alone,
};
/// The twin.
const TWIN: Room = Room {
    twin: Twin::Right,
    ..MISTAKE
};

/// A whole lesson as the handout and the course book show it.
#[derive(Debug, Serialize)]
pub struct LessonData {
    code: String,
    title: String,
    /// The file's stem: what other lessons of a book link to.
    name: String,
    summary: String,
    facts: Vec<Fact>,
    outcomes: Vec<String>,
    sections: Vec<SectionData>,
    kit: Vec<KitRow>,
    references: Vec<String>,
}

/// A name and what it stands for.
#[derive(Debug, Serialize)]
pub struct Fact {
    /// Words of the field.
    pub name: String,
    /// What it holds.
    pub text: String,
}

#[derive(Debug, Serialize)]
struct SectionData {
    heading: Vec<Rich>,
    parts: Vec<Value>,
}

/// Gathers a lesson; its figures go to `images`.
///
/// # Errors
/// Those of writing plain data as JSON: none that is known.
pub fn gather(
    proof: &Proof,
    id: LessonId,
    words: Words,
    images: &mut Images,
) -> Result<LessonData, serde_json::Error> {
    let pack = &proof.reading.pack;
    let lesson = pack.lesson(id);
    let mut gather = Gather {
        proof,
        words,
        images,
    };
    let mut sections = Vec::with_capacity(lesson.sections.len());
    for section in &lesson.sections {
        let mut parts = Vec::new();
        for part in &section.parts {
            gather.part(part, &mut parts)?;
        }
        sections.push(SectionData {
            heading: rich_run(&section.heading, proof),
            parts,
        });
    }
    let outcomes = lesson.outcomes.iter();
    let outcomes = outcomes.filter_map(|key| outcome_text(pack, id, key));
    Ok(LessonData {
        code: lesson.code.clone(),
        title: lesson.title.clone(),
        name: lesson.name.clone(),
        summary: lesson.summary.clone().unwrap_or_default(),
        facts: facts(pack, id, words),
        outcomes: outcomes.map(str::to_owned).collect(),
        sections,
        kit: kit_rows(pack, lesson, words),
        references: lesson.references.clone(),
    })
}

/// The author's pictures that the data of a print mention.
pub fn pictures(pack: &Pack, data: &Value) -> Vec<(String, Vec<u8>)> {
    let text = data.to_string();
    let named = |path: &str| text.contains(&json!(path).to_string());
    let own = pack.pictures.iter().filter(|(path, _)| named(path));
    own.map(|(path, bytes)| (format!("pictures/{path}"), bytes.clone()))
        .collect()
}

/// What stands under the title: time, level, what to know first.
fn facts(pack: &Pack, id: LessonId, words: Words) -> Vec<Fact> {
    let lesson = pack.lesson(id);
    let minutes = lesson
        .minutes
        .map(|n| words.fill("print.minutes", &[("n", &n.to_string())]));
    let needs: Vec<String> = lesson
        .needs
        .iter()
        .map(|need| {
            let need = pack.lesson(*need);
            format!("{} {}", need.code, need.title)
        })
        .collect();
    [
        ("print.time", minutes),
        ("print.level", lesson.level.clone()),
        (
            "print.know_first",
            (!needs.is_empty()).then(|| needs.join("; ")),
        ),
    ]
    .into_iter()
    .filter_map(|(key, text)| {
        Some(Fact {
            name: words.get(key).to_owned(),
            text: text?,
        })
    })
    .collect()
}

struct Gather<'a> {
    proof: &'a Proof,
    words: Words,
    images: &'a mut Images,
}

impl Gather<'_> {
    fn part(&mut self, part: &Part, out: &mut Vec<Value>) -> Result<(), serde_json::Error> {
        let proof = self.proof;
        match part {
            Part::Text(flow) => out.push(json!({ "kind": "text", "text": rich(flow, proof) })),
            Part::Rig(id) if proof.reading.pack.rig(*id).wrong.is_empty() => {
                self.right(*id, out)?;
            }
            Part::Rig(id) => self.wrong(*id, out)?,
            Part::Figure(ask) => self.asked(ask, out)?,
            Part::Steps(steps) => {
                let entries: Vec<_> = steps.iter().map(|step| step_view(step, proof)).collect();
                out.push(json!({ "kind": "steps", "entries": entries }));
            }
            Part::Faults(faults) => {
                let entries: Vec<_> = faults
                    .iter()
                    .map(|fault| fault_view(fault, proof))
                    .collect();
                out.push(json!({ "kind": "faults", "entries": entries }));
            }
            Part::Questions(questions) => {
                out.push(json!({ "kind": "questions", "count": questions.len() }));
            }
            Part::Marking(criteria) => {
                let entries: Vec<_> = criteria.iter().map(|c| criterion_view(c, proof)).collect();
                out.push(json!({ "kind": "criteria", "entries": entries }));
            }
        }
        Ok(())
    }

    /// A rig: its first figure with the numbers beside it, then what else it shows.
    fn right(&mut self, id: RigId, out: &mut Vec<Value>) -> Result<(), serde_json::Error> {
        let (proof, pack) = (self.proof, &self.proof.reading.pack);
        let rig = pack.rig(id);
        let table = numbers(rig, &proof.solved(id), pack.units, self.words);
        let mut kinds = rig.show.clone();
        let first = kinds.iter().position(|kind| BESIDE.contains(kind));
        let plate = first.and_then(|i| {
            let kind = kinds.remove(i);
            self.images.ways(proof, id, kind, PLATE)
        });
        let (mut figure, mut caption) = (Value::Null, None);
        if let Some((image, title, lower)) = plate {
            figure = serde_json::to_value(&image)?;
            figure["lower"] = serde_json::to_value(lower)?;
            caption = Some(plain(title));
        }
        out.push(json!({
            "kind": "plate",
            "figure": figure,
            "caption": caption,
            "numbers": table,
        }));
        self.figures_of(id, &kinds, None, out)
    }

    /// A rig that shows a mistake, beside its right twin where it has one; then what else it shows.
    fn wrong(&mut self, id: RigId, out: &mut Vec<Value>) -> Result<(), serde_json::Error> {
        let proof = self.proof;
        let mut kinds = proof.reading.pack.rig(id).show.clone();
        let twin = proof.reading.pack.right_twin(id);
        let first = kinds.iter().position(|kind| BESIDE.contains(kind));
        if let (Some(twin), Some(first)) = (twin, first)
            && let Some(view) = pair_view(proof, id, self.words)
        {
            let kind = kinds.remove(first);
            let right = self.images.whole(proof, twin, kind, TWIN);
            let wrong = self.images.whole(proof, id, kind, MISTAKE);
            let half = |side: PairSide, figure: Option<(Image, String)>| {
                let figure = figure.map(|(image, _)| image);
                json!({ "title": side.title, "says": side.says, "figure": figure })
            };
            out.push(json!({
                "kind": "pair",
                "right": half(view.right, right),
                "wrong": half(view.wrong, wrong),
                "rows": view.rows,
            }));
        }
        self.figures_of(id, &kinds, None, out)
    }

    fn asked(&mut self, ask: &FigureAsk, out: &mut Vec<Value>) -> Result<(), serde_json::Error> {
        let caption = ask.caption.as_ref().map(|flow| rich_run(flow, self.proof));
        self.figures_of(ask.rig, &ask.kinds, caption, out)
    }

    /// Figures in rows: two beside one another where both are narrow. Each with its `lower` drawings, for
    /// a page that is nearly full.
    fn figures_of(
        &mut self,
        rig: RigId,
        kinds: &[FigureKind],
        caption: Option<Vec<Rich>>,
        out: &mut Vec<Value>,
    ) -> Result<(), serde_json::Error> {
        let mut row: Vec<Value> = Vec::new();
        let mut wide_mm = 0.0;
        for kind in kinds {
            let room = if *kind == FigureKind::Polygon {
                POLYGON
            } else {
                WIDE
            };
            let ways = self.images.ways(self.proof, rig, *kind, room);
            let Some((image, title, lower)) = ways else {
                continue;
            };
            if !row.is_empty() && wide_mm + GAP_MM + image.width_mm > ROW_MM {
                out.push(json!({ "kind": "figures", "figures": std::mem::take(&mut row) }));
                wide_mm = 0.0;
            }
            wide_mm += GAP_MM + image.width_mm;
            let mut figure = serde_json::to_value(&image)?;
            let words = caption.clone().unwrap_or_else(|| plain(title));
            figure["caption"] = serde_json::to_value(words)?;
            figure["lower"] = serde_json::to_value(lower)?;
            row.push(figure);
        }
        if !row.is_empty() {
            out.push(json!({ "kind": "figures", "figures": row }));
        }
        Ok(())
    }
}

fn plain(text: String) -> Vec<Rich> {
    vec![Rich::Text { text }]
}
