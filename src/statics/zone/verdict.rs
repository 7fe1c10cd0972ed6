//! Whether a place belongs to the zone, and if not, why.
//!
//! ```text
//! place ─loads: balance, limits, spread─→ ─bounds: lengths, ground, wood→ held, or NotHeld
//! ```

use glam::DVec3;

use crate::rig::{LineId, Node, Rig};
use crate::statics::layout::{HARNESS, Layout};
use crate::statics::{HoldAnswer, NotHeld, Prepared};
use crate::value::angle_between;

/// A rig whose hanging points, if any, stay where they are, prepared for many places.
pub(super) struct Judge<'a> {
    rig: &'a Rig,
    prepared: Prepared,
    answer: HoldAnswer,
    lines: Vec<LineShape>,
    line_of_span: Vec<usize>,
    /// Where each line leads from the harness, at the last place asked.
    ways: Vec<Option<DVec3>>,
    ground_m: f64,
    /// Largest pull of each line at the last place asked, newtons.
    pub pulls_n: Vec<f64>,
}

/// What a line's length and direction depend on.
struct LineShape {
    /// Length of the spans that do not meet the harness, metres.
    rest_m: f64,
    /// Span in the rig and far place of each leg at the harness.
    legs: Vec<(usize, DVec3)>,
}

impl<'a> Judge<'a> {
    pub fn new(rig: &'a Rig) -> Self {
        let layout = Layout::new(rig);
        let places = layout.places(rig, DVec3::ZERO);
        let lines = (0..rig.lines.len()).map(|line| {
            let mut shape = LineShape {
                rest_m: 0.0,
                legs: Vec::new(),
            };
            for (i, span) in layout.spans.iter().enumerate() {
                match (span.line == line, span.from, span.to) {
                    (false, ..) | (_, HARNESS, HARNESS) => {}
                    (_, HARNESS, far) | (_, far, HARNESS) => shape.legs.push((i, places[far])),
                    _ => shape.rest_m += layout.length(i, &places),
                }
            }
            shape
        });
        Self {
            rig,
            lines: lines.collect(),
            ways: Vec::with_capacity(rig.lines.len()),
            line_of_span: layout.spans.iter().map(|s| s.line).collect(),
            prepared: Prepared::new(rig),
            answer: HoldAnswer::default(),
            ground_m: ground_m(rig),
            pulls_n: vec![f64::NAN; rig.lines.len()],
        }
    }

    /// Everything.
    pub fn place(&mut self, at: DVec3) -> Result<(), NotHeld> {
        self.loads(at)?;
        self.bounds(at)
    }

    /// Balance, limits and spread; fills [`Judge::pulls_n`], with NaN where there is no balance.
    pub fn loads(&mut self, at: DVec3) -> Result<(), NotHeld> {
        self.prepared.hold_at(at, &mut self.answer);
        if !self.answer.holds {
            self.pulls_n.fill(f64::NAN);
            return Err(NotHeld::CannotBalance);
        }
        self.pulls_n.fill(0.0);
        for (line, pull) in self.line_of_span.iter().zip(&self.answer.pull_n) {
            self.pulls_n[*line] = self.pulls_n[*line].max(*pull);
        }
        over_limit(self.rig, &self.pulls_n)?;
        let Some(most) = self.rig.zone.spread_rad else {
            return Ok(());
        };
        let ways = self.lines.iter().map(|shape| {
            let unit = |far: &DVec3| (*far - at).normalize_or_zero();
            let legs = shape.legs.iter();
            let sum: DVec3 = legs
                .map(|(span, far)| unit(far) * self.answer.pull_n[*span])
                .sum();
            let first = shape.legs.first().map(|(_, far)| unit(far));
            sum.try_normalize().or(first)
        });
        self.ways.clear();
        self.ways.extend(ways);
        spread_too_far(&self.ways, most)
    }

    /// How far from a place all of [`Judge::bounds`] surely holds, metres; 0 where it may not.
    pub fn clear_m(&self, at: DVec3) -> f64 {
        let mut clear = at.z - self.ground_m;
        for (shape, line) in self.lines.iter().zip(&self.rig.lines) {
            let Some((least, most)) = line.adjust_m else {
                continue;
            };
            let legs: f64 = shape.legs.iter().map(|(_, far)| far.distance(at)).sum();
            let length = shape.rest_m + legs;
            // Each leg gets longer by no more than the way.
            let spare = (most - length).min(length - least);
            clear = clear.min(spare / (shape.legs.len() as f64).max(1.0));
        }
        for piece in &self.rig.tree.pieces {
            let taper = (piece.diameter_m.0 - piece.diameter_m.1).abs() / 2.0;
            let steep = taper > (WOOD_SLOPE - 1.0) * piece.from.distance(piece.to);
            let spare = if steep { 0.0 } else { -piece.depth_m(at) };
            clear = clear.min(spare / WOOD_SLOPE);
        }
        clear.max(0.0)
    }

    /// Lengths, ground and wood.
    pub fn bounds(&self, at: DVec3) -> Result<(), NotHeld> {
        for (i, shape) in self.lines.iter().enumerate() {
            let Some((least, most)) = self.rig.lines[i].adjust_m else {
                continue;
            };
            let legs: f64 = shape.legs.iter().map(|(_, far)| far.distance(at)).sum();
            let length = shape.rest_m + legs;
            if length > most {
                return Err(NotHeld::TooShort(LineId(i)));
            }
            if length < least {
                return Err(NotHeld::TooLong(LineId(i)));
            }
        }
        clear_of_tree(self.rig, self.ground_m, at)
    }
}

/// How fast the depth inside a piece of wood changes with the place, at most, for the tapers that
/// trees have: its distance changes by one, its radius by half of the taper.
const WOOD_SLOPE: f64 = 2.0;

/// Height below which nobody hangs: the tree's ground, else 0, metres.
pub(super) fn ground_m(rig: &Rig) -> f64 {
    rig.tree.ground_m.unwrap_or(0.0)
}

/// Fails for the line that is farthest over its limit.
pub(super) fn over_limit(rig: &Rig, pulls_n: &[f64]) -> Result<(), NotHeld> {
    let mut worst = (1.0, None);
    for (i, pull) in pulls_n.iter().enumerate() {
        if let Some(limit) = rig.lines[i].limit_n
            && *pull > worst.0 * limit
        {
            worst = (pull / limit, Some(LineId(i)));
        }
    }
    worst.1.map_or(Ok(()), |line| Err(NotHeld::OverLimit(line)))
}

/// Fails for the two lines that spread widest, if that is more than `most` radians. `ways` gives
/// each line's direction at the harness; `None` for a line that does not meet it.
pub(super) fn spread_too_far(ways: &[Option<DVec3>], most: f64) -> Result<(), NotHeld> {
    let mut worst = (most, None);
    for (i, a) in ways.iter().enumerate() {
        for (j, b) in ways.iter().enumerate().skip(i + 1) {
            if let (Some(a), Some(b)) = (a, b) {
                let spread = angle_between(*a, *b);
                if spread > worst.0 {
                    worst = (spread, Some((LineId(i), LineId(j))));
                }
            }
        }
    }
    worst.1.map_or(Ok(()), |(a, b)| Err(NotHeld::Spread(a, b)))
}

/// Fails below the ground and inside wood.
pub(super) fn clear_of_tree(rig: &Rig, ground_m: f64, at: DVec3) -> Result<(), NotHeld> {
    if at.z < ground_m {
        return Err(NotHeld::Ground);
    }
    match rig.tree.pieces.iter().any(|piece| piece.depth_m(at) > 0.0) {
        true => Err(NotHeld::Wood),
        false => Ok(()),
    }
}

/// Fixed places that a line of the rig reaches: everything that can hold lies between them.
pub(super) fn fixed_places(rig: &Rig) -> impl Iterator<Item = DVec3> + '_ {
    let nodes = rig.lines.iter().flat_map(|line| line.run.iter());
    nodes.filter_map(|node| match node {
        Node::Point(id) if !rig.point(*id).hangs => rig.point(*id).at,
        _ => None,
    })
}
