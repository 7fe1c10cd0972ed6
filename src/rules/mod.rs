//! Judging a solved pack: findings with numbers, at their places.
//!
//! ```text
//! Reading + answers ─judge→ Proof
//!   a lesson: (store)→ Verdict as it was
//!              └ not there: each rig: holds, lines, losses ─→ compared with `wrong = [...]`
//!                           values in its text
//!   the pack: kit on the pack's date, courses
//! ```
//!
//! A rule is one function that looks at one rig (or kit item, or course) and pushes findings. Its
//! name, weight and limits stand in [`crate::rulebook`].

mod answers;
mod course;
mod fittings;
mod holds;
mod kit;
mod lines;
mod loss;
mod values;
mod verdict;
mod wrong;

pub(crate) use answers::Answers;
pub(crate) use values::asked as values_asked;
pub use verdict::KeptVerdict;

use std::collections::BTreeSet;
use std::sync::Arc;

use rayon::prelude::*;

use crate::finding::{Finding, Place, Severity, Sources};
use crate::kit::KitItem;
use crate::pack::{Lesson, Pack, Reading, RigId};
use crate::progress::Progress;
use crate::quantity::{Quantity, quantity_text};
use crate::rig::{LineId, Rig};
use crate::rulebook::{Rulebook, rule_named};
use crate::statics::{Solved, StaticsProblem};
use crate::store::{self, Digest, Inputs, Store};
use verdict::Verdict;

/// A pack read, solved and judged: everything that figures, pages and sheets are made from.
#[derive(Debug, Clone)]
pub struct Proof {
    /// What was read, its findings included.
    pub reading: Reading,
    pub(crate) answers: Answers,
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

    /// The answer of a rig; solved now, if it was not asked for before.
    ///
    /// # Errors
    /// Why it has none; that is among the findings too.
    pub fn answer(&self, rig: RigId) -> Result<Arc<Solved>, StaticsProblem> {
        self.answers.of(&self.reading.pack, rig)
    }

    /// The answer of a rig, for the stages after proofing.
    ///
    /// # Panics
    /// Where the rig has none. That is an error finding, so [`Proof::has_errors`] keeps such a
    /// pack from the press.
    pub fn solved(&self, rig: RigId) -> Arc<Solved> {
        self.answer(rig)
            .expect("a proof without errors has every rig solved")
    }

    /// Lets the answer of a rig go, to save memory where nothing more is likely to ask for it.
    pub(crate) fn release(&self, rig: RigId) {
        self.answers.release(rig);
    }
}

/// Judges a pack. Lessons that the store knows as they are now are not solved.
pub(crate) fn judge(
    reading: Reading,
    answers: Answers,
    store: &Store,
    progress: &dyn Progress,
) -> Proof {
    let pack = &reading.pack;
    let keys = Keys::of(&reading);
    let judged = pack.lessons.par_iter().map(|lesson| {
        let file = lesson.place.file;
        let key = keys.of_lesson(pack, lesson);
        let known = key.and_then(|key| store.verdict(key)?.back(file));
        let verdict = known.unwrap_or_else(|| {
            let verdict = verdict_of(pack, lesson, &answers);
            if let (Some(key), Some(kept)) = (key, verdict.kept(file)) {
                store.keep_verdict(key, kept);
            }
            verdict
        });
        for rig in lesson.rigs() {
            // Pages come long after; answers of a large pack held until then take most of its room.
            answers.release_quick(rig);
            progress.advance();
        }
        verdict
    });
    let verdicts: Vec<Verdict> = judged.collect();
    let mut findings = reading.findings.clone();
    let mut mistakes = vec![Vec::new(); pack.rigs.len()];
    let mut unsolved = Vec::new();
    for (lesson, verdict) in pack.lessons.iter().zip(verdicts) {
        findings.extend(verdict.findings);
        unsolved.extend(verdict.unsolved);
        for (rig, shown) in lesson.rigs().zip(verdict.mistakes) {
            mistakes[rig.0] = shown;
        }
    }
    kit::check(pack, &mut findings);
    course::check(pack, &mut findings);
    weigh(&pack.rulebook, &mut findings);
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

/// Looks at one lesson with its rigs.
fn verdict_of(pack: &Pack, lesson: &Lesson, answers: &Answers) -> Verdict {
    let mut verdict = Verdict::default();
    for id in lesson.rigs() {
        let rig = pack.rig(id);
        let (own, shown) = match answers.of(pack, id) {
            Ok(solved) => rig_findings(pack, lesson, rig, &solved),
            Err(problem) => {
                let sentence = problem_sentence(rig, &problem);
                let finding = Finding::error("no-hold", rig.climber.place, sentence);
                verdict.unsolved.push(finding);
                (Vec::new(), Vec::new())
            }
        };
        verdict.findings.extend(own);
        verdict.mistakes.push(shown);
    }
    values::missing(pack, lesson, answers, &mut verdict.findings);
    values::same_choices(pack, lesson, answers, &mut verdict.findings);
    verdict
}

/// Digests by which a lesson's verdict is known again.
struct Keys<'a> {
    /// Of the files that every lesson is judged with: pack, rules, kit.
    common: Digest,
    sources: &'a Sources,
    /// For each rig the file that it stands in.
    homes: Vec<Option<usize>>,
    /// A pack with errors may lack what its lessons name.
    whole: bool,
}

impl<'a> Keys<'a> {
    fn of(reading: &'a Reading) -> Self {
        let mut homes = vec![None; reading.pack.rigs.len()];
        for lesson in &reading.pack.lessons {
            for rig in lesson.rigs() {
                homes[rig.0] = Some(lesson.place.file);
            }
        }
        Self {
            common: store::common(&reading.sources),
            sources: &reading.sources,
            homes,
            whole: reading
                .findings
                .iter()
                .all(|f| f.severity != Severity::Error),
        }
    }

    /// The digest of everything that a lesson's verdict depends on: its own file, and those of the
    /// rigs whose values it says. `None` where it cannot be told.
    fn of_lesson(&self, pack: &Pack, lesson: &Lesson) -> Option<Digest> {
        if !self.whole {
            return None;
        }
        let mut inputs = Inputs::of("verdict");
        inputs.bytes(lesson.name.as_bytes());
        inputs
            .digest(self.common)
            .digest(self.sources.digest(lesson.place.file));
        let said: BTreeSet<RigId> = values::of_lesson(lesson).iter().map(|v| v.rig).collect();
        for rig in said {
            let home = self.homes[rig.0]?;
            if home != lesson.place.file {
                inputs
                    .bytes(pack.rig(rig).name.as_bytes())
                    .digest(self.sources.digest(home));
            }
        }
        Some(inputs.finish())
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
fn rig_findings(
    pack: &Pack,
    lesson: &Lesson,
    rig: &Rig,
    solved: &Solved,
) -> (Vec<Finding>, Vec<Finding>) {
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
    /// Where the rig stands.
    lesson: &'a Lesson,
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
        self.lesson.two_lines
    }
}
