//! Whether a place belongs to the zone, and if not, why; by how much, and what may change in a box.
//!
//! ```text
//! place ─loads: balance, limits, spread─→ ─bounds: lengths, ground, wood→ held, or NotHeld
//! box   ─→ how many of these may change in it
//! ```
//!
//! Every condition has a margin, at least 0 where it is kept. Bounds change no faster than the place,
//! so that a box far from theirs is known whole. Loads change evenly but for anchors, plumb lines
//! below them, and what nodes show.

use glam::{DVec2, DVec3};

use super::mesh::{Bounds, CLEARLY_M, Change, Sounding, Source, Verdict};
use super::plane::{Foot, Plane};
use super::two::TwoLines;
use crate::rig::{LineId, Node, Piece, Rig};
use crate::statics::layout::{HARNESS, Layout};
use crate::statics::{HoldAnswer, NotHeld, Prepared};
use crate::value::angle_between;

/// Boxes nearer to an anchor than this many of their sides are taken apart.
const NEAR_SIDES: f64 = 2.0;

/// A rig whose hanging points, if any, stay where they are, prepared for many places of a plane.
pub(super) struct Judge {
    plane: Plane,
    /// The usual case, asked first.
    two: Option<TwoLines>,
    prepared: Prepared,
    answer: HoldAnswer,
    lines: Vec<LineShape>,
    limits: Vec<(LineId, f64)>,
    line_of_span: Vec<usize>,
    /// Fixed places that a line reaches.
    anchors: Vec<Foot>,
    /// The lines at the last place that is balanced and within limits, or was asked in closed form.
    at: Vec<LineAt>,
    /// How long lines may be, of those that have a range.
    ranges: Vec<LengthRange>,
    /// Lines that meet the harness, two and two, if they may spread only so far.
    spreads: Vec<(LineId, LineId)>,
    /// Cosine of that angle.
    cos_most: f64,
    ground_m: f64,
    wood: Vec<Wood>,
}

/// What a line's length and direction depend on.
pub(super) struct LineShape {
    /// Length of the spans that do not meet the harness, metres.
    pub rest_m: f64,
    /// Span in the rig and far place of each leg at the harness.
    pub legs: Vec<(usize, DVec3)>,
    /// Those places as the plane sees them, each once, and how many legs lead there.
    feet: Vec<(Foot, f64)>,
    /// Whether all legs lead to one place.
    pub leads_together: bool,
}

impl LineShape {
    /// The lines of a rig.
    pub fn of(rig: &Rig, layout: &Layout, plane: Plane) -> Vec<Self> {
        let places = layout.places(rig, DVec3::ZERO);
        let lines = (0..rig.lines.len()).map(|line| {
            let mut shape = Self {
                rest_m: 0.0,
                legs: Vec::new(),
                feet: Vec::new(),
                leads_together: true,
            };
            for (i, span) in layout.spans.iter().enumerate() {
                match (span.line == line, span.from, span.to) {
                    (false, ..) | (_, HARNESS, HARNESS) => {}
                    (_, HARNESS, far) | (_, far, HARNESS) => shape.legs.push((i, places[far])),
                    _ => shape.rest_m += layout.length(i, &places),
                }
            }
            for together in shape.legs.chunk_by(|a, b| a.1 == b.1) {
                let foot = plane.foot(together[0].1);
                shape.feet.push((foot, together.len() as f64));
            }
            shape.leads_together = shape.legs.windows(2).all(|two| two[0].1 == two[1].1);
            shape
        });
        lines.collect()
    }
}

/// How long a line may be.
struct LengthRange {
    line: LineId,
    shortest_m: f64,
    longest_m: f64,
}

/// Length and direction of a line at a place.
#[derive(Debug, Clone)]
pub(super) struct LineAt {
    pub length_m: f64,
    /// Zero for a line that does not meet the harness.
    pub way: DVec3,
}

impl LineAt {
    /// What a line is wherever the harness is, if it does not meet that.
    fn unmet(line: &LineShape) -> Self {
        Self {
            length_m: line.rest_m,
            way: DVec3::ZERO,
        }
    }
}

impl Judge {
    pub fn new(rig: &Rig, plane: Plane) -> Self {
        let layout = Layout::new(rig);
        let lines = LineShape::of(rig, &layout, plane);
        let prepared = Prepared::new(rig);
        let ranges = rig.line_ids().filter_map(|line| {
            let (shortest_m, longest_m) = rig.line(line).adjust_m?;
            Some(LengthRange {
                line,
                shortest_m,
                longest_m,
            })
        });
        let meets = |line: &LineId| !lines[line.0].legs.is_empty();
        let met: Vec<LineId> = rig.line_ids().filter(meets).collect();
        let pairs = |(i, a): (usize, &LineId)| {
            let (a, others) = (*a, met[i + 1..].to_vec());
            others.into_iter().map(move |b| (a, b))
        };
        let spreads = match rig.zone.spread_rad {
            Some(_) => met.iter().enumerate().flat_map(pairs).collect(),
            None => Vec::new(),
        };
        Self {
            plane,
            two: TwoLines::of(&prepared, &lines),
            limits: limits(rig),
            anchors: fixed_places(rig).map(|place| plane.foot(place)).collect(),
            at: lines.iter().map(LineAt::unmet).collect(),
            lines,
            ranges: ranges.collect(),
            spreads,
            cos_most: rig.zone.spread_rad.map_or(-1.0, libm::cos),
            line_of_span: layout.spans.iter().map(|s| s.line).collect(),
            prepared,
            answer: HoldAnswer::default(),
            ground_m: ground_m(rig),
            wood: rig
                .tree
                .pieces
                .iter()
                .map(|piece| Wood::new(piece, plane))
                .collect(),
        }
    }

    /// Fills the pulls and [`Judge::at`] with little work, if it can be had, and says how clearly the
    /// pulls make a balance: below 0 where they do not.
    fn two_pulls(&mut self, at: DVec2, pulls_n: &mut [f64]) -> Option<f64> {
        let two = self.two.as_ref()?;
        two.pulls(at, pulls_n, &mut self.at)
    }

    /// Fills the pulls of any rig, and says the same.
    fn pulls(&mut self, at: DVec3, pulls_n: &mut [f64]) -> f64 {
        let margin = self.prepared.hold_near(at, &mut self.answer);
        let none = margin == f64::NEG_INFINITY;
        for pull in &mut *pulls_n {
            *pull = if none { f64::NAN } else { 0.0 };
        }
        for (line, pull) in self.line_of_span.iter().zip(&self.answer.pull_n) {
            if *pull > pulls_n[*line] {
                pulls_n[*line] = *pull;
            }
        }
        margin
    }

    /// Balance, limits and spread, with the smallest margin. Fills the pulls.
    fn loads(&mut self, at: DVec2, pulls_n: &mut [f64]) -> Sounding {
        let quick = self.two_pulls(at, pulls_n);
        let balance = quick.unwrap_or_else(|| self.pulls(self.plane.place(at), pulls_n));
        if balance < 0.0 {
            return Sounding {
                held: Err(NotHeld::CannotBalance),
                margin: balance,
            };
        }
        let limits = over_limit(&self.limits, pulls_n);
        let mut margin = lesser(balance, limits.margin);
        if limits.margin < 0.0 {
            return Sounding { margin, ..limits };
        }
        if quick.is_none() {
            self.lines_at(self.plane.place(at));
        }
        let mut held = Ok(());
        let mut least = 0.0;
        for (a, b) in &self.spreads {
            let left = self.at[a.0].way.dot(self.at[b.0].way) - self.cos_most;
            margin = lesser(margin, left);
            if left < least {
                least = left;
                held = Err(NotHeld::Spread(*a, *b));
            }
        }
        Sounding { held, margin }
    }

    /// Works out [`Judge::at`].
    fn lines_at(&mut self, at: DVec3) {
        for (here, shape) in self.at.iter_mut().zip(&self.lines) {
            let count = shape.legs.len() as f64;
            *here = match shape.legs.first() {
                Some((_, far)) if shape.leads_together => {
                    let way = *far - at;
                    let length = way.length();
                    LineAt {
                        length_m: shape.rest_m + count * length,
                        way: if length > 0.0 { way / length } else { way },
                    }
                }
                first => {
                    let unit = |far: &DVec3| (*far - at).normalize_or_zero();
                    let legs = shape.legs.iter();
                    let pulls = legs.map(|(span, far)| unit(far) * self.answer.pull_n[*span]);
                    let way = pulls.sum::<DVec3>().try_normalize();
                    let far_m = shape.legs.iter().map(|(_, far)| far.distance(at));
                    LineAt {
                        length_m: shape.rest_m + far_m.sum::<f64>(),
                        way: way.or(first.map(|(_, far)| unit(far))).unwrap_or_default(),
                    }
                }
            };
        }
    }

    /// Lengths, ground and wood at a place whose loads are held by some margin.
    fn bounds_at(&self, at: DVec2, of_loads: f64) -> Sounding {
        let (mut lengths, place) = (of_loads, self.plane.place(at));
        for range in &self.ranges {
            let length = self.at[range.line.0].length_m;
            lengths = lesser(lengths, range.longest_m - length);
            lengths = lesser(lengths, length - range.shortest_m);
        }
        let above = place.z - self.ground_m;
        let mut margin = lesser(lengths, above);
        for wood in &self.wood {
            // Farther away than another margin it changes nothing.
            if wood.is_near(at, margin) {
                margin = lesser(margin, -wood.piece.depth_m(place));
            }
        }
        let held = match () {
            () if margin >= 0.0 => Ok(()),
            () if lengths < 0.0 => Err(self.not_of_length()),
            () if above < 0.0 => Err(NotHeld::Ground),
            () => Err(NotHeld::Wood),
        };
        Sounding { held, margin }
    }

    /// Why the lines at [`Judge::at`] are not as long as they may be: the first that is not.
    fn not_of_length(&self) -> NotHeld {
        let wrong = self.ranges.iter().find_map(|range| {
            let length = self.at[range.line.0].length_m;
            match () {
                () if range.longest_m - length < 0.0 => Some(NotHeld::TooShort(range.line)),
                () if length - range.shortest_m < 0.0 => Some(NotHeld::TooLong(range.line)),
                () => None,
            }
        });
        wrong.unwrap_or(NotHeld::Beyond)
    }

    /// Whether a box lies so near to an anchor that pulls turn within it.
    fn is_near_anchor(&self, low: DVec2, high: DVec2) -> bool {
        let near = NEAR_SIDES * (high - low).max_element();
        let mut anchors = self.anchors.iter();
        anchors.any(|foot| foot.nearest_m(low, high) < near)
    }

    /// Plumb lines below anchors that run through a box of an upright plane.
    fn plumb_lines(&self, low: DVec2, high: DVec2) -> usize {
        let across = self.anchors.iter().map(|foot| foot.at.x);
        across.filter(|x| (low.x..=high.x).contains(x)).count()
    }
}

impl Source for Judge {
    /// The largest pull of each line in one leg, newtons.
    fn values(&self) -> usize {
        self.lines.len()
    }

    fn ask(&mut self, at: DVec2, pulls_n: &mut [f64]) -> Sounding {
        let loads = self.loads(at, pulls_n);
        match loads.held {
            Ok(()) => self.bounds_at(at, loads.margin),
            Err(_) => loads,
        }
    }

    fn values_at(&mut self, at: DVec2, pulls_n: &mut [f64]) {
        if self.two_pulls(at, pulls_n).is_none() {
            self.pulls(self.plane.place(at), pulls_n);
        }
    }

    /// Outside the box between the anchors no pulls make a balance.
    fn why(&self, _: DVec2, beyond: NotHeld) -> NotHeld {
        match beyond {
            NotHeld::Beyond => NotHeld::CannotBalance,
            why => why,
        }
    }

    fn bounds(&self, low: DVec2, high: DVec2) -> Option<Bounds> {
        let (mut ways, mut out) = (0, false);
        let mut may_change = |least: f64, most: f64| {
            out |= most < -CLEARLY_M;
            least < 0.0 && most >= 0.0
        };
        for range in &self.ranges {
            let shape = &self.lines[range.line.0];
            let (mut near, mut far) = (shape.rest_m, shape.rest_m);
            for (foot, legs) in &shape.feet {
                near += legs * foot.nearest_m(low, high);
                far += legs * foot.farthest_m(low, high);
            }
            ways += usize::from(may_change(range.longest_m - far, range.longest_m - near));
            ways += usize::from(may_change(near - range.shortest_m, far - range.shortest_m));
        }
        let (bottom, top) = (self.plane.place(low).z, self.plane.place(high).z);
        ways += usize::from(may_change(bottom - self.ground_m, top - self.ground_m));
        let (middle, radius) = (low.midpoint(high), low.distance(high) / 2.0);
        let (mut wood, mut thin) = (false, false);
        for piece in &self.wood {
            let steps = radius * piece.steepness;
            if piece.is_near(middle, steps) {
                let spare = -piece.piece.depth_m(self.plane.place(middle));
                if may_change(spare - steps, spare + steps) {
                    // Where one piece of wood ends another may go on.
                    wood = true;
                    thin |= piece.thickness_m < (high - low).max_element();
                }
            }
        }
        ways += usize::from(wood);
        (!out).then_some(Bounds { ways, thin })
    }

    fn change(&self, low: DVec2, high: DVec2, bounds: Bounds, nodes: [&Verdict; 9]) -> Change {
        if self.is_near_anchor(low, high) {
            return Change::Thin;
        }
        if nodes.iter().all(|node| node.is_ok()) {
            return bounds.change();
        }
        let of_loads = nodes.map(|node| match node {
            Err(NotHeld::CannotBalance | NotHeld::OverLimit(_) | NotHeld::Spread(..)) => *node,
            _ => Ok(()),
        });
        let is_new = |k: &usize| !of_loads[..*k].contains(&of_loads[*k]);
        let loads = (0..nodes.len()).filter(is_new).count();
        if of_loads.iter().all(Result::is_err) {
            // Beside a plumb line a pull may be small enough on a strip only, and two of them may
            // leave a strip between them. Elsewhere what is held is seen from next to it.
            let plumb = match self.plane.is_upright() {
                true => self.plumb_lines(low, high),
                false => 0,
            };
            let strip = plumb > 1 || (plumb == 1 && loads > 1);
            return if strip { Change::Thin } else { Change::None };
        }
        let ways = bounds.ways + loads - 1;
        Bounds { ways, ..bounds }.change()
    }
}

/// A piece of wood with what is known of it beforehand.
struct Wood {
    piece: Piece,
    /// A box around it in the plane.
    low: DVec2,
    high: DVec2,
    /// How fast the depth inside it changes with the place, at most.
    steepness: f64,
    /// Its smaller diameter, metres.
    thickness_m: f64,
}

impl Wood {
    fn new(piece: &Piece, plane: Plane) -> Self {
        let (a, b) = piece.diameter_m;
        let ends = [piece.from, piece.to].map(|end| plane.coordinates(end));
        let most = a.max(b) / 2.0;
        Self {
            low: ends[0].min(ends[1]) - most,
            high: ends[0].max(ends[1]) + most,
            steepness: piece.steepness(),
            thickness_m: a.min(b),
            piece: piece.clone(),
        }
    }

    /// Whether a place is inside its box or no farther beside it than `by_m`: farther than that
    /// outside the wood it cannot be otherwise.
    fn is_near(&self, at: DVec2, by_m: f64) -> bool {
        let within = |low: f64, at: f64, high: f64| low - at <= by_m && at - high <= by_m;
        within(self.low.x, at.x, self.high.x) && within(self.low.y, at.y, self.high.y)
    }
}

/// The lesser of two margins.
fn lesser(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

/// Height below which nobody hangs: the tree's ground, else 0, metres.
pub(super) fn ground_m(rig: &Rig) -> f64 {
    rig.tree.ground_m.unwrap_or(0.0)
}

/// The lines of a rig that have a limit, and it, newtons.
pub(super) fn limits(rig: &Rig) -> Vec<(LineId, f64)> {
    let limits = rig.line_ids().zip(&rig.lines);
    limits
        .filter_map(|(id, line)| Some((id, line.limit_n?)))
        .collect()
}

/// Fails for the line that is farthest over its limit; the margin is the smallest share of a limit
/// that is left, infinite without limits.
pub(super) fn over_limit(limits: &[(LineId, f64)], pulls_n: &[f64]) -> Sounding {
    let (mut held, mut margin) = (Ok(()), f64::INFINITY);
    for (line, limit) in limits {
        let left = 1.0 - pulls_n[line.0] / limit;
        if left < margin {
            margin = left;
            if left < 0.0 {
                held = Err(NotHeld::OverLimit(*line));
            }
        }
    }
    Sounding { held, margin }
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
