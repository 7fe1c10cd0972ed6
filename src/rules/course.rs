//! Rules about courses: `order`, `minutes`, `outcome`.

use crate::finding::{Finding, Severity};
use crate::pack::{Course, DayPart, DayWhat, Lesson, Pack, Part};
use crate::rulebook::rule_named;

/// Checks every course and every lesson.
pub(super) fn check(pack: &Pack, findings: &mut Vec<Finding>) {
    for course in &pack.courses {
        order(pack, course, findings);
        minutes(pack, course, findings);
        outcomes(pack, course, findings);
    }
    for lesson in &pack.lessons {
        critical_steps(lesson, findings);
    }
}

fn weight(rule: &'static str) -> Severity {
    rule_named(rule).map_or(Severity::Warning, |r| r.severity)
}

/// A lesson that stands before one that it needs.
fn order(pack: &Pack, course: &Course, findings: &mut Vec<Finding>) {
    for (i, id) in course.lessons.iter().enumerate() {
        let lesson = pack.lesson(*id);
        for need in &lesson.needs {
            if course.lessons[i + 1..].contains(need) {
                let message = format!(
                    "lesson \"{}\" stands before \"{}\", which it needs",
                    lesson.title,
                    pack.lesson(*need).title
                );
                let finding = Finding::error("order", course.lesson_places[i], message);
                findings.push(Finding {
                    severity: weight("order"),
                    ..finding
                });
            }
        }
    }
}

/// Minutes in an hour.
const HOUR: f64 = 60.0;

/// A lesson whose minutes, all teaching days together, are not the lesson's own; a course whose
/// stated hours are fewer than its lessons take.
fn minutes(pack: &Pack, course: &Course, findings: &mut Vec<Finding>) {
    let lessons = course.lessons.iter().map(|id| pack.lesson(*id));
    let taught: u32 = lessons.filter_map(|lesson| lesson.minutes).sum();
    if let Some(hours) = course.hours.filter(|h| h * HOUR < f64::from(taught)) {
        let message = format!(
            "this course states {hours} h, and its lessons alone take {:.1} h",
            f64::from(taught) / HOUR
        );
        let finding = Finding::error("minutes", course.place, message);
        findings.push(Finding {
            severity: weight("minutes"),
            ..finding
        });
    }
    for id in &course.lessons {
        let lesson = pack.lesson(*id);
        let parts = course.days.iter().flat_map(|day| &day.parts);
        let own: Vec<&DayPart> = parts
            .filter(|part| part.what == DayWhat::Lesson(*id))
            .collect();
        let planned: u32 = own.iter().map(|part| part.minutes).sum();
        let (Some(last), Some(wanted)) = (own.last(), lesson.minutes) else {
            continue;
        };
        if planned != wanted {
            let message = format!(
                "the course's days give \"{}\" {planned} min, and the lesson says {wanted} min",
                lesson.title
            );
            let finding = Finding::error("minutes", last.place, message);
            findings.push(Finding {
                severity: weight("minutes"),
                ..finding
            });
        }
    }
}

/// An outcome that no criterion of the course's lessons assesses.
fn outcomes(pack: &Pack, course: &Course, findings: &mut Vec<Finding>) {
    for outcome in &course.outcomes {
        let lessons = course.lessons.iter().map(|id| pack.lesson(*id));
        let mut criteria = lessons.flat_map(criteria_of);
        if !criteria.any(|c| c.outcome.as_ref() == Some(&outcome.key)) {
            let lessons = course.lessons.iter().map(|id| pack.lesson(*id));
            let taught = lessons.filter(|l| l.outcomes.contains(&outcome.key));
            let taught: Vec<String> = taught.map(|l| format!("\"{}\"", l.title)).collect();
            let message = match taught.as_slice() {
                [] => format!(
                    "no lesson of this course works on \"{}\", and no criterion assesses it",
                    outcome.text
                ),
                _ => format!(
                    "no criterion of this course's lessons assesses \"{}\"; {} could, which works on it",
                    outcome.text,
                    taught.join(" or ")
                ),
            };
            let finding = Finding::error("outcome", outcome.place, message);
            findings.push(Finding {
                severity: weight("outcome"),
                ..finding
            });
        }
    }
}

fn criteria_of(lesson: &Lesson) -> impl Iterator<Item = &crate::pack::Criterion> {
    lesson
        .sections
        .iter()
        .flat_map(|s| &s.parts)
        .flat_map(|part| match part {
            Part::Marking(criteria) => criteria.as_slice(),
            _ => &[],
        })
}

/// Critical steps in a lesson whose marking has no critical criterion.
fn critical_steps(lesson: &Lesson, findings: &mut Vec<Finding>) {
    if criteria_of(lesson).any(|c| c.critical) {
        return;
    }
    let steps = lesson
        .sections
        .iter()
        .flat_map(|s| &s.parts)
        .flat_map(|part| match part {
            Part::Steps(steps) => steps.as_slice(),
            _ => &[],
        });
    for step in steps.filter(|step| step.critical) {
        let message = "this step is critical, and the lesson's marking has no critical criterion";
        let finding = Finding::error("outcome", step.place, message);
        findings.push(Finding {
            severity: weight("outcome"),
            ..finding
        });
    }
}
