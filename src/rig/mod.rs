//! The typed rig: what a `rig` block says, with every name resolved and every number in SI.
//!
//! ```text
//! TOML block ─check→ Rig ─(statics)→ Solved
//! ```
//!
//! Past [`check`](crate::pack): every [`PointId`] and [`LineId`] is valid, every number is finite,
//! the coordinates of one rig are all planar (`y = 0`) or all spatial, a held rig gives the place
//! of every hanging point, a hung rig gives every line's length. Later stages rely on this.
//!
//! The file is long because it is the one contract of all rooms: types and their words, no logic.
//!
//! Over 500 lines: the whole typed rig in one place, nearly all of it documentation.

mod build;
mod check;
mod check_lines;
mod check_tree;
mod expect;
mod path;

use glam::DVec3;
use serde::{Deserialize, Serialize};

use crate::finding::Place;

pub use build::{BuildProblem, Coordinates, RigBuilder};
pub use check::{Around, DEFAULT_COM_M, check, kinds_for, read_kinds};
pub(crate) use check_lines::{is_plain_name, read_efficiency};
pub use path::{PathProblem, VALUE_FORMS};

/// Index of a point in [`Rig::points`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct PointId(pub usize);

/// Index of a line in [`Rig::lines`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct LineId(pub usize);

/// A rig as an author described it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rig {
    /// Name of the block; unique in a pack.
    pub name: String,
    /// Words for people, from `title`; the name where it is left out.
    pub title: String,
    /// The block's info string, for findings about the rig as a whole.
    pub place: Place,
    /// The whole block with its fences: findings inside it are the rig's.
    pub block: Place,
    /// Figures to draw where the block stands, in order.
    pub show: Vec<FigureKind>,
    /// What the author expects of the numbers.
    pub expect: Vec<Expectation>,
    /// Names of the rules that this rig breaks on purpose.
    pub wrong: Vec<(String, Place)>,
    /// Name of the rig that shows how it is done right, where this one shows a mistake.
    pub right: Option<(String, Place)>,
    /// Whether coordinates are `[x, z]` or `[x, y, z]`.
    pub space: Space,
    /// Who hangs there.
    pub climber: Climber,
    /// A surface that the feet push on.
    pub feet: Option<Feet>,
    /// Places in the tree, in the order of the block.
    pub points: Vec<Point>,
    /// Lines, in the order of the block: the order of colours and tracers.
    pub lines: Vec<Line>,
    /// Scenery, and what a swing can strike.
    pub tree: Tree,
    /// What the zone is asked with.
    pub zone: ZoneAsk,
}

/// Planar rigs have `y = 0` throughout.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Space {
    /// `[x, z]`.
    Planar,
    /// `[x, y, z]`.
    Spatial,
}

/// A drawing of a rig.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum FigureKind {
    /// Who is tied to what, no numbers.
    Setup,
    /// Pulls, loads, angles.
    Pulls,
    /// The closed force polygon.
    Polygon,
    /// Where the climber can be held.
    Zone,
    /// What happens if a line goes.
    Loss,
    /// Elevation and plan.
    Space,
    /// Hand force against rise.
    Effort,
    /// The assembly of each line.
    Strip,
}

impl FigureKind {
    /// Every kind, in the order of the authors' guide.
    pub const ALL: [Self; 8] = [
        Self::Setup,
        Self::Pulls,
        Self::Polygon,
        Self::Zone,
        Self::Loss,
        Self::Space,
        Self::Effort,
        Self::Strip,
    ];

    /// The word in `show`, in file names and on the command line.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Setup => "setup",
            Self::Pulls => "pulls",
            Self::Polygon => "polygon",
            Self::Zone => "zone",
            Self::Loss => "loss",
            Self::Space => "space",
            Self::Effort => "effort",
            Self::Strip => "strip",
        }
    }

    /// The kind that a word names.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }
}

/// The climber: a mass at the harness point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Climber {
    /// Mass with kit, kg: least and most; equal where one value was given.
    pub mass_kg: (f64, f64),
    /// The harness point; `None` in a hung rig, where the lengths give it.
    pub at: Option<DVec3>,
    /// Centre of mass relative to the harness point, metres (x, z); used with feet on.
    pub com: (f64, f64),
    /// Which way the figure faces.
    pub facing: Facing,
    /// The `at` value in the source, or the whole block, for findings about the place.
    pub place: Place,
}

impl Climber {
    /// The mass that nominal pulls are for: the middle of the range, kg.
    pub fn nominal_mass_kg(&self) -> f64 {
        f64::midpoint(self.mass_kg.0, self.mass_kg.1)
    }
}

/// Which way the climber is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Facing {
    /// Towards smaller x.
    Left,
    /// Towards greater x.
    #[default]
    Right,
}

/// A surface under the feet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Feet {
    /// Where the feet push.
    pub at: DVec3,
    /// Name of the stem or limb.
    pub on: Option<String>,
    /// Out of the surface, unit length, planar.
    pub normal: DVec3,
    /// Coefficient of friction, dimensionless, ≥ 0.
    pub friction: f64,
    /// The `[feet]` table.
    pub place: Place,
}

/// A place in the tree, fixed or hanging.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// Name in the block.
    pub name: String,
    /// Where it is; `None` only for a hanging point of a hung rig.
    pub at: Option<DVec3>,
    /// Held up by lines alone.
    pub hangs: bool,
    /// Name of the stem or limb that carries it.
    pub on: Option<String>,
    /// What a passing line runs over.
    pub over: Option<Over>,
    /// Resistance of a pass.
    pub pass: Pass,
    /// Passing lines that it holds fast.
    pub grips: Vec<LineId>,
    /// Kit item at this place, if named.
    pub kit: Option<String>,
    /// How it is fastened to the wood, as far as the block says.
    pub fitting: Fitting,
    /// The point's table header.
    pub place: Place,
}

/// How a point is fastened to the wood; for the rules about connectors and loops.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Fitting {
    /// Length of the loop round the wood, metres, measured along it.
    pub loop_m: Option<f64>,
    /// Kit item of the connector that closes the loop.
    pub closed_by: Option<String>,
    /// Whether that connector's gate faces a rope that runs; `None` where the block does not say.
    pub gate_to_rope: Option<bool>,
}

/// What a passing line runs over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Over {
    /// A limb's bark.
    Limb,
    /// A stem's bark.
    Stem,
    /// A ring.
    Ring,
    /// A pulley.
    Pulley,
}

impl Over {
    /// Every kind, in the order of the authors' guide.
    pub const ALL: [Self; 4] = [Self::Limb, Self::Stem, Self::Ring, Self::Pulley];

    /// The word in a block.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Limb => "limb",
            Self::Stem => "stem",
            Self::Ring => "ring",
            Self::Pulley => "pulley",
        }
    }
}

/// How much a pass resists sliding.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Pass {
    /// Coulomb friction μ with extra whole or part turns: `r = exp(μ·(π − θ + 2π·turns))`.
    Friction {
        /// μ, dimensionless, ≥ 0; 0 where nothing was given.
        mu: f64,
        /// Extra turns, ≥ 0.
        turns: f64,
    },
    /// A pulley of efficiency η measured at half a turn: `r = η^(−φ/π)`.
    Efficiency(f64),
}

/// A line: a chain of places.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// Name in the block.
    pub name: String,
    /// Attachments and points in order, at least two.
    pub run: Vec<Node>,
    /// Kit item's name.
    pub kit: Option<String>,
    /// Hitch by its trade name.
    pub hitch: Option<String>,
    /// Working range of the whole length, metres.
    pub adjust_m: Option<(f64, f64)>,
    /// Most that it may carry, newtons: from the block, else from kit.
    pub limit_n: Option<f64>,
    /// What it is made up with, as far as the block says.
    pub assembly: Assembly,
    /// Lengths of its parts between grips, metres; empty in a held rig.
    pub lengths_m: Vec<f64>,
    /// The line's table header.
    pub place: Place,
}

/// What a line is made up with; for the rules about pairings, tails, slack and reach.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Assembly {
    /// Kit item of the hitch cord or friction loop.
    pub cord: Option<String>,
    /// Kit items of its connectors, from the harness outwards.
    pub connectors: Vec<String>,
    /// Whether its tail has a stopper knot; `None` where the block does not say.
    pub stopper: Option<bool>,
    /// Whether its hitch must slide while it is loaded.
    pub slides: bool,
    /// Height of the free fall that its slack allows, metres.
    pub slack_m: Option<f64>,
    /// Points that hands must reach from the work position to get it back.
    pub retrieve: Vec<PointId>,
}

/// One place of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Node {
    /// The harness, at one of its attachments.
    Climber(Attachment),
    /// A point.
    Point(PointId),
}

/// Where a line meets the harness. All act at the harness point; offsets are for drawing only.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Attachment {
    /// The rope bridge.
    Bridge,
    /// The centre ring.
    Centre,
    /// Front, left of a pair.
    FrontLeft,
    /// Front, right of a pair.
    FrontRight,
    /// Side, left of a pair.
    SideLeft,
    /// Side, right of a pair.
    SideRight,
    /// Rear.
    Rear,
}

impl Attachment {
    /// Every attachment, in the order of the authors' guide.
    pub const ALL: [Self; 7] = [
        Self::Bridge,
        Self::Centre,
        Self::FrontLeft,
        Self::FrontRight,
        Self::SideLeft,
        Self::SideRight,
        Self::Rear,
    ];

    /// The word in a run.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Bridge => "bridge",
            Self::Centre => "centre",
            Self::FrontLeft => "front-left",
            Self::FrontRight => "front-right",
            Self::SideLeft => "side-left",
            Self::SideRight => "side-right",
            Self::Rear => "rear",
        }
    }
}

/// Scenery.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Tree {
    /// Stems, then limbs, each in the order of the block.
    pub pieces: Vec<Piece>,
    /// Height of the ground, metres; `None` where it is not part of the picture.
    pub ground_m: Option<f64>,
    /// Species of the published green strength to show beside a limb's bending share.
    pub species: Option<String>,
}

/// A tapered length of wood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Piece {
    /// Name in the block.
    pub name: String,
    /// Stem or limb.
    pub kind: PieceKind,
    /// Thick end.
    pub from: DVec3,
    /// Thin end.
    pub to: DVec3,
    /// Diameter at `from` and at `to`, metres.
    pub diameter_m: (f64, f64),
}

impl Piece {
    /// How deep a place lies inside the wood, metres: the radius there less the distance from the
    /// axis, negative outside. Ends are round, with the radius of that end.
    pub fn depth_m(&self, at: DVec3) -> f64 {
        let on_axis = self.from + (self.to - self.from) * self.share_along(at);
        self.diameter_at_m(at) / 2.0 - at.distance(on_axis)
    }

    /// How fast [`Piece::depth_m`] changes with the place, at most: the distance from the axis changes
    /// by one, the radius by half of the taper over the length. Dimensionless.
    pub fn steepness(&self) -> f64 {
        let (thick, thin) = self.diameter_m;
        let length = self.from.distance(self.to);
        let taper = (thick - thin).abs() / 2.0;
        1.0 + if length > 0.0 { taper / length } else { 0.0 }
    }

    /// Diameter beside a place, metres; beyond an end that of the end.
    pub fn diameter_at_m(&self, at: DVec3) -> f64 {
        let (thick, thin) = self.diameter_m;
        thick + (thin - thick) * self.share_along(at)
    }

    /// How far along the axis a place lies, as a share of the length in 0..=1.
    fn share_along(&self, at: DVec3) -> f64 {
        let axis = self.to - self.from;
        let along = (at - self.from).dot(axis) / axis.length_squared().max(f64::MIN_POSITIVE);
        along.clamp(0.0, 1.0)
    }
}

/// Stem or limb.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum PieceKind {
    /// Upright.
    Stem,
    /// Sideways.
    Limb,
}

/// What the zone is asked with.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct ZoneAsk {
    /// Most that two lines may spread, radians.
    pub spread_rad: Option<f64>,
    /// How far the hands reach from the harness point, metres.
    pub work_reach_m: Option<f64>,
}

/// `"main/pull < 0.8 kN"`: a checked promise about a value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Expectation {
    /// As written.
    pub text: String,
    /// Which value.
    pub value: ValuePath,
    /// The comparison.
    pub compare: Compare,
    /// The bound or the wanted value, SI.
    pub want: f64,
    /// `+-` tolerance of an equality, SI.
    pub tolerance: f64,
    /// Where it stands.
    pub place: Place,
}

/// A comparison in an expectation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Compare {
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    More,
    /// `>=`
    AtLeast,
    /// `=`, within the tolerance.
    Equal,
}

/// A value of a rig that text, tables, questions and expectations may ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum ValuePath {
    /// Nominal pull of a line in one leg: the largest of its spans.
    Pull(LineId),
    /// Least pull, the largest over the spans.
    PullLow(LineId),
    /// Most pull, the largest over the spans.
    PullHigh(LineId),
    /// All legs together on the harness.
    OnClimber(LineId),
    /// `OnClimber` over the weight.
    Share(LineId),
    /// Length of the line.
    Length(LineId),
    /// Angle from the vertical at the climber.
    Angle(LineId),
    /// Load on a point.
    Load(PointId),
    /// Angle of the load from straight down.
    LoadAngle(PointId),
    /// Angle between two lines at the climber.
    Spread(LineId, LineId),
    /// The climber's weight.
    Weight,
    /// Area of the zone.
    ZoneArea,
    /// Drop of the harness point when a line goes.
    LossDrop(LineId),
    /// Highest speed of that swing.
    LossSpeed(LineId),
    /// Peak pull of what remains.
    LossPull(LineId),
    /// Hand force to take in a doubled line.
    Effort(LineId),
}

impl Rig {
    /// The point of an id.
    pub fn point(&self, id: PointId) -> &Point {
        &self.points[id.0]
    }

    /// The line of an id.
    pub fn line(&self, id: LineId) -> &Line {
        &self.lines[id.0]
    }

    /// Ids of all lines, in order.
    pub fn line_ids(&self) -> impl ExactSizeIterator<Item = LineId> + use<> {
        (0..self.lines.len()).map(LineId)
    }

    /// Ids of all points, in order.
    pub fn point_ids(&self) -> impl ExactSizeIterator<Item = PointId> + use<> {
        (0..self.points.len()).map(PointId)
    }

    /// Whether the climber's place is to be found from the lengths.
    pub fn is_hung(&self) -> bool {
        self.climber.at.is_none()
    }

    /// The word for a place of a run: an attachment's word or a point's name.
    pub fn node_name(&self, node: Node) -> &str {
        match node {
            Node::Climber(attachment) => attachment.word(),
            Node::Point(id) => &self.point(id).name,
        }
    }
}
