//! Tables of a course and of the kit: outcomes with the criteria that show them, ropes with hitches.

use serde::Serialize;

use crate::pack::Course;
use crate::press::view::{
    Document, Matrix, Pairings, Rich, criteria, criterion_view, matrix, pairings,
};
use crate::press::words::Words;
use crate::rules::Proof;

use super::head::Head;
use super::world::Manuscript;

/// Most lessons that an upright page has room for beside the outcomes.
const UPRIGHT_LESSONS: usize = 7;
/// Most hitches that an upright page has room for beside the ropes.
const UPRIGHT_HITCHES: usize = 5;

#[derive(Serialize)]
struct Outcomes {
    #[serde(flatten)]
    head: Head,
    /// Whether the page lies on its side.
    wide: bool,
    matrix: Matrix,
    /// Every criterion of the course's lessons, in order.
    criteria: Vec<CriterionRow>,
}

#[derive(Serialize)]
struct CriterionRow {
    lesson: String,
    number: String,
    text: Vec<Rich>,
    critical: bool,
    outcome: Option<String>,
}

/// Gathers a course's outcomes by lesson and criterion, of a course that has outcomes.
///
/// # Errors
/// Those of writing plain data as JSON: none that is known.
pub fn outcomes(
    proof: &Proof,
    course: &Course,
    words: Words,
) -> Result<Manuscript, serde_json::Error> {
    let pack = &proof.reading.pack;
    let code = course.code.as_deref().unwrap_or_default();
    let mut rows = Vec::new();
    for id in &course.lessons {
        let lesson = pack.lesson(*id);
        rows.extend((1..).zip(criteria(lesson)).map(|(n, criterion)| {
            let view = criterion_view(criterion, proof);
            CriterionRow {
                lesson: lesson.code.clone(),
                number: format!("G{n}"),
                text: view.text,
                critical: view.critical,
                outcome: view.outcome,
            }
        }));
    }
    let table = Outcomes {
        head: Head::new(pack, Document::Outcomes, code, &course.title, words),
        wide: course.lessons.len() > UPRIGHT_LESSONS,
        matrix: matrix(pack, course, words),
        criteria: rows,
    };
    Ok(Manuscript {
        template: "outcomes.typ",
        data: serde_json::to_value(&table)?,
        images: Vec::new(),
        ident: format!("{} outcomes", course.name),
    })
}

#[derive(Serialize)]
struct Tested {
    #[serde(flatten)]
    head: Head,
    wide: bool,
    table: Option<Pairings>,
    /// What the table means, said before and after it.
    how: &'static str,
    note: &'static str,
    rope: &'static str,
    tested: &'static str,
    hold: &'static str,
    none: &'static str,
}

/// Gathers the table of ropes and hitches of a pack with tested lists.
///
/// # Errors
/// Those of writing plain data as JSON: none that is known.
pub fn tested(proof: &Proof, words: Words) -> Result<Manuscript, serde_json::Error> {
    let pack = &proof.reading.pack;
    let table = pairings(pack);
    let title = words.get("kit.pairs");
    let page = Tested {
        head: Head::new(pack, Document::Pairings, "", title, words),
        wide: table
            .as_ref()
            .is_some_and(|t| t.hitches.len() > UPRIGHT_HITCHES),
        table,
        how: words.get("kit.pairs_how"),
        note: words.get("kit.pairs_note"),
        rope: words.get("kit.rope"),
        tested: words.get("kit.tested"),
        hold: words.get("kit.holding"),
        none: words.get("kit.not_tested"),
    };
    Ok(Manuscript {
        template: "pairings.typ",
        data: serde_json::to_value(&page)?,
        images: Vec::new(),
        ident: format!("{} ropes and hitches", pack.title),
    })
}
