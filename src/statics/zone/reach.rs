//! What the hands reach from inside the zone: every place within the reach of it, above the ground.

use glam::{DVec2, DVec3};

use super::contour::crossing;
use super::plane::{Grid, Plane};
use super::trace::{Blocks, area_m2, distance_to_segment, paths, simplified};

/// Samples across the reach: distances run straight between them, so a curve of radius r is off
/// by less than r/500.
const SAMPLES_ACROSS: f64 = 10.0;

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
    let grid = Grid::with_cell(
        low - DVec2::splat(reach_m),
        high + DVec2::splat(reach_m),
        reach_m / SAMPLES_ACROSS,
    );
    let mut away = Vec::with_capacity(grid.len());
    for j in 0..grid.up {
        for i in 0..grid.across {
            let at = grid.at(i, j);
            let mut inside = false;
            let mut nearest = f64::INFINITY;
            for ring in outline {
                for (k, a) in ring.iter().enumerate() {
                    let b = ring[(k + 1) % ring.len()];
                    nearest = nearest.min(distance_to_segment(at, *a, b));
                    if (a.y > at.y) != (b.y > at.y)
                        && at.x < a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x)
                    {
                        inside = !inside;
                    }
                }
            }
            let out = if inside { -nearest } else { nearest };
            let below = ground_m.map_or(f64::NEG_INFINITY, |g| reach_m + (g - at.y));
            away.push(if grid.is_rim(i, j) {
                out.max(below).max(reach_m * (1.0 + f64::EPSILON))
            } else {
                out.max(below)
            });
        }
    }
    let value = |i, j| away[grid.index(i, j)];
    let blocks = Blocks::of(grid, |i, j| Some(-value(i, j)));
    let rings = paths(
        grid,
        (&blocks, -reach_m),
        |i, j| value(i, j) <= reach_m,
        |_, _| false,
        |i, j| {
            let sum = value(i, j) + value(i + 1, j) + value(i, j + 1) + value(i + 1, j + 1);
            sum / 4.0 <= reach_m
        },
    );
    rings
        .iter()
        .map(|ring| {
            let place = |edge| crossing(grid, edge, value, reach_m);
            let mut at: Vec<DVec2> = ring.edges.iter().map(place).collect();
            at.extend(at.first().copied());
            let mut at = simplified(&at, tolerance_m);
            at.pop();
            at
        })
        .filter(|ring| area_m2(ring).abs() > grid.cell_m * grid.cell_m)
        .map(|ring| ring.into_iter().map(|at| plane.place(at)).collect())
        .collect()
}
