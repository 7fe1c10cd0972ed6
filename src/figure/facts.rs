//! What figures say about each line, gathered once: legs, pulls, ranges, words for its way.
//!
//! ```text
//! Rig + Solved ─gather→ LineFacts… (SI) ─say→ words in the pack's units
//! ```

use glam::DVec3;

use crate::quantity::{Quantity, Units, quantity_text, range_text};
use crate::rig::{LineId, Node, Over, Rig};
use crate::statics::Solved;
use crate::value::line_direction;

/// A pull under this prints as nothing and has no arrow: newtons, half of the last digit in kN.
pub const SLACK_N: f64 = 5.0;

/// Legs whose pulls differ by less share one number: newtons, half of the last digit in kN.
const SAME_N: f64 = 5.0;

/// What figures say about a line.
#[derive(Debug, Clone)]
pub struct LineFacts {
    /// Which line.
    pub id: LineId,
    /// Its name, with spaces.
    pub name: String,
    /// Indexes of the spans that meet the climber.
    pub legs: Vec<usize>,
    /// Nominal pull in each leg, newtons; empty where the rig does not hold.
    pub leg_pulls_n: Vec<f64>,
    /// The largest nominal pull of its spans, newtons.
    pub pull_n: Option<f64>,
    /// Least and most with friction, newtons; most is `None` where it is unbounded.
    pub range_n: Option<(f64, Option<f64>)>,
    /// Sum of the legs on the climber, newtons.
    pub on_climber_n: Option<DVec3>,
    /// From the climber along the line; `None` where it does not meet the climber.
    pub direction: Option<DVec3>,
    /// Whole length, metres.
    pub length_m: f64,
}

/// Gathers the facts of every line, in order.
pub fn gather(rig: &Rig, solved: &Solved) -> Vec<LineFacts> {
    rig.line_ids()
        .map(|id| {
            let answer = &solved.lines[id.0];
            let legs: Vec<usize> = (0..solved.spans.len())
                .filter(|i| {
                    let span = &solved.spans[*i];
                    span.line == id && (is_climber(span.from) || is_climber(span.to))
                })
                .collect();
            let pulls: Option<Vec<f64>> = legs.iter().map(|i| solved.spans[*i].pull_n).collect();
            LineFacts {
                id,
                name: spaced(&rig.line(id).name),
                leg_pulls_n: pulls.unwrap_or_default(),
                pull_n: answer.pull_n,
                range_n: answer.pull_low_n.map(|low| (low, answer.pull_high_n)),
                on_climber_n: answer.on_climber_n.filter(|_| !legs.is_empty()),
                direction: (!legs.is_empty())
                    .then(|| line_direction(rig, solved, id))
                    .flatten(),
                legs,
                length_m: answer.length_m,
            }
        })
        .collect()
}

impl LineFacts {
    /// Whether it carries nothing that would print.
    pub fn is_slack(&self) -> bool {
        self.pull_n.is_some_and(|n| n < SLACK_N)
    }

    /// Whether all its legs carry the same.
    pub fn legs_alike(&self) -> bool {
        let most = self.leg_pulls_n.iter().copied().fold(0.0, f64::max);
        self.leg_pulls_n.iter().all(|n| most - n < SAME_N)
    }

    /// Whether friction leaves its pull without an upper bound.
    pub fn is_unbounded(&self) -> bool {
        matches!(self.range_n, Some((_, None)))
    }

    /// The pull as one number: `0.19 kN`, `at least 0.19 kN`; `None` where the rig does not hold.
    pub fn pull_text(&self, units: Units) -> Option<String> {
        match self.range_n {
            Some((low, None)) => Some(format!("at least {}", force(low, units))),
            _ => self.pull_n.map(|n| force(n, units)),
        }
    }

    /// The range with friction, where its ends print differently: `0.17 to 0.21 kN`.
    pub fn range_text(&self, units: Units) -> Option<String> {
        let (low, high) = self.range_n?;
        let high = high?;
        let low = if low < SLACK_N { 0.0 } else { low };
        let both = range_text(Quantity::Force(low), Quantity::Force(high), units);
        let both = both
            .strip_prefix("0.00 ")
            .map_or(both.clone(), |rest| format!("0 {rest}"));
        (force(low, units) != force(high, units)).then_some(both)
    }

    /// How it is rigged, in the words of the key: `doubled over a pulley`, `single`, `three parts`.
    pub fn way(&self, rig: &Rig) -> String {
        let line = rig.line(self.id);
        let inner = &line.run[1..line.run.len() - 1];
        let over = inner.iter().find_map(|node| match node {
            Node::Point(id) => match rig.point(*id).over {
                Some(over) => Some(format!(" over {}", over_words(over))),
                None => Some(format!(" at {}", spaced(&rig.point(*id).name))),
            },
            Node::Climber(_) => None,
        });
        let over = over.unwrap_or_default();
        match self.legs.len() {
            0 => format!(
                "from {} to {}",
                spaced(rig.node_name(line.run[0])),
                spaced(rig.node_name(line.run[line.run.len() - 1]))
            ),
            1 => match (line.run.first(), line.run.last()) {
                (Some(first), Some(last)) if !inner.is_empty() => {
                    let end = if is_climber(*last) { first } else { last };
                    format!("single{over}, tied at {}", spaced(rig.node_name(*end)))
                }
                _ => "single".to_owned(),
            },
            2 => format!("doubled{over}"),
            3 => format!("three parts{over}"),
            n => format!("{n} parts{over}"),
        }
    }
}

/// Words for what a line runs over.
pub const fn over_words(over: Over) -> &'static str {
    match over {
        Over::Limb => "a limb",
        Over::Stem => "the stem",
        Over::Ring => "a ring",
        Over::Pulley => "a pulley",
    }
}

/// Whether a place of a run is the harness.
pub const fn is_climber(node: Node) -> bool {
    matches!(node, Node::Climber(_))
}

/// A name of a block as people read it.
pub fn spaced(name: &str) -> String {
    name.replace(['-', '_'], " ")
}

/// A force in words.
pub fn force(newtons: f64, units: Units) -> String {
    quantity_text(Quantity::Force(newtons), units)
}

/// A length in words.
pub fn length(metres: f64, units: Units) -> String {
    quantity_text(Quantity::Length(metres), units)
}
