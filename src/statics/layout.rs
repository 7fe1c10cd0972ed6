//! The shape of a rig as the equations see it: spots, spans, passes and parts, without places.
//!
//! ```text
//! Rig ─Layout::new→ spans between spots, passes where a line slides, parts between grips
//! Rig ─places→ one place a spot
//! ```
//!
//! Spot 0 is the harness point; spot `1 + i` is point `i`. A line's spans follow one another, and
//! a pass joins two neighbouring spans unless the point between them grips the line.

use glam::DVec3;

use crate::rig::{LineId, Node, Pass, PointId, Rig, Space};

/// Spot of the harness point.
pub(crate) const HARNESS: usize = 0;

/// Passes with `1/r` above this are taken as free of friction: dimensionless. It is far above
/// rounding (1e-16) and far below any friction that a pull shows (1e-6).
const FREE_PASS: f64 = 1.0 - 1e-12;

/// A span between two spots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SpanEnds {
    pub line: usize,
    pub from: usize,
    pub to: usize,
    /// Index in [`Layout::parts`].
    pub part: usize,
}

/// Two neighbouring spans of a line that slides over `spot`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct PassEnds {
    pub before: usize,
    pub after: usize,
    pub spot: usize,
}

/// A stretch of a line between its ends and the grips on it: one length, sliding within.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Part {
    pub line: usize,
    /// Its spans in [`Layout::spans`].
    pub spans: std::ops::Range<usize>,
}

/// Spots, spans, passes and parts of a rig.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Layout {
    /// Coordinates in use: x and z, or x, y and z.
    pub axes: &'static [usize],
    pub spots: usize,
    pub spans: Vec<SpanEnds>,
    pub passes: Vec<PassEnds>,
    pub parts: Vec<Part>,
    /// Spots that lines must balance at: the harness first, then every hanging point.
    pub free: Vec<usize>,
    /// How each spot resists sliding; none at the harness.
    pub resist: Vec<Pass>,
}

impl Layout {
    /// Reads the shape of a rig.
    pub fn new(rig: &Rig) -> Self {
        let mut spans = Vec::new();
        let mut passes = Vec::new();
        let mut parts: Vec<Part> = Vec::new();
        for (line, l) in rig.lines.iter().enumerate() {
            let first = spans.len();
            for (i, ends) in l.run.windows(2).enumerate() {
                let (from, to) = (spot(ends[0]), spot(ends[1]));
                let here = spans.len();
                let gripped = match ends[0] {
                    Node::Point(id) => rig.point(id).grips.contains(&LineId(line)),
                    Node::Climber(_) => false,
                };
                if i == 0 || gripped {
                    parts.push(Part {
                        line,
                        spans: here..here + 1,
                    });
                } else {
                    passes.push(PassEnds {
                        before: here - 1,
                        after: here,
                        spot: from,
                    });
                }
                let part = parts.len() - 1;
                parts[part].spans.end = here + 1;
                spans.push(SpanEnds {
                    line,
                    from,
                    to,
                    part,
                });
            }
            debug_assert!(spans.len() > first, "a run has at least two places");
        }
        let hanging = (0..rig.points.len()).filter(|i| rig.points[*i].hangs);
        let harness_pass = Pass::Friction {
            mu: 0.0,
            turns: 0.0,
        };
        Self {
            axes: match rig.space {
                Space::Planar => &[0, 2],
                Space::Spatial => &[0, 1, 2],
            },
            spots: 1 + rig.points.len(),
            spans,
            passes,
            parts,
            free: std::iter::once(HARNESS)
                .chain(hanging.map(|i| 1 + i))
                .collect(),
            resist: std::iter::once(harness_pass)
                .chain(rig.points.iter().map(|p| p.pass))
                .collect(),
        }
    }

    /// The same rig without one line. Spots keep their numbers.
    pub fn without(&self, line: usize) -> Self {
        let kept: Vec<_> = (0..self.parts.len())
            .filter(|p| self.parts[*p].line != line)
            .collect();
        let mut less = Self {
            spans: Vec::new(),
            passes: Vec::new(),
            parts: Vec::new(),
            ..self.clone()
        };
        for part in kept {
            let old = self.parts[part].spans.clone();
            let new = less.spans.len();
            for span in old.clone() {
                less.spans.push(SpanEnds {
                    part: less.parts.len(),
                    ..self.spans[span]
                });
            }
            less.parts.push(Part {
                line: self.parts[part].line,
                spans: new..less.spans.len(),
            });
            less.passes.extend(
                self.passes
                    .iter()
                    .filter(|p| old.contains(&p.after) && old.contains(&p.before))
                    .map(|p| PassEnds {
                        before: p.before - old.start + new,
                        after: p.after - old.start + new,
                        spot: p.spot,
                    }),
            );
        }
        less
    }

    /// The place of every spot, the harness at `climber`. A point without a place of its own (a
    /// hanging point of a hung rig) stands at the origin until the lengths give it one.
    pub fn places(&self, rig: &Rig, climber: DVec3) -> Vec<DVec3> {
        std::iter::once(climber)
            .chain(rig.points.iter().map(|p| p.at.unwrap_or(DVec3::ZERO)))
            .collect()
    }

    /// Unit vector along a span, from its first spot; zero where its ends coincide.
    pub fn direction(&self, span: usize, places: &[DVec3]) -> DVec3 {
        let s = self.spans[span];
        (places[s.to] - places[s.from]).normalize_or_zero()
    }

    /// Straight length of a span, metres.
    pub fn length(&self, span: usize, places: &[DVec3]) -> f64 {
        let s = self.spans[span];
        places[s.to].distance(places[s.from])
    }

    /// Length of a part, metres.
    pub fn part_length(&self, part: usize, places: &[DVec3]) -> f64 {
        self.parts[part]
            .spans
            .clone()
            .map(|span| self.length(span, places))
            .sum()
    }

    /// What each part keeps when another line goes, metres: as given for a hung rig, which for a
    /// slack part is more than it spans, and as far as it spans for a held one.
    ///
    /// - `places`: of a held rig; a hung one may not have its own yet.
    pub fn lengths_m(&self, rig: &Rig, places: &[DVec3]) -> Vec<f64> {
        if rig.climber.at.is_some() {
            return (0..self.parts.len())
                .map(|part| self.part_length(part, places))
                .collect();
        }
        let given = rig.lines.iter().flat_map(|line| &line.lengths_m);
        given.copied().collect()
    }

    /// `1/r` of a pass, r being the most that one span pull may be of the other: `exp(-μ·φ)` or
    /// `η^(φ/π)`, φ = π − θ + 2π·turns, θ the angle between the two spans. Dimensionless, in 0..=1.
    pub fn hold_back(&self, pass: PassEnds, places: &[DVec3]) -> f64 {
        let back = -self.direction(pass.before, places);
        let on = self.direction(pass.after, places);
        let between = libm::atan2(back.cross(on).length(), back.dot(on));
        let wrap = std::f64::consts::PI - between;
        let part = match self.resist[pass.spot] {
            Pass::Friction { mu, turns } => {
                libm::exp(-mu * (wrap + 2.0 * std::f64::consts::PI * turns))
            }
            Pass::Efficiency(eta) => libm::pow(eta, wrap / std::f64::consts::PI),
        };
        if part > FREE_PASS { 1.0 } else { part }
    }

    /// Whether no pass can resist, wherever its spans lead.
    pub fn is_free_of_friction(&self) -> bool {
        self.passes.iter().all(|p| match self.resist[p.spot] {
            Pass::Friction { mu, .. } => mu == 0.0,
            Pass::Efficiency(eta) => eta >= FREE_PASS,
        })
    }

    /// Spots that a chain of lines joins to one, itself included.
    fn joined(&self, spot: usize) -> Vec<bool> {
        let mut reached = vec![false; self.spots];
        reached[spot] = true;
        // A chain through a fixed spot passes nothing on, so only free spots are followed.
        let follows = |spot: usize| self.free.contains(&spot);
        for _ in 0..self.spots {
            for s in &self.spans {
                let on = (reached[s.from] && follows(s.from)) || (reached[s.to] && follows(s.to));
                reached[s.from] |= on;
                reached[s.to] |= on;
            }
        }
        reached
    }

    /// Whether lines join two spots otherwise than through fixed ones.
    pub fn are_joined(&self, a: usize, b: usize) -> bool {
        self.joined(a)[b]
    }

    /// Whether a chain of lines leads from a free spot to a fixed one.
    pub fn is_held(&self, spot: usize) -> bool {
        let reached = self.joined(spot);
        (0..self.spots).any(|s| reached[s] && !self.free.contains(&s))
    }

    /// Whether a chain of lines leads from the harness to a fixed point.
    pub fn is_held_up(&self) -> bool {
        self.is_held(HARNESS)
    }
}

fn spot(node: Node) -> usize {
    match node {
        Node::Climber(_) => HARNESS,
        Node::Point(PointId(i)) => 1 + i,
    }
}
