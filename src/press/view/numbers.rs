//! The numbers table of a rig: lines as columns, quantities as rows, each with its second lines.
//!
//! Every number comes from [`value::evaluate`], as those in the text do; a row that says nothing
//! for any line is left out. Shares and *all legs* are of the whole line, pulls of one leg: the row
//! names say which.

use serde::Serialize;

use crate::quantity::{Quantity, Units, quantity_text, range_text};
use crate::rig::{LineId, Node, Rig, ValuePath};
use crate::statics::{LossOutcome, Solved};
use crate::value;

use super::{DASH, heading_of};
use crate::press::words::Words;

/// The table of one rig.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NumbersTable {
    /// Who hangs there.
    pub caption: String,
    /// The lines.
    pub columns: Vec<LineColumn>,
    /// Groups of rows: pulls, anchors, losses.
    pub groups: Vec<Group>,
    /// Sentences under the table.
    pub notes: Vec<String>,
}

/// A line's column.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineColumn {
    /// Name in the block.
    pub key: String,
    /// Name for people.
    pub name: String,
    /// Place in the rig, from 0: colour and pattern follow from it.
    pub index: usize,
    /// How many of its legs meet the climber.
    pub legs: usize,
}

/// Rows under one heading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Group {
    /// Heading; `None` for the first group.
    pub heading: Option<String>,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// One quantity of every line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Stable name: `pull`, `share`, …
    pub key: &'static str,
    /// Name for people.
    pub name: String,
    /// Whether it is what a reader looks for first.
    pub strong: bool,
    /// One cell a line.
    pub cells: Vec<Cell>,
}

/// What a row says about one line.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Cell {
    /// The values, each with a second line in small letters: a range, an anchor's name.
    pub values: Vec<CellValue>,
}

/// One value of a cell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CellValue {
    /// The number with its unit, or words.
    pub text: String,
    /// The second line.
    pub small: Option<String>,
}

impl Cell {
    fn one(text: Option<String>) -> Self {
        let value = |text| CellValue { text, small: None };
        Self {
            values: text.map(value).into_iter().collect(),
        }
    }
}

/// How many legs of a line meet the climber.
pub fn legs(rig: &Rig, id: LineId) -> usize {
    let run = &rig.line(id).run;
    run.iter().filter(|n| matches!(n, Node::Climber(_))).count()
}

/// Builds the table of a rig.
pub fn numbers(rig: &Rig, solved: &Solved, units: Units, words: Words) -> NumbersTable {
    let make = Make {
        rig,
        solved,
        units,
        words,
    };
    let columns = rig.line_ids().map(|id| LineColumn {
        key: rig.line(id).name.clone(),
        name: heading_of(&rig.line(id).name),
        index: id.0,
        legs: legs(rig, id),
    });
    let mut groups = vec![make.pulls(), make.anchors(), make.losses()];
    for group in &mut groups {
        group
            .rows
            .retain(|row| row.cells.iter().any(|cell| !cell.values.is_empty()));
    }
    groups.retain(|group| !group.rows.is_empty());
    NumbersTable {
        caption: make.caption(),
        columns: columns.collect(),
        groups,
        notes: make.notes(),
    }
}

struct Make<'a> {
    rig: &'a Rig,
    solved: &'a Solved,
    units: Units,
    words: Words,
}

impl Make<'_> {
    fn value(&self, path: ValuePath) -> Option<Quantity> {
        value::evaluate(self.rig, self.solved, path)
    }

    fn text(&self, path: ValuePath) -> Option<String> {
        self.value(path).map(|q| quantity_text(q, self.units))
    }

    fn row(
        &self,
        key: &'static str,
        name: &'static str,
        strong: bool,
        cell: impl Fn(LineId) -> Cell,
    ) -> Row {
        Row {
            key,
            name: self.words.get(name).to_owned(),
            strong,
            cells: self.rig.line_ids().map(cell).collect(),
        }
    }

    fn caption(&self) -> String {
        let (low, high) = self.rig.climber.mass_kg;
        let mass = range_text(Quantity::Mass(low), Quantity::Mass(high), self.units);
        let weight = self.text(ValuePath::Weight).unwrap_or_default();
        self.words.fill(
            "numbers.caption",
            &[("mass", mass.as_str()), ("weight", weight.as_str())],
        )
    }

    fn pulls(&self) -> Group {
        let most_legs = self.rig.line_ids().map(|id| legs(self.rig, id)).max();
        let (doubled, more) = (most_legs > Some(1), most_legs > Some(2));
        let plain = |path: fn(LineId) -> ValuePath| move |id| Cell::one(self.text(path(id)));
        let pull_name = if doubled {
            "numbers.pull_leg"
        } else {
            "numbers.pull"
        };
        let mut rows = vec![self.row("pull", pull_name, true, |id| self.pull(id))];
        if doubled {
            let name = if more {
                "numbers.on_climber"
            } else {
                "numbers.on_climber_two"
            };
            rows.push(self.row("on-climber", name, true, plain(ValuePath::OnClimber)));
        }
        rows.push(self.row("share", "numbers.share", true, plain(ValuePath::Share)));
        rows.push(self.row("length", "numbers.length", false, plain(ValuePath::Length)));
        rows.push(self.row("angle", "numbers.angle", false, plain(ValuePath::Angle)));
        Group {
            heading: None,
            rows,
        }
    }

    /// The nominal pull, with the range where friction leaves one.
    fn pull(&self, id: LineId) -> Cell {
        let Some(text) = self.text(ValuePath::Pull(id)) else {
            return Cell::default();
        };
        let low = self.value(ValuePath::PullLow(id));
        let small = match (low, self.value(ValuePath::PullHigh(id))) {
            (Some(low), Some(high)) => {
                let range = range_text(low, high, self.units);
                (range != text).then_some(range)
            }
            _ => Some(self.words.get("numbers.no_limit").to_owned()),
        };
        Cell {
            values: vec![CellValue { text, small }],
        }
    }

    fn anchors(&self) -> Group {
        let load = |id: LineId| {
            let mut points: Vec<_> = self.rig.line(id).run.iter().collect();
            points.dedup();
            let fixed = points.into_iter().filter_map(|node| match node {
                Node::Point(point) if !self.rig.point(*point).hangs => Some(*point),
                _ => None,
            });
            let values = fixed.filter_map(|point| {
                Some(CellValue {
                    text: self.text(ValuePath::Load(point))?,
                    small: Some(heading_of(&self.rig.point(point).name)),
                })
            });
            Cell {
                values: values.collect(),
            }
        };
        Group {
            heading: Some(self.words.get("numbers.anchors").to_owned()),
            rows: vec![self.row("load", "numbers.load", true, load)],
        }
    }

    fn losses(&self) -> Group {
        let loss = |id: LineId| self.solved.loss.iter().find(|loss| loss.line == id);
        let falls = |id| match loss(id).map(|l| &l.outcome) {
            Some(LossOutcome::NothingHolds) => {
                Cell::one(Some(self.words.get("numbers.falls").to_owned()))
            }
            _ => Cell::one(self.text(ValuePath::LossDrop(id))),
        };
        let meets = |id| match loss(id).map(|l| &l.outcome) {
            Some(LossOutcome::Held { strikes, .. }) => {
                let Some(strike) = strikes else {
                    return Cell::one(Some(self.words.get("numbers.strikes_none").to_owned()));
                };
                let way = quantity_text(Quantity::Length(strike.after_m), self.units);
                let speed = quantity_text(Quantity::Speed(strike.speed_m_s), self.units);
                let after = [("way", way.as_str()), ("speed", speed.as_str())];
                let piece = heading_of(&strike.piece).to_lowercase();
                Cell {
                    values: vec![CellValue {
                        text: self
                            .words
                            .fill("numbers.strikes_at", &[("piece", piece.as_str())]),
                        small: Some(self.words.fill("numbers.strikes_after", &after)),
                    }],
                }
            }
            _ => Cell::default(),
        };
        let plain = |path: fn(LineId) -> ValuePath| move |id| Cell::one(self.text(path(id)));
        Group {
            heading: Some(self.words.get("numbers.lost").to_owned()),
            rows: vec![
                self.row("drop", "numbers.drop", true, falls),
                self.row("speed", "numbers.speed", false, plain(ValuePath::LossSpeed)),
                self.row("peak", "numbers.peak", false, plain(ValuePath::LossPull)),
                self.row("strikes", "numbers.strikes", false, meets),
            ],
        }
    }

    fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        let words = self.words;
        if let Some(push) = self.solved.push_needed_n {
            let push = quantity_text(Quantity::Force(push.length()), self.units);
            notes.push(words.fill("numbers.not_held", &[("push", push.as_str())]));
        }
        if self.solved.needs_friction {
            notes.push(words.get("numbers.needs_friction").to_owned());
        }
        let met: Vec<LineId> = self
            .rig
            .line_ids()
            .filter(|id| legs(self.rig, *id) > 0)
            .collect();
        if let [a, b] = met[..]
            && let Some(spread) = self.text(ValuePath::Spread(a, b))
        {
            let limit = self.rig.zone.spread_rad;
            notes.push(match limit {
                Some(limit) => {
                    let limit = quantity_text(Quantity::Angle(limit), self.units);
                    let fields = [("spread", spread.as_str()), ("limit", limit.as_str())];
                    words.fill("numbers.spread_limit", &fields)
                }
                None => words.fill("numbers.spread", &[("spread", spread.as_str())]),
            });
        }
        let shares = met
            .iter()
            .filter_map(|id| self.value(ValuePath::Share(*id)));
        if met.len() > 1 && shares.map(Quantity::si).sum::<f64>() > SHARES_OVER_ONE {
            notes.push(words.get("numbers.shares").to_owned());
        }
        if self.has_ranges() {
            notes.push(words.get("numbers.ranges").to_owned());
        }
        if let Some(push) = self.solved.feet_push_n {
            let push = quantity_text(Quantity::Force(push.length()), self.units);
            notes.push(words.fill("numbers.feet", &[("push", push.as_str())]));
        }
        notes
    }

    fn has_ranges(&self) -> bool {
        self.rig.line_ids().any(|id| {
            let small = self.pull(id).values.into_iter().find_map(|v| v.small);
            small.is_some_and(|s| s != self.words.get("numbers.no_limit") && s != DASH)
        })
    }
}

/// Shares are printed as whole per cent, so they add to visibly more than the weight from here on
/// (dimensionless).
const SHARES_OVER_ONE: f64 = 1.005;
