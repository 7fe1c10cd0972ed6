//! Wrong choices from the usual slips: half, double, sine for cosine, another line, one leg for all.
//!
//! ```text
//! rig value ─slips→ (quantity, sentence) … ─choose→ choices in rising order, each wrong one with its why
//! ```
//!
//! The same rig gives the same choices. Every choice is a likely mistake in the same sum, so that
//! choosing it tells the instructor what went wrong.

use crate::quantity::{Dimension, Quantity, Units, quantity_text};
use crate::rig::{LineId, Node, PointId, Rig, ValuePath};
use crate::statics::Solved;
use crate::value::evaluate;

use super::{heading_of, legs};
use crate::press::words::Words;

/// Wrong choices that a question gets, the author's own included: with the right one four, as many
/// as a learner can weigh against each other.
const WRONG_CHOICES: usize = 3;

/// Least distance between two choices, as a share of the greater (dimensionless): nearer ones ask
/// for arithmetic to the last digit and not for the idea.
const LEAST_APART: f64 = 0.05;

/// One choice of a question about a value.
#[derive(Debug, Clone, PartialEq)]
pub struct ValueChoice {
    /// The number with its unit.
    pub text: String,
    /// What went wrong, in a sentence; `None` for the right choice and for the author's own.
    pub why: Option<String>,
    /// Whether it is right.
    pub right: bool,
}

/// The choices of a question about a value, in rising order.
///
/// - `own`: the author's own wrong choices, taken first.
/// - Returns nothing where the rig has no such number, which is an error of the proof.
pub fn value_choices(
    rig: &Rig,
    solved: &Solved,
    path: ValuePath,
    own: &[Quantity],
    units: Units,
    words: Words,
) -> Vec<ValueChoice> {
    let Some(right) = evaluate(rig, solved, path) else {
        return Vec::new();
    };
    let mut taken = vec![(right, None, true)];
    let own = own.iter().map(|quantity| (*quantity, None));
    let make = Make {
        rig,
        solved,
        words,
        right,
    };
    let slips = make.slips(path).into_iter();
    let slips = slips.map(|(quantity, why)| (quantity, Some(why)));
    for (quantity, why) in own.chain(slips) {
        if taken.len() > WRONG_CHOICES {
            break;
        }
        let apart = |other: Quantity| {
            let (a, b) = (quantity.si(), other.si());
            // The author's own choices count as they are, if they print differently.
            (why.is_none() || (a - b).abs() >= LEAST_APART * a.max(b))
                && quantity_text(quantity, units) != quantity_text(other, units)
        };
        if likely(quantity) && taken.iter().all(|(other, _, _)| apart(*other)) {
            taken.push((quantity, why, false));
        }
    }
    taken.sort_by(|a, b| a.0.si().total_cmp(&b.0.si()));
    let choices = taken.into_iter().map(|(quantity, why, right)| ValueChoice {
        text: quantity_text(quantity, units),
        why,
        right,
    });
    choices.collect()
}

/// Whether anyone could answer that: above nothing, and an angle below a straight line.
fn likely(quantity: Quantity) -> bool {
    let si = quantity.si();
    si > 0.0 && (quantity.dimension() != Dimension::Angle || si < std::f64::consts::PI)
}

struct Make<'a> {
    rig: &'a Rig,
    solved: &'a Solved,
    words: Words,
    right: Quantity,
}

type Slip = (Quantity, String);

impl Make<'_> {
    /// Slips for a value, the most telling first; those that fit any number stand last.
    fn slips(&self, path: ValuePath) -> Vec<Slip> {
        let mut slips = match path {
            ValuePath::Pull(id) | ValuePath::PullLow(id) | ValuePath::PullHigh(id) => {
                let mut slips = Vec::new();
                if legs(self.rig, id) > 1 {
                    slips.extend(self.of(ValuePath::OnClimber(id), "slip.all_legs", id));
                }
                slips.extend(self.sine(id));
                slips.extend(self.others(id, ValuePath::Pull));
                slips.extend(self.weights());
                slips
            }
            ValuePath::OnClimber(id) => {
                let mut slips = Vec::new();
                if legs(self.rig, id) > 1 {
                    slips.extend(self.of(ValuePath::Pull(id), "slip.one_leg", id));
                }
                slips.extend(self.sine(id));
                slips.extend(self.others(id, ValuePath::OnClimber));
                slips.extend(self.weights());
                slips
            }
            ValuePath::Share(id) => {
                let rest = Quantity::Share(1.0 - self.right.si());
                let mut slips = vec![self.say(rest, "slip.rest")];
                slips.extend(self.others(id, ValuePath::Share));
                slips.push(self.say(Quantity::Share(0.5), "slip.even"));
                slips
            }
            ValuePath::Angle(id) => {
                let mut slips = vec![self.horizontal()];
                slips.extend(self.others(id, ValuePath::Angle));
                slips
            }
            ValuePath::LoadAngle(_) => vec![self.horizontal()],
            ValuePath::Spread(a, b) => {
                let outer = Quantity::Angle(std::f64::consts::PI - self.right.si());
                let mut slips: Vec<Slip> = [a, b]
                    .into_iter()
                    .filter_map(|id| self.of(ValuePath::Angle(id), "slip.one_angle", id))
                    .collect();
                slips.push(self.say(outer, "slip.outer"));
                slips
            }
            ValuePath::Load(point) => {
                let mut slips = self.at_point(point);
                slips.extend(self.weights());
                slips
            }
            ValuePath::LossSpeed(id) => {
                let root = Quantity::Speed(self.right.si() / std::f64::consts::SQRT_2);
                let mut slips = vec![self.say(root, "slip.root")];
                slips.extend(self.others(id, ValuePath::LossSpeed));
                slips
            }
            ValuePath::LossDrop(id) => self.others(id, ValuePath::LossDrop),
            ValuePath::LossPull(_) | ValuePath::Effort(_) => self.weights(),
            ValuePath::Length(id) => self.others(id, ValuePath::Length),
            ValuePath::Weight | ValuePath::ZoneArea => Vec::new(),
        };
        slips.extend(self.any());
        slips
    }

    fn say(&self, quantity: Quantity, key: &'static str) -> Slip {
        (quantity, self.words.get(key).to_owned())
    }

    /// Another value of the rig, with a sentence that names the line.
    fn of(&self, path: ValuePath, key: &'static str, id: LineId) -> Option<Slip> {
        let quantity = evaluate(self.rig, self.solved, path)?;
        let line = heading_of(&self.rig.line(id).name);
        Some((quantity, self.words.fill(key, &[("line", &line)])))
    }

    /// The same value of each other line.
    fn others(&self, id: LineId, path: fn(LineId) -> ValuePath) -> Vec<Slip> {
        let others = self.rig.line_ids().filter(|other| *other != id);
        others
            .filter_map(|other| self.of(path(other), "slip.other_line", other))
            .collect()
    }

    /// Sine for cosine: a line at the angle a from the vertical pulls P = V / cos a for an upward
    /// part V, and V / sin a with the slip, that is P / tan a.
    fn sine(&self, id: LineId) -> Option<Slip> {
        let angle = evaluate(self.rig, self.solved, ValuePath::Angle(id))?.si();
        let tan = libm::tan(angle);
        let slip = Quantity::Force(self.right.si() / tan);
        slip.si().is_finite().then(|| self.say(slip, "slip.sine"))
    }

    /// The whole weight, and an even part of it for each line that meets the climber.
    fn weights(&self) -> Vec<Slip> {
        let weight = self.solved.weight_n;
        let met = self.rig.line_ids().filter(|id| legs(self.rig, *id) > 0);
        let lines = met.count().max(1) as f64;
        vec![
            self.say(Quantity::Force(weight), "slip.weight"),
            self.say(Quantity::Force(weight / lines), "slip.even"),
        ]
    }

    fn horizontal(&self) -> Slip {
        let from = Quantity::Angle(std::f64::consts::FRAC_PI_2 - self.right.si());
        self.say(from, "slip.horizontal")
    }

    /// One leg for both, and both straight down, of the lines that pass a point.
    fn at_point(&self, point: PointId) -> Vec<Slip> {
        let passing = self.rig.line_ids().filter(|id| {
            let run = &self.rig.line(*id).run;
            let inside = run.get(1..run.len().saturating_sub(1)).unwrap_or_default();
            inside.contains(&Node::Point(point))
        });
        let mut slips = Vec::new();
        for id in passing {
            let Some((pull, one)) = self.of(ValuePath::Pull(id), "slip.one_leg_load", id) else {
                continue;
            };
            slips.push((pull, one));
            slips.push(self.say(Quantity::Force(2.0 * pull.si()), "slip.two_pulls"));
        }
        slips
    }

    /// Slips that fit any number.
    fn any(&self) -> Vec<Slip> {
        let times = |factor: f64| self.right.dimension().of(self.right.si() * factor);
        vec![
            self.say(times(0.5), "slip.half"),
            self.say(times(2.0), "slip.double"),
            self.say(times(0.1), "slip.point"),
            self.say(times(10.0), "slip.point"),
        ]
    }
}
