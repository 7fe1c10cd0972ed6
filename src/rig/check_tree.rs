//! The scenery of a rig block: stems, limbs, the ground; feet on them; what the zone is asked with.

use super::check::{Coordinates, unknown_name};
use super::{Feet, Piece, PieceKind, Tree, ZoneAsk};
use crate::block::{Problem, Table, Text};
use crate::quantity::Dimension;

/// Names that a rig without drawn wood may put things on.
const PLAIN_WOOD: &[&str] = &["stem", "limb"];

/// Reads `[tree]`.
pub(super) fn read_tree(root: &mut Table<'_>, coordinates: &mut Coordinates) -> Tree {
    let Some(mut table) = root.table("tree") else {
        return Tree::default();
    };
    let mut tree = Tree::default();
    for (key, kind) in [("stems", PieceKind::Stem), ("limbs", PieceKind::Limb)] {
        let items = table.take(key).and_then(|item| item.list());
        for item in items.unwrap_or_default() {
            let Some(piece) = item.table(format!("a piece of `{key}`")) else {
                continue;
            };
            if let Some(piece) = read_piece(piece, kind, coordinates, &tree.pieces) {
                tree.pieces.push(piece);
            }
        }
    }
    tree.ground_m = table.take("ground").and_then(|item| item.metres());
    tree.species = table.string("species");
    table.finish();
    tree
}

/// A stem or limb. One with a mistake still gives its name, so that what stands on it resolves.
fn read_piece(
    mut table: Table<'_>,
    kind: PieceKind,
    coordinates: &mut Coordinates,
    before: &[Piece],
) -> Option<Piece> {
    let name = table
        .need("name", "name = \"stem\"")
        .and_then(|item| item.text());
    let from = table
        .need("from", "from = [0, 0]")
        .and_then(|item| item.coordinate());
    let to = table
        .need("to", "to = [0, 13]")
        .and_then(|item| item.coordinate());
    let (from, to) = (
        from.map(|c| coordinates.note(c)),
        to.map(|c| coordinates.note(c)),
    );
    if let (Some(from), Some(to)) = (from, to)
        && from.at == to.at
    {
        table.report(
            &Problem::Conflict {
                message: "this piece of wood begins and ends at one place".to_owned(),
                help: "give `from` (the thick end) and `to` (the thin end) different places"
                    .to_owned(),
            },
            to.place,
        );
    }
    let diameter = table
        .need("diameter", "diameter = [\"620 mm\", \"300 mm\"]")
        .map(|item| {
            let items = item.one_or_more();
            let ends: Vec<_> = items
                .iter()
                .filter_map(|end| end.positive(Dimension::Length))
                .collect();
            match (ends[..].as_ref(), items.len()) {
                ([one], 1) => (*one, *one),
                ([from, to], 2) => (*from, *to),
                (_, 1 | 2) => (0.0, 0.0),
                (_, found) => {
                    item.report(&Problem::WrongCount {
                        key: "diameter".to_owned(),
                        found,
                        want: "one diameter, or two: at `from` and at `to`".to_owned(),
                    });
                    (0.0, 0.0)
                }
            }
        });
    if let Some(name) = &name
        && before.iter().any(|p| p.name == name.value)
    {
        let problem = Problem::Conflict {
            message: format!("there are two stems or limbs \"{}\"", name.value),
            help: "give one of them another name".to_owned(),
        };
        table.report(&problem, name.place);
    }
    table.finish();
    let origin = glam::DVec3::ZERO;
    Some(Piece {
        name: name?.value,
        kind,
        from: from.map_or(origin, |c| c.at),
        to: to.map_or(origin, |c| c.at),
        diameter_m: diameter.unwrap_or((0.0, 0.0)),
    })
}

/// Reads `on`: the name of a stem or limb.
pub(super) fn read_on(table: &mut Table<'_>, tree: &Tree) -> Option<String> {
    let Text { value, place, .. } = table.text("on")?;
    let pieces = tree.pieces.iter().map(|p| p.name.as_str());
    let valid: Vec<&str> = if tree.pieces.is_empty() {
        PLAIN_WOOD.to_vec()
    } else {
        pieces.collect()
    };
    if !valid.contains(&value.as_str()) {
        table.report(&unknown_name("stem or limb", &value, valid), place);
        return None;
    }
    Some(value)
}

/// Reads `[feet]`.
pub(super) fn read_feet(
    root: &mut Table<'_>,
    coordinates: &mut Coordinates,
    tree: &Tree,
) -> Option<Feet> {
    let mut table = root.table("feet")?;
    let at = table
        .need("at", "at = [2.1, 5.2]")
        .and_then(|item| item.coordinate())
        .map(|c| coordinates.note(c));
    let normal_item = table.need("normal", "normal = [0.2, 1.0]");
    let normal = normal_item.as_ref().and_then(|item| item.coordinate());
    let normal = normal.map(|c| coordinates.note(c));
    let unit = normal.and_then(|c| c.at.try_normalize());
    if let (Some(item), Some(_), None) = (&normal_item, normal, unit) {
        item.out_of_range("a direction that is not zero");
    }
    let friction = table
        .need("friction", "friction = 0.5")
        .and_then(|item| item.number_from(0.0));
    let on = read_on(&mut table, tree);
    let place = table.place();
    table.finish();
    Some(Feet {
        at: at?.at,
        on,
        normal: unit?,
        friction: friction?,
        place,
    })
}

/// Reads `[zone]`.
pub(super) fn read_zone(root: &mut Table<'_>) -> ZoneAsk {
    let Some(mut table) = root.table("zone") else {
        return ZoneAsk::default();
    };
    let spread_rad = table.take("spread").and_then(|item| {
        let spread = item.positive(Dimension::Angle)?;
        if spread > std::f64::consts::PI {
            item.out_of_range("an angle of at most 180 deg");
            return None;
        }
        Some(spread)
    });
    let work_reach_m = table.positive("work_reach", Dimension::Length);
    table.finish();
    ZoneAsk {
        spread_rad,
        work_reach_m,
    }
}
