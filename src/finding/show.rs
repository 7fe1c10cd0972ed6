//! A finding in words for a terminal: the sentence, the place, the source line, the help.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

use super::{Finding, Severity, Sources};

/// `lessons/two-limb.md:31:1`, or the pack's name for a finding without a place.
pub fn place_text(finding: &Finding, sources: &Sources) -> String {
    finding.place.map_or_else(
        || "pack".to_owned(),
        |place| {
            let (line, column) = sources.line_column(place.file, place.start);
            let path = sources
                .files
                .get(place.file)
                .map_or("", |f| f.path.as_str());
            format!("{path}:{line}:{column}")
        },
    )
}

/// A finding with its source line, for a terminal. `colour` adds escape codes.
pub fn show(finding: &Finding, sources: &Sources, colour: bool) -> String {
    let level = match finding.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let mut group = level
        .primary_title(&finding.message)
        .id(finding.code)
        .elements(Vec::<annotate_snippets::Element<'_>>::new());
    if let Some(place) = finding.place {
        let text = sources.text(place.file);
        let path = sources
            .files
            .get(place.file)
            .map_or("", |f| f.path.as_str());
        let start = place.start.min(text.len());
        let end = place.end.clamp(start, text.len());
        group = group.element(
            Snippet::source(text)
                .path(path)
                .annotation(AnnotationKind::Primary.span(start..end)),
        );
    }
    if let Some(help) = &finding.help {
        group = group.element(Level::HELP.message(help));
    }
    let renderer = if colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    renderer.render(&[group]).to_string()
}
