//! What a lesson says to machines: schema.org as JSON-LD, a `LearningResource` with its steps as a
//! `HowTo`. Only properties that schema.org gives these types; what the pack leaves out is left out.

use serde_json::json;

use crate::pack::{LessonId, Part};
use crate::press::text::plain;
use crate::press::view::{language, step_view};

use super::Site;
use super::lesson::outcomes;
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
        .enumerate()
        .map(|(i, step)| {
            let view = step_view(step, site.proof);
            json!({"@type": "HowToStep", "position": i + 1, "text": plain(&view.text)})
        })
        .collect();
    let mut resource = json!({
        "@context": "https://schema.org",
        "@type": "LearningResource",
        "name": lesson.title,
        "identifier": lesson.code,
        "learningResourceType": site.words.get("block.lesson"),
        "inLanguage": language(pack),
        "isPartOf": {"@type": "LearningResource", "name": pack.title},
    });
    let mut put = |key: &str, value: Option<serde_json::Value>| {
        if let (Some(value), Some(map)) = (value, resource.as_object_mut()) {
            map.insert(key.to_owned(), value);
        }
    };
    put("description", lesson.summary.as_ref().map(|s| json!(s)));
    let teaches = outcomes(site, id).into_iter().map(|outcome| outcome.text);
    let teaches: Vec<String> = teaches.filter(|text| !text.is_empty()).collect();
    put("teaches", (!teaches.is_empty()).then(|| json!(teaches)));
    let needs = lesson.needs.iter().map(|need| &pack.lesson(*need).title);
    let needs: Vec<&String> = needs.collect();
    put(
        "competencyRequired",
        (!needs.is_empty()).then(|| json!(needs)),
    );
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
    let tools = lesson.kit.iter().map(|used| {
        let name = &pack.kit_item(used.item).title;
        json!({"@type": "HowToTool", "name": name, "requiredQuantity": used.count})
    });
    let tools: Vec<_> = tools.collect();
    let how = json!({"@type": "HowTo", "name": lesson.title, "tool": tools, "step": steps});
    put("hasPart", (!steps.is_empty()).then_some(how));
    script_json(&resource)
}
