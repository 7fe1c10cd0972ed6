//! The picture that most figures share: ground, staff, tree, ropes, marks, climber.
//!
//! ```text
//! Rig + Solved + Style ─lay→ Scene (frame, field) ─draw_…→ Sheet
//! ```

use glam::DVec3;
use kurbo::{Point, Rect, Vec2};

use super::climber::{self, Asked, Climber};
use super::facts::{LineFacts, gather, is_climber};
use super::frame::{Frame, View, extent, shown};
use super::hit::Outline;
use super::key::EDGE_MM;
use super::label::Cover;
use super::rope;
use super::shape::{Item, Layer};
use super::sheet::Sheet;
use super::{Detail, Style};
use super::{marks, staff, tree, trunk};
use crate::rig::{Facing, LineId, Node, Over, Piece, PieceKind, Rig, Tree};
use crate::statics::{Solved, Span};

/// Tallest picture, as a share of its width: the picture and its key stay on one screen and on half
/// of an A4 page.
const TALLEST: f64 = 0.84;

/// Largest scale, mm for a metre: the climber 60 mm tall.
const LARGEST_SCALE: f64 = 34.0;

/// Round the picture, mm: above and at the right.
pub const ABOVE_MM: f64 = 6.0;
const RIGHT_MM: f64 = 10.0;
/// At the sides of a small figure, and above and below it, mm.
const SMALL_EDGE_MM: f64 = 1.5;
const SMALL_ABOVE_MM: f64 = 3.5;
const SMALL_FOOT_MM: f64 = 2.0;
/// Under a picture, mm.
pub const FOOT_MM: f64 = 4.0;

/// From the ground line down to the end of its hatching, mm.
const GROUND_MM: f64 = 3.0;

/// What a picture leaves free on its sheet, and how tall it may be, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// At the left, for the height staff.
    pub left: f64,
    /// At the right, for twigs and labels.
    pub right: f64,
    /// Above, for labels.
    pub above: f64,
    /// Under everything.
    pub under: f64,
    /// Tallest picture.
    pub tallest: f64,
    /// Under the harness point, for an arrow and its label.
    pub below: f64,
}

impl Room {
    /// Of a figure that has its sheet to itself, with `below` under the harness point.
    pub const fn of(style: Style, below: f64) -> Self {
        let (left, right, above, under) = match style.detail {
            Detail::Small => (SMALL_EDGE_MM, SMALL_EDGE_MM, SMALL_ABOVE_MM, SMALL_FOOT_MM),
            _ => (staff::ROOM_MM, RIGHT_MM, ABOVE_MM, FOOT_MM),
        };
        Self {
            left,
            right,
            above,
            under,
            tallest: TALLEST * style.width_mm,
            below,
        }
    }
}

/// Wood whose middle lies farther behind the climber than this is drawn as far, metres.
const FAR_M: f64 = 0.5;

/// A rig with its answers and how it lies on the sheet.
#[derive(Clone)]
pub struct Scene<'a> {
    /// The rig.
    pub rig: &'a Rig,
    /// Its answers.
    pub solved: &'a Solved,
    /// How to draw.
    pub style: Style<'a>,
    /// What is said about each line.
    pub facts: Vec<LineFacts>,
    /// From metres to the sheet.
    pub frame: Frame,
    /// Where the picture and its labels are, mm.
    pub field: Rect,
    /// The harness point on the sheet.
    pub harness: Point,
    /// What is shown of the tree.
    tree: Tree,
    /// Box of what is shown, metres.
    extent: Rect,
}

impl<'a> Scene<'a> {
    /// Fits a rig into the sheet's width.
    ///
    /// - `also`: further places of the harness point that must be inside.
    pub fn lay(
        rig: &'a Rig,
        solved: &'a Solved,
        style: Style<'a>,
        also: &[DVec3],
        room: Room,
    ) -> Self {
        let (mut tree, extent) = shown(rig, solved, also);
        // What is far from who looks comes first; a planar tree keeps its order.
        let middle = |piece: &Piece| (piece.from + piece.to) / 2.0;
        tree.pieces
            .sort_by(|a, b| middle(b).y.total_cmp(&middle(a).y));
        let width = style.width_mm;
        let place = Rect::new(
            room.left,
            room.above,
            width - room.right,
            room.above + room.tallest,
        );
        let fit = |place| Frame::fit(extent, place, LARGEST_SCALE, View::Elevation);
        let mut frame = fit(place);
        // Twigs have their own size: where the edge is too near, the picture makes room for them.
        let reach = trunk::twig_reach_mm(frame.scale);
        let past = |piece: &Piece| {
            let (root, tip) = (frame.at(piece.from).x, frame.at(piece.to).x);
            let right = (tip + reach - width).max(0.0);
            let left = (reach - tip).max(0.0);
            if tip > root {
                (0.0, right)
            } else {
                (left, 0.0)
            }
        };
        let limbs = tree.pieces.iter().filter(|p| p.kind == PieceKind::Limb);
        let (left, right) = limbs
            .map(past)
            .fold((0.0_f64, 0.0_f64), |(l, r), p| (l.max(p.0), r.max(p.1)));
        if left + right > 0.0 {
            frame = fit(Rect::new(
                place.x0 + left,
                place.y0,
                place.x1 - right,
                place.y1,
            ));
        }
        let picture = frame.place(extent);
        // Move up what is lower than it needs to be, and make room for the weight below.
        frame.origin.y -= picture.y0 - room.above;
        let picture = frame.place(extent);
        let harness = frame.at(solved.climber_at);
        let ground = tree.ground_m.map_or(0.0, |_| GROUND_MM);
        let bottom = (picture.y1 + ground).max(harness.y + room.below) + room.under;
        Self {
            rig,
            solved,
            style,
            facts: gather(rig, solved),
            frame,
            field: Rect::new(0.0, 0.0, width, bottom),
            harness,
            tree,
            extent,
        }
    }

    /// The same picture lower on its sheet.
    #[must_use]
    pub fn lowered(mut self, by_mm: f64) -> Self {
        self.frame.origin.y += by_mm;
        self.harness.y += by_mm;
        self.field.y1 += by_mm;
        self
    }

    /// The view from above under this elevation, at its scale, its highest things `top_mm` down.
    #[must_use]
    pub fn plan_below(&self, top_mm: f64) -> Self {
        let kept = Rig {
            tree: self.tree.clone(),
            ..self.rig.clone()
        };
        let extent = extent(&kept, self.solved, View::Plan, &[]);
        let frame = Frame {
            view: View::Plan,
            origin: Point::new(self.frame.origin.x, top_mm + extent.y1 * self.frame.scale),
            scale: self.frame.scale,
        };
        let mut tree = kept.tree;
        let middle = |piece: &Piece| (piece.from + piece.to) / 2.0;
        tree.pieces
            .sort_by(|a, b| middle(a).z.total_cmp(&middle(b).z));
        let bottom = frame.place(extent).y1 + ABOVE_MM + FOOT_MM;
        Self {
            frame,
            field: Rect::new(0.0, top_mm, self.style.width_mm, bottom),
            harness: frame.at(self.solved.climber_at),
            tree,
            extent,
            ..self.clone()
        }
    }

    /// Draws ground, staff and tree.
    pub fn draw_tree(&self, sheet: &mut Sheet) {
        self.draw_wood(sheet);
        if self.style.detail != Detail::Small {
            self.draw_staff(sheet, Vec2::ZERO);
        }
    }

    /// Draws the height staff, beside a picture that was moved.
    pub fn draw_staff(&self, sheet: &mut Sheet, by: Vec2) {
        let low = self.tree.ground_m.unwrap_or(self.extent.y0);
        let frame = Frame {
            origin: self.frame.origin + by,
            ..self.frame
        };
        staff::draw(sheet, &frame, low, self.extent.y1, self.style.units);
    }

    /// Height of the ground line on the sheet, mm, where it is in the picture.
    pub fn ground_y(&self) -> Option<f64> {
        let ground = self
            .tree
            .ground_m
            .filter(|_| self.frame.view == View::Elevation)?;
        Some(self.frame.at(DVec3::new(0.0, 0.0, ground)).y)
    }

    /// Draws ground and tree.
    pub fn draw_wood(&self, sheet: &mut Sheet) {
        if let Some(y) = self.ground_y() {
            let edge = match self.style.detail {
                Detail::Small => SMALL_EDGE_MM,
                _ => EDGE_MM,
            };
            let ends = [edge, self.field.x1 - edge];
            let items = tree::ground(y, ends[0], ends[1]);
            sheet.extend(Layer::Ground, items);
            let ends = ends.map(|x| Point::new(x, y + 1.0));
            sheet.block(Cover::Wood, Outline::segment(ends[0], ends[1], 1.3));
        }
        let climber = self.solved.climber_at.y;
        let is_far = |piece: &Piece| {
            let middle = (piece.from + piece.to) / 2.0;
            self.frame.view == View::Elevation && middle.y - climber > FAR_M
        };
        let drawn = tree::tree_in_depth(&self.tree, &self.frame.sight(), None, &is_far);
        sheet.extend(Layer::Wood, drawn.items);
        for (_, outline) in &drawn.outlines {
            for outline in Outline::of_filled_path(outline) {
                sheet.block(Cover::Wood, outline);
            }
        }
        for leaves in drawn.leaves {
            sheet.block(Cover::Wood, Outline::Box(leaves));
        }
    }

    /// Draws every line in its place.
    pub fn draw_ropes(&self, sheet: &mut Sheet) {
        for facts in &self.facts {
            self.draw_rope(sheet, facts.id, &self.stretches(facts.id));
        }
    }

    /// Draws one line along the given stretches.
    pub fn draw_rope(&self, sheet: &mut Sheet, line: LineId, stretches: &[Stretch]) {
        let mut items: Vec<Item> = Vec::new();
        for stretch in stretches {
            let (from, to) = (self.frame.at(stretch.from), self.frame.at(stretch.to));
            if from.distance(to) < 0.1 {
                continue;
            }
            let shapes = if stretch.at_climber {
                rope::stretch(from, to, stretch.parts, line.0)
            } else {
                let middle = rope::between(from, to, stretch.parts);
                rope::rope(middle, line.0, rope::width_mm(stretch.parts))
            };
            items.extend(shapes.into_iter().map(Item::Shape));
            let half = if stretch.parts > 1 { 1.3 } else { 0.8 };
            sheet.block(Cover::Rope, Outline::segment(from, to, half));
        }
        let id = format!("rope-{}", self.rig.line(line).name);
        sheet.add(Layer::Rope, Item::group(id, items));
    }

    /// The climber at a place, as this rig poses it.
    ///
    /// - `hands`: whether hands take the lines.
    pub fn asked_at(&self, at: DVec3, hands: bool) -> Asked {
        let feet = self.rig.feet.as_ref();
        let on_stem = feet.map(|feet| feet.normal.x.abs() > feet.normal.z.abs());
        let pulls = self.facts.iter().filter_map(|f| f.on_climber_n);
        let pull = self.frame.direction(pulls.fold(DVec3::ZERO, |a, b| a + b));
        let ropes = self.facts.iter().filter_map(|f| f.direction);
        Asked {
            at: self.frame.at(at),
            mm_per_m: self.frame.scale,
            facing: match feet.filter(|_| on_stem == Some(true)) {
                // Feet against a stem: the climber looks at it.
                Some(feet) if feet.normal.x > 0.0 => Facing::Left,
                Some(_) => Facing::Right,
                None => self.rig.climber.facing,
            },
            pose: climber::choose_pose(on_stem, pull),
            ropes: if hands {
                ropes.map(|d| self.frame.direction(d)).collect()
            } else {
                Vec::new()
            },
            footing: feet.map(|feet| {
                let normal = self.sheet_direction(feet.normal);
                (self.frame.at(feet.at), normal)
            }),
        }
    }

    /// Draws the climber over what was drawn of the forces so far: their shafts start inside the
    /// body.
    pub fn draw_climber_over(&self, sheet: &mut Sheet, drawn: Climber) {
        block_climber(sheet, &drawn);
        let items = drawn.body.into_iter().chain(drawn.near_arm);
        sheet.add(Layer::Force, Item::group("climber", items));
    }

    /// Draws the climber behind the ropes, an arm that takes one before them.
    pub fn draw_climber(&self, sheet: &mut Sheet, drawn: Climber) {
        block_climber(sheet, &drawn);
        sheet.extend(Layer::Climber, drawn.body);
        let layer = if drawn.near_grips {
            Layer::Mark
        } else {
            Layer::Climber
        };
        sheet.extend(layer, drawn.near_arm);
    }

    /// Draws slings, hardware at the points, hitches and the harness point.
    pub fn draw_marks(&self, sheet: &mut Sheet) {
        let places: Vec<_> = self.solved.points.iter().map(|p| Some(p.at)).collect();
        self.draw_points(sheet, &places);
        draw_harness_point(sheet, self.harness);
    }

    /// Draws slings and hardware at the points, each where it is; one without a place is left out.
    pub fn draw_points(&self, sheet: &mut Sheet, places: &[Option<DVec3>]) {
        let sight = self.frame.sight();
        let from_above = self.frame.view == View::Plan;
        for (point, place) in self.rig.points.iter().zip(places) {
            let Some(place) = *place else {
                continue;
            };
            let at = self.frame.at(place);
            let mut shapes = Vec::new();
            let wood = self
                .tree
                .pieces
                .iter()
                .find(|p| Some(&p.name) == point.on.as_ref());
            let bare = matches!(point.over, Some(Over::Limb | Over::Stem));
            if let Some(piece) = wood.filter(|_| !bare && !point.hangs && !from_above) {
                let (sling, bounds) = marks::sling(piece, place, &sight);
                shapes.extend(sling);
                sheet.block(Cover::Never, Outline::Box(bounds));
            }
            shapes.extend(match point.over {
                Some(Over::Pulley) => marks::pulley(at),
                Some(Over::Ring) => marks::ring(at),
                Some(Over::Limb | Over::Stem) => Vec::new(),
                None if point.hangs || wood.is_some() => marks::ring(at),
                None => marks::anchor(at),
            });
            let reach = Rect::from_center_size(at, (4.0, 4.0));
            sheet.block(Cover::Never, Outline::Box(reach));
            sheet.add(
                Layer::Mark,
                Item::group(format!("point-{}", point.name), shapes),
            );
        }
    }

    /// The straight stretches of a line: spans between the same two places are one with parts.
    pub fn stretches(&self, line: LineId) -> Vec<Stretch> {
        stretches(&self.solved.spans, line)
    }

    /// The ropes that leave a point, by its index: where each leads on the sheet, as a unit vector, and how
    /// far, mm.
    pub fn ropes_from(&self, point: usize) -> impl Iterator<Item = (Vec2, f64)> + '_ {
        let spans = self.solved.spans.iter();
        let ends = spans.flat_map(|s| [(s.from, s.from_at, s.to_at), (s.to, s.to_at, s.from_at)]);
        ends.filter(move |(node, ..)| matches!(node, Node::Point(id) if id.0 == point))
            .map(|(_, here, there)| {
                let mm = self.frame.at(here).distance(self.frame.at(there));
                (self.sheet_direction(there - here), mm)
            })
    }

    /// Direction on the sheet, unit length; zero for nothing.
    pub fn sheet_direction(&self, v: DVec3) -> Vec2 {
        let flat = self.frame.direction(v);
        let length = flat.hypot();
        if length > 1e-9 {
            flat / length
        } else {
            Vec2::ZERO
        }
    }
}

fn block_climber(sheet: &mut Sheet, drawn: &Climber) {
    for outline in &drawn.outlines {
        for outline in Outline::of_filled_path(outline) {
            sheet.block(Cover::Never, outline);
        }
    }
}

/// Draws the ring where the forces meet.
pub fn draw_harness_point(sheet: &mut Sheet, at: Point) {
    sheet.extend(Layer::Force, marks::harness_point(at));
    let reach = Rect::from_center_size(at, (3.4, 3.4));
    sheet.block(Cover::Never, Outline::Box(reach));
}

/// A straight stretch of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// A point of the rig.
    pub from: DVec3,
    /// The harness, or another point.
    pub to: DVec3,
    /// How many spans run along it.
    pub parts: usize,
    /// Whether it ends at the harness.
    pub at_climber: bool,
    /// The first of its spans.
    pub span: usize,
}

/// The straight stretches of a line among spans.
pub fn stretches(spans: &[Span], line: LineId) -> Vec<Stretch> {
    let mut found: Vec<(Node, Node, Stretch)> = Vec::new();
    for (i, span) in spans.iter().enumerate().filter(|(_, s)| s.line == line) {
        let (a, b, from, to) = if is_climber(span.from) {
            (span.to, span.from, span.to_at, span.from_at)
        } else {
            (span.from, span.to, span.from_at, span.to_at)
        };
        let same = |x: Node, y: Node| x == y || (is_climber(x) && is_climber(y));
        let known = found
            .iter_mut()
            .find(|(c, d, _)| (same(a, *c) && same(b, *d)) || (same(a, *d) && same(b, *c)));
        match known {
            Some((.., stretch)) => stretch.parts += 1,
            None => found.push((
                a,
                b,
                Stretch {
                    from,
                    to,
                    parts: 1,
                    at_climber: is_climber(b),
                    span: i,
                },
            )),
        }
    }
    found.into_iter().map(|(.., stretch)| stretch).collect()
}
