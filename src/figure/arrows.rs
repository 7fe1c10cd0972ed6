//! Arrows: pulls and weight (filled), loads (hollow), arcs and dimensions (thin).

use kurbo::{BezPath, Point, Vec2};

use super::hit::Outline;
use super::label::Cover;
use super::rope::tracer;
use super::shape::{Ink, Item, Join, Layer, Shape, Stroke};
use super::sheet::{Sheet, polygon, polyline};

/// Width of a shaft, mm.
const SHAFT_MM: f64 = 1.4;
/// Length of a head, mm.
const HEAD_MM: f64 = 4.2;
/// Width of a pull's and of a load's head, mm.
const PULL_HEAD_MM: f64 = 3.6;
const LOAD_HEAD_MM: f64 = 3.8;
/// A head is at most this share of its arrow.
const HEAD_SHARE: f64 = 0.6;
/// A shorter arrow is its head alone, mm.
const HEAD_ALONE_MM: f64 = 3.0;
/// Paper edge round a pull, mm.
const EDGE_MM: f64 = 0.5;
/// Outline of a load, mm.
const OUTLINE_MM: f64 = 0.45;
/// Pale core of a shaft, mm, and the unit of its pattern.
const CORE_MM: f64 = 0.52;
const CORE_UNIT_MM: f64 = 1.25;
/// Head of an arc or dimension: length, width, mm.
pub const THIN_HEAD_MM: (f64, f64) = (2.2, 0.9);

/// What an arrow stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Pull of the line with this index on the climber.
    Pull(usize),
    /// Weight, or the feet's push.
    Weight,
    /// Load on a point, in the colour of the line with this index or in ink.
    Load(Option<usize>),
    /// A missing force.
    Missing,
    /// Any line's pull, in grey, for the key.
    AnyPull,
    /// Any load, in grey, for the key.
    AnyLoad,
}

impl Kind {
    /// Its colour.
    pub const fn ink(self) -> Ink {
        match self {
            Self::Pull(index) | Self::Load(Some(index)) => Ink::line(index),
            Self::Weight | Self::Load(None) => Ink::Ink,
            Self::Missing => Ink::Bad,
            Self::AnyPull | Self::AnyLoad => Ink::Soft,
        }
    }
}

/// An arrow on the sheet: neck and corners of its head, edges of its shaft.
struct Form {
    /// Where the head begins.
    neck: Point,
    /// Left corner, tip, right corner.
    tip: [Point; 3],
    /// From the middle of the shaft to its edge.
    shaft: Vec2,
    /// Whether the head is all there is.
    alone: bool,
}

fn form(kind: Kind, from: Point, to: Point) -> Option<Form> {
    let length = from.distance(to);
    if length < 0.5 {
        return None;
    }
    let along = (to - from) / length;
    let side = Vec2::new(-along.y, along.x);
    let head_width = match kind {
        Kind::Load(_) | Kind::AnyLoad => LOAD_HEAD_MM,
        _ => PULL_HEAD_MM,
    };
    let alone = length < HEAD_ALONE_MM;
    let head = if alone {
        length
    } else {
        HEAD_MM.min(HEAD_SHARE * length)
    };
    let neck = to - along * head;
    let half = side * (head_width / 2.0 * (head / HEAD_MM).max(0.55));
    Some(Form {
        neck,
        tip: [neck + half, to, neck - half],
        shaft: side * (SHAFT_MM / 2.0),
        alone,
    })
}

/// Draws an arrow and says what labels must keep clear of.
pub fn arrow(sheet: &mut Sheet, id: &str, kind: Kind, from: Point, to: Point) {
    let Some(Form {
        neck,
        tip,
        shaft,
        alone,
    }) = form(kind, from, to)
    else {
        return;
    };
    let outline = if alone {
        polygon(&tip)
    } else {
        polygon(&[
            from + shaft,
            neck + shaft,
            tip[0],
            tip[1],
            tip[2],
            neck - shaft,
            from - shaft,
        ])
    };
    let mut items: Vec<Item> = Vec::new();
    let ink = kind.ink();
    if let Kind::Load(_) | Kind::AnyLoad = kind {
        let stroke = Stroke::solid(ink, OUTLINE_MM).join(Join::Miter);
        items.push(Shape::both(outline, Ink::Paper, stroke).into());
    } else {
        let edge = Stroke::solid(Ink::Paper, 2.0 * EDGE_MM);
        items.push(Shape::stroked(outline.clone(), edge).into());
        items.push(Shape::filled(outline, ink).into());
        if let (Kind::Pull(index), false) = (kind, alone) {
            items.extend(core(index, from, neck));
        }
    }
    sheet.add(Layer::Force, Item::group(id, items));
    sheet.block(Cover::Never, Outline::filled(tip.to_vec()));
    sheet.block(Cover::Shaft, Outline::segment(from, neck, SHAFT_MM / 2.0));
}

/// Where the head of an arrow lies; `None` for an arrow too short to be drawn.
pub fn head_outline(kind: Kind, from: Point, to: Point) -> Option<Outline> {
    form(kind, from, to).map(|form| Outline::filled(form.tip.to_vec()))
}

/// The head of a filled arrow once more, over what was drawn on its shaft since.
pub fn head_again(sheet: &mut Sheet, kind: Kind, from: Point, to: Point) {
    if let Some(form) = form(kind, from, to) {
        let head = polygon(&form.tip);
        let edge = Stroke::solid(Ink::Paper, 2.0 * EDGE_MM);
        sheet.add(Layer::Force, Shape::stroked(head.clone(), edge));
        sheet.add(Layer::Force, Shape::filled(head, kind.ink()));
    }
}

/// The pale core of a pull's shaft.
fn core(index: usize, from: Point, neck: Point) -> Option<Item> {
    let stroke = tracer(index, CORE_MM, CORE_UNIT_MM)?;
    let start = from + (neck - from) * (1.2 / from.distance(neck).max(2.4));
    Some(Shape::stroked(polyline(&[start, neck]), stroke).into())
}

/// The thin head of an arc or a dimension line, its tip at `tip`, pointing along `along` (unit).
pub fn thin_head(tip: Point, along: Vec2, ink: Ink) -> Shape {
    let (length, width) = THIN_HEAD_MM;
    let side = Vec2::new(-along.y, along.x) * (width / 2.0);
    let neck = tip - along * length;
    let mut path = BezPath::new();
    path.move_to(tip);
    path.line_to(neck + side);
    path.line_to(neck - side);
    path.close_path();
    Shape::filled(path, ink)
}
