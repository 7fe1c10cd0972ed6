//! The `space` figure: elevation and plan of a spatial rig in first-angle projection.
//!
//! ```text
//! Scene (elevation) ─plan_below→ Scene (plan) ─draw both, far things first→ views, projection lines
//! Solved ─true values→ table ─→ Composed
//! ```
//!
//! Views show lines and pulls shortened, so that true values stand in a table. Angles in the plan are
//! bearings: they are true there.
//!
//! Over 500 lines: both views, their table and their rail are laid out against each other.

use std::f64::consts::{PI, TAU};

use glam::DVec3;
use kurbo::{BezPath, Point, Rect, Vec2};

use super::angles::{AXIS_DASH, Arc, angle_from_up};
use super::arrows::{self, Kind};
use super::climber;
use super::facts::{LineFacts, SLACK_N, force};
use super::forces::{arrow_symbol, force_bar, force_scale, outgrowing, pulls_begin};
use super::hit::Outline;
use super::key::{EDGE_MM, Entry, Scale, broken, still};
use super::label::{Cover, Wish};
use super::naming::{along, line_name_spots};
use super::scene::{Room, Scene};
use super::shape::{Cap, Ink, Item, Layer, Shape, Stroke};
use super::sheet::{Sheet, circle_path, line, moved, polygon};
use super::text::{Align, Block, LEADING_MM, Run, SIZE_MM, bold, plain, width};
use super::{Composed, Detail, Style, describe, marks, rope};
use crate::quantity::{M_PER_FT, Quantity, Units, degrees_text, number_text};
use crate::rig::{Facing, LineId, Rig, Space, ValuePath};
use crate::statics::Solved;
use crate::value::evaluate;

/// Sheets from this width on have the table beside the views, mm; and its room then.
const ASIDE_MM: f64 = 130.0;
const TABLE_MM: f64 = 50.0;
/// Widest table, mm: values stand near their names.
const WIDEST_MM: f64 = 62.0;
/// Both views together are at most so tall, as a share of the sheet's width: aside and below.
const TALLEST: (f64, f64) = (1.08, 1.5);
/// Room over the elevation for its heading, mm.
const HEADING_MM: f64 = 4.5;
/// From the elevation to the plan: room for the plan's heading and twigs, mm.
const BETWEEN_MM: f64 = 12.0;
/// Projection lines, mm.
const PROJECTION_MM: f64 = 0.18;
/// From the longest pull in the plan to the arcs of bearings, mm, and their smallest radius.
const ARC_MM: f64 = 4.0;
const LEAST_ARC_MM: f64 = 14.0;
/// Two lines whose bearings differ by less lie above each other, radians (2°).
const SAME_BEARING: f64 = 2.0 * PI / 180.0;
/// A line within this of the vertical has no bearing: share of its length that lies level.
const LEVEL_SHARE: f64 = 0.02;
/// Room for the angles at the right of the table, mm.
const ANGLE_MM: f64 = 13.0;
/// Room for the sign of projection beside the table, mm.
const SIGN_MM: f64 = 32.0;
/// Longest length scale, mm.
const LONGEST_BAR_MM: f64 = 34.0;

/// Composes the figure; `None` for a planar rig, whose elevation says it all.
pub fn compose(rig: &Rig, solved: &Solved, style: Style<'_>) -> Option<Composed> {
    if rig.space != Space::Spatial {
        return None;
    }
    let full = style.detail == Detail::Full;
    let aside = full && style.width_mm >= ASIDE_MM;
    let (scene, scale) = lay(rig, solved, style, aside);
    let plan = scene.plan_below(scene.field.y1 + BETWEEN_MM);
    let mut sheet = Sheet::default();
    project(&mut sheet, &scene, &plan);
    draw_elevation(&mut sheet, &scene, scale);
    let mut below = Sheet::default();
    draw_plan(&mut below, &plan, scale);
    let views_right = if aside {
        style.width_mm - TABLE_MM
    } else {
        style.width_mm
    };
    let upper = Rect::new(0.0, 0.0, views_right, scene.field.y1);
    heading(&mut sheet, Point::new(EDGE_MM, 5.0), "Elevation");
    sheet.settle(upper, Ink::Paper);
    let lower = Rect::new(0.0, scene.field.y1 + 1.0, views_right, plan.field.y1);
    heading(
        &mut below,
        Point::new(EDGE_MM, scene.field.y1 + 7.0),
        "Plan",
    );
    let seen_from = plan.field.y1 - 1.5;
    from_here(&mut below, seen_from);
    below.settle(lower, Ink::Paper);
    sheet.take(&below, Vec2::ZERO, "-plan");
    let mut bottom = plan.field.y1;
    if full {
        let (corner, wide) = if aside {
            (
                Point::new(views_right + 1.0, 12.0),
                TABLE_MM - EDGE_MM - 1.0,
            )
        } else {
            (
                Point::new(EDGE_MM + 1.0, bottom + 6.0),
                style.width_mm - 2.0 * EDGE_MM - SIGN_MM,
            )
        };
        let low = table(&mut sheet, &scene, corner, wide);
        let sign = if aside {
            Point::new(corner.x + 12.0, (low + 14.0).max(bottom - 18.0))
        } else {
            Point::new(style.width_mm - EDGE_MM - 20.0, corner.y + 10.0)
        };
        first_angle(&mut sheet, sign);
        bottom = bottom.max(low);
        bottom = bottom.max(sign.y + 11.0);
        bottom = rail(&mut sheet, &scene, scale, bottom);
    }
    Some(Composed {
        title: format!("{}: elevation and plan", rig.title),
        description: describe::space(rig, solved, &scene.facts, style.units),
        sheet,
        size_mm: (style.width_mm, bottom),
    })
}

/// Fits both views; returns the elevation's scene and the scale of forces, mm/kN.
fn lay<'a>(rig: &'a Rig, solved: &'a Solved, style: Style<'a>, aside: bool) -> (Scene<'a>, f64) {
    let width = style.width_mm;
    let mut room = Room {
        right: if aside { TABLE_MM + 6.0 } else { 10.0 },
        ..Room::of(style, 0.0)
    };
    let share = if aside { TALLEST.0 } else { TALLEST.1 };
    let at = |room: Room| Scene::lay(rig, solved, style, &[], room).lowered(HEADING_MM);
    let scene = at(room);
    let plan = scene.plan_below(scene.field.y1 + BETWEEN_MM);
    let tall = plan.field.y1;
    let picture = scene.field.y1.min(room.tallest);
    room.tallest = picture.min(picture * share * width / tall);
    let scene = at(room);
    let scale = force_scale(solved.weight_n, width, style.detail, outgrowing(&scene));
    room.below = scale * solved.weight_n / 1000.0 + 6.0;
    (at(room), scale)
}

/// Thin lines from each point, and from the climber, down to its place in the plan.
fn project(sheet: &mut Sheet, scene: &Scene<'_>, plan: &Scene<'_>) {
    let points = scene.solved.points.iter().map(|p| p.at);
    for at in points.chain([scene.solved.climber_at]) {
        let ends = (scene.frame.at(at), plan.frame.at(at));
        let stroke = Stroke::solid(Ink::Hair, PROJECTION_MM).cap(Cap::Butt);
        sheet.add(Layer::Ground, line(ends.0, ends.1, stroke));
        sheet.block(Cover::Thin, Outline::segment(ends.0, ends.1, PROJECTION_MM));
    }
}

/// The lines with the farthest first; what is measured grows towards who looks.
fn by_depth(scene: &Scene<'_>, nearness: impl Fn(DVec3) -> f64) -> Vec<LineId> {
    let mut lines: Vec<(f64, LineId)> = scene
        .facts
        .iter()
        .map(|f| {
            let stretches = scene.stretches(f.id);
            let sum: f64 = stretches
                .iter()
                .map(|s| nearness((s.from + s.to) / 2.0))
                .sum();
            (sum / stretches.len().max(1) as f64, f.id)
        })
        .collect();
    lines.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    lines.into_iter().map(|(_, id)| id).collect()
}

fn draw_elevation(sheet: &mut Sheet, scene: &Scene<'_>, scale: f64) {
    scene.draw_tree(sheet);
    let order = by_depth(scene, |at| -at.y);
    let asked = scene.asked_at(scene.solved.climber_at, false);
    let drawn = climber::climber(&asked);
    let head = drawn.head;
    scene.draw_climber(sheet, drawn);
    for id in &order {
        scene.draw_rope(sheet, *id, &scene.stretches(*id));
    }
    let weight = scene.harness + Vec2::new(0.0, scale * scene.solved.weight_n / 1000.0);
    arrows::arrow(sheet, "force-weight", Kind::Weight, scene.harness, weight);
    if scene.style.detail != Detail::Small {
        let block = Block::new(vec![
            vec![bold("weight", Ink::Ink)],
            vec![bold(
                force(scene.solved.weight_n, scene.style.units),
                Ink::Ink,
            )],
        ]);
        let spots = along(scene.harness, weight, &[0.92, 0.8, 0.65, 0.5], &block, None);
        wish(sheet, "weight", block, weight, spots);
    }
    let begin = pulls_begin(scene, scale, head);
    draw_forces(sheet, scene, &order, scale, begin);
    scene.draw_marks(sheet);
}

fn draw_plan(sheet: &mut Sheet, plan: &Scene<'_>, scale: f64) {
    plan.draw_wood(sheet);
    let order = by_depth(plan, |at| at.z);
    let ahead = match plan.rig.climber.facing {
        Facing::Right => Vec2::new(1.0, 0.0),
        Facing::Left => Vec2::new(-1.0, 0.0),
    };
    sheet.extend(
        Layer::Climber,
        climber::plan(plan.harness, plan.frame.scale, ahead),
    );
    let outline = climber::plan_outline(plan.harness, plan.frame.scale);
    for outline in Outline::of_filled_path(&outline) {
        sheet.block(Cover::Shaft, outline);
    }
    for id in &order {
        plan.draw_rope(sheet, *id, &plan.stretches(*id));
    }
    let longest = draw_forces(sheet, plan, &order, scale, 0.0);
    let places: Vec<_> = plan.solved.points.iter().map(|p| Some(p.at)).collect();
    plan.draw_points(sheet, &places);
    sheet.extend(Layer::Force, marks::into_sheet(plan.harness));
    let reach = Rect::from_center_size(plan.harness, (4.0, 4.0));
    sheet.block(Cover::Never, Outline::Box(reach));
    if plan.style.detail != Detail::Small {
        draw_bearings(sheet, plan, longest);
    }
}

/// Pulls on the climber and what is missing, as this view shows them; returns the longest, mm.
///
/// - `begin`: from the harness point to where the pulls begin, mm.
fn draw_forces(
    sheet: &mut Sheet,
    scene: &Scene<'_>,
    order: &[LineId],
    scale: f64,
    begin: f64,
) -> f64 {
    let vector = |force_n: DVec3| scene.frame.direction(force_n) * (scale / 1000.0);
    let mut longest: f64 = 0.0;
    for id in order {
        let facts = &scene.facts[id.0];
        let mut arrow_mm = 0.0;
        if let Some(pull) = facts.on_climber_n.filter(|v| v.length() > SLACK_N) {
            let shown = vector(pull).hypot();
            let from = scene.harness + vector(pull) * (begin / shown.max(f64::MIN_POSITIVE));
            let to = from + vector(pull);
            arrow_mm = begin + shown;
            longest = longest.max(arrow_mm);
            let name = format!("force-{}", scene.rig.line(*id).name);
            arrows::arrow(sheet, &name, Kind::Pull(id.0), from, to);
        }
        let ink = Ink::line(id.0);
        let block = Block::new(vec![vec![bold(facts.name.clone(), ink)]]);
        if let Some((target, spots)) = line_name_spots(scene, facts, arrow_mm, &block) {
            wish(sheet, &scene.rig.line(*id).name, block, target, spots);
        }
    }
    if let Some(push) = scene.solved.push_needed_n.filter(|v| v.length() > SLACK_N) {
        let to = scene.harness + vector(push);
        arrows::arrow(sheet, "force-missing", Kind::Missing, scene.harness, to);
        let block = Block::new(vec![vec![bold("missing", Ink::Bad)]]);
        let spots = along(scene.harness, to, &[0.8, 0.5, 1.0], &block, None);
        wish(sheet, "missing", block, to, spots);
    }
    longest
}

fn wish(
    sheet: &mut Sheet,
    name: &str,
    block: Block,
    target: Point,
    spots: Vec<super::label::Spot>,
) {
    sheet.wish(Wish {
        name: name.to_owned(),
        block,
        target,
        spots,
        search: true,
    });
}

/// The bearing of a line in the plan, radians clockwise from the far side; `None` for one that hangs
/// straight.
fn bearing(facts: &LineFacts) -> Option<f64> {
    let d = facts.direction?;
    let level = Vec2::new(d.x, -d.y);
    (level.hypot() > LEVEL_SHARE * d.length()).then(|| angle_from_up(level))
}

/// Neighbours in the plan, clockwise: both lines, the bearing of the first, the turn to the second.
pub fn turns(facts: &[LineFacts]) -> Vec<(LineId, LineId, f64, f64)> {
    let mut lines: Vec<(f64, LineId)> = facts
        .iter()
        .filter_map(|f| Some((bearing(f)?, f.id)))
        .collect();
    lines.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let count = lines.len();
    if count < 2 {
        return Vec::new();
    }
    (0..count)
        .map(|i| {
            let (from, a) = lines[i];
            let (to, b) = lines[(i + 1) % count];
            let turn = if i + 1 < count {
                to - from
            } else {
                to + TAU - from
            };
            (a, b, from, turn)
        })
        .filter(|(.., turn)| *turn > SAME_BEARING)
        .collect()
}

fn draw_bearings(sheet: &mut Sheet, plan: &Scene<'_>, longest: f64) {
    let turns = turns(&plan.facts);
    let reach = turns
        .iter()
        .filter_map(|(a, ..)| {
            let stretches = plan.stretches(*a);
            let long =
                |s: &super::scene::Stretch| plan.frame.at(s.from).distance(plan.frame.at(s.to));
            stretches
                .iter()
                .filter(|s| s.at_climber)
                .map(long)
                .reduce(f64::max)
        })
        .fold(f64::INFINITY, f64::min);
    let radius = (longest + ARC_MM).max(LEAST_ARC_MM).min(reach - 3.0);
    if radius < 8.0 || turns.len() > 4 {
        return;
    }
    for (i, (_, _, from, turn)) in turns.iter().enumerate() {
        let arc = Arc {
            centre: plan.harness,
            radius,
            from: *from,
            to: from + turn,
        };
        arc.draw(sheet, Ink::Soft);
        sheet.wish(arc.label(&format!("bearing-{}", i + 1), ""));
    }
}

fn heading(sheet: &mut Sheet, at: Point, words: &str) {
    let text = still(at, Align::Start, vec![bold(words, Ink::Ink)]);
    sheet.letter(Layer::Label, text);
}

/// An arrow up the sheet at the left under the plan: where the elevation is seen from.
fn from_here(sheet: &mut Sheet, low: f64) {
    let foot = Point::new(EDGE_MM + 3.0, low);
    let tip = foot - Vec2::new(0.0, 7.0);
    let stroke = Stroke::solid(Ink::Ink, 0.35).cap(Cap::Butt);
    sheet.add(Layer::Key, line(foot, tip, stroke));
    sheet.add(
        Layer::Key,
        arrows::thin_head(tip, Vec2::new(0.0, -1.0), Ink::Ink),
    );
    sheet.block(Cover::Never, Outline::segment(foot, tip, 0.8));
    let at = foot + Vec2::new(2.4, -1.2);
    let words = vec![plain("elevation seen from here", Ink::Soft)];
    sheet.letter(Layer::Key, still(at, Align::Start, words));
}

/// The table of true values; returns its lower edge.
fn table(sheet: &mut Sheet, scene: &Scene<'_>, corner: Point, wide: f64) -> f64 {
    let units = scene.style.units;
    let wide = wide.min(WIDEST_MM);
    let right = corner.x + wide;
    let pulls_at = right - ANGLE_MM;
    let mut base = corner.y;
    heading(sheet, Point::new(corner.x, base), "True values");
    let rule = base + 2.2;
    let ends = [Point::new(corner.x, rule), Point::new(right, rule)];
    sheet.add(
        Layer::Key,
        line(ends[0], ends[1], Stroke::solid(Ink::Ink, 0.35)),
    );
    base += LEADING_MM + 2.2;
    let mut put = |x: f64, base: f64, align: Align, runs: Vec<Run>| {
        sheet.letter(Layer::Key, still(Point::new(x, base), align, runs));
    };
    put(pulls_at, base, Align::End, vec![plain("pull", Ink::Soft)]);
    put(right, base, Align::End, vec![plain("angle", Ink::Soft)]);
    base += LEADING_MM + 0.4;
    let mut samples: Vec<Item> = Vec::new();
    for facts in &scene.facts {
        let name = vec![bold(facts.name.clone(), Ink::line(facts.id.0))];
        let pull = facts.on_climber_n.map(DVec3::length).or(facts.pull_n);
        let pull = match (facts.is_unbounded(), pull) {
            (true, _) => facts.pull_text(units),
            (false, Some(n)) => Some(force(n, units)),
            (false, None) => None,
        };
        let pull = vec![bold(
            pull.unwrap_or_else(|| "\u{2013}".to_owned()),
            Ink::Ink,
        )];
        // A name that leaves no room for its values has a row to itself.
        let meets = width(&name, SIZE_MM) + 1.5 > wide - ANGLE_MM - width(&pull, SIZE_MM);
        for runs in broken(&name, if meets { wide } else { f64::INFINITY }) {
            put(corner.x, base, Align::Start, runs);
            base += LEADING_MM;
        }
        if !meets {
            base -= LEADING_MM;
        }
        put(pulls_at, base, Align::End, pull);
        let angle = evaluate(scene.rig, scene.solved, ValuePath::Angle(facts.id));
        if let Some(Quantity::Angle(angle)) = angle {
            put(
                right,
                base,
                Align::End,
                vec![plain(degrees_text(angle), Ink::Ink)],
            );
        }
        base += LEADING_MM;
        let parts = facts.legs.len().max(1);
        let shapes = rope::sample(Point::new(corner.x, base - 1.25), 9.0, parts, facts.id.0);
        samples.extend(shapes.into_iter().map(Item::Shape));
        let each = (facts.legs.len() > 1 && facts.legs_alike())
            .then(|| facts.leg_pulls_n.first())
            .flatten()
            .map(|n| format!("{} \u{d7} {}", facts.legs.len(), force(*n, units)));
        if let Some(more) = each.or_else(|| facts.range_text(units)) {
            put(pulls_at, base, Align::End, vec![plain(more, Ink::Soft)]);
        }
        base += LEADING_MM + 2.0;
    }
    if let Some(push) = scene.solved.push_needed_n {
        let name = vec![bold("missing", Ink::Bad)];
        let pull = vec![bold(force(push.length(), units), Ink::Ink)];
        let meets = width(&name, SIZE_MM) + 1.5 > pulls_at - corner.x - width(&pull, SIZE_MM);
        put(corner.x, base, Align::Start, name);
        if meets {
            base += LEADING_MM;
        }
        put(pulls_at, base, Align::End, pull);
        base += LEADING_MM + 2.0;
    }
    base += 1.0;
    let note = "Angle: true, from the vertical. The views show lines and pulls shortened. \
                Arcs in the plan: from line to line, seen from above.";
    let over = turns(&scene.facts).iter().any(|(.., turn)| *turn > PI);
    let more = "One is over 180\u{b0}: on that side nothing pulls.";
    for words in [Some(note), over.then_some(more)].into_iter().flatten() {
        for runs in broken(&[plain(words, Ink::Soft)], wide) {
            put(corner.x, base, Align::Start, runs);
            base += LEADING_MM;
        }
    }
    sheet.extend(Layer::Key, samples);
    base
}

/// The sign of first-angle projection (ISO 5456-2): a cone cut off, seen from the side, and at its
/// right as it is seen from the left. `at` is the middle of the cone.
fn first_angle(sheet: &mut Sheet, at: Point) {
    let (long, narrow, wide) = (4.6, 2.4, 4.2);
    let p = |x: f64, y: f64| at + Vec2::new(x, y);
    let cone = polygon(&[
        p(-long, -narrow),
        p(long, -wide),
        p(long, wide),
        p(-long, narrow),
    ]);
    let centre = at + Vec2::new(13.0, 0.0);
    let ink = Stroke::solid(Ink::Ink, 0.35);
    for path in [cone, circle_path(centre, narrow), circle_path(centre, wide)] {
        sheet.add(Layer::Key, Shape::stroked(path, ink.clone()));
    }
    let axis = Stroke::dashed(Ink::Soft, 0.18, &AXIS_DASH);
    let over = wide + 1.6;
    let mut path = BezPath::new();
    path.move_to(p(-long - 1.6, 0.0));
    path.line_to(centre + Vec2::new(over, 0.0));
    path.move_to(centre - Vec2::new(0.0, over));
    path.line_to(centre + Vec2::new(0.0, over));
    sheet.add(Layer::Key, Shape::stroked(path, axis));
    let bounds = Rect::new(at.x - long, at.y - over, centre.x + over, at.y + over);
    sheet.block(Cover::Never, Outline::Box(bounds));
    let words = vec![plain("first angle", Ink::Soft)];
    let base = p(-long, wide + 5.2);
    sheet.letter(Layer::Key, still(base, Align::Start, words));
}

/// Scales and signs under the views; returns the sheet's height.
fn rail(sheet: &mut Sheet, scene: &Scene<'_>, scale: f64, top: f64) -> f64 {
    let whole = scene.style.width_mm;
    let rule = top + 2.0;
    let ends = [EDGE_MM, whole - EDGE_MM].map(|x| Point::new(x, rule));
    sheet.add(
        Layer::Key,
        line(ends[0], ends[1], Stroke::solid(Ink::Ink, 0.35)),
    );
    let first = rule + 5.0;
    let left = EDGE_MM + 0.8;
    length_bar(scene.frame.scale, scene.style.units).draw(sheet, Point::new(left, first));
    let forces = force_bar(scale, scene.style.units, "Force scale");
    let second = left + 50.0_f64.min(0.46 * whole);
    let second = second.min(whole - EDGE_MM - forces.width());
    forces.draw(sheet, Point::new(second, first));
    let mut entries = Vec::new();
    if scene.solved.holds {
        entries.push(Entry::new(
            arrow_symbol(Kind::AnyPull),
            "pull on the climber",
        ));
    } else {
        entries.push(Entry::new(
            arrow_symbol(Kind::Missing),
            "force that is missing",
        ));
    }
    let end_on = marks::into_sheet(Point::new(super::key::SYMBOL_MM / 2.0, 0.0));
    let end_on = end_on.into_iter().map(Item::Shape).collect();
    entries.push(Entry::new(end_on, "weight, seen end-on"));
    let aside = whole >= ASIDE_MM;
    let (x, mut y) = if aside {
        (second + 52.0, first - 0.4)
    } else {
        (left, first + 12.0)
    };
    for entry in entries {
        for item in entry.symbol {
            sheet.add(Layer::Key, moved(item, Vec2::new(x, y), ""));
        }
        let at = Point::new(x + super::key::SYMBOL_MM + 2.2, y + 1.25);
        sheet.letter(Layer::Key, still(at, Align::Start, entry.words));
        y += 5.4;
    }
    (first + 10.0).max(y - 1.5)
}

/// The scale bar of lengths: four round parts. `scale` in mm for a metre.
fn length_bar(scale: f64, units: Units) -> Scale {
    let (unit_m, word) = match units {
        Units::Metric => (1.0, "m"),
        Units::Imperial => (M_PER_FT, "ft"),
    };
    let mm = scale * unit_m;
    let rounds = [0.4, 0.8, 1.0, 2.0, 4.0, 8.0, 10.0, 20.0, 40.0, 80.0];
    let mut from_long = rounds.into_iter().rev();
    let whole = from_long
        .find(|w| w * mm <= LONGEST_BAR_MM)
        .unwrap_or(rounds[0]);
    let decimals = u8::from(whole < 2.0);
    Scale {
        title: "Length".to_owned(),
        length_mm: whole * mm,
        numbers: [0.0, whole / 2.0, whole].map(|v| {
            if v == 0.0 {
                "0".to_owned()
            } else {
                number_text(v, decimals.into())
            }
        }),
        unit: word.to_owned(),
    }
}
