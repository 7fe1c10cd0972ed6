//! The `pulls` figure: what each line pulls on the climber, what each point carries, the angles.
//!
//! ```text
//! Scene ─arrows, arcs, labels, key→ Composed
//! ```
//!
//! Over 500 lines: every mark of this one figure is placed in one order, and a label placed early moves the later ones.

use glam::DVec3;
use kurbo::{Point, Vec2};

use super::angles::{Arc, angle_from_up, axis};
use super::arrows::{self, Kind};
use super::facts::{LineFacts, SLACK_N, force, length, spaced};
use super::key::{self, Entry, SYMBOL_MM, Scale};
use super::label::{Spot, Wish, beside};
use super::scene::{Room, Scene, Stretch};
use super::shape::{Ink, Item};
use super::sheet::Sheet;
use super::text::{Align, Block, bold, plain};
use super::{Composed, Detail, Style, describe, many, rope};
use crate::quantity::{Quantity, Units, number_text, quantity_text};
use crate::rig::{Pass, Rig, Space};
use crate::statics::Solved;

/// From an arrow or a rope to the text beside it, mm.
const BESIDE_MM: f64 = 1.6;

/// A load this near to its rope's direction is drawn beside the rope, radians (12°).
const ALONG_RAD: f64 = 12.0 * std::f64::consts::PI / 180.0;
/// How far beside, mm.
const ASIDE_MM: f64 = 4.2;
/// Room beside a load that its label needs, mm.
const LETTERING_MM: f64 = 9.0;
/// A load starts this far along, mm, clear of the point's mark.
const START_MM: f64 = 2.0;

/// Longest arrow of the weight, mm, on a sheet 160 mm wide.
const WEIGHT_MM: f64 = 35.0;

/// Scales of forces, mm/kN.
const SCALES: [f64; 10] = [1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0];

/// An arrow is at most this share of the rope that it lies along, as long as the weight keeps the
/// second share of its longest arrow.
const ROPE_SHARE: f64 = 0.75;
const LEAST_SHARE: f64 = 0.45;

/// From the longest pull to the arcs of angles, and from those to the spread, mm.
const ARC_MM: f64 = 5.0;
const SPREAD_MM: f64 = 9.0;
/// From one arc to the next where two lines lean the same way, mm.
const STAGGER_MM: f64 = 7.0;
/// Smallest arc, mm.
const LEAST_ARC_MM: f64 = 20.0;

/// From this scale on (mm for a metre: 25 mm tall) a climber reads under the arrows; a smaller one
/// is drawn over their shafts.
const READS_MM_PER_M: f64 = 14.3;

/// Lines whose angles a drawing can show without becoming a thicket.
const MOST_ANGLES: usize = 3;

/// The round scale (mm/kN) that makes the weight's arrow up to 35 mm long on a sheet of 160 mm, and
/// proportionally shorter on a narrow one.
///
/// - `most`: least mm/kN at which an arrow would outgrow its rope; the weight keeps at least half of
///   its length.
pub fn force_scale(weight_n: f64, width_mm: f64, most: f64) -> f64 {
    let shrink = (width_mm / 160.0).clamp(0.7, 1.0);
    let largest = WEIGHT_MM * shrink / (weight_n / 1000.0);
    let wanted = largest.min(most).max(LEAST_SHARE * largest);
    let mut scales = SCALES.into_iter().rev();
    scales.find(|s| *s <= wanted).unwrap_or(SCALES[0])
}

/// The scale (mm/kN) at which the first arrow outgrows the rope that it lies along.
pub fn outgrowing(scene: &Scene<'_>) -> f64 {
    let mm = |s: &Stretch| scene.frame.at(s.from).distance(scene.frame.at(s.to));
    let mut most = f64::INFINITY;
    for facts in &scene.facts {
        for stretch in scene.stretches(facts.id) {
            let pulls = if stretch.at_climber {
                facts.on_climber_n.map(DVec3::length)
            } else {
                facts.pull_n
            };
            if let Some(pull) = pulls.filter(|n| *n > SLACK_N) {
                most = most.min(ROPE_SHARE * mm(&stretch) / (pull / 1000.0));
            }
        }
    }
    most
}

/// Composes the figure.
pub fn compose(rig: &Rig, solved: &Solved, style: Style) -> Composed {
    if rig.lines.len() >= many::PANELS_FROM {
        return many::panels(rig, solved, style);
    }
    let scene = Scene::lay(rig, solved, style, &[], Room::of(style, 0.0));
    let scale = force_scale(solved.weight_n, style.width_mm, outgrowing(&scene));
    let weight_mm = scale * solved.weight_n / 1000.0;
    let below = weight_mm.max(feet_below_mm(&scene, scale)) + 6.0;
    let scene = Scene::lay(rig, solved, style, &[], Room::of(style, below));
    let mut sheet = Sheet::default();
    scene.draw_tree(&mut sheet);
    scene.draw_ropes(&mut sheet);
    let mut figure = Pulls {
        scene,
        sheet,
        scale,
        on_climber: Vec::new(),
    };
    let asked = figure.scene.asked_at(solved.climber_at, false);
    let small = figure.scene.frame.scale < READS_MM_PER_M;
    if !small {
        figure.scene.draw_climber(&mut figure.sheet, &asked);
    }
    figure.draw_weight(weight_mm);
    let longest = figure.draw_pulls();
    figure.draw_feet();
    figure.draw_missing();
    if small {
        figure.scene.draw_climber_over(&mut figure.sheet, &asked);
        for (kind, from, to) in &figure.on_climber {
            arrows::head_again(&mut figure.sheet, *kind, *from, *to);
        }
    }
    if style.detail != Detail::Small {
        figure.draw_loads();
        if rig.space == Space::Planar {
            figure.draw_angles(longest);
        }
    }
    figure.scene.draw_marks(&mut figure.sheet);
    figure.finish()
}

struct Pulls<'a> {
    scene: Scene<'a>,
    sheet: Sheet,
    /// mm/kN.
    scale: f64,
    /// Arrows of forces on the climber: kind, tail, tip.
    on_climber: Vec<(Kind, Point, Point)>,
}

/// How far below the harness point the tail of the feet's push lies, mm.
fn feet_below_mm(scene: &Scene<'_>, scale: f64) -> f64 {
    let (Some(feet), Some(push)) = (&scene.rig.feet, scene.solved.feet_push_n) else {
        return 0.0;
    };
    let tail = scene.frame.at(feet.at) - scene.frame.direction(push) * (scale / 1000.0);
    tail.y - scene.harness.y
}

impl Pulls<'_> {
    fn units(&self) -> Units {
        self.scene.style.units
    }

    /// Whether the values stand in a table under the drawing.
    fn has_table(&self) -> bool {
        self.scene.style.detail == Detail::Full && self.scene.facts.len() >= many::TABLE_FROM
    }

    /// A force as a vector on the sheet, mm.
    fn vector(&self, force_n: DVec3) -> Vec2 {
        self.scene.frame.direction(force_n) * (self.scale / 1000.0)
    }

    /// An arrow that starts in the climber.
    fn force(&mut self, id: &str, kind: Kind, from: Point, to: Point) {
        arrows::arrow(&mut self.sheet, id, kind, from, to);
        self.on_climber.push((kind, from, to));
    }

    fn draw_weight(&mut self, weight_mm: f64) {
        let from = self.scene.harness;
        let to = from + Vec2::new(0.0, weight_mm);
        self.force("force-weight", Kind::Weight, from, to);
        let block = Block::new(vec![
            vec![bold("weight", Ink::Ink)],
            vec![bold(
                force(self.scene.solved.weight_n, self.units()),
                Ink::Ink,
            )],
        ]);
        if self.scene.style.detail == Detail::Small {
            return;
        }
        let spots = along(from, to, &[0.92, 0.8, 0.65, 0.5], &block, None);
        self.wish("weight", block, from.midpoint(to), spots);
    }

    /// Arrows of the lines on the climber; returns the longest, mm.
    fn draw_pulls(&mut self) -> f64 {
        let mut longest: f64 = 0.0;
        for facts in self.scene.facts.clone() {
            let mut arrow_mm = 0.0;
            if let Some(pull) = facts.on_climber_n.filter(|v| v.length() > SLACK_N) {
                let from = self.scene.harness;
                let vector = self.vector(pull);
                let to = from + vector;
                arrow_mm = vector.hypot();
                longest = longest.max(arrow_mm);
                let name = format!("force-{}", self.scene.rig.line(facts.id).name);
                self.force(&name, Kind::Pull(facts.id.0), from, to);
            }
            self.wish_line(&facts, arrow_mm);
        }
        longest
    }

    /// The label of a line: name and legs, pull, range.
    fn wish_line(&mut self, facts: &LineFacts, arrow_mm: f64) {
        let block = Block::new(match self.scene.style.detail {
            Detail::Small => small_words(facts, self.units()),
            Detail::Full if self.has_table() => {
                vec![vec![bold(facts.name.clone(), Ink::line(facts.id.0))]]
            }
            _ => line_words(facts, self.units(), self.scene.solved.holds),
        });
        let Some((target, spots)) = line_name_spots(&self.scene, facts, arrow_mm, &block) else {
            return;
        };
        let name = self.scene.rig.line(facts.id).name.clone();
        self.wish(&name, block, target, spots);
    }

    fn draw_feet(&mut self) {
        let Some(push) = self
            .scene
            .solved
            .feet_push_n
            .filter(|v| v.length() > SLACK_N)
        else {
            return;
        };
        let Some(feet) = &self.scene.rig.feet else {
            return;
        };
        // Its tip at the soles, so that the legs stay in sight, and clear of the weight's arrow.
        let vector = self.vector(push);
        let sole = self.scene.frame.at(feet.at);
        let beside = sole.x - self.scene.harness.x;
        let away = if beside > 0.0 { 1.0 } else { -1.0 };
        let upright = vector.y.abs() > vector.x.abs() && beside.abs() < ASIDE_MM;
        let shift = if upright {
            away * (ASIDE_MM - beside.abs())
        } else {
            0.0
        };
        let to = sole + Vec2::new(shift, 0.0);
        let from = to - vector;
        arrows::arrow(&mut self.sheet, "force-feet", Kind::Weight, from, to);
        let block = Block::new(vec![
            vec![bold("push of the feet", Ink::Ink)],
            vec![bold(force(push.length(), self.units()), Ink::Ink)],
        ]);
        let spots = along(from, to, &[0.5, 0.7, 0.3], &block, None);
        self.wish("feet", block, from.midpoint(to), spots);
    }

    fn draw_missing(&mut self) {
        let Some(push) = self.scene.solved.push_needed_n else {
            return;
        };
        let from = self.scene.harness;
        let to = from + self.vector(push);
        self.force("force-missing", Kind::Missing, from, to);
        let missing = force(push.length(), self.units());
        let block = Block::new(vec![
            vec![bold("cannot hold", Ink::Bad)],
            vec![plain("missing ", Ink::Ink), bold(missing, Ink::Ink)],
        ]);
        let spots = along(from, to, &[0.8, 0.5, 1.0], &block, None);
        self.wish("missing", block, from.midpoint(to), spots);
    }

    /// Loads on the fixed points.
    fn draw_loads(&mut self) {
        for (i, answer) in self.scene.solved.points.iter().enumerate() {
            let point = &self.scene.rig.points[i];
            let Some(load) = answer.load_n.filter(|v| v.length() > SLACK_N) else {
                continue;
            };
            if point.hangs {
                continue;
            }
            let at = self.scene.frame.at(answer.at);
            let vector = self.vector(load);
            let length = vector.hypot();
            if length < 1.0 {
                continue;
            }
            let way = vector / length;
            let (from, to) = self.beside_rope(i, at, way, length);
            let line = self.only_line_at(i);
            let id = format!("force-on-{}", point.name);
            arrows::arrow(&mut self.sheet, &id, Kind::Load(line), from, to);
            let ink = line.map_or(Ink::Ink, Ink::line);
            let name = plain(format!("on {}", spaced(&point.name)), ink);
            let value = bold(force(load.length(), self.units()), Ink::Ink);
            let tall = Block::new(vec![vec![name.clone()], vec![value.clone()]]);
            let space = plain(" ", Ink::Ink);
            let flat = Block::new(vec![vec![name, space, value]]);
            let out = from - at;
            let side = (out.hypot() > 2.5).then(|| {
                let normal = Vec2::new(-way.y, way.x);
                if normal.dot(out) < 0.0 {
                    -normal
                } else {
                    normal
                }
            });
            let steep = way.y.abs() > 0.85;
            let block = if steep { tall } else { flat };
            let spots = along(from, to, &[0.5, 0.65, 0.35, 0.8, 0.2], &block, side);
            self.wish(
                &format!("on-{}", point.name),
                block,
                from.midpoint(to),
                spots,
            );
        }
    }

    /// Where a load's arrow runs: from its point, or beside a rope that runs the same way.
    fn beside_rope(&self, point: usize, at: Point, way: Vec2, length: f64) -> (Point, Point) {
        let ropes: Vec<Vec2> = self
            .scene
            .solved
            .spans
            .iter()
            .flat_map(|s| [(s.from, s.from_at, s.to_at), (s.to, s.to_at, s.from_at)])
            .filter(|(node, ..)| matches!(node, crate::rig::Node::Point(id) if id.0 == point))
            .map(|(_, here, there)| self.scene.sheet_direction(there - here))
            .collect();
        let along_rope = ropes
            .iter()
            .find(|rope| rope.cross(way).abs() < libm::sin(ALONG_RAD) && rope.dot(way) > 0.0);
        let Some(rope) = along_rope else {
            let from = at + way * START_MM;
            return (from, from + way * length);
        };
        let side = Vec2::new(-rope.y, rope.x);
        // The side with more room: away from the other ropes here, else away from the harness's axis.
        let middle = at + way * (length / 2.0);
        let centre = self.scene.field.center();
        let others: f64 = ropes.iter().map(|r| r.dot(side)).sum();
        let outwards = if others.abs() > 0.1 {
            -others
        } else if (middle.x - self.scene.harness.x).abs() > 4.0 {
            side.x * (middle.x - self.scene.harness.x)
        } else {
            side.x * (middle.x - centre.x)
        };
        // A stem or limb just outside would be covered: then the inner side.
        let sign = if outwards < 0.0 { -1.0 } else { 1.0 };
        let covered = |sign: f64| {
            let steps = [0.0, 0.33, 0.67, 1.0].map(|share| ASIDE_MM + share * LETTERING_MM);
            steps
                .iter()
                .any(|r| self.wood_at(middle + side * (sign * r)))
        };
        let sign = if covered(sign) && !covered(-sign) {
            -sign
        } else {
            sign
        };
        let from = at + side * (sign * ASIDE_MM) + way * START_MM;
        (from, from + way * length)
    }

    fn wood_at(&self, place: Point) -> bool {
        let frame = &self.scene.frame;
        let at = (place - frame.origin) / frame.scale;
        let place = DVec3::new(at.x, 0.0, -at.y);
        let margin_m = 1.5 / frame.scale;
        let pieces = &self.scene.rig.tree.pieces;
        pieces.iter().any(|p| p.depth_m(place) > -margin_m)
    }

    /// The line that alone loads a point.
    fn only_line_at(&self, point: usize) -> Option<usize> {
        let mut lines: Vec<usize> = self
            .scene
            .solved
            .spans
            .iter()
            .filter(|s| {
                let here = |node| matches!(node, crate::rig::Node::Point(id) if id.0 == point);
                here(s.from) || here(s.to)
            })
            .map(|s| s.line.0)
            .collect();
        lines.dedup();
        match lines[..] {
            [only] => Some(only),
            _ => None,
        }
    }

    /// Arcs from the vertical, one a line, and the spread of two lines.
    fn draw_angles(&mut self, longest: f64) {
        let mut lines: Vec<(f64, f64, usize)> = Vec::new();
        for facts in &self.scene.facts {
            let Some(direction) = facts.direction else {
                continue;
            };
            let angle = angle_from_up(self.scene.sheet_direction(direction));
            let reach = self
                .scene
                .stretches(facts.id)
                .iter()
                .filter(|s| s.at_climber)
                .map(|s| s.from.distance(s.to) * self.scene.frame.scale)
                .fold(0.0, f64::max);
            lines.push((angle, reach, facts.id.0));
        }
        let steep_enough = |a: f64| a.abs() > 0.02 && a.abs() < 2.0;
        lines.retain(|(a, ..)| steep_enough(*a));
        if lines.is_empty() || lines.len() > MOST_ANGLES {
            return;
        }
        let base = (longest + ARC_MM).max(LEAST_ARC_MM);
        lines.sort_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
        let mut sides = [0_usize; 2];
        let mut top: f64 = base;
        let harness = self.scene.harness;
        for (angle, reach, index) in &lines {
            let side = usize::from(*angle > 0.0);
            let radius = base + STAGGER_MM * sides[side] as f64;
            let radius = radius.min(reach - 4.0);
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
            arc.draw(&mut self.sheet, Ink::Soft);
            let name = self.scene.rig.lines[*index].name.clone();
            self.sheet.wish(arc.label(&name, ""));
        }
        if sides[0] + sides[1] == 0 {
            return;
        }
        let mut high = top + 5.5;
        if let [(a, ra, _), (b, rb, _)] = lines[..] {
            let radius = top + SPREAD_MM;
            if radius < ra.min(rb) - 4.0 && a * b < 0.0 {
                let arc = Arc {
                    centre: harness,
                    radius,
                    from: a.min(b),
                    to: a.max(b),
                };
                arc.draw(&mut self.sheet, Ink::Soft);
                self.sheet.wish(arc.label("spread", "spread "));
                high = radius - 3.0;
            }
        }
        let high = high.min(harness.y - 2.0);
        let head = super::frame::CLIMBER_M.2 * self.scene.frame.scale + 1.5;
        if high > head + 4.0 {
            axis(&mut self.sheet, harness, head, high);
        }
    }

    fn wish(&mut self, name: &str, block: Block, target: Point, spots: Vec<Spot>) {
        self.sheet.wish(Wish {
            name: name.to_owned(),
            block,
            target,
            spots,
            search: true,
        });
    }

    /// Places the labels, lays the key, and says it all in words.
    fn finish(mut self) -> Composed {
        let left_out = self.sheet.settle(self.scene.field, Ink::Paper);
        let rig = self.scene.rig;
        let has_table = self.has_table();
        let mut entries = if has_table {
            Vec::new()
        } else {
            line_entries(rig, &self.scene.facts, self.units())
        };
        let mass = quantity_text(Quantity::Mass(rig.climber.nominal_mass_kg()), self.units());
        let weight = format!("weight, {mass} with kit");
        entries.push(Entry::new(arrow_symbol(Kind::Weight), weight));
        let holds = self.scene.solved.holds;
        if holds {
            entries.push(Entry::new(grey_arrow(false), "pull on the climber"));
            entries.push(Entry::new(grey_arrow(true), "load on a point"));
        } else {
            entries.push(Entry::new(
                arrow_symbol(Kind::Missing),
                "force that is missing",
            ));
        }
        if self
            .scene
            .facts
            .iter()
            .any(|f| f.range_text(self.units()).is_some())
        {
            let words = range_words(rig);
            entries.push(Entry::note(if has_table {
                words
                    .replace("(\u{2026}) ", "range: ")
                    .replace(": range", ":")
            } else {
                words.to_owned()
            }));
        }
        for wish in &left_out {
            entries.push(Entry::note(wish.block.words()));
        }
        let scale = force_bar(self.scale, self.units(), "Force scale");
        let mut top = self.scene.field.y1;
        if has_table {
            top = many::table(&mut self.sheet, &self.scene, top);
        }
        let height = match self.scene.style.detail {
            Detail::Full => key::lay(
                &mut self.sheet,
                &entries,
                Some(&scale),
                top,
                self.scene.style.width_mm,
            ),
            _ => top,
        };
        Composed {
            sheet: self.sheet,
            title: format!("{}: pulls", rig.title),
            description: describe::pulls(&self.scene),
            size_mm: (self.scene.style.width_mm, height),
        }
    }
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

/// What the range in brackets stands for: friction, or how tight each of several lines is set.
fn range_words(rig: &Rig) -> &'static str {
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
fn small_words(facts: &LineFacts, units: Units) -> Vec<Vec<super::text::Run>> {
    let ink = Ink::line(facts.id.0);
    let words = facts
        .on_climber_n
        .map_or_else(|| facts.name.clone(), |pull| force(pull.length(), units));
    vec![vec![bold(words, ink)]]
}

/// Name and legs; pull; range.
pub fn line_words(facts: &LineFacts, units: Units, holds: bool) -> Vec<Vec<super::text::Run>> {
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

/// A force as a bare number in the pack's unit.
pub fn number(newtons: f64, units: Units) -> String {
    let text = force(newtons, units);
    text.split('\u{a0}').next().unwrap_or_default().to_owned()
}

/// Unit of forces.
pub const fn unit_word(units: Units) -> &'static str {
    match units {
        Units::Metric => "kN",
        Units::Imperial => "lbf",
    }
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

/// An arrow as a symbol of the key.
pub fn arrow_symbol(kind: Kind) -> Vec<Item> {
    let mut sheet = Sheet::default();
    let to = Point::new(SYMBOL_MM, 0.0);
    arrows::arrow(&mut sheet, "", kind, Point::ORIGIN, to);
    unnamed(&sheet)
}

/// A pull or load in grey: any line's.
fn grey_arrow(load: bool) -> Vec<Item> {
    let kind = if load { Kind::AnyLoad } else { Kind::AnyPull };
    arrow_symbol(kind)
}

fn unnamed(sheet: &Sheet) -> Vec<Item> {
    let mut all = Vec::new();
    for (_, items) in sheet.layers() {
        for item in items {
            match item {
                Item::Group { items, .. } => all.extend(items.clone()),
                other => all.push(other.clone()),
            }
        }
    }
    all
}

/// Longest scale bar, mm.
const LONGEST_BAR_MM: f64 = 34.0;

/// The scale bar of forces: four round parts.
///
/// - `scale`: mm/kN.
pub fn force_bar(scale: f64, units: Units, title: &str) -> Scale {
    let mm_per_unit = match units {
        Units::Metric => scale,
        Units::Imperial => scale * crate::quantity::N_PER_LBF / 1000.0,
    };
    let rounds = [
        0.04, 0.08, 0.1, 0.2, 0.4, 0.8, 1.0, 2.0, 4.0, 8.0, 10.0, 20.0, 40.0, 80.0, 100.0, 200.0,
        400.0, 800.0, 1000.0, 2000.0,
    ];
    let whole = rounds
        .into_iter()
        .rev()
        .find(|w| w * mm_per_unit <= LONGEST_BAR_MM)
        .unwrap_or(rounds[0]);
    let decimals = if whole < 0.1 {
        2
    } else if whole < 2.0 {
        1
    } else {
        0
    };
    Scale {
        title: title.to_owned(),
        length_mm: whole * mm_per_unit,
        numbers: [0.0, whole / 2.0, whole].map(|v| {
            if v == 0.0 {
                "0".to_owned()
            } else {
                number_text(v, decimals)
            }
        }),
        unit: unit_word(units).to_owned(),
    }
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
    let mut spots = Vec::new();
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
