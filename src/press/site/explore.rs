//! Data and map of the control that moves the climber: the zone's samples, for the page to read
//! between.
//!
//! ```text
//! ZoneField ─→ a script beside the pages
//! Rig + Zone ─draw→ a small true-to-scale map: wood, zone, anchors, lines, a ring to drag
//! ```

use std::fmt::Write as _;

use glam::DVec3;
use serde::Serialize;
use serde_json::{Value, json};

use crate::pack::RigId;
use crate::press::view::{heading_of, legs, shown_scale};
use crate::quantity::{Quantity, quantity_parts, quantity_text};
use crate::rig::{LineId, Node, Rig, Space};
use crate::statics::{NotHeld, Solved, Zone, ZoneField};

use super::Site;
use super::sheet::script_file;
use crate::press::OutFile;

/// Room around what the map shows, metres.
const MAP_MARGIN_M: f64 = 0.6;

/// Units of the map in a metre.
const MAP_UNITS_PER_M: f64 = 100.0;

/// A zone smaller than this leaves nowhere to move to: square metres. One line alone holds on its
/// plumb line only.
const LEAST_AREA_M2: f64 = 0.5;

/// The answer of a planar rig whose zone has room to move in, and the zone.
fn zone_of<'a>(solved: &'a Solved, rig: &Rig) -> Option<&'a Zone> {
    let zone = solved.zone.as_ref()?;
    let room = zone.field.size.0 > 1 && zone.field.size.1 > 1 && zone.area_m2 > LEAST_AREA_M2;
    (room && rig.space == Space::Planar && !rig.is_hung()).then_some(zone)
}

/// The control's map as an element of the page; `None` where there is nowhere to move to.
pub(super) fn map_html(site: &Site<'_>, id: RigId) -> Option<String> {
    let (rig, solved) = (site.pack().rig(id), site.solved(id));
    let zone = zone_of(&solved, rig)?;
    Some(map(rig, &solved, zone))
}

/// The samples of a rig with a control, as a script: a page opened from a file cannot fetch, and
/// most readers of a lesson never move the climber.
pub(super) fn script(site: &Site<'_>, id: RigId) -> Option<OutFile> {
    let (rig, solved) = (site.pack().rig(id), &site.solved(id));
    let field = &zone_of(solved, rig)?.field;
    let unit = |quantity: Quantity| {
        let (shown, unit) = quantity_parts(quantity, site.pack().units);
        Unit {
            unit,
            scale: shown_scale(quantity.dimension(), unit),
            decimals: shown.split_once('.').map_or(0, |(_, d)| d.len()),
        }
    };
    let lines = rig.line_ids().map(|line| {
        let pulls = field.pull_n[line.0].iter();
        // Whole newtons: half of one is a tenth of the last digit shown.
        let pulls = pulls.map(|pull| pull.is_finite().then(|| pull.round() as i64));
        Line {
            key: &rig.line(line).name,
            name: heading_of(&rig.line(line).name),
            run: run(rig, solved, line),
            together: together(rig, solved, line),
            pulls: pulls.collect(),
        }
    });
    let (reasons, held) = reasons(site, rig, field);
    let data = Data {
        home: [solved.climber_at.x, solved.climber_at.z],
        grid: Grid {
            x: field.origin.x,
            z: field.origin.z,
            dx: field.cell_m.0,
            dz: field.cell_m.1,
            nx: field.size.0,
            nz: field.size.1,
        },
        units: Units {
            force: unit(Quantity::Force(0.0)),
            length: unit(Quantity::Length(0.0)),
        },
        weight: solved.weight_n,
        reasons: &reasons,
        held: &held,
        lines: lines.collect(),
        map: Map {
            per_metre: MAP_UNITS_PER_M,
        },
        words: site.words.tree().get("explore"),
    };
    let name = json!(rig.name);
    let place = format!("(window.ropeleafZones = window.ropeleafZones || {{}})[{name}]");
    Some(OutFile {
        path: format!("site/zones/{}.js", rig.name),
        bytes: script_file(&place, &data),
    })
}

/// What the page's control reads, by its keys there.
#[derive(Serialize)]
struct Data<'a> {
    home: [f64; 2],
    grid: Grid,
    units: Units,
    weight: f64,
    reasons: &'a [String],
    held: &'a [usize],
    lines: Vec<Line<'a>>,
    map: Map,
    words: Option<&'a Value>,
}

#[derive(Serialize)]
struct Grid {
    x: f64,
    z: f64,
    dx: f64,
    dz: f64,
    nx: usize,
    nz: usize,
}

#[derive(Serialize)]
struct Units {
    force: Unit,
    length: Unit,
}

#[derive(Serialize)]
struct Unit {
    unit: &'static str,
    scale: f64,
    decimals: usize,
}

#[derive(Serialize)]
struct Line<'a> {
    key: &'a str,
    name: String,
    run: Vec<Option<[f64; 2]>>,
    together: Option<f64>,
    pulls: Vec<Option<i64>>,
}

#[derive(Serialize)]
struct Map {
    #[serde(rename = "perMetre")]
    per_metre: f64,
}

/// The reasons of samples that are not held, each once, and for each sample the number of its reason:
/// from 1, 0 for held.
fn reasons(site: &Site<'_>, rig: &Rig, field: &ZoneField) -> (Vec<String>, Vec<usize>) {
    let mut reasons: Vec<String> = Vec::new();
    let mut known: Vec<(NotHeld, usize)> = Vec::new();
    let held = field.held.iter().map(|sample| {
        let Err(why) = sample else { return 0 };
        if let Some((_, number)) = known.iter().find(|(known, _)| known == why) {
            return *number;
        }
        let text = reason(site, rig, *why);
        let at = reasons.iter().position(|known| *known == text);
        let at = at.unwrap_or_else(|| {
            reasons.push(text);
            reasons.len() - 1
        });
        known.push((*why, at + 1));
        at + 1
    });
    let held = held.collect();
    (reasons, held)
}

/// The places of a run, `null` for the climber.
fn run(rig: &Rig, solved: &Solved, line: LineId) -> Vec<Option<[f64; 2]>> {
    let nodes = rig.line(line).run.iter();
    nodes
        .map(|node| match node {
            Node::Climber(_) => None,
            Node::Point(point) => {
                let at = solved.points[point.0].at;
                Some([at.x, at.z])
            }
        })
        .collect()
}

/// How many times the pull of one leg all legs together make, where they lie side by side; `None`
/// where the legs part, so that it changes with the place.
fn together(rig: &Rig, solved: &Solved, line: LineId) -> Option<f64> {
    let run = &rig.line(line).run;
    let neighbour = |i: usize| {
        let before = i.checked_sub(1).and_then(|b| run.get(b));
        let after = run.get(i + 1);
        before.into_iter().chain(after)
    };
    let climbers = (0..run.len()).filter(|i| matches!(run[*i], Node::Climber(_)));
    let mut ends: Vec<&Node> = climbers.flat_map(neighbour).collect();
    ends.dedup();
    let answer = &solved.lines[line.0];
    let (pull, all) = (answer.pull_n?, answer.on_climber_n?.length());
    (ends.len() == 1 && pull > 0.0 && legs(rig, line) > 0).then(|| all / pull)
}

fn reason(site: &Site<'_>, rig: &Rig, why: NotHeld) -> String {
    let words = site.words;
    let of = |key, line: LineId| {
        let name = heading_of(&rig.line(line).name).to_lowercase();
        words.fill(key, &[("line", &name)])
    };
    match why {
        NotHeld::CannotBalance => words.get("explore.balance").to_owned(),
        NotHeld::OverLimit(line) => of("explore.over_limit", line),
        NotHeld::TooShort(line) => of("explore.too_short", line),
        NotHeld::TooLong(line) => of("explore.too_long", line),
        NotHeld::Spread(..) => {
            let limit = rig.zone.spread_rad.unwrap_or_default();
            let limit = quantity_text(Quantity::Angle(limit), site.pack().units);
            words.fill("explore.spread", &[("limit", &limit)])
        }
        NotHeld::Wood => words.get("explore.wood").to_owned(),
        NotHeld::Ground => words.get("explore.ground").to_owned(),
        NotHeld::Beyond => words.get("explore.beyond").to_owned(),
    }
}

/// A coordinate of the map, whole units (a centimetre of the tree).
fn unit(metres: f64) -> i64 {
    (metres * MAP_UNITS_PER_M).round() as i64
}

fn place(at: DVec3) -> String {
    format!("{} {}", unit(at.x), unit(-at.z))
}

/// The map. It is a short cut for pointers; the two scales do everything that it does, so it is
/// hidden from readers' machines.
fn map(rig: &Rig, solved: &Solved, zone: &Zone) -> String {
    let rings = zone.outline.iter().flatten().copied();
    let points = solved.points.iter().map(|point| point.at);
    let shown = rings.chain(points).chain([solved.climber_at]);
    let (low, high) = shown.fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), at| {
        (low.min(at), high.max(at))
    });
    let (low, high) = (low - MAP_MARGIN_M, high + MAP_MARGIN_M);
    let mut out = format!(
        "<svg class=\"place-map\" viewBox=\"{} {} {} {}\" aria-hidden=\"true\" focusable=\"false\">",
        unit(low.x),
        unit(-high.z),
        unit(high.x - low.x),
        unit(high.z - low.z)
    );
    for piece in &rig.tree.pieces {
        let along = (piece.to - piece.from).normalize_or_zero();
        let side = DVec3::new(-along.z, 0.0, along.x);
        let (thick, thin) = (piece.diameter_m.0 / 2.0, piece.diameter_m.1 / 2.0);
        let corners = [
            piece.from + side * thick,
            piece.to + side * thin,
            piece.to - side * thin,
            piece.from - side * thick,
        ];
        let corners = corners.map(place).join("L");
        let _ = write!(out, "<path class=\"m-wood\" d=\"M{corners}Z\"/>");
    }
    let rings = zone.outline.iter().map(|ring| {
        let ring: Vec<String> = ring.iter().map(|at| place(*at)).collect();
        format!("M{}Z", ring.join("L"))
    });
    let rings: String = rings.collect();
    let _ = write!(out, "<path class=\"m-zone\" d=\"{rings}\"/>");
    for line in rig.line_ids() {
        let nodes = rig.line(line).run.iter().map(|node| match node {
            Node::Climber(_) => place(solved.climber_at),
            Node::Point(point) => place(solved.points[point.0].at),
        });
        let nodes: Vec<String> = nodes.collect();
        let _ = write!(
            out,
            "<path class=\"m-line s{}\" d=\"M{}\"/>",
            line.0,
            nodes.join("L")
        );
    }
    for point in &solved.points {
        let _ = write!(
            out,
            "<circle class=\"m-anchor\" cx=\"{}\" cy=\"{}\" r=\"9\"/>",
            unit(point.at.x),
            unit(-point.at.z)
        );
    }
    let at = solved.climber_at;
    let (x, y) = (unit(at.x), unit(-at.z));
    let _ = write!(
        out,
        "<circle class=\"m-home\" cx=\"{x}\" cy=\"{y}\" r=\"14\"/><circle class=\"m-ring\" cx=\"{x}\" cy=\"{y}\" r=\"22\"/></svg>"
    );
    out
}
