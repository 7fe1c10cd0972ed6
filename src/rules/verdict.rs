//! What the rules say about one lesson, in a form that outlasts the reading that it came from.

use serde::{Deserialize, Serialize};

use crate::finding::{Finding, Place, Severity};
use crate::rulebook::rule_named;

/// What the rules say about one lesson and its rigs, before the pack's own weights.
#[derive(Debug, Clone, Default)]
pub(super) struct Verdict {
    /// Findings of its rigs, values and questions.
    pub(super) findings: Vec<Finding>,
    /// What each of its rigs shows on purpose, in their order.
    pub(super) mistakes: Vec<Vec<Finding>>,
    /// Rigs that have no answer.
    pub(super) unsolved: Vec<Finding>,
}

/// A verdict without the reading: rules by name, places within the lesson's file.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct KeptVerdict {
    findings: Vec<KeptFinding>,
    mistakes: Vec<Vec<KeptFinding>>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct KeptFinding {
    rule: String,
    severity: u8,
    bytes: Option<(usize, usize)>,
    message: String,
    help: Option<String>,
}

/// Weights by the number that is kept.
const SEVERITIES: [Severity; 3] = [Severity::Note, Severity::Warning, Severity::Error];

impl Verdict {
    /// What is kept of it; `None` for one that stops every press, or that speaks of other files or
    /// by other names than those of rules.
    pub(super) fn kept(&self, file: usize) -> Option<KeptVerdict> {
        let all = |findings: &[Finding]| findings.iter().map(|f| kept(f, file)).collect();
        let mistakes = self.mistakes.iter().map(|own| all(own));
        let verdict = KeptVerdict {
            findings: all(&self.findings)?,
            mistakes: mistakes.collect::<Option<_>>()?,
        };
        self.unsolved.is_empty().then_some(verdict)
    }
}

impl KeptVerdict {
    /// The verdict for a lesson in this file.
    pub(super) fn back(&self, file: usize) -> Option<Verdict> {
        let all = |kept: &[KeptFinding]| kept.iter().map(|f| f.back(file)).collect();
        let mistakes = self.mistakes.iter().map(|own| all(own));
        Some(Verdict {
            findings: all(&self.findings)?,
            mistakes: mistakes.collect::<Option<_>>()?,
            unsolved: Vec::new(),
        })
    }
}

fn kept(finding: &Finding, file: usize) -> Option<KeptFinding> {
    let place = finding.place;
    if place.is_some_and(|place| place.file != file) || rule_named(finding.code).is_none() {
        return None;
    }
    Some(KeptFinding {
        rule: finding.code.to_owned(),
        severity: finding.severity as u8,
        bytes: place.map(|place| (place.start, place.end)),
        message: finding.message.clone(),
        help: finding.help.clone(),
    })
}

impl KeptFinding {
    fn back(&self, file: usize) -> Option<Finding> {
        Some(Finding {
            code: rule_named(&self.rule)?.name,
            severity: *SEVERITIES.get(usize::from(self.severity))?,
            place: self.bytes.map(|(start, end)| Place { file, start, end }),
            message: self.message.clone(),
            help: self.help.clone(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn finding(code: &'static str, file: usize) -> Finding {
        let place = Place {
            file,
            start: 7,
            end: 9,
        };
        Finding {
            severity: Severity::Warning,
            ..Finding::error(code, place, "said").with_help("basis".to_owned())
        }
    }

    #[test]
    fn a_verdict_comes_back_in_whatever_file_the_lesson_is_by_then() {
        let verdict = Verdict {
            findings: vec![finding("wide-spread", 3)],
            mistakes: vec![vec![], vec![finding("one-line", 3)]],
            unsolved: vec![],
        };
        let back = verdict.kept(3).unwrap().back(5).unwrap();
        assert_eq!(back.findings, [finding("wide-spread", 5)]);
        assert_eq!(back.mistakes, [vec![], vec![finding("one-line", 5)]]);
    }

    #[test]
    fn what_it_cannot_say_again_is_not_kept() {
        let of = |finding| Verdict {
            findings: vec![finding],
            ..Verdict::default()
        };
        assert!(of(finding("wide-spread", 2)).kept(3).is_none());
        assert!(of(finding("no-value", 3)).kept(3).is_none());
        let unsolved = Verdict {
            unsolved: vec![finding("no-hold", 3)],
            ..Verdict::default()
        };
        assert!(unsolved.kept(3).is_none());
    }
}
