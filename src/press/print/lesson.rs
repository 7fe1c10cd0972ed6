//! A whole lesson on paper, with all its figures: the body of the handout and of the course book.

use serde::Serialize;
use serde_json::{Value, json};

use crate::pack::{FigureAsk, LessonId, Pack, Part, RigId};
use crate::press::Figures;
use crate::press::view::{Rich, criterion_view, fault_view, rich, rich_run, step_view};
use crate::press::words::Words;
use crate::rig::FigureKind;
use crate::rules::Proof;

use super::images::Images;
use super::marking::outcome_text;
use super::numbers::numbers;
use super::technique::{KitRow, kit_rows};

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
    figures: &Figures,
    id: LessonId,
    words: Words,
    images: &mut Images,
) -> Result<LessonData, serde_json::Error> {
    let pack = &proof.reading.pack;
    let lesson = pack.lesson(id);
    let mut gather = Gather {
        proof,
        figures,
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
    figures: &'a Figures,
    words: Words,
    images: &'a mut Images,
}

impl Gather<'_> {
    fn part(&mut self, part: &Part, out: &mut Vec<Value>) -> Result<(), serde_json::Error> {
        let proof = self.proof;
        match part {
            Part::Text(flow) => out.push(json!({ "kind": "text", "text": rich(flow, proof) })),
            Part::Rig(id) => {
                let kinds = proof.reading.pack.rig(*id).show.clone();
                self.figures_of(*id, &kinds, None, out)?;
                self.numbers_of(*id, out)?;
            }
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

    fn asked(&mut self, ask: &FigureAsk, out: &mut Vec<Value>) -> Result<(), serde_json::Error> {
        let caption = ask.caption.as_ref().map(|flow| rich_run(flow, self.proof));
        self.figures_of(ask.rig, &ask.kinds, caption, out)
    }

    fn figures_of(
        &mut self,
        rig: RigId,
        kinds: &[FigureKind],
        caption: Option<Vec<Rich>>,
        out: &mut Vec<Value>,
    ) -> Result<(), serde_json::Error> {
        for kind in kinds {
            let Some(drawing) = self.figures.get(rig, *kind) else {
                continue;
            };
            let mut figure = serde_json::to_value(self.images.add(drawing))?;
            let title = || {
                vec![Rich::Text {
                    text: drawing.title.clone(),
                }]
            };
            figure["kind"] = "figure".into();
            figure["caption"] = serde_json::to_value(caption.clone().unwrap_or_else(title))?;
            out.push(figure);
        }
        Ok(())
    }

    /// The numbers of a rig that is meant to be right.
    fn numbers_of(&self, id: RigId, out: &mut Vec<Value>) -> Result<(), serde_json::Error> {
        let pack = &self.proof.reading.pack;
        let rig = pack.rig(id);
        if rig.wrong.is_empty() {
            let table = numbers(rig, self.proof.solved(id), pack.units, self.words);
            let mut table = serde_json::to_value(table)?;
            table["kind"] = "numbers".into();
            out.push(table);
        }
        Ok(())
    }
}
