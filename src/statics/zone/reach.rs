//! What the hands reach from inside the zone: every place within the reach of it, above the ground.

use glam::{DVec2, DVec3};

use super::mesh::{Bounds, CLEARLY_M, Mesh, Sounding, Source};
use super::plane::{Grid, Plane};
use super::rings::{area_m2, rings};
use super::trace::{distance_to_segment, simplified};
use crate::statics::NotHeld;

/// Steps of the grid across the reach.
const STEPS_ACROSS: f64 = 10.0;

/// Most of them along one side, however short the reach: those of a reach of 0.5 m round 100 m.
const MOST_STEPS: f64 = 2000.0;

/// The outlines of the band, with the zone inside it, holes the other way round. `ground_m` is the
/// height where it ends, `None` in a level plane.
pub(super) fn reach(
    outline: &[Vec<DVec2>],
    reach_m: f64,
    plane: Plane,
    ground_m: Option<f64>,
    tolerance_m: f64,
) -> Vec<Vec<DVec3>> {
    let all = outline.iter().flatten();
    let (low, high) = all.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), at| {
        (low.min(*at), high.max(*at))
    });
    if !(low.is_finite() && reach_m > 0.0) {
        return Vec::new();
    }
    let grid = grid_round((low, high), reach_m);
    let mut band = Band {
        outline,
        reach_m,
        ground_m: ground_m.unwrap_or(f64::NEG_INFINITY),
    };
    let mut mesh = Mesh::new(&mut band, grid);
    rings(&mut mesh, tolerance_m)
        .into_iter()
        .map(|ring| simplified(&ring.closed(), tolerance_m))
        .filter(|ring| area_m2(ring).abs() > grid.cell_m * grid.cell_m)
        .map(|ring| {
            let open = &ring[..ring.len() - 1];
            open.iter().map(|at| plane.place(*at)).collect()
        })
        .collect()
}

/// A grid over a box and what is within reach of it.
fn grid_round((low, high): (DVec2, DVec2), reach_m: f64) -> Grid {
    let (low, high) = (low - reach_m, high + reach_m);
    let least_m = (high - low).max_element() / MOST_STEPS;
    Grid::with_cell(low, high, least_m.max(reach_m / STEPS_ACROSS))
}

struct Band<'a> {
    outline: &'a [Vec<DVec2>],
    reach_m: f64,
    ground_m: f64,
}

impl Band<'_> {
    /// How far a place lies within the reach and above the ground, metres, and which of the two is
    /// less. It changes no faster than the place.
    fn margin_m(&self, at: DVec2) -> (f64, NotHeld) {
        let (mut inside, mut nearest) = (false, f64::INFINITY);
        for ring in self.outline {
            let mut a = ring[ring.len() - 1];
            for &b in ring {
                nearest = nearest.min(distance_to_segment(at, a, b));
                if (a.y > at.y) != (b.y > at.y)
                    && at.x < a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x)
                {
                    inside = !inside;
                }
                a = b;
            }
        }
        let within = self.reach_m + if inside { nearest } else { -nearest };
        let above = at.y - self.ground_m;
        match within < above {
            true => (within, NotHeld::Beyond),
            false => (above, NotHeld::Ground),
        }
    }
}

impl Source for Band<'_> {
    fn values(&self) -> usize {
        0
    }

    fn ask(&mut self, at: DVec2, _: &mut [f64]) -> Sounding {
        let (margin, reason) = self.margin_m(at);
        let held = if margin >= 0.0 { Ok(()) } else { Err(reason) };
        Sounding { held, margin }
    }

    fn why(&self, _: DVec2, beyond: NotHeld) -> NotHeld {
        beyond
    }

    fn bounds(&self, low: DVec2, high: DVec2) -> Option<Bounds> {
        let (margin, _) = self.margin_m(low.midpoint(high));
        let radius = low.distance(high) / 2.0;
        (margin >= -radius - CLEARLY_M).then_some(Bounds {
            ways: usize::from(margin < radius),
            thin: false,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_reach_takes_no_more_steps_than_fit() {
        let zone = (DVec2::new(-3.0, 0.0), DVec2::new(7.0, 8.0));
        assert!((grid_round(zone, 0.7).cell_m - 0.07).abs() < 1e-12);
        for reach_m in [1e-9, 0.001, 1e9] {
            let grid = grid_round(zone, reach_m);
            assert!(
                grid.len() < 2010 * 2010,
                "{reach_m}: {} by {}",
                grid.across,
                grid.up
            );
        }
        let square = [(0.0, 0.0), (6.0, 0.0), (6.0, 5.0), (0.0, 5.0)];
        let square = square.map(DVec2::from).to_vec();
        let plane = Plane::upright(DVec3::ZERO);
        let rings = reach(&[square], 0.001, plane, None, 0.0001);
        let round: Vec<DVec2> = rings
            .iter()
            .flatten()
            .map(|at| DVec2::new(at.x, at.z))
            .collect();
        assert_eq!(rings.len(), 1);
        for at in round {
            let outside = (at - DVec2::new(3.0, 2.5)).abs() - DVec2::new(3.0, 2.5);
            assert!((outside.max_element() - 0.001).abs() < 0.0005, "{at}");
        }
    }
}
