//! The key numbers of a technique sheet: a table with lines as columns, and the notes under it.
//!
//! Every number comes from [`value::evaluate`], as on pages and in text; rows that say nothing for
//! any line are left out.

use serde::Serialize;

use crate::press::view::{DASH, heading_of, legs};
use crate::press::words::Words;
use crate::quantity::{Quantity, Units, quantity_parts, quantity_text, range_text};
use crate::rig::{LineId, Node, Rig, ValuePath};
use crate::statics::{LossOutcome, Solved};
use crate::value;

/// Most lines that the table shows as columns. With more, lines are its rows.
const MOST_COLUMNS: usize = 3;

/// What the template sets as the table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Numbers {
    /// Words in the corner: `Pulls in kN`.
    pub unit: String,
    /// Columns after the first.
    pub columns: Vec<Column>,
    /// Rows.
    pub rows: Vec<Row>,
    /// Sentences under the table.
    pub notes: Vec<String>,
}

/// A column: a line, or a quantity where lines are rows.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Column {
    /// Its heading.
    pub name: String,
    /// The line that it is about, where it is about one.
    pub line: Option<Sample>,
}

/// How a line is drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sample {
    /// Place in the rig: colour and pattern follow from it.
    pub index: usize,
    /// How many of its legs meet the climber.
    pub legs: usize,
}

/// A row.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Its heading.
    pub name: String,
    /// The line that it is about, where it is about one.
    pub line: Option<Sample>,
    /// One text a column.
    pub cells: Vec<String>,
    /// Whether it is what the reader looks for first.
    pub strong: bool,
}

/// One quantity of every line.
struct Measure {
    name: &'static str,
    strong: bool,
    cells: Vec<Option<String>>,
}

/// Builds the table of a rig.
pub fn numbers(rig: &Rig, solved: &Solved, units: Units, words: Words) -> Numbers {
    let measures = measures(rig, solved, units, words);
    let lines: Vec<LineId> = rig.line_ids().collect();
    let sample = |id: LineId| Sample {
        index: id.0,
        legs: legs(rig, id),
    };
    let cell = |text: &Option<String>| text.clone().unwrap_or_else(|| DASH.to_owned());
    let force_unit = quantity_parts(Quantity::Force(0.0), units).1;
    let (columns, rows) = if lines.len() <= MOST_COLUMNS {
        let columns = lines.iter().map(|id| Column {
            name: heading_of(&rig.line(*id).name),
            line: Some(sample(*id)),
        });
        let rows = measures.iter().map(|m| Row {
            name: m.name.to_owned(),
            line: None,
            cells: m.cells.iter().map(cell).collect(),
            strong: m.strong,
        });
        (columns.collect(), rows.collect())
    } else {
        let shown: Vec<&Measure> = measures
            .iter()
            .filter(|m| m.strong)
            .take(MOST_COLUMNS)
            .collect();
        let columns = shown.iter().map(|m| Column {
            name: m.name.to_owned(),
            line: None,
        });
        let rows = lines.iter().map(|id| Row {
            name: heading_of(&rig.line(*id).name),
            line: Some(sample(*id)),
            cells: shown.iter().map(|m| cell(&m.cells[id.0])).collect(),
            strong: false,
        });
        (columns.collect(), rows.collect())
    };
    Numbers {
        unit: words.fill("print.pulls_in", &[("unit", force_unit)]),
        columns,
        rows,
        notes: notes(rig, solved, units, words),
    }
}

/// All measures that at least one line has.
fn measures(rig: &Rig, solved: &Solved, units: Units, words: Words) -> Vec<Measure> {
    let doubled = rig.line_ids().any(|id| legs(rig, id) > 1);
    let all_two = rig.line_ids().all(|id| legs(rig, id) == 2);
    let force = |path: fn(LineId) -> ValuePath| {
        move |id: LineId| value::evaluate(rig, solved, path(id)).map(|q| quantity_parts(q, units).0)
    };
    let with_unit = |path: fn(LineId) -> ValuePath| {
        move |id: LineId| value::evaluate(rig, solved, path(id)).map(|q| quantity_text(q, units))
    };
    let of = |key, strong, cell: &dyn Fn(LineId) -> Option<String>| Measure {
        name: words.get(key),
        strong,
        cells: rig.line_ids().map(cell).collect(),
    };
    let (pull, least, most) = if doubled {
        ("print.one_leg", "print.one_leg_least", "print.one_leg_most")
    } else {
        ("print.pull", "print.pull_least", "print.pull_most")
    };
    let (low, high) = (
        of(least, false, &force(ValuePath::PullLow)),
        of(most, true, &force(ValuePath::PullHigh)),
    );
    let ranged = low.cells != high.cells;
    let mut all = Vec::new();
    if doubled {
        all.push(of(
            if all_two {
                "print.both_legs"
            } else {
                "print.all_legs"
            },
            true,
            &force(ValuePath::OnClimber),
        ));
    }
    all.push(of(pull, true, &force(ValuePath::Pull)));
    if ranged {
        all.push(low);
        all.push(high);
    }
    all.push(of("print.share", true, &with_unit(ValuePath::Share)));
    all.push(of("print.angle", false, &with_unit(ValuePath::Angle)));
    all.push(of("print.length", false, &with_unit(ValuePath::Length)));
    all.push(of("print.load", false, &|id| {
        anchor_load(rig, solved, id).map(|q| quantity_parts(q, units).0)
    }));
    all.push(of("print.drop", false, &|id| {
        drop(solved, id, units, words)
    }));
    all.retain(|m| m.cells.iter().any(Option::is_some));
    all
}

/// The largest load among the fixed points of a line's run.
fn anchor_load(rig: &Rig, solved: &Solved, id: LineId) -> Option<Quantity> {
    let fixed = rig.line(id).run.iter().filter_map(|node| match node {
        Node::Point(point) if !rig.point(*point).hangs => Some(*point),
        _ => None,
    });
    fixed
        .filter_map(|point| value::evaluate(rig, solved, ValuePath::Load(point)))
        .max_by(|a, b| a.si().total_cmp(&b.si()))
}

/// How far the climber drops when a line goes.
fn drop(solved: &Solved, id: LineId, units: Units, words: Words) -> Option<String> {
    let loss = solved.loss.iter().find(|loss| loss.line == id)?;
    Some(match &loss.outcome {
        LossOutcome::NothingHolds => words.get("print.falls").to_owned(),
        LossOutcome::Held { drop_m, .. } => quantity_text(Quantity::Length(*drop_m), units),
    })
}

/// Who hangs there, and the spread of two lines.
fn notes(rig: &Rig, solved: &Solved, units: Units, words: Words) -> Vec<String> {
    let text = |q| quantity_text(q, units);
    let (low, high) = rig.climber.mass_kg;
    let mass = range_text(Quantity::Mass(low), Quantity::Mass(high), units);
    let weight = text(Quantity::Force(solved.weight_n));
    let mut notes = vec![words.fill("print.mass", &[("mass", &mass), ("weight", &weight)])];
    let met: Vec<LineId> = rig.line_ids().filter(|id| legs(rig, *id) > 0).collect();
    if let [a, b] = met[..]
        && let Some(spread) = value::evaluate(rig, solved, ValuePath::Spread(a, b)).map(text)
    {
        notes.push(match rig.zone.spread_rad {
            Some(limit) => {
                let limit = text(Quantity::Angle(limit));
                words.fill(
                    "print.apart_limit",
                    &[("spread", &spread), ("limit", &limit)],
                )
            }
            None => words.fill("print.apart", &[("spread", &spread)]),
        });
    }
    if let Some(push) = solved.feet_push_n {
        let push = text(Quantity::Force(push.length()));
        notes.push(words.fill("numbers.feet", &[("push", &push)]));
    }
    if solved.needs_friction {
        notes.push(words.get("numbers.needs_friction").to_owned());
    }
    notes
}
