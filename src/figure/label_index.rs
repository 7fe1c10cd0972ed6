//! What is drawn where: obstacles by the squares of the sheet that they lie in.
//!
//! ```text
//! Obstacle… ─new→ parts (boxes, strokes, edges, insides) by square ─covered, crossed→ what is met
//! ```
//!
//! An outline of hundreds of edges is looked at only where a label is: each square holds the edges
//! that run through it, and says where it lies inside an outline as a whole.

use kurbo::{Point, Rect, Vec2};

use super::hit::{
    Outline, crossings, edges, inside, misses, rect_gap, segment_meets_rect, segments_cross,
};
use super::label::{Cover, Obstacle};

/// Side of a square, mm: about the height of a label of two lines.
const SQUARE_MM: f64 = 6.0;

/// Obstacles by place.
pub struct Index<'a> {
    obstacles: &'a [Obstacle],
    field: Rect,
    columns: usize,
    rows: usize,
    parts: Vec<Part>,
    /// Numbers of parts, square by square; those of square `n` are from `starts[n]` to `starts[n + 1]`.
    held: Vec<u32>,
    starts: Vec<u32>,
    /// Obstacles that were met, and filled ones that may lie under all of a box, in the search that
    /// is under way.
    met: Vec<u32>,
    unsure: Vec<u32>,
}

/// A part of an obstacle.
#[derive(Clone, Copy)]
struct Part {
    /// Number of its obstacle.
    of: u32,
    cover: Cover,
    form: Form,
}

#[derive(Clone, Copy)]
enum Form {
    Box(Rect),
    /// A stroke and half its width.
    Stroke(Point, Point, f64),
    /// An edge of a filled outline.
    Edge(Point, Point),
    /// A square that lies inside a filled outline as a whole.
    Inside,
}

impl<'a> Index<'a> {
    /// Sorts obstacles into the squares of a field.
    pub fn new(obstacles: &'a [Obstacle], field: Rect) -> Self {
        let count = |length: f64| (length / SQUARE_MM).ceil().max(1.0) as usize;
        let (columns, rows) = (count(field.width()), count(field.height()));
        let mut index = Self {
            obstacles,
            field,
            columns,
            rows,
            parts: Vec::with_capacity(2 * obstacles.len()),
            held: Vec::new(),
            starts: vec![0; columns * rows + 1],
            met: Vec::new(),
            unsure: Vec::new(),
        };
        // Square and part, for each pair that meets.
        let mut pairs: Vec<(u32, u32)> = Vec::with_capacity(4 * obstacles.len());
        // What must never be covered comes first: most places fail by it.
        for never in [true, false] {
            for (of, obstacle) in obstacles.iter().enumerate() {
                if (obstacle.cover == Cover::Never) == never {
                    index.sort_in(of, obstacle, &mut pairs);
                }
            }
        }
        for (square, _) in &pairs {
            index.starts[*square as usize + 1] += 1;
        }
        for square in 0..columns * rows {
            index.starts[square + 1] += index.starts[square];
        }
        let mut next = index.starts.clone();
        index.held = vec![0; pairs.len()];
        for (square, part) in pairs {
            let at = &mut next[square as usize];
            index.held[*at as usize] = part;
            *at += 1;
        }
        index
    }

    fn sort_in(&mut self, of: usize, obstacle: &Obstacle, pairs: &mut Vec<(u32, u32)>) {
        let cover = obstacle.cover;
        let of = of as u32;
        let number = self.parts.len() as u32;
        match &obstacle.outline {
            Outline::Box(rect) => {
                let form = Form::Box(*rect);
                self.parts.push(Part { of, cover, form });
                pairs.extend(self.squares(*rect).map(|square| (square as u32, number)));
            }
            Outline::Segment(a, b, half) => {
                let form = Form::Stroke(*a, *b, *half);
                self.parts.push(Part { of, cover, form });
                let squares = self.squares_along(*a, *b, *half);
                pairs.extend(squares.map(|square| (square as u32, number)));
            }
            Outline::Filled(points, bounds) => {
                let form = Form::Inside;
                self.parts.push(Part { of, cover, form });
                let first = pairs.len();
                for (a, b) in edges(points) {
                    let edge = self.parts.len() as u32;
                    let form = Form::Edge(a, b);
                    self.parts.push(Part { of, cover, form });
                    let squares = self.squares_along(a, b, 0.0);
                    pairs.extend(squares.map(|square| (square as u32, edge)));
                }
                // The outermost squares hold edges, so that those inside lie between them.
                let rows = self.row(bounds.y0) + 1..self.row(bounds.y1);
                let columns = self.column(bounds.x0) + 1..self.column(bounds.x1);
                if rows.is_empty() || columns.is_empty() {
                    return;
                }
                let mut on_edge = vec![false; self.columns * self.rows];
                for (square, _) in &pairs[first..] {
                    on_edge[*square as usize] = true;
                }
                for row in rows {
                    let middle = self.field.origin() + Vec2::new(0.5, row as f64 + 0.5) * SQUARE_MM;
                    let crossings: Vec<f64> = crossings(points, middle.y).collect();
                    for column in columns.clone() {
                        let square = row * self.columns + column;
                        let x = middle.x + SQUARE_MM * column as f64;
                        let beyond = crossings.iter().filter(|at| x < **at).count();
                        if beyond % 2 == 1 && !on_edge[square] {
                            pairs.push((square as u32, number));
                        }
                    }
                }
            }
        }
    }

    /// Tells each obstacle that some of the boxes cover, once, until it is told to stop.
    ///
    /// - `gap`: how far boxes keep from an obstacle of a kind, mm; from none farther than from what
    ///   must never be covered.
    pub fn covered(
        &mut self,
        boxes: &[Rect],
        gap: impl Fn(Cover) -> f64,
        mut tell: impl FnMut(Cover) -> bool,
    ) {
        self.met.clear();
        self.unsure.clear();
        let Some(whole) = boxes.iter().copied().reduce(|a, b| a.union(b)) else {
            return;
        };
        let whole = whole.inset(gap(Cover::Never));
        for square in self.squares(whole) {
            for number in self.held_in(square) {
                let part = &self.parts[self.held[number] as usize];
                let gap = gap(part.cover);
                let meets = match part.form {
                    Form::Box(rect) => boxes.iter().any(|b| rect_gap(rect, b.inset(gap)) <= 0.0),
                    Form::Stroke(a, b, half) => {
                        !misses(a, b, whole.inset(half))
                            && boxes
                                .iter()
                                .any(|rect| segment_meets_rect(a, b, rect.inset(gap).inset(half)))
                    }
                    Form::Edge(a, b) => {
                        !misses(a, b, whole)
                            && boxes
                                .iter()
                                .any(|rect| segment_meets_rect(a, b, rect.inset(gap)))
                    }
                    Form::Inside => self.holds_middle(square, boxes),
                };
                if meets {
                    if !self.met.contains(&part.of) {
                        self.met.push(part.of);
                        if !tell(part.cover) {
                            return;
                        }
                    }
                } else if matches!(part.form, Form::Edge(..))
                    && !self.unsure.contains(&part.of)
                    && self.holds_middle(square, boxes)
                {
                    self.unsure.push(part.of);
                }
            }
        }
        self.tell_unsure(
            |points| boxes.iter().any(|b| inside(points, b.center())),
            tell,
        );
    }

    /// Of the outlines that no edge decided about, tells those that `holds`, until it is told to stop.
    fn tell_unsure(
        &mut self,
        holds: impl Fn(&[Point]) -> bool,
        mut tell: impl FnMut(Cover) -> bool,
    ) {
        while let Some(of) = self.unsure.pop() {
            if self.met.contains(&of) {
                continue;
            }
            let obstacle = &self.obstacles[of as usize];
            if let Outline::Filled(points, _) = &obstacle.outline
                && holds(points)
            {
                self.met.push(of);
                if !tell(obstacle.cover) {
                    return;
                }
            }
        }
    }

    /// Tells each obstacle that a stroke crosses, once, until it is told to stop.
    pub fn crossed(
        &mut self,
        (a, b, half): (Point, Point, f64),
        mut tell: impl FnMut(Cover) -> bool,
    ) {
        self.met.clear();
        self.unsure.clear();
        let around = Rect::from_points(a, b);
        let start = self.square_of(a);
        for square in self.squares_along(a, b, half) {
            for number in self.held_in(square) {
                let part = &self.parts[self.held[number] as usize];
                let meets = match part.form {
                    Form::Box(rect) => segment_meets_rect(a, b, rect.inset(half)),
                    Form::Stroke(c, d, _) | Form::Edge(c, d) => {
                        !misses(c, d, around) && segments_cross((a, b), (c, d))
                    }
                    Form::Inside => square == start,
                };
                if meets {
                    if !self.met.contains(&part.of) {
                        self.met.push(part.of);
                        if !tell(part.cover) {
                            return;
                        }
                    }
                } else if square == start
                    && matches!(part.form, Form::Edge(..))
                    && !self.unsure.contains(&part.of)
                {
                    self.unsure.push(part.of);
                }
            }
        }
        self.tell_unsure(|points| inside(points, a), tell);
    }

    fn held_in(&self, square: usize) -> std::ops::Range<usize> {
        self.starts[square] as usize..self.starts[square + 1] as usize
    }

    fn holds_middle(&self, square: usize, boxes: &[Rect]) -> bool {
        boxes.iter().any(|b| self.square_of(b.center()) == square)
    }

    /// The squares that a box lies in.
    fn squares(&self, rect: Rect) -> Squares {
        let from = (self.row(rect.y0), self.column(rect.x0));
        Squares {
            columns: self.columns,
            rows: (from.0, self.row(rect.y1)),
            all: (from.1, self.column(rect.x1)),
            here: (from.1, self.column(rect.x1)),
            stroke: None,
        }
    }

    /// The squares that a stroke lies in, and few others: row by row, those beside which it runs.
    fn squares_along(&self, a: Point, b: Point, half: f64) -> Squares {
        let around = Rect::from_points(a, b).inset(half);
        let mut squares = self.squares(around);
        if squares.rows.0 == squares.rows.1 || squares.all.0 == squares.all.1 {
            return squares;
        }
        let slope = (b.x - a.x) / (b.y - a.y);
        if slope.is_finite() {
            squares.stroke = Some(Stroke {
                a,
                slope,
                half,
                field: self.field,
                up_to: around.y1,
            });
            squares.narrow(around.y0);
        }
        squares
    }

    fn square_of(&self, p: Point) -> usize {
        self.row(p.y) * self.columns + self.column(p.x)
    }

    fn column(&self, x: f64) -> usize {
        column_of(x, self.field, self.columns)
    }

    fn row(&self, y: f64) -> usize {
        (((y - self.field.y0) / SQUARE_MM) as usize).min(self.rows - 1)
    }
}

/// Squares, row by row.
struct Squares {
    /// How many are in a row of the sheet.
    columns: usize,
    /// The row that is under way, and the last one.
    rows: (usize, usize),
    /// First and last column of any row.
    all: (usize, usize),
    /// The next column of this row, and its last.
    here: (usize, usize),
    /// What the rows are narrowed to.
    stroke: Option<Stroke>,
}

/// A stroke that runs through several rows.
struct Stroke {
    a: Point,
    slope: f64,
    half: f64,
    field: Rect,
    /// Its lower end, mm.
    up_to: f64,
}

impl Squares {
    /// Narrows the row under way to where the stroke runs below a height.
    fn narrow(&mut self, from_y: f64) {
        let Some(stroke) = &self.stroke else {
            self.here = self.all;
            return;
        };
        let (row, last) = self.rows;
        let to_y = if row == last {
            stroke.up_to
        } else {
            stroke.field.y0 + SQUARE_MM * (row + 1) as f64 + stroke.half
        };
        let at = |y: f64| stroke.a.x + (y - stroke.a.y) * stroke.slope;
        let (one, other) = (at(from_y), at(to_y));
        let column = |x: f64| column_of(x, stroke.field, self.columns);
        let beside = stroke.half + ROUNDING_MM;
        self.here = (
            self.all.0.max(column(one.min(other) - beside)),
            self.all.1.min(column(one.max(other) + beside)),
        );
    }
}

impl Iterator for Squares {
    type Item = usize;

    fn next(&mut self) -> Option<usize> {
        while self.here.0 > self.here.1 {
            if self.rows.0 == self.rows.1 {
                return None;
            }
            self.rows.0 += 1;
            let from_y = self.stroke.as_ref().map_or(0.0, |stroke| {
                stroke.field.y0 + SQUARE_MM * self.rows.0 as f64 - stroke.half
            });
            self.narrow(from_y);
        }
        let square = self.rows.0 * self.columns + self.here.0;
        self.here.0 += 1;
        Some(square)
    }
}

/// Rounding of a place on a stroke, mm, with much to spare.
const ROUNDING_MM: f64 = 1e-6;

/// The column of a place; what lies outside the field counts to the outer columns: `as` takes negative
/// numbers to 0.
fn column_of(x: f64, field: Rect, columns: usize) -> usize {
    (((x - field.x0) / SQUARE_MM) as usize).min(columns - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether a stroke crosses an outline, by the outline alone.
    fn crosses(outline: &Outline, (a, b, half): (Point, Point, f64)) -> bool {
        match outline {
            Outline::Box(rect) => segment_meets_rect(a, b, rect.inset(half)),
            Outline::Segment(c, d, _) => segments_cross((a, b), (*c, *d)),
            Outline::Filled(points, _) => {
                edges(points).any(|e| segments_cross(e, (a, b))) || inside(points, a)
            }
        }
    }

    #[test]
    fn what_boxes_cover_and_strokes_cross_is_told_once_as_by_the_outlines_alone() {
        let p = Point::new;
        let outlines = [
            Outline::segment(p(-30.0, 2.0), p(200.0, 70.0), 0.4),
            Outline::Box(Rect::new(118.0, 70.0, 140.0, 95.0)),
            Outline::filled(vec![p(20.0, 20.0), p(90.0, 24.0), p(60.0, 130.0)]),
            Outline::segment(p(5.9, 5.9), p(6.1, 6.1), 0.2),
            Outline::segment(p(33.0, -30.0), p(33.0, 44.0), 0.5),
        ];
        let covers = [
            Cover::Rope,
            Cover::Never,
            Cover::Wood,
            Cover::Thin,
            Cover::Shaft,
        ];
        let obstacles: Vec<Obstacle> = covers
            .into_iter()
            .zip(outlines)
            .map(|(cover, outline)| Obstacle { cover, outline })
            .collect();
        let mut index = Index::new(&obstacles, Rect::new(1.5, 1.5, 121.5, 81.5));
        let gap = |cover| if cover == Cover::Never { 0.4 } else { 0.0 };
        let mut found = 0;
        for step in 0..2400 {
            let corner = p(
                f64::from(step % 80) * 1.87 - 9.0,
                f64::from(step / 80) * 3.67 - 9.0,
            );
            let boxes = [
                Rect::from_origin_size(corner, (9.0, 3.5)),
                Rect::from_origin_size(corner + (p(0.0, 4.6) - p(0.0, 0.0)), (5.0, 3.5)),
            ];
            let stroke = (corner, corner + (p(17.0, 11.0) - p(0.0, 0.0)), 0.3);
            let mut covered = Vec::new();
            index.covered(&boxes, gap, |cover| {
                covered.push(cover);
                true
            });
            let mut crossed = Vec::new();
            index.crossed(stroke, |cover| {
                crossed.push(cover);
                true
            });
            for obstacle in &obstacles {
                let (cover, outline) = (obstacle.cover, &obstacle.outline);
                let told = |list: &[Cover]| list.iter().filter(|c| **c == cover).count();
                let meets = boxes.iter().any(|b| outline.meets(b.inset(gap(cover))));
                assert_eq!(told(&covered), usize::from(meets), "{boxes:?} {outline:?}");
                let crosses = crosses(outline, stroke);
                assert_eq!(
                    told(&crossed),
                    usize::from(crosses),
                    "{stroke:?} {outline:?}"
                );
            }
            found += covered.len() + crossed.len();
        }
        assert!(found > 1200, "{found}: little was met");
    }
}
