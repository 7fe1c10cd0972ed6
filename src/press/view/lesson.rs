//! The blocks of a lesson as plain data: steps, faults, questions, criteria, kit.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::finding::Place;
use crate::kit::KitItem;
use crate::pack::{
    Answer, Criterion, Fault, Flow, KitUse, Lesson, NumberSource, Part, Question, RigValue, Step,
};
use crate::quantity::{
    Dimension, Quantity, Units, number_text, parse, quantity_parts, quantity_text,
};
use crate::rules::Proof;
use crate::value;

use super::{DASH, Rich, letters, rich, rich_run, value_choices, working};
use crate::press::words::Words;

/// A step.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepView {
    /// What to do.
    pub text: Vec<Rich>,
    /// Why.
    pub why: Option<Vec<Rich>>,
    /// What to check.
    pub check: Option<Vec<Rich>>,
    /// Whether it is critical.
    pub critical: bool,
}

/// A fault.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FaultView {
    /// What is seen.
    pub seen: Vec<Rich>,
    /// What it leads to.
    pub leads_to: Vec<Rich>,
    /// How to put it right.
    pub put_right: Vec<Rich>,
}

/// A question with its answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct QuestionView {
    /// What is asked.
    pub ask: Vec<Rich>,
    /// The answer.
    pub answer: AnswerView,
    /// Said after it.
    pub because: Option<Vec<Rich>>,
    /// How a number comes about, a sentence a line; empty where the answer is no rig's value.
    pub working: Vec<String>,
}

/// What is answered.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum AnswerView {
    /// One of several.
    Choice {
        /// The choices.
        choices: Vec<Vec<Rich>>,
        /// Index of the right one.
        right: usize,
        /// For each choice the slip behind it, where it comes from one.
        why: Vec<Option<String>>,
    },
    /// True or false.
    Truth {
        /// Which.
        right: bool,
    },
    /// Things to put in order.
    Order {
        /// The things in the right order.
        items: Vec<Vec<Rich>>,
    },
    /// A number.
    Number(NumberAnswer),
}

/// A number that is asked for, in the units that readers see.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NumberAnswer {
    /// What is right, with its unit.
    pub text: String,
    /// The bare number in the shown unit, unrounded.
    pub right: f64,
    /// Most that an answer may be off, in the shown unit.
    pub tolerance: f64,
    /// The tolerance with its unit.
    pub tolerance_text: String,
    /// The unit.
    pub unit: String,
    /// Decimals that the right answer is shown with.
    pub decimals: usize,
}

/// A criterion.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CriterionView {
    /// What the assessor looks for.
    pub text: Vec<Rich>,
    /// Whether failing it means not yet competent.
    pub critical: bool,
    /// The value to measure against, with its unit.
    pub measure: Option<String>,
    /// How far off is still met, with its unit.
    pub tolerance: Option<String>,
    /// Key of the outcome that it shows.
    pub outcome: Option<String>,
}

/// A kit item in a lesson.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KitRow {
    /// The item's name in the pack: its place in the register.
    pub key: String,
    /// Words for people.
    pub name: String,
    /// How many.
    pub count: u32,
    /// What it may carry, sentence by sentence.
    pub limits: Vec<String>,
    /// What it was tested with.
    pub tested_with: Vec<String>,
    /// Standards as written.
    pub standards: Vec<String>,
}

/// A step as data.
pub fn step_view(step: &Step, proof: &Proof) -> StepView {
    let run = |flow: &Option<_>| flow.as_ref().map(|flow| rich_run(flow, proof));
    StepView {
        text: rich_run(&step.text, proof),
        why: run(&step.why),
        check: run(&step.check),
        critical: step.critical,
    }
}

/// A fault as data.
pub fn fault_view(fault: &Fault, proof: &Proof) -> FaultView {
    FaultView {
        seen: rich_run(&fault.seen, proof),
        leads_to: rich_run(&fault.leads_to, proof),
        put_right: rich_run(&fault.put_right, proof),
    }
}

/// A question as data.
pub fn question_view(question: &Question, proof: &Proof, words: Words) -> QuestionView {
    let pack = &proof.reading.pack;
    let answer = match &question.answer {
        Answer::Choice { choices, right } => AnswerView::Choice {
            choices: choices.iter().map(|c| rich_run(c, proof)).collect(),
            right: *right,
            why: vec![None; choices.len()],
        },
        Answer::ChooseValue { right, own } => choose_value(*right, own, proof, words),
        Answer::Truth(right) => AnswerView::Truth { right: *right },
        Answer::Order { items } => AnswerView::Order {
            items: items.iter().map(|item| rich_run(item, proof)).collect(),
        },
        Answer::Number { right, tolerance } => {
            AnswerView::Number(number_answer(*right, *tolerance, proof))
        }
    };
    QuestionView {
        ask: rich(&question.ask, proof),
        answer,
        because: question.because.as_ref().map(|flow| rich(flow, proof)),
        working: asked_value(&question.answer)
            .map(|asked| {
                let (rig, solved) = (pack.rig(asked.rig), proof.solved(asked.rig));
                working(rig, &solved, asked.path, pack.units, words)
            })
            .unwrap_or_default(),
    }
}

/// The rig's value that answers a question, if one does.
const fn asked_value(answer: &Answer) -> Option<RigValue> {
    match answer {
        Answer::ChooseValue { right, .. }
        | Answer::Number {
            right: NumberSource::Rig(right),
            ..
        } => Some(*right),
        _ => None,
    }
}

/// The choices of a question about a rig's value.
fn choose_value(
    asked: RigValue,
    own: &[(Quantity, Place)],
    proof: &Proof,
    words: Words,
) -> AnswerView {
    let pack = &proof.reading.pack;
    let own: Vec<Quantity> = own.iter().map(|(quantity, _)| *quantity).collect();
    let choices = value_choices(
        pack.rig(asked.rig),
        &proof.solved(asked.rig),
        asked.path,
        &own,
        pack.units,
        words,
    );
    let right = choices.iter().position(|choice| choice.right);
    let texts = choices.iter().map(|choice| {
        vec![Rich::Text {
            text: choice.text.clone(),
        }]
    });
    AnswerView::Choice {
        choices: texts.collect(),
        right: right.unwrap_or(0),
        why: choices.iter().map(|choice| choice.why.clone()).collect(),
    }
}

/// A number question in the shown unit. A rig's value that does not exist is an error of the proof.
fn number_answer(source: NumberSource, tolerance: f64, proof: &Proof) -> NumberAnswer {
    let pack = &proof.reading.pack;
    let right = match source {
        NumberSource::Fixed(quantity) => Some(quantity),
        NumberSource::Rig(asked) => {
            value::evaluate(pack.rig(asked.rig), &proof.solved(asked.rig), asked.path)
        }
    };
    let quantity = right.unwrap_or(Quantity::Share(0.0));
    let (shown, unit) = quantity_parts(quantity, pack.units);
    let scale = shown_scale(quantity.dimension(), unit);
    NumberAnswer {
        text: right.map_or_else(|| DASH.to_owned(), |q| quantity_text(q, pack.units)),
        right: quantity.si() * scale,
        tolerance: tolerance * scale,
        tolerance_text: tolerance_text(tolerance * scale, unit),
        unit: unit.to_owned(),
        decimals: shown.split_once('.').map_or(0, |(_, d)| d.len()),
    }
}

/// How many of a shown unit are in one SI unit. Every unit that is shown can be read.
pub fn shown_scale(dimension: Dimension, unit: &str) -> f64 {
    parse(&format!("1 {unit}"), dimension).map_or(1.0, f64::recip)
}

/// A tolerance with as many decimals as it needs: `0.05 kN`, `2°`.
fn tolerance_text(tolerance: f64, unit: &str) -> String {
    let whole = (tolerance - tolerance.round()).abs() < TOLERANCE_DIGIT;
    let number = number_text(tolerance, if whole { 0 } else { 2 });
    let number = if number.contains('.') {
        number.trim_end_matches('0').trim_end_matches('.')
    } else {
        &number
    };
    match unit {
        "°" => format!("{number}°"),
        _ => format!("{number}\u{a0}{unit}"),
    }
}

/// Half of the last of two decimals: a tolerance this close to a whole number prints as one.
const TOLERANCE_DIGIT: f64 = 0.005;

/// A criterion as data.
pub fn criterion_view(criterion: &Criterion, proof: &Proof) -> CriterionView {
    let pack = &proof.reading.pack;
    let measured = criterion.measure.and_then(|(asked, tolerance)| {
        let quantity = value::evaluate(pack.rig(asked.rig), &proof.solved(asked.rig), asked.path)?;
        let (_, unit) = quantity_parts(quantity, pack.units);
        let scale = shown_scale(quantity.dimension(), unit);
        Some((
            quantity_text(quantity, pack.units),
            tolerance_text(tolerance * scale, unit),
        ))
    });
    let (measure, tolerance) = measured.unzip();
    CriterionView {
        text: rich_run(&criterion.text, proof),
        critical: criterion.critical,
        measure,
        tolerance,
        outcome: criterion.outcome.clone(),
    }
}

/// A kit item of a lesson as data.
pub fn kit_row(used: KitUse, proof: &Proof, words: Words) -> KitRow {
    let pack = &proof.reading.pack;
    let item = pack.kit_item(used.item);
    KitRow {
        key: item.name.clone(),
        name: item.title.clone(),
        count: used.count,
        limits: kit_limits(item, pack.units, words),
        tested_with: tested_with(item, proof, words),
        standards: item.standards.clone(),
    }
}

/// What an item may carry, a sentence a limit.
pub fn kit_limits(item: &KitItem, units: Units, words: Words) -> Vec<String> {
    let say = |key, value: String| words.fill(key, &[("value", value.as_str())]);
    let force =
        |key, newtons: Option<f64>| newtons.map(|n| say(key, bare_text(Quantity::Force(n), units)));
    let connector = item.connector.as_ref();
    let ratio = |v: f64| number_text(v, 2);
    [
        force("kit_limit.working", item.working_limit_n),
        force("kit_limit.strength", item.strength_n),
        force("kit_limit.major", connector.and_then(|c| c.major_n)),
        force("kit_limit.minor", connector.and_then(|c| c.minor_n)),
        item.rated_mass_kg
            .map(|kg| say("kit_limit.mass", bare_text(Quantity::Mass(kg), units))),
        item.efficiency
            .map(|v| say("kit_limit.efficiency", ratio(v))),
        item.friction.map(|v| say("kit_limit.friction", ratio(v))),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// A rated number with as many decimals as it needs: `24 kN`, `1.5 kN`.
fn bare_text(quantity: Quantity, units: Units) -> String {
    let (_, unit) = quantity_parts(quantity, units);
    tolerance_text(
        quantity.si() * shown_scale(quantity.dimension(), unit),
        unit,
    )
}

/// What an item may carry, in the few letters that a sheet has room for: its working limit, else the
/// heaviest user, else its strength, a connector's along and across its spine.
pub fn short_limit(item: &KitItem, units: Units, words: Words) -> String {
    let say = |key, q| words.fill(key, &[("value", bare_text(q, units).as_str())]);
    if let Some(n) = item.working_limit_n {
        return say("print.kit_limit", Quantity::Force(n));
    }
    if let Some(kg) = item.rated_mass_kg {
        return say("print.kit_mass", Quantity::Mass(kg));
    }
    let connector = item.connector.as_ref();
    let major = connector.and_then(|c| c.major_n).or(item.strength_n);
    match (major, connector.and_then(|c| c.minor_n)) {
        (Some(major), Some(minor)) => {
            let along = bare_text(Quantity::Force(major), units);
            let number = along.split('\u{a0}').next().unwrap_or_default().to_owned();
            format!("{number} / {}", bare_text(Quantity::Force(minor), units))
        }
        (Some(strength), None) => bare_text(Quantity::Force(strength), units),
        _ => String::new(),
    }
}

/// What a cord was tested with, or in which hitches and cords a rope was: an item a row.
fn tested_with(item: &KitItem, proof: &Proof, words: Words) -> Vec<String> {
    let kit = &proof.reading.pack.kit;
    let mut hitches: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for pairing in &item.tested_with {
        let own = hitches.entry(pairing.rope.as_str()).or_default();
        own.push(pairing.hitch.as_str());
    }
    for cord in kit {
        for pairing in cord.tested_with.iter().filter(|p| p.rope == item.name) {
            let own = hitches.entry(cord.name.as_str()).or_default();
            own.push(pairing.hitch.as_str());
        }
    }
    let rows = hitches.into_iter().map(|(name, hitches)| {
        let found = kit.iter().find(|k| k.name == name);
        let other = found.map_or(name, |k| k.title.as_str());
        let hitches = hitches.join(", ");
        words.fill(
            "kit_limit.tested",
            &[("other", other), ("hitches", &hitches)],
        )
    });
    rows.collect()
}

/// The order in which things to be put in order are shown: every second one first, so that it is
/// neither right nor the same as backwards, and alike on screen, in paper and key.
pub fn shown_order(count: usize) -> Vec<usize> {
    (1..count).step_by(2).chain((0..count).step_by(2)).collect()
}

/// Everything that a lesson says in its own words, stretch by stretch, without marks.
pub fn lesson_texts(lesson: &Lesson, proof: &Proof) -> Vec<String> {
    let mut flows: Vec<&Flow> = Vec::new();
    for section in &lesson.sections {
        flows.push(&section.heading);
        for part in &section.parts {
            match part {
                Part::Text(flow) => flows.push(flow),
                Part::Steps(steps) => {
                    for step in steps {
                        flows.push(&step.text);
                        flows.extend(step.why.iter().chain(&step.check));
                    }
                }
                Part::Faults(faults) => {
                    let all = faults.iter();
                    flows.extend(all.flat_map(|f| [&f.seen, &f.leads_to, &f.put_right]));
                }
                Part::Marking(criteria) => flows.extend(criteria.iter().map(|c| &c.text)),
                Part::Rig(_) | Part::Figure(_) | Part::Questions(_) => {}
            }
        }
    }
    let texts = flows.into_iter().map(|flow| letters(&rich(flow, proof)));
    lesson.summary.iter().cloned().chain(texts).collect()
}
