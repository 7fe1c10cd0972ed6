//! Statics and findings as text for a terminal: a sentence a rig, then its tables.

use std::fmt::Write as _;

use super::findings_of;
use crate::finding::{Severity, place_text, show};
use crate::pack::RigId;
use crate::quantity::{Quantity, Units, degrees_text, quantity_text, range_text};
use crate::rig::{Rig, ValuePath};
use crate::rules::{Proof, problem_sentence};
use crate::statics::{LossOutcome, Mode, Solved};
use crate::value::evaluate;

/// Shown where a rig has no such number.
const NONE: &str = "\u{2013}";

/// Every rig of the pack, or only the one named, as tables.
pub fn statics_text(proof: &Proof, only: Option<&str>) -> String {
    let pack = &proof.reading.pack;
    let mut out = String::new();
    for (i, rig) in pack.rigs.iter().enumerate() {
        if only.is_some_and(|name| name != rig.name) {
            continue;
        }
        if !out.is_empty() {
            out.push('\n');
        }
        let _ = writeln!(out, "{}  ({})", rig.name, rig.title);
        match proof.answer(RigId(i)) {
            Ok(solved) => rig_text(&mut out, rig, &solved, pack.units),
            Err(problem) => {
                let _ = writeln!(out, "  {}", problem_sentence(rig, &problem));
            }
        }
        for finding in findings_of(proof, rig) {
            let at = place_text(finding, &proof.reading.sources);
            let _ = writeln!(
                out,
                "  {} {}: {} [{at}]",
                finding.severity.word(),
                finding.code,
                finding.message
            );
        }
    }
    out
}

/// Every finding under its source line, then a count.
pub fn findings_text(proof: &Proof, colour: bool) -> String {
    let mut out = String::new();
    for finding in &proof.findings {
        let _ = writeln!(out, "{}\n", show(finding, &proof.reading.sources, colour));
    }
    let pack = &proof.reading.pack;
    let count = |s: Severity| proof.findings.iter().filter(|f| f.severity == s).count();
    let _ = writeln!(
        out,
        "{}, {}: {}, {}, {}",
        counted(pack.lessons.len(), "lesson"),
        counted(pack.rigs.len(), "rig"),
        counted(count(Severity::Error), "error"),
        counted(count(Severity::Warning), "warning"),
        counted(count(Severity::Note), "note"),
    );
    out
}

fn counted(n: usize, what: &str) -> String {
    if n == 1 {
        format!("1 {what}")
    } else {
        format!("{n} {what}s")
    }
}

fn rig_text(out: &mut String, rig: &Rig, solved: &Solved, units: Units) {
    let _ = writeln!(out, "  {}", sentence(rig, solved, units));
    let text = |q: Option<Quantity>| q.map_or_else(|| NONE.into(), |q| quantity_text(q, units));
    let value = |path| text(evaluate(rig, solved, path));
    let mut rows = vec![row(&[
        "line",
        "pull",
        "range",
        "on climber",
        "share",
        "length",
        "from vertical",
        "if lost",
    ])];
    for id in rig.line_ids() {
        let answer = &solved.lines[id.0];
        let range = match (answer.pull_low_n, answer.pull_high_n) {
            (Some(low), Some(high)) => {
                range_text(Quantity::Force(low), Quantity::Force(high), units)
            }
            (Some(low), None) => format!("at least {}", quantity_text(Quantity::Force(low), units)),
            _ => NONE.into(),
        };
        rows.push(vec![
            rig.line(id).name.clone(),
            value(ValuePath::Pull(id)),
            range,
            value(ValuePath::OnClimber(id)),
            value(ValuePath::Share(id)),
            value(ValuePath::Length(id)),
            value(ValuePath::Angle(id)),
            loss_text(solved, id, units),
        ]);
    }
    table(out, &rows);
    let mut rows = vec![row(&["point", "load", "from straight down", "at (m)"])];
    for id in rig.point_ids() {
        let at = solved.points[id.0].at;
        // What lines alone hold up is in balance: it carries no load of its own.
        let load = |path| {
            if rig.point(id).hangs {
                "hangs".to_owned()
            } else {
                value(path)
            }
        };
        rows.push(vec![
            rig.point(id).name.clone(),
            load(ValuePath::Load(id)),
            load(ValuePath::LoadAngle(id)),
            match rig.space {
                crate::rig::Space::Planar => format!("{:.2}, {:.2}", at.x, at.z),
                crate::rig::Space::Spatial => format!("{:.2}, {:.2}, {:.2}", at.x, at.y, at.z),
            },
        ]);
    }
    table(out, &rows);
    if let Some(push) = solved.feet_push_n {
        let _ = writeln!(
            out,
            "  feet push {}",
            quantity_text(Quantity::Force(push.length()), units)
        );
    }
    if let Some(zone) = &solved.zone {
        let _ = writeln!(
            out,
            "  zone {}",
            quantity_text(Quantity::Area(zone.area_m2), units)
        );
    }
}

/// The rig in a plain sentence: who carries what.
fn sentence(rig: &Rig, solved: &Solved, units: Units) -> String {
    let weight = quantity_text(Quantity::Force(solved.weight_n), units);
    if let Some(push) = solved.push_needed_n {
        let angle = crate::value::angle_between(push, glam::DVec3::Z);
        return format!(
            "Does not hold: a push of {} at {} from straight up would be needed (weight {weight}).",
            quantity_text(Quantity::Force(push.length()), units),
            degrees_text(angle),
        );
    }
    let mut parts = Vec::new();
    for id in rig.line_ids() {
        let (Some(pull), Some(share)) = (
            evaluate(rig, solved, ValuePath::OnClimber(id)),
            evaluate(rig, solved, ValuePath::Share(id)),
        ) else {
            continue;
        };
        parts.push(format!(
            "{} carries {}, about {} of the weight",
            rig.line(id).name,
            quantity_text(pull, units),
            quantity_text(share, units)
        ));
    }
    let mode = match (solved.mode, solved.needs_friction) {
        (Mode::Held, false) => "Held",
        (Mode::Held, true) => "Held only with friction's help",
        (Mode::Hung, _) => "Hung",
    };
    format!("{mode}, weight {weight}: {}.", parts.join("; "))
}

fn loss_text(solved: &Solved, id: crate::rig::LineId, units: Units) -> String {
    let Some(loss) = solved.loss.iter().find(|l| l.line == id) else {
        return NONE.into();
    };
    match &loss.outcome {
        LossOutcome::NothingHolds => "NOTHING HOLDS".into(),
        LossOutcome::Held {
            drop_m, strikes, ..
        } => {
            let drop = quantity_text(Quantity::Length(*drop_m), units);
            strikes.as_ref().map_or_else(
                || format!("drop {drop}"),
                |s| {
                    let speed = quantity_text(Quantity::Speed(s.speed_m_s), units);
                    format!("drop {drop}, strikes {} at {speed}", s.piece)
                },
            )
        }
    }
}

fn row(cells: &[&str]) -> Vec<String> {
    cells.iter().map(|c| (*c).to_owned()).collect()
}

/// Columns as wide as their widest cell, two spaces apart.
fn table(out: &mut String, rows: &[Vec<String>]) {
    let columns = rows.first().map_or(0, Vec::len);
    let width = |c: usize| rows.iter().map(|r| r[c].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(width).collect();
    for cells in rows {
        let line: Vec<String> = cells
            .iter()
            .zip(&widths)
            .map(|(cell, w)| format!("{cell:<w$}", w = *w))
            .collect();
        let _ = writeln!(out, "    {}", line.join("  ").trim_end());
    }
}
