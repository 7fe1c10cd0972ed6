//! What is drawn where: obstacles by the squares of the sheet that they lie in.

use kurbo::{Point, Rect};

use super::hit::{Outline, rect_gap};
use super::label::Obstacle;

/// Side of a square, mm: about the height of a label of two lines.
const SQUARE_MM: f64 = 6.0;

/// Room for what is near, before more is asked for.
const FEW: usize = 96;

/// Beyond any sheet, mm: the outer squares take in what lies outside the field.
const BEYOND_MM: f64 = 1e5;

/// Obstacles by place.
pub struct Index<'a> {
    obstacles: Vec<(Rect, &'a Obstacle)>,
    field: Rect,
    columns: usize,
    rows: usize,
    /// For each square, row by row, the numbers of the obstacles that meet it, ascending.
    squares: Vec<Vec<u32>>,
}

impl<'a> Index<'a> {
    /// Sorts obstacles into the squares of a field.
    pub fn new(obstacles: &'a [Obstacle], field: Rect) -> Self {
        let count = |length: f64| (length / SQUARE_MM).ceil().max(1.0) as usize;
        let (columns, rows) = (count(field.width()), count(field.height()));
        let mut index = Self {
            obstacles: obstacles.iter().map(|o| (o.outline.bounds(), o)).collect(),
            field,
            columns,
            rows,
            squares: vec![Vec::new(); columns * rows],
        };
        for (number, obstacle) in obstacles.iter().enumerate() {
            let around = obstacle.outline.bounds();
            for (column, row) in index.range(around) {
                if obstacle.outline.meets(index.square(column, row)) {
                    index.squares[row * columns + column].push(number as u32);
                }
            }
        }
        index
    }

    /// The obstacles that can meet a box, in their order.
    pub fn near(&self, rect: Rect) -> impl Iterator<Item = &'a Obstacle> {
        let mut numbers = Vec::with_capacity(FEW);
        for (column, row) in self.range(rect) {
            numbers.extend_from_slice(&self.squares[row * self.columns + column]);
        }
        self.those(numbers, rect)
    }

    /// The obstacles that can meet a stroke, in their order.
    pub fn along(&self, stroke: &Outline) -> impl Iterator<Item = &'a Obstacle> {
        let around = stroke.bounds();
        let mut numbers = Vec::with_capacity(FEW);
        for (column, row) in self.range(around) {
            let here = &self.squares[row * self.columns + column];
            if !here.is_empty() && stroke.meets(self.square(column, row)) {
                numbers.extend_from_slice(here);
            }
        }
        self.those(numbers, around)
    }

    fn those(&self, mut numbers: Vec<u32>, around: Rect) -> impl Iterator<Item = &'a Obstacle> {
        let meets = |n: &u32| rect_gap(self.obstacles[*n as usize].0, around) <= 0.0;
        numbers.retain(meets);
        numbers.sort_unstable();
        numbers.dedup();
        let all = numbers.into_iter();
        all.map(|n| self.obstacles[n as usize].1)
    }

    /// The squares that a box lies in.
    fn range(&self, rect: Rect) -> impl Iterator<Item = (usize, usize)> + use<> {
        let from = self.place(rect.origin());
        let to = self.place(Point::new(rect.x1, rect.y1));
        (from.1..=to.1).flat_map(move |row| (from.0..=to.0).map(move |column| (column, row)))
    }

    fn place(&self, p: Point) -> (usize, usize) {
        // What lies before the field counts to the first square: `as` takes negative numbers to 0.
        let number = |x: f64, last: usize| ((x / SQUARE_MM) as usize).min(last);
        let (x, y) = (p.x - self.field.x0, p.y - self.field.y0);
        (number(x, self.columns - 1), number(y, self.rows - 1))
    }

    fn square(&self, column: usize, row: usize) -> Rect {
        let edge = |from: f64, number: usize, count: usize| {
            let low = from + SQUARE_MM * number as f64;
            let before = if number == 0 { BEYOND_MM } else { 0.0 };
            let after = if number + 1 == count { BEYOND_MM } else { 0.0 };
            (low - before, low + SQUARE_MM + after)
        };
        let (x0, x1) = edge(self.field.x0, column, self.columns);
        let (y0, y1) = edge(self.field.y0, row, self.rows);
        Rect::new(x0, y0, x1, y1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::label::Cover;

    #[test]
    fn what_meets_a_box_or_a_stroke_is_found_and_little_else() {
        let p = Point::new;
        let outlines = [
            Outline::segment(p(-30.0, 2.0), p(200.0, 70.0), 0.4),
            Outline::Box(Rect::new(118.0, 70.0, 140.0, 95.0)),
            Outline::filled(vec![p(20.0, 20.0), p(90.0, 24.0), p(60.0, 130.0)]),
            Outline::segment(p(5.9, 5.9), p(6.1, 6.1), 0.2),
        ];
        let obstacles = outlines.map(|outline| Obstacle {
            cover: Cover::Rope,
            outline,
        });
        let index = Index::new(&obstacles, Rect::new(1.5, 1.5, 121.5, 81.5));
        let mut found = 0;
        for step in 0..600 {
            let corner = p(
                f64::from(step % 40) * 3.7 - 9.0,
                f64::from(step / 40) * 7.3 - 9.0,
            );
            let rect = Rect::from_origin_size(corner, (9.0, 3.5));
            let stroke = Outline::segment(corner, corner + (p(17.0, 11.0) - p(0.0, 0.0)), 0.3);
            let near: Vec<_> = index.near(rect).collect();
            let along: Vec<_> = index.along(&stroke).collect();
            for obstacle in &obstacles {
                let is_in = |list: &[&Obstacle]| list.iter().any(|o| std::ptr::eq(*o, obstacle));
                let outline = &obstacle.outline;
                assert!(!outline.meets(rect) || is_in(&near), "{rect:?} {outline:?}");
                assert!(
                    !outline.meets_line(&stroke) || is_in(&along),
                    "{stroke:?} {outline:?}"
                );
            }
            found += near.len() + along.len();
        }
        assert!(found < 600 * 4, "{found}: nearly everything is looked at");
    }
}
