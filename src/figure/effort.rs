//! The `effort` figure: what the hand finds to take in a doubled line while rising.
//!
//! ```text
//! Rig + Solved ─(statics) running→ Rising… ─draw→ the line unrolled with its pulls, bars to one scale
//! ```
//!
//! The picture is a scheme: legs hang side by side, passes in a row over them. Lengths of arrows and
//! bars are to the scales given.

use kurbo::{BezPath, Point, Rect, Vec2};

use super::arrows::{self, Kind};
use super::curve::{Stance, polyline, smooth_open};
use super::detail;
use super::facts::{LineFacts, force, gather, spaced};
use super::key::{EDGE_MM, broken, still};
use super::naming::line_heading;
use super::rope::{DETAIL_MM, rope};
use super::shape::{Ink, Item, Layer, Shape, Stroke};
use super::sheet::{Sheet, rect_path};
use super::text::{Align, LEADING_MM, Run, bold, plain};
use super::tree::end_on;
use super::{Composed, Style, describe};
use crate::quantity::number_text;
use crate::rig::{Over, PointId, Rig};
use crate::statics::{Running, Solved, running};

/// Size of the hardware in the picture.
const K: f64 = 1.5;
/// Radius of the bend of a rope over a pass, mm.
const BEND_MM: f64 = detail::SHEAVE_MM * K;
/// From pass to pass, mm.
const PASSES_MM: f64 = 21.0;
/// Longest arrow of a leg, mm: what a line carries of the climber is drawn so long.
const LONGEST_MM: f64 = 25.0;
/// From a leg to the arrow beside it, mm.
const ASIDE_MM: f64 = 3.6;
/// From the heading to the middle of the passes, from there to the harness, and on to the end, mm.
const TO_PASSES_MM: f64 = 21.0;
const TO_HARNESS_MM: f64 = 47.0;
/// Narrower sheets have the bars under the picture, mm.
const BESIDE_MM: f64 = 120.0;
/// Width of the picture beside its bars, mm.
const PICTURE_MM: f64 = 78.0;
/// Height of a bar and of its row, mm.
const BAR_MM: f64 = 4.6;
const ROW_MM: f64 = 12.4;

/// What a line that does not come back does for who rises.
const SINGLE: &str = "One leg gives no help: all that it carries must be raised, by the feet, a foot loop or a device.";

/// A line while the climber rises.
pub struct Rising {
    /// The line.
    pub facts: LineFacts,
    /// What it carries of the climber, newtons.
    pub share_n: f64,
    /// Its pulls while it runs; `None` where it does not come back to the climber.
    pub running: Option<Running>,
}

impl Rising {
    /// The hand's force on the hitch leg, newtons.
    pub fn hand_n(&self) -> f64 {
        self.pull_n(|pulls| pulls.last())
    }

    /// Pull of the leg at the other end, newtons.
    pub fn other_n(&self) -> f64 {
        self.pull_n(|pulls| pulls.first())
    }

    /// What either leg would carry without friction, newtons.
    pub fn even_n(&self) -> f64 {
        self.facts.leg_pulls_n.iter().sum::<f64>() / self.facts.leg_pulls_n.len().max(1) as f64
    }

    fn pull_n(&self, of: impl Fn(&[f64]) -> Option<&f64>) -> f64 {
        let pulls = self.running.as_ref().and_then(|r| of(&r.pulls_n).copied());
        pulls.unwrap_or(self.share_n)
    }
}

/// Composes the figure; `None` where no line helps to rise.
pub fn compose(rig: &Rig, solved: &Solved, style: Style<'_>) -> Option<Composed> {
    let lines: Vec<Rising> = gather(rig, solved)
        .into_iter()
        .filter_map(|facts| {
            let share_n = facts.on_climber_n?.length();
            let running = running(rig, solved, facts.id);
            Some(Rising {
                facts,
                share_n,
                running,
            })
        })
        .filter(|line| !line.facts.is_slack())
        .collect();
    if lines.iter().all(|line| line.running.is_none()) {
        return None;
    }
    let most_n = lines.iter().map(|l| l.share_n).fold(0.0, f64::max);
    let mut sheet = Sheet::default();
    let mut top = 2.0;
    for line in &lines {
        top = draw_line(&mut sheet, rig, solved, line, most_n, style, top) + 4.0;
    }
    let notes = [
        "Arrows of a line and all bars are to scale. Rising: the line runs towards the hitch leg, and each bend asks for more.",
        "Left out: the hitch’s own drag, the stretch of the rope, and every jerk.",
    ];
    let mut y = top + 2.0;
    for note in notes {
        for words in broken(&[plain(note, Ink::Soft)], style.width_mm - 2.0 * EDGE_MM) {
            sheet.letter(
                Layer::Key,
                still(Point::new(EDGE_MM, y), Align::Start, words),
            );
            y += LEADING_MM;
        }
    }
    Some(Composed {
        title: format!("{}: effort", rig.title),
        description: describe::effort(rig, solved, &lines, style.units),
        sheet,
        size_mm: (style.width_mm, y - LEADING_MM + 3.0),
    })
}

/// One line: heading, picture, bars. Returns where it ends.
fn draw_line(
    sheet: &mut Sheet,
    rig: &Rig,
    solved: &Solved,
    line: &Rising,
    most_n: f64,
    style: Style<'_>,
    top: f64,
) -> f64 {
    let y = line_heading(sheet, rig, &line.facts, style.width_mm, top);
    let beside = style.width_mm >= BESIDE_MM;
    let (bars_left, bars_top, low) = match &line.running {
        Some(running) => {
            let width = if beside { PICTURE_MM } else { style.width_mm };
            let low = picture(sheet, rig, solved, line, running, style, (y, width));
            if beside {
                (PICTURE_MM + 2.0, y + 9.0, low)
            } else {
                (EDGE_MM, low + 5.0, low)
            }
        }
        None if beside => {
            let mut low = y + 9.0;
            let words = [plain(SINGLE, Ink::Soft)];
            for words in broken(&words, PICTURE_MM - EDGE_MM - 4.0) {
                let at = Point::new(EDGE_MM, low);
                sheet.letter(Layer::Label, still(at, Align::Start, words));
                low += LEADING_MM;
            }
            (PICTURE_MM + 2.0, y + 9.0, low)
        }
        None => (EDGE_MM, y + 6.0, y),
    };
    let room = style.width_mm - EDGE_MM - bars_left;
    let end = bars(
        sheet,
        line,
        most_n,
        style,
        Point::new(bars_left, bars_top),
        room,
    );
    end.max(low)
}

/// The line unrolled: passes in a row, the legs under them with their pulls. Returns where it ends.
fn picture(
    sheet: &mut Sheet,
    rig: &Rig,
    solved: &Solved,
    line: &Rising,
    running: &Running,
    style: Style<'_>,
    (top, width): (f64, f64),
) -> f64 {
    let index = line.facts.id.0;
    let count = running.passes.len().max(1) as f64;
    let middle = 0.5 * width;
    let high = top + TO_PASSES_MM;
    let low = high + TO_HARNESS_MM;
    let first = middle - PASSES_MM * (count - 1.0) / 2.0;
    let last = middle + PASSES_MM * (count - 1.0) / 2.0;
    let (left, right) = (first - BEND_MM, last + BEND_MM);
    // The rope: up from the eye, over the passes, down to the hitch and on to its tail.
    let mut path = polyline(&[eye(left, right, low).point(detail::EYE_MM, 0.0)]);
    path.line_to(Point::new(left, low - 17.0));
    path.line_to(Point::new(left, high));
    let turn = |path: &mut BezPath, from: Vec2, to: Vec2, centre: Point| {
        /// Handles of a quarter circle as a share of the radius.
        const HANDLE: f64 = 0.552_284_75;
        let (a, b) = (centre + from * BEND_MM, centre + to * BEND_MM);
        path.curve_to(
            a + to * (BEND_MM * HANDLE),
            b + from * (BEND_MM * HANDLE),
            b,
        );
    };
    let (west, north, east) = (
        Vec2::new(-1.0, 0.0),
        Vec2::new(0.0, -1.0),
        Vec2::new(1.0, 0.0),
    );
    turn(&mut path, west, north, Point::new(first, high));
    path.line_to(Point::new(last, high - BEND_MM));
    turn(&mut path, north, east, Point::new(last, high));
    path.line_to(Point::new(right, low - 2.0));
    let mut shapes = rope(path, index, DETAIL_MM);
    for (nth, (point, _)) in running.passes.iter().enumerate() {
        let at = Point::new(first + PASSES_MM * nth as f64, high);
        shapes.extend(pass_mark(rig, *point, at));
    }
    shapes.extend(harness(line, left, right, low));
    let id = format!("effort-{}", rig.line(line.facts.id).name);
    sheet.add(
        Layer::Detail,
        Item::group(id, shapes.into_iter().map(Item::from)),
    );
    for (nth, (point, factor)) in running.passes.iter().enumerate() {
        let over = rig.point(*point).over;
        let lift = match over {
            Some(Over::Pulley) => detail::PULLEY_EYE_MM * K + 4.4,
            _ => BEND_MM + 3.0,
        };
        let at = Point::new(first + PASSES_MM * nth as f64, high - lift);
        let words = vec![
            plain(format!("{} ", spaced(&rig.point(*point).name)), Ink::Soft),
            bold(format!("× {}", number_text(*factor, 2)), Ink::Ink),
        ];
        sheet.letter(Layer::Label, still(at, Align::Middle, words));
    }
    legs(sheet, solved, line, style, (left, right, low));
    low + 11.0 + LONGEST_MM
}

/// Arrows and numbers of the two legs and of what they hold.
fn legs(
    sheet: &mut Sheet,
    solved: &Solved,
    line: &Rising,
    style: Style<'_>,
    (left, right, low): (f64, f64, f64),
) {
    let units = style.units;
    let scale = LONGEST_MM / line.share_n.max(1.0);
    let name = &line.facts.name;
    let pulls = [
        (left - ASIDE_MM, line.other_n(), "other"),
        (right + ASIDE_MM, line.hand_n(), "hand"),
    ];
    for (x, pull, what) in pulls {
        let from = Point::new(x, low - 12.0);
        let to = from - Vec2::new(0.0, pull * scale);
        let id = format!("pull-{what}-{name}");
        arrows::arrow(sheet, &id, Kind::Pull(line.facts.id.0), from, to);
    }
    let mid = low - 16.0;
    let mut say = |x: f64, align: Align, words: [Run; 2]| {
        for (i, run) in words.into_iter().enumerate() {
            let at = Point::new(x, mid + LEADING_MM * i as f64);
            sheet.letter(Layer::Label, still(at, align, vec![run]));
        }
    };
    say(
        left - ASIDE_MM - 3.0,
        Align::End,
        [
            plain("other leg", Ink::Ink),
            bold(force(line.other_n(), units), Ink::Ink),
        ],
    );
    say(
        right + ASIDE_MM + 3.0,
        Align::Start,
        [
            plain("your hand", Ink::Ink),
            bold(force(line.hand_n(), units), Ink::Ink),
        ],
    );
    // What the two hold, below the harness.
    let middle = 0.5 * (left + right);
    let from = Point::new(middle, low + 9.0);
    let to = from + Vec2::new(0.0, line.share_n * scale);
    arrows::arrow(sheet, &format!("share-{name}"), Kind::Weight, from, to);
    let words = if line.share_n > 0.995 * solved.weight_n {
        "your weight"
    } else {
        "its share of you"
    };
    let base = Point::new(middle + 3.4, low + 22.0);
    let runs = vec![plain(words, Ink::Ink)];
    sheet.letter(Layer::Label, still(base, Align::Start, runs));
    let runs = vec![bold(force(line.share_n, units), Ink::Ink)];
    let base = base + Vec2::new(0.0, LEADING_MM);
    sheet.letter(Layer::Label, still(base, Align::Start, runs));
}

/// What the rope runs over, hanging from above.
fn pass_mark(rig: &Rig, point: PointId, at: Point) -> Vec<Shape> {
    let on = rig.point(point);
    let up = Vec2::new(0.0, -1.0);
    match on.over {
        Some(Over::Pulley) => detail::pulley(&Stance::new(at, up).scaled(K)),
        Some(Over::Limb | Over::Stem) => end_on(at, BEND_MM - 0.5 * DETAIL_MM - 0.5, &on.name).0,
        Some(Over::Ring) | None => detail::ring(at - Vec2::new(0.0, BEND_MM), 1.2),
    }
}

/// Where the eye of the other leg hangs in the bridge, and where its rope goes.
fn eye(left: f64, right: f64, low: f64) -> Stance {
    let tip = Point::new(0.5 * (left + right) - 0.8, low - 0.4);
    Stance::new(tip, Point::new(left, low - 17.0) - tip)
}

/// Harness, eye and hitch under the legs.
fn harness(line: &Rising, left: f64, right: f64, low: f64) -> Vec<Shape> {
    let index = line.facts.id.0;
    let middle = 0.5 * (left + right);
    let up = Vec2::new(0.0, -1.0);
    let belt = Stance::new(Point::new(middle, low + 3.0), up).scaled(1.35);
    let mut shapes = detail::harness(&belt);
    shapes.extend(detail::tied_eye(&eye(left, right, low), index));
    // The two legs of the hitch's cord.
    let bridge = belt.point(detail::BRIDGE.1 - 0.4, 0.9);
    let hitch_at = Point::new(right, low - 9.0);
    let from = hitch_at + Vec2::new(0.0, 3.2);
    for side in [0.8, -0.8] {
        let cord = smooth_open(&[
            from,
            from.midpoint(bridge) + Vec2::new(1.2 + side, 0.4),
            bridge,
        ]);
        let edge = Stroke::solid(Ink::Paper, 1.7);
        shapes.push(Shape::stroked(cord.clone(), edge));
        shapes.push(Shape::stroked(cord, Stroke::solid(Ink::line(index), 0.95)));
    }
    shapes.extend(detail::hitch(&Stance::new(hitch_at, up), index));
    shapes
}

/// What the line carries, the hand, the other leg and a leg without friction, as bars to one scale.
/// Returns where they end.
fn bars(
    sheet: &mut Sheet,
    line: &Rising,
    most_n: f64,
    style: Style<'_>,
    at: Point,
    room: f64,
) -> f64 {
    let own = Ink::line(line.facts.id.0);
    let mut rows: Vec<(&str, f64, Ink)> =
        vec![("its share of your weight", line.share_n, Ink::Soft)];
    if line.running.is_some() {
        rows.push(("your hand, to rise", line.hand_n(), Ink::Ink));
        rows.push(("the other leg", line.other_n(), own));
        rows.push(("each leg without friction", line.even_n(), Ink::Hair));
    } else {
        rows.push(("to be raised: all of it", line.share_n, Ink::Ink));
    }
    let longest = room - 1.0;
    let mut y = at.y;
    for (words, newtons, ink) in rows {
        let share = newtons / line.share_n.max(1.0);
        let mut runs = vec![
            plain(format!("{words} "), Ink::Ink),
            bold(force(newtons, style.units), Ink::Ink),
        ];
        if newtons < line.share_n {
            let percent = number_text(share * 100.0, 0);
            runs.push(plain(format!(", {percent}\u{a0}%"), Ink::Ink));
        }
        for (nth, runs) in broken(&runs, room).into_iter().enumerate() {
            y += if nth > 0 { LEADING_MM } else { 0.0 };
            let base = Point::new(at.x, y);
            sheet.letter(Layer::Label, still(base, Align::Start, runs));
        }
        let length = longest * newtons / most_n.max(1.0);
        let whole = Rect::new(at.x, y + 1.6, at.x + length, y + 1.6 + BAR_MM);
        let mut shapes = vec![Shape::filled(rect_path(whole), ink)];
        if ink == own {
            // The tracer of the line, so that it is told without colour.
            let ends = [whole.x0 + 1.0, whole.x1 - 1.0].map(|x| Point::new(x, whole.center().y));
            if let Some(core) = super::rope::tracer(line.facts.id.0, 0.9, 1.4) {
                shapes.push(Shape::stroked(polyline(&ends), core));
            }
        }
        sheet.extend(Layer::Force, shapes);
        y += ROW_MM;
    }
    y - ROW_MM + BAR_MM + 2.0
}
