//! Links cuts through cells to rings and paths, and bends them after a curve.
//!
//! ```text
//! joins: side to side ─link→ rings, paths ─bend: more points where the curve leaves the chord→
//!     ─simplified→ those that tell
//! ```
//!
//! Rings keep the inside on their left: outer rings run counterclockwise, holes clockwise.

use glam::DVec2;

/// A chord is bent after its curve at most so many times; each time halves it.
const BENDS: usize = 6;

/// A curve that leaves its chord by more than this share of the chord is not followed: it has a
/// corner there.
const STEEP: f64 = 0.3;

/// A chord is not tried where a curve would have to leave it by more than this share of it to
/// matter, and so turn by more than 20 degrees.
const SLIGHT: f64 = 0.05;

/// What a chord is tried with beside its middle, as a share of it.
const BESIDE: f64 = 0.02;

/// Joins of which each leads on from where the one before led, by their numbers; closed where the last
/// leads to where the first began.
pub(super) struct Path {
    pub joins: Vec<usize>,
    pub closed: bool,
}

/// Links joins from one side to the next.
pub(super) struct Linker {
    /// For every side, 1 + the number of the join that leaves it; 0 between two calls.
    leaving: Vec<u32>,
}

impl Linker {
    /// For sides that have numbers below `sides`.
    pub fn new(sides: usize) -> Self {
        Self {
            leaving: vec![0; sides],
        }
    }

    /// Links joins of which no two leave or reach the same side. Open paths come first.
    pub fn link(&mut self, joins: impl Iterator<Item = (usize, usize)>) -> Vec<Path> {
        let joins: Vec<(usize, usize)> = joins.collect();
        for (number, (from, _)) in joins.iter().enumerate() {
            self.leaving[*from] = number as u32 + 1;
        }
        let next = joins.iter().map(|(_, to)| self.leaving[*to].checked_sub(1));
        let next: Vec<Option<usize>> = next.map(|join| join.map(|join| join as usize)).collect();
        for (from, _) in &joins {
            self.leaving[*from] = 0;
        }
        let mut reached = vec![false; joins.len()];
        for join in next.iter().flatten() {
            reached[*join] = true;
        }
        let mut done = vec![false; joins.len()];
        let mut found = Vec::new();
        let open = (0..joins.len()).filter(|join| !reached[*join]);
        for start in open.chain(0..joins.len()) {
            if done[start] {
                continue;
            }
            let mut path = Path {
                joins: Vec::new(),
                closed: false,
            };
            let mut at = Some(start);
            while let Some(join) = at {
                if std::mem::replace(&mut done[join], true) {
                    path.closed = join == start;
                    break;
                }
                path.joins.push(join);
                at = next[join];
            }
            found.push(path);
        }
        found
    }
}

/// Pushes the places between two of a curve where `value` is 0, so that none of it is farther than
/// about `tolerance` from the path; the two themselves are not pushed. A value that is not finite
/// ends it.
pub(super) fn bend(
    [a, b]: [DVec2; 2],
    tolerance: f64,
    value: &mut impl FnMut(DVec2) -> f64,
    path: &mut Vec<DVec2>,
) {
    bend_so_often([a, b], tolerance, value, path, BENDS);
}

fn bend_so_often(
    [a, b]: [DVec2; 2],
    tolerance: f64,
    value: &mut impl FnMut(DVec2) -> f64,
    path: &mut Vec<DVec2>,
    often: usize,
) {
    let chord = b - a;
    let length = chord.length();
    if often == 0 || length * SLIGHT < tolerance {
        return;
    }
    let (middle, across) = (a.midpoint(b), chord.perp() / length);
    let (mut from, mut to) = (0.0, BESIDE * length);
    let (mut value_from, mut value_to) = (value(middle), value(middle + across * to));
    for _ in 0..2 {
        let next = to - value_to * (to - from) / (value_to - value_from);
        // The chord is near enough, or this is no curve to follow.
        if next.is_nan() || next.abs() > STEEP * length || next.abs() < tolerance {
            return;
        }
        (from, value_from) = (to, value_to);
        (to, value_to) = (next, value(middle + across * next));
    }
    let next = to - value_to * (to - from) / (value_to - value_from);
    // Where the last two values are alike, the two are on the curve, as near as rounding allows, or the
    // value stops growing before it comes to 0, and there is no curve to follow either.
    let on = match next.abs() <= STEEP * length {
        true => next,
        false if (to - from).abs() < tolerance => to,
        false => return,
    };
    let at = middle + across * on;
    bend_so_often([a, at], tolerance, value, path, often - 1);
    path.push(at);
    bend_so_often([at, b], tolerance, value, path, often - 1);
}

/// Leaves out points that lie within `tolerance` of the line between those kept. The ends
/// stay (Ramer 1972; Douglas and Peucker 1973).
pub(crate) fn simplified(path: &[DVec2], tolerance: f64) -> Vec<DVec2> {
    if path.len() < 3 {
        return path.to_vec();
    }
    let mut keep = vec![false; path.len()];
    keep[0] = true;
    keep[path.len() - 1] = true;
    let mut open = vec![(0, path.len() - 1)];
    while let Some((a, b)) = open.pop() {
        let segment = Segment::new(path[a], path[b]);
        let (mut k, mut far) = (a, f64::NEG_INFINITY);
        for (i, at) in (a + 1..).zip(&path[a + 1..b]) {
            let squared = segment.squared_distance(*at);
            if squared >= far {
                (k, far) = (i, squared);
            }
        }
        if far > tolerance * tolerance {
            keep[k] = true;
            open.push((a, k));
            open.push((k, b));
        }
    }
    let kept = path.iter().zip(&keep).filter(|(_, keep)| **keep);
    kept.map(|(at, _)| *at).collect()
}

/// Distance from a place to the segment between two others, metres.
pub(super) fn distance_to_segment(at: DVec2, a: DVec2, b: DVec2) -> f64 {
    Segment::new(a, b).squared_distance(at).sqrt()
}

/// From one place to another.
struct Segment {
    from: DVec2,
    along: DVec2,
    squared: f64,
}

impl Segment {
    fn new(from: DVec2, to: DVec2) -> Self {
        let along = to - from;
        Self {
            from,
            along,
            squared: along.length_squared().max(f64::MIN_POSITIVE),
        }
    }

    /// Of the distance from a place, square metres.
    fn squared_distance(&self, at: DVec2) -> f64 {
        let share = (at - self.from).dot(self.along) / self.squared;
        at.distance_squared(self.from + self.along * share.clamp(0.0, 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Places that a bend adds between (0, 0) and (1, 0).
    fn bent(mut value: impl FnMut(DVec2) -> f64) -> Vec<DVec2> {
        let mut path = Vec::new();
        bend([DVec2::ZERO, DVec2::X], 1e-4, &mut value, &mut path);
        path
    }

    #[test]
    fn a_bend_follows_a_curve() {
        // A circle through both ends, 0.1 above the middle between them: radius (0.5² + 0.1²) / 0.2.
        let (radius, middle) = (1.3, DVec2::new(0.5, -1.2));
        for sign in [1.0, -1.0] {
            let path = bent(|at| sign * (at.distance(middle) - radius));
            assert!(
                path.len() > 20 && path.is_sorted_by_key(|at| at.x),
                "{path:?}"
            );
            for at in path {
                assert!((at.distance(middle) - radius).abs() < 1e-4, "{at}");
            }
        }
    }

    #[test]
    fn a_bend_leaves_no_value_that_stops_growing() {
        // A pull that grows up to a place and is the same beyond, but for rounding.
        for beyond in [0.0, 1e-17, -1e-17, 1e-9] {
            let path = bent(|at| -0.15 + at.y.min(0.1) + beyond * at.y);
            assert!(
                path.iter().all(|at| at.y.abs() < STEEP),
                "{beyond}: {path:?}"
            );
        }
        // The same with a level that is reached: it is followed.
        let path = bent(|at| at.y.min(0.1) - 0.05);
        assert!(path.iter().any(|at| (at.y - 0.05).abs() < 1e-9), "{path:?}");
    }

    #[test]
    fn joins_make_open_paths_and_rings() {
        let mut linker = Linker::new(9);
        for _ in 0..2 {
            // 5 → 2 → 7 is open, 0 → 4 → 1 → 0 a ring; sides are free again for the next call.
            let joins = [(4, 1), (2, 7), (0, 4), (5, 2), (1, 0)];
            let paths = linker.link(joins.into_iter());
            let found: Vec<_> = paths
                .iter()
                .map(|p| (p.joins.as_slice(), p.closed))
                .collect();
            assert_eq!(found, [(&[3, 1][..], false), (&[0, 4, 2], true)]);
        }
    }

    #[test]
    fn what_is_left_out_lies_near_what_is_kept() {
        let wave: Vec<DVec2> = (0..=400)
            .map(|k| f64::from(k) / 100.0)
            .map(|x| DVec2::new(x, 0.2 * libm::sin(5.0 * x)))
            .collect();
        let kept = simplified(&wave, 0.01);
        assert!(kept.len() > 10 && kept.len() < 60, "{} kept", kept.len());
        assert_eq!((kept[0], kept[kept.len() - 1]), (wave[0], wave[400]));
        for at in wave {
            let steps = kept.windows(2);
            let near = steps.map(|step| distance_to_segment(at, step[0], step[1]));
            assert!(near.fold(f64::INFINITY, f64::min) <= 0.01, "{at}");
        }
        // A path that returns to where it began is no segment.
        let there = [DVec2::ZERO, DVec2::X, DVec2::ZERO];
        assert_eq!(simplified(&there, 0.01), there);
    }
}
