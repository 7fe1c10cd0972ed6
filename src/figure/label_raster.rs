//! What a label would surely cover, said quickly: obstacles as bits of small cells, kind by kind.
//!
//! ```text
//! Obstacle… ─new→ bits of the cells that each kind lies in ─surely, clear→ the least price | nothing near
//! ```
//!
//! A cell wholly inside a label's box that an obstacle lies in means that the label covers it; no such
//! cell under the whole box means that it covers nothing. Between the two the obstacles themselves are asked.

use kurbo::{Rect, Vec2};

use super::hit::{Outline, grown};
use super::label::{Cover, Obstacle};
use super::label_cells::{Cells, Spans, bits};

/// Least sides of a cell, mm: a line of lettering is 3.4 mm high.
const CELL_MM: Vec2 = Vec2::new(1.2, 1.2);

/// Cells across a field, at most: with those beside it, and one more that rounding may make, a bit
/// for each.
const MOST_COLUMNS: f64 = 59.0;

/// Cells beside the field on each side: things that lie outside count to the outer ones.
const MARGIN: f64 = 2.0;

/// A box holds a cell that ends so far inside it, mm: more than rounding.
const INSIDE_MM: f64 = 1e-5;

/// A bit for each cell of a row, for each kind of obstacle.
pub type Band = [u64; Cover::ALL.len()];

/// Cells with the obstacles that lie in them.
pub struct Raster {
    cells: Cells,
    rows: Vec<Band>,
}

impl Raster {
    /// Draws obstacles.
    pub fn new(obstacles: &[Obstacle], field: Rect) -> Self {
        let across = CELL_MM.x.max(field.width() / MOST_COLUMNS);
        let side = Vec2::new(across, CELL_MM.y);
        let cells = Cells::new(field.inflate(MARGIN * side.x, MARGIN * side.y), side);
        let rows = vec![Band::default(); cells.rows];
        let mut raster = Self { cells, rows };
        let mut inside = Vec::new();
        for Obstacle { cover, outline } in obstacles {
            let kind = *cover as usize;
            match outline {
                Outline::Box(rect) => raster.letter(*cover, *rect),
                Outline::Segment(a, b, half) => {
                    let spans = raster.cells.along(*a, *b, half + cover.gap_mm());
                    mark(&mut raster.rows, kind, spans);
                }
                Outline::Filled(points, bounds) => {
                    let outline = (points.as_slice(), *bounds);
                    let drawn = &mut raster.rows;
                    let rows = raster
                        .cells
                        .round(outline, &mut inside, |_, spans| mark(drawn, kind, spans));
                    let inside = &inside[rows.clone()];
                    for (row, inside) in raster.rows[rows].iter_mut().zip(inside) {
                        row[kind] |= inside;
                    }
                }
            }
        }
        raster
    }

    /// Draws a box, with the gap that lettering keeps from it.
    pub fn letter(&mut self, cover: Cover, rect: Rect) {
        let spans = self.cells.under(grown(rect, cover.gap_mm()));
        mark(&mut self.rows, cover as usize, spans);
    }

    /// What lies in the rows of cells that a box holds as a whole.
    pub fn band(&self, rect: Rect) -> Band {
        let mut band = Band::default();
        let rows = self.cells.rows_within(grown(rect, -INSIDE_MM));
        for row in self.rows.get(rows).unwrap_or_default() {
            for (band, row) in band.iter_mut().zip(row) {
                *band |= row;
            }
        }
        band
    }

    /// The columns of cells that a box holds as a whole.
    pub fn strip(&self, rect: Rect) -> u64 {
        self.cells.columns_within(grown(rect, -INSIDE_MM))
    }

    /// Whether nothing at all lies under some boxes; where it says no, something may.
    pub fn clear(&self, boxes: &[Rect]) -> bool {
        boxes.iter().all(|rect| {
            let rect = grown(*rect, Cover::MOST_GAP_MM);
            self.cells.under(rect).all(|(row, first, last)| {
                let row = &self.rows[row];
                row.iter().fold(0, |any, kind| any | kind) & bits(first, last) == 0
            })
        })
    }
}

/// The least that it costs to cover what lies under some boxes.
///
/// - `boxes`: of each [`Raster::band`] and [`Raster::strip`].
pub fn surely(boxes: impl Iterator<Item = (Band, u64)>) -> f64 {
    let mut met = Band::default();
    for (band, strip) in boxes {
        for (met, band) in met.iter_mut().zip(band) {
            *met |= band & strip;
        }
    }
    let mut price = 0.0;
    for (cover, met) in Cover::ALL.into_iter().zip(met) {
        if met != 0 {
            price += cover.cost();
        }
    }
    price
}

fn mark(rows: &mut [Band], kind: usize, spans: Spans) {
    if let Some((row, column)) = spans.single() {
        rows[row][kind] |= 1 << column;
        return;
    }
    for (row, first, last) in spans {
        rows[row][kind] |= bits(first, last);
    }
}
