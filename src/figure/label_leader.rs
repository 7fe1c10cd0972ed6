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

/// A leader that would end so near beside a text as to stand along its first letter leads to the edge under
/// or over it, mm; unless it is level with the text: no more than so far over or under it.
const STEEP_MM: f64 = 3.0;
const LEVEL_MM: f64 = 2.5;

/// From the target to the nearest edge of the text, at the height of a line of it.
///
/// - `lines`: how many there are.
pub fn to(target: Point, whole: Rect, align: Align, lines: usize) -> (Point, Point) {
    let across = across(target.x, (whole.x0, whole.x1), align);
    let down = down(target.y, (whole.y0, whole.y1), lines);
    (target, end(across, down))
}

/// Where a leader could end across: beside the text, and over or under it.
#[derive(Debug, Clone, Copy)]
pub struct Across {
    /// `None` where the target lies over or under the text.
    beside: Option<f64>,
    over: f64,
    /// Whether beside only a text that is level with the target.
    steep: bool,
}

/// Where a leader could end down: beside the text, and over or under it.
#[derive(Debug, Clone, Copy)]
pub struct Down {
    beside: f64,
    over: f64,
    level: bool,
}

/// Where a leader ends.
pub fn end(across: Across, down: Down) -> Point {
    match across.beside {
        Some(x) if down.level || !across.steep => Point::new(x, down.beside),
        _ => Point::new(across.over, down.over),
    }
}

/// How far across a leader to a text leads.
pub fn across(target: f64, (left, right): (f64, f64), align: Align) -> Across {
    let first = left + INDENT_MM;
    let over = target.clamp(first, (right - INDENT_MM).max(first));
    let (beside, away) = if target < left && align != Align::End {
        (Some(left - LEADER_GAP_MM), left - target)
    } else if target > right && align != Align::Start {
        (Some(right + LEADER_GAP_MM), target - right)
    } else {
        (None, 0.0)
    };
    Across {
        beside,
        over,
        steep: away < STEEP_MM,
    }
}

/// How far down it leads.
pub fn down(target: f64, (upper, lower): (f64, f64), lines: usize) -> Down {
    let first = upper + 0.39 * SIZE_MM;
    let last = first + LEADING_MM * (lines as f64 - 1.0);
    Down {
        beside: if target > last { last } else { first },
        over: if target < upper {
            upper - LEADER_GAP_MM
        } else {
            lower + LEADER_GAP_MM
        },
        level: target > upper - LEVEL_MM && target < lower + LEVEL_MM,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_leader_ends_beside_a_text_or_leans_on_it_but_never_stands_along_it() {
        let text = Rect::new(50.0, 40.0, 70.0, 48.0);
        let ends = |x: f64, y: f64, align| to(Point::new(x, y), text, align, 2).1;
        // From far aside, at the height of the first or the last line.
        let beside = ends(30.0, 20.0, Align::Start);
        assert!(beside.x < text.x0 && beside.y > text.y0 && beside.y < 44.0);
        // From over its first letter: down to the upper edge, clear of the corner.
        for x in [48.0, 49.0, 51.0] {
            let over = ends(x, 20.0, Align::Start);
            assert_eq!((over.x, over.y < text.y0), (52.0, true), "{x}");
        }
        // From under its last letter, text aligned the other way.
        let under = ends(71.0, 60.0, Align::End);
        assert_eq!((under.x, under.y > text.y1), (68.0, true));
        // From close beside it, level with it: straight across.
        let level = ends(46.5, 42.0, Align::Start);
        assert!(level.x < text.x0 && level.y < 44.0);
    }
}
