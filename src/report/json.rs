//! The JSON that `statics` and `proof` print: kN, metres, degrees, full double precision.

use glam::DVec3;
use serde_json::{Map, Value, json};

use super::findings_of;
use crate::finding::{Finding, Sources, place_text};
use crate::pack::RigId;
use crate::rig::{Rig, Space};
use crate::rules::Proof;
use crate::statics::{Loss, LossOutcome, Mode, Solved, Span, Zone};

/// Every rig that could be solved, of the whole pack or only the one named.
pub fn statics_json(proof: &Proof, only: Option<&str>) -> Value {
    let mut rigs = Map::new();
    for (i, rig) in proof.reading.pack.rigs.iter().enumerate() {
        if only.is_some_and(|name| name != rig.name) {
            continue;
        }
        let findings: Vec<Value> = findings_of(proof, rig)
            .map(|f| finding_json(f, &proof.reading.sources))
            .collect();
        let mut entry = match proof.answer(RigId(i)) {
            Ok(solved) => rig_json(rig, &solved),
            Err(_) => json!({ "mode": "hung", "holds": false }),
        };
        entry["findings"] = findings.into();
        rigs.insert(rig.name.clone(), entry);
    }
    json!({ "rigs": rigs })
}

/// Every finding of a pack.
pub fn findings_json(proof: &Proof) -> Value {
    let rows = proof
        .findings
        .iter()
        .map(|f| finding_json(f, &proof.reading.sources));
    json!({ "findings": rows.collect::<Vec<_>>() })
}

fn finding_json(finding: &Finding, sources: &Sources) -> Value {
    json!({
        "rule": finding.code,
        "severity": finding.severity.word(),
        "at": place_text(finding, sources),
        "message": finding.message,
        "help": finding.help,
    })
}

fn rig_json(rig: &Rig, solved: &Solved) -> Value {
    let at = |v: DVec3| coordinates(v, rig.space);
    let spans: Vec<Value> = solved
        .spans
        .iter()
        .map(|span| span_json(rig, span))
        .collect();
    let lines: Map<String, Value> = rig
        .lines
        .iter()
        .zip(&solved.lines)
        .map(|(line, answer)| {
            let value = json!({
                "length_m": answer.length_m,
                "pull_kn": kn(answer.pull_n),
                "on_climber_kn": kn(answer.on_climber_n.map(DVec3::length)),
            });
            (line.name.clone(), value)
        })
        .collect();
    let points: Map<String, Value> = rig
        .points
        .iter()
        .zip(&solved.points)
        .map(|(point, answer)| {
            let value = json!({
                "at_m": at(answer.at),
                "load_kn": kn(answer.load_n.map(DVec3::length)),
                "load_vector_kn": answer.load_n.map(|v| at(v / N_PER_KN)),
            });
            (point.name.clone(), value)
        })
        .collect();
    let loss: Map<String, Value> = solved
        .loss
        .iter()
        .map(|l| (rig.line(l.line).name.clone(), loss_json(l, rig.space)))
        .collect();
    json!({
        "mode": match solved.mode { Mode::Held => "held", Mode::Hung => "hung" },
        "holds": solved.holds,
        "needs_friction": solved.needs_friction,
        "push_needed_kn": solved.push_needed_n.map(|v| at(v / N_PER_KN)),
        "climber": { "at_m": at(solved.climber_at), "weight_kn": solved.weight_n / N_PER_KN },
        "spans": spans,
        "lines": lines,
        "points": points,
        "feet": solved.feet_push_n.map(|v| json!({ "push_kn": at(v / N_PER_KN) })),
        "loss": loss,
        "zone": solved.zone.as_ref().map(|zone| zone_json(zone, rig.space)),
    })
}

/// Newtons in a kilonewton.
const N_PER_KN: f64 = 1000.0;

fn kn(newtons: Option<f64>) -> Option<f64> {
    newtons.map(|n| n / N_PER_KN)
}

fn coordinates(v: DVec3, space: Space) -> Value {
    match space {
        Space::Planar => json!([v.x, v.z]),
        Space::Spatial => json!([v.x, v.y, v.z]),
    }
}

fn span_json(rig: &Rig, span: &Span) -> Value {
    json!({
        "line": rig.line(span.line).name,
        "from": rig.node_name(span.from),
        "to": rig.node_name(span.to),
        "length_m": span.length_m,
        "from_vertical_deg": span.from_vertical_rad.to_degrees(),
        "pull_kn": kn(span.pull_n),
        "pull_low_kn": kn(span.pull_low_n),
        "pull_high_kn": kn(span.pull_high_n),
    })
}

fn loss_json(loss: &Loss, space: Space) -> Value {
    match &loss.outcome {
        LossOutcome::NothingHolds => json!({ "held": false }),
        LossOutcome::Held {
            rest,
            drop_m,
            speed_m_s,
            pull_n,
            strikes,
            ..
        } => json!({
            "held": true,
            "rest_m": coordinates(*rest, space),
            "drop_m": drop_m,
            "speed_m_s": speed_m_s,
            "pull_kn": kn(*pull_n),
            "strikes": strikes.as_ref().map(|s| json!({
                "on": s.piece,
                "at_m": coordinates(s.at, space),
                "after_m": s.after_m,
                "speed_m_s": s.speed_m_s,
            })),
        }),
    }
}

fn zone_json(zone: &Zone, space: Space) -> Value {
    let rings = |rings: &[Vec<DVec3>]| -> Vec<Vec<Value>> {
        rings
            .iter()
            .map(|ring| ring.iter().map(|v| coordinates(*v, space)).collect())
            .collect()
    };
    json!({ "area_m2": zone.area_m2, "outline_m": rings(&zone.outline) })
}
