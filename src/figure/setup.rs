//! The `setup` figure: who is tied to what, with names and no numbers.
//!
//! ```text
//! Scene ─ropes, hitches, marks, climber with hands on the lines, names, key→ Composed
//! ```

use kurbo::{Point, Vec2};

use super::facts::{LineFacts, spaced};
use super::key::{self, Entry, SYMBOL_MM};
use super::label::Wish;
use super::naming::along;
use super::scene::{Room, Scene};
use super::setup_details::{self as details, Closer};
use super::shape::{Ink, Item, Layer};
use super::sheet::Sheet;
use super::text::{Block, bold, plain};
use super::{Composed, Detail, Style, climber, describe, marks, rope};
use crate::rig::{Over, Rig};
use crate::statics::Solved;

/// Left and right of the picture, mm.
const LEFT_MM: f64 = 6.0;
const RIGHT_MM: f64 = 6.0;
/// From the harness point along a line to its hitch, mm, and the least line that shows one.
const HITCH_AT_MM: f64 = 9.0;
const HITCH_LINE_MM: f64 = 24.0;
/// How far beside its rope a tail hangs, and how deep, mm.
const TAIL_MM: (f64, f64) = (3.4, 13.0);

/// Composes the figure.
pub fn compose(rig: &Rig, solved: &Solved, style: Style<'_>) -> Composed {
    let closer = details::fits(style);
    let room = Room::of(style, 8.0);
    let column = if closer { details::COLUMN_MM } else { 0.0 };
    let room = Room {
        // No numbers, so no staff.
        left: room.left.min(LEFT_MM),
        right: room.right.min(RIGHT_MM) + column,
        ..room
    };
    let mut scene = Scene::lay(rig, solved, style, &[], room);
    scene.field.x1 -= column;
    let closer = if closer {
        details::choose(&scene)
    } else {
        Vec::new()
    };
    let mut sheet = Sheet::default();
    scene.draw_wood(&mut sheet);
    let asked = scene.asked_at(solved.climber_at, true);
    scene.draw_climber(&mut sheet, climber::climber(&asked));
    scene.draw_ropes(&mut sheet);
    scene.draw_marks(&mut sheet);
    let mut hitches = false;
    let mut stoppers = false;
    for facts in &scene.facts {
        let (hitch, stopper) = draw_hitch(&mut sheet, &scene, facts);
        hitches |= hitch;
        stoppers |= stopper;
    }
    details::draw_rings(&mut sheet, &scene, &closer);
    for facts in &scene.facts {
        name_line(&mut sheet, &scene, facts, closer.is_empty());
    }
    if style.detail != Detail::Small {
        name_points(&mut sheet, &scene, &closer);
    }
    let left_out = sheet.settle(scene.field, Ink::Paper);
    let mut height = match style.detail {
        Detail::Full => {
            let mut entries = line_entries(rig, &scene.facts);
            if closer.is_empty() {
                entries.extend(mark_entries(rig, hitches, stoppers));
            }
            entries.extend(left_out.iter().map(|w| Entry::note(w.block.words())));
            if !closer.is_empty() {
                let words: Vec<String> = closer.iter().map(|one| one.words(&scene)).collect();
                entries.push(Entry::note(format!("{}: seen closer", words.join(", "))));
            }
            key::lay(&mut sheet, &entries, None, scene.field.y1, scene.field.x1)
        }
        _ => scene.field.y1,
    };
    if !closer.is_empty() {
        height = details::draw_column(&mut sheet, &scene, &closer, height).max(height);
    }
    Composed {
        title: format!("{}: set-up", rig.title),
        description: describe::setup(&scene),
        sheet,
        size_mm: (style.width_mm, height),
    }
}

/// The hitch of a line on its last leg, and the tail below it; says whether there is a hitch and a
/// stopper to explain.
fn draw_hitch(sheet: &mut Sheet, scene: &Scene<'_>, facts: &LineFacts) -> (bool, bool) {
    let line = scene.rig.line(facts.id);
    let stretches = scene.stretches(facts.id);
    let Some(stretch) = stretches.iter().find(|s| s.at_climber) else {
        return (false, false);
    };
    let point = scene.frame.at(stretch.from);
    let way = point - scene.harness;
    let length = way.hypot();
    if line.hitch.is_none() || length < HITCH_LINE_MM {
        return (false, false);
    }
    let along = way / length;
    let across = Vec2::new(-along.y, along.x);
    // The leg on the outer side carries the hitch.
    let outer = if along.x < 0.0 { -1.0 } else { 1.0 };
    let side = across * outer * if across.x < 0.0 { -1.0 } else { 1.0 };
    let offset = if stretch.parts > 1 {
        rope::LEG_OFFSET_MM
    } else {
        0.0
    };
    let at = scene.harness + along * HITCH_AT_MM + side * offset;
    let stopper = line.assembly.stopper == Some(true);
    let tail = rope::tail(at, outer, TAIL_MM.0, TAIL_MM.1);
    let mut items: Vec<Item> = rope::rope(tail, facts.id.0, rope::LEG_MM)
        .into_iter()
        .map(Item::Shape)
        .collect();
    items.extend(
        marks::hitch(at, along, facts.id.0)
            .into_iter()
            .map(Item::Shape),
    );
    if stopper {
        let end = at + Vec2::new(TAIL_MM.0 * outer, TAIL_MM.1);
        let knot = marks::stopper(end, Vec2::new(0.0, 1.0), facts.id.0);
        items.extend(knot.into_iter().map(Item::Shape));
    }
    sheet.block_items(super::label::Cover::Never, &items);
    sheet.add(
        Layer::Mark,
        Item::group(format!("hitch-{}", line.name), items),
    );
    (true, stopper)
}

/// - `with_hitch`: whether its name says the hitch, which a close view would name.
fn name_line(sheet: &mut Sheet, scene: &Scene<'_>, facts: &LineFacts, with_hitch: bool) {
    let stretches = scene.stretches(facts.id);
    let Some(stretch) = stretches.iter().max_by(|a, b| {
        let long = |s: &super::scene::Stretch| s.from.distance(s.to);
        long(a).total_cmp(&long(b))
    }) else {
        return;
    };
    let (from, to) = (scene.frame.at(stretch.to), scene.frame.at(stretch.from));
    let line = scene.rig.line(facts.id);
    let mut lines = vec![vec![bold(facts.name.clone(), Ink::line(facts.id.0))]];
    if let (Some(hitch), Detail::Full, true) = (&line.hitch, scene.style.detail, with_hitch) {
        lines.push(vec![plain(format!("{hitch} hitch"), Ink::Ink)]);
    }
    let block = Block::new(lines);
    let way = to - from;
    let down = Vec2::new(-way.y, way.x) / way.hypot().max(1e-9);
    let outer = if down.y < 0.0 { -down } else { down };
    let shares = [0.5, 0.6, 0.4, 0.7, 0.3];
    sheet.wish(Wish {
        name: line.name.clone(),
        spots: along(from, to, &shares, &block, Some(outer)),
        block,
        target: from.midpoint(to),
        search: true,
    });
}

/// Names of the points that no close view shows.
fn name_points(sheet: &mut Sheet, scene: &Scene<'_>, closer: &[Closer]) {
    let points = scene.rig.points.iter().zip(&scene.solved.points);
    for (i, (point, answer)) in points.enumerate() {
        if closer.iter().any(|one| one.shows(i)) {
            continue;
        }
        let at = scene.frame.at(answer.at);
        let block = Block::new(vec![vec![plain(spaced(&point.name), Ink::Ink)]]);
        let reach = Vec2::new(5.0, 0.0);
        let mut spots = along(at - reach, at + reach, &[0.8, 0.2, 0.5], &block, None);
        let drop = Vec2::new(0.0, 5.0);
        spots.extend(along(at - drop, at + drop, &[0.5, 0.7], &block, None));
        sheet.wish(Wish {
            name: format!("point-{}", point.name),
            block,
            target: at,
            spots,
            search: true,
        });
    }
}

/// Rows of the key for the lines: how each is rigged.
fn line_entries(rig: &Rig, facts: &[LineFacts]) -> Vec<Entry> {
    facts
        .iter()
        .map(|f| {
            let sample = rope::sample(Point::ORIGIN, SYMBOL_MM, f.legs.len().max(1), f.id.0);
            let symbol = sample.into_iter().map(Item::Shape).collect();
            Entry::new(symbol, format!("{}, {}", f.name, f.way(rig)))
        })
        .collect()
}

/// Rows for the marks that occur.
fn mark_entries(rig: &Rig, hitches: bool, stoppers: bool) -> Vec<Entry> {
    let at = Point::new(SYMBOL_MM / 2.0, 0.0);
    let level = Vec2::new(1.0, 0.0);
    let has = |over: Over| rig.points.iter().any(|p| p.over == Some(over));
    let mut rows = Vec::new();
    let mut row = |shapes: Vec<super::shape::Shape>, words: &str| {
        rows.push(Entry::new(
            shapes.into_iter().map(Item::Shape).collect(),
            words,
        ));
    };
    if has(Over::Pulley) {
        row(marks::pulley(at), "pulley");
    }
    if has(Over::Ring) || rig.points.iter().any(|p| p.over.is_none()) {
        row(marks::ring(at), "ring or tied end");
    }
    if hitches {
        row(marks::hitch(at, level, 0), "hitch");
    }
    if stoppers {
        row(marks::stopper(at, level, 0), "stopper knot");
    }
    row(marks::harness_point(at), "harness point");
    rows
}
