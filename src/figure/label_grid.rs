//! Where a label with a leader could stand: a grid of spots round what it is about.

use std::ops::Range;

use kurbo::{Point, Rect, Vec2};

use super::label::Spot;
use super::label_leader::{self as leader, Across, Down, LEADER_MM};
use super::label_raster::{self, Band, Raster};
use super::text::{Align, Lines};

/// Step of the search for a free block, mm.
const SEARCH_STEP_MM: f64 = 3.0;

/// Steps of price in one unit of it: spots that differ by less are asked in any order.
const STEPS: f64 = 32.0;

/// The step of the dearest spots, those at a price of 16 and more.
const LAST_STEP: usize = 16 * STEPS as usize;

/// Spots on a grid round a target, within reach of a leader.
pub struct Grid<'a> {
    target: Point,
    lines: Lines<'a>,
    field: Rect,
    from: Point,
    columns: usize,
    rows: usize,
}

/// Rows and columns of a grid.
pub type Part = (Range<usize>, Range<usize>);

/// What is known of the rows and columns of a part of a grid.
#[derive(Default)]
pub struct Known {
    rows: Vec<Row>,
    columns: Vec<Column>,
    /// What lies at the height of each line of text, row by row.
    bands: Vec<Band>,
    /// Where each line of text lies, column by column.
    strips: Vec<u64>,
}

/// What the spots of a row share.
struct Row {
    /// Where a leader ends down.
    down: Down,
    /// What the row costs; infinite for one that is not inside the field.
    cost: f64,
}

/// What the spots of a column share.
struct Column {
    /// Where a leader ends across.
    across: Across,
    /// What the column costs; infinite for one that is not inside the field.
    cost: f64,
}

impl<'a> Grid<'a> {
    /// The spots for a block inside a field.
    pub fn new(target: Point, lines: Lines<'a>, field: Rect) -> Self {
        let (width, height) = (lines.width(), lines.height());
        let from = Point::new(
            field.x0.max(target.x - LEADER_MM - width),
            field.y0.max(target.y - LEADER_MM - height),
        );
        let columns = ((field.x1 - width).min(target.x + LEADER_MM) - from.x) / SEARCH_STEP_MM;
        let rows = ((field.y1 - height).min(target.y + LEADER_MM) - from.y) / SEARCH_STEP_MM;
        Self {
            target,
            lines,
            field,
            from,
            columns: (columns.max(-1.0) as i32 + 1) as usize,
            rows: (rows.max(-1.0) as i32 + 1) as usize,
        }
    }

    /// The part whose blocks come within so many mm of the target, up or down and across.
    pub fn within(&self, reach_mm: f64) -> Part {
        let range = |from: f64, target: f64, size: f64, count: usize| {
            let first = ((target - reach_mm - size - from) / SEARCH_STEP_MM).floor();
            let last = ((target + reach_mm - from) / SEARCH_STEP_MM).ceil();
            // `as` takes negative numbers to 0.
            let end = ((last + 1.0) as usize).min(count);
            (first as usize).min(end)..end
        };
        let (width, height) = (self.lines.width(), self.lines.height());
        let rows = range(self.from.y, self.target.y, height, self.rows);
        let columns = range(self.from.x, self.target.x, width, self.columns);
        (rows, columns)
    }

    /// Puts the spots of a part that are not in an inner one into a queue, each with the least that it
    /// costs by its leader and by what it surely covers.
    ///
    /// - `limit`: dearer ones are left out.
    /// - `known`: room.
    pub fn ring(
        &self,
        ((rows, columns), (inner_rows, inner_columns)): (&Part, &Part),
        limit: f64,
        raster: &Raster,
        known: &mut Known,
        queue: &mut Queue,
    ) {
        self.look_up((rows, columns), raster, known);
        let count = self.lines.count();
        let bands = known.bands.chunks_exact(count);
        for (row, (down, bands)) in rows.clone().zip(known.rows.iter().zip(bands)) {
            let without = if inner_rows.contains(&row) {
                inner_columns.clone()
            } else {
                columns.end..columns.end
            };
            for part in [columns.start..without.start, without.end..columns.end] {
                let at = part.start - columns.start..part.end - columns.start;
                let strips = known.strips[count * at.start..count * at.end].chunks_exact(count);
                for (column, (across, strips)) in part.zip(known.columns[at].iter().zip(strips)) {
                    let length = (leader::end(across.across, down.down) - self.target).hypot();
                    let least = down.cost + across.cost + leader::price(length);
                    if least > limit || least == f64::INFINITY {
                        continue;
                    }
                    let boxes = bands.iter().copied().zip(strips.iter().copied());
                    let least = least + label_raster::surely(boxes);
                    if least <= limit && least < f64::INFINITY {
                        queue.push(least, row, column);
                    }
                }
            }
        }
    }

    /// Finds out what rows and columns share.
    fn look_up(
        &self,
        (rows, columns): (&Range<usize>, &Range<usize>),
        raster: &Raster,
        known: &mut Known,
    ) {
        let (width, height) = (self.lines.width(), self.lines.height());
        let in_field = |inside: bool| if inside { 0.0 } else { f64::INFINITY };
        known.rows.clear();
        known.bands.clear();
        for row in rows.clone() {
            let spot = self.spot(row, columns.start);
            let ends = (spot.corner.y, spot.corner.y + height);
            let down = leader::down(self.target.y, ends, self.lines.count());
            let inside = ends.0 >= self.field.y0 && ends.1 <= self.field.y1;
            let cost = spot.cost + in_field(inside);
            known.rows.push(Row { down, cost });
            let boxes = self.lines.boxes(spot.corner, spot.align);
            known.bands.extend(boxes.map(|b| raster.band(b)));
        }
        known.columns.clear();
        known.strips.clear();
        for column in columns.clone() {
            let spot = self.spot(rows.start, column);
            let ends = (spot.corner.x, spot.corner.x + width);
            let across = leader::across(self.target.x, ends, spot.align);
            let inside = ends.0 >= self.field.x0 && ends.1 <= self.field.x1;
            let cost = in_field(inside);
            known.columns.push(Column { across, cost });
            let boxes = self.lines.boxes(spot.corner, spot.align);
            known.strips.extend(boxes.map(|b| raster.strip(b)));
        }
    }

    /// The number of a spot: row by row from the left upper one.
    pub const fn number(&self, row: usize, column: usize) -> usize {
        row * self.columns + column
    }

    /// The spot in a row and column.
    pub fn spot(&self, row: usize, column: usize) -> Spot {
        let corner = self.from + Vec2::new(column as f64, row as f64) * SEARCH_STEP_MM;
        let align = if corner.x + self.lines.width() / 2.0 < self.target.x {
            Align::End
        } else {
            Align::Start
        };
        Spot {
            corner,
            align,
            // Upper places win where all else is equal.
            cost: 1e-3 * row as f64,
            leader: true,
            tie: None,
        }
    }
}

/// Spots of a grid by the least that they can cost; to be cleared before its first use.
#[derive(Default)]
pub struct Queue {
    /// Of each step the last spot that came.
    heads: Vec<u32>,
    /// Row and column, and the spot of the same step that came before.
    spots: Vec<(u16, u16, u32)>,
    /// No spot is left in the steps before this one.
    at: usize,
}

const NONE: u32 = u32::MAX;

/// The step of a price.
fn step(price: f64) -> usize {
    ((STEPS * price) as usize).min(LAST_STEP)
}

impl Queue {
    /// Takes all spots out.
    pub fn clear(&mut self) {
        self.heads.clear();
        self.heads.resize(LAST_STEP + 1, NONE);
        self.spots.clear();
        self.at = 0;
    }

    /// Puts a spot in.
    ///
    /// - `least`: what it costs at least; no less than what was asked for last.
    pub fn push(&mut self, least: f64, row: usize, column: usize) {
        let step = step(least);
        debug_assert!(step >= self.at, "a cheaper spot after a dear one");
        let number = self.spots.len() as u32;
        let before = std::mem::replace(&mut self.heads[step], number);
        self.spots.push((row as u16, column as u16, before));
    }

    /// Takes a cheapest spot out: row and column; none that is a step dearer than a price.
    pub fn pop(&mut self, most: f64) -> Option<(usize, usize)> {
        let last = step(most);
        while self.at <= last {
            let head = &mut self.heads[self.at];
            if let Some((row, column, before)) = self.spots.get(*head as usize) {
                *head = *before;
                return Some((usize::from(*row), usize::from(*column)));
            }
            self.at += 1;
        }
        // The last step may be filled on.
        self.at = last;
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shape::Ink;
    use crate::figure::text::{Block, bold, plain};

    #[test]
    fn rings_hold_each_spot_within_reach_once_and_cheap_ones_come_first() {
        let field = Rect::new(1.5, 1.5, 91.5, 121.5);
        let raster = Raster::new(&[], field);
        let words = [bold("line too short", Ink::Ink), plain("main", Ink::Ink)];
        let block = Block::new(words.map(|run| vec![run]).to_vec());
        let mut count = 0;
        for (x, y) in [(40.0, 60.0), (3.0, 2.0), (90.0, 118.0), (120.0, 60.0)] {
            let lines = block.first(2);
            let grid = Grid::new(Point::new(x, y), lines, field);
            let price = |row: usize, column: usize| {
                let spot = grid.spot(row, column);
                let size = (lines.width(), lines.height());
                let whole = Rect::from_origin_size(spot.corner, size);
                let (from, to) = leader::to(grid.target, whole, spot.align, 2);
                spot.cost + leader::price(from.distance(to))
            };
            let (mut known, mut queue) = (Known::default(), Queue::default());
            queue.clear();
            let mut inner = Part::default();
            let mut found = Vec::new();
            for reach in [15.0, LEADER_MM] {
                let part = grid.within(reach + leader::LEADER_GAP_MM);
                grid.ring((&part, &inner), 9.0, &raster, &mut known, &mut queue);
                inner = part;
                found.extend(std::iter::from_fn(|| queue.pop(leader::price(reach))));
            }
            let prices = found.iter().map(|(row, column)| price(*row, *column));
            assert!(prices.map(step).is_sorted(), "{found:?}");
            found.sort_unstable();
            let rows = (0..grid.rows).flat_map(|row| (0..grid.columns).map(move |c| (row, c)));
            let all: Vec<_> = rows.filter(|(row, c)| price(*row, *c) <= 9.0).collect();
            assert_eq!(found, all, "{x} {y}");
            count += all.len();
        }
        assert!(count > 200, "{count}");
    }
}
