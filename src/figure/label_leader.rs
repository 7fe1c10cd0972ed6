//! Leaders: where the line from a thing to its label ends, and what it costs for its length.

use kurbo::{Point, Rect};

use super::text::{Align, LEADING_MM, SIZE_MM};

/// Longest leader, mm.
pub const LEADER_MM: f64 = 45.0;

/// From a leader's end to the text, mm.
pub const LEADER_GAP_MM: f64 = 0.8;

/// A leader shorter than this would be a dash beside its label, mm.
const LEAST_LEADER_MM: f64 = 3.0;

/// Price of a leader, and of each 10 mm of it.
pub const LEADER_COST: f64 = 6.0;
const LEADER_COST_PER_10_MM: f64 = 1.0;

/// From the edge of a text to where a leader may end under or over it, mm.
const INDENT_MM: f64 = 2.0;

/// Price of a leader for its length, mm; infinite for one that is too short or too long.
pub fn price(length: f64) -> f64 {
    if (LEAST_LEADER_MM..=LEADER_MM).contains(&length) {
        LEADER_COST + LEADER_COST_PER_10_MM * length / 10.0
    } else {
        f64::INFINITY
    }
}

/// From the target to the nearest edge of the text, at the height of a line of it.
///
/// - `lines`: how many there are.
pub fn to(target: Point, whole: Rect, align: Align, lines: usize) -> (Point, Point) {
    let (x, beside) = across(target.x, (whole.x0, whole.x1), align);
    let (line, over) = down(target.y, (whole.y0, whole.y1), lines);
    (target, Point::new(x, if beside { line } else { over }))
}

/// How far across a leader leads, and whether it ends beside the text, not over or under it.
pub fn across(target: f64, (left, right): (f64, f64), align: Align) -> (f64, bool) {
    if target < left && align != Align::End {
        (left - LEADER_GAP_MM, true)
    } else if target > right && align != Align::Start {
        (right + LEADER_GAP_MM, true)
    } else {
        let first = left + INDENT_MM;
        (target.clamp(first, (right - INDENT_MM).max(first)), false)
    }
}

/// How far down a leader leads that ends beside the text, and one that ends over or under it.
pub fn down(target: f64, (upper, lower): (f64, f64), lines: usize) -> (f64, f64) {
    let first = upper + 0.39 * SIZE_MM;
    let last = first + LEADING_MM * (lines as f64 - 1.0);
    let line = if target > last { last } else { first };
    let over = if target < upper {
        upper - LEADER_GAP_MM
    } else {
        lower + LEADER_GAP_MM
    };
    (line, over)
}
