//! The first three arrows in one call: sources, read, solved and judged.

use glam::DVec3;

use crate::finding::Sources;
use crate::pack::{self, FigureAsk, Pack, Part, RigId, Scope};
use crate::press::own;
use crate::progress::{Progress, Silent, Stage};
use crate::rig::{FigureKind, Space, ValuePath};
use crate::rules::{self, Answers, Proof};
use crate::statics::{self, Ask};
use crate::store::Store;

/// Which zones to work out. The zone of a rig with hanging points is swept place by place and takes
/// seconds, so it is worth leaving out where nothing shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Zones {
    /// Every rig's.
    Every,
    /// All but those of rigs with hanging points that no figure, text or expectation shows.
    Shown,
    /// Those that a text or an expectation asks a number of. The site works out the others lesson by
    /// lesson, so that they need not be in memory together.
    Asked,
}

/// Reads, solves and judges a pack. It never fails: everything wrong is a finding of the proof.
pub fn proof(sources: Sources, scope: Scope, zones: Zones) -> Proof {
    proof_told(sources, scope, zones, &Store::default(), &Silent)
}

/// As [`proof`], with lessons that the store has read and judged already, telling how far it is.
pub fn proof_told(
    sources: Sources,
    scope: Scope,
    zones: Zones,
    store: &Store,
    progress: &dyn Progress,
) -> Proof {
    progress.begin(Stage::Read, 0);
    let reading = pack::read_again(sources, scope, store);
    progress.begin(Stage::Solve, reading.pack.rigs.len());
    let answers = Answers::new(zones_wanted(&reading.pack, zones));
    let mut proof = rules::judge(reading, answers, store, progress);
    proof.findings.extend(own::findings(&proof.reading.pack));
    progress.end();
    proof
}

impl Proof {
    /// The same proof with other zones. Its rigs are solved again, each when it is asked for.
    pub fn with(&self, zones: Zones) -> Self {
        let answers = Answers::new(zones_wanted(&self.reading.pack, zones));
        Self {
            reading: self.reading.clone(),
            answers,
            findings: self.findings.clone(),
            mistakes: self.mistakes.clone(),
        }
    }
}

/// For each rig of a pack, whether its zone is worked out.
pub(crate) fn zones_wanted(pack: &Pack, zones: Zones) -> Vec<bool> {
    let mut wanted = match zones {
        Zones::Every => return vec![true; pack.rigs.len()],
        Zones::Asked => return zones_asked(pack),
        Zones::Shown => zones_shown(pack),
    };
    for (wanted, rig) in wanted.iter_mut().zip(&pack.rigs) {
        *wanted |= !rig.points.iter().any(|point| point.hangs);
    }
    wanted
}

/// For each rig of a pack, whether a text or an expectation asks for a number of its zone.
fn zones_asked(pack: &Pack) -> Vec<bool> {
    let mut asked: Vec<bool> = pack
        .rigs
        .iter()
        .map(|rig| rig.expect.iter().any(|e| e.value == ValuePath::ZoneArea))
        .collect();
    for rig in rules::values_asked(pack, ValuePath::ZoneArea) {
        asked[rig.0] = true;
    }
    asked
}

/// For each rig of a pack, whether something shows its zone.
fn zones_shown(pack: &Pack) -> Vec<bool> {
    let mut shown = zones_asked(pack);
    for (shown, rig) in shown.iter_mut().zip(&pack.rigs) {
        *shown |= rig.show.contains(&FigureKind::Zone);
    }
    let parts = pack.lessons.iter().flat_map(|l| &l.sections);
    for part in parts.flat_map(|section| &section.parts) {
        if let Part::Figure(FigureAsk { rig, kinds, .. }) = part
            && kinds.contains(&FigureKind::Zone)
        {
            shown[rig.0] = true;
        }
    }
    shown
}

/// Why another harness point cannot be asked about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum MoveProblem {
    /// A spatial rig was given two numbers, or a planar one three.
    Coordinates {
        /// The rig.
        rig: String,
        /// How its places are written.
        want: &'static str,
    },
    /// A hung rig's place follows from its lengths.
    Hung {
        /// The rig.
        rig: String,
    },
}

impl std::fmt::Display for MoveProblem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Coordinates { rig, want } => {
                write!(f, "rig \"{rig}\" needs its place as {want}, in metres")
            }
            Self::Hung { rig } => {
                write!(
                    f,
                    "rig \"{rig}\" hangs where its lengths let it; leave out the place, or give its climber an `at`"
                )
            }
        }
    }
}

/// Solves rigs again with the climber elsewhere: the one named, or every rig.
///
/// - `at`: metres, `[x, z]` for a planar rig, `[x, y, z]` for a spatial one.
///
/// # Errors
/// [`MoveProblem`] for the first rig that has no such place.
pub fn move_climber(proof: &mut Proof, only: Option<&str>, at: &[f64]) -> Result<(), MoveProblem> {
    let rigs = proof.reading.pack.rigs.iter_mut().enumerate();
    for (i, rig) in rigs.filter(|(_, rig)| only.is_none_or(|name| name == rig.name)) {
        let name = || rig.name.clone();
        if rig.is_hung() {
            return Err(MoveProblem::Hung { rig: name() });
        }
        rig.climber.at = Some(match (rig.space, at) {
            (Space::Planar, [x, z]) => DVec3::new(*x, 0.0, *z),
            (Space::Spatial, [x, y, z]) => DVec3::new(*x, *y, *z),
            (Space::Planar, _) => {
                return Err(MoveProblem::Coordinates {
                    rig: name(),
                    want: "X,Z",
                });
            }
            (Space::Spatial, _) => {
                return Err(MoveProblem::Coordinates {
                    rig: name(),
                    want: "X,Y,Z",
                });
            }
        });
        proof.answers.set(RigId(i), statics::solve(rig, Ask::ALL));
    }
    Ok(())
}
