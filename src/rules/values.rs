//! Values that authors ask for: every one must exist, and every expectation must hold.

use rayon::prelude::*;

use super::{Answers, Case};
use crate::finding::Finding;
use crate::pack::{Answer, Flow, Inline, Lesson, NumberSource, Pack, Part, RigId, RigValue};
use crate::quantity::{fine_text, quantity_text};
use crate::rig::{Compare, ValuePath};
use crate::statics::Solved;
use crate::value::evaluate;

/// A share of the wanted value (or the SI unit where that is smaller) below which a bound counts as
/// met: the solver's own residual bound.
const ROUNDING: f64 = 1e-9;

/// Decimals beyond the usual ones in the true value of a missed expectation: enough to write the
/// next expectation from.
const TRUE_VALUE_DECIMALS: usize = 2;

/// An author's expectation missed.
pub(super) fn expect(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for expectation in &case.rig.expect {
        let Some(got) = evaluate(case.rig, case.solved, expectation.value) else {
            let message = format!(
                "expected {}, but this rig has no such number",
                expectation.text
            );
            findings.push(Finding::error("expect", expectation.place, message));
            continue;
        };
        let (got_si, want) = (got.si(), expectation.want);
        let slack = ROUNDING * want.abs().max(1.0);
        let met = match expectation.compare {
            Compare::Less => got_si < want,
            Compare::AtMost => got_si <= want + slack,
            Compare::More => got_si > want,
            Compare::AtLeast => got_si >= want - slack,
            Compare::Equal => (got_si - want).abs() <= expectation.tolerance + slack,
        };
        if !met {
            let message = format!(
                "expected {}, but it is {}",
                expectation.text,
                fine_text(got, case.pack.units, TRUE_VALUE_DECIMALS),
            );
            findings.push(Finding::error("expect", expectation.place, message));
        }
    }
}

/// Every value asked for in a text, question or criterion that its rig does not have.
pub(super) fn missing(
    pack: &Pack,
    lesson: &Lesson,
    answers: &Answers,
    findings: &mut Vec<Finding>,
) {
    for value in of_lesson(lesson) {
        let rig = pack.rig(value.rig);
        let Ok(solved) = answers.of(pack, value.rig) else {
            continue;
        };
        if evaluate(rig, &solved, value.path).is_none() {
            let message = format!(
                "rig \"{}\" has no such number: {}",
                rig.name,
                why_none(&solved)
            );
            findings.push(Finding::error("no-value", value.place, message));
        }
    }
}

/// An author's own wrong choice that prints like the right one, or like another of them.
pub(super) fn same_choices(
    pack: &Pack,
    lesson: &Lesson,
    answers: &Answers,
    findings: &mut Vec<Finding>,
) {
    let parts = lesson.sections.iter().flat_map(|section| &section.parts);
    let questions = parts.flat_map(|part| match part {
        Part::Questions(questions) => questions.as_slice(),
        _ => &[],
    });
    for question in questions {
        let Answer::ChooseValue { right, own } = &question.answer else {
            continue;
        };
        let Ok(solved) = answers.of(pack, right.rig) else {
            continue;
        };
        let Some(value) = evaluate(pack.rig(right.rig), &solved, right.path) else {
            continue;
        };
        let mut taken = vec![quantity_text(value, pack.units)];
        for (quantity, place) in own {
            let text = quantity_text(*quantity, pack.units);
            if text == taken[0] {
                let message = format!("this wrong choice prints as {text}, like the right one");
                findings.push(Finding::error("same-choice", *place, message));
            } else if taken.contains(&text) {
                let message = format!("this wrong choice prints as {text}, like another");
                findings.push(Finding::error("same-choice", *place, message));
            }
            taken.push(text);
        }
    }
}

fn why_none(solved: &Solved) -> &'static str {
    if solved.holds {
        "it is unbounded, nothing remains after the loss, or it was not asked for in the rig"
    } else {
        "its lines cannot hold the climber there"
    }
}

/// The rigs of which a pack's texts ask for a value.
pub(crate) fn asked(pack: &Pack, path: ValuePath) -> Vec<RigId> {
    let lessons = pack.lessons.par_iter();
    let values = lessons.flat_map_iter(of_lesson);
    let values = values.filter(|value| value.path == path);
    values.map(|value| value.rig).collect()
}

/// Every value that a lesson's texts ask for.
pub(super) fn of_lesson(lesson: &Lesson) -> Vec<RigValue> {
    let mut values = Vec::new();
    for section in &lesson.sections {
        in_flow(&section.heading, &mut values);
        for part in &section.parts {
            in_part(part, &mut values);
        }
    }
    values
}

fn in_flow(flow: &Flow, values: &mut Vec<RigValue>) {
    values.extend(flow.iter().filter_map(|inline| match inline {
        Inline::Value(value) => Some(**value),
        _ => None,
    }));
}

fn in_part(part: &Part, values: &mut Vec<RigValue>) {
    let mut flows: Vec<&Flow> = Vec::new();
    match part {
        Part::Text(flow) => flows.push(flow),
        Part::Rig(_) => {}
        Part::Figure(ask) => flows.extend(&ask.caption),
        Part::Steps(steps) => {
            for step in steps {
                flows.push(&step.text);
                flows.extend(step.why.iter().chain(&step.check));
            }
        }
        Part::Faults(faults) => {
            for fault in faults {
                flows.extend([&fault.seen, &fault.leads_to, &fault.put_right]);
            }
        }
        Part::Questions(questions) => {
            for question in questions {
                flows.push(&question.ask);
                flows.extend(&question.because);
                match &question.answer {
                    Answer::Choice { choices, .. } => flows.extend(choices),
                    Answer::ChooseValue { right, .. } => values.push(*right),
                    Answer::Order { items } => flows.extend(items),
                    Answer::Number {
                        right: NumberSource::Rig(value),
                        ..
                    } => values.push(*value),
                    Answer::Number { .. } | Answer::Truth(_) => {}
                }
            }
        }
        Part::Marking(criteria) => {
            for criterion in criteria {
                flows.push(&criterion.text);
                values.extend(criterion.measure.map(|(value, _)| value));
            }
        }
    }
    for flow in flows {
        in_flow(flow, values);
    }
}
