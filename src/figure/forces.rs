//! Forces on the sheet: the scale of their arrows, where pulls begin, scale bar and symbols of the key.
//!
//! ```text
//! Scene ─outgrowing, force_scale→ mm/kN ─force_bar, arrow_symbol→ key
//! ```

use glam::DVec3;
use kurbo::{Point, Rect, Vec2};

use super::Detail;
use super::arrows::{self, Kind};
use super::facts::{SLACK_N, force};
use super::key::{SYMBOL_MM, Scale};
use super::scene::{Scene, Stretch};
use super::shape::Item;
use super::sheet::Sheet;
use crate::quantity::{Units, number_text};

/// Longest arrow of the weight, mm, on a sheet 160 mm wide.
const WEIGHT_MM: f64 = 35.0;

/// Scales of forces, mm/kN.
const SCALES: [f64; 10] = [1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0];

/// An arrow is at most this share of the rope that it lies along, as long as the weight keeps the
/// second share of its longest arrow.
const ROPE_SHARE: f64 = 0.75;
const LEAST_SHARE: f64 = 0.45;

/// Room between a head in a helmet and the pulls that begin beyond it, mm.
const CLEAR_MM: f64 = 1.2;

/// A narrow sheet shortens its arrows no further than to this share of a wide one's; a small drawing,
/// which has few labels to carry, may go further.
const NARROW: f64 = 0.7;
const SMALL: f64 = 0.5;

/// The round scale (mm/kN) that makes the weight's arrow up to 35 mm long on a sheet of 160 mm, and
/// proportionally shorter on a narrow one.
///
/// - `width_mm`: of the sheet, or of the panel.
/// - `most`: least mm/kN at which an arrow would outgrow its rope; the weight keeps at least half of
///   its length.
pub fn force_scale(weight_n: f64, width_mm: f64, detail: Detail, most: f64) -> f64 {
    let least = match detail {
        Detail::Small => SMALL,
        _ => NARROW,
    };
    let shrink = (width_mm / 160.0).clamp(least, 1.0);
    let largest = WEIGHT_MM * shrink / (weight_n / 1000.0);
    let wanted = largest.min(most).max(LEAST_SHARE * largest);
    let mut scales = SCALES.into_iter().rev();
    scales.find(|s| *s <= wanted).unwrap_or(SCALES[0])
}

/// A load this near to its rope's direction is drawn beside the rope, radians (12°).
const ALONG_RAD: f64 = 12.0 * std::f64::consts::PI / 180.0;

/// Whether a force runs along a rope that leads away from where it acts: both as unit vectors on the sheet.
pub fn runs_along(rope: Vec2, force: Vec2) -> bool {
    rope.cross(force).abs() < libm::sin(ALONG_RAD) && rope.dot(force) > 0.0
}

/// The scale (mm/kN) at which the first arrow outgrows the rope that it lies along or beside.
pub fn outgrowing(scene: &Scene<'_>) -> f64 {
    let mm = |s: &Stretch| scene.frame.at(s.from).distance(scene.frame.at(s.to));
    let mut most = f64::INFINITY;
    for facts in &scene.facts {
        for stretch in scene.stretches(facts.id) {
            let pulls = if stretch.at_climber {
                facts.on_climber_n.map(DVec3::length)
            } else {
                facts.pull_n
            };
            if let Some(pull) = pulls.filter(|n| *n > SLACK_N) {
                most = most.min(ROPE_SHARE * mm(&stretch) / (pull / 1000.0));
            }
        }
    }
    for (i, answer) in scene.solved.points.iter().enumerate() {
        let load = answer.load_n.filter(|load| load.length() > SLACK_N);
        let Some(load) = load.filter(|_| !scene.rig.points[i].hangs) else {
            continue;
        };
        let way: Vec2 = scene.frame.direction(load);
        let beside = scene
            .ropes_from(i)
            .filter_map(|(rope, mm)| runs_along(rope, way / way.hypot()).then_some(mm));
        if let Some(short) = beside.reduce(f64::min) {
            most = most.min(ROPE_SHARE * short / (load.length() / 1000.0));
        }
    }
    most
}

/// How far from the harness point the pulls on the climber begin, mm: at it, unless the head of one
/// would cover the helmet. A force may be shown anywhere along its line, so that all then begin beyond
/// the helmet; where a rope is too short for that, they stay.
///
/// - `scale`: mm/kN.
/// - `head`: the box of head and helmet.
pub fn pulls_begin(scene: &Scene<'_>, scale: f64, head: Rect) -> f64 {
    let mut covers = false;
    let corners = [
        (head.x0, head.y0),
        (head.x1, head.y0),
        (head.x0, head.y1),
        (head.x1, head.y1),
    ];
    let far = corners.map(|corner| scene.harness.distance(Point::from(corner)));
    let begin = far.into_iter().fold(0.0, f64::max) + CLEAR_MM;
    for facts in &scene.facts {
        let Some(pull) = facts.on_climber_n.filter(|v| v.length() > SLACK_N) else {
            continue;
        };
        let vector: Vec2 = scene.frame.direction(pull) * (scale / 1000.0);
        let tip = scene.harness + vector;
        if let Some(outline) = arrows::head_outline(Kind::Pull(facts.id.0), scene.harness, tip) {
            covers |= outline.meets(head);
        }
        let at_climber = scene
            .stretches(facts.id)
            .into_iter()
            .filter(|s| s.at_climber);
        let long = at_climber
            .map(|s| scene.frame.at(s.from).distance(scene.frame.at(s.to)))
            .fold(0.0, f64::max);
        if begin + vector.hypot() > ROPE_SHARE * long {
            return 0.0;
        }
    }
    if covers { begin } else { 0.0 }
}

/// A force as a bare number in the pack's unit.
pub fn number(newtons: f64, units: Units) -> String {
    let text = force(newtons, units);
    text.split('\u{a0}').next().unwrap_or_default().to_owned()
}

/// Unit of forces.
pub const fn unit_word(units: Units) -> &'static str {
    match units {
        Units::Metric => "kN",
        Units::Imperial => "lbf",
    }
}

/// An arrow as a symbol of the key.
pub fn arrow_symbol(kind: Kind) -> Vec<Item> {
    let mut sheet = Sheet::default();
    let to = Point::new(SYMBOL_MM, 0.0);
    arrows::arrow(&mut sheet, "", kind, Point::ORIGIN, to);
    unnamed(&sheet)
}

/// A pull or load in grey: any line's.
pub fn grey_arrow(load: bool) -> Vec<Item> {
    let kind = if load { Kind::AnyLoad } else { Kind::AnyPull };
    arrow_symbol(kind)
}

fn unnamed(sheet: &Sheet) -> Vec<Item> {
    let mut all = Vec::new();
    for (_, items) in sheet.layers() {
        for item in items {
            match item {
                Item::Group { items, .. } => all.extend(items.clone()),
                other => all.push(other.clone()),
            }
        }
    }
    all
}

/// Longest scale bar, mm.
const LONGEST_BAR_MM: f64 = 34.0;

/// The scale bar of forces: four round parts.
///
/// - `scale`: mm/kN.
pub fn force_bar(scale: f64, units: Units, title: &str) -> Scale {
    let mm_per_unit = match units {
        Units::Metric => scale,
        Units::Imperial => scale * crate::quantity::N_PER_LBF / 1000.0,
    };
    let rounds = [
        0.04, 0.08, 0.1, 0.2, 0.4, 0.8, 1.0, 2.0, 4.0, 8.0, 10.0, 20.0, 40.0, 80.0, 100.0, 200.0,
        400.0, 800.0, 1000.0, 2000.0,
    ];
    let whole = rounds
        .into_iter()
        .rev()
        .find(|w| w * mm_per_unit <= LONGEST_BAR_MM)
        .unwrap_or(rounds[0]);
    let decimals = if whole < 0.1 {
        2
    } else if whole < 2.0 {
        1
    } else {
        0
    };
    Scale {
        title: title.to_owned(),
        length_mm: whole * mm_per_unit,
        numbers: [0.0, whole / 2.0, whole].map(|v| {
            if v == 0.0 {
                "0".to_owned()
            } else {
                number_text(v, decimals)
            }
        }),
        unit: unit_word(units).to_owned(),
    }
}
