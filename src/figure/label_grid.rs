//! Where a label with a leader could stand: a grid of spots round what it is about.

use kurbo::{Point, Rect, Vec2};

use super::label::{LEADER_MM, Spot};
use super::text::{Align, Block};

/// Step of the search for a free block, mm.
const SEARCH_STEP_MM: f64 = 3.0;

/// Spots on a grid round a target, within reach of a leader.
pub struct Grid {
    target: Point,
    from: Point,
    columns: usize,
    rows: usize,
    /// Half the block's width, mm.
    half: f64,
    /// Its height, mm.
    height: f64,
}

impl Grid {
    /// The spots for a block inside a field.
    pub fn new(target: Point, block: &Block, field: Rect) -> Self {
        let (width, height) = (block.width(), block.height());
        let from = Point::new(
            field.x0.max(target.x - LEADER_MM - width),
            field.y0.max(target.y - LEADER_MM - height),
        );
        let columns = ((field.x1 - width).min(target.x + LEADER_MM) - from.x) / SEARCH_STEP_MM;
        let rows = ((field.y1 - height).min(target.y + LEADER_MM) - from.y) / SEARCH_STEP_MM;
        Self {
            target,
            from,
            columns: (columns.max(-1.0) as i32 + 1) as usize,
            rows: (rows.max(-1.0) as i32 + 1) as usize,
            half: width / 2.0,
            height,
        }
    }

    /// Those whose blocks come within so many mm of the target, up or down and across, with their
    /// numbers: row by row from the left upper one.
    pub fn spots(&self, reach_mm: f64) -> impl Iterator<Item = (usize, Spot)> {
        let range = |from: f64, target: f64, size: f64, count: usize| {
            let first = ((target - reach_mm - size - from) / SEARCH_STEP_MM).floor();
            let last = ((target + reach_mm - from) / SEARCH_STEP_MM).ceil();
            // `as` takes negative numbers to 0.
            first as usize..((last + 1.0) as usize).min(count)
        };
        let rows = range(self.from.y, self.target.y, self.height, self.rows);
        let columns = range(self.from.x, self.target.x, 2.0 * self.half, self.columns);
        rows.flat_map(move |row| {
            let numbered = move |column| (row * self.columns + column, self.at(row, column));
            columns.clone().map(numbered)
        })
    }

    fn at(&self, row: usize, column: usize) -> Spot {
        let corner = self.from + Vec2::new(column as f64, row as f64) * SEARCH_STEP_MM;
        let align = if corner.x + self.half < self.target.x {
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
        }
    }
}
