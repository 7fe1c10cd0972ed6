//! A rig prepared for many questions of one kind: does it hold here?
//!
//! ```text
//! Rig ─Prepared::new→ Prepared ─hold_at(place)→ HoldAnswer (feet off)
//! ```
//!
//! Two unknown pulls in a plane, the usual case of a zone, are solved in closed form without
//! allocating; everything else goes through the solver of held rigs. Friction gives a line's legs
//! different pulls, not other directions: where all legs of a pull lead to one place, whether the
//! climber is held does not depend on it.

use glam::{DVec2, DVec3};

use super::STANDARD_GRAVITY;
use super::held::{HOLDS_REL, Hold, hold};
use super::layout::{HARNESS, Layout};
use crate::rig::{Rig, Space};

/// Two directions whose cross product is below this go the general way: sine of the angle
/// between them times their sizes, dimensionless. Rounding leaves 1e-16.
const NEARLY_PARALLEL: f64 = 1e-9;

/// A leg leans clearly to one side beyond this sine: far above what the general way forgives
/// ([`HOLDS_REL`]), far below a cell of a zone.
const CLEARLY_ASIDE: f64 = 1e-5;

/// A rig prepared for [`Prepared::hold_at`].
#[derive(Debug, Clone)]
pub struct Prepared {
    layout: Layout,
    places: Vec<DVec3>,
    weight_n: f64,
    free_of_friction: bool,
    pair: Option<Pair>,
}

/// A planar rig whose legs at the harness form at most two unknown pulls.
#[derive(Debug, Clone)]
struct Pair {
    /// Of each unknown the far places (x, z) of its legs at the harness, and how many lead there.
    legs: [Vec<(DVec2, f64)>; 2],
    /// Unknown of each span; `None` for those that never carry by themselves.
    unknown: Vec<Option<usize>>,
}

/// Whether a rig holds at a place, and the pulls. Made once and filled by every question.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HoldAnswer {
    /// Whether the lines hold the climber there.
    pub holds: bool,
    /// Whether they need friction for it.
    pub needs_friction: bool,
    /// Nominal pull of every span in the order of [`super::Solved::spans`], newtons; zeros where
    /// the rig does not hold.
    pub pull_n: Vec<f64>,
}

impl Prepared {
    /// Prepares a rig. Hanging points stay where the rig has them.
    pub fn new(rig: &Rig) -> Self {
        let layout = Layout::new(rig);
        let at = rig.climber.at.unwrap_or(DVec3::ZERO);
        let places = layout.places(rig, at);
        Self {
            weight_n: rig.climber.nominal_mass_kg() * STANDARD_GRAVITY,
            free_of_friction: layout.is_free_of_friction(),
            pair: Pair::of(rig, &layout, &places),
            layout,
            places,
        }
    }

    /// Nominal weight, newtons.
    pub fn weight_n(&self) -> f64 {
        self.weight_n
    }

    /// Whether the pulls are those of two parts whose legs at the harness each lead to one place, in
    /// a plane: then [`two_pulls`] says all of them, but where the two are too nearly parallel.
    pub(super) fn is_of_two_pulls(&self) -> bool {
        self.pair.as_ref().is_some_and(Pair::leads_together)
    }

    /// For every span, the index of its line in the rig.
    pub fn span_lines(&self) -> impl ExactSizeIterator<Item = usize> + '_ {
        self.layout.spans.iter().map(|s| s.line)
    }

    /// Asks whether the lines alone, feet off, hold the climber at a place.
    pub fn hold_at(&mut self, place: DVec3, answer: &mut HoldAnswer) {
        self.hold_near(place, answer);
        if !answer.holds {
            answer.pull_n.fill(0.0);
        }
    }

    /// As [`Prepared::hold_at`], and how clearly it holds: a number below 0 where it does not. For
    /// two pulls in closed form it runs evenly through 0 at the border, and the pulls do so too;
    /// otherwise it is infinite.
    pub(super) fn hold_near(&mut self, place: DVec3, answer: &mut HoldAnswer) -> f64 {
        answer.needs_friction = false;
        answer.pull_n.clear();
        if let Some(pair) = &self.pair
            && let Some((pulls, margin)) = pair.hold_near(DVec2::new(place.x, place.z))
            && (margin >= 0.0 || self.is_free_of_friction(place))
        {
            answer.holds = margin >= 0.0;
            let pull_n = pulls.map(|pull| pull.max(0.0) * self.weight_n);
            let of_span = |unknown: &Option<usize>| unknown.map_or(0.0, |u| pull_n[u]);
            answer.pull_n.extend(pair.unknown.iter().map(of_span));
            return margin;
        }
        self.places[HARNESS] = place;
        answer.pull_n.resize(self.layout.spans.len(), 0.0);
        match hold(&self.layout, &self.places, |_| true, None) {
            Hold::Yes {
                pulls,
                needs_friction,
                ..
            } => {
                answer.holds = true;
                answer.needs_friction = needs_friction;
                for (to, from) in answer.pull_n.iter_mut().zip(&pulls) {
                    *to = from * self.weight_n;
                }
                f64::INFINITY
            }
            Hold::No { .. } => {
                answer.holds = false;
                f64::NEG_INFINITY
            }
        }
    }
}

impl Prepared {
    /// Whether friction cannot help to hold the climber at a place.
    fn is_free_of_friction(&self, place: DVec3) -> bool {
        self.free_of_friction
            || self.pair.as_ref().is_some_and(Pair::leads_together)
            || self.is_beyond_all_legs(place)
    }

    /// Whether every leg of a pair leads clearly to one side of the plumb line, or none leads up:
    /// then no pulls make a balance, whatever friction does.
    fn is_beyond_all_legs(&self, place: DVec3) -> bool {
        let Some(pair) = &self.pair else {
            return false;
        };
        let at = DVec2::new(place.x, place.z);
        let legs = pair.legs.iter().flatten();
        let ways = legs.map(|(far, _)| (*far - at).normalize_or_zero());
        let (mut left, mut right, mut down) = (true, true, true);
        for way in ways {
            left &= way.x < -CLEARLY_ASIDE;
            right &= way.x > CLEARLY_ASIDE;
            down &= way.y < -CLEARLY_ASIDE;
        }
        left || right || down
    }
}

impl Pair {
    fn of(rig: &Rig, layout: &Layout, places: &[DVec3]) -> Option<Self> {
        if rig.space != Space::Planar || layout.free.len() > 1 {
            return None;
        }
        // Without friction all spans of a part carry the same.
        let mut unknown_of_part: Vec<Option<usize>> = vec![None; layout.parts.len()];
        let mut legs: [Vec<(DVec2, f64)>; 2] = [Vec::new(), Vec::new()];
        let mut count = 0;
        for span in &layout.spans {
            let far = match (span.from, span.to) {
                (HARNESS, HARNESS) => return None,
                (HARNESS, far) | (far, HARNESS) => far,
                _ => continue,
            };
            let unknown = *unknown_of_part[span.part].get_or_insert_with(|| {
                count += 1;
                count - 1
            });
            let far = DVec2::new(places[far].x, places[far].z);
            let legs = legs.get_mut(unknown)?;
            match legs.iter_mut().find(|(f, _)| *f == far) {
                Some((_, legs)) => *legs += 1.0,
                None => legs.push((far, 1.0)),
            }
        }
        (count == 2).then(|| Self {
            legs,
            unknown: layout
                .spans
                .iter()
                .map(|s| unknown_of_part[s.part])
                .collect(),
        })
    }

    /// Whether all legs of each unknown lead to one place.
    fn leads_together(&self) -> bool {
        self.legs.iter().all(|legs| legs.len() == 1)
    }

    /// The two pulls of [`two_pulls`] at a place.
    fn hold_near(&self, place: DVec2) -> Option<([f64; 2], f64)> {
        two_pulls(self.legs.each_ref().map(|legs| {
            let ways = legs.iter();
            let ways = ways.map(|(far, legs)| (*far - place).normalize_or_zero() * *legs);
            ways.sum::<DVec2>()
        }))
    }
}

/// Two pulls over the weight, below 0 where a line would have to push, and the margin of
/// [`Prepared::hold_near`]; `None` where the two lines are too nearly parallel for it. `sum` gives the
/// sum of the directions of the legs that carry each pull.
pub(super) fn two_pulls(sum: [DVec2; 2]) -> Option<([f64; 2], f64)> {
    let across = sum[0].perp_dot(sum[1]);
    if across.abs() < NEARLY_PARALLEL {
        return None;
    }
    // pulls[0]·sum[0] + pulls[1]·sum[1] = (0, 1)
    let pulls = [-sum[1].x / across, sum[0].x / across];
    // Between the anchors a pull passes from one infinity to the other; times `across` it
    // passes through 0, and squared that leaves the sign.
    let margin = (pulls[0].min(pulls[1]) + HOLDS_REL) * across * across;
    Some((pulls, margin))
}
