//! The blocks of a lesson as parts of a zone, each line with its address.

use serde::Serialize;

use crate::pack::{Criterion, Fault, Question, Step};
use crate::press::view::{
    AnswerView, QuestionView, Rich, as_run, criterion_view, fault_view, question_view, shown_order,
    step_view,
};

use super::Site;
use super::address::Lines;
use super::part::PartView;
use super::sheet::Sheet;

/// A step.
#[derive(Debug, Serialize)]
pub(super) struct StepRow {
    pub(super) n: usize,
    pub(super) id: String,
    pub(super) do_html: String,
    pub(super) why_html: Option<String>,
    pub(super) check_html: Option<String>,
    pub(super) critical: bool,
}

/// A fault.
#[derive(Debug, Serialize)]
pub(super) struct FaultRow {
    pub(super) id: String,
    pub(super) seen_html: String,
    pub(super) leads_html: String,
    pub(super) right_html: String,
}

/// A question.
#[derive(Debug, Serialize)]
pub(super) struct QuestionRow {
    pub(super) n: usize,
    pub(super) id: String,
    pub(super) ask_html: String,
    /// `choice`, `order` or `number`.
    pub(super) form: &'static str,
    /// Choices, or things to put in order as they are shown.
    pub(super) choices: Vec<ChoiceRow>,
    /// The answer in words.
    pub(super) answer_html: String,
    /// How a number comes about, then the author's reason.
    pub(super) because_html: Option<String>,
    /// Right number, tolerance and decimals, for the script.
    pub(super) right: f64,
    pub(super) tolerance: f64,
    pub(super) decimals: usize,
    pub(super) unit: String,
}

/// One choice.
#[derive(Debug, Serialize)]
pub(super) struct ChoiceRow {
    pub(super) html: String,
    /// Right; or the place in the right order, from 1.
    pub(super) right: usize,
    /// The slip behind a wrong choice.
    pub(super) why: Option<String>,
}

/// A criterion.
#[derive(Debug, Serialize)]
pub(super) struct CriterionRow {
    pub(super) id: String,
    pub(super) html: String,
    pub(super) critical: bool,
    pub(super) measure: Option<String>,
    pub(super) outcome: Option<String>,
}

/// Where a block stands.
pub(super) struct Around<'a, 'b> {
    pub(super) site: &'a Site<'a>,
    pub(super) sheet: &'b mut Sheet,
    pub(super) code: &'a str,
    pub(super) lines: &'b mut Lines,
}

impl Around<'_, '_> {
    fn html(&self, id: &str, pieces: &[Rich]) -> String {
        self.site.html(self.sheet.up, id, pieces)
    }

    fn find(&mut self, id: &str, kind: &'static str, pieces: &[Rich]) {
        self.sheet.find(self.code, id, kind, pieces);
    }

    pub(super) fn steps(&mut self, steps: &[Step]) -> PartView {
        let mut items = Vec::new();
        for step in steps {
            let view = step_view(step, self.site.proof);
            let (n, id) = self.lines.next();
            self.find(&id, "step", &view.text);
            self.find(&id, "check", view.check.as_deref().unwrap_or_default());
            let html = |pieces: &Option<Vec<Rich>>| pieces.as_ref().map(|p| self.html(&id, p));
            items.push(StepRow {
                do_html: self.html(&id, &view.text),
                why_html: html(&view.why),
                check_html: html(&view.check),
                critical: view.critical,
                n,
                id,
            });
        }
        PartView::Steps { items }
    }

    pub(super) fn faults(&mut self, faults: &[Fault]) -> PartView {
        let mut rows = Vec::new();
        for fault in faults {
            let view = fault_view(fault, self.site.proof);
            let (_, id) = self.lines.next();
            let mut all = view.seen.clone();
            for more in [&view.leads_to, &view.put_right] {
                all.push(Rich::Break);
                all.extend(more.iter().cloned());
            }
            self.find(&id, "fault", &all);
            rows.push(FaultRow {
                seen_html: self.html(&id, &view.seen),
                leads_html: self.html(&id, &view.leads_to),
                right_html: self.html(&id, &view.put_right),
                id,
            });
        }
        PartView::Faults { rows }
    }

    pub(super) fn questions(&mut self, questions: &[Question]) -> PartView {
        let items = questions.iter().map(|question| self.question(question));
        PartView::Questions {
            items: items.collect(),
        }
    }

    /// How the answer comes about, a line a paragraph, then the author's reason.
    fn because(&self, id: &str, view: &QuestionView) -> Option<String> {
        let lines = view.working.iter();
        let lines = lines.map(|line| format!("<p>{}</p>", crate::press::text::escape(line)));
        let reason = view.because.iter().map(|because| self.html(id, because));
        let html: String = lines.chain(reason).collect();
        (!html.is_empty()).then_some(html)
    }

    fn question(&mut self, question: &Question) -> QuestionRow {
        let view = question_view(question, self.site.proof, self.site.words);
        let words = self.site.words;
        let (n, id) = self.lines.next();
        self.find(&id, "question", &view.ask);
        let mut row = QuestionRow {
            n,
            ask_html: self.ask(&id, &view),
            because_html: self.because(&id, &view),
            form: "choice",
            choices: Vec::new(),
            answer_html: String::new(),
            right: 0.0,
            tolerance: 0.0,
            decimals: 0,
            unit: String::new(),
            id,
        };
        match view.answer {
            AnswerView::Choice {
                choices,
                right,
                why,
            } => {
                row.answer_html = choices
                    .get(right)
                    .map_or_else(String::new, |c| self.html(&row.id, c));
                row.choices = choices
                    .iter()
                    .zip(why)
                    .enumerate()
                    .map(|(i, (choice, why))| ChoiceRow {
                        html: self.html(&row.id, choice),
                        right: usize::from(i == right),
                        why,
                    })
                    .collect();
            }
            AnswerView::Truth { right } => {
                let say = |truth: bool| words.get(if truth { "print.true" } else { "print.false" });
                row.answer_html = say(right).to_owned();
                row.choices = [true, false]
                    .map(|truth| ChoiceRow {
                        html: say(truth).to_owned(),
                        right: usize::from(truth == right),
                        why: None,
                    })
                    .into();
            }
            AnswerView::Order { items } => {
                row.form = "order";
                let html: Vec<String> = items.iter().map(|i| self.html(&row.id, i)).collect();
                let listed: String = html.iter().map(|item| format!("<li>{item}</li>")).collect();
                row.answer_html = format!("<ol>{listed}</ol>");
                let shown = shown_order(html.len()).into_iter();
                row.choices = shown
                    .map(|i| ChoiceRow {
                        html: html[i].clone(),
                        right: i + 1,
                        why: None,
                    })
                    .collect();
            }
            AnswerView::Number(answer) => {
                row.form = "number";
                row.answer_html = crate::press::text::escape(&answer.text);
                row.right = answer.right;
                row.tolerance = answer.tolerance;
                row.decimals = answer.decimals;
                row.unit = answer.unit;
            }
        }
        row
    }

    /// A legend holds no paragraphs, so that only a number is asked for in several.
    fn ask(&self, id: &str, view: &QuestionView) -> String {
        match view.answer {
            AnswerView::Number(_) => self.html(id, &view.ask),
            _ => self.html(id, &as_run(view.ask.clone())),
        }
    }

    pub(super) fn marking(&mut self, criteria: &[Criterion]) -> PartView {
        let mut rows = Vec::new();
        for criterion in criteria {
            let view = criterion_view(criterion, self.site.proof);
            let (_, id) = self.lines.next();
            self.find(&id, "criterion", &view.text);
            let words = self.site.words;
            let measure = view.measure.map(|value| {
                let within = view.tolerance.unwrap_or_default();
                let fields = [("value", value.as_str()), ("within", within.as_str())];
                words.fill("marking.measure", &fields)
            });
            rows.push(CriterionRow {
                html: self.html(&id, &view.text),
                critical: view.critical,
                outcome: view.outcome,
                measure,
                id,
            });
        }
        let measured = rows.iter().any(|row| row.measure.is_some());
        PartView::Marking { rows, measured }
    }
}
