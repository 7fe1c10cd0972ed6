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
    Outline, around, grown, inside, misses, rects_meet, segment_meets_rect, segments_cross,
};
use super::label::{Cover, Obstacle};
use super::label_cells::{Cells, Spans, bits};

/// Least side of a square, mm: about the height of a label of two lines.
const SQUARE_MM: f64 = 6.0;

/// Squares across a field, at most: a bit for each.
const MOST_COLUMNS: f64 = 63.0;

/// Obstacles by place.
pub struct Index<'a> {
    obstacles: &'a [Obstacle],
    cells: Cells,
    parts: Vec<Part>,
    /// Numbers of parts, square by square; those of square `n` are from `starts[n]` to `starts[n + 1]`.
    held: Vec<u32>,
    starts: Vec<u32>,
    /// Obstacles that were told, and filled ones that were asked whether they hold a place, in the
    /// search that is under way.
    met: Vec<u32>,
    asked: Vec<u32>,
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
        let across = SQUARE_MM.max(field.width() / (MOST_COLUMNS - 1.0));
        let cells = Cells::new(field, Vec2::new(across, SQUARE_MM));
        let parts = obstacles.iter().map(|o| match &o.outline {
            Outline::Filled(points, _) => points.len() + 1,
            _ => 1,
        });
        let parts: usize = parts.sum();
        let squares = cells.columns * cells.rows;
        let mut index = Self {
            obstacles,
            cells,
            parts: Vec::with_capacity(parts),
            held: Vec::new(),
            starts: vec![0; squares + 1],
            met: Vec::new(),
            asked: Vec::new(),
        };
        // Square and part, for each pair that meets.
        let mut pairs: Vec<(u32, u32)> = Vec::with_capacity(2 * parts);
        let mut room = Room::default();
        // What must never be covered comes first: most places fail by it.
        for never in [true, false] {
            for (of, obstacle) in obstacles.iter().enumerate() {
                if (obstacle.cover == Cover::Never) == never {
                    index.sort_in(of, obstacle, &mut room, &mut pairs);
                }
            }
        }
        for (square, _) in &pairs {
            index.starts[*square as usize + 1] += 1;
        }
        for square in 0..squares {
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

    fn sort_in(
        &mut self,
        of: usize,
        obstacle: &Obstacle,
        room: &mut Room,
        pairs: &mut Vec<(u32, u32)>,
    ) {
        let cover = obstacle.cover;
        let of = of as u32;
        let number = self.parts.len() as u32;
        match &obstacle.outline {
            Outline::Box(rect) => {
                let form = Form::Box(*rect);
                self.parts.push(Part { of, cover, form });
                let spans = self.cells.under(*rect);
                pair(pairs, self.cells.columns, spans, number, |_, _| {});
            }
            Outline::Segment(a, b, half) => {
                let form = Form::Stroke(*a, *b, *half);
                self.parts.push(Part { of, cover, form });
                let spans = self.cells.along(*a, *b, *half);
                pair(pairs, self.cells.columns, spans, number, |_, _| {});
            }
            Outline::Filled(points, bounds) => {
                let form = Form::Inside;
                self.parts.push(Part { of, cover, form });
                let Self { cells, parts, .. } = self;
                let Room { inside, on_edge } = room;
                on_edge.clear();
                on_edge.resize(cells.rows, 0);
                let rows = cells.round((points, *bounds), inside, |(a, b), spans| {
                    let edge = parts.len() as u32;
                    let form = Form::Edge(a, b);
                    parts.push(Part { of, cover, form });
                    pair(pairs, cells.columns, spans, edge, |row, columns| {
                        on_edge[row] |= columns;
                    });
                });
                for row in rows {
                    let mut left = inside[row] & !on_edge[row];
                    while left != 0 {
                        let column = left.trailing_zeros() as usize;
                        left &= left - 1;
                        pairs.push(((row * cells.columns + column) as u32, number));
                    }
                }
            }
        }
    }

    /// Tells each obstacle that some of the boxes cover, once, until it is told to stop.
    pub fn covered(&mut self, boxes: &[Rect], mut tell: impl FnMut(Cover) -> bool) {
        self.met.clear();
        let Some(whole) = boxes.iter().copied().reduce(|a, b| a.union(b)) else {
            return;
        };
        let whole = grown(whole, Cover::MOST_GAP_MM);
        for span in self.cells.under(whole) {
            for number in self.held_in(span) {
                let part = &self.parts[self.held[number] as usize];
                let gap = part.cover.gap_mm();
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
        for span in self.cells.along(a, b, half) {
            for number in self.held_in(span) {
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
        let (row, column) = (self.cells.row(at.y), self.cells.column(at.x));
        for number in self.held_in((row, column, column)) {
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

    /// What the squares of a row from one column to another hold, by its place in `held`.
    fn held_in(&self, (row, first, last): (usize, usize, usize)) -> std::ops::Range<usize> {
        let row = row * self.cells.columns;
        self.starts[row + first] as usize..self.starts[row + last + 1] as usize
    }
}

/// Puts a part into squares.
///
/// - `tell`: is told the rows, with a bit for each square.
fn pair(
    pairs: &mut Vec<(u32, u32)>,
    columns: usize,
    spans: Spans,
    part: u32,
    mut tell: impl FnMut(usize, u64),
) {
    if let Some((row, column)) = spans.single() {
        pairs.push(((row * columns + column) as u32, part));
        tell(row, 1 << column);
        return;
    }
    for (row, first, last) in spans {
        let squares = row * columns + first..row * columns + last + 1;
        pairs.extend(squares.map(|square| (square as u32, part)));
        tell(row, bits(first, last));
    }
}

/// Bits of squares that lie inside an outline, and of those on its edge.
#[derive(Default)]
struct Room {
    inside: Vec<u64>,
    on_edge: Vec<u64>,
}

#[cfg(test)]
mod tests {
    use super::*;

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
            index.covered(&boxes, |cover| {
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
                let meets = boxes.iter().any(|b| outline.meets(b.inset(cover.gap_mm())));
                assert_eq!(told(&covered), usize::from(meets), "{boxes:?} {outline:?}");
                let crosses = outline.under_stroke(stroke);
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
