//! What a lesson says to machines: schema.org as JSON-LD.

use serde_json::json;

use crate::pack::{LessonId, Part};
use crate::press::text::plain;
use crate::press::view::{language, step_view};

use super::Site;
use super::sheet::script_json;

/// schema.org data of a lesson: a learning resource, and its steps as a how-to.
pub(super) fn machine(site: &Site<'_>, id: LessonId) -> String {
    let pack = site.pack();
    let lesson = pack.lesson(id);
    let parts = lesson.sections.iter().flat_map(|section| &section.parts);
    let steps = parts.flat_map(|part| match part {
        Part::Steps(steps) => steps.as_slice(),
        _ => &[],
    });
    let steps: Vec<_> = steps
        .map(|step| {
            let view = step_view(step, site.proof);
            json!({"@type": "HowToStep", "text": plain(&view.text)})
        })
        .collect();
    let mut resource = json!({
        "@context": "https://schema.org",
        "@type": "LearningResource",
        "name": lesson.title,
        "identifier": lesson.code,
        "inLanguage": language(pack),
        "isPartOf": {"@type": "LearningResource", "name": pack.title},
    });
    let mut put = |key: &str, value: Option<serde_json::Value>| {
        if let (Some(value), Some(map)) = (value, resource.as_object_mut()) {
            map.insert(key.to_owned(), value);
        }
    };
    put("description", lesson.summary.as_ref().map(|s| json!(s)));
    put("educationalLevel", lesson.level.as_ref().map(|l| json!(l)));
    put(
        "timeRequired",
        lesson.minutes.map(|m| json!(format!("PT{m}M"))),
    );
    put("version", pack.revision.as_ref().map(|r| json!(r)));
    put("datePublished", pack.dated.map(|d| json!(d.to_string())));
    put(
        "publisher",
        pack.organisation
            .as_ref()
            .map(|name| json!({"@type": "Organization", "name": name})),
    );
    put(
        "hasPart",
        (!steps.is_empty()).then(|| json!({"@type": "HowTo", "name": lesson.title, "step": steps})),
    );
    script_json(&resource)
}
