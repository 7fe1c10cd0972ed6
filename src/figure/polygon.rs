//! The `polygon` figure: the forces on the climber head to tail, beside their directions.
//!
//! ```text
//! LineFacts… ─sides→ a chain of vectors from the weight on ─draw→ polygon, directions, sums
//! ```
//!
//! Over 500 lines: polygon, directions and sums share their sides, their scale and the places taken.

use glam::DVec3;
use kurbo::{Point, Rect, Vec2};

use super::angles::{Arc, angle_from_up, axis};
use super::arrows::{self, Kind};
use super::climber::{self, Asked};
use super::facts::{LineFacts, SLACK_N, force, gather};
use super::forces::{force_bar, number, unit_word};
use super::hit::Outline;
use super::key::{self, EDGE_MM};
use super::label::{Cover, Spot, Wish};
use super::naming::along;
use super::shape::{Ink, Item, Layer, Shape, Stroke};
use super::sheet::{Sheet, circle_path, line, polygon};
use super::text::{Align, Block, LEADING_MM, Run, SIZE_MM, bold, plain, width};
use super::{Composed, Detail, Style, describe, marks, rope};
use crate::quantity::{Quantity, number_text};
use crate::rig::{Rig, ValuePath};
use crate::statics::Solved;
use crate::value::evaluate;

/// Longest extent of the polygon, mm on a sheet of 160 mm.
const LONGEST_MM: f64 = 88.0;

/// Scales of the polygon, mm/kN.
const SCALES: [f64; 10] = [2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 50.0, 75.0, 100.0];

/// A polygon narrower than this is drawn open, mm.
const THIN_MM: f64 = 2.6;

/// Radius of the joints, and of the ring where the polygon closes, mm.
const JOINT_MM: f64 = 0.75;
const CLOSE_MM: f64 = 1.5;

/// A gap smaller than this closes, newtons: half of the last digit in kN.
const GAP_N: f64 = 5.0;

/// Length of the lines of the directions, mm.
const DIRECTION_MM: f64 = 40.0;

/// Sheets narrower than this have the polygon under the directions, mm.
const BESIDE_MM: f64 = 120.0;
/// From the directions down to the polygon under them, and from the scale bar to its table, mm.
const UNDER_MM: f64 = 2.0;
const BAR_MM: f64 = 15.0;
/// Least width of the table of sums, and width of its last column, mm.
const TABLE_MM: f64 = 60.0;
const COLUMN_MM: f64 = 18.0;

/// One side of the polygon.
struct Side {
    /// Which line, or `None` for the weight and the feet.
    line: Option<usize>,
    /// What it is called.
    name: String,
    /// Newtons, on the sheet (y down).
    force: Vec2,
    /// In space, newtons.
    space: DVec3,
    /// How many equal parts it is drawn in.
    parts: usize,
}

/// Composes the figure; `None` where there is only the weight.
pub fn compose(rig: &Rig, solved: &Solved, style: Style) -> Option<Composed> {
    let facts = gather(rig, solved);
    let sides = sides(rig, solved, &facts);
    if sides.len() < 2 && solved.push_needed_n.is_none() {
        return None;
    }
    let width = style.width_mm;
    let small = style.detail == Detail::Small;
    let stacked = !small && width < BESIDE_MM;
    let split = if small || stacked {
        0.0
    } else {
        (0.38 * width).max(44.0)
    };
    let mut sheet = Sheet::default();
    let units = style.units;

    // Directions at the left, or over the polygon.
    let far = if small {
        0.0
    } else {
        let room = if stacked { width } else { split };
        draw_directions(&mut sheet, &sides, &facts, solved, room, style, rig)
    };
    let over = if stacked { far + UNDER_MM } else { 0.0 };

    // The polygon at the right.
    let mut at = Vec2::ZERO;
    let mut corners = vec![at];
    for side in &sides {
        at += side.force;
        corners.push(at);
    }
    let bounds = corners
        .iter()
        .fold(Rect::ZERO, |b, c| b.union_pt(c.to_point()));
    let shrink = (width / 160.0).clamp(0.7, 1.0);
    let (tallest, beside) = if small {
        (0.75 * width, 22.0)
    } else {
        (LONGEST_MM * shrink, 58.0 * shrink)
    };
    let room = tallest.min(width - split - beside);
    let fits = |s: &f64| {
        let mm = s / 1000.0;
        bounds.height() * mm <= tallest && bounds.width() * mm <= room
    };
    let scale = SCALES.into_iter().rev().find(fits).unwrap_or(SCALES[0]);
    let mm = scale / 1000.0;
    let top = if small { 4.0 } else { over + 14.0 };
    let free = width - split - bounds.width() * mm;
    let left_room = if small {
        0.5 * free
    } else {
        (0.5 * free - 6.0).max(30.0 * shrink)
    };
    let origin = Point::new(split + left_room - bounds.x0 * mm, top - bounds.y0 * mm);
    // Sides that would lie on each other are drawn beside each other.
    let thin = bounds.width() * mm < THIN_MM;
    let place = |v: Vec2| origin + v * mm;
    let inside: Vec<Point> = corners.iter().map(|c| place(*c)).collect();
    sheet.add(Layer::Zone, Shape::filled(polygon(&inside), Ink::Wash));
    let bottom = top + bounds.height() * mm;
    for (side, start) in sides.iter().zip(&corners) {
        let aside = match (thin, side.name == "weight") {
            (false, _) => 0.0,
            (true, true) => THIN_MM / 2.0,
            (true, false) => -THIN_MM / 2.0,
        };
        draw_side(&mut sheet, side, place(*start) + Vec2::new(aside, 0.0), mm);
    }
    for corner in &corners {
        joint(&mut sheet, place(*corner), JOINT_MM);
    }
    let gap = corners[corners.len() - 1];
    let closed = gap.hypot() < GAP_N;
    if closed && small {
        joint(&mut sheet, place(Vec2::ZERO), CLOSE_MM);
    } else if closed {
        joint(&mut sheet, place(Vec2::ZERO), CLOSE_MM);
        let words = Block::new(vec![vec![plain("closed: in balance", Ink::Ink)]]);
        wish_by_leader(&mut sheet, "closed", words, place(Vec2::ZERO));
    } else {
        missing(&mut sheet, place(gap), place(Vec2::ZERO), solved, style);
    }
    label_sides(&mut sheet, &sides, &facts, &corners, &place, thin, style);

    if small {
        let height = bottom + 4.0;
        sheet.settle(Rect::new(0.0, 0.0, width, height), Ink::Paper);
        return Some(Composed {
            sheet,
            title: format!("{}: polygon of forces", rig.title),
            description: describe::polygon(
                rig,
                solved,
                &facts,
                units,
                unclosed(&sides, closed).as_deref(),
            ),
            size_mm: (width, height),
        });
    }

    let second = if stacked { EDGE_MM } else { split + 4.0 };
    head(&mut sheet, (EDGE_MM, 0.0), "Directions at the climber");
    head(&mut sheet, (second, over), "The same pulls, head to tail");

    let low = far.max(bottom + 8.0);
    let left_out = sheet.settle(Rect::new(0.0, 8.0, width, low), Ink::Paper);
    let entries: Vec<key::Entry> = left_out
        .iter()
        .map(|wish| key::Entry::note(wish.block.words()))
        .collect();
    let rail = key::lay(&mut sheet, &entries, None, low, width);
    let scale_bar = force_bar(scale, units, "Scale of the polygon");
    scale_bar.draw(&mut sheet, Point::new(EDGE_MM + 0.8, rail + 3.4));
    let bar_mm = if stacked { BAR_MM } else { 0.0 };
    let at = (second, rail + 3.4 + bar_mm);
    let table = sums(&mut sheet, &sides, at, style, closed);
    let height = table.max(rail + 13.0);
    Some(Composed {
        sheet,
        title: format!("{}: polygon of forces", rig.title),
        description: describe::polygon(
            rig,
            solved,
            &facts,
            units,
            unclosed(&sides, closed).as_deref(),
        ),
        size_mm: (width, height),
    })
}

/// The sides of a polygon that does not close, for its description: name and newtons.
fn unclosed(sides: &[Side], closed: bool) -> Option<Vec<(&str, f64)>> {
    let sides = sides.iter().filter(|side| side.name != "weight");
    let named = sides.map(|side| (side.name.as_str(), side.space.length()));
    (!closed).then(|| named.collect())
}

/// The weight, then the lines in order, then the feet.
fn sides(rig: &Rig, solved: &Solved, facts: &[LineFacts]) -> Vec<Side> {
    let flat = |v: DVec3| Vec2::new(v.x, -v.z);
    let weight = DVec3::new(0.0, 0.0, -solved.weight_n);
    let mut sides = vec![Side {
        line: None,
        name: "weight".to_owned(),
        force: flat(weight),
        space: weight,
        parts: 1,
    }];
    for facts in facts {
        if let Some(pull) = facts.on_climber_n.filter(|v| v.length() > SLACK_N) {
            let parts = if facts.legs_alike() {
                facts.legs.len()
            } else {
                1
            };
            sides.push(Side {
                line: Some(facts.id.0),
                name: facts.name.clone(),
                force: flat(pull),
                space: pull,
                parts: parts.max(1),
            });
        }
    }
    if let Some(push) = solved.push_needed_n {
        // What the lines give at best: the weight less what is missing.
        let given = -weight - push;
        if given.length() > SLACK_N {
            let (line, name) = match &rig.lines[..] {
                [_] => (Some(0), facts[0].name.clone()),
                _ => (None, "the lines".to_owned()),
            };
            sides.push(Side {
                line,
                name,
                force: flat(given),
                space: given,
                parts: 1,
            });
        }
    }
    if let Some(push) = solved.feet_push_n.filter(|v| v.length() > SLACK_N) {
        sides.push(Side {
            line: None,
            name: "feet".to_owned(),
            force: flat(push),
            space: push,
            parts: 1,
        });
    }
    // Clockwise round the polygon: after the weight (down) the sides that lean left come first.
    sides[1..].sort_by(|a, b| {
        let lean = |s: &Side| angle_from_up(s.force);
        lean(a).total_cmp(&lean(b))
    });
    sides
}

fn draw_side(sheet: &mut Sheet, side: &Side, from: Point, mm: f64) {
    let whole = side.force * mm;
    let part = whole / side.parts as f64;
    for i in 0..side.parts {
        let start = from + part * i as f64;
        let kind = side.line.map_or(Kind::Weight, Kind::Pull);
        let id = if i == 0 {
            format!("side-{}", side.name.replace(' ', "-"))
        } else {
            format!("side-{}-{}", side.name.replace(' ', "-"), i + 1)
        };
        arrows::arrow(sheet, &id, kind, start, start + part);
        if i > 0 {
            joint(sheet, start, JOINT_MM);
        }
    }
}

fn joint(sheet: &mut Sheet, at: Point, radius: f64) {
    let width = if radius > 1.0 { 0.6 } else { 0.35 };
    let stroke = Stroke::solid(Ink::Ink, width);
    sheet.add(
        Layer::Detail,
        Shape::both(circle_path(at, radius), Ink::Paper, stroke),
    );
    let reach = Rect::from_center_size(at, (2.0 * radius, 2.0 * radius));
    sheet.block(Cover::Never, Outline::Box(reach));
}

/// The gap of a polygon that does not close: a double arrow, never a bent side.
fn missing(sheet: &mut Sheet, from: Point, to: Point, solved: &Solved, style: Style) {
    let middle = from.midpoint(to);
    arrows::arrow(sheet, "missing", Kind::Missing, middle, to);
    arrows::arrow(sheet, "missing-back", Kind::Missing, middle, from);
    let needed = solved.push_needed_n.unwrap_or(DVec3::ZERO).length();
    let words = Block::new(vec![
        vec![bold("does not close", Ink::Bad)],
        vec![
            plain("missing ", Ink::Ink),
            bold(force(needed, style.units), Ink::Ink),
        ],
    ]);
    let spots = along(from, to, &[0.5, 0.3, 0.7], &words, None);
    sheet.wish(Wish {
        name: "missing".to_owned(),
        block: words,
        target: middle,
        spots,
        search: true,
    });
}

fn wish_by_leader(sheet: &mut Sheet, name: &str, block: Block, target: Point) {
    let spots = [(5.0, -1.6), (5.0, 2.0)].map(|(x, y)| Spot {
        corner: target + Vec2::new(x, y - block.height() / 2.0),
        align: Align::Start,
        cost: 0.0,
        leader: true,
        tie: None,
    });
    sheet.wish(Wish {
        name: name.to_owned(),
        block,
        target,
        spots: spots.to_vec(),
        search: true,
    });
}

/// Names and values beside the sides, outside the polygon first.
fn label_sides(
    sheet: &mut Sheet,
    sides: &[Side],
    facts: &[LineFacts],
    corners: &[Vec2],
    place: &dyn Fn(Vec2) -> Point,
    thin: bool,
    style: Style,
) {
    let centre = corners.iter().fold(Vec2::ZERO, |a, b| a + *b) / corners.len() as f64;
    for (side, start) in sides.iter().zip(corners) {
        let (from, to) = (place(*start), place(*start + side.force));
        let ink = side.line.map_or(Ink::Ink, Ink::line);
        let value = match side.line.and_then(|i| facts.iter().find(|f| f.id.0 == i)) {
            Some(f) if side.parts > 1 => {
                let each = f.leg_pulls_n.first().copied().unwrap_or(0.0);
                format!("{} \u{d7} {}", side.parts, force(each, style.units))
            }
            _ => force(side.space.length(), style.units),
        };
        let block = Block::new(if style.detail == Detail::Small {
            vec![vec![bold(side.name.clone(), ink)]]
        } else {
            vec![
                vec![bold(side.name.clone(), ink)],
                vec![bold(value, Ink::Ink)],
            ]
        });
        let normal = Vec2::new(-side.force.y, side.force.x) / side.force.hypot();
        let outwards = if thin {
            // The weight is drawn at the right of the others.
            normal.x * if side.name == "weight" { 1.0 } else { -1.0 }
        } else {
            (*start + side.force / 2.0 - centre).dot(normal)
        };
        let out = if outwards < 0.0 { -normal } else { normal };
        let spots = along(from, to, &[0.5, 0.4, 0.6, 0.3, 0.7], &block, Some(out));
        sheet.wish(Wish {
            name: side.name.replace(' ', "-"),
            block,
            target: from.midpoint(to),
            spots,
            search: true,
        });
    }
}

/// The lines as they leave the climber, with their angles; returns how far down it reaches.
fn draw_directions(
    sheet: &mut Sheet,
    sides: &[Side],
    facts: &[LineFacts],
    solved: &Solved,
    split: f64,
    style: Style,
    rig: &Rig,
) -> f64 {
    let shrink = (style.width_mm / 160.0).clamp(0.6, 1.0);
    let long = DIRECTION_MM * shrink;
    let mut reach = (8.0_f64, 8.0_f64);
    let directions: Vec<(usize, Vec2)> = facts
        .iter()
        .filter_map(|f| {
            let flat = f.direction.map(|d| Vec2::new(d.x, -d.z))?;
            (flat.hypot() > 0.05).then(|| (f.id.0, flat / flat.hypot()))
        })
        .collect();
    for (_, d) in &directions {
        reach.0 = reach.0.max(-d.x * long);
        reach.1 = reach.1.max(d.x * long);
    }
    let spare = (split - EDGE_MM - reach.0 - reach.1).max(0.0);
    let harness = Point::new(EDGE_MM + reach.0 + spare / 2.0, 18.0 + long + 2.0);
    for (index, d) in &directions {
        let parts = facts[*index].legs.len();
        let point = harness + *d * long;
        let shapes = rope::stretch(point, harness, parts, *index);
        let id = format!("rope-{}", rig.lines[*index].name);
        sheet.add(Layer::Rope, Item::group(id, shapes));
        sheet.block(Cover::Rope, Outline::segment(point, harness, 0.9));
        let block = Block::new(vec![vec![bold(
            facts[*index].name.clone(),
            Ink::line(*index),
        )]]);
        let out = if d.x < 0.0 { -1.0 } else { 1.0 };
        let side = Vec2::new(-d.y, d.x) * if -d.y * out > 0.0 { 1.0 } else { -1.0 };
        let spots = along(harness, point, &[0.95, 0.85, 0.7], &block, Some(side));
        sheet.wish(Wish {
            name: format!("direction-{}", rig.lines[*index].name),
            block,
            target: point,
            spots,
            search: true,
        });
    }
    let down = harness + Vec2::new(0.0, 26.0 * shrink);
    arrows::arrow(sheet, "direction-weight", Kind::Weight, harness, down);
    let block = Block::new(vec![vec![bold("weight", Ink::Ink)]]);
    let spots = along(harness, down, &[0.9, 0.7, 0.5], &block, None);
    sheet.wish(Wish {
        name: "direction-weight".to_owned(),
        block,
        target: down,
        spots,
        search: true,
    });
    let mut count = [0_usize; 2];
    for (index, d) in &directions {
        let angle = angle_from_up(*d);
        let true_angle = evaluate(rig, solved, ValuePath::Angle(facts[*index].id));
        let flat = rig.space == crate::rig::Space::Planar;
        let (true, Some(Quantity::Angle(_))) = (flat && angle.abs() < 2.0, true_angle) else {
            continue;
        };
        if angle.abs() < 0.03 {
            continue;
        }
        let side = usize::from(angle > 0.0);
        let arc = Arc {
            centre: harness,
            radius: (22.0 + 6.0 * count[side] as f64) * shrink,
            from: angle.min(0.0),
            to: angle.max(0.0),
        };
        count[side] += 1;
        arc.draw(sheet, Ink::Soft);
        sheet.wish(arc.label(&rig.lines[*index].name, ""));
    }
    axis(sheet, harness, 13.5 * shrink, 34.0 * shrink);
    let asked = Asked::hanging(harness, 12.5 * shrink, rig.climber.facing);
    let drawn = climber::climber(&asked);
    for outline in &drawn.outlines {
        for outline in Outline::of_filled_path(outline) {
            sheet.block(Cover::Never, outline);
        }
    }
    sheet.extend(Layer::Climber, drawn.body);
    sheet.extend(Layer::Climber, drawn.near_arm);
    sheet.extend(Layer::Force, marks::harness_point(harness));
    debug_assert!(!sides.is_empty(), "the weight at least");
    down.y + 6.0
}

/// A table of the components and their sum, from its left upper corner down; returns its lower edge.
fn sums(
    sheet: &mut Sheet,
    sides: &[Side],
    (left, top): (f64, f64),
    style: Style,
    closed: bool,
) -> f64 {
    // Long names widen it as far as the sheet goes.
    let names = sides
        .iter()
        .map(|s| width(&[bold(s.name.clone(), Ink::Ink)], SIZE_MM));
    let wide = (names.fold(0.0, f64::max) + 2.0 * COLUMN_MM - 4.0)
        .min(style.width_mm - EDGE_MM - left)
        .max(TABLE_MM);
    let columns = [left, left + wide - COLUMN_MM, left + wide];
    let signed = |newtons: f64| {
        let text = number(newtons.abs(), style.units);
        let zero = text.bytes().all(|b| matches!(b, b'0' | b'.'));
        match (zero, newtons < 0.0) {
            (true, _) => number_text(0.0, 0),
            (false, true) => format!("\u{2212}{text}"),
            (false, false) => format!("+{text}"),
        }
    };
    let sum: DVec3 = sides.iter().map(|s| s.space).sum();
    let unit = plain(unit_word(style.units), Ink::Soft);
    let heads = ["across", "up"].map(|w| plain(w, Ink::Soft));
    let mut rows: Vec<[Run; 3]> = Vec::new();
    let [across, up] = heads;
    rows.push([unit, across, up]);
    for side in sides {
        let name = bold(side.name.clone(), side.line.map_or(Ink::Ink, Ink::line));
        let values = [side.space.x, side.space.z].map(|v| plain(signed(v), Ink::Ink));
        let [x, z] = values;
        rows.push([name, x, z]);
    }
    let (name, rest) = if closed {
        (bold("sum", Ink::Ink), sum)
    } else {
        (bold("missing", Ink::Bad), -sum)
    };
    let [x, z] = [rest.x, rest.z].map(|v| bold(signed(v), Ink::Ink));
    rows.push([name, x, z]);
    let count = rows.len();
    let mut base = top;
    for (i, row) in rows.into_iter().enumerate() {
        if i + 1 == count {
            let rule = base - LEADING_MM + 1.7;
            let ends = [columns[0], columns[2]].map(|x| Point::new(x, rule));
            let stroke = Stroke::solid(Ink::Ink, 0.35);
            sheet.add(Layer::Key, line(ends[0], ends[1], stroke));
            base += 0.9;
        }
        for (i, (x, run)) in columns.into_iter().zip(row).enumerate() {
            let align = if i == 0 { Align::Start } else { Align::End };
            let text = key::still(Point::new(x, base), align, vec![run]);
            sheet.letter(Layer::Key, text);
        }
        base += LEADING_MM + 0.3;
    }
    base
}

fn head(sheet: &mut Sheet, (x, top): (f64, f64), words: &str) {
    let at = Point::new(x, top + 6.4);
    sheet.letter(
        Layer::Label,
        key::still(at, Align::Start, vec![bold(words, Ink::Ink)]),
    );
}
