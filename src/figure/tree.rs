//! The tree: tapered stems and limbs true to scale, with bark, hatching, unions and twigs.
//!
//! ```text
//! Tree + Sight ─trunk→ edges, shading, twigs of each ─tree→ twigs, bark of all, then wood and hatching
//! ```
//!
//! The middle line of a piece never moves, so the swing check agrees with the drawing. Unions need no
//! polygon work: the bark of all pieces is stroked first, then all of them are filled, and the inner
//! halves of the edges vanish. Strokes of one kind are one path, to keep files small.

use kurbo::{BezPath, Point, Rect, Shape as _, Vec2};

use super::curve::{joined, polyline, smooth_closed, tenths};
use super::frame::Sight;
use super::seed::Seed;
use super::shape::{Cap, Ink, Item, Shape, Stroke};
use super::trunk::{BARK_MM, sees_end_on, wood};
use crate::rig::{Piece, PieceKind, Tree};

/// Width of hatching, mm.
const GRAIN_MM: f64 = 0.2;

/// What is drawn of a tree, and where it is.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TreeDrawing {
    /// For the wood layer, from the back.
    pub items: Vec<Item>,
    /// Outline of each piece that is seen: its name and its edge on the sheet.
    pub outlines: Vec<(String, BezPath)>,
    /// Boxes round the leaves.
    pub leaves: Vec<Rect>,
}

/// Which wood lies behind the climber: drawn first, paler, and without hatching.
pub type IsFar<'a> = &'a dyn Fn(&Piece) -> bool;

/// Draws all stems and limbs, none of them far; only what shows in `window` (mm) where one is given, as in a close
/// view, so that a file does not carry what its clip hides.
pub fn tree(tree: &Tree, sight: &Sight, window: Option<Rect>) -> TreeDrawing {
    tree_in_depth(tree, sight, window, &|_| false)
}

/// As [`tree`], with far wood behind the rest.
pub fn tree_in_depth(
    tree: &Tree,
    sight: &Sight,
    window: Option<Rect>,
    is_far: IsFar<'_>,
) -> TreeDrawing {
    let mut drawing = TreeDrawing::default();
    for far in [true, false] {
        draw_depth(
            &mut drawing,
            tree,
            (sight, window),
            &|p| is_far(p) == far,
            far,
        );
    }
    drawing
}

/// Draws the pieces of one depth.
fn draw_depth(
    drawing: &mut TreeDrawing,
    tree: &Tree,
    (sight, window): (&Sight, Option<Rect>),
    belongs: IsFar<'_>,
    far: bool,
) {
    let (bark_ink, wood_ink) = if far {
        (Ink::BarkFar, Ink::WoodFar)
    } else {
        (Ink::Bark, Ink::Wood)
    };
    let (mut bark, mut filled, mut discs) = (Vec::new(), Vec::new(), Vec::new());
    for piece in tree.pieces.iter().filter(|piece| belongs(piece)) {
        let id = format!("{}-{}", kind_word(piece.kind), piece.name);
        let Some(drawn) = wood(piece, tree, (sight, window), far) else {
            if sees_end_on(piece, sight) {
                let radius = piece.diameter_m.0 / 2.0 * sight.mm_per_m();
                let (shapes, edge) = end_on(sight.place(piece.from), radius, &piece.name);
                discs.push(Item::group(id, shapes));
                drawing.outlines.push((piece.name.clone(), edge));
            }
            continue;
        };
        if let Some((shapes, bounds)) = &drawn.twigs {
            drawing.items.extend(shapes.iter().cloned().map(Item::from));
            drawing.leaves.push(*bounds);
        }
        let fill = Shape::filled(drawn.outline.clone(), wood_ink);
        let grain = drawn.grain.as_ref().map(|grain| {
            let stroke = Stroke::solid(Ink::Grain, GRAIN_MM);
            Shape::stroked(grain.clone(), stroke)
        });
        filled.push(Item::group(id, std::iter::once(fill).chain(grain)));
        let outline = drawn.outline.clone();
        drawing.outlines.push((piece.name.clone(), outline.clone()));
        bark.push(outline);
    }
    // One by one, so that each outline is written once for its bark and its wood.
    let stroke = Stroke::solid(bark_ink, BARK_MM);
    let bark = bark
        .into_iter()
        .map(|outline| Shape::stroked(outline, stroke.clone()).into());
    drawing.items.extend::<Vec<Item>>(bark.collect());
    drawing.items.append(&mut filled);
    drawing.items.append(&mut discs);
}

const fn kind_word(kind: PieceKind) -> &'static str {
    match kind {
        PieceKind::Stem => "stem",
        PieceKind::Limb => "limb",
    }
}

/// A piece seen along its fibre, with rings off centre; and its edge.
pub fn end_on(centre: Point, radius: f64, name: &str) -> (Vec<Shape>, BezPath) {
    let seed = Seed::new(name);
    let ring = |share: f64, nodes: u32, wobble: f64, lane: u32| {
        let pith = centre + Vec2::new(-0.10, 0.06) * (radius * (1.0 - share));
        let node = |i: u32| {
            let turn = std::f64::consts::TAU * f64::from(i) / f64::from(nodes);
            let r = radius * share * (1.0 + wobble * (2.0 * seed.at(lane + i) - 1.0));
            pith + Vec2::new(libm::cos(turn), libm::sin(turn)) * r
        };
        smooth_closed(&(0..nodes).map(node).collect::<Vec<_>>())
    };
    let edge = ring(1.0, 16, 0.025, 100);
    let bark = if radius < 4.0 { 0.6 } else { 0.9 };
    let shares: &[f64] = match radius {
        r if r < 2.0 => &[0.5],
        r if r < 4.0 => &[0.3, 0.62],
        r if r < 7.0 => &[0.2, 0.4, 0.6, 0.8],
        _ => &[0.16, 0.34, 0.52, 0.7, 0.86],
    };
    let rings = shares
        .iter()
        .zip(0..)
        .map(|(&share, lane)| ring(share, 9, 0.03, 200 + 16 * lane));
    let shapes = vec![
        Shape::both(edge.clone(), Ink::Wood, Stroke::solid(Ink::Bark, bark)),
        Shape::stroked(joined(rings), Stroke::solid(Ink::Grain, 0.25)),
    ];
    (shapes, edge)
}

/// The ground from one side of the figure to the other: a line with groups of slanted strokes.
pub fn ground(y: f64, from_x: f64, to_x: f64) -> Vec<Shape> {
    /// From group to group, and from stroke to stroke, mm.
    const GROUP_MM: f64 = 6.6;
    const STROKE_MM: f64 = 1.15;
    let line = polyline(&[Point::new(from_x, y), Point::new(to_x, y)]);
    let mut strokes = BezPath::new();
    let mut x = from_x + 2.8;
    while x + 2.0 * STROKE_MM < to_x {
        for stroke in 0..3 {
            let top = x + f64::from(stroke) * STROKE_MM;
            strokes.move_to((top, y + 0.5));
            strokes.line_to((top - 1.3, y + 2.1));
        }
        x += GROUP_MM;
    }
    vec![
        Shape::stroked(tenths(strokes), Stroke::solid(Ink::Earth, 0.25)),
        Shape::stroked(line, Stroke::solid(Ink::Earth, 0.5)),
    ]
}

/// The height staff: fields between the given heights on the sheet (mm), filled in turn from the
/// first one. It replaces a length scale; the caller letters it.
pub fn staff(x: f64, heights: &[f64]) -> Vec<Shape> {
    /// Width of the staff, mm.
    const WIDE_MM: f64 = 1.7;
    let (Some(&first), Some(&last)) = (heights.first(), heights.last()) else {
        return Vec::new();
    };
    let field = |a: f64, b: f64| Rect::new(x, a, x + WIDE_MM, b).abs().to_path(0.1);
    let filled = heights
        .windows(2)
        .step_by(2)
        .map(|two| field(two[0], two[1]));
    let edge = Stroke::solid(Ink::Soft, 0.25).cap(Cap::Butt);
    vec![
        Shape::both(field(first, last), Ink::Paper, edge),
        Shape::filled(joined(filled), Ink::Soft),
    ]
}

#[cfg(test)]
mod tests {
    use glam::DVec3;

    use super::*;

    fn piece(name: &str, kind: PieceKind, from: [f64; 3], to: [f64; 3], d: (f64, f64)) -> Piece {
        Piece {
            name: name.into(),
            kind,
            from: from.into(),
            to: to.into(),
            diameter_m: d,
        }
    }

    fn alder() -> Tree {
        let (stem, limb) = (PieceKind::Stem, PieceKind::Limb);
        Tree {
            pieces: vec![
                piece("stem", stem, [0.0, 0.0, 0.0], [0.1, 0.0, 9.0], (0.62, 0.34)),
                piece(
                    "upper",
                    limb,
                    [0.08, 0.0, 7.95],
                    [6.35, 0.0, 8.72],
                    (0.25, 0.1),
                ),
                piece("low", limb, [0.08, 0.0, 1.3], [6.2, 0.0, 3.82], (0.23, 0.1)),
            ],
            ground_m: Some(0.0),
            species: None,
        }
    }

    fn sight() -> Sight {
        Sight::elevation(Point::new(30.0, 134.0), 14.2)
    }

    #[test]
    fn a_limb_covers_the_bark_where_it_grows() {
        let drawing = tree(&alder(), &sight(), None);
        let inside = sight().place(DVec3::new(0.3, 0.0, 7.97));
        let (_, limb) = &drawing.outlines[1];
        assert_ne!(limb.winding(inside), 0);
        assert_eq!(drawing.leaves.len(), 2);
    }

    #[test]
    fn from_above_a_stem_is_a_disc_over_its_limbs() {
        let plan = Sight::plan(Point::new(30.0, 50.0), 14.2);
        let drawing = tree(&alder(), &plan, None);
        let names: Vec<_> = drawing
            .outlines
            .iter()
            .map(|(name, _)| name.as_str())
            .collect();
        assert_eq!(names, ["stem", "upper", "low"]);
        let Some(Item::Group { id, .. }) = drawing.items.last() else {
            panic!("the last item is the disc")
        };
        assert_eq!(id.as_deref(), Some("stem-stem"));
    }

    #[test]
    fn a_close_view_carries_only_what_shows() {
        let near = Sight::elevation(Point::new(30.0, 1340.0), 142.0);
        let size = |window| {
            let drawing = tree(&alder(), &near, window);
            let paths = drawing
                .outlines
                .iter()
                .map(|(_, path)| path.elements().len());
            paths.sum::<usize>()
        };
        let around = near.place(DVec3::new(0.3, 0.0, 7.9));
        let window = Rect::from_center_size(around, (40.0, 40.0));
        assert!(size(Some(window)) * 8 < size(None));
    }

    #[test]
    fn the_staff_fills_fields_in_turn() {
        let shapes = staff(4.0, &[100.0, 90.0, 80.0, 70.0]);
        let fields = shapes[1].path.elements().iter();
        let count = fields
            .filter(|el| matches!(el, kurbo::PathEl::MoveTo(_)))
            .count();
        assert_eq!(count, 2);
    }

    #[test]
    fn ground_strokes_stay_within_the_figure() {
        let bounds = ground(134.0, 4.0, 156.0)[0].path.bounding_box();
        assert!(bounds.x0 >= 4.0 && bounds.x1 <= 156.0);
    }
}
