//! Judging a solved pack: findings with numbers, at their places.
//!
//! ```text
//! Reading + answers ─judge→ Proof
//!   a rig:    rules of holds, lines, losses ─→ compared with `wrong = [...]`
//!   the pack: values in text, kit on the pack's date, courses
//! ```
//!
//! A rule is one function that looks at one rig (or kit item, or course) and pushes findings. Its
//! name, weight and limits stand in [`crate::rulebook`].

mod course;
mod fittings;
mod holds;
mod kit;
mod lines;
mod loss;
mod values;
mod wrong;

pub(crate) use values::asked as values_asked;

use crate::finding::{Finding, Place, Severity};
use crate::kit::KitItem;
use crate::pack::{Lesson, Pack, Part, Reading, RigId};
use crate::quantity::{Quantity, quantity_text};
use crate::rig::{LineId, Rig};
use crate::rulebook::{Rulebook, rule_named};
use crate::statics::{Solved, StaticsProblem};

/// A pack read, solved and judged: everything that figures, pages and sheets are made from.
#[derive(Debug, Clone)]
pub struct Proof {
    /// What was read, its findings included.
    pub reading: Reading,
    /// One answer a rig, in the order of [`crate::pack::Pack::rigs`].
    pub answers: Vec<Result<Solved, StaticsProblem>>,
    /// The reader's findings and the rules', in order of place.
    pub findings: Vec<Finding>,
    /// What each rig with `wrong = [...]` shows on purpose, in the order of the rigs; these are not
    /// among the findings.
    pub mistakes: Vec<Vec<Finding>>,
}

impl Proof {
    /// Whether anything stops the press.
    pub fn has_errors(&self) -> bool {
        self.findings.iter().any(|f| f.severity == Severity::Error)
    }

    /// The answer of a rig, for the stages after proofing.
    ///
    /// # Panics
    /// Where the rig has none. That is an error finding, so [`Proof::has_errors`] keeps such a
    /// pack from the press.
    pub fn solved(&self, rig: RigId) -> &Solved {
        self.answers[rig.0]
            .as_ref()
            .expect("a proof without errors has every rig solved")
    }
}

/// Judges a solved pack.
pub fn judge(reading: Reading, answers: Vec<Result<Solved, StaticsProblem>>) -> Proof {
    let mut findings = reading.findings.clone();
    let mut mistakes = Vec::with_capacity(answers.len());
    let mut unsolved = Vec::new();
    for (i, answer) in answers.iter().enumerate() {
        let rig = &reading.pack.rigs[i];
        let (own, shown) = match answer {
            Ok(solved) => rig_findings(&reading.pack, RigId(i), solved),
            Err(problem) => {
                let sentence = problem_sentence(rig, problem);
                unsolved.push(Finding::error("no-hold", rig.climber.place, sentence));
                (Vec::new(), Vec::new())
            }
        };
        findings.extend(own);
        mistakes.push(shown);
    }
    values::missing(&reading.pack, &answers, &mut findings);
    values::same_choices(&reading.pack, &answers, &mut findings);
    kit::check(&reading.pack, &mut findings);
    course::check(&reading.pack, &mut findings);
    weigh(&reading.pack.rulebook, &mut findings);
    // What has no answer cannot be pressed, however a pack weighs `no-hold`.
    findings.extend(unsolved);
    findings.sort_by_key(|f| (f.place, f.code));
    Proof {
        reading,
        answers,
        findings,
        mistakes,
    }
}

/// Gives findings the pack's own weights, with their sources; a silenced rule leaves one note, so
/// that it is never forgotten.
fn weigh(book: &Rulebook, findings: &mut Vec<Finding>) {
    for (rule, own) in book.weighed() {
        let source = match own.source.as_str() {
            "" => String::new(),
            source => format!(" after {source}"),
        };
        let Some(severity) = own.severity else {
            let before = findings.len();
            findings.retain(|f| f.code != rule);
            let silenced = match before - findings.len() {
                0 => "it would find nothing".to_owned(),
                1 => "1 finding is not shown".to_owned(),
                n => format!("{n} findings are not shown"),
            };
            let message = format!("\"{rule}\" is silenced in this pack{source}: {silenced}");
            findings.push(Finding {
                severity: Severity::Note,
                ..Finding::error(rule, own.place, message)
            });
            continue;
        };
        for finding in findings.iter_mut().filter(|f| f.code == rule) {
            finding.severity = severity;
            let weighed = format!("weighed as {}{source}", severity.word());
            finding.help = Some(match finding.help.take() {
                Some(help) => format!("{help}; {weighed}"),
                None => weighed,
            });
        }
    }
}

/// Everything the rules say about one rig, and apart from it what it shows on purpose.
fn rig_findings(pack: &Pack, id: RigId, solved: &Solved) -> (Vec<Finding>, Vec<Finding>) {
    let rig = pack.rig(id);
    let lesson = pack.lessons.iter().find(|lesson| {
        let mut parts = lesson.sections.iter().flat_map(|s| &s.parts);
        parts.any(|part| matches!(part, Part::Rig(own) if *own == id))
    });
    let case = Case {
        pack,
        rig,
        solved,
        lesson,
    };
    let mut findings = Vec::new();
    for rule in [
        holds::no_hold,
        holds::one_line,
        lines::over_limit,
        lines::over_mass,
        lines::low_strength,
        lines::untested_pairing,
        lines::unpaired,
        lines::side_without_feet,
        lines::too_short,
        fittings::not_an_anchor,
        fittings::cross_loaded,
        fittings::gate_towards_rope,
        fittings::hold_only,
        fittings::no_stopper,
        fittings::slack,
        fittings::out_of_reach,
        holds::wide_spread,
        holds::rope_angle,
        loss::nothing_left,
        loss::strikes,
        loss::fall_force,
        loss::thin_limb,
    ] {
        rule(&case, &mut findings);
    }
    let mistakes = wrong::compare(rig, &mut findings);
    values::expect(&case, &mut findings);
    (findings, mistakes)
}

/// Why a rig has no answer, in a sentence.
pub(crate) fn problem_sentence(rig: &Rig, problem: &StaticsProblem) -> String {
    match problem {
        StaticsProblem::CannotMeet { lines } => {
            let name = |id: &LineId| format!("\"{}\"", rig.line(*id).name);
            let names: Vec<_> = lines.iter().map(name).collect();
            format!(
                "the lines cannot meet: {} would have to be longer",
                names.join(" and ")
            )
        }
        StaticsProblem::NothingHolds => {
            "no line leads from the climber to a fixed point: nothing holds".to_owned()
        }
        StaticsProblem::NotSettled => {
            "the resting place could not be found to the promised accuracy".to_owned()
        }
    }
}

/// One rig with what the rules look at.
struct Case<'a> {
    pack: &'a Pack,
    rig: &'a Rig,
    solved: &'a Solved,
    lesson: Option<&'a Lesson>,
}

impl Case<'_> {
    /// The finding of a rule at its built-in weight, with its basis as help.
    fn finding(&self, rule: &'static str, place: Place, message: String) -> Finding {
        let severity = rule_named(rule).map_or(Severity::Error, |r| r.severity);
        let basis = self.pack.rulebook.basis(rule);
        Finding {
            severity,
            ..Finding::error(rule, place, message)
        }
        .with_help(format!("basis: {basis}"))
    }

    fn limit(&self, rule: &'static str, key: &'static str) -> f64 {
        self.pack.rulebook.limit(rule, key)
    }

    fn text(&self, quantity: Quantity) -> String {
        quantity_text(quantity, self.pack.units)
    }

    /// The kit item that a line or point names.
    fn kit(&self, name: Option<&String>) -> Option<&KitItem> {
        let name = name?;
        self.pack.kit.iter().find(|item| item.name == *name)
    }

    /// Whether a saw is in use in the lesson where the rig stands.
    fn two_lines(&self) -> bool {
        self.lesson.is_some_and(|lesson| lesson.two_lines)
    }
}
