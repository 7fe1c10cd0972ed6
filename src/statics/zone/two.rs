//! Two lines in a plane, each with all its legs to one place: pulls, lengths and directions at a
//! place in closed form, from what is worked out once.

use glam::{DVec2, DVec3};

use super::verdict::{LineAt, LineShape};
use crate::statics::Prepared;
use crate::statics::prepared::two_pulls;

/// The two lines of an upright plane that meet the harness.
pub(super) struct TwoLines {
    lines: [Line; 2],
    /// Lines that do not meet the harness: they carry nothing.
    others: Vec<usize>,
    weight_n: f64,
}

/// A line that meets the harness.
struct Line {
    /// Its number in the rig.
    line: usize,
    /// Where its legs lead, (x, z) in metres.
    far: DVec2,
    /// How many lead there.
    legs: f64,
    /// Length of the spans that do not meet the harness, metres.
    rest_m: f64,
}

impl TwoLines {
    /// The lines of a rig, if they are such.
    pub fn of(prepared: &Prepared, lines: &[LineShape]) -> Option<Self> {
        let (met, others): (Vec<_>, Vec<_>) =
            (0..lines.len()).partition(|line| !lines[*line].legs.is_empty());
        let [first, second] = met[..] else {
            return None;
        };
        let line = |line: usize| {
            let shape = &lines[line];
            let (_, far) = shape.legs.first().filter(|_| shape.leads_together)?;
            Some(Line {
                line,
                far: DVec2::new(far.x, far.z),
                legs: shape.legs.len() as f64,
                rest_m: shape.rest_m,
            })
        };
        prepared.is_of_two_pulls().then_some(Self {
            lines: [line(first)?, line(second)?],
            others,
            weight_n: prepared.weight_n(),
        })
    }

    /// Fills the pull of each line in one leg, newtons, and what the lines are at a place, and says how
    /// clearly the pulls make a balance, as [`Prepared::hold_near`] does; `None` where the two are too
    /// nearly parallel for that.
    pub fn pulls(&self, at: DVec2, pulls_n: &mut [f64], lines: &mut [LineAt]) -> Option<f64> {
        let [first, second] = &self.lines;
        let mut leads = |line: &Line| {
            let along = line.far - at;
            let length = along.length();
            let way = match length > 0.0 {
                true => along * (1.0 / length),
                false => DVec2::ZERO,
            };
            lines[line.line] = LineAt {
                length_m: line.rest_m + line.legs * length,
                way: DVec3::new(way.x, 0.0, way.y),
            };
            way * line.legs
        };
        let sums = [leads(first), leads(second)];
        let (pulls, margin) = two_pulls(sums)?;
        pulls_n[first.line] = pulls[0].max(0.0) * self.weight_n;
        pulls_n[second.line] = pulls[1].max(0.0) * self.weight_n;
        for line in &self.others {
            pulls_n[*line] = 0.0;
        }
        Some(margin)
    }
}
