//! Equilibrium of a rig: pulls, ranges, loads, the resting place, losses, the zone.
//!
//! ```text
//! Rig ─solve→ Solved (numbers in SI, plain vectors; no text, no file)
//! ```
//!
//! Inextensible lines that only pull, Coulomb friction at passes, the weight at the harness point.
//! "No solution" is an answer: `holds = false` with the push that would be needed.

mod answer;
mod balance;
mod cone;
mod effort;
mod falls;
mod held;
mod hung;
mod layout;
mod least;
mod loss;
mod lp;
mod prepared;
mod ranges;
mod swing;
mod wood;
mod zone;

pub use answer::{solve, zone_of};
pub use effort::{Running, effort_n, running};
pub use falls::{
    SlackFall, fall_factor, modulus_from_rated_n, modulus_from_stretch_n, peak_force_n,
    slack_falls, small_swing_period_s, speed_after_drop_m_s, stretch_m, swing_drop_m,
    swing_pull_share, worst_fall,
};
pub use loss::swing;
pub use prepared::{HoldAnswer, Prepared};
pub use wood::{
    GREEN_STRENGTHS, GreenStrength, LimbBending, StrengthSource, bending_stress_pa, green_strength,
    limb_bending,
};
pub(crate) use zone::simplified;

use glam::DVec3;

use crate::rig::{LineId, Node};

/// Standard acceleration of free fall, m/s² (3rd CGPM, 1901; exact).
pub const STANDARD_GRAVITY: f64 = 9.80665;

/// What is known of a rig after solving it. Order of `spans`, `lines`, `points` and `loss` is that
/// of the rig.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    /// Held or hung.
    pub mode: Mode,
    /// Whether the lines (and feet) can hold the climber.
    pub holds: bool,
    /// Whether they hold only with friction's help.
    pub needs_friction: bool,
    /// Smallest extra force at the harness point that would make a balance, newtons; `None` where it holds.
    /// No such force helps feet that cannot take up the weight's moment; then it is what comes nearest.
    pub push_needed_n: Option<DVec3>,
    /// The harness point: given, or found from the lengths.
    pub climber_at: DVec3,
    /// Nominal weight, newtons.
    pub weight_n: f64,
    /// Least and most weight, newtons.
    pub weight_range_n: (f64, f64),
    /// Every span of every line, lines in order, spans along the run.
    pub spans: Vec<Span>,
    /// One entry a line.
    pub lines: Vec<LineAnswer>,
    /// One entry a point.
    pub points: Vec<PointAnswer>,
    /// Push of the feet on the climber, newtons.
    pub feet_push_n: Option<DVec3>,
    /// What happens if each line goes, one entry a line; empty where the rig does not hold.
    pub loss: Vec<Loss>,
    /// Where the climber can be held; `None` where it was not asked for.
    pub zone: Option<Zone>,
}

/// Which of the solver's questions gave the place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// The climber's place is given.
    Held,
    /// The lengths are given.
    Hung,
}

/// The part of a line between two neighbours of its run.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// Its line.
    pub line: LineId,
    /// First node, in the run's order.
    pub from: Node,
    /// Second node.
    pub to: Node,
    /// Place of the first node.
    pub from_at: DVec3,
    /// Place of the second node.
    pub to_at: DVec3,
    /// Straight length, metres.
    pub length_m: f64,
    /// Angle from the vertical, radians in 0..=π/2 (a line that goes down is as steep as one that goes up).
    pub from_vertical_rad: f64,
    /// Nominal pull, newtons; `None` where the rig does not hold.
    pub pull_n: Option<f64>,
    /// Least pull over all solutions with friction, newtons.
    pub pull_low_n: Option<f64>,
    /// Most pull over all solutions with friction, newtons; `None` where unbounded.
    pub pull_high_n: Option<f64>,
}

/// A line's own numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct LineAnswer {
    /// Whole length, metres.
    pub length_m: f64,
    /// The largest nominal pull of its spans, newtons.
    pub pull_n: Option<f64>,
    /// Largest of the spans' least pulls, newtons.
    pub pull_low_n: Option<f64>,
    /// Largest of the spans' most pulls, newtons; `None` where one is unbounded.
    pub pull_high_n: Option<f64>,
    /// Vector sum of its legs on the harness point, newtons; `None` where no leg meets the climber.
    pub on_climber_n: Option<DVec3>,
}

/// A point's own numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct PointAnswer {
    /// Where it is.
    pub at: DVec3,
    /// Vector sum of the pulls of its spans, newtons; `None` where the rig does not hold. Zero at a hanging point.
    pub load_n: Option<DVec3>,
}

/// What happens when one line goes.
#[derive(Debug, Clone, PartialEq)]
pub struct Loss {
    /// The line that goes.
    pub line: LineId,
    /// What follows.
    pub outcome: LossOutcome,
}

/// What follows a loss.
#[derive(Debug, Clone, PartialEq)]
pub enum LossOutcome {
    /// No other line holds: a fall.
    NothingHolds,
    /// The others hold the climber lower down.
    Held {
        /// Rest place of the harness point.
        rest: DVec3,
        /// Place of each point then, in the order of the rig. A hanging point that at most one of
        /// the remaining lines meets is held by nothing: its place says nothing.
        points: Vec<DVec3>,
        /// Fall of the harness point, metres, ≥ 0.
        drop_m: f64,
        /// Highest speed, m/s: an upper bound, without losses.
        speed_m_s: f64,
        /// Peak pull in the one straight line that remains, newtons: `W·(1 + 2·drop/L)` for a
        /// length L. `None` where more than one remains, or where it was slack and catches a fall.
        pull_n: Option<f64>,
        /// The wood that the swing meets first.
        strikes: Option<Strike>,
    },
}

/// A swing that meets wood.
#[derive(Debug, Clone, PartialEq)]
pub struct Strike {
    /// Name of the stem or limb; `ground` for the ground.
    pub piece: String,
    /// Harness point at the strike.
    pub at: DVec3,
    /// Way along the [`swing`], metres.
    pub after_m: f64,
    /// Speed there, m/s.
    pub speed_m_s: f64,
}

/// Where the climber can be held with the feet off.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Closed rings, first point not repeated; outer rings one way round, holes the other.
    pub outline: Vec<Vec<DVec3>>,
    /// Area, m².
    pub area_m2: f64,
    /// Curves of equal pull of each line.
    pub contours: Vec<Contour>,
    /// Outline of what the hands reach, if asked for.
    pub reach: Vec<Vec<DVec3>>,
    /// Why the zone ends, for each stretch of its outline.
    pub edges: Vec<ZoneEdge>,
    /// Samples over its box.
    pub field: ZoneField,
    /// Spatial rigs: the zone at the climber's height, seen from above. The zone itself is then
    /// the upright slice through the climber that an elevation shows.
    pub plan: Option<Box<Zone>>,
}

/// A curve of equal pull.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    /// Whose pull.
    pub line: LineId,
    /// The level, newtons in one leg.
    pub pull_n: f64,
    /// The curve; open or closed (first point repeated at the end).
    pub path: Vec<DVec3>,
}

/// A stretch of the outline and its reason.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneEdge {
    /// Points along the outline.
    pub path: Vec<DVec3>,
    /// Why it ends there.
    pub why: NotHeld,
}

/// Why the climber is not held somewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NotHeld {
    /// No balance exists.
    CannotBalance,
    /// A line would carry more than its limit.
    OverLimit(LineId),
    /// A line would have to be longer than it is.
    TooShort(LineId),
    /// A line would be shorter than its range allows.
    TooLong(LineId),
    /// Two lines spread too far.
    Spread(LineId, LineId),
    /// Inside wood.
    Wood,
    /// Below the ground.
    Ground,
    /// Outside what was sampled.
    Beyond,
}

/// A regular grid of samples over the zone's box, row by row from below: at most 40 a side, for a page
/// to read between.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneField {
    /// Lowest corner: place of sample (0, 0).
    pub origin: DVec3,
    /// Unit vector along a row.
    pub across: DVec3,
    /// Unit vector from row to row.
    pub up: DVec3,
    /// Distance between samples across and up, metres.
    pub cell_m: (f64, f64),
    /// Samples across and up.
    pub size: (usize, usize),
    /// Per sample: held, or why not.
    pub held: Vec<Result<(), NotHeld>>,
    /// Per line, per sample: nominal pull in one leg, newtons; NaN where not balanced.
    pub pull_n: Vec<Vec<f32>>,
}

/// How much of a rig to work out. Pulls, ranges and loads always are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ask {
    /// What happens if each line goes.
    pub loss: bool,
    /// Where the climber can be held.
    pub zone: bool,
}

impl Ask {
    /// No more than pulls, ranges and loads.
    pub const PULLS: Self = Self {
        loss: false,
        zone: false,
    };

    /// Losses too.
    pub const LOSSES: Self = Self {
        loss: true,
        zone: false,
    };

    /// The zone too.
    pub const ZONE: Self = Self {
        loss: false,
        zone: true,
    };

    /// Everything.
    pub const ALL: Self = Self {
        loss: true,
        zone: true,
    };
}

/// Why a well-formed rig has no answer at all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StaticsProblem {
    /// The lengths of these lines leave no place where they all meet.
    CannotMeet {
        /// The lines that are too short, in the order of the rig.
        lines: Vec<LineId>,
    },
    /// No chain of lines leads from the climber to a fixed point: a hung rig that falls.
    NothingHolds,
    /// The search for the resting place did not settle.
    NotSettled,
}
