//! A second way to every number of a rig: the statements of the model as they are written down,
//! one variable a span, handed to a general convex solver.
//!
//! ```text
//! Rig + places ─Model→ equations and inequalities ─clarabel→ least-squares pulls, ranges, push
//! ```
//!
//! Nothing here is shared with the program's own solver: no unknown is merged or eliminated, the
//! feet's push is a variable of its own, and every question is one quadratic or linear program.

use clarabel::algebra::CscMatrix;
use clarabel::solver::{
    DefaultSettings, DefaultSolver, IPSolver, NonnegativeConeT, SolverStatus, ZeroConeT,
};
use glam::DVec3;
use ropeleaf::rig::{LineId, Node, Pass, Rig, Space};

/// What the solver may miss by, over the weight.
const SOLVER_TOL: f64 = 1e-11;

/// A set of conditions on span pulls, feet's push (x, z) and extra force, over the weight.
pub struct Model {
    axes: &'static [usize],
    spans: usize,
    feet: bool,
    variables: usize,
    equal: Vec<(Vec<f64>, f64)>,
    /// Rows that must not be negative.
    positive: Vec<Vec<f64>>,
}

/// An optimum: the value, or no bound.
pub enum Found {
    Value(f64),
    Unbounded,
}

impl Model {
    /// The conditions of a rig at given places (harness, then points).
    pub fn new(rig: &Rig, climber: DVec3, points: &[DVec3], friction: bool) -> Self {
        let axes: &[usize] = match rig.space {
            Space::Planar => &[0, 2],
            Space::Spatial => &[0, 1, 2],
        };
        let at = |node: Node| match node {
            Node::Climber(_) => climber,
            Node::Point(id) => points[id.0],
        };
        let ends: Vec<(usize, Node, Node)> = rig
            .lines
            .iter()
            .enumerate()
            .flat_map(|(l, line)| line.run.windows(2).map(move |w| (l, w[0], w[1])))
            .collect();
        let spans = ends.len();
        let feet = rig.feet.is_some();
        let extra = spans + 2;
        let variables = extra + axes.len();
        let mut equal = Vec::new();
        let mut positive = Vec::new();
        // Balance of the harness and of every hanging point.
        let hanging = rig.point_ids().filter(|id| rig.point(*id).hangs);
        let free = std::iter::once(None).chain(hanging.map(Some));
        for spot in free {
            let is_here = |node: Node| match (node, spot) {
                (Node::Climber(_), None) => true,
                (Node::Point(id), Some(spot)) => id == spot,
                _ => false,
            };
            for (k, &axis) in axes.iter().enumerate() {
                let mut row = vec![0.0; variables];
                for (i, (_, from, to)) in ends.iter().enumerate() {
                    let unit = (at(*to) - at(*from)).normalize_or_zero();
                    if is_here(*from) {
                        row[i] += unit[axis];
                    }
                    if is_here(*to) {
                        row[i] -= unit[axis];
                    }
                }
                let mut want = 0.0;
                if spot.is_none() {
                    row[extra + k] = 1.0;
                    if feet {
                        row[spans + if axis == 0 { 0 } else { 1 }] = 1.0;
                    }
                    want = if axis == 2 { 1.0 } else { 0.0 };
                }
                equal.push((row, want));
            }
        }
        // Passes.
        for i in 1..spans {
            let ((l, from, here), (m, again, to)) = (ends[i - 1], ends[i]);
            let Node::Point(id) = here else { continue };
            if l != m || here != again || rig.point(id).grips.contains(&LineId(l)) {
                continue;
            }
            let (a, b) = (at(from) - at(here), at(to) - at(here));
            let theta = a.angle_between(b);
            let phi = std::f64::consts::PI - theta;
            let r = match rig.point(id).pass {
                _ if !friction => 1.0,
                Pass::Friction { mu, turns } => {
                    libm::exp(mu * (phi + 2.0 * std::f64::consts::PI * turns))
                }
                Pass::Efficiency(eta) => libm::pow(eta, -phi / std::f64::consts::PI),
            };
            for (more, less) in [(i - 1, i), (i, i - 1)] {
                let mut row = vec![0.0; variables];
                row[less] = r;
                row[more] = -1.0;
                positive.push(row);
            }
        }
        for i in 0..spans {
            let mut row = vec![0.0; variables];
            row[i] = 1.0;
            positive.push(row);
        }
        if let Some(surface) = &rig.feet {
            // Push (fx, fz) = p·normal + q·along, |q| ≤ μ·p; moments about the harness point.
            let (n, mu) = (surface.normal, surface.friction);
            for sign in [1.0, -1.0] {
                let mut row = vec![0.0; variables];
                row[spans] = mu * n.x + sign * n.z;
                row[spans + 1] = mu * n.z - sign * n.x;
                positive.push(row);
            }
            let arm = surface.at - climber;
            let mut row = vec![0.0; variables];
            row[spans] = -arm.z;
            row[spans + 1] = arm.x;
            equal.push((row, rig.climber.com.0));
        } else {
            for k in 0..2 {
                let mut row = vec![0.0; variables];
                row[spans + k] = 1.0;
                equal.push((row, 0.0));
            }
        }
        Self {
            axes,
            spans,
            feet,
            variables,
            equal,
            positive,
        }
    }

    /// Least sum of squares of the extra force: the push needed, over the weight. `None` where no
    /// force at the harness point helps: feet that cannot take up the weight's moment.
    pub fn push(&self) -> Option<DVec3> {
        let squares: Vec<usize> = (self.spans + 2..self.variables).collect();
        let (x, _) = self.least(&squares, &[], false)?;
        let mut push = DVec3::ZERO;
        for (k, &axis) in self.axes.iter().enumerate() {
            push[axis] = x[self.spans + 2 + k];
        }
        Some(push)
    }

    /// Pulls with the least sum of squares, no extra force; and the feet's push.
    pub fn nominal(&self) -> Option<(Vec<f64>, Option<DVec3>)> {
        let squares: Vec<usize> = (0..self.spans).collect();
        let (x, _) = self.least(&squares, &[], true)?;
        let feet = self
            .feet
            .then(|| DVec3::new(x[self.spans], 0.0, x[self.spans + 1]));
        Some((x[..self.spans].to_vec(), feet))
    }

    /// Least of `sign` times the pull of a span, no extra force.
    pub fn extreme(&self, span: usize, sign: f64) -> Option<Found> {
        self.least(&[], &[(span, sign)], true).map(|(x, bounded)| {
            if bounded {
                Found::Value(x[span])
            } else {
                Found::Unbounded
            }
        })
    }

    /// Solves; `None` where the conditions contradict each other. The flag tells a bounded answer.
    fn least(
        &self,
        squares: &[usize],
        costs: &[(usize, f64)],
        no_extra: bool,
    ) -> Option<(Vec<f64>, bool)> {
        let n = self.variables;
        let mut equal = self.equal.clone();
        if no_extra {
            for i in self.spans + 2..n {
                let mut row = vec![0.0; n];
                row[i] = 1.0;
                equal.push((row, 0.0));
            }
        }
        let rows: Vec<Vec<f64>> = equal
            .iter()
            .map(|(row, _)| row.clone())
            .chain(
                self.positive
                    .iter()
                    .map(|row| row.iter().map(|v| -v).collect()),
            )
            .collect();
        let b: Vec<f64> = equal
            .iter()
            .map(|(_, want)| *want)
            .chain(self.positive.iter().map(|_| 0.0))
            .collect();
        let a = CscMatrix::from(&rows);
        let mut p = vec![vec![0.0; n]; n];
        for &i in squares {
            p[i][i] = 1.0;
        }
        let p = CscMatrix::from(&p).to_triu();
        let mut q = vec![0.0; n];
        for (i, cost) in costs {
            q[*i] = *cost;
        }
        let cones = [
            ZeroConeT(equal.len()),
            NonnegativeConeT(self.positive.len()),
        ];
        let settings = DefaultSettings {
            verbose: false,
            tol_gap_abs: SOLVER_TOL,
            tol_gap_rel: SOLVER_TOL,
            tol_feas: SOLVER_TOL,
            ..DefaultSettings::default()
        };
        let mut solver = DefaultSolver::new(&p, &q, &a, &b, &cones, settings).unwrap();
        solver.solve();
        let x = solver.solution.x.clone();
        match solver.solution.status {
            SolverStatus::Solved
            | SolverStatus::AlmostSolved
            | SolverStatus::InsufficientProgress => Some((x, true)),
            SolverStatus::DualInfeasible | SolverStatus::AlmostDualInfeasible => Some((x, false)),
            SolverStatus::PrimalInfeasible | SolverStatus::AlmostPrimalInfeasible => None,
            other => panic!("the reference gave up: {other:?}"),
        }
    }
}
