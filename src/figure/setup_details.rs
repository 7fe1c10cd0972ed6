//! The close views of `setup`: a ring with a letter at the place, the same letter beside a circle in a
//! column at the right that shows what is tied to what, names in a column left of it.
//!
//! ```text
//! Scene ─places→ View… (letter, place, ring) ─draw→ rings in the picture, circles and names beside it
//! ```

use kurbo::{Point, Rect, Vec2};

use super::closeup::{self, AnchorView, AtHarness, AtPoint, Closing};
use super::curve::circle;
use super::facts::{is_climber, spaced};
use super::hit::{Outline, rects_meet};
use super::key::still;
use super::label::{Cover, Obstacle};
use super::scene::Scene;
use super::setup_names::{Window, name_parts};
use super::shape::{Ink, Item, Layer, Shape, Stroke};
use super::sheet::Sheet;
use super::text::{Align, BIG_MM, Text, bold};
use super::{Detail, Style};
use crate::rig::{Attachment, LineId, Node, Over, Piece, PieceKind, Point as RigPoint};

/// Narrower sheets have no room for the column, mm.
const LEAST_SHEET_MM: f64 = 140.0;
/// Width of the column with its names, mm.
pub const COLUMN_MM: f64 = 72.0;
/// Radius of the circle of a point and of the harness, mm.
const POINT_MM: f64 = 18.5;
const HARNESS_MM: f64 = 22.5;
/// The same where three points are seen closer, mm.
const MANY_POINT_MM: f64 = 17.0;
/// Radius of the ring in the picture round a bare point, and round one with its sling, whose middle
/// lies so far over the point, mm.
const POINT_RING_MM: f64 = 5.6;
const LIMB_RING_MM: (f64, f64) = (7.0, 2.2);
const STEM_RING_MM: (f64, f64) = (7.6, 3.6);
/// Radius of the ring round the harness, and where a hitch lies out beside it, mm.
const HARNESS_RING_MM: f64 = 8.6;
const HITCHED_RING_MM: f64 = 11.8;
/// Most points that are seen closer: with the harness, they fill a column as tall as the picture.
const MOST_POINTS: usize = 3;
/// Between circles, mm: least and most.
const GAP_MM: (f64, f64) = (3.5, 24.0);
/// From the sheet's upper edge and its right edge to the circles, mm.
const TOP_MM: f64 = 4.0;
const SIDE_MM: f64 = 4.0;

/// What is seen closer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Subject {
    /// A point of the rig.
    Point(usize),
    /// The harness.
    Harness,
}

/// A place that is seen closer.
pub struct Closer {
    letter: char,
    subject: Subject,
    at: Point,
    radius: f64,
    ring: f64,
}

impl Closer {
    /// Whether it shows this point of the rig.
    pub fn shows(&self, point: usize) -> bool {
        self.subject == Subject::Point(point)
    }

    /// The letter and what it stands for: `A top`.
    pub fn words(&self, scene: &Scene<'_>) -> String {
        match self.subject {
            Subject::Point(i) => format!("{} {}", self.letter, spaced(&scene.rig.points[i].name)),
            Subject::Harness => format!("{} harness", self.letter),
        }
    }
}

/// Whether a sheet has room for close views.
pub fn fits(style: Style<'_>) -> bool {
    style.detail == Detail::Full && style.width_mm >= LEAST_SHEET_MM
}

/// The places to be seen closer: points that differ in what holds what, then the harness.
pub fn choose(scene: &Scene<'_>) -> Vec<Closer> {
    let mut alike: Vec<(Option<PieceKind>, Option<Over>, usize)> = Vec::new();
    let mut found = Vec::new();
    for (i, point) in scene.rig.points.iter().enumerate() {
        let lines = at_point(scene, i);
        let passing = lines.iter().filter(|l| l.ways.1.is_some()).count();
        let kind = wood_of(scene, point).map(|(kind, _, _)| kind);
        let look = (kind, point.over, passing * 10 + lines.len());
        if lines.is_empty() || alike.contains(&look) || alike.len() == MOST_POINTS {
            continue;
        }
        alike.push(look);
        found.push((Subject::Point(i), scene.frame.at(scene.solved.points[i].at)));
    }
    // From the upper one down, as the circles stand; the harness last.
    found.sort_by(|a, b| a.1.y.total_cmp(&b.1.y).then(a.1.x.total_cmp(&b.1.x)));
    found.push((Subject::Harness, scene.harness));
    let radius = if alike.len() < MOST_POINTS {
        POINT_MM
    } else {
        MANY_POINT_MM
    };
    let hitched = scene.rig.lines.iter().any(|line| line.hitch.is_some());
    let letters = 'A'..='Z';
    letters
        .zip(found)
        .map(|(letter, (subject, at))| {
            let (radius, (ring, lift)) = match subject {
                Subject::Point(i) => (radius, ring_round(scene, i)),
                Subject::Harness if hitched => (HARNESS_MM, (HITCHED_RING_MM, 0.0)),
                Subject::Harness => (HARNESS_MM, (HARNESS_RING_MM, 0.0)),
            };
            Closer {
                letter,
                subject,
                at: at - Vec2::new(0.0, lift),
                radius,
                ring,
            }
        })
        .collect()
}

/// Radius of the ring round a point, and how far over the point its middle lies, mm.
fn ring_round(scene: &Scene<'_>, index: usize) -> (f64, f64) {
    let point = &scene.rig.points[index];
    let bare = point.hangs || matches!(point.over, Some(Over::Limb | Over::Stem));
    match wood_of(scene, point).filter(|_| !bare) {
        Some((PieceKind::Stem, ..)) => STEM_RING_MM,
        Some((PieceKind::Limb, ..)) => LIMB_RING_MM,
        None => (POINT_RING_MM, 0.0),
    }
}

/// Draws the rings and their letters in the picture; before labels are placed.
pub fn draw_rings(sheet: &mut Sheet, scene: &Scene<'_>, closer: &[Closer]) {
    for one in closer {
        let ring = circle(one.at, one.ring);
        sheet.add(
            Layer::Detail,
            Shape::stroked(ring.clone(), Stroke::solid(Ink::Ink, 0.35)),
        );
        for outline in Outline::of_stroked_path(&ring, 0.3) {
            sheet.block(Cover::Thin, outline);
        }
    }
    for one in closer {
        let letter = beside(sheet, scene.field, one);
        sheet.letter(Layer::Label, letter);
    }
}

/// The letter of a ring where it covers least: round the ring, left first.
fn beside(sheet: &Sheet, field: Rect, one: &Closer) -> Text {
    const WAYS: [(f64, f64); 8] = [
        (-1.0, 0.0),
        (1.0, 0.0),
        (-0.7, -0.7),
        (0.7, -0.7),
        (-0.7, 0.7),
        (0.7, 0.7),
        (0.0, -1.0),
        (0.0, 1.0),
    ];
    let text = |(x, y): (f64, f64)| {
        let at = one.at + Vec2::new(x, y) * (one.ring + 3.2) + Vec2::new(0.0, 0.36 * BIG_MM);
        Text {
            size_mm: BIG_MM,
            ..Text::new(at, Align::Middle, vec![bold(one.letter, Ink::Ink)])
        }
    };
    let places = WAYS.map(|way| text(way).bounds());
    let around = places.iter().copied().reduce(|a, b| a.union(b));
    let around = around.unwrap_or_default().inset(0.4);
    let near = sheet.obstacles().iter();
    let near = near.filter(|o| rects_meet(o.outline.bounds(), around));
    let near: Vec<&Obstacle> = near.collect();
    let cost = |bounds: Rect| {
        let outside = field.inset(-1.5).intersect(bounds).area() < 0.999 * bounds.area();
        let met = near.iter();
        let met = met.filter(|o| o.outline.meets(bounds.inset(0.4)));
        let cover: f64 = met
            .map(|o| match o.cover {
                Cover::Never => 20.0,
                Cover::Shaft | Cover::Rope => 8.0,
                Cover::Wood => 4.0,
                Cover::Thin => 2.0,
            })
            .sum();
        cover + if outside { 100.0 } else { 0.0 }
    };
    let costs = places.map(cost);
    let best = (0..WAYS.len()).reduce(|a, b| if costs[b] < costs[a] { b } else { a });
    text(WAYS[best.unwrap_or(0)])
}

/// Draws the circles and their names in the column; returns where it ends.
///
/// - `bottom`: where the picture and its key end, mm; the circles are spread over that height.
pub fn draw_column(sheet: &mut Sheet, scene: &Scene<'_>, closer: &[Closer], bottom: f64) -> f64 {
    let tall: f64 = closer.iter().map(|one| 2.0 * one.radius).sum();
    let free = (bottom - 2.0 * TOP_MM - tall) / (closer.len() as f64 - 1.0).max(1.0);
    let gap = free.clamp(GAP_MM.0, GAP_MM.1);
    let mut top = TOP_MM;
    let mut end = 0.0_f64;
    for one in closer {
        let centre = Point::new(
            scene.style.width_mm - SIDE_MM - one.radius,
            top + one.radius,
        );
        let view = match one.subject {
            Subject::Point(i) => closeup::anchor(&anchor_view(scene, i), centre, one.radius),
            Subject::Harness => closeup::harness(&harness_lines(scene), centre, one.radius),
        };
        let id = format!("detail-{}", one.letter.to_ascii_lowercase());
        let under = one.subject == Subject::Harness;
        let low = name_parts(
            sheet,
            &view,
            Window {
                centre,
                radius: one.radius,
                under,
            },
        );
        end = end.max(low + SIDE_MM);
        sheet.add(Layer::Detail, Item::group(id, view.items));
        let corner = centre + Vec2::new(0.74, -0.74) * one.radius + Vec2::new(2.6, 0.0);
        let letter = Text {
            size_mm: BIG_MM,
            ..still(corner, Align::Middle, vec![bold(one.letter, Ink::Ink)])
        };
        sheet.letter(Layer::Label, letter);
        top += 2.0 * one.radius + gap;
    }
    end.max(top - gap + TOP_MM)
}

/// The wood that carries a point: what it is, which way it runs on the sheet, where its middle is.
fn wood_of(scene: &Scene<'_>, point: &RigPoint) -> Option<(PieceKind, Vec2, Option<Point>)> {
    let name = point.on.as_ref()?;
    let piece = scene.rig.tree.pieces.iter().find(|p| p.name == *name);
    let Some(piece) = piece else {
        // Without a tree a rig says which sort of wood it is.
        return match name.as_str() {
            "stem" => Some((PieceKind::Stem, Vec2::new(0.0, -1.0), None)),
            "limb" => Some((PieceKind::Limb, Vec2::new(1.0, 0.0), None)),
            _ => None,
        };
    };
    let along = scene.sheet_direction(piece.to - piece.from);
    let middle = point.at.map(|at| scene.frame.at(nearest_on(piece, at)));
    Some((piece.kind, along, middle))
}

fn nearest_on(piece: &Piece, at: glam::DVec3) -> glam::DVec3 {
    let axis = piece.to - piece.from;
    let share = (at - piece.from).dot(axis) / axis.length_squared().max(f64::MIN_POSITIVE);
    piece.from + axis * share.clamp(0.0, 1.0)
}

/// The lines at a point, and where they go.
fn at_point(scene: &Scene<'_>, index: usize) -> Vec<AtPoint> {
    let here = Node::Point(crate::rig::PointId(index));
    let ways = |line: LineId| -> Vec<Vec2> {
        let spans = scene.solved.spans.iter().filter(|s| s.line == line);
        spans
            .filter_map(|s| match (s.from == here, s.to == here) {
                (true, _) => Some(s.to_at - s.from_at),
                (_, true) => Some(s.from_at - s.to_at),
                _ => None,
            })
            .map(|v| scene.sheet_direction(v))
            .collect()
    };
    let lines = scene.rig.line_ids().filter_map(|id| {
        let ways = ways(id);
        Some(AtPoint {
            index: id.0,
            ways: (*ways.first()?, ways.get(1).copied()),
        })
    });
    lines.collect()
}

fn anchor_view(scene: &Scene<'_>, index: usize) -> AnchorView {
    let point = &scene.rig.points[index];
    let at = scene.frame.at(scene.solved.points[index].at);
    let wood = wood_of(scene, point).filter(|_| !point.hangs);
    let off_wood = match wood {
        Some((.., Some(middle))) => at - middle,
        _ => scene.harness - at,
    };
    let closing = point.fitting.closed_by.as_ref().map(|_| Closing {
        across: scene
            .rig
            .wrong
            .iter()
            .any(|(rule, _)| rule == "cross-loaded"),
        gate_to_rope: point.fitting.gate_to_rope == Some(true),
    });
    AnchorView {
        closing,
        wood: wood.map(|(kind, along, _)| (kind, along)),
        off_wood,
        over: point.over,
        lines: at_point(scene, index),
    }
}

/// The lines at the harness: one entry for each attachment that a line uses.
fn harness_lines(scene: &Scene<'_>) -> Vec<AtHarness> {
    let mut found = Vec::new();
    for facts in &scene.facts {
        let line = scene.rig.line(facts.id);
        let ends: Vec<_> = line.run.iter().filter(|node| is_climber(**node)).collect();
        let way = facts.direction.map(|d| scene.sheet_direction(d));
        let (Some(Node::Climber(first)), Some(way)) = (ends.first(), way) else {
            continue;
        };
        let alike = ends.iter().all(|end| *end == ends[0]);
        let entry = |attachment, doubled, hitched: bool| AtHarness {
            index: facts.id.0,
            attachment,
            way,
            doubled,
            hitch: line.hitch.clone().filter(|_| hitched),
            stopper: hitched && line.assembly.stopper == Some(true),
        };
        if alike {
            found.push(entry(*first, ends.len() > 1, true));
            continue;
        }
        let last = ends.len() - 1;
        for (i, end) in ends.into_iter().enumerate() {
            let Node::Climber(attachment) = *end else {
                continue;
            };
            // From the front, the two ends of a line to a pair leave to their own sides.
            let way = match attachment {
                Attachment::FrontLeft | Attachment::SideLeft => Vec2::new(-0.9, -0.45),
                Attachment::FrontRight | Attachment::SideRight => Vec2::new(0.9, -0.45),
                Attachment::Bridge | Attachment::Centre | Attachment::Rear => way,
            };
            found.push(AtHarness {
                way,
                ..entry(attachment, false, i == last)
            });
        }
    }
    found
}
