//! Falls onto a stretchy line, and swings on one that does not stretch: closed forms.
//!
//! ```text
//! height, free length ─fall_factor→ f;  weight, modulus, f ─peak_force_n→ F
//! Rig + kit ─slack_falls→ the fall that each line's slack allows
//! ```
//!
//! A line of modulus k (newtons a unit strain, k = E·A) is a linear spring of stiffness k/L. Belay,
//! knots, harness and body give way too and are left out, so a computed peak is an upper teaching
//! value for a rope that behaves as its kit entry says.

use super::Solved;
use crate::rig::{LineId, Rig};

/// Height of a free fall over the length of line that takes it up, f = h/L: dimensionless.
pub fn fall_factor(height_m: f64, free_length_m: f64) -> f64 {
    height_m / free_length_m
}

/// Peak force of a fall, newtons: `F = W + √(W² + 2·W·k·f)`, the standard rope equation.
///
/// Energy balance of a weight W (newtons, > 0) that falls by factor `f` ≥ 0 onto a line of modulus
/// `k` (newtons a unit strain, > 0). At `f` = 0 it is 2·W.
///
/// Source: R. Goldstone, *The Standard Equation for Impact Force*; checked in `tests/published`.
pub fn peak_force_n(weight_n: f64, modulus_n: f64, fall_factor: f64) -> f64 {
    weight_n + (weight_n * weight_n + 2.0 * weight_n * modulus_n * fall_factor).sqrt()
}

/// Modulus of a line from the peak force that a test fall gave, newtons a unit strain:
/// `k = F·(F − 2·W)/(2·W·f)`, the standard rope equation solved for k.
///
/// `None` where the peak is not above 2·W or the fall factor not above 0: no line does that.
pub fn modulus_from_rated_n(peak_n: f64, weight_n: f64, fall_factor: f64) -> Option<f64> {
    (weight_n > 0.0 && fall_factor > 0.0 && peak_n > 2.0 * weight_n)
        .then(|| peak_n * (peak_n - 2.0 * weight_n) / (2.0 * weight_n * fall_factor))
}

/// Modulus of a line from its stretch between two loads, newtons a unit strain: `k = ΔF/Δε`.
pub fn modulus_from_stretch_n(load_step_n: f64, strain_step: f64) -> f64 {
    load_step_n / strain_step
}

/// Stretch of a line under a resting load, metres: `F·L/k`.
pub fn stretch_m(force_n: f64, length_m: f64, modulus_n: f64) -> f64 {
    force_n * length_m / modulus_n
}

/// Speed after a drop without losses, m/s: `√(2·g·h)`, falling or swinging. `gravity` in m/s².
pub fn speed_after_drop_m_s(drop_m: f64, gravity: f64) -> f64 {
    (2.0 * gravity * drop_m.max(0.0)).sqrt()
}

/// Drop from an angle off the plumb line to its foot on a line of length L, metres: `L·(1 − cos θ)`.
pub fn swing_drop_m(length_m: f64, from_plumb_rad: f64) -> f64 {
    // 1 − cos θ = 2·sin²(θ/2), which keeps its digits at small angles.
    let half = libm::sin(from_plumb_rad / 2.0);
    2.0 * length_m * half * half
}

/// Pull in a line at the foot of a swing over the weight, 3 − 2·cos θ for a release from rest at
/// θ off the plumb line: `1 + 2·drop/L`, dimensionless.
pub fn swing_pull_share(length_m: f64, from_plumb_rad: f64) -> f64 {
    1.0 + 2.0 * swing_drop_m(length_m, from_plumb_rad) / length_m
}

/// Period of small swings, seconds: `2π·√(L/g)`. Above about 15° it is more than 0.4 % short.
pub fn small_swing_period_s(length_m: f64, gravity: f64) -> f64 {
    2.0 * std::f64::consts::PI * (length_m / gravity).sqrt()
}

/// A fall that the slack of one line allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlackFall {
    /// The line.
    pub line: LineId,
    /// Free fall, metres.
    pub height_m: f64,
    /// Fall factor on the line's whole length.
    pub fall_factor: f64,
    /// Peak force, newtons; `None` where the line's modulus is not known.
    pub peak_n: Option<f64>,
}

/// The fall of every line whose block states its slack, in the order of the lines, for the
/// heaviest climber. `modulus_n` gives a line's modulus from its kit entry.
pub fn slack_falls(
    rig: &Rig,
    solved: &Solved,
    modulus_n: impl Fn(LineId) -> Option<f64>,
) -> Vec<SlackFall> {
    let falls = rig.line_ids().filter_map(|line| {
        let height_m = rig.line(line).assembly.slack_m?;
        let length_m = solved.lines[line.0].length_m;
        if !(height_m > 0.0 && length_m > 0.0) {
            return None;
        }
        let factor = fall_factor(height_m, length_m);
        Some(SlackFall {
            line,
            height_m,
            fall_factor: factor,
            peak_n: modulus_n(line).map(|k| peak_force_n(solved.weight_range_n.1, k, factor)),
        })
    });
    falls.collect()
}

/// The hardest of some falls: the largest peak force, else the largest fall factor.
pub fn worst_fall(falls: &[SlackFall]) -> Option<SlackFall> {
    let hardness = |fall: &SlackFall| (fall.peak_n.unwrap_or(0.0), fall.fall_factor);
    falls.iter().copied().max_by(|a, b| {
        let (a, b) = (hardness(a), hardness(b));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    })
}
