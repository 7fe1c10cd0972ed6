//! What a figure says at its lines: the words, and the places where they may stand.
//!
//! ```text
//! LineFacts ─line_words, small_words→ Block ─line_name_spots, along→ spots beside pull or rope
//! ```

use kurbo::{Point, Vec2};

use super::facts::{LineFacts, force, length};
use super::forces::{number, unit_word};
use super::key::{EDGE_MM, Entry, SYMBOL_MM, broken, still};
use super::label::{Spot, beside};
use super::rope;
use super::scene::{Scene, Stretch};
use super::shape::{Ink, Item, Layer};
use super::sheet::Sheet;
use super::text::{Align, Block, LEADING_MM, Run, SIZE_MM, bold, plain};
use crate::quantity::Units;
use crate::rig::{Pass, Rig};

/// From an arrow or a rope to the text beside it, mm.
const BESIDE_MM: f64 = 1.6;

/// Letters a line's name and way over its part of a figure; returns the last base line.
pub fn line_heading(
    sheet: &mut Sheet,
    rig: &Rig,
    facts: &LineFacts,
    width_mm: f64,
    top: f64,
) -> f64 {
    let heading = vec![
        bold(facts.name.clone(), Ink::line(facts.id.0)),
        plain(format!(", {}", facts.way(rig)), Ink::Ink),
    ];
    let mut base = top + SIZE_MM - LEADING_MM;
    for words in broken(&heading, width_mm - 2.0 * EDGE_MM) {
        base += LEADING_MM;
        let at = Point::new(EDGE_MM, base);
        sheet.letter(Layer::Label, still(at, Align::Start, words));
    }
    base
}

/// What the range in brackets stands for: friction, or how tight each of several lines is set.
pub fn range_words(rig: &Rig) -> &'static str {
    let rough = rig.points.iter().any(|p| match p.pass {
        Pass::Friction { mu, turns } => mu > 0.0 && (p.over.is_some() || turns > 0.0),
        Pass::Efficiency(eta) => eta < 1.0,
    });
    if rough && rig.lines.len() < 3 {
        "(\u{2026}) range with friction"
    } else if rough {
        "(\u{2026}) least to most possible"
    } else {
        "(\u{2026}) by how tight each line is set"
    }
}

/// The pull of all legs of a line, in its colour; its name where it does not meet the climber.
pub fn small_words(facts: &LineFacts, units: Units) -> Vec<Vec<Run>> {
    let ink = Ink::line(facts.id.0);
    let words = facts
        .on_climber_n
        .map_or_else(|| facts.name.clone(), |pull| force(pull.length(), units));
    vec![vec![bold(words, ink)]]
}

/// Name and legs; pull; range.
pub fn line_words(facts: &LineFacts, units: Units, holds: bool) -> Vec<Vec<Run>> {
    let ink = Ink::line(facts.id.0);
    let name = bold(facts.name.clone(), ink);
    let legs = facts.legs.len();
    let mut lines = Vec::new();
    let count = match legs {
        2 => ", two legs".to_owned(),
        n if n > 2 => format!(", {n} legs"),
        _ => String::new(),
    };
    lines.push(if count.is_empty() {
        vec![name]
    } else {
        vec![name, plain(count, Ink::Ink)]
    });
    if !holds {
        return lines;
    }
    if facts.is_slack() && !facts.is_unbounded() && facts.range_text(units).is_none() {
        lines.push(vec![plain("slack", Ink::Ink)]);
        return lines;
    }
    if legs > 1 && !facts.legs_alike() {
        let each: Vec<String> = facts
            .leg_pulls_n
            .iter()
            .map(|n| number(*n, units))
            .collect();
        let unit = unit_word(units);
        lines.push(vec![bold(
            format!("{}\u{a0}{unit}", each.join(" and ")),
            Ink::Ink,
        )]);
    } else if let Some(pull) = facts.pull_text(units) {
        let mut line = vec![bold(pull, Ink::Ink)];
        if legs > 1 {
            line.push(plain(" in each", Ink::Ink));
        }
        lines.push(line);
    }
    if let Some(range) = facts.range_text(units) {
        lines.push(vec![plain(format!("({range})"), Ink::Ink)]);
    }
    lines
}

/// Rows of the key for the lines, with their lengths.
pub fn line_entries(rig: &Rig, facts: &[LineFacts], units: Units) -> Vec<Entry> {
    facts
        .iter()
        .map(|f| {
            let parts = f.legs.len().max(1);
            let sample = rope::sample(Point::ORIGIN, SYMBOL_MM, parts, f.id.0);
            let words = format!("{}, {}, {}", f.name, f.way(rig), length(f.length_m, units));
            Entry::new(sample.into_iter().map(Item::Shape).collect(), words)
        })
        .collect()
}

/// Where the words of a line would stand, and what a leader leads to: beside its pull, else beside
/// its rope, on the outer side first.
pub fn line_name_spots(
    scene: &Scene<'_>,
    facts: &LineFacts,
    arrow_mm: f64,
    block: &Block,
) -> Option<(Point, Vec<Spot>)> {
    let mut spots = Vec::new();
    let stretches = scene.stretches(facts.id);
    let main = stretches
        .iter()
        .max_by(|a, b| {
            let long = |s: &Stretch| (s.at_climber, s.from.distance(s.to));
            long(a)
                .partial_cmp(&long(b))
                .unwrap_or(std::cmp::Ordering::Equal)
        })
        .copied()?;
    let (point, near) = (scene.frame.at(main.from), scene.frame.at(main.to));
    let outer = outer_side(scene, facts, near, point);
    if main.at_climber && arrow_mm > 8.0 {
        let tip = near + scene.sheet_direction(main.from - main.to) * arrow_mm;
        spots.extend(along(near, tip, &[0.5, 0.4, 0.6, 0.75], block, Some(outer)));
    }
    let base = spots.len() as f64 * 0.05;
    for spot in along(
        near,
        point,
        &[0.5, 0.6, 0.4, 0.7, 0.3, 0.8],
        block,
        Some(outer),
    ) {
        spots.push(Spot {
            cost: spot.cost + 1.0 + base,
            ..spot
        });
    }
    let share = if arrow_mm > 0.0 {
        (arrow_mm / near.distance(point).max(arrow_mm)).min(0.9) + 0.05
    } else {
        0.5
    };
    let target = near + (point - near) * share.clamp(0.2, 0.9);
    Some((target, spots))
}

/// The side of a line that faces away from the others, as a unit vector on the sheet.
fn outer_side(scene: &Scene<'_>, facts: &LineFacts, near: Point, point: Point) -> Vec2 {
    let way = point - near;
    let side = Vec2::new(-way.y, way.x) / way.hypot().max(1e-9);
    let lean = way.x;
    let others: f64 = scene
        .facts
        .iter()
        .filter(|f| f.id != facts.id)
        .filter_map(|f| f.direction)
        .map(|d| scene.sheet_direction(d).dot(side))
        .sum();
    let away = if others.abs() > 1e-6 {
        -others.signum()
    } else if lean.abs() > 1.0 {
        // Outer is below a leaning line.
        side.y.signum()
    } else {
        side.x.signum()
    };
    side * away
}

/// Spots beside a stroke at shares of its length: on the given side first, or on both alike.
pub fn along(
    from: Point,
    to: Point,
    shares: &[f64],
    block: &Block,
    side: Option<Vec2>,
) -> Vec<Spot> {
    let way = to - from;
    let normal = Vec2::new(-way.y, way.x) / way.hypot().max(1e-9);
    let right = if normal.x >= 0.0 { normal } else { -normal };
    let (first, price) = side.map_or((right, 0.2), |s| (s, 2.5));
    let mut spots = Vec::with_capacity(4 * shares.len());
    for (i, share) in shares.iter().enumerate() {
        let place = from + way * *share;
        let step = 0.3 * i as f64;
        for (side, cost) in [(first, step), (-first, step + price)] {
            spots.push(beside(place, side, BESIDE_MM + 1.2, block, cost));
            spots.push(beside(place, side, BESIDE_MM + 4.0, block, cost + 0.6));
        }
    }
    for spot in &mut spots {
        // Beside a steep stroke text is aligned towards it, over or under it centred.
        if way.x.abs() > 3.0 * way.y.abs() {
            spot.align = Align::Middle;
        }
    }
    spots
}
