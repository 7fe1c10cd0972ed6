//! Where the climber can be held with the feet off.
//!
//! ```text
//! Rig ─box between the anchors→ Grid ─Mesh asks Judge or Swept→ leaves, crossings
//!     ─rings→ outline, edges, area
//!     ├contour→ curves of equal pull
//!     ├reach→ what the hands reach
//!     └field→ verdict and pulls on a coarse grid, to read between
//! ```
//!
//! A planar rig has one zone, in its plane. A spatial rig has a slice through the climber's place,
//! upright and square to the elevation's view, and a plan at the climber's height. Rigs with
//! hanging points are asked through [`sweep`] instead of [`verdict`], since the places of those points
//! follow from the lines' lengths.

mod contour;
mod mesh;
mod plane;
mod reach;
mod rings;
mod sweep;
mod trace;
mod two;
mod verdict;

use glam::{DVec2, DVec3};

use super::{NotHeld, Zone, ZoneEdge, ZoneField};
use crate::rig::{Node, Rig, Space};
use mesh::{Mesh, Source};
use plane::{Grid, Plane};
use rings::{area_m2, length_m, rings};
pub(crate) use trace::simplified;
use verdict::{Judge, fixed_places, ground_m};

/// How far outlines and contours are simplified, in cells: at 1:40, 0.05 mm of a figure.
const SIMPLE_CELLS: f64 = 0.1;

/// How far the ring whose area is taken may be from the zone's end, in cells.
const NEAR_CELLS: f64 = 0.02;

/// A ring that is thinner than this on average is no area to hang in, in cells: one line alone
/// holds on its plumb line only.
const THIN_CELLS: f64 = 0.5;

/// A reason that holds for fewer crossings than this between two others is a corner, no edge.
const CORNER: usize = 2;

/// Most samples of a field along one side: what a page reads between.
const FIELD_SAMPLES: usize = 40;

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
    assemble(rig, plane, grid, &mut Judge::new(rig, plane))
}

/// The zone of a planar rig whose hanging points follow from the lengths.
fn swept(rig: &Rig, climber: DVec3, points: &[DVec3]) -> Zone {
    let plane = Plane::upright(DVec3::ZERO);
    let (low, high) = anchor_box(rig, plane);
    let grid = Grid::over(low, high.max(low));
    let mut swept = sweep::sweep(rig, climber, points, plane, grid);
    assemble(rig, plane, grid, &mut swept)
}

/// A part of an outline between two changes of reason.
struct Stretch {
    at: Vec<DVec2>,
    why: NotHeld,
}

fn assemble(rig: &Rig, plane: Plane, grid: Grid, source: &mut impl Source) -> Zone {
    let tolerance = SIMPLE_CELLS * grid.cell_m;
    let field = field(source, plane, grid);
    let mut mesh = Mesh::new(source, grid);
    let (mut outline, mut edges, mut area) = (Vec::new(), Vec::new(), 0.0);
    for ring in rings(&mut mesh, NEAR_CELLS * grid.cell_m) {
        let closed = ring.closed();
        let own_m2 = area_m2(&closed);
        if 2.0 * own_m2.abs() < THIN_CELLS * grid.cell_m * length_m(&closed) {
            continue;
        }
        area += own_m2;
        let mut whole = Vec::new();
        for stretch in stretches(&ring.at, &ring.why) {
            let path = trace::simplified(&stretch.at, tolerance);
            whole.extend_from_slice(&path[..path.len() - 1]);
            edges.push(ZoneEdge {
                path: path.into_iter().map(|at| plane.place(at)).collect(),
                why: stretch.why,
            });
        }
        outline.push(whole);
    }
    let ground = plane.is_upright().then(|| ground_m(rig));
    let reach = rig.zone.work_reach_m.map_or_else(Vec::new, |reach_m| {
        reach::reach(&outline, reach_m, plane, ground, tolerance)
    });
    let contours = match outline.is_empty() {
        true => Vec::new(),
        false => contour::contours(&mut mesh, plane, tolerance),
    };
    let places = |ring: Vec<DVec2>| ring.into_iter().map(|at| plane.place(at)).collect();
    Zone {
        area_m2: area,
        contours,
        outline: outline.into_iter().map(places).collect(),
        reach,
        edges,
        field,
        plan: None,
    }
}

/// Asks at every so many-th place of a grid.
fn field(source: &mut impl Source, plane: Plane, grid: Grid) -> ZoneField {
    let every = |count: usize| count.div_ceil(FIELD_SAMPLES);
    let steps = (every(grid.across), every(grid.up));
    let size = (grid.across.div_ceil(steps.0), grid.up.div_ceil(steps.1));
    let mut held = Vec::with_capacity(size.0 * size.1);
    let mut pulls = vec![f64::NAN; source.values()];
    let mut pull_n = vec![Vec::with_capacity(size.0 * size.1); pulls.len()];
    for j in (0..grid.up).step_by(steps.1) {
        for i in (0..grid.across).step_by(steps.0) {
            let mut sample = source.ask(grid.at(i, j), &mut pulls).held;
            if grid.is_rim(i, j) {
                sample = sample.and(Err(NotHeld::CannotBalance));
            }
            for (to, pull) in pull_n.iter_mut().zip(&pulls) {
                let balanced = sample != Err(NotHeld::CannotBalance);
                to.push(if balanced { *pull as f32 } else { f32::NAN });
            }
            held.push(sample);
        }
    }
    ZoneField {
        origin: plane.place(grid.low),
        across: plane.across,
        up: plane.up,
        cell_m: (grid.cell_m * steps.0 as f64, grid.cell_m * steps.1 as f64),
        size,
        held,
        pull_n,
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
    let upright = plane.is_upright();
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
