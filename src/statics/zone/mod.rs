//! Where the climber can be held with the feet off.
//!
//! ```text
//! Rig ─box between the anchors→ Grid ─sample→ verdict and pulls at every sample
//!     samples ─trace, each crossing halved to its exact place→ outline, edges, area
//!             ├contour→ curves of equal pull
//!             └reach→ what the hands reach
//! ```
//!
//! A planar rig has one zone, in its plane. A spatial rig has a slice through the climber's place,
//! upright and square to the elevation's view, and a plan at the climber's height. Rigs with
//! hanging points go through [`sweep`] instead of [`sample`], since the places of those points
//! follow from the lines' lengths.

mod contour;
mod plane;
mod reach;
mod sample;
mod sweep;
mod trace;
mod verdict;

use glam::{DVec2, DVec3};

use super::{NotHeld, Zone, ZoneEdge, ZoneField};
use crate::rig::{Node, Rig, Space};
use plane::{Grid, Plane};
use sample::Samples;
pub(crate) use trace::simplified;
use trace::{Blocks, EdgeId};
use verdict::{Judge, fixed_places, ground_m};

/// Halvings that place a crossing between two samples: a cell of 0.02 m to 0.16 mm.
const HALVINGS: usize = 7;

/// How far outlines and contours are simplified, in cells.
const SIMPLE_CELLS: f64 = 0.1;

/// A ring that is thinner than this on average is no area to hang in, in cells: one line alone
/// holds on its plumb line only.
const THIN_CELLS: f64 = 0.5;

/// A reason that holds for fewer crossings than this between two others is a corner, no edge.
const CORNER: usize = 2;

/// The zone of a rig at the climber's place; `None` for a spatial rig with hanging points, which
/// this model does not sweep.
pub(super) fn zone(rig: &Rig, climber: DVec3, points: &[DVec3]) -> Option<Zone> {
    let hanging = rig.points.iter().any(|p| p.hangs);
    match (rig.space, hanging) {
        (Space::Planar, false) => Some(flat(rig, Plane::upright(DVec3::ZERO))),
        (Space::Planar, true) => Some(swept(rig, climber, points)),
        (Space::Spatial, false) => {
            let mut slice = flat(rig, Plane::upright(climber));
            slice.plan = Some(Box::new(flat(rig, Plane::level(climber))));
            Some(slice)
        }
        (Space::Spatial, true) => None,
    }
}

/// The zone in one plane, hanging points apart.
fn flat(rig: &Rig, plane: Plane) -> Zone {
    let (low, high) = held_box(rig, plane);
    let grid = Grid::over(low, high.max(low));
    let mut judge = Judge::new(rig);
    let samples = sample::sample(rig, &mut judge, plane, grid);
    let cross = |edge: &EdgeId, samples: &Samples| {
        let ends = [(edge.i, edge.j), edge.end()];
        let [mut inside, mut outside] = ends.map(|(i, j)| grid.at(i, j));
        let mut why = samples.held[grid.index(ends[1].0, ends[1].1)];
        if why.is_ok() {
            std::mem::swap(&mut inside, &mut outside);
            why = samples.held[grid.index(ends[0].0, ends[0].1)];
        }
        for _ in 0..HALVINGS {
            let middle = (inside + outside) / 2.0;
            match judge.place(plane.place(middle)) {
                Ok(()) => inside = middle,
                not => (outside, why) = (middle, not),
            }
        }
        let why = why.err().unwrap_or(NotHeld::Beyond);
        ((inside + outside) / 2.0, why)
    };
    assemble(rig, plane, grid, samples, cross)
}

/// The zone of a planar rig whose hanging points follow from the lengths.
fn swept(rig: &Rig, climber: DVec3, points: &[DVec3]) -> Zone {
    let plane = Plane::upright(DVec3::ZERO);
    let (low, high) = anchor_box(rig, plane);
    let grid = Grid::over(low, high.max(low));
    let (samples, limits) = sweep::sweep(rig, climber, points, plane, grid);
    let cross = |edge: &EdgeId, samples: &Samples| {
        let (i, j) = edge.end();
        let at = (grid.at(edge.i, edge.j) + grid.at(i, j)) / 2.0;
        let ends = [grid.index(edge.i, edge.j), grid.index(i, j)];
        let why = ends.iter().find_map(|end| samples.held[*end].err());
        let why = match why {
            Some(NotHeld::Beyond) | None => limits.reason_at(at),
            Some(why) => why,
        };
        (at, why)
    };
    assemble(rig, plane, grid, samples, cross)
}

/// A part of an outline between two changes of reason.
struct Stretch {
    at: Vec<DVec2>,
    why: NotHeld,
}

fn assemble(
    rig: &Rig,
    plane: Plane,
    grid: Grid,
    samples: Samples,
    mut cross: impl FnMut(&EdgeId, &Samples) -> (DVec2, NotHeld),
) -> Zone {
    let tolerance = SIMPLE_CELLS * grid.cell_m;
    let inside = |i, j| samples.held[grid.index(i, j)].is_ok();
    // Where corners alternate the two pieces are left apart.
    let blocks = Blocks::of(grid, |i, j| Some(f64::from(u8::from(inside(i, j)))));
    let rings = trace::paths(grid, (&blocks, 0.5), inside, |_, _| false, |_, _| false);
    let (mut outline, mut edges, mut area_m2) = (Vec::new(), Vec::new(), 0.0);
    for ring in rings {
        let (at, why): (Vec<DVec2>, Vec<NotHeld>) =
            ring.edges.iter().map(|edge| cross(edge, &samples)).unzip();
        let mut closed = at.clone();
        closed.extend(at.first().copied());
        let area = trace::area_m2(&closed);
        if 2.0 * area.abs() < THIN_CELLS * grid.cell_m * trace::length_m(&at) {
            continue;
        }
        area_m2 += area;
        let mut whole = Vec::new();
        for stretch in stretches(&at, &why) {
            let path = trace::simplified(&stretch.at, tolerance);
            whole.extend_from_slice(&path[..path.len() - 1]);
            edges.push(ZoneEdge {
                path: path.into_iter().map(|at| plane.place(at)).collect(),
                why: stretch.why,
            });
        }
        outline.push(whole);
    }
    let ground = (plane.up == DVec3::Z).then(|| ground_m(rig));
    let reach = rig.zone.work_reach_m.map_or_else(Vec::new, |reach_m| {
        reach::reach(&outline, reach_m, plane, ground, tolerance)
    });
    let places = |ring: Vec<DVec2>| ring.into_iter().map(|at| plane.place(at)).collect();
    Zone {
        area_m2,
        contours: contour::contours(&samples, plane, grid, tolerance),
        outline: outline.into_iter().map(places).collect(),
        reach,
        edges,
        field: ZoneField {
            origin: plane.place(grid.low),
            across: plane.across,
            up: plane.up,
            cell_m: (grid.cell_m, grid.cell_m),
            size: (grid.across, grid.up),
            held: samples.held,
            pull_n: samples.pull_n,
        },
        plan: None,
    }
}

/// Cuts a ring where the reason changes; each stretch ends where the next begins. Reasons at fewer
/// than [`CORNER`] crossings join the stretch before them.
fn stretches(at: &[DVec2], why: &[NotHeld]) -> Vec<Stretch> {
    let n = at.len();
    let mut runs: Vec<(usize, usize)> = Vec::new();
    let first = (0..n)
        .find(|k| why[*k] != why[(*k + n - 1) % n])
        .unwrap_or(0);
    for k in 0..n {
        let here = (first + k) % n;
        match runs.last_mut() {
            Some((start, count)) if why[*start] == why[here] => *count += 1,
            _ => runs.push((here, 1)),
        }
    }
    let mut joined: Vec<(usize, usize)> = Vec::new();
    for (start, count) in runs {
        match joined.last_mut() {
            Some((before, so_far)) if count < CORNER || why[*before] == why[start] => {
                *so_far += count;
            }
            _ => joined.push((start, count)),
        }
    }
    joined
        .into_iter()
        .map(|(start, count)| Stretch {
            at: (0..=count).map(|k| at[(start + k) % n]).collect(),
            why: why[start],
        })
        .collect()
}

/// The box between the anchors and above the ground: outside it nothing holds, since every pull
/// leads towards an anchor.
fn anchor_box(rig: &Rig, plane: Plane) -> (DVec2, DVec2) {
    let fixed = fixed_places(rig).map(|place| plane.coordinates(place));
    let (mut low, high) = fixed.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), at| {
        (low.min(at), high.max(at))
    });
    let upright = plane.up == DVec3::Z;
    if upright {
        low.y = ground_m(rig);
    }
    let above = upright || plane.origin.z >= ground_m(rig);
    if above && low.is_finite() && high.is_finite() {
        (low, high)
    } else {
        (DVec2::ZERO, DVec2::ZERO)
    }
}

/// The same, no farther from an anchor than a line's longest length.
fn held_box(rig: &Rig, plane: Plane) -> (DVec2, DVec2) {
    let (mut low, mut high) = anchor_box(rig, plane);
    for line in &rig.lines {
        let Some((_, most)) = line.adjust_m else {
            continue;
        };
        let leg = match line.run.as_slice() {
            [Node::Climber(_), Node::Point(id), Node::Climber(_)] => Some((*id, most / 2.0)),
            [Node::Climber(_), Node::Point(id), ..] | [.., Node::Point(id), Node::Climber(_)] => {
                Some((*id, most))
            }
            _ => None,
        };
        let place = leg.and_then(|(id, length)| rig.point(id).at.map(|at| (at, length)));
        if let Some((anchor, length)) = place {
            let anchor = plane.coordinates(anchor);
            low = low.max(anchor - DVec2::splat(length));
            high = high.min(anchor + DVec2::splat(length));
        }
    }
    (low, high)
}
