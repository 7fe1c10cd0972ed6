//! Names of the parts in the close views of `setup`: left of the circle, or under it at its right where
//! a leader from the left would run across other things.
//!
//! ```text
//! CloseUp ─places of each part→ the clearest leader ─heights apart, no two crossing→ names, leaders
//! ```

use kurbo::{Point, Rect};

use super::closeup::{CloseUp, Part};
use super::hit::{segment_meets_rect, segments_cross};
use super::key::still;
use super::shape::{Ink, Layer, Stroke};
use super::sheet::{Sheet, dot, line};
use super::text::{Align, SIZE_MM, Text, plain};

/// From a circle to the names left of it, and between two names, mm.
const NAMES_MM: f64 = 3.2;
const NAME_STEP_MM: f64 = 5.4;
/// From a circle to a name under it, and how far beyond the circle's right edge that ends, mm.
const UNDER_MM: f64 = 1.6;
const BEYOND_MM: f64 = 2.0;
/// Most names under a circle.
const MOST_UNDER: usize = 2;
/// From a name's base line up to the middle of its letters, mm.
const MIDDLE_MM: f64 = 0.35 * SIZE_MM;
/// What is so near to the end of a leader belongs to what it names, mm.
const OWN_MM: f64 = 0.6;
/// What a leader pays for a millimetre, where one thing that it crosses costs 1, and for an end that
/// later things hide.
const LENGTH_COST: f64 = 0.02;
const HIDDEN_COST: f64 = 4.0;
/// What a place under the circle must save.
const LEAST_GAIN: f64 = 0.7;

/// A circle on the sheet.
#[derive(Debug, Clone, Copy)]
pub struct Window {
    /// Its centre.
    pub centre: Point,
    /// Its radius, mm.
    pub radius: f64,
    /// Whether names may stand under it.
    pub under: bool,
}

/// A name with its leader.
#[derive(Clone, Copy)]
struct Named<'a> {
    part: &'a Part,
    /// Base line and how the text lies to it.
    base: Point,
    align: Align,
    from: Point,
    to: Point,
}

/// Names the parts of a close view; returns where the lowest name ends, mm.
///
/// No two leaders cross. A part that is there more than once is named where its leader is clearest.
pub fn name_parts(sheet: &mut Sheet, view: &CloseUp, window: Window) -> f64 {
    let mut left: Vec<&Part> = view.parts.iter().collect();
    let mut under: Vec<Named<'_>> = Vec::new();
    let mut column = beside(view, &left, window);
    while window.under && under.len() < MOST_UNDER {
        // The one that gains most by a place under the circle.
        let mut best: Option<(f64, Named<'_>)> = None;
        for named in &column {
            let Some(other) = below(view, named.part, window, &under) else {
                continue;
            };
            let gain = cost(view, named) - cost(view, &other);
            if gain >= LEAST_GAIN && best.as_ref().is_none_or(|(most, _)| gain > *most) {
                best = Some((gain, other));
            }
        }
        let Some((_, named)) = best else {
            break;
        };
        left.retain(|part| part.words != named.part.words);
        under.push(named);
        column = beside(view, &left, window);
    }
    let mut low = 0.0_f64;
    for named in column.into_iter().chain(under) {
        let text = lettered(&named);
        low = low.max(text.bounds().y1);
        sheet.letter(Layer::Label, text);
        let stroke = Stroke::solid(Ink::Ink, 0.25);
        sheet.add(Layer::Leader, line(named.from, named.to, stroke));
        sheet.add(Layer::Leader, dot(named.to));
    }
    low
}

/// A name as text.
fn lettered(named: &Named<'_>) -> Text {
    let words = vec![plain(named.part.words.clone(), Ink::Ink)];
    still(named.base, named.align, words)
}

/// What a leader costs: the things that it crosses, its length, whether its end is hidden.
fn cost(view: &CloseUp, named: &Named<'_>) -> f64 {
    let (from, to) = (named.from, named.to);
    let end = Rect::from_center_size(to, (2.0 * OWN_MM, 2.0 * OWN_MM));
    let things = view.things.iter();
    let crossed = things.filter(|thing| thing.crossed_by((from, to)) && !thing.meets(end));
    let drawn = named.part.places.iter().find(|(at, _)| *at == to);
    let later = drawn.map_or(0, |(_, drawn)| *drawn);
    let middle = Rect::from_center_size(to, (0.2, 0.2));
    let hidden = view.things[later..].iter().any(|thing| thing.meets(middle));
    let hidden = if hidden { HIDDEN_COST } else { 0.0 };
    crossed.count() as f64 + LENGTH_COST * from.distance(to) + hidden
}

/// Names left of the circle: level where that is possible, in the order of their heights.
fn beside<'a>(view: &CloseUp, parts: &[&'a Part], window: Window) -> Vec<Named<'a>> {
    let (centre, radius) = (window.centre, window.radius);
    let right = centre.x - radius - NAMES_MM;
    let level = |part: &'a Part, to: Point, y: f64| Named {
        part,
        base: Point::new(right, y + MIDDLE_MM),
        align: Align::End,
        from: Point::new(right + 0.8, y),
        to,
    };
    let clearest = |part: &&'a Part| {
        let costs = part.places.iter().map(|(at, _)| {
            let named = level(part, *at, at.y);
            (cost(view, &named), *at)
        });
        let best = costs.reduce(|a, b| if b.0 < a.0 { b } else { a });
        (*part, best.map_or(centre, |(_, at)| at))
    };
    let mut parts: Vec<(&'a Part, Point)> = parts.iter().map(clearest).collect();
    parts.sort_by(|a, b| a.1.y.total_cmp(&b.1.y));
    let mut heights = Vec::new();
    // Each round settles the heights, then changes the places of neighbours whose leaders cross.
    for _ in 0..=parts.len() {
        let wanted: Vec<f64> = parts.iter().map(|part| part.1.y).collect();
        heights = apart(&wanted, NAME_STEP_MM);
        let ends = |i: usize| (Point::new(right, heights[i]), parts[i].1);
        let crossed = (1..parts.len()).find(|i| segments_cross(ends(i - 1), ends(*i)));
        match crossed {
            Some(i) => parts.swap(i - 1, i),
            None => break,
        }
    }
    let (high, low) = (centre.y - 0.9 * radius, centre.y + 0.98 * radius);
    let shift = heights.last().map_or(0.0, |last| (low - last).min(0.0));
    let shift = shift.max(heights.first().map_or(0.0, |first| high - first));
    let named = parts.into_iter().zip(heights);
    named
        .map(|((part, to), y)| level(part, to, y + shift))
        .collect()
}

/// A name under the circle at its right, beneath those that stand there; `None` where its leader
/// would cross theirs.
fn below<'a>(
    view: &CloseUp,
    part: &'a Part,
    window: Window,
    others: &[Named<'_>],
) -> Option<Named<'a>> {
    let (centre, radius) = (window.centre, window.radius);
    let lower = centre.y + radius + UNDER_MM + SIZE_MM;
    let step = NAME_STEP_MM * others.len() as f64;
    let base = Point::new(centre.x + radius + BEYOND_MM, lower + step);
    let bounds = still(base, Align::End, vec![plain(part.words.clone(), Ink::Ink)]).bounds();
    let mut best: Option<(f64, Named<'a>)> = None;
    for (to, _) in &part.places {
        for share in [0.1, 0.3, 0.5, 0.7, 0.9] {
            let x = bounds.x0 + share * bounds.width();
            let from = Point::new(x, base.y - 0.8 * SIZE_MM);
            let met = others.iter().any(|o| {
                segment_meets_rect(from, *to, lettered(o).bounds())
                    || segments_cross((from, *to), (o.from, o.to))
            });
            let named = Named {
                part,
                base,
                align: Align::End,
                from,
                to: *to,
            };
            let costs = cost(view, &named);
            if !met && best.as_ref().is_none_or(|(least, _)| costs < *least) {
                best = Some((costs, named));
            }
        }
    }
    best.map(|(_, named)| named)
}

/// Heights in the given order, at least `step` apart and as near to the wanted ones as that allows
/// (least squares: neighbours that are too near share their mean).
fn apart(wanted: &[f64], step: f64) -> Vec<f64> {
    let mut runs: Vec<(f64, usize)> = Vec::new();
    for (i, y) in wanted.iter().enumerate() {
        let mut run = (y - step * i as f64, 1);
        while let Some((mean, count)) = runs.last().copied().filter(|last| last.0 > run.0) {
            runs.pop();
            let all = count + run.1;
            run = (
                (mean * count as f64 + run.0 * run.1 as f64) / all as f64,
                all,
            );
        }
        runs.push(run);
    }
    let means = runs
        .iter()
        .flat_map(|(mean, count)| std::iter::repeat_n(*mean, *count));
    means
        .enumerate()
        .map(|(i, mean)| mean + step * i as f64)
        .collect()
}

#[cfg(test)]
mod tests {
    use kurbo::Vec2;

    use super::*;
    use crate::figure::closeup::{AtHarness, harness};
    use crate::rig::Attachment;

    #[test]
    fn a_hitch_behind_another_is_named_under_the_circle() {
        let line = |index: usize, x: f64, hitch: &str| AtHarness {
            index,
            attachment: Attachment::Bridge,
            way: Vec2::new(x, -1.0),
            doubled: index == 0,
            hitch: Some(hitch.to_owned()),
            stopper: true,
        };
        let (centre, radius) = (Point::new(40.0, 40.0), 22.5);
        let lines = [line(0, -0.7, "near hitch"), line(1, 0.5, "far hitch")];
        let view = harness(&lines, centre, radius);
        let base = |under| {
            let window = Window {
                centre,
                radius,
                under,
            };
            let mut sheet = Sheet::default();
            let low = name_parts(&mut sheet, &view, window);
            // By hand: the circle ends at 62.5 mm.
            (low > 62.5, sheet.lettering().len())
        };
        assert!(!base(false).0);
        assert_eq!(base(true), (true, view.parts.len()));
    }

    #[test]
    fn names_are_apart_in_order_and_near_what_they_name() {
        // By hand: 3 and 4 share their mean 3.5, two apart; 20 is free.
        let heights = apart(&[3.0, 4.0, 20.0], 2.0);
        assert_eq!(heights, [2.5, 4.5, 20.0]);
        assert_eq!(apart(&[1.0, 1.0, 1.0], 2.0), [-1.0, 1.0, 3.0]);
    }
}
