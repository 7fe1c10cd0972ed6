//! The `pulls` figure: what each line pulls on the climber, what each point carries, the angles.
//!
//! ```text
//! Scene ─arrows, arcs, labels, key→ Composed
//! ```

use glam::DVec3;
use kurbo::{Point, Vec2};

use super::angles::{SPREAD, draw_angles};
use super::arrows::{self, Kind};
use super::facts::{LineFacts, SLACK_N, force, spaced};
use super::forces::{
    arrow_symbol, force_bar, force_scale, grey_arrow, outgrowing, pulls_begin, runs_along,
};
use super::key::{self, Entry};
use super::label::{Spot, Wish};
use super::naming::{along, line_entries, line_name_spots, line_words, range_words, small_words};
use super::scene::{Room, Scene};
use super::shape::{Ink, Layer};
use super::sheet::Sheet;
use super::text::{Block, bold, plain};
use super::{Composed, Detail, Style, climber, describe, many};
use crate::quantity::{Quantity, Units, quantity_text};
use crate::rig::{Rig, Space};
use crate::statics::Solved;

/// How far beside, mm.
const ASIDE_MM: f64 = 4.2;
/// Room beside a load that its label needs, mm.
const LETTERING_MM: f64 = 9.0;
/// A load starts this far along, mm, clear of the point's mark.
const START_MM: f64 = 2.0;

/// A load is lettered in two lines, which stand narrow beside a steep arrow, from this fall of it on.
const STEEP: f64 = 0.75;

/// From the sheet's upper edge to the tip of an arrow, mm.
const TIP_MM: f64 = 1.5;

/// Under the end of the weight's arrow for its label, mm.
const END_MM: f64 = 6.0;

/// From this scale on (mm for a metre: 25 mm tall) a climber reads under the arrows; a smaller one
/// is drawn over their shafts.
const READS_MM_PER_M: f64 = 14.3;

/// Composes the figure.
pub fn compose(rig: &Rig, solved: &Solved, style: Style) -> Composed {
    if rig.lines.len() >= many::PANELS_FROM {
        return many::panels(rig, solved, style);
    }
    let scene = Scene::lay(rig, solved, style, &[], Room::of(style, 0.0));
    let most = outgrowing(&scene);
    let scale = force_scale(solved.weight_n, style.width_mm, style.detail, most);
    let weight_mm = scale * solved.weight_n / 1000.0;
    let end_mm = match style.detail {
        Detail::Small => 0.0,
        _ => END_MM,
    };
    let below = weight_mm.max(feet_below_mm(&scene, scale)) + end_mm;
    let scene = Scene::lay(rig, solved, style, &[], Room::of(style, below));
    let above = above_mm(&scene, scale);
    let scene = scene.lowered(above);
    let mut sheet = Sheet::default();
    scene.draw_tree(&mut sheet);
    scene.draw_ropes(&mut sheet);
    let mut figure = Pulls {
        scene,
        sheet,
        scale,
        begin: 0.0,
        on_climber: Vec::new(),
    };
    let asked = figure.scene.asked_at(solved.climber_at, false);
    let drawn = climber::climber(&asked);
    figure.begin = pulls_begin(&figure.scene, scale, drawn.head);
    let mut over = None;
    if figure.scene.frame.scale < READS_MM_PER_M {
        over = Some(drawn);
    } else {
        figure.scene.draw_climber(&mut figure.sheet, drawn);
    }
    figure.draw_weight(weight_mm);
    // Where room is scarce, the forces that make the lesson are lettered before the lines.
    let first = style.detail == Detail::Small;
    if first {
        figure.draw_feet();
        figure.draw_missing();
    }
    let longest = figure.draw_pulls();
    if !first {
        figure.draw_feet();
        figure.draw_missing();
    }
    if let Some(drawn) = over {
        figure.scene.draw_climber_over(&mut figure.sheet, drawn);
        for (kind, from, to) in &figure.on_climber {
            arrows::head_again(&mut figure.sheet, *kind, *from, *to);
        }
    }
    if style.detail != Detail::Small {
        figure.draw_loads();
        if rig.space == Space::Planar {
            draw_angles(&mut figure.sheet, &figure.scene, longest);
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
    /// From the harness point to where the pulls begin, mm.
    begin: f64,
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

/// How far the arrow of a force that is missing rises above the sheet's upper edge, mm.
fn above_mm(scene: &Scene<'_>, scale: f64) -> f64 {
    let push = scene.solved.push_needed_n.unwrap_or_default();
    let tip = scene.harness + scene.frame.direction(push) * (scale / 1000.0);
    (TIP_MM - tip.y).max(0.0)
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
                let vector = self.vector(pull);
                let from = self.scene.harness + vector * (self.begin / vector.hypot());
                let to = from + vector;
                arrow_mm = self.begin + vector.hypot();
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
        // In a small figure a mere name is not worth a leader.
        let search = self.scene.style.detail != Detail::Small || facts.on_climber_n.is_some();
        self.sheet.wish(Wish {
            name,
            block,
            target,
            spots,
            search,
        });
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
        let words = match self.scene.style.detail {
            Detail::Small => "feet",
            _ => "push of the feet",
        };
        let block = Block::new(vec![
            vec![bold(words, Ink::Ink)],
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
        let missing = bold(force(push.length(), self.units()), Ink::Ink);
        let block = Block::new(match self.scene.style.detail {
            Detail::Small => vec![vec![bold("missing", Ink::Bad)], vec![missing]],
            _ => vec![
                vec![bold("cannot hold", Ink::Bad)],
                vec![plain("missing ", Ink::Ink), missing],
            ],
        });
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
            let steep = way.y.abs() > STEEP;
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
        let ropes: Vec<Vec2> = self.scene.ropes_from(point).map(|(rope, _)| rope).collect();
        let along_rope = ropes.iter().find(|rope| runs_along(**rope, way));
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
        // Farther off where it leans towards the rope, so that it meets it nowhere.
        let lean = -way.dot(side) * sign;
        let aside = ASIDE_MM + lean.max(0.0) * length;
        let from = at + side * (sign * aside) + way * START_MM;
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
        // Without a key to say it, an arc that says no angle asks more than it tells.
        let says_it = self.scene.style.detail == Detail::Full;
        if !says_it && left_out.iter().any(|wish| wish.name == SPREAD) {
            self.sheet.take_off(Layer::Angle, SPREAD);
        }
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
