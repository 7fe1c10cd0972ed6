//! The teaching blocks of a lesson: steps, faults, questions, marking, figure.

use super::flow::Names;
use super::markdown::Fence;
use super::{Answer, Criterion, Fault, FigureAsk, NumberSource, Part, Question, RigValue, Step};
use crate::block::{Item, Problem, Table, Text, walk};
use crate::quantity::{self, Dimension};
use crate::rig::{kinds_for, read_kinds};

/// Every kind of quantity, in the order that a number without a rig is tried in.
const DIMENSIONS: [Dimension; 7] = [
    Dimension::Mass,
    Dimension::Length,
    Dimension::Force,
    Dimension::Angle,
    Dimension::Area,
    Dimension::Speed,
    Dimension::Share,
];

/// Reads a block that is a part of a section; `None` where nothing of it is left.
pub(super) fn read(fence: &Fence, names: &Names<'_>) -> Option<Part> {
    let (part, mut findings) = walk(&fence.body, |mut root| {
        let part = match fence.word {
            "steps" => Part::Steps(items(&mut root, "step", STEP, |t| step(t, names))),
            "faults" => Part::Faults(items(&mut root, "fault", FAULT, |t| fault(t, names))),
            "questions" => Part::Questions(items(&mut root, "question", QUESTION, |t| {
                question(t, names)
            })),
            "marking" => Part::Marking(items(&mut root, "criterion", CRITERION, |t| {
                criterion(t, names)
            })),
            _ => match figure(&mut root, fence, names) {
                Some(ask) => Part::Figure(ask),
                None => {
                    root.finish();
                    return None;
                }
            },
        };
        root.finish();
        Some(part)
    });
    names.findings.borrow_mut().append(&mut findings);
    part
}

const STEP: &str = "[[step]]";
const FAULT: &str = "[[fault]]";
const QUESTION: &str = "[[question]]";
const CRITERION: &str = "[[criterion]]";

/// The tables of a list that must have one at least.
fn items<T>(
    root: &mut Table<'_>,
    key: &'static str,
    example: &str,
    read: impl Fn(Table<'_>) -> Option<T>,
) -> Vec<T> {
    let tables = root.table_list(key);
    if tables.is_empty() {
        root.missing(key, example);
    }
    tables.into_iter().filter_map(read).collect()
}

/// A text that must be there.
fn need_text(table: &mut Table<'_>, key: &'static str, example: &str) -> Option<Text> {
    table.need(key, example).and_then(|item| item.text())
}

fn step(mut table: Table<'_>, names: &Names<'_>) -> Option<Step> {
    let text = need_text(&mut table, "do", "do = \"Pass the line over the limb.\"");
    let why = table.text("why");
    let check = table.text("check");
    let critical = table.flag("critical");
    let place = table.place();
    table.finish();
    let flow = |text: &Text| names.flow(text);
    let (text, why, check) = (
        text.as_ref().map(flow),
        why.as_ref().map(flow),
        check.as_ref().map(flow),
    );
    Some(Step {
        text: text?,
        why,
        check,
        critical,
        place,
    })
}

fn fault(mut table: Table<'_>, names: &Names<'_>) -> Option<Fault> {
    let seen = need_text(&mut table, "seen", "seen = \"The hitch slips under load.\"");
    let leads_to = need_text(&mut table, "leads_to", "leads_to = \"A slow fall.\"");
    let put_right = need_text(&mut table, "put_right", "put_right = \"Dress the hitch.\"");
    let place = table.place();
    table.finish();
    let flow = |text: &Text| names.flow(text);
    let (seen, leads_to, put_right) = (
        seen.as_ref().map(flow),
        leads_to.as_ref().map(flow),
        put_right.as_ref().map(flow),
    );
    Some(Fault {
        seen: seen?,
        leads_to: leads_to?,
        put_right: put_right?,
        place,
    })
}

fn question(mut table: Table<'_>, names: &Names<'_>) -> Option<Question> {
    let ask = need_text(&mut table, "ask", "ask = \"Which line carries more?\"");
    let answer = answer(&mut table, names);
    let because = table.text("because");
    let place = table.place();
    table.finish();
    let ask = ask.map(|t| names.flow(&t));
    let because = because.map(|t| names.flow(&t));
    Some(Question {
        ask: ask?,
        answer: answer?,
        because,
        place,
    })
}

/// The five ways to answer; exactly one of their keys says which.
const ANSWER_KEYS: &str = "choices = [\"...\", \"...\"]";

fn answer(table: &mut Table<'_>, names: &Names<'_>) -> Option<Answer> {
    let choices = table.take("choices");
    let choose = table.take("choose");
    let own = table.take("wrong");
    let truth = table.take("true_false");
    let number = table.take("number");
    let order = table.take("order");
    let right = table.take("right");
    let tolerance = table.take("tolerance");
    let kinds = [&choices, &choose, &truth, &number, &order];
    let mut given = kinds.into_iter().flatten();
    let Some(first) = given.next() else {
        table.missing("choices", ANSWER_KEYS);
        return None;
    };
    if let Some(second) = given.next() {
        second.report(&Problem::Conflict {
            message: format!(
                "`{}` and `{}` cannot both be the answer",
                first.key(),
                second.key()
            ),
            help: "keep one of `choices`, `choose`, `true_false`, `number` and `order`".to_owned(),
        });
        return None;
    }
    if let (Some(right), None) = (&right, &choices) {
        right.report(&Problem::Unused {
            key: "right".to_owned(),
            why: "it goes with `choices`",
        });
    }
    if let (Some(tolerance), None) = (&tolerance, &number) {
        tolerance.report(&Problem::Unused {
            key: "tolerance".to_owned(),
            why: "it goes with `number`",
        });
    }
    if let (Some(own), None) = (&own, &choose) {
        own.report(&Problem::Unused {
            key: "wrong".to_owned(),
            why: "it goes with `choose`",
        });
    }
    if let Some(item) = &choices {
        return choice(table, item, right.as_ref(), names);
    }
    if let Some(item) = &choose {
        let right = item.text().and_then(|text| names.value_of(&text));
        let right = right?;
        let own = own.and_then(|item| item.list()).unwrap_or_default();
        let kind = right.path.dimension();
        let own = own.iter().filter_map(|item| {
            let si = item.positive(kind)?;
            Some((kind.of(si), item.place()))
        });
        let own = own.collect();
        return Some(Answer::ChooseValue { right, own });
    }
    if let Some(item) = &truth {
        return item.boolean().map(Answer::Truth);
    }
    if let Some(item) = &order {
        let items = listed(item, "two things to put in order at least", names);
        return Some(Answer::Order { items });
    }
    let right = number_source(number.as_ref()?, names);
    if tolerance.is_none() {
        table.missing("tolerance", "tolerance = \"0.05 kN\"");
    }
    let right = right?;
    let kind = match right {
        NumberSource::Rig(value) => value.path.dimension(),
        NumberSource::Fixed(quantity) => quantity.dimension(),
    };
    let tolerance = tolerance?.positive(kind)?;
    Some(Answer::Number { right, tolerance })
}

fn choice(
    table: &Table<'_>,
    item: &Item<'_>,
    right: Option<&Item<'_>>,
    names: &Names<'_>,
) -> Option<Answer> {
    let choices = listed(item, "two choices at least", names);
    let Some(right) = right else {
        table.missing("right", "right = 1");
        return None;
    };
    let index = right.count()? as usize;
    if index > choices.len() {
        right.out_of_range(&format!(
            "the number of the right choice, from 1 to {}",
            choices.len()
        ));
        return None;
    }
    Some(Answer::Choice {
        choices,
        right: index - 1,
    })
}

/// A list of two texts at least, as Markdown.
fn listed(item: &Item<'_>, want: &str, names: &Names<'_>) -> Vec<super::Flow> {
    let texts = item.texts();
    for (i, text) in texts.iter().enumerate() {
        if texts[..i].iter().any(|before| before.value == text.value) {
            let problem = Problem::Conflict {
                message: format!("`{}` has \"{}\" twice", item.key(), text.value),
                help: "a reader could not tell one from the other: change one of them".to_owned(),
            };
            item.report_at(&problem, text.place);
        }
    }
    if item.list().is_some_and(|items| items.len() < 2) {
        item.report(&Problem::WrongCount {
            key: item.key().to_owned(),
            found: texts.len(),
            want: want.to_owned(),
        });
    }
    texts.iter().map(|t| names.flow(t)).collect()
}

/// `"rig:NAME/path"`, or a quantity of any kind.
fn number_source(item: &Item<'_>, names: &Names<'_>) -> Option<NumberSource> {
    let text = item.text()?;
    if text.value.starts_with("rig:") {
        return names.value_of(&text).map(NumberSource::Rig);
    }
    let fixed = DIMENSIONS.into_iter().find_map(|kind| {
        quantity::parse(&text.value, kind)
            .ok()
            .map(|si| kind.of(si))
    });
    if fixed.is_none() {
        item.out_of_range(
            "a quantity such as \"0.6 kN\", or a value such as \"rig:two-limb/main/pull\"",
        );
    }
    fixed.map(NumberSource::Fixed)
}

fn criterion(mut table: Table<'_>, names: &Names<'_>) -> Option<Criterion> {
    let text = need_text(&mut table, "text", "text = \"Checks both hitches.\"");
    let critical = table.flag("critical");
    let value = table.text("measure");
    let tolerance = table.take("tolerance");
    let outcome = table.text("outcome");
    let place = table.place();
    let measure = measure(&table, value.as_ref(), tolerance.as_ref(), names);
    table.finish();
    if let Some(outcome) = &outcome {
        names.outcome(outcome);
    }
    let text = text.map(|t| names.flow(&t));
    Some(Criterion {
        text: text?,
        critical,
        measure,
        outcome: outcome.map(|t| t.value),
        place,
    })
}

/// A value to measure against and how far off is still met.
fn measure(
    table: &Table<'_>,
    value: Option<&Text>,
    tolerance: Option<&Item<'_>>,
    names: &Names<'_>,
) -> Option<(RigValue, f64)> {
    match (value, tolerance) {
        (Some(text), None) => {
            table.missing("tolerance", "tolerance = \"0.1 m\"");
            names.value_of(text);
            None
        }
        (None, Some(item)) => {
            item.report(&Problem::Unused {
                key: "tolerance".to_owned(),
                why: "it goes with `measure`",
            });
            None
        }
        (Some(text), Some(item)) => {
            let value = names.value_of(text)?;
            let tolerance = item.positive(value.path.dimension())?;
            Some((value, tolerance))
        }
        (None, None) => None,
    }
}

fn figure(root: &mut Table<'_>, fence: &Fence, names: &Names<'_>) -> Option<FigureAsk> {
    let show = root.take("show").map(|item| read_kinds(&item));
    let caption = root.text("caption").map(|t| names.flow(&t));
    let place = fence.body.place;
    let (name, name_place) = fence.name.as_ref()?;
    let rig = names.rig(name, *name_place)?;
    let shown = &names.rigs[rig.0];
    Some(FigureAsk {
        rig,
        kinds: match show {
            Some(named) => kinds_for(shown.space, named, root),
            None => shown.show.clone(),
        },
        caption,
        place,
    })
}
