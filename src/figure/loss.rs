//! The `loss` figure: for each line, where the climber goes when it is gone.
//!
//! ```text
//! Solved.loss ─panel each→ before in ghost, path, strike, after in full, words ─multiples→ Composed
//! ```
//!
//! Every number and place is the solver's. Where a swing ends in wood the climber is drawn there;
//! else at rest.
//!
//! Over 500 lines: the parts of one panel share its scale, its frame and the places already taken.

use glam::DVec3;
use kurbo::{Point, Vec2};

use super::arrows::thin_head;
use super::climber::{self, Asked};
use super::facts::{is_climber, length, spaced};
use super::hit::Outline;
use super::key;
use super::label::{Cover, Spot, Wish};
use super::loss_words::{entries, words};
use super::multiples::{self, Grid, Panel};
use super::naming::along;
use super::scene::{Scene, Stretch, draw_harness_point, stretches};
use super::shape::{Cap, Ink, Item, Layer, Shape, Stroke};
use super::sheet::{Sheet, Way, line, polygon, polyline};
use super::text::{Block, bold, plain};
use super::{Composed, Detail, Style, describe, marks, rope};
use crate::rig::{Facing, LineId, Node, PointId, Rig};
use crate::statics::{Loss, LossOutcome, Solved, Span, Strike, swing};

/// Tallest picture of a panel, mm.
const TALLEST_MM: f64 = 108.0;

/// The swing path, and the path if nothing were struck, mm.
pub const PATH_MM: f64 = 0.7;
pub const THIN_MM: f64 = 0.3;
pub const NOT_TAKEN: [f64; 2] = [1.8, 1.2];
pub const BEFORE: [f64; 2] = [1.6, 1.0];
/// Heads along the path: length and width, mm; one each so many mm.
const HEAD_MM: (f64, f64) = (3.0, 2.0);
const HEAD_EACH_MM: f64 = 13.0;

/// A way below this shows no climber before, mm: the two would be one smear.
const APART_MM: f64 = 2.5;
/// A drop under this has no dimension line, mm.
const LEAST_DROP_MM: f64 = 4.5;
/// From a lost line's point to its cross, mm.
const CROSS_MM: f64 = 9.0;
/// Radius of a burst, metres, and its bounds, mm.
const BURST_M: f64 = 0.6;
const BURST_MM: (f64, f64) = (5.0, 9.0);

/// Composes the figure; `None` where there is nothing to lose.
pub fn compose(rig: &Rig, solved: &Solved, style: Style) -> Option<Composed> {
    if solved.loss.is_empty() {
        return None;
    }
    let grid = Grid::new(style, solved.loss.len());
    let swings: Vec<Vec<DVec3>> = solved
        .loss
        .iter()
        .map(|loss| swing(rig, solved, loss))
        .collect();
    let seen = seen(solved, &swings);
    let scene = multiples::scene(rig, solved, style, &grid, &seen, TALLEST_MM);
    let panels: Vec<Panel> = solved
        .loss
        .iter()
        .zip(&swings)
        .map(|(loss, path)| panel(&scene, loss, path, style))
        .collect();
    let mut sheet = Sheet::default();
    let bottom = multiples::set(&mut sheet, &grid, &panels, &scene, 1.0) + 1.5;
    let height = match style.detail {
        Detail::Full => {
            let entries = entries(&scene);
            key::lay(&mut sheet, &entries, None, bottom, style.width_mm)
        }
        _ => bottom,
    };
    Some(Composed {
        title: format!("{}: if one line goes", rig.title),
        description: describe::loss(rig, solved, &scene.facts, style.units),
        sheet,
        size_mm: (style.width_mm, height),
    })
}

/// Places of the harness point that all panels show.
///
/// - `swings`: the path of each loss.
fn seen(solved: &Solved, swings: &[Vec<DVec3>]) -> Vec<DVec3> {
    let mut all = Vec::new();
    for (loss, path) in solved.loss.iter().zip(swings) {
        if let LossOutcome::Held { rest, strikes, .. } = &loss.outcome {
            match strikes {
                Some(strike) => {
                    all.extend(split(path, strike.after_m).0);
                    all.push(*rest);
                }
                None => all.extend(path),
            }
        }
    }
    all
}

/// A path as far as `way_m` along it, and the rest of it.
fn split(path: &[DVec3], way_m: f64) -> (Vec<DVec3>, Vec<DVec3>) {
    let mut before: Vec<DVec3> = path.first().copied().into_iter().collect();
    let mut gone = 0.0;
    for (i, pair) in path.windows(2).enumerate() {
        let step = pair[0].distance(pair[1]);
        if gone + step >= way_m && step > 0.0 {
            let at = pair[0].lerp(pair[1], ((way_m - gone) / step).clamp(0.0, 1.0));
            before.push(at);
            let after = std::iter::once(at).chain(path[i + 1..].iter().copied());
            return (before, after.collect());
        }
        gone += step;
        before.push(pair[1]);
    }
    (before, Vec::new())
}

/// One line's loss on the way to its panel.
struct Part<'a> {
    scene: &'a Scene<'a>,
    sheet: Sheet,
    /// Which line goes.
    lost: LineId,
    /// How much the whole figure says.
    detail: Detail,
}

fn panel(scene: &Scene<'_>, loss: &Loss, path: &[DVec3], style: Style) -> Panel {
    let name = &scene.rig.line(loss.line).name;
    let mut part = Part {
        scene,
        sheet: Sheet::default(),
        lost: loss.line,
        detail: style.detail,
    };
    scene.draw_wood(&mut part.sheet);
    match &loss.outcome {
        LossOutcome::NothingHolds => part.draw_fall(),
        LossOutcome::Held {
            rest,
            points,
            strikes,
            ..
        } => part.draw_swing(*rest, points, path, strikes.as_ref()),
    }
    part.sheet.settle(scene.field, Ink::Paper);
    let heading = vec![
        plain("If ", Ink::Ink),
        bold(spaced(name), Ink::line(loss.line.0)),
        plain(" goes", Ink::Ink),
    ];
    Panel {
        suffix: format!("-without-{name}"),
        heading,
        words: words(scene, loss, style),
        picture: part.sheet,
        height_mm: scene.field.y1,
    }
}

impl Part<'_> {
    fn name(&self) -> &str {
        &self.scene.rig.line(self.lost).name
    }

    /// Nothing holds: straight down from where the climber was.
    fn draw_fall(&mut self) {
        let scene = self.scene;
        let start = scene.harness;
        self.draw_before(true);
        let ground = scene.ground_y();
        let end = ground.unwrap_or(scene.field.y1 - 2.0);
        let radius = self.burst_radius();
        let stop = if ground.is_some() {
            end - radius * 0.6
        } else {
            end
        };
        if ground.is_some() {
            self.draw_burst(Point::new(start.x, end));
        }
        self.draw_path(&[start, Point::new(start.x, stop)], false);
        let places = self.places(None);
        self.draw_after_ropes(&places, None);
        scene.draw_points(&mut self.sheet, &places);
        self.draw_lost();
        draw_harness_point(&mut self.sheet, start);
    }

    fn draw_swing(
        &mut self,
        rest: DVec3,
        points: &[DVec3],
        path: &[DVec3],
        strike: Option<&Strike>,
    ) {
        let scene = self.scene;
        // Where hanging points share lines, their places are known at rest only.
        let tied = scene.rig.point_ids().any(|id| self.shares(id) > 1);
        let after = match strike {
            Some(strike) if !tied => strike.at,
            _ => rest,
        };
        let (start, end) = (scene.harness, scene.frame.at(after));
        let moved = start.distance(end) > APART_MM;
        self.draw_before(moved);
        let (taken, not_taken) = match strike {
            Some(strike) => split(path, strike.after_m),
            None => (path.to_vec(), Vec::new()),
        };
        if moved {
            self.draw_ways(&taken, &not_taken, strike.is_some());
        }
        if let Some(strike) = strike {
            self.draw_burst(scene.frame.at(strike.at));
        }
        let asked = if moved {
            let facing = if end.x < start.x {
                Facing::Left
            } else {
                Facing::Right
            };
            Asked::hanging(end, scene.frame.scale, facing)
        } else {
            scene.asked_at(after, false)
        };
        // On the ground the way of the harness point says enough: the feet are there long before.
        let grounded =
            strike.is_some_and(|s| scene.rig.tree.pieces.iter().all(|p| p.name != s.piece));
        if !grounded {
            scene.draw_climber(&mut self.sheet, climber::climber(&asked));
        }
        let places = self.places(Some(points));
        self.draw_after_ropes(&places, Some(after));
        scene.draw_points(&mut self.sheet, &places);
        self.draw_lost();
        draw_harness_point(&mut self.sheet, end);
        self.draw_drop(start, scene.frame.at(rest), end);
    }

    /// The star where something is struck, kept inside the picture.
    fn draw_burst(&mut self, at: Point) {
        let radius = self.burst_radius();
        let low = self.scene.field.y1 - radius;
        let burst: Item = marks::burst(Point::new(at.x, at.y.min(low)), radius).into();
        self.sheet
            .block_items(Cover::Never, std::slice::from_ref(&burst));
        self.sheet.add(Layer::Climber, burst);
    }

    fn burst_radius(&self) -> f64 {
        (BURST_M * self.scene.frame.scale).clamp(BURST_MM.0, BURST_MM.1)
    }

    /// How many of the remaining lines meet a hanging point; 0 for a fixed one.
    fn shares(&self, id: PointId) -> usize {
        if !self.scene.rig.point(id).hangs {
            return 0;
        }
        let lines = self.scene.rig.lines.iter().enumerate();
        let remaining = lines.filter(|(i, _)| *i != self.lost.0);
        remaining
            .filter(|(_, l)| l.run.contains(&Node::Point(id)))
            .count()
    }

    /// Places of the points after the loss; `None` for a hanging point that rides loose on a line.
    fn places(&self, points: Option<&[DVec3]>) -> Vec<Option<DVec3>> {
        let scene = self.scene;
        let hangs_free = |id: PointId| {
            // The one remaining line ends here: it hangs straight down from its other end.
            let span = scene
                .solved
                .spans
                .iter()
                .find(|s| s.line != self.lost && [s.from, s.to].contains(&Node::Point(id)))?;
            let other = if span.from == Node::Point(id) {
                (span.to, span.to_at)
            } else {
                (span.from, span.from_at)
            };
            match other {
                (Node::Climber(_), _) => None,
                (_, at) => Some(at - DVec3::Z * span.length_m),
            }
        };
        let place = |id: PointId| {
            let point = scene.rig.point(id);
            if !point.hangs {
                return Some(scene.solved.points[id.0].at);
            }
            let ends = |l: &crate::rig::Line| {
                let node = Some(&Node::Point(id));
                l.run.first() == node || l.run.last() == node
            };
            let lines = scene.rig.lines.iter().enumerate();
            let one = lines
                .filter(|(i, _)| *i != self.lost.0)
                .find(|(_, l)| l.run.contains(&Node::Point(id)));
            match (self.shares(id), one) {
                (0, _) | (_, None) => None,
                (1, Some((_, l))) if ends(l) => hangs_free(id),
                (1, _) => None,
                _ => points.map(|points| points[id.0]),
            }
        };
        scene.rig.point_ids().map(place).collect()
    }

    /// What was: every line in ghost dashes, the climber in outline.
    fn draw_before(&mut self, climber: bool) {
        let scene = self.scene;
        if climber {
            let asked = scene.asked_at(scene.solved.climber_at, false);
            let items = climber::ghost(&asked);
            self.sheet.block_items(Cover::Shaft, &items);
            self.sheet.extend(Layer::Ghost, items);
        }
        for id in scene.rig.line_ids() {
            if id != self.lost && !climber {
                continue;
            }
            for stretch in scene.stretches(id) {
                let (from, to) = (scene.frame.at(stretch.from), scene.frame.at(stretch.to));
                self.sheet
                    .add(Layer::Ghost, rope::ghost(from, to, stretch.parts));
                self.sheet
                    .block(Cover::Thin, Outline::segment(from, to, 0.6));
            }
        }
        if climber {
            let at = scene.harness;
            let block = Block::new(vec![vec![plain("before", Ink::Soft)]]);
            let scale = scene.frame.scale;
            let spots = [
                (0.75, -0.2),
                (0.8, 0.5),
                (-0.8, -0.2),
                (-0.8, 0.5),
                (0.0, -1.05),
            ]
            .iter()
            .enumerate()
            .map(|(i, (x, y))| Spot {
                cost: 0.4 * i as f64,
                ..super::label::beside(
                    at + Vec2::new(*x, *y) * scale * 0.8,
                    Vec2::new(x.signum(), 0.0),
                    0.5,
                    &block,
                    0.0,
                )
            })
            .collect();
            self.sheet.wish(Wish {
                name: "before".to_owned(),
                block,
                target: at,
                spots,
                search: true,
            });
        }
    }

    /// Whether a stretch starts at a point that stays where it is.
    fn is_fixed(&self, stretch: &Stretch) -> bool {
        let span = &self.scene.solved.spans[stretch.span];
        let stays = |node: Node| matches!(node, Node::Point(id) if !self.scene.rig.point(id).hangs);
        stays(span.from) || stays(span.to)
    }

    /// The torn end of the lost line, the cross over it, its label.
    fn draw_lost(&mut self) {
        let scene = self.scene;
        let all = scene.stretches(self.lost);
        let Some(torn) = all.iter().max_by(|a, b| {
            let rank = |s: &Stretch| (self.is_fixed(s), s.at_climber, s.from.distance(s.to));
            rank(a)
                .partial_cmp(&rank(b))
                .unwrap_or(std::cmp::Ordering::Equal)
        }) else {
            return;
        };
        let (mut from, mut to) = (scene.frame.at(torn.from), scene.frame.at(torn.to));
        // A line between points tears off at its fixed end.
        let hangs = |node: Node| matches!(node, Node::Point(id) if scene.rig.point(id).hangs);
        let span = &scene.solved.spans[torn.span];
        if !torn.at_climber && hangs(span.from) {
            std::mem::swap(&mut from, &mut to);
        }
        let long = from.distance(to);
        if long < 3.0 {
            return;
        }
        let way = (to - from) / long;
        if long > 2.0 * CROSS_MM {
            let start = from + way * 1.5;
            let stump = rope::frayed(start, way, self.lost.0);
            self.sheet.extend(Layer::Rope, stump);
            let reach = Outline::segment(start, start + way * 5.0, 1.2);
            self.sheet.block(Cover::Never, reach);
        }
        let at = from + way * CROSS_MM.min(long / 2.0);
        let cross: Vec<Item> = marks::lost(at, way).into_iter().map(Item::Shape).collect();
        self.sheet.block_items(Cover::Never, &cross);
        self.sheet.extend(Layer::Flag, cross);
        let lines = vec![vec![
            bold(spaced(self.name()), Ink::line(self.lost.0)),
            bold(" lost", Ink::Bad),
        ]];
        let block = Block::new(lines);
        let spots = along(
            at - way * 3.0,
            at + way * 6.0,
            &[0.35, 0.7, 0.0, 1.0],
            &block,
            None,
        );
        self.sheet.wish(Wish {
            name: "lost".to_owned(),
            block,
            target: at,
            spots,
            search: true,
        });
    }

    /// The remaining lines, with the climber at a place or gone.
    fn draw_after_ropes(&mut self, places: &[Option<DVec3>], climber: Option<DVec3>) {
        let scene = self.scene;
        for id in scene.rig.line_ids().filter(|id| *id != self.lost) {
            let place = |node: Node| match node {
                Node::Climber(_) => climber,
                Node::Point(id) => places[id.0],
            };
            let run = &scene.rig.line(id).run;
            let known: Vec<(Node, DVec3)> = run
                .iter()
                .filter_map(|node| Some((*node, place(*node)?)))
                .collect();
            let spans: Vec<Span> = known
                .windows(2)
                .map(|two| Span {
                    line: id,
                    from: two[0].0,
                    to: two[1].0,
                    from_at: two[0].1,
                    to_at: two[1].1,
                    length_m: two[0].1.distance(two[1].1),
                    from_vertical_rad: 0.0,
                    pull_n: None,
                    pull_low_n: None,
                    pull_high_n: None,
                })
                .collect();
            let after = stretches(&spans, id);
            // A rope whose other end is gone hangs from where it is tied or passes.
            let meets = known.iter().any(|(node, _)| is_climber(*node));
            if !meets && run.iter().any(|node| is_climber(*node)) {
                continue;
            }
            scene.draw_rope(&mut self.sheet, id, &after);
            let Some(longest) = after
                .iter()
                .max_by(|a, b| a.from.distance(a.to).total_cmp(&b.from.distance(b.to)))
            else {
                continue;
            };
            let (from, to) = (scene.frame.at(longest.from), scene.frame.at(longest.to));
            let block = Block::new(vec![vec![bold(
                spaced(&scene.rig.line(id).name),
                Ink::line(id.0),
            )]]);
            self.sheet.wish(Wish {
                name: scene.rig.line(id).name.clone(),
                spots: along(from, to, &[0.5, 0.4, 0.6, 0.3, 0.7], &block, None),
                block,
                target: from.midpoint(to),
                search: true,
            });
        }
    }

    /// The way of the harness point, and the way it would go on if nothing were struck.
    fn draw_ways(&mut self, taken: &[DVec3], not_taken: &[DVec3], struck: bool) {
        let scene = self.scene;
        let on_sheet =
            |path: &[DVec3]| -> Vec<Point> { path.iter().map(|p| scene.frame.at(*p)).collect() };
        let seen = scene.field.inset(-1.0);
        let on: Vec<Point> = on_sheet(not_taken)
            .into_iter()
            .take_while(|p| seen.contains(*p))
            .collect();
        if on.len() > 1 {
            let path = polyline(&on);
            let stroke = Stroke::dashed(Ink::Soft, THIN_MM, &NOT_TAKEN);
            for outline in Outline::of_stroked_path(&path, THIN_MM) {
                self.sheet.block(Cover::Thin, outline);
            }
            self.sheet.add(Layer::Angle, Shape::stroked(path, stroke));
        }
        let mut way = on_sheet(taken);
        if struck {
            let last = way[way.len() - 1];
            let radius = self.burst_radius() * 0.9;
            let inside = way.iter().rev().take_while(|p| p.distance(last) < radius);
            let keep = way.len() - inside.count();
            way.truncate(keep.max(2));
        }
        self.draw_path(&way, !struck);
    }

    /// A path in ink with heads along it.
    ///
    /// - `swings_on`: past the resting place in its middle, to its end.
    fn draw_path(&mut self, way: &[Point], swings_on: bool) {
        let path = polyline(way);
        for outline in Outline::of_stroked_path(&path, PATH_MM / 2.0) {
            self.sheet.block(Cover::Rope, outline);
        }
        let edge = Stroke::solid(Ink::Paper, PATH_MM + 0.7).cap(Cap::Butt);
        let stroke = Stroke::solid(Ink::Ink, PATH_MM);
        let mut items = vec![
            Shape::stroked(path.clone(), edge),
            Shape::stroked(path, stroke),
        ];
        let long: f64 = way.windows(2).map(|two| two[0].distance(two[1])).sum();
        let count = (long / HEAD_EACH_MM).floor().max(1.0);
        let shares: Vec<f64> = if swings_on {
            // The middle is where the climber hangs.
            let early = (long > 2.0 * HEAD_EACH_MM).then_some(0.27);
            early.into_iter().chain([1.0]).collect()
        } else {
            let step = |i: i32| (f64::from(i) - 0.4) / count;
            (1..=count as i32).map(step).collect()
        };
        for share in shares {
            let (at, along) = Way::new(way).at(share);
            items.push(head(at, along));
        }
        self.sheet.add(Layer::Angle, Item::group("path", items));
    }

    /// The drop as a dimension between the height of the start and that of the rest.
    fn draw_drop(&mut self, start: Point, rest: Point, after: Point) {
        if rest.y - start.y < LEAST_DROP_MM {
            return;
        }
        let Some(LossOutcome::Held { drop_m, .. }) = self
            .scene
            .solved
            .loss
            .iter()
            .find(|l| l.line == self.lost)
            .map(|l| &l.outcome)
        else {
            return;
        };
        let scale = self.scene.frame.scale;
        // Behind the start, away from the swing, as far as the field lets it.
        let away = if after.x > start.x { -1.0 } else { 1.0 };
        let field = self.scene.field.inset(-3.0);
        let x = (start.x + away * (0.75 * scale + 2.0)).clamp(field.x0, field.x1);
        let hair = Stroke::solid(Ink::Soft, 0.18).cap(Cap::Butt);
        let thin = Stroke::solid(Ink::Soft, 0.25).cap(Cap::Butt);
        let ends = [Point::new(x, start.y), Point::new(x, rest.y)];
        let beyond = Vec2::new(away * 1.2, 0.0);
        for (from, to) in [
            (start + Vec2::new(away * 2.0, 0.0), ends[0] + beyond),
            (Point::new(rest.x - away * -2.0, rest.y), ends[1] + beyond),
        ] {
            self.sheet.add(Layer::Angle, line(from, to, hair.clone()));
            self.sheet
                .block(Cover::Thin, Outline::segment(from, to, 0.1));
        }
        self.sheet.add(Layer::Angle, line(ends[0], ends[1], thin));
        let down = Vec2::new(0.0, 1.0);
        self.sheet
            .add(Layer::Angle, thin_head(ends[1], down, Ink::Soft));
        self.sheet
            .add(Layer::Angle, thin_head(ends[0], -down, Ink::Soft));
        self.sheet
            .block(Cover::Rope, Outline::segment(ends[0], ends[1], 0.4));
        let block = Block::new(vec![
            vec![plain("drop", Ink::Ink)],
            vec![bold(length(*drop_m, self.scene.style.units), Ink::Ink)],
        ]);
        let side = Vec2::new(away, 0.0);
        let spots = along(ends[0], ends[1], &[0.5, 0.3, 0.7, 1.0], &block, Some(side));
        self.sheet.wish(Wish {
            name: "drop".to_owned(),
            block,
            target: ends[0].midpoint(ends[1]),
            spots,
            search: self.detail != Detail::Small,
        });
    }
}

/// A head of the path, its tip at `tip`, pointing along `along` (unit).
pub fn head(tip: Point, along: Vec2) -> Shape {
    let side = Vec2::new(-along.y, along.x) * (HEAD_MM.1 / 2.0);
    let neck = tip - along * HEAD_MM.0;
    let notch = tip - along * (0.72 * HEAD_MM.0);
    Shape::filled(polygon(&[tip, neck + side, notch, neck - side]), Ink::Ink)
}
