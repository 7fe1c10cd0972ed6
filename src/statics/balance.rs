//! The equations of a held rig at one place: balance of every free spot, friction at every pass,
//! the feet's push.
//!
//! ```text
//! Layout + places + which spans carry ─Balance::new→ E·T = d, G·T ≥ h (pulls T over the weight)
//! ```
//!
//! Forces are divided by the weight and moments by the weight and the feet's distance, so every
//! coefficient is of order 1. Spans that must carry the same (a pass without friction between
//! them) share one unknown. The feet's push is not an unknown: it is what the lines leave of the
//! weight, and its cone and its moment are conditions on the pulls.

use glam::{DVec2, DVec3};

use super::layout::{HARNESS, Layout};
use super::least::Rows;
use crate::rig::{Rig, Space};

/// Whether passes resist sliding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Passes {
    /// Every pass runs free: both its spans carry the same.
    Free,
    /// Every pass may hold back as far as its friction goes.
    Friction,
}

/// Feet on a surface, planar: the conditions on their push, over the weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct FeetOn {
    /// From the harness point to the feet, metres (x, z).
    pub lever: DVec2,
    /// The centre of mass from the harness point, metres (x, z).
    pub com: DVec2,
    /// The two edges of the friction cone, unit vectors.
    pub edges: [DVec2; 2],
    /// Inward normals of the two edges, unit vectors.
    pub inward: [DVec2; 2],
}

impl FeetOn {
    /// The feet of a rig whose harness point is at `climber`; `None` without feet. A surface is
    /// part of planar rigs only.
    pub fn of(rig: &Rig, climber: DVec3) -> Option<Self> {
        let feet = rig.feet.as_ref().filter(|_| rig.space == Space::Planar)?;
        let normal = DVec2::new(feet.normal.x, feet.normal.z).normalize_or_zero();
        let along = normal.perp();
        let size = (1.0 + feet.friction * feet.friction).sqrt();
        let (n, t) = (normal / size, along / size);
        let mu = feet.friction;
        Some(Self {
            lever: DVec2::new(feet.at.x - climber.x, feet.at.z - climber.z),
            com: DVec2::new(rig.climber.com.0, rig.climber.com.1),
            edges: [n + t * mu, n - t * mu],
            inward: [n * mu - t, n * mu + t],
        })
    }

    /// Unit of the moment equation: metres.
    fn arm(&self) -> f64 {
        let lever = self.lever.length();
        if lever > 0.0 { lever } else { 1.0 }
    }
}

/// The linear conditions on the pulls of a held rig, everything over the weight.
#[derive(Debug, Clone)]
pub(crate) struct Balance {
    /// Unknown of each span; `None` for a span that carries nothing.
    pub unknown: Vec<Option<usize>>,
    /// Spans that share each unknown.
    pub shared_by: Vec<f64>,
    /// Force of one unit of each unknown on the harness, one row an axis.
    pub on_harness: Rows,
    /// Equations, those of hanging points first, and their right sides.
    pub e: Rows,
    pub d: Vec<f64>,
    /// Equations of hanging points.
    pub hanging_rows: usize,
    /// Conditions of passes and feet (that no pull is negative is left to the solver), and their
    /// right sides.
    pub g: Rows,
    pub h: Vec<f64>,
    /// Feet, if they are on.
    pub feet: Option<FeetOn>,
    axes: &'static [usize],
}

impl Balance {
    /// Sets the conditions up. `carries` tells for every part whether it can carry at all.
    pub fn new(
        layout: &Layout,
        places: &[DVec3],
        carries: impl Fn(usize) -> bool,
        passes: Passes,
        feet: Option<FeetOn>,
    ) -> Self {
        let hold_back: Vec<f64> = layout
            .passes
            .iter()
            .map(|p| match passes {
                Passes::Free => 1.0,
                Passes::Friction => layout.hold_back(*p, places),
            })
            .collect();
        let mut unknown: Vec<Option<usize>> = vec![None; layout.spans.len()];
        let mut shared_by = Vec::new();
        for (i, span) in layout.spans.iter().enumerate() {
            if !carries(span.part) {
                continue;
            }
            let with = layout
                .passes
                .iter()
                .zip(&hold_back)
                .find(|(p, r)| p.after == i && **r == 1.0)
                .and_then(|(p, _)| unknown[p.before]);
            let own = with.unwrap_or(shared_by.len());
            if own == shared_by.len() {
                shared_by.push(0.0);
            }
            shared_by[own] += 1.0;
            unknown[i] = Some(own);
        }
        let n = shared_by.len();
        let mut balance = Self {
            on_harness: Rows::new(n),
            e: Rows::new(n),
            d: Vec::new(),
            hanging_rows: 0,
            g: Rows::new(n),
            h: Vec::new(),
            feet,
            axes: layout.axes,
            unknown,
            shared_by,
        };
        if n > 0 {
            balance.add_spots(layout, places);
            balance.add_passes(layout, &hold_back);
            balance.add_feet();
        }
        balance
    }

    /// Number of unknowns.
    pub fn unknowns(&self) -> usize {
        self.shared_by.len()
    }

    /// The weight as a right side: 1 upwards has to be made up at the harness.
    pub fn wanted(&self, axis: usize) -> f64 {
        if axis == 2 { 1.0 } else { 0.0 }
    }

    /// Coordinates in use.
    pub fn axes(&self) -> &'static [usize] {
        self.axes
    }

    fn add_spots(&mut self, layout: &Layout, places: &[DVec3]) {
        for &spot in &layout.free {
            let at_harness = spot == HARNESS;
            for &axis in layout.axes {
                let rows = match at_harness {
                    true => &mut self.on_harness,
                    false => &mut self.e,
                };
                let row = rows.push();
                for (i, span) in layout.spans.iter().enumerate() {
                    let Some(j) = self.unknown[i] else { continue };
                    let along = layout.direction(i, places)[axis];
                    if span.from == spot {
                        row[j] += along;
                    }
                    if span.to == spot {
                        row[j] -= along;
                    }
                }
                if !at_harness {
                    self.d.push(0.0);
                }
            }
        }
        self.hanging_rows = self.e.len();
        if self.feet.is_none() {
            for (k, &axis) in self.axes.iter().enumerate() {
                self.e.push_row(self.on_harness.row(k));
                self.d.push(if axis == 2 { 1.0 } else { 0.0 });
            }
        }
    }

    fn add_passes(&mut self, layout: &Layout, hold_back: &[f64]) {
        for (pass, &part) in layout.passes.iter().zip(hold_back) {
            let (Some(a), Some(b)) = (self.unknown[pass.before], self.unknown[pass.after]) else {
                continue;
            };
            if part < 1.0 {
                for (more, less) in [(a, b), (b, a)] {
                    let row = self.g.push();
                    row[less] += 1.0;
                    row[more] -= part;
                    self.h.push(0.0);
                }
            }
        }
    }

    /// The push F = (0, 1) − (lines): its moment about the harness point with the weight's,
    /// lever × F = com.x · 1, and its cone, inward · F ≥ 0.
    fn add_feet(&mut self) {
        let Some(feet) = self.feet else { return };
        let (x, z) = (
            self.on_harness.row(0).to_vec(),
            self.on_harness.row(1).to_vec(),
        );
        let arm = feet.arm();
        let row = self.e.push();
        for j in 0..row.len() {
            row[j] = -feet.lever.perp_dot(DVec2::new(x[j], z[j])) / arm;
        }
        self.d.push((feet.com.x - feet.lever.x) / arm);
        for inward in feet.inward {
            let row = self.g.push();
            for j in 0..row.len() {
                row[j] = -inward.dot(DVec2::new(x[j], z[j]));
            }
            self.h.push(-inward.y);
        }
    }
}
