//! What is drawn already, as labels ask for it.
//!
//! ```text
//! Obstacle…, lettering ─surely, covered, crossed→ what a label there would cover, what its leader would cross
//! ```

use kurbo::{Point, Rect};

use super::hit::{grown, rects_meet, segment_meets_rect};
use super::label::{Cover, Obstacle};
use super::label_index::Index;
use super::label_raster::{self, Raster};

/// So many places are held against every obstacle before the obstacles are sorted: figures with two or
/// three labels ask for no more.
const UNSORTED: usize = 5;

/// Obstacles, and the lettering of earlier turns, which must never be covered.
pub struct Drawn<'a> {
    obstacles: &'a [Obstacle],
    field: Rect,
    lettered: Vec<Rect>,
    /// How many places were asked for.
    asked: usize,
    sorted: Option<(Raster, Index<'a>)>,
}

impl<'a> Drawn<'a> {
    /// Obstacles in a field.
    pub const fn new(obstacles: &'a [Obstacle], field: Rect) -> Self {
        Self {
            obstacles,
            field,
            lettered: Vec::new(),
            asked: 0,
            sorted: None,
        }
    }

    /// Adds boxes of lettering.
    pub fn letter<'b>(&mut self, boxes: impl Iterator<Item = &'b Rect>) {
        for rect in boxes {
            self.lettered.push(*rect);
            if let Some((raster, _)) = &mut self.sorted {
                raster.letter(Cover::Never, *rect);
            }
        }
    }

    /// The least that it costs to cover what lies under the boxes of a label: quickly said.
    pub fn surely(&mut self, boxes: impl Iterator<Item = Rect>) -> f64 {
        self.asked += 1;
        if self.sorted.is_none() && self.asked < UNSORTED {
            return 0.0;
        }
        let raster = self.raster();
        label_raster::surely(boxes.map(|b| (raster.band(b), raster.strip(b))))
    }

    /// The obstacles as bits of cells.
    pub fn raster(&mut self) -> &Raster {
        let (raster, _) = self.sorted.get_or_insert_with(|| {
            let mut raster = Raster::new(self.obstacles, self.field);
            for rect in &self.lettered {
                raster.letter(Cover::Never, *rect);
            }
            (raster, Index::new(self.obstacles, self.field))
        });
        raster
    }

    /// Tells each obstacle that some of the boxes cover, once, until it is told to stop.
    pub fn covered(&mut self, boxes: &[Rect], mut tell: impl FnMut(Cover) -> bool) {
        if let Some((raster, _)) = &self.sorted
            && raster.clear(boxes)
        {
            return;
        }
        let Some(whole) = boxes.iter().copied().reduce(|a, b| a.union(b)) else {
            return;
        };
        let gap = Cover::Never.gap_mm();
        let whole = grown(whole, gap);
        let mut near = self.lettered.iter().filter(|l| rects_meet(**l, whole));
        let meets = |l: &Rect| boxes.iter().any(|b| rects_meet(*l, grown(*b, gap)));
        if near.any(meets) && !tell(Cover::Never) {
            return;
        }
        if let Some((_, index)) = &mut self.sorted {
            return index.covered(boxes, tell);
        }
        for Obstacle { cover, outline } in self.obstacles {
            let gap = cover.gap_mm();
            if boxes.iter().any(|b| outline.meets(grown(*b, gap))) && !tell(*cover) {
                return;
            }
        }
    }

    /// Tells each obstacle that a stroke crosses, once, until it is told to stop; as often as it
    /// crosses lettering, that too.
    pub fn crossed(
        &mut self,
        (a, b, half): (Point, Point, f64),
        mut tell: impl FnMut(Cover) -> bool,
    ) {
        for lettered in &self.lettered {
            if segment_meets_rect(a, b, grown(*lettered, half)) && !tell(Cover::Never) {
                return;
            }
        }
        if let Some((_, index)) = &mut self.sorted {
            return index.crossed((a, b, half), tell);
        }
        for Obstacle { cover, outline } in self.obstacles {
            if outline.under_stroke((a, b, half)) && !tell(*cover) {
                return;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use kurbo::Vec2;
    use proptest::prelude::*;

    use super::*;
    use crate::figure::hit::Outline;

    /// Numbers of the kinds that boxes cover, and of those that a stroke crosses.
    fn met(
        drawn: &mut Drawn<'_>,
        boxes: &[Rect],
        stroke: (Point, Point, f64),
    ) -> (Vec<usize>, Vec<usize>) {
        let (mut covered, mut crossed) = (Vec::new(), Vec::new());
        drawn.covered(boxes, |cover| {
            covered.push(cover as usize);
            true
        });
        drawn.crossed(stroke, |cover| {
            crossed.push(cover as usize);
            true
        });
        covered.sort_unstable();
        crossed.sort_unstable();
        (covered, crossed)
    }

    #[test]
    fn sorted_or_not_the_same_is_met_and_no_more_is_sure() {
        let p = Point::new;
        let outlines = [
            Outline::segment(p(-30.0, 2.0), p(200.0, 70.0), 0.4),
            Outline::Box(Rect::new(108.0, 60.0, 140.0, 95.0)),
            Outline::filled(vec![p(20.0, 20.0), p(90.0, 24.0), p(60.0, 130.0)]),
            Outline::filled(vec![p(100.0, -9.0), p(140.0, 12.0), p(105.0, 20.0)]),
            Outline::segment(p(33.0, -30.0), p(33.0, 44.0), 0.5),
        ];
        let covers = [
            Cover::Rope,
            Cover::Never,
            Cover::Wood,
            Cover::Never,
            Cover::Thin,
        ];
        let obstacles = covers.into_iter().zip(outlines);
        let obstacles: Vec<Obstacle> = obstacles
            .map(|(cover, outline)| Obstacle { cover, outline })
            .collect();
        let field = Rect::new(1.5, 1.5, 121.5, 81.5);
        let lettering = [Rect::new(60.0, 5.0, 75.0, 8.4)];
        let with_lettering = || {
            let mut drawn = Drawn::new(&obstacles, field);
            drawn.letter(lettering.iter());
            drawn
        };
        let mut sorted = with_lettering();
        sorted.raster();
        let (mut sure, mut free) = (0, 0);
        for step in 0..2400 {
            let corner = p(
                1.5 + f64::from(step % 80) * 1.38,
                1.5 + f64::from(step / 80) * 2.4,
            );
            let boxes = [0.0, 4.6].map(|down| {
                let size = (9.0 - down, 3.4);
                Rect::from_origin_size(corner + (0.0, down), size)
            });
            let stroke = (corner, corner + (17.0, 11.0), 0.3);
            let all = met(&mut sorted, &boxes, stroke);
            let unsorted = met(&mut with_lettering(), &boxes, stroke);
            assert_eq!(all, unsorted, "{boxes:?} {stroke:?}");
            let price: f64 = all.0.iter().map(|kind| Cover::ALL[*kind].cost()).sum();
            let least = sorted.surely(boxes.into_iter());
            assert!(least <= price, "{boxes:?} {:?} {least}", all.0);
            sure += usize::from(least > 0.0);
            free += usize::from(all.0.is_empty());
        }
        assert!(sure > 600 && free > 600, "{sure} sure, {free} free");
    }

    /// Outlines about a field, one in three of them far outside it.
    fn outline((form, ends, half): (usize, Vec<(f64, f64)>, f64), field: Rect) -> Outline {
        let p = |(x, y): (f64, f64)| {
            let at = Point::new(field.x0 + x * field.width(), field.y0 + y * field.height());
            // Some corners lie on the borders of cells.
            if form > 3 { at.round() } else { at }
        };
        let points: Vec<Point> = ends.into_iter().map(p).collect();
        match form % 4 {
            0 => Outline::Box(Rect::from_points(points[0], points[1])),
            1 => Outline::segment(points[0], points[1], half),
            2 => Outline::segment(points[0], Point::new(points[1].x, points[0].y), half),
            _ => Outline::filled(points),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1500))]

        #[test]
        fn on_any_field_the_same_is_met_and_no_more_is_sure(
            size in (prop::sample::select(vec![0.5, 9.0, 70.0, 96.0, 700.0]), 1.0..300.0f64),
            outlines in prop::collection::vec(
                (0..8usize, prop::collection::vec((-0.6..1.6f64, -0.6..1.6f64), 3..7), 0.0..2.0f64),
                1..6,
            ),
            covers in prop::array::uniform6(0..Cover::ALL.len()),
            spots in prop::collection::vec((0.0..1.0f64, 0.0..1.0f64), 20),
        ) {
            let field = Rect::from_origin_size((1.5, 1.5), size);
            let covers = covers.into_iter().map(|kind| Cover::ALL[kind]);
            let obstacles = covers.zip(outlines);
            let obstacles: Vec<Obstacle> = obstacles
                .map(|(cover, form)| Obstacle { cover, outline: outline(form, field) })
                .collect();
            let mut sorted = Drawn::new(&obstacles, field);
            sorted.raster();
            for (x, y) in spots {
                // A box in the field, and one more below it where there is room.
                let size = Vec2::new((0.3 * field.width()).min(30.0), (0.2 * field.height()).min(3.4));
                let corner = field.origin() + Vec2::new(
                    x * (field.width() - size.x),
                    y * (field.height() - size.y),
                );
                let upper = Rect::from_origin_size(corner, size.to_size());
                let lower = upper + Vec2::new(0.0, size.y + 0.6);
                let boxes = [upper, if lower.y1 <= field.y1 { lower } else { upper }];
                let stroke = (corner, corner + Vec2::new(17.0, 40.0 * (y - 0.5)), 0.3);
                let all = met(&mut sorted, &boxes, stroke);
                let mut unsorted = Drawn::new(&obstacles, field);
                prop_assert_eq!(&all, &met(&mut unsorted, &boxes, stroke), "{:?}", obstacles);
                let price: f64 = all.0.iter().map(|kind| Cover::ALL[*kind].cost()).sum();
                let least = sorted.surely(boxes.into_iter());
                prop_assert!(least <= price, "{boxes:?} {least} {price} {obstacles:?}");
            }
        }
    }
}
