//! The numbers behind a figure: every span and every loss with one more digit than the text shows.

use serde::Serialize;

use crate::quantity::{Quantity, Units, number_text, quantity_parts};
use crate::rig::{LineId, Rig};
use crate::statics::{LossOutcome, Solved};

use super::Site;
use crate::pack::RigId;
use crate::press::view::{DASH, heading_of, shown_scale};

/// The tables of one rig.
#[derive(Debug, Serialize)]
pub(super) struct DataTables {
    pub(super) rig: String,
    pub(super) title: String,
    pub(super) spans: Table,
    pub(super) losses: Option<Table>,
    /// Where the climber's place is.
    pub(super) place: String,
}

/// A table whose first column heads its rows.
#[derive(Debug, Serialize)]
pub(super) struct Table {
    pub(super) head: Vec<String>,
    pub(super) rows: Vec<Vec<String>>,
}

/// A number with one more decimal than readers' text has, without its unit.
fn fine(quantity: Quantity, units: Units) -> String {
    let (shown, unit) = quantity_parts(quantity, units);
    let decimals = shown.split_once('.').map_or(0, |(_, d)| d.len()) + 1;
    number_text(
        quantity.si() * shown_scale(quantity.dimension(), unit),
        decimals,
    )
}

/// Builds the tables.
pub(super) fn tables(site: &Site<'_>, id: RigId) -> DataTables {
    let pack = site.pack();
    let (rig, solved) = (pack.rig(id), site.solved(id));
    let at = solved.climber_at;
    let metres = |m: f64| fine(Quantity::Length(m), pack.units);
    let unit = quantity_parts(Quantity::Length(0.0), pack.units).1;
    let place = match rig.space {
        crate::rig::Space::Planar => format!("{}, {} {unit}", metres(at.x), metres(at.z)),
        crate::rig::Space::Spatial => {
            format!(
                "{}, {}, {} {unit}",
                metres(at.x),
                metres(at.y),
                metres(at.z)
            )
        }
    };
    DataTables {
        rig: rig.name.clone(),
        title: rig.title.clone(),
        spans: spans(site, rig, &solved),
        losses: losses(site, rig, &solved),
        place: site.words.fill("data.place", &[("place", &place)]),
    }
}

fn spans(site: &Site<'_>, rig: &Rig, solved: &Solved) -> Table {
    let (units, words) = (site.pack().units, site.words);
    let of = |key, quantity| {
        let unit = quantity_parts(quantity, units).1;
        format!("{}, {unit}", words.get(key))
    };
    let force = Quantity::Force(0.0);
    let optional =
        |n: Option<f64>| n.map_or_else(|| DASH.to_owned(), |n| fine(Quantity::Force(n), units));
    let rows = solved.spans.iter().map(|span| {
        vec![
            heading_of(&rig.line(span.line).name),
            words.fill(
                "data.from_to",
                &[
                    ("from", &heading_of(rig.node_name(span.from)).to_lowercase()),
                    ("to", &heading_of(rig.node_name(span.to)).to_lowercase()),
                ],
            ),
            fine(Quantity::Length(span.length_m), units),
            fine(Quantity::Angle(span.from_vertical_rad), units),
            optional(span.pull_n),
            optional(span.pull_low_n),
            optional(span.pull_high_n),
        ]
    });
    Table {
        head: vec![
            words.get("data.line").to_owned(),
            words.get("data.span").to_owned(),
            of("data.length", Quantity::Length(0.0)),
            of("data.angle", Quantity::Angle(0.0)),
            of("data.pull", force),
            of("data.least", force),
            of("data.most", force),
        ],
        rows: rows.collect(),
    }
}

fn losses(site: &Site<'_>, rig: &Rig, solved: &Solved) -> Option<Table> {
    if solved.loss.is_empty() {
        return None;
    }
    let (units, words) = (site.pack().units, site.words);
    let of = |key, quantity| {
        let unit = quantity_parts(quantity, units).1;
        format!("{}, {unit}", words.get(key))
    };
    let name = |id: LineId| heading_of(&rig.line(id).name);
    let rows = solved.loss.iter().map(|loss| {
        let dash = || DASH.to_owned();
        match &loss.outcome {
            LossOutcome::NothingHolds => vec![
                name(loss.line),
                words.get("numbers.falls").to_owned(),
                dash(),
                dash(),
                dash(),
                dash(),
                dash(),
            ],
            LossOutcome::Held {
                drop_m,
                speed_m_s,
                pull_n,
                strikes,
                ..
            } => {
                let strike = strikes.as_ref();
                vec![
                    name(loss.line),
                    fine(Quantity::Length(*drop_m), units),
                    fine(Quantity::Speed(*speed_m_s), units),
                    pull_n.map_or_else(dash, |n| fine(Quantity::Force(n), units)),
                    strike.map_or_else(dash, |s| heading_of(&s.piece).to_lowercase()),
                    strike.map_or_else(dash, |s| fine(Quantity::Length(s.after_m), units)),
                    strike.map_or_else(dash, |s| fine(Quantity::Speed(s.speed_m_s), units)),
                ]
            }
        }
    });
    Some(Table {
        head: vec![
            words.get("data.lost").to_owned(),
            of("data.drop", Quantity::Length(0.0)),
            of("data.speed", Quantity::Speed(0.0)),
            of("data.peak", Quantity::Force(0.0)),
            words.get("data.strikes").to_owned(),
            of("data.after", Quantity::Length(0.0)),
            of("data.at", Quantity::Speed(0.0)),
        ],
        rows: rows.collect(),
    })
}
