//! What the `loss` figure says of each loss, and the rows of its key.
//!
//! ```text
//! Loss ─words→ paragraphs under a panel    Scene ─entries→ key
//! ```

use kurbo::{Point, Vec2};

use super::facts::{LineFacts, force, length, spaced};
use super::key::{Entry, SYMBOL_MM};
use super::loss::{BEFORE, NOT_TAKEN, PATH_MM, THIN_MM, head};
use super::multiples::Words;
use super::scene::Scene;
use super::shape::{Ink, Item, Shape, Stroke};
use super::sheet::polyline;
use super::text::{Run, bold, plain};
use super::{Style, marks, rope};
use crate::quantity::{Quantity, Units, quantity_text};
use crate::rig::{LineId, Space};
use crate::statics::{Loss, LossOutcome};

/// A drop or a way below this is not drawn, metres: half of the last digit.
pub const STAYS_M: f64 = 0.005;
/// Warning signs in the words: of a strike, and where nothing holds, mm.
const SIGN_MM: f64 = 8.0;
const LOUD_MM: f64 = 12.0;

/// What is said of a loss under its picture.
pub fn words(scene: &Scene<'_>, loss: &Loss, style: Style) -> Vec<Words> {
    let units = style.units;
    let LossOutcome::Held {
        drop_m,
        speed_m_s,
        pull_n,
        strikes,
        ..
    } = &loss.outcome
    else {
        return vec![Words {
            sign: Some((marks::warning(Point::ORIGIN, LOUD_MM), LOUD_MM)),
            lines: vec![
                vec![bold("nothing holds", Ink::Bad)],
                vec![plain("the climber falls", Ink::Ink)],
            ],
        }];
    };
    let speed = |v: f64| quantity_text(Quantity::Speed(v), units);
    let mut all = Vec::new();
    if let Some(strike) = strikes {
        let to = format!("strikes the {}", spaced(&strike.piece));
        all.push(Words {
            sign: Some((marks::warning(Point::ORIGIN, SIGN_MM), SIGN_MM)),
            lines: vec![
                vec![bold(to, Ink::Bad)],
                vec![
                    bold(
                        format!("up\u{a0}to\u{a0}{}", speed(strike.speed_m_s)),
                        Ink::Ink,
                    ),
                    plain(
                        format!(" after\u{a0}{}", length(strike.after_m, units)),
                        Ink::Ink,
                    ),
                ],
            ],
        });
    }
    let mut lines: Vec<Vec<Run>> = Vec::new();
    if *drop_m < STAYS_M {
        lines.push(vec![bold("stays in place", Ink::Ink)]);
    } else {
        let mut line = vec![
            plain("drop ", Ink::Ink),
            bold(length(*drop_m, units), Ink::Ink),
        ];
        let said = strikes.as_ref().map(|s| speed(s.speed_m_s));
        let most = speed(*speed_m_s);
        if said.as_ref() != Some(&most) {
            lines.push(line);
            line = vec![plain("at most ", Ink::Ink), bold(most, Ink::Ink)];
        }
        lines.push(line);
        if strikes.is_none() {
            lines.push(vec![plain("the path meets no wood", Ink::Ink)]);
        }
    }
    if let Some(pull) = pull_n {
        lines.extend(peak(scene, loss.line, *pull, units));
    }
    all.push(Words { sign: None, lines });
    all
}

/// The peak pull in the one line that remains, and its pull before.
fn peak(scene: &Scene<'_>, lost: LineId, pull_n: f64, units: Units) -> Vec<Vec<Run>> {
    let Some(left) = remaining(&scene.facts, lost) else {
        return Vec::new();
    };
    let mut lines = vec![vec![
        bold(left.name.clone(), Ink::line(left.id.0)),
        plain(" peak ", Ink::Ink),
        bold(force(pull_n, units), Ink::Ink),
    ]];
    if let Some(before) = left.pull_text(units) {
        lines.push(vec![plain(format!("before {before}"), Ink::Soft)]);
    }
    lines
}

/// The line that is left when another goes, where only one is.
pub fn remaining(facts: &[LineFacts], lost: LineId) -> Option<&LineFacts> {
    let mut left = facts.iter().filter(|f| f.id != lost);
    match (left.next(), left.next()) {
        (Some(only), None) => Some(only),
        _ => None,
    }
}

/// The rows of the key.
pub fn entries(scene: &Scene<'_>) -> Vec<Entry> {
    let rig = scene.rig;
    let mut rows: Vec<Entry> = scene
        .facts
        .iter()
        .map(|f| {
            let sample = rope::sample(Point::ORIGIN, SYMBOL_MM, f.legs.len().max(1), f.id.0);
            let symbol = sample.into_iter().map(Item::Shape).collect();
            Entry::new(symbol, format!("{}, {}", f.name, f.way(rig)))
        })
        .collect();
    let ends = [Point::ORIGIN, Point::new(SYMBOL_MM, 0.0)];
    let row = |shapes: Vec<Shape>, words: &str| {
        Entry::new(shapes.into_iter().map(Item::Shape).collect(), words)
    };
    let stroked = |stroke: Stroke| Shape::stroked(polyline(&ends), stroke);
    let moves = scene.solved.loss.iter().any(|l| match &l.outcome {
        LossOutcome::NothingHolds => true,
        LossOutcome::Held { drop_m, .. } => *drop_m >= STAYS_M,
    });
    rows.push(row(
        vec![stroked(Stroke::dashed(Ink::Ghost, 0.6, &BEFORE))],
        "before the loss",
    ));
    if moves {
        let path = stroked(Stroke::solid(Ink::Ink, PATH_MM));
        let head = head(Point::new(0.7 * SYMBOL_MM, 0.0), Vec2::new(1.0, 0.0));
        rows.push(row(vec![path, head], "path of the harness point"));
    }
    let struck = scene.solved.loss.iter().any(|l| {
        matches!(
            l.outcome,
            LossOutcome::Held {
                strikes: Some(_),
                ..
            }
        )
    });
    if struck {
        let thin = Stroke::dashed(Ink::Soft, THIN_MM, &NOT_TAKEN);
        rows.push(row(vec![stroked(thin)], "path if nothing were struck"));
    }
    if moves {
        rows.push(Entry::note("lines keep their lengths; no losses counted"));
        rows.push(Entry::note("feet and head swing wider than the path"));
    }
    if rig.space == Space::Spatial {
        rows.push(Entry::note(
            "seen from the front: swings also go in or out of the sheet",
        ));
    }
    rows
}
