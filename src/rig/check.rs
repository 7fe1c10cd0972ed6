//! From a `rig` block to a typed [`Rig`]: names resolved, numbers in SI, every mistake noted.
//!
//! ```text
//! BlockText ─check→ Rig (only without errors) + findings
//!             ├─ places: points, lines (check_lines)
//!             └─ scenery: stems, limbs, feet, zone (check_tree)
//! ```

use std::collections::BTreeMap;

use super::check_lines::{Names, RawPoint, read_lines, read_points, resolve_grips};
use super::check_tree::{read_feet, read_tree, read_zone};
use super::{Climber, Facing, FigureKind, Rig, Space, expect};
use crate::block::{BlockText, Coordinate, Item, Problem, Table, Text, walk};
use crate::finding::{Finding, Place, Severity};
use crate::kit::KitItem;
use crate::quantity::Dimension;

/// Harness point to centre of mass where the block does not say, metres (mechanics: with feet on).
pub const DEFAULT_COM_M: (f64, f64) = (0.0, 0.1);

/// What a rig may refer to outside itself.
#[derive(Debug, Clone, Copy)]
pub struct Around<'a> {
    /// Kit by name.
    pub kit: &'a BTreeMap<&'a str, &'a KitItem>,
    /// Names of files in `kit/` that could not be read: known, but nothing is known of them.
    pub broken_kit: &'a [String],
    /// Whether kit names can be resolved at all; a single file has no kit beside it.
    pub has_kit: bool,
    /// Names of the rules that `wrong` may name.
    pub rules: &'a [&'a str],
}

/// Builds the rig of a block; `None` where it has an error.
pub fn check(name: &str, block: &BlockText, around: Around<'_>) -> (Option<Rig>, Vec<Finding>) {
    let (rig, findings) = walk(block, |root| read(name, block.whole, root, around));
    let broken = findings.iter().any(|f| f.severity == Severity::Error);
    ((!broken).then_some(rig), findings)
}

/// All coordinates of the rig as they are read, to see whether they are of one sort.
#[derive(Debug, Default)]
pub(super) struct Coordinates {
    seen: Vec<Coordinate>,
}

impl Coordinates {
    /// Remembers one.
    pub(super) fn note(&mut self, coordinate: Coordinate) -> Coordinate {
        self.seen.push(coordinate);
        coordinate
    }

    /// Planar or spatial by the greater number; the others are wrong. Planar where they are even.
    fn decide(&self, root: &Table<'_>) -> Space {
        let spatial = self.seen.iter().filter(|c| c.numbers == 3).count();
        let (space, want) = if spatial * 2 > self.seen.len() {
            (Space::Spatial, 3)
        } else {
            (Space::Planar, 2)
        };
        for odd in self.seen.iter().filter(|c| c.numbers != want) {
            let found = odd.numbers;
            root.report(&Problem::MixedSpace { found, want }, odd.place);
        }
        space
    }
}

/// Reads the whole block. Whatever is wrong is noted, and something stands in for it so that the
/// rest is checked too: the rig means something only without errors.
fn read(name: &str, whole: Place, mut root: Table<'_>, around: Around<'_>) -> Rig {
    let mut coordinates = Coordinates::default();
    let title = root.string("title").unwrap_or_else(|| name.to_owned());
    let show = read_show(&mut root);
    let (wrong, right) = read_wrong(&mut root, around.rules);
    let expectations = root.texts("expect");
    let climber = read_climber(&mut root, &mut coordinates);
    let hung = climber.at.is_none();
    let tree = read_tree(&mut root, &mut coordinates);
    let feet = read_feet(&mut root, &mut coordinates, &tree);
    let raw_points = read_points(&mut root, &mut coordinates, &tree, around, hung);
    let names = Names::new(&raw_points);
    let raw_lines = read_lines(&mut root, &names, &raw_points, around, hung);
    let zone = read_zone(&mut root);
    let space = coordinates.decide(&root);
    if let (Some(feet), Space::Spatial) = (&feet, space) {
        let problem = Problem::Conflict {
            message: "feet are for planar rigs, and this one is spatial".to_owned(),
            help: "take [feet] out, or write every coordinate as [x, z]".to_owned(),
        };
        root.report(&problem, feet.place);
    }
    let show = kinds_for(space, show, &root);
    let grips = resolve_grips(&root, &raw_points, &raw_lines);
    let points = raw_points.into_iter().map(RawPoint::into_point).zip(grips);
    let mut rig = Rig {
        name: name.to_owned(),
        title,
        place: root.place(),
        block: whole,
        show,
        expect: Vec::new(),
        wrong,
        right,
        space,
        climber,
        feet,
        points: points
            .map(|(mut point, grips)| {
                point.grips = grips;
                point
            })
            .collect(),
        lines: raw_lines,
        tree,
        zone,
    };
    rig.expect = read_expectations(&root, &expectations, &rig);
    root.finish();
    rig
}

/// A kind of figure, and where a block names it.
pub type NamedKind = (FigureKind, Place);

fn read_show(root: &mut Table<'_>) -> Vec<NamedKind> {
    let Some(item) = root.take("show") else {
        return vec![(FigureKind::Pulls, root.place())];
    };
    read_kinds(&item)
}

/// The kinds that a rig has something to show in; says of those it has nothing in that it has not.
pub fn kinds_for(space: Space, named: Vec<NamedKind>, root: &Table<'_>) -> Vec<FigureKind> {
    for (_, place) in named
        .iter()
        .filter(|(kind, _)| *kind == FigureKind::Space && space == Space::Planar)
    {
        let problem = Problem::Conflict {
            message: "a `space` figure is for rigs in space, and this one lies in a plane"
                .to_owned(),
            help: "take `space` out, or write every coordinate of the rig as [x, y, z]".to_owned(),
        };
        root.report(&problem, *place);
    }
    named.into_iter().map(|(kind, _)| kind).collect()
}

/// A list of figure kinds, each once.
pub fn read_kinds(item: &crate::block::Item<'_>) -> Vec<NamedKind> {
    let words = FigureKind::ALL.map(|kind| (kind.word(), kind));
    let mut kinds: Vec<NamedKind> = Vec::new();
    for word in item.list().unwrap_or_default() {
        let Some(kind) = word.word(&words) else {
            continue;
        };
        if kinds.iter().any(|(known, _)| *known == kind) {
            word.report(&Problem::Conflict {
                message: format!("the figure `{}` is asked for twice", kind.word()),
                help: "name each figure once".to_owned(),
            });
        } else {
            kinds.push((kind, word.place()));
        }
    }
    kinds
}

/// The rules that the rig breaks on purpose, and the rig that shows how it is done right.
fn read_wrong(root: &mut Table<'_>, rules: &[&str]) -> (Vec<Named>, Option<Named>) {
    let mut wrong = Vec::new();
    let marked = root.take("wrong");
    let texts = marked.as_ref().map(Item::texts).unwrap_or_default();
    for text in texts {
        if rules.contains(&text.value.as_str()) {
            wrong.push((text.value, text.place));
        } else {
            let problem = unknown_name("rule", &text.value, rules.iter().copied());
            root.report(&problem, text.place);
        }
    }
    let right = root.text("right");
    if let (Some(text), None) = (&right, &marked) {
        let problem = Problem::Unused {
            key: "right".to_owned(),
            why: "it goes with `wrong`",
        };
        root.report(&problem, text.place);
    }
    (wrong, right.map(|text| (text.value, text.place)))
}

/// A name with its place.
type Named = (String, Place);

fn read_climber(root: &mut Table<'_>, coordinates: &mut Coordinates) -> Climber {
    let item = root.need("climber", "[climber]");
    let Some(mut table) = item.and_then(|item| item.table("[climber]".to_owned())) else {
        return Climber {
            mass_kg: (0.0, 0.0),
            at: Some(glam::DVec3::ZERO),
            com: DEFAULT_COM_M,
            facing: Facing::default(),
            place: root.place(),
        };
    };
    let mass = table
        .need("mass", "mass = \"86 kg\"")
        .and_then(|item| item.positive_range(Dimension::Mass));
    let at_item = table.take("at");
    let asked = at_item.is_some();
    let at = at_item.and_then(|item| item.coordinate());
    let at = at.map(|c| coordinates.note(c));
    let com = read_com(&mut table);
    let facing = table
        .take("facing")
        .and_then(|item| item.word(&[("left", Facing::Left), ("right", Facing::Right)]));
    let place = at.map_or_else(|| table.place(), |c| c.place);
    let near_at = table.finish().iter().any(|key| key == "at");
    // A place that was given but cannot be read is noted already; the rig stays a held one.
    let at = match at {
        None if asked || near_at => Some(glam::DVec3::ZERO),
        at => at.map(|c| c.at),
    };
    Climber {
        mass_kg: mass.unwrap_or((0.0, 0.0)),
        at,
        com: com.unwrap_or(DEFAULT_COM_M),
        facing: facing.unwrap_or_default(),
        place,
    }
}

/// `com = [x, z]`, metres from the harness point, always two numbers.
fn read_com(table: &mut Table<'_>) -> Option<(f64, f64)> {
    let item = table.take("com")?;
    let com = item.coordinate()?;
    if com.numbers != 2 {
        item.report(&Problem::WrongCount {
            key: "com".to_owned(),
            found: com.numbers,
            want: "two numbers [x, z]".to_owned(),
        });
        return None;
    }
    Some((com.at.x, com.at.z))
}

fn read_expectations(root: &Table<'_>, texts: &[Text], rig: &Rig) -> Vec<super::Expectation> {
    let mut read = Vec::new();
    for text in texts {
        match expect::parse(text, rig) {
            Ok(expectation) => read.push(expectation),
            Err((problem, at)) => root.report(&problem, text.part(at)),
        }
    }
    read
}

/// An unknown name among valid ones.
pub(super) fn unknown_name<'a>(
    what: &'static str,
    name: &str,
    valid: impl IntoIterator<Item = &'a str>,
) -> Problem {
    Problem::UnknownName {
        what,
        name: name.to_owned(),
        valid: valid.into_iter().map(str::to_owned).collect(),
    }
}
