//! Angles at the harness point: arcs from the vertical, the spread between two lines, the axis.

use kurbo::{BezPath, Point, Shape as _, Vec2};

use super::arrows::{THIN_HEAD_MM, thin_head};
use super::frame::CLIMBER_M;
use super::hit::Outline;
use super::label::{Cover, Spot, Wish};
use super::scene::Scene;
use super::shape::{Cap, Ink, Item, Layer, Shape, Stroke};
use super::sheet::{Sheet, line};
use super::text::{Align, Block, plain};
use crate::quantity::degrees_text;

/// Stroke of arcs and axes, mm.
const THIN_MM: f64 = 0.25;
/// From the longest pull to the arcs of angles, and from those to the spread, mm.
const ARC_MM: f64 = 5.0;
const SPREAD_MM: f64 = 9.0;
/// Where the sheet ends nearer: least that the spread lies beyond the arcs, and from the edge, mm.
const LEAST_SPREAD_MM: f64 = 5.0;
const EDGE_MM: f64 = 2.0;
/// Least from a line's far end to an arc on it, and from the longest pull to the arcs, mm.
const PAST_ARC_MM: f64 = 4.0;
const LEAST_PAST_MM: f64 = 1.5;
/// From one arc to the next where two lines lean the same way, mm.
const STAGGER_MM: f64 = 7.0;
/// Smallest arc, mm.
const LEAST_ARC_MM: f64 = 20.0;
/// Lines whose angles a drawing can show without becoming a thicket.
const MOST_ANGLES: usize = 3;
/// Pattern of the vertical axis, mm.
pub const AXIS_DASH: [f64; 4] = [5.0, 1.0, 0.8, 1.0];
/// An angle under this is lettered outside its arc, radians (12°).
const NARROW_RAD: f64 = 12.0 * std::f64::consts::PI / 180.0;
/// Name of the arc between two lines, and of its label.
pub const SPREAD: &str = "angle-spread";
/// From the middle of an angle's text to its arc, mm.
const INSIDE_MM: f64 = 4.4;

/// Unit vector on the sheet at an angle from straight up, clockwise positive, radians.
pub fn from_up(angle: f64) -> Vec2 {
    Vec2::new(libm::sin(angle), -libm::cos(angle))
}

/// Angle of a sheet vector from straight up, clockwise positive, radians in −π..=π.
pub fn angle_from_up(v: Vec2) -> f64 {
    libm::atan2(v.x, -v.y)
}

/// An arc between two directions from `centre`, a head at each end.
#[derive(Debug, Clone, Copy)]
pub struct Arc {
    /// Where both directions start.
    pub centre: Point,
    /// Radius, mm.
    pub radius: f64,
    /// First direction, radians from up, clockwise.
    pub from: f64,
    /// Second direction, greater than the first.
    pub to: f64,
}

impl Arc {
    /// Draws it and says what labels pay for covering it.
    pub fn draw(&self, sheet: &mut Sheet, ink: Ink) {
        let items = self.items(sheet, ink);
        sheet.extend(Layer::Angle, items);
    }

    /// What it is drawn with. Says what labels pay for covering it.
    fn items(&self, sheet: &mut Sheet, ink: Ink) -> Vec<Item> {
        let at = |angle: f64| self.centre + from_up(angle) * self.radius;
        let arc = kurbo::Arc::new(
            self.centre,
            (self.radius, self.radius),
            self.from - std::f64::consts::FRAC_PI_2,
            self.to - self.from,
            0.0,
        );
        let path: BezPath = arc.to_path(0.01);
        for outline in Outline::of_stroked_path(&path, THIN_MM / 2.0) {
            sheet.block(Cover::Thin, outline);
        }
        let stroke = Stroke::solid(ink, THIN_MM).cap(Cap::Butt);
        let mut items = vec![Shape::stroked(path, stroke).into()];
        // Heads lie along the chord of their own length, and are left out where they would meet.
        let turn = THIN_HEAD_MM.0 / self.radius / 2.0;
        if self.to - self.from < 5.0 * turn {
            return items;
        }
        for (angle, way) in [(self.from, -1.0), (self.to, 1.0)] {
            let tangent = from_up(angle + std::f64::consts::FRAC_PI_2 - way * turn) * way;
            items.push(thin_head(at(angle), tangent, ink).into());
            let inner = at(angle - way * 2.0 * turn);
            sheet.block(Cover::Never, Outline::segment(at(angle), inner, 0.4));
        }
        items
    }

    /// The label of its angle: inside at its middle, outside where it is narrow.
    pub fn label(&self, name: &str, words: &str) -> Wish {
        let opening = self.to - self.from;
        let block = Block::new(vec![vec![plain(
            format!("{words}{}", degrees_text(opening)),
            Ink::Ink,
        )]]);
        let centred = |radius: f64, share: f64, cost: f64| {
            let middle = self.centre + from_up(self.from + opening * share) * radius;
            Spot {
                corner: middle - Vec2::new(block.width(), block.height()) / 2.0,
                align: Align::Middle,
                cost,
                leader: false,
                tie: None,
            }
        };
        let mut spots = Vec::new();
        let shares = [0.5, 0.42, 0.58, 0.34, 0.66, 0.25, 0.75];
        let inside = [INSIDE_MM, INSIDE_MM + 2.0, INSIDE_MM + 4.5];
        let on_arc = !words.is_empty();
        for (i, share) in shares.into_iter().enumerate() {
            let step = 0.4 * i as f64;
            if on_arc {
                spots.push(centred(self.radius, share, step));
                // Where the top of the arc is at the edge of the sheet: just under it.
                spots.push(centred(self.radius - INSIDE_MM, share, 0.9 + step));
                spots.push(centred(self.radius + 3.6, share, 1.5 + step));
            }
            if opening > NARROW_RAD {
                for (j, less) in inside.into_iter().enumerate() {
                    if self.radius > less + 4.0 && !on_arc {
                        let cost = step + 0.7 * j as f64;
                        spots.push(centred(self.radius - less, share, cost));
                    }
                }
            }
            spots.push(centred(self.radius + 3.2, share, 1.2 + step));
            spots.push(centred(self.radius + 6.0, share, 2.4 + step));
        }
        // Beyond the ends of an arc a label is still beside it only while the arc is short.
        let past: &[(f64, f64)] = match opening {
            narrow if narrow <= NARROW_RAD => &[(-0.35, 3.0), (1.35, 3.0), (-1.2, 4.0), (2.2, 4.0)],
            _ => &[(0.12, 3.0), (0.88, 3.0)],
        };
        for (share, cost) in past {
            spots.push(centred(self.radius + 3.6, *share, *cost));
        }
        Wish {
            name: format!("angle-{name}"),
            target: self.centre + from_up(self.from + opening / 2.0) * self.radius,
            block,
            spots,
            // What the table or the key says as well is not worth a leader across the drawing.
            search: !on_arc,
        }
    }
}

/// The vertical axis over a place, from `low` to `high` (mm above it).
pub fn axis(sheet: &mut Sheet, over: Point, low: f64, high: f64) {
    let (from, to) = (over - Vec2::new(0.0, low), over - Vec2::new(0.0, high));
    let stroke = Stroke::dashed(Ink::Soft, THIN_MM, &AXIS_DASH);
    sheet.add(Layer::Angle, line(from, to, stroke));
    sheet.block(Cover::Thin, Outline::segment(from, to, THIN_MM / 2.0));
}

/// Draws the arcs from the vertical, one a line, and the spread of two lines.
///
/// - `longest`: longest pull on the sheet, mm; the arcs lie beyond it.
pub fn draw_angles(sheet: &mut Sheet, scene: &Scene<'_>, longest: f64) {
    let mut lines: Vec<(f64, f64, usize)> = Vec::new();
    for facts in &scene.facts {
        let Some(direction) = facts.direction else {
            continue;
        };
        let angle = angle_from_up(scene.sheet_direction(direction));
        let reach = scene
            .stretches(facts.id)
            .iter()
            .filter(|s| s.at_climber)
            .map(|s| s.from.distance(s.to) * scene.frame.scale)
            .fold(0.0, f64::max);
        lines.push((angle, reach, facts.id.0));
    }
    let steep_enough = |a: f64| a.abs() > 0.02 && a.abs() < 2.0;
    lines.retain(|(a, ..)| steep_enough(*a));
    if lines.is_empty() || lines.len() > MOST_ANGLES {
        return;
    }
    let end = |reach: f64| reach - PAST_ARC_MM;
    // High on its sheet the angles come closer, so that the spread has room over them.
    let harness = scene.harness;
    let room = harness.y - scene.field.y0 - EDGE_MM;
    let base = (longest + ARC_MM).min(room - SPREAD_MM);
    // Nor do they take the room of the spread where the lines are short on the sheet.
    let base = match lines[..] {
        [(a, ra, _), (b, rb, _)] if a * b < 0.0 => {
            base.min((end(ra.min(rb)) - SPREAD_MM).max(longest + LEAST_PAST_MM))
        }
        _ => base,
    };
    let base = base.max(LEAST_ARC_MM);
    lines.sort_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
    let mut sides = [0_usize; 2];
    let mut top: f64 = base;
    for (angle, reach, index) in &lines {
        let side = usize::from(*angle > 0.0);
        let radius = base + STAGGER_MM * sides[side] as f64;
        let radius = radius.min(end(*reach));
        if radius < 9.0 {
            continue;
        }
        sides[side] += 1;
        top = top.max(radius);
        let arc = Arc {
            centre: harness,
            radius,
            from: angle.min(0.0),
            to: angle.max(0.0),
        };
        arc.draw(sheet, Ink::Soft);
        let name = scene.rig.lines[*index].name.clone();
        sheet.wish(arc.label(&name, ""));
    }
    if sides[0] + sides[1] == 0 {
        return;
    }
    let mut high = top + 5.5;
    if let [(a, ra, _), (b, rb, _)] = lines[..] {
        // Not over the upper edge of the sheet.
        let radius = (top + SPREAD_MM).min(room).min(end(ra.min(rb)));
        let clear = radius > top + LEAST_SPREAD_MM;
        if clear && a * b < 0.0 {
            let arc = Arc {
                centre: harness,
                radius,
                from: a.min(b),
                to: a.max(b),
            };
            let items = arc.items(sheet, Ink::Soft);
            sheet.add(Layer::Angle, Item::group(SPREAD, items));
            sheet.wish(arc.label("spread", "spread "));
            high = radius - 3.0;
        }
    }
    let high = high.min(harness.y - 2.0);
    let head = CLIMBER_M.2 * scene.frame.scale + 1.5;
    if high > head + 4.0 {
        axis(sheet, harness, head, high);
    }
}
