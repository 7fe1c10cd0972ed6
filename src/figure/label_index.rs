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
    Outline, around, crossings, edges, grown, inside, misses, rects_meet, segment_meets_rect,
    segments_cross,
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
    /// Obstacles that were told, and filled ones that were asked whether they hold a place, in the
    /// search that is under way.
    met: Vec<u32>,
    asked: Vec<u32>,
    /// Boxes of lettering that came later.
    lettered: Vec<Rect>,
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
        let parts = obstacles.iter().map(|o| match &o.outline {
            Outline::Filled(points, _) => points.len() + 1,
            _ => 1,
        });
        let parts: usize = parts.sum();
        let mut index = Self {
            obstacles,
            field,
            columns,
            rows,
            parts: Vec::with_capacity(parts),
            held: Vec::new(),
            starts: vec![0; columns * rows + 1],
            met: Vec::new(),
            asked: Vec::new(),
            lettered: Vec::new(),
        };
        // Square and part, for each pair that meets.
        let mut pairs: Vec<(u32, u32)> = Vec::with_capacity(2 * parts);
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
                pair(pairs, self.squares(*rect), number);
            }
            Outline::Segment(a, b, half) => {
                let form = Form::Stroke(*a, *b, *half);
                self.parts.push(Part { of, cover, form });
                pair(pairs, self.squares_along(*a, *b, *half), number);
            }
            Outline::Filled(points, bounds) => {
                let form = Form::Inside;
                self.parts.push(Part { of, cover, form });
                let first = pairs.len();
                for (a, b) in edges(points) {
                    let edge = self.parts.len() as u32;
                    let form = Form::Edge(a, b);
                    self.parts.push(Part { of, cover, form });
                    pair(pairs, self.squares_along(a, b, 0.0), edge);
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

    /// Adds boxes of lettering, which must never be covered.
    pub fn letter<'b>(&mut self, boxes: impl Iterator<Item = &'b Rect>) {
        self.lettered.extend(boxes);
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
        let Some(whole) = boxes.iter().copied().reduce(|a, b| a.union(b)) else {
            return;
        };
        let whole = grown(whole, gap(Cover::Never));
        let near = self.lettered.iter().filter(|l| rects_meet(**l, whole));
        for lettered in near {
            let gap = gap(Cover::Never);
            let meets = |b: &Rect| rects_meet(*lettered, grown(*b, gap));
            if boxes.iter().any(meets) && !tell(Cover::Never) {
                return;
            }
        }
        for squares in self.squares(whole) {
            for number in self.held_in(squares) {
                let part = &self.parts[self.held[number] as usize];
                let gap = gap(part.cover);
                let meets = match part.form {
                    Form::Box(rect) => boxes.iter().any(|b| rects_meet(rect, grown(*b, gap))),
                    Form::Stroke(a, b, half) => {
                        !misses(a, b, grown(whole, half))
                            && boxes.iter().any(|rect| {
                                segment_meets_rect(a, b, grown(grown(*rect, gap), half))
                            })
                    }
                    Form::Edge(a, b) => {
                        !misses(a, b, whole)
                            && boxes
                                .iter()
                                .any(|rect| segment_meets_rect(a, b, grown(*rect, gap)))
                    }
                    Form::Inside => false,
                };
                if meets && !self.met.contains(&part.of) {
                    self.met.push(part.of);
                    if !tell(part.cover) {
                        return;
                    }
                }
            }
        }
        for b in boxes {
            if !self.tell_under(b.center(), &mut tell) {
                return;
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
        let around = around(a, b);
        for lettered in &self.lettered {
            if segment_meets_rect(a, b, grown(*lettered, half)) && !tell(Cover::Never) {
                return;
            }
        }
        for squares in self.squares_along(a, b, half) {
            for number in self.held_in(squares) {
                let part = &self.parts[self.held[number] as usize];
                let meets = match part.form {
                    Form::Box(rect) => segment_meets_rect(a, b, grown(rect, half)),
                    Form::Stroke(c, d, _) | Form::Edge(c, d) => {
                        !misses(c, d, around) && segments_cross((a, b), (c, d))
                    }
                    Form::Inside => false,
                };
                if meets && !self.met.contains(&part.of) {
                    self.met.push(part.of);
                    if !tell(part.cover) {
                        return;
                    }
                }
            }
        }
        self.tell_under(a, tell);
    }

    /// Tells each filled obstacle that holds a place, of those that were not told yet; whether it
    /// was not told to stop.
    fn tell_under(&mut self, at: Point, mut tell: impl FnMut(Cover) -> bool) -> bool {
        self.asked.clear();
        let square = self.square_of(at);
        for number in self.held_in((square, square)) {
            let part = &self.parts[self.held[number] as usize];
            let may = matches!(part.form, Form::Inside | Form::Edge(..));
            if !may || self.met.contains(&part.of) || self.asked.contains(&part.of) {
                continue;
            }
            self.asked.push(part.of);
            let holds = match &self.obstacles[part.of as usize].outline {
                Outline::Filled(points, _) => {
                    matches!(part.form, Form::Inside) || inside(points, at)
                }
                _ => false,
            };
            if holds {
                self.met.push(part.of);
                if !tell(part.cover) {
                    return false;
                }
            }
        }
        true
    }

    /// What the squares from one to another of its row hold, by its place in `held`.
    fn held_in(&self, (first, last): (usize, usize)) -> std::ops::Range<usize> {
        self.starts[first] as usize..self.starts[last + 1] as usize
    }

    /// The squares that a box lies in, row by row.
    fn squares(&self, rect: Rect) -> Squares {
        let columns = (self.column(rect.x0), self.column(rect.x1));
        Squares {
            columns: self.columns,
            rows: self.row(rect.y0)..self.row(rect.y1) + 1,
            all: columns,
            stroke: None,
        }
    }

    /// The squares that a stroke lies in, and few others: row by row, those beside which it runs.
    fn squares_along(&self, a: Point, b: Point, half: f64) -> Squares {
        let around = grown(around(a, b), half);
        let mut squares = self.squares(around);
        if squares.rows.len() == 1 || squares.all.0 == squares.all.1 {
            return squares;
        }
        let slope = (b.x - a.x) / (b.y - a.y);
        if slope.is_finite() {
            squares.stroke = Some(Stroke {
                a,
                slope,
                half,
                field: self.field,
                heights: (around.y0, around.y1),
                rows: (squares.rows.start, squares.rows.end - 1),
            });
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

/// Puts a part into squares.
fn pair(pairs: &mut Vec<(u32, u32)>, squares: Squares, part: u32) {
    for (first, last) in squares {
        pairs.extend((first..=last).map(|square| (square as u32, part)));
    }
}

/// Squares: of each row the first and the last.
struct Squares {
    /// How many are in a row of the sheet.
    columns: usize,
    /// The rows that are left.
    rows: std::ops::Range<usize>,
    /// First and last column of any row.
    all: (usize, usize),
    /// What the rows are narrowed to.
    stroke: Option<Stroke>,
}

/// A stroke that runs through several rows.
struct Stroke {
    a: Point,
    slope: f64,
    half: f64,
    field: Rect,
    /// Its upper and lower end, mm, and their rows.
    heights: (f64, f64),
    rows: (usize, usize),
}

impl Stroke {
    /// The columns of a row, of `count`, beside which it runs.
    fn columns(&self, row: usize, count: usize) -> (usize, usize) {
        let upper = self.field.y0 + SQUARE_MM * row as f64;
        let from_y = if row == self.rows.0 {
            self.heights.0
        } else {
            upper - self.half
        };
        let to_y = if row == self.rows.1 {
            self.heights.1
        } else {
            upper + SQUARE_MM + self.half
        };
        let at = |y: f64| self.a.x + (y - self.a.y) * self.slope;
        let (one, other) = (at(from_y), at(to_y));
        let column = |x: f64| column_of(x, self.field, count);
        let beside = self.half + ROUNDING_MM;
        (
            column(one.min(other) - beside),
            column(one.max(other) + beside),
        )
    }
}

impl Iterator for Squares {
    type Item = (usize, usize);

    fn next(&mut self) -> Option<(usize, usize)> {
        for row in self.rows.by_ref() {
            let (first, last) = match &self.stroke {
                Some(stroke) => {
                    let beside = stroke.columns(row, self.columns);
                    (self.all.0.max(beside.0), self.all.1.min(beside.1))
                }
                None => self.all,
            };
            if first <= last {
                let start = row * self.columns;
                return Some((start + first, start + last));
            }
        }
        None
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
