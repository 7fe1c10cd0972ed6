//! A drawing while it is made: things by layer, what labels must keep clear of, labels that want a place.
//!
//! ```text
//! add, block, wish … ─settle→ labels placed ─(svg)→ text
//! ```

use std::collections::BTreeMap;

use kurbo::{BezPath, Circle, Point, Rect, RoundedRect, Shape as _, Vec2};

use super::hit::Outline;
use super::label::{self, Cover, Obstacle, Placing, Wish};
use super::shape::{Ink, Item, Layer, Shape, Stroke};
use super::text::{SIZE_MM, Text};

/// Circle and rounded corner accuracy, mm.
const CURVE_MM: f64 = 0.01;

/// Beyond the text on each side of a plate, mm.
const PLATE_EDGE_MM: f64 = 0.6;

/// Stroke of leaders, mm.
const LEADER_MM: f64 = 0.25;

/// Radius of the dot at a leader's target, mm.
const DOT_MM: f64 = 0.55;

/// A drawing in the making.
#[derive(Debug, Default)]
pub struct Sheet {
    layers: BTreeMap<Layer, Vec<Item>>,
    obstacles: Vec<Obstacle>,
    wishes: Vec<Wish>,
    /// Boxes of lettering that has its place, by name.
    lettered: Vec<Rect>,
}

impl Sheet {
    /// Puts a thing on a layer, over what is there.
    pub fn add(&mut self, layer: Layer, item: impl Into<Item>) {
        self.layers.entry(layer).or_default().push(item.into());
    }

    /// Puts things on a layer, from the back.
    pub fn extend(&mut self, layer: Layer, items: impl IntoIterator<Item = impl Into<Item>>) {
        let to = self.layers.entry(layer).or_default();
        to.extend(items.into_iter().map(Into::into));
    }

    /// Takes a named group off a layer again.
    pub fn take_off(&mut self, layer: Layer, name: &str) {
        if let Some(items) = self.layers.get_mut(&layer) {
            items.retain(|item| !matches!(item, Item::Group { id: Some(id), .. } if id == name));
        }
    }

    /// The layers, from the back; empty ones are left out.
    pub fn layers(&self) -> impl Iterator<Item = (Layer, &[Item])> {
        self.layers.iter().map(|(l, items)| (*l, items.as_slice()))
    }

    /// Says what labels pay for covering an outline.
    pub fn block(&mut self, cover: Cover, outline: Outline) {
        self.obstacles.push(Obstacle { cover, outline });
    }

    /// Says what labels pay for covering what these things ink.
    pub fn block_items(&mut self, cover: Cover, items: &[Item]) {
        for item in items {
            match item {
                Item::Shape(shape) => self.block_shape(cover, shape),
                Item::Group { items, .. } => self.block_items(cover, items),
                Item::Text(text) => self.block(Cover::Never, Outline::Box(text.bounds())),
            }
        }
    }

    fn block_shape(&mut self, cover: Cover, shape: &Shape) {
        if shape.fill.is_some() {
            for outline in Outline::of_filled_path(&shape.path) {
                self.block(cover, outline);
            }
        } else if let Some(stroke) = &shape.stroke {
            for outline in Outline::of_stroked_path(&shape.path, stroke.width_mm / 2.0) {
                self.block(cover, outline);
            }
        }
    }

    /// Asks for a place for a label; more important labels first.
    pub fn wish(&mut self, wish: Wish) {
        self.wishes.push(wish);
    }

    /// A line of text that has its place already; later labels keep clear of it.
    pub fn letter(&mut self, layer: Layer, text: Text) {
        let bounds = text.bounds();
        self.block(Cover::Never, Outline::Box(bounds));
        self.lettered.push(bounds);
        self.add(layer, Item::Text(text));
    }

    /// The wishes so far, taken from the sheet to be placed in a turn of their own.
    pub fn wishes(&mut self) -> Vec<Wish> {
        std::mem::take(&mut self.wishes)
    }

    /// Places the labels asked for inside `field`, and returns the wishes that found no place.
    ///
    /// - `plate`: colour behind a label that lies on a stroke.
    pub fn settle(&mut self, field: Rect, plate: Ink) -> Vec<Wish> {
        let wishes = self.wishes();
        let [left_out] = self.settle_in_turn(field, [(wishes, plate)]);
        left_out
    }

    /// As [`Self::settle`], in turns: labels keep clear of those that had their turn.
    pub fn settle_in_turn<const N: usize>(
        &mut self,
        field: Rect,
        turns: [(Vec<Wish>, Ink); N],
    ) -> [Vec<Wish>; N] {
        let wishes = turns.each_ref().map(|(wishes, _)| wishes.as_slice());
        let placings = label::place(&wishes, &self.obstacles, field);
        for ((wishes, plate), placing) in turns.iter().zip(&placings) {
            self.put(wishes, placing, *plate);
        }
        let mut placings = placings.into_iter();
        turns.map(|(wishes, _)| {
            let left_out = placings.next().map(|placing| placing.left_out);
            let left_out = left_out.into_iter().flatten();
            left_out.map(|i| wishes[i].clone()).collect()
        })
    }

    /// Letters the wishes that have a place.
    fn put(&mut self, wishes: &[Wish], placing: &Placing, plate: Ink) {
        for placed in &placing.placed {
            let wish = &wishes[placed.wish];
            if let Some((from, to)) = placed.leader {
                self.add(
                    Layer::Leader,
                    line(from, to, Stroke::solid(Ink::Ink, LEADER_MM)),
                );
                self.add(Layer::Leader, dot(from));
            }
            let mut items: Vec<Item> = Vec::new();
            if placed.plate {
                items.extend(placed.boxes.iter().map(|b| plate_under(*b, plate)));
            }
            let lines = placed.boxes.len();
            let texts = wish.block.texts(placed.corner, placed.align, lines);
            items.extend(texts.into_iter().map(Item::Text));
            self.add(
                Layer::Label,
                Item::group(format!("label-{}", wish.name), items),
            );
            self.lettered.extend(&placed.boxes);
            for text in &placed.boxes {
                self.block(Cover::Never, Outline::Box(*text));
            }
        }
    }

    /// Takes over another sheet whose labels have their places, moved.
    ///
    /// - `suffix`: after every id, for a sheet that shows the same things as its neighbours.
    pub fn take(&mut self, other: &Self, by: Vec2, suffix: &str) {
        for (layer, items) in other.layers() {
            let taken = items.iter().map(|item| moved(item.clone(), by, suffix));
            self.layers.entry(layer).or_default().extend(taken);
        }
        let obstacles = other.obstacles.iter();
        self.obstacles.extend(obstacles.map(|o| Obstacle {
            cover: o.cover,
            outline: o.outline.moved(by),
        }));
        self.lettered.extend(other.lettered.iter().map(|b| *b + by));
    }

    /// Boxes of all lettering placed so far, mm; for tests of overlap and clipping.
    pub fn lettering(&self) -> &[Rect] {
        &self.lettered
    }

    /// What labels had to keep clear of; for tests.
    pub fn obstacles(&self) -> &[Obstacle] {
        &self.obstacles
    }
}

/// A thing at another place, its strokes as they are, `suffix` after its ids.
pub fn moved(item: Item, by: Vec2, suffix: &str) -> Item {
    let shift = kurbo::Affine::translate(by);
    match item {
        Item::Shape(shape) => Item::Shape(Shape {
            path: shift * shape.path,
            ..shape
        }),
        Item::Group { id, clip, items } => Item::Group {
            id: id.map(|id| format!("{id}{suffix}")),
            clip: clip.map(|path| shift * path),
            items: items.into_iter().map(|i| moved(i, by, suffix)).collect(),
        },
        Item::Text(text) => Item::Text(Text {
            at: text.at + by,
            ..text
        }),
    }
}

/// A straight stroke.
pub fn line(from: Point, to: Point, stroke: Stroke) -> Item {
    Shape::stroked(polyline(&[from, to]), stroke).into()
}

/// A polyline of one point at least, with the lengths of its steps.
pub struct Way<'a> {
    points: &'a [Point],
    steps: Vec<f64>,
    /// Length of the whole, mm.
    pub long: f64,
}

impl<'a> Way<'a> {
    /// Measures the steps.
    pub fn new(points: &'a [Point]) -> Self {
        let steps: Vec<f64> = points.windows(2).map(|s| s[0].distance(s[1])).collect();
        Self {
            long: steps.iter().sum(),
            points,
            steps,
        }
    }

    /// The place at a share of its length, and the direction there.
    pub fn at(&self, share: f64) -> (Point, Vec2) {
        let mut left = share * self.long;
        for (two, step) in self.points.windows(2).zip(&self.steps) {
            if *step >= left && *step > 0.0 {
                let way = (two[1] - two[0]) / *step;
                return (two[0] + way * left, way);
            }
            left -= step;
        }
        (self.points[self.points.len() - 1], Vec2::new(1.0, 0.0))
    }
}

/// A path through points.
pub fn polyline(points: &[Point]) -> BezPath {
    let mut path = BezPath::with_capacity(points.len() + 1);
    for (i, p) in points.iter().enumerate() {
        if i == 0 {
            path.move_to(*p);
        } else {
            path.line_to(*p);
        }
    }
    path
}

/// A closed path through points.
pub fn polygon(points: &[Point]) -> BezPath {
    let mut path = polyline(points);
    path.close_path();
    path
}

/// A box as a path.
pub fn rect_path(rect: Rect) -> BezPath {
    rect.to_path(CURVE_MM)
}

/// A circle as a path.
pub fn circle_path(centre: Point, radius: f64) -> BezPath {
    Circle::new(centre, radius).to_path(CURVE_MM)
}

/// The dot at a leader's target.
pub fn dot(at: Point) -> Item {
    let path = circle_path(at, DOT_MM);
    Shape::both(path, Ink::Ink, Stroke::solid(Ink::Paper, 0.2)).into()
}

/// A plate behind the box of a text.
pub fn plate_under(text: Rect, ink: Ink) -> Item {
    let plate = Rect::new(
        text.x0 - PLATE_EDGE_MM,
        text.y0,
        text.x1 + PLATE_EDGE_MM,
        text.y1,
    );
    let path = RoundedRect::from_rect(plate, PLATE_EDGE_MM).to_path(CURVE_MM);
    debug_assert!(text.height() < 2.0 * SIZE_MM, "one line of text");
    Shape::filled(path, ink).into()
}
