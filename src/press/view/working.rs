//! How a value comes about, in sentences with the rig's own numbers.
//!
//! ```text
//! rig value ─working→ "Main leans 24°, second 31° the other way: 55° apart. Main carries …"
//! ```
//!
//! A formula is shown only where it gives the solver's own number: each is evaluated with the rig's
//! numbers first and left out where it differs, as with friction or feet on a limb.

use glam::DVec3;

use crate::quantity::{Quantity, STANDARD_GRAVITY, Units, fine_text, quantity_text, range_text};
use crate::rig::{LineId, Node, PointId, Rig, ValuePath};
use crate::statics::Solved;
use crate::value::{angle_between, evaluate};

use super::{heading_of, legs};
use crate::press::words::Words;

/// Most by which a shown formula may differ from the solver, as a share of its value
/// (dimensionless): half of what two printed digits can tell apart.
const AGREES: f64 = 0.005;

/// The working of a value; empty where the number is the rig's own, such as a length or an angle.
pub fn working(
    rig: &Rig,
    solved: &Solved,
    path: ValuePath,
    units: Units,
    words: Words,
) -> Vec<String> {
    let make = Make {
        rig,
        solved,
        units,
        words,
    };
    match path {
        ValuePath::Weight => vec![make.weight()],
        ValuePath::Pull(id) => {
            let mut lines = make.carried(id);
            lines.extend(make.each_leg(id));
            lines
        }
        ValuePath::OnClimber(id) => make.carried(id),
        ValuePath::Share(id) => {
            let mut lines = make.carried(id);
            lines.extend(make.share(id));
            lines
        }
        ValuePath::Spread(a, b) => make.spread(a, b).into_iter().collect(),
        ValuePath::Load(point) => make.load(point).into_iter().collect(),
        ValuePath::LossSpeed(id) => make.speed(id).into_iter().collect(),
        ValuePath::PullLow(_)
        | ValuePath::PullHigh(_)
        | ValuePath::Length(_)
        | ValuePath::Angle(_)
        | ValuePath::LoadAngle(_)
        | ValuePath::ZoneArea
        | ValuePath::LossDrop(_)
        | ValuePath::LossPull(_)
        | ValuePath::Effort(_) => Vec::new(),
    }
}

fn agrees(formula: f64, solved: f64) -> bool {
    (formula - solved).abs() <= AGREES * solved.abs()
}

struct Make<'a> {
    rig: &'a Rig,
    solved: &'a Solved,
    units: Units,
    words: Words,
}

impl Make<'_> {
    fn text(&self, quantity: Quantity) -> String {
        quantity_text(quantity, self.units)
    }

    /// An angle with one decimal more, so that a sum of two agrees as printed.
    fn fine(&self, radians: f64) -> String {
        fine_text(Quantity::Angle(radians), self.units, 1)
    }

    fn value(&self, path: ValuePath) -> Option<f64> {
        evaluate(self.rig, self.solved, path).map(Quantity::si)
    }

    fn line(&self, id: LineId) -> String {
        heading_of(&self.rig.line(id).name)
    }

    fn weight(&self) -> String {
        let (low, high) = self.rig.climber.mass_kg;
        let mass = range_text(Quantity::Mass(low), Quantity::Mass(high), self.units);
        let weight = self.text(Quantity::Force(self.solved.weight_n));
        let fields = [("mass", &*mass), ("weight", &*weight)];
        self.words.fill("working.weight", &fields)
    }

    /// What all legs of a line carry: by the law of sines between two lines, else by balance.
    fn carried(&self, id: LineId) -> Vec<String> {
        let Some(carried) = self.value(ValuePath::OnClimber(id)) else {
            return Vec::new();
        };
        let text = self.text(Quantity::Force(carried));
        let mut lines = vec![self.weight()];
        let met: Vec<LineId> = self
            .rig
            .line_ids()
            .filter(|id| legs(self.rig, *id) > 0)
            .collect();
        let other = match met[..] {
            [a, b] if a == id => Some(b),
            [a, b] if b == id => Some(a),
            _ => None,
        };
        let sines = other.and_then(|other| self.sines(id, other, carried, &text));
        if let Some(sines) = sines {
            lines.extend(sines);
        } else {
            let line = self.line(id);
            let weight = self.text(Quantity::Force(self.solved.weight_n));
            let fields = [("line", &*line), ("weight", &*weight), ("pull", &*text)];
            lines.push(self.words.fill("working.balance", &fields));
        }
        lines
    }

    /// Two lines that lean a and b from the vertical to opposite sides: the first carries
    /// W · sin b / sin (a + b), from the law of sines in the triangle of the three forces.
    fn sines(&self, id: LineId, other: LineId, carried: f64, text: &str) -> Option<Vec<String>> {
        let a = self.value(ValuePath::Angle(id))?;
        let b = self.value(ValuePath::Angle(other))?;
        let spread = self.value(ValuePath::Spread(id, other))?;
        let formula = self.solved.weight_n * libm::sin(b) / libm::sin(spread);
        if !agrees(a + b, spread) || !agrees(formula, carried) {
            return None;
        }
        let (one, second) = (self.line(id), self.line(other));
        let (a, b, spread) = (self.fine(a), self.fine(b), self.fine(spread));
        let weight = self.text(Quantity::Force(self.solved.weight_n));
        let lean = [
            ("one", &*one),
            ("other", &*second),
            ("a", &*a),
            ("b", &*b),
            ("spread", &*spread),
        ];
        let carries = [
            ("one", &*one),
            ("weight", &*weight),
            ("b", &*b),
            ("spread", &*spread),
            ("pull", text),
        ];
        Some(vec![
            self.words.fill("working.lean", &lean),
            self.words.fill("working.sines", &carries),
        ])
    }

    fn each_leg(&self, id: LineId) -> Option<String> {
        let count = legs(self.rig, id);
        let (all, one) = (
            self.value(ValuePath::OnClimber(id))?,
            self.value(ValuePath::Pull(id))?,
        );
        if count < 2 {
            return None;
        }
        let n = count.to_string();
        let (all_text, one_text) = (
            self.text(Quantity::Force(all)),
            self.text(Quantity::Force(one)),
        );
        let fields = [("n", &*n), ("all", &*all_text), ("one", &*one_text)];
        let key = if agrees(all / count as f64, one) {
            "working.legs"
        } else {
            "working.legs_differ"
        };
        Some(self.words.fill(key, &fields))
    }

    fn share(&self, id: LineId) -> Option<String> {
        let carried = self.text(Quantity::Force(self.value(ValuePath::OnClimber(id))?));
        let weight = self.text(Quantity::Force(self.solved.weight_n));
        let share = self.text(Quantity::Share(self.value(ValuePath::Share(id))?));
        let fields = [
            ("pull", &*carried),
            ("weight", &*weight),
            ("share", &*share),
        ];
        Some(self.words.fill("working.share", &fields))
    }

    fn spread(&self, a: LineId, b: LineId) -> Option<String> {
        let (one, other) = (self.line(a), self.line(b));
        let of = |id| self.value(ValuePath::Angle(id));
        let (a, b, spread) = (of(a)?, of(b)?, self.value(ValuePath::Spread(a, b))?);
        let key = if agrees(a + b, spread) {
            "working.spread_sum"
        } else if agrees((a - b).abs(), spread) {
            "working.spread_difference"
        } else {
            return None;
        };
        let (a, b, spread) = (self.fine(a), self.fine(b), self.fine(spread));
        let fields = [
            ("one", &*one),
            ("other", &*other),
            ("a", &*a),
            ("b", &*b),
            ("spread", &*spread),
        ];
        Some(self.words.fill(key, &fields))
    }

    /// A point that one line passes or ends on: two legs T with the angle φ between them press with
    /// 2 T cos(φ/2).
    fn load(&self, point: PointId) -> Option<String> {
        let load = self.value(ValuePath::Load(point))?;
        let text = self.text(Quantity::Force(load));
        let legs: Vec<(f64, DVec3)> = self
            .solved
            .spans
            .iter()
            .filter_map(|span| {
                let away = match (span.from, span.to) {
                    (Node::Point(p), _) if p == point => span.to_at - span.from_at,
                    (_, Node::Point(p)) if p == point => span.from_at - span.to_at,
                    _ => return None,
                };
                Some((span.pull_n?, away.try_normalize()?))
            })
            .collect();
        match legs[..] {
            [(pull, _)] => {
                let pull = self.text(Quantity::Force(pull));
                let fields = [("pull", &*pull), ("load", &*text)];
                Some(self.words.fill("working.load_end", &fields))
            }
            [(first, a), (second, b)] => {
                let between = angle_between(a, b);
                let formula = 2.0 * first * libm::cos(between / 2.0);
                let (one, two) = (
                    self.text(Quantity::Force(first)),
                    self.text(Quantity::Force(second)),
                );
                let angle = self.fine(between);
                let fields = [
                    ("one", &*one),
                    ("two", &*two),
                    ("angle", &*angle),
                    ("load", &*text),
                ];
                let key = if agrees(first, second) && agrees(formula, load) {
                    "working.load_legs"
                } else {
                    "working.load_differ"
                };
                Some(self.words.fill(key, &fields))
            }
            _ => None,
        }
    }

    /// Speed at the lowest point of a swing without friction: √(2 g h).
    fn speed(&self, id: LineId) -> Option<String> {
        let (drop, speed) = (
            self.value(ValuePath::LossDrop(id))?,
            self.value(ValuePath::LossSpeed(id))?,
        );
        if !agrees((2.0 * STANDARD_GRAVITY * drop).sqrt(), speed) {
            return None;
        }
        let (drop, speed) = (
            self.text(Quantity::Length(drop)),
            self.text(Quantity::Speed(speed)),
        );
        let fields = [("drop", &*drop), ("speed", &*speed)];
        Some(self.words.fill("working.speed", &fields))
    }
}
