//! A field cut into cells: in which of them things lie, row by row.
//!
//! ```text
//! boxes, strokes, closed outlines ─Cells→ row, first and last column…
//! ```

use std::ops::Range;

use kurbo::{Point, Rect, Vec2};

use super::hit::{around, grown};

/// A field cut into cells of one size.
pub struct Cells {
    origin: Point,
    /// How far down the field reaches, mm.
    end: f64,
    /// Cells to a millimetre, across and down.
    per_mm: Vec2,
    /// Sides of a cell, mm.
    side: Vec2,
    /// How many there are across.
    pub columns: usize,
    /// How many there are down.
    pub rows: usize,
}

/// Rounding of a place on a stroke, mm, with much to spare.
const ROUNDING_MM: f64 = 1e-6;

impl Cells {
    /// Cuts a field.
    ///
    /// - `side`: of a cell, across and down, mm.
    pub fn new(field: Rect, side: Vec2) -> Self {
        let count = |length: f64, side: f64| (length / side).ceil().max(1.0) as usize;
        Self {
            origin: field.origin(),
            end: field.y1,
            per_mm: Vec2::new(1.0 / side.x, 1.0 / side.y),
            side,
            columns: count(field.width(), side.x),
            rows: count(field.height(), side.y),
        }
    }

    /// The column of a place; what lies outside the field counts to the outer columns.
    pub fn column(&self, x: f64) -> usize {
        whole((x - self.origin.x) * self.per_mm.x).min(self.columns - 1)
    }

    /// The row of a place, as [`Self::column`].
    pub fn row(&self, y: f64) -> usize {
        whole((y - self.origin.y) * self.per_mm.y).min(self.rows - 1)
    }

    /// The cells that a box lies in.
    pub fn under(&self, rect: Rect) -> Spans {
        Spans {
            row: self.row(rect.y0),
            end: self.row(rect.y1) + 1,
            all: (self.column(rect.x0), self.column(rect.x1)),
            stroke: None,
        }
    }

    /// The rows that lie in a box as a whole, but for some at its upper edge.
    pub fn rows_within(&self, rect: Rect) -> Range<usize> {
        self.row(rect.y0) + 1..self.row(rect.y1)
    }

    /// A bit for each column that lies in a box as a whole, but for some at its left edge.
    pub fn columns_within(&self, rect: Rect) -> u64 {
        first_bits(self.column(rect.x1)) & !first_bits(self.column(rect.x0) + 1)
    }

    /// The cells that a stroke lies in: of each row those beside which it runs.
    ///
    /// - `half`: how far it reaches across, and up and down, beside its middle line, mm.
    pub fn along(&self, a: Point, b: Point, half: f64) -> Spans {
        let around = grown(around(a, b), half);
        let mut spans = self.under(around);
        if spans.row + 1 == spans.end || spans.all.0 == spans.all.1 {
            return spans;
        }
        let slope = (b.x - a.x) / (b.y - a.y);
        if slope.is_finite() {
            let from = (self.origin.y + self.side.y * spans.row as f64 - a.y) * slope;
            // In cells: where its middle line crosses the upper edge of the first row.
            let cells = self.per_mm.x;
            let lean = slope * self.side.y;
            spans.stroke = Some(Stroke {
                at: (a.x + from - self.origin.x) * cells,
                step: lean * cells,
                beside: (half * (1.0 + slope.abs()) + ROUNDING_MM) * cells,
                leaves: around.y0 < self.origin.y || around.y1 > self.end,
            });
        }
        spans
    }

    /// Goes round a closed outline: tells each edge with the cells that it lies in, and returns the
    /// rows that hold any of it.
    ///
    /// - `inside`: takes for these rows a bit for each cell whose middle lies inside, by the even-odd
    ///   rule; of not more than 64 columns.
    pub fn round(
        &self,
        (points, bounds): (&[Point], Rect),
        inside: &mut Vec<u64>,
        mut tell: impl FnMut((Point, Point), Spans),
    ) -> Range<usize> {
        let rows = self.row(bounds.y0)..self.row(bounds.y1) + 1;
        inside.resize(self.rows, 0);
        inside[rows.clone()].fill(0);
        let of = |p: Point| {
            // The cell, and the first row whose middle is not above.
            let y = (p.y - self.origin.y) * self.per_mm.y;
            let row = whole(y).min(self.rows - 1);
            ((row, self.column(p.x)), whole(y + 0.5).min(self.rows))
        };
        let Some(first) = points.first() else {
            return rows;
        };
        let mut from = (*first, of(*first));
        for to in points[1..].iter().chain([first]) {
            let to = (*to, of(*to));
            let ((a, (cell, one)), (b, (other_cell, other))) = (from, to);
            from = to;
            let spans = if cell == other_cell {
                Spans::only(cell)
            } else {
                self.along(a, b, 0.0)
            };
            tell((a, b), spans);
            let crossed = one.min(other)..one.max(other);
            for (row, bits) in crossed.clone().zip(&mut inside[crossed]) {
                let y = self.origin.y + self.side.y * (row as f64 + 0.5);
                let x = a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x);
                let left = whole((x - self.origin.x) * self.per_mm.x + 0.5);
                *bits ^= first_bits(left.min(self.columns));
            }
        }
        rows
    }
}

/// The whole part; 0 for what is negative.
const fn whole(number: f64) -> usize {
    // `as` ends at the least and the largest.
    let whole = number as i32;
    if whole > 0 { whole as usize } else { 0 }
}

/// As many bits as are told, at most 64.
const fn first_bits(count: usize) -> u64 {
    if count < 64 {
        (1 << count) - 1
    } else {
        u64::MAX
    }
}

/// A bit for each column from one to another, of not more than 64.
pub const fn bits(first: usize, last: usize) -> u64 {
    (u64::MAX << first) & (u64::MAX >> (63 - last))
}

/// Cells: row by row the first and the last column.
#[derive(Clone, Copy)]
pub struct Spans {
    /// The next row, and the one after the last.
    row: usize,
    end: usize,
    /// First and last column of any row.
    all: (usize, usize),
    /// What the rows are narrowed to.
    stroke: Option<Stroke>,
}

/// A stroke that runs through several rows, in cells across.
#[derive(Clone, Copy)]
struct Stroke {
    /// Where its middle line crosses the upper edge of the next row.
    at: f64,
    /// How much farther right it crosses the next.
    step: f64,
    /// How far it reaches left and right of its middle line's part in a row.
    beside: f64,
    /// Whether it reaches over or under the field.
    leaves: bool,
}

impl Spans {
    /// Row and column, of a single cell.
    pub const fn single(&self) -> Option<(usize, usize)> {
        if self.row + 1 == self.end && self.all.0 == self.all.1 {
            Some((self.row, self.all.0))
        } else {
            None
        }
    }

    /// A cell, by row and column.
    const fn only((row, column): (usize, usize)) -> Self {
        Self {
            row,
            end: row + 1,
            all: (column, column),
            stroke: None,
        }
    }
}

impl Iterator for Spans {
    type Item = (usize, usize, usize);

    fn next(&mut self) -> Option<(usize, usize, usize)> {
        if self.row == self.end {
            return None;
        }
        let row = self.row;
        self.row += 1;
        let (least, most) = self.all;
        let Some(stroke) = &mut self.stroke else {
            return Some((row, least, most));
        };
        let upper = stroke.at;
        stroke.at += stroke.step;
        let (left, right) = if stroke.step < 0.0 {
            (stroke.at, upper)
        } else {
            (upper, stroke.at)
        };
        let mut columns = (
            whole(left - stroke.beside).clamp(least, most),
            whole(right + stroke.beside).clamp(least, most),
        );
        if stroke.leaves {
            // What lies over or under the field counts to the outer rows.
            let right = stroke.step >= 0.0;
            if row == 0 && right || self.row == self.end && !right {
                columns.0 = least;
            }
            if row == 0 && !right || self.row == self.end && right {
                columns.1 = most;
            }
        }
        Some((row, columns.0, columns.1))
    }
}
