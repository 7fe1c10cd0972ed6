//! The way of the harness point when the remaining lines swing it: down to its resting place and
//! on to the height where it started.
//!
//! ```text
//! start, lengths, rest ─down (steepest way the lines allow)→ rest ─on (straight ahead)→ path
//! path + tree ─strike→ the wood or ground that it meets first
//! ```
//!
//! The path lies on the edge of what the lengths allow: on a circle while one line is taut, on
//! the next one when another takes over. While every line is slack the climber falls straight
//! down. Nothing is lost on the way, so the far side ends at the height of the start.

use glam::DVec3;

use super::hung::farthest;
use super::layout::{HARNESS, Layout};
use super::least::{Rows, non_negative, shortest};
use super::{STANDARD_GRAVITY, Strike};
use crate::rig::{Piece, Tree};

/// Steps from the start to the rest along the straight way: a figure's curve needs no more.
const STEPS: usize = 64;

/// Steps of one side before it ends where it is; a curve is at most a few times the straight way.
const MOST_STEPS: usize = 20 * STEPS;

/// A line shorter than its length by less than this is taut: metres.
const TAUT_M: f64 = 1e-9;

/// A drop below this is no swing: metres.
const NO_SWING_M: f64 = 1e-6;

/// A way on whose size is below this is none: dimensionless.
const NO_WAY: f64 = 1e-6;

/// A line that resists a way by less than this does not: dimensionless, a little above rounding.
const NO_PULL: f64 = 1e-13;

/// Corrections that bring a step back onto the lines; each gains half the digits again.
const CORRECTIONS: usize = 12;

/// Pieces of a path between two strike checks: metres. A limb's radius is above it.
const CHECK_M: f64 = 0.01;

/// Far above what rounding leaves of a way along a path, far below a check: metres.
const ROUNDING_M: f64 = 1e-6;

/// Halvings that place the end of a path within a step, or a strike within a check.
const HALVINGS: usize = 40;

/// Name under which the ground is struck.
const GROUND: &str = "ground";

/// A rig without the line that went, its places at the start, the lengths that its lines keep.
pub(crate) struct Swing<'a> {
    pub layout: &'a Layout,
    pub places: &'a [DVec3],
    pub lengths_m: &'a [f64],
    pub rest: DVec3,
}

impl Swing<'_> {
    /// The path: harness points from the start, through the rest, to the mirror height.
    pub fn path(&self) -> Vec<DVec3> {
        let start = self.places[HARNESS];
        if start.z - self.rest.z < NO_SWING_M {
            return vec![start];
        }
        if self.hangs_by_points() {
            self.path_by_edge()
        } else {
            self.path_by_steps()
        }
    }

    /// Whether hanging points take part, so that the edge is not a function of the harness alone.
    fn hangs_by_points(&self) -> bool {
        let others = self.layout.free.iter().filter(|s| **s != HARNESS);
        others.clone().any(|s| self.layout.are_joined(HARNESS, *s))
    }

    fn path_by_steps(&self) -> Vec<DVec3> {
        let start = self.places[HARNESS];
        let step = start.distance(self.rest) / STEPS as f64;
        let mut path = vec![start];
        let mut at = start;
        for _ in 0..MOST_STEPS {
            if at.distance(self.rest) <= 1.5 * step {
                break;
            }
            let Some(way) = self.way(at, -DVec3::Z) else {
                break;
            };
            let next = self.restore(at + way * step);
            if next.z > at.z {
                break;
            }
            at = next;
            path.push(at);
        }
        let mut ahead = (self.rest - at).normalize_or_zero();
        at = self.rest;
        path.push(at);
        for _ in 0..MOST_STEPS {
            let Some(way) = self.way(at, ahead) else {
                break;
            };
            let next = self.restore(at + way * step);
            let gone = next - at;
            if gone.length() < NO_WAY * step {
                break;
            }
            if next.z >= start.z {
                let (mut below, mut above) = (0.0, step);
                for _ in 0..HALVINGS {
                    let middle = f64::midpoint(below, above);
                    match self.restore(at + way * middle).z >= start.z {
                        true => above = middle,
                        false => below = middle,
                    }
                }
                path.push(self.restore(at + way * above));
                break;
            }
            ahead = gone.normalize();
            at = next;
            path.push(at);
        }
        path
    }

    /// Parts that meet the harness, with what each is longer than allowed and how that grows with
    /// the harness's place.
    fn stretches(&self, at: DVec3) -> impl Iterator<Item = (f64, DVec3)> + '_ {
        self.layout
            .parts
            .iter()
            .zip(self.lengths_m)
            .filter_map(move |(part, length)| {
                let (mut sum, mut slope, mut meets) = (-length, DVec3::ZERO, false);
                for span in part.spans.clone() {
                    let ends = self.layout.spans[span];
                    let place = |spot: usize| {
                        if spot == HARNESS {
                            at
                        } else {
                            self.places[spot]
                        }
                    };
                    let along = place(ends.to) - place(ends.from);
                    sum += along.length();
                    if ends.to == HARNESS {
                        slope += along.normalize_or_zero();
                        meets = true;
                    }
                    if ends.from == HARNESS {
                        slope -= along.normalize_or_zero();
                        meets = true;
                    }
                }
                meets.then_some((sum, slope))
            })
    }

    /// The wanted way as far as the taut lines let it go, unit length; `None` where they stop it.
    fn way(&self, at: DVec3, wanted: DVec3) -> Option<DVec3> {
        let taut = self.stretches(at).filter(|(over, _)| *over > -TAUT_M);
        let mut taut = taut.map(|(_, slope)| slope);
        let Some(first) = taut.next() else {
            return wanted.try_normalize();
        };
        let stopped = match taut.next() {
            None => stopped_by_one(first, wanted),
            Some(second) => {
                let taut: Vec<DVec3> = [first, second].into_iter().chain(taut).collect();
                stopped_by_all(&taut, wanted)
            }
        };
        let way = wanted - stopped;
        (way.length() > NO_WAY).then(|| way.normalize())
    }

    /// Brings a place that stretches lines back to where none is.
    fn restore(&self, mut at: DVec3) -> DVec3 {
        for _ in 0..CORRECTIONS {
            let stretched = || self.stretches(at).filter(|(over, _)| *over > 0.0);
            let is_slight = |over: f64| over <= TAUT_M / 100.0;
            let mut lines = stretched();
            at += match (lines.next(), lines.next()) {
                (None, _) => break,
                (Some((over, _)), None) if is_slight(over) => break,
                (Some((over, slope)), None) => back_by_one(over, slope),
                _ if stretched().all(|(over, _)| is_slight(over)) => break,
                _ => back_by_all(stretched()),
            };
        }
        at
    }

    /// With hanging points: the farthest places at each height, on the start's side going down
    /// and on the other side going up.
    fn path_by_edge(&self) -> Vec<DVec3> {
        let start = self.places[HARNESS];
        let across = DVec3 {
            z: 0.0,
            ..self.rest - start
        };
        let Some(ahead) = across.try_normalize() else {
            return vec![start, self.rest];
        };
        let steps = STEPS / 4;
        let edge = |share: f64, towards: DVec3| {
            let height = self.rest.z + (start.z - self.rest.z) * share * share;
            farthest(self.layout, self.places, self.lengths_m, towards, height)
        };
        let mut path = vec![start];
        for i in (1..steps).rev() {
            let share = i as f64 / steps as f64;
            let before = path[path.len() - 1];
            if let Some(at) = edge(share, -ahead) {
                // Never back out: where the edge lies farther out than the way come, it falls.
                let gone = (at - before).dot(ahead);
                path.push(if gone >= 0.0 {
                    at
                } else {
                    DVec3 { z: at.z, ..before }
                });
            }
        }
        path.push(self.rest);
        for i in 1..=steps {
            path.extend(edge(i as f64 / steps as f64, ahead));
        }
        path
    }
}

/// What one taut line takes of a wanted way: the part along it, if it leads on.
fn stopped_by_one(slope: DVec3, wanted: DVec3) -> DVec3 {
    if slope.dot(wanted) <= NO_PULL {
        return DVec3::ZERO;
    }
    let length = slope.length();
    DVec3::ZERO + slope * ((slope / length).dot(wanted) / length)
}

/// What taut lines, which only pull, take of a wanted way so that the least of it is left.
fn stopped_by_all(slopes: &[DVec3], wanted: DVec3) -> DVec3 {
    let mut a = Rows::new(slopes.len());
    for axis in 0..3 {
        for (to, slope) in a.push().iter_mut().zip(slopes) {
            *to = slope[axis];
        }
    }
    let held = non_negative(&a, &wanted.to_array());
    slopes.iter().zip(&held).map(|(s, h)| *s * *h).sum()
}

/// The shortest step that takes its stretch out of one line.
fn back_by_one(over: f64, slope: DVec3) -> DVec3 {
    let length = slope.length();
    if length > 0.0 {
        let way = slope / length;
        way * (-over / slope.dot(way))
    } else {
        DVec3::ZERO
    }
}

/// The same for several lines at once.
fn back_by_all(stretched: impl Iterator<Item = (f64, DVec3)>) -> DVec3 {
    let (mut rows, mut back) = (Rows::new(3), Vec::new());
    for (over, slope) in stretched {
        rows.push_row(&slope.to_array());
        back.push(-over);
    }
    DVec3::from_slice(&shortest(&rows, &back).u)
}

/// A piece of wood, or the ground, along a path.
struct Thing {
    /// Whether the path has been outside it.
    is_left: bool,
    /// How fast the depth inside it changes with the place, at most.
    steepness: f64,
    /// Way along the path, metres, before which it is surely not entered.
    clear_m: f64,
}

/// The first wood or ground that a path enters. Wood that the start lies in is left out until the
/// path has left it.
pub(crate) fn strike(path: &[DVec3], tree: &Tree) -> Option<Strike> {
    let start = *path.first()?;
    let depth = |thing: usize, at: DVec3| match tree.pieces.get(thing) {
        Some(piece) => piece.depth_m(at),
        None => tree.ground_m.map_or(f64::NEG_INFINITY, |g| g - at.z),
    };
    let steepness = |thing: usize| tree.pieces.get(thing).map_or(1.0, Piece::steepness);
    let things = (0..=tree.pieces.len()).map(|thing| Thing {
        is_left: depth(thing, start) <= 0.0,
        steepness: steepness(thing),
        clear_m: 0.0,
    });
    let mut things: Vec<Thing> = things.collect();
    let mut gone = 0.0;
    for pair in path.windows(2) {
        let length = pair[0].distance(pair[1]);
        let checks = (length / CHECK_M).ceil().max(1.0) as usize;
        for check in 0..checks {
            let share = |c: f64| pair[0].lerp(pair[1], c / checks as f64);
            let (from, to) = (check as f64, (check + 1) as f64);
            let after_m = gone + length * (to / checks as f64);
            for (thing, seen) in things.iter_mut().enumerate() {
                if after_m < seen.clear_m {
                    continue;
                }
                let inside_m = depth(thing, share(to));
                if inside_m <= 0.0 {
                    seen.is_left = true;
                    seen.clear_m = after_m - inside_m / seen.steepness - ROUNDING_M;
                    continue;
                }
                if !seen.is_left {
                    continue;
                }
                let (mut clear, mut inside) = (from, to);
                for _ in 0..HALVINGS {
                    let middle = f64::midpoint(clear, inside);
                    match depth(thing, share(middle)) > 0.0 {
                        true => inside = middle,
                        false => clear = middle,
                    }
                }
                let at = share(inside);
                let fallen = (start.z - at.z).max(0.0);
                return Some(Strike {
                    piece: match tree.pieces.get(thing) {
                        Some(piece) => piece.name.clone(),
                        None => GROUND.to_owned(),
                    },
                    at,
                    after_m: gone + pair[0].distance(at),
                    speed_m_s: (2.0 * STANDARD_GRAVITY * fallen).sqrt(),
                });
            }
        }
        gone += length;
    }
    None
}
