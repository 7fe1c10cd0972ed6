//! Rigs from code: for users of the library and for tests, where a `rig` block would be in the way.
//!
//! ```text
//! RigBuilder (names, metres, kilograms) ─build→ Rig, or the first name that is wrong
//! ```

use glam::DVec3;

use super::{
    Attachment, Climber, Expectation, Facing, Feet, FigureKind, Line, LineId, Node, Over, Pass,
    Piece, PieceKind, Point, PointId, Rig, Space, Tree, ZoneAsk,
};
use crate::finding::Place;

/// Builds a [`Rig`] step by step. Details follow the point or the line that they belong to.
///
/// ```
/// use ropeleaf::rig::RigBuilder;
///
/// let rig = RigBuilder::new("two-limb")
///     .mass_kg(84.0)
///     .climber([2.2, 5.0])
///     .point("top", [0.2, 10.5]).efficiency(0.9)
///     .point("side", [4.9, 7.6])
///     .line("main", &["bridge", "top", "bridge"])
///     .line("second", &["centre", "side"])
///     .build()?;
/// assert_eq!(rig.lines.len(), 2);
/// # Ok::<(), ropeleaf::rig::BuildProblem>(())
/// ```
#[derive(Debug, Clone)]
pub struct RigBuilder {
    rig: Rig,
    /// Runs and grips by name, resolved at the end.
    runs: Vec<Vec<String>>,
    grips: Vec<Vec<String>>,
    spatial: Vec<bool>,
    misplaced: Option<BuildProblem>,
}

/// Why a rig could not be built.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BuildProblem {
    /// A run or a grip names neither an attachment nor a point or line of the rig.
    UnknownName(String),
    /// A run with fewer than two places.
    ShortRun(String),
    /// Planar and spatial coordinates in one rig.
    MixedCoordinates,
    /// A detail of a point or line before there is one.
    NothingToDetail(&'static str),
    /// A hung rig has a line without a length for each of its parts.
    NoLength(String),
    /// A held rig has a hanging point without a place.
    NoPlace(String),
}

impl std::fmt::Display for BuildProblem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::UnknownName(name) => write!(f, "nothing in the rig is named \"{name}\""),
            Self::ShortRun(line) => write!(f, "line \"{line}\" runs between fewer than two places"),
            Self::MixedCoordinates => write!(f, "planar and spatial coordinates in one rig"),
            Self::NothingToDetail(what) => write!(f, "{what} before the first point or line"),
            Self::NoLength(line) => {
                write!(
                    f,
                    "line \"{line}\" of a hung rig needs a length for each part"
                )
            }
            Self::NoPlace(point) => {
                write!(f, "hanging point \"{point}\" of a held rig needs a place")
            }
        }
    }
}

impl std::error::Error for BuildProblem {}

/// Coordinates in metres: `[x, z]` of a planar rig or `[x, y, z]` of a spatial one.
pub trait Coordinates {
    /// The place, and whether it is spatial.
    fn place(self) -> (DVec3, bool);
}

impl Coordinates for [f64; 2] {
    fn place(self) -> (DVec3, bool) {
        (DVec3::new(self[0], 0.0, self[1]), false)
    }
}

impl Coordinates for [f64; 3] {
    fn place(self) -> (DVec3, bool) {
        (DVec3::from_array(self), true)
    }
}

/// The place of things that no file describes.
const NOWHERE: Place = Place {
    file: 0,
    start: 0,
    end: 0,
};

impl RigBuilder {
    /// An empty rig with a climber of 80 kg whose place the lengths give.
    pub fn new(name: &str) -> Self {
        Self {
            rig: Rig {
                name: name.to_owned(),
                title: name.to_owned(),
                place: NOWHERE,
                block: NOWHERE,
                show: Vec::new(),
                expect: Vec::new(),
                wrong: Vec::new(),
                right: None,
                space: Space::Planar,
                climber: Climber {
                    mass_kg: (80.0, 80.0),
                    at: None,
                    com: (0.0, 0.1),
                    facing: Facing::default(),
                    place: NOWHERE,
                },
                feet: None,
                points: Vec::new(),
                lines: Vec::new(),
                tree: Tree::default(),
                zone: ZoneAsk::default(),
            },
            runs: Vec::new(),
            grips: Vec::new(),
            spatial: Vec::new(),
            misplaced: None,
        }
    }

    /// The climber's mass with kit, kg.
    #[must_use]
    pub fn mass_kg(self, mass: f64) -> Self {
        self.mass_range_kg(mass, mass)
    }

    /// The climber's mass as a range, kg.
    #[must_use]
    pub fn mass_range_kg(mut self, least: f64, most: f64) -> Self {
        self.rig.climber.mass_kg = (least, most);
        self
    }

    /// The harness point: makes the rig a held one.
    #[must_use]
    pub fn climber(mut self, at: impl Coordinates) -> Self {
        self.rig.climber.at = Some(self.place(at));
        self
    }

    /// The centre of mass from the harness point, metres (x, z).
    #[must_use]
    pub fn com(mut self, x: f64, z: f64) -> Self {
        self.rig.climber.com = (x, z);
        self
    }

    /// Which way the climber is drawn.
    #[must_use]
    pub fn facing(mut self, facing: Facing) -> Self {
        self.rig.climber.facing = facing;
        self
    }

    /// Feet on a surface: where they push, its normal (any length), its friction μ ≥ 0.
    #[must_use]
    pub fn feet(mut self, at: [f64; 2], normal: [f64; 2], friction: f64) -> Self {
        let at = self.place(at);
        self.rig.feet = Some(Feet {
            at,
            on: None,
            normal: DVec3::new(normal[0], 0.0, normal[1]).normalize_or(DVec3::Z),
            friction,
            place: NOWHERE,
        });
        self
    }

    /// A fixed point.
    #[must_use]
    pub fn point(mut self, name: &str, at: impl Coordinates) -> Self {
        let at = self.place(at);
        self.add_point(name, Some(at), false);
        self
    }

    /// A hanging point of a held rig.
    #[must_use]
    pub fn hanging_at(mut self, name: &str, at: impl Coordinates) -> Self {
        let at = self.place(at);
        self.add_point(name, Some(at), true);
        self
    }

    /// A hanging point of a hung rig.
    #[must_use]
    pub fn hanging(mut self, name: &str) -> Self {
        self.add_point(name, None, true);
        self
    }

    /// What lines run over at the last point.
    #[must_use]
    pub fn over(self, over: Over) -> Self {
        self.detail_point("over", |point| point.over = Some(over))
    }

    /// Friction μ of the last point.
    #[must_use]
    pub fn friction(self, mu: f64) -> Self {
        self.detail_point("friction", |point| {
            point.pass = match point.pass {
                Pass::Friction { turns, .. } => Pass::Friction { mu, turns },
                Pass::Efficiency(_) => Pass::Friction { mu, turns: 0.0 },
            };
        })
    }

    /// Extra turns round the last point.
    #[must_use]
    pub fn turns(self, turns: f64) -> Self {
        self.detail_point("turns", |point| {
            point.pass = match point.pass {
                Pass::Friction { mu, .. } => Pass::Friction { mu, turns },
                Pass::Efficiency(_) => Pass::Friction { mu: 0.0, turns },
            };
        })
    }

    /// The last point is a pulley of this efficiency, 0 < η ≤ 1.
    #[must_use]
    pub fn efficiency(self, eta: f64) -> Self {
        self.detail_point("efficiency", |point| {
            point.over = Some(Over::Pulley);
            point.pass = Pass::Efficiency(eta);
        })
    }

    /// The wood that carries the last point.
    #[must_use]
    pub fn on(self, piece: &str) -> Self {
        self.detail_point("on", |point| point.on = Some(piece.to_owned()))
    }

    /// The last point holds these passing lines fast.
    #[must_use]
    pub fn grips(mut self, lines: &[&str]) -> Self {
        match self.grips.last_mut() {
            Some(grips) => grips.extend(lines.iter().map(|l| (*l).to_owned())),
            None => self.misplaced = Some(BuildProblem::NothingToDetail("grips")),
        }
        self
    }

    /// A line, by the attachments and points of its run.
    #[must_use]
    pub fn line(mut self, name: &str, run: &[&str]) -> Self {
        self.rig.lines.push(Line {
            name: name.to_owned(),
            run: Vec::new(),
            kit: None,
            hitch: None,
            adjust_m: None,
            limit_n: None,
            assembly: super::Assembly::default(),
            lengths_m: Vec::new(),
            place: NOWHERE,
        });
        self.runs
            .push(run.iter().map(|n| (*n).to_owned()).collect());
        self
    }

    /// Lengths of the last line's parts, metres: one, or one more than grips cut it into.
    #[must_use]
    pub fn lengths_m(self, lengths: &[f64]) -> Self {
        self.detail_line("lengths", |line| line.lengths_m = lengths.to_vec())
    }

    /// Working range of the last line, metres.
    #[must_use]
    pub fn adjust_m(self, least: f64, most: f64) -> Self {
        self.detail_line("adjust", |line| line.adjust_m = Some((least, most)))
    }

    /// Most that the last line may carry, newtons.
    #[must_use]
    pub fn limit_n(self, limit: f64) -> Self {
        self.detail_line("limit", |line| line.limit_n = Some(limit))
    }

    /// A stem from its foot to its top, diameters in metres.
    #[must_use]
    pub fn stem(
        self,
        name: &str,
        from: impl Coordinates,
        to: impl Coordinates,
        diameter_m: (f64, f64),
    ) -> Self {
        self.piece(name, PieceKind::Stem, from, to, diameter_m)
    }

    /// A limb from its union to its tip, diameters in metres.
    #[must_use]
    pub fn limb(
        self,
        name: &str,
        from: impl Coordinates,
        to: impl Coordinates,
        diameter_m: (f64, f64),
    ) -> Self {
        self.piece(name, PieceKind::Limb, from, to, diameter_m)
    }

    /// Height of the ground, metres.
    #[must_use]
    pub fn ground_m(mut self, height: f64) -> Self {
        self.rig.tree.ground_m = Some(height);
        self
    }

    /// What the zone is asked with.
    #[must_use]
    pub fn zone(mut self, zone: ZoneAsk) -> Self {
        self.rig.zone = zone;
        self
    }

    /// Figures to draw.
    #[must_use]
    pub fn show(mut self, show: &[FigureKind]) -> Self {
        self.rig.show = show.to_vec();
        self
    }

    /// An expectation of the numbers.
    #[must_use]
    pub fn expect(mut self, expect: Expectation) -> Self {
        self.rig.expect.push(expect);
        self
    }

    /// Resolves the names.
    ///
    /// # Errors
    /// The first [`BuildProblem`].
    pub fn build(mut self) -> Result<Rig, BuildProblem> {
        if let Some(problem) = self.misplaced {
            return Err(problem);
        }
        if self.spatial.iter().any(|s| *s != self.spatial[0]) {
            return Err(BuildProblem::MixedCoordinates);
        }
        if self.spatial.first() == Some(&true) {
            self.rig.space = Space::Spatial;
        }
        for (i, run) in self.runs.iter().enumerate() {
            if run.len() < 2 {
                return Err(BuildProblem::ShortRun(self.rig.lines[i].name.clone()));
            }
            let nodes: Result<Vec<_>, _> = run.iter().map(|name| self.node(name)).collect();
            self.rig.lines[i].run = nodes?;
        }
        for (i, names) in self.grips.iter().enumerate() {
            let lines: Result<Vec<_>, _> = names.iter().map(|name| self.line_id(name)).collect();
            self.rig.points[i].grips = lines?;
        }
        self.check_lengths()?;
        Ok(self.rig)
    }

    fn check_lengths(&self) -> Result<(), BuildProblem> {
        let rig = &self.rig;
        for (i, line) in rig.lines.iter().enumerate().filter(|_| rig.is_hung()) {
            let inner = &line.run[1..line.run.len() - 1];
            let cuts = inner.iter().filter(|node| match node {
                Node::Point(id) => rig.point(*id).grips.contains(&LineId(i)),
                Node::Climber(_) => false,
            });
            if line.lengths_m.len() != cuts.count() + 1 {
                return Err(BuildProblem::NoLength(line.name.clone()));
            }
        }
        match rig.points.iter().find(|p| p.at.is_none() && !rig.is_hung()) {
            Some(point) => Err(BuildProblem::NoPlace(point.name.clone())),
            None => Ok(()),
        }
    }

    fn node(&self, name: &str) -> Result<Node, BuildProblem> {
        let attachment = Attachment::ALL.into_iter().find(|a| a.word() == name);
        if let Some(attachment) = attachment {
            return Ok(Node::Climber(attachment));
        }
        let index = self.rig.points.iter().position(|p| p.name == name);
        index
            .map(|i| Node::Point(PointId(i)))
            .ok_or_else(|| BuildProblem::UnknownName(name.to_owned()))
    }

    fn line_id(&self, name: &str) -> Result<LineId, BuildProblem> {
        let index = self.rig.lines.iter().position(|l| l.name == name);
        index
            .map(LineId)
            .ok_or_else(|| BuildProblem::UnknownName(name.to_owned()))
    }

    fn place(&mut self, at: impl Coordinates) -> DVec3 {
        let (place, spatial) = at.place();
        self.spatial.push(spatial);
        place
    }

    fn add_point(&mut self, name: &str, at: Option<DVec3>, hangs: bool) {
        self.rig.points.push(Point {
            name: name.to_owned(),
            at,
            hangs,
            on: None,
            over: None,
            pass: Pass::Friction {
                mu: 0.0,
                turns: 0.0,
            },
            grips: Vec::new(),
            kit: None,
            fitting: super::Fitting::default(),
            place: NOWHERE,
        });
        self.grips.push(Vec::new());
    }

    fn detail_point(mut self, what: &'static str, change: impl FnOnce(&mut Point)) -> Self {
        match self.rig.points.last_mut() {
            Some(point) => change(point),
            None => self.misplaced = Some(BuildProblem::NothingToDetail(what)),
        }
        self
    }

    fn detail_line(mut self, what: &'static str, change: impl FnOnce(&mut Line)) -> Self {
        match self.rig.lines.last_mut() {
            Some(line) => change(line),
            None => self.misplaced = Some(BuildProblem::NothingToDetail(what)),
        }
        self
    }

    fn piece(
        mut self,
        name: &str,
        kind: PieceKind,
        from: impl Coordinates,
        to: impl Coordinates,
        diameter_m: (f64, f64),
    ) -> Self {
        let (from, to) = (self.place(from), self.place(to));
        self.rig.tree.pieces.push(Piece {
            name: name.to_owned(),
            kind,
            from,
            to,
            diameter_m,
        });
        self
    }
}
