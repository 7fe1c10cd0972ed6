//! The findings of a pack as one HTML page for its author: places, numbers, rules, source lines.
//!
//! ```text
//! Proof ─findings_html→ a page that stands alone: no scripts, no files beside it
//! ```
//!
//! It is printed, never pressed: trainees do not see it.

use std::fmt::Write as _;

use crate::finding::{Finding, Severity, Sources, place_text};
use crate::press::text::escape;
use crate::rulebook::rule_named;
use crate::rules::Proof;

/// Lines shown before and after the line of a finding.
const AROUND: usize = 1;

/// The page. Findings stand by weight, the errors first, then by place.
pub fn findings_html(proof: &Proof) -> String {
    let pack = &proof.reading.pack;
    let sources = &proof.reading.sources;
    let mut out = String::new();
    let title = escape(&format!("Findings: {}", pack.title));
    let language = "en";
    // Writing to a String cannot fail.
    let _ = write!(
        out,
        "<!doctype html>\n<html lang=\"{language}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"robots\" content=\"noindex\">\n<title>{title}</title>\n<style>\n{STYLE}</style>\n\
         </head>\n<body>\n<header>\n<h1>{title}</h1>\n{}<p>For the author of the pack. Not for \
         trainees: it is not part of the pressed site.</p>\n{}</header>\n<main>\n",
        stand(proof),
        counts(proof),
    );
    for severity in [Severity::Error, Severity::Warning, Severity::Note] {
        let own = proof.findings.iter().filter(|f| f.severity == severity);
        let own: Vec<&Finding> = own.collect();
        if own.is_empty() {
            continue;
        }
        let word = severity.word();
        let _ = write!(
            out,
            "<section class=\"{word}\" aria-labelledby=\"{word}\">\n<h2 id=\"{word}\">{} <span>{}</span></h2>\n",
            heading(severity),
            own.len()
        );
        for finding in own {
            entry(&mut out, finding, sources);
        }
        out.push_str("</section>\n");
    }
    if proof.findings.is_empty() {
        out.push_str("<p>Nothing to say: every check passes.</p>\n");
    }
    let _ = write!(out, "{}</main>\n</body>\n</html>\n", mistakes(proof));
    out
}

const fn heading(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "Errors: the pack is not pressed",
        Severity::Warning => "Warnings: look at each",
        Severity::Note => "Notes",
    }
}

/// Revision and date of the pack.
fn stand(proof: &Proof) -> String {
    let pack = &proof.reading.pack;
    let revision = pack.revision.as_ref().map(|r| format!("revision {r}"));
    let dated = pack.dated.map(|day| format!("as of {day}"));
    let parts: Vec<String> = revision.into_iter().chain(dated).collect();
    if parts.is_empty() {
        return String::new();
    }
    format!("<p>{}</p>\n", escape(&parts.join(", ")))
}

fn counts(proof: &Proof) -> String {
    let count = |severity: Severity| {
        let own = proof.findings.iter().filter(|f| f.severity == severity);
        own.count()
    };
    let each = [Severity::Error, Severity::Warning, Severity::Note].map(|severity| {
        let n = count(severity);
        let s = if n == 1 { "" } else { "s" };
        format!("{n} {}{s}", severity.word())
    });
    let rigs = proof.reading.pack.rigs.len();
    format!(
        "<p><b>{}</b> in {rigs} rigs and {} lessons.</p>\n",
        each.join(", "),
        proof.reading.pack.lessons.len()
    )
}

fn entry(out: &mut String, finding: &Finding, sources: &Sources) {
    let place = escape(&place_text(finding, sources));
    let _ = write!(
        out,
        "<article>\n<h3><code>{}</code> <span class=\"at\">{place}</span></h3>\n<p>{}.</p>\n",
        escape(finding.code),
        escape(&capital(&finding.message)),
    );
    lines(out, finding, sources);
    if let Some(help) = &finding.help {
        let _ = writeln!(out, "<p class=\"help\">{}.</p>", escape(&capital(help)));
    }
    if let Some(rule) = rule_named(finding.code) {
        let _ = writeln!(
            out,
            "<p class=\"help\">The rule finds {}.</p>",
            escape(rule.finds)
        );
    }
    out.push_str("</article>\n");
}

fn capital(text: &str) -> String {
    let text = text.trim_end_matches('.');
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// The source line with what is meant marked, and its neighbours.
fn lines(out: &mut String, finding: &Finding, sources: &Sources) {
    let Some(place) = finding.place else { return };
    let text = sources.text(place.file);
    if text.is_empty() {
        return;
    }
    let (line, _) = sources.line_column(place.file, place.start);
    out.push_str("<pre>");
    let mut offset = 0;
    for (i, whole) in text.split_inclusive('\n').enumerate() {
        let (start, number) = (offset, i + 1);
        offset += whole.len();
        if number + AROUND < line || number > line + AROUND {
            continue;
        }
        let words = whole.trim_end_matches(['\n', '\r']);
        let _ = write!(out, "<span class=\"n\">{number:>4}</span>  ");
        // What is meant may go over several lines; only its part of this one is marked.
        let from = place.start.clamp(start, start + words.len()) - start;
        let to = place.end.clamp(start, start + words.len()) - start;
        if number == line && from < to {
            let _ = write!(
                out,
                "{}<mark>{}</mark>{}",
                escape(&words[..from]),
                escape(&words[from..to]),
                escape(&words[to..])
            );
        } else {
            out.push_str(&escape(words));
        }
        out.push('\n');
    }
    out.push_str("</pre>\n");
}

/// What rigs show on purpose, so that an author sees the numbers of these too.
fn mistakes(proof: &Proof) -> String {
    let rigs = proof.reading.pack.rigs.iter().zip(&proof.mistakes);
    let rows: String = rigs
        .flat_map(|(rig, shown)| shown.iter().map(move |f| (rig, f)))
        .map(|(rig, finding)| {
            format!(
                "<li><code>{}</code> in “{}”, {}: {}.</li>\n",
                escape(finding.code),
                escape(&rig.title),
                escape(&place_text(finding, &proof.reading.sources)),
                escape(&finding.message),
            )
        })
        .collect();
    if rows.is_empty() {
        return rows;
    }
    format!(
        "<section class=\"meant\" aria-labelledby=\"meant\">\n<h2 id=\"meant\">Shown on purpose</h2>\n\
         <ul>\n{rows}</ul>\n</section>\n"
    )
}

/// Dark on light, one column, errors told from warnings by rule thickness and words as well as by
/// colour; prints as it stands.
const STYLE: &str = "\
body{font:16px/1.5 sans-serif;color:#111;background:#fff;max-width:60rem;margin:0 auto;padding:1.5rem}
h1{font-size:1.6rem;line-height:1.2;margin:0 0 .4rem}
h2{font-size:1.2rem;margin:2rem 0 .6rem;border-bottom:2px solid #111;padding-bottom:.2rem}
h2 span{float:right;font-weight:400}
h3{font-size:1rem;font-weight:400;margin:0;display:flex;flex-wrap:wrap;gap:.2rem 1rem;justify-content:space-between}
h3 code{font-weight:700}
header p,article p{margin:.2rem 0;max-width:44rem}
article{border-left:3px solid #777;padding:.1rem 0 .1rem 1rem;margin:0 0 1.4rem;break-inside:avoid}
.error article{border-left:8px solid #a3123a;padding-left:calc(1rem - 5px)}
.warning article{border-left-color:#8a5a00}
.at,.help,.n{color:#555}
pre{background:#f4f4f1;padding:.5rem .7rem;margin:.4rem 0;overflow-x:auto;font-size:.9rem;line-height:1.4}
mark{background:#ffe08a;color:#111;text-decoration:underline}
li{margin:.2rem 0}
";
