//! The pressed site of the demo pack, file by file: links, fragments, addresses, the content
//! policy, and that every number in a page is the solver's. `tests/browser` drives the same pages.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::LazyLock;

use ropeleaf::Zones;
use ropeleaf::finding::{Severity, SourceFile, Sources};
use ropeleaf::pack::{Inline, Pack, Part, Scope};
use ropeleaf::press::{Only, Order, OutFile, press};
use ropeleaf::progress::Silent;
use ropeleaf::quantity::quantity_text;
use ropeleaf::rules::Proof;
use ropeleaf::value;

#[path = "../benches/packs/mod.rs"]
mod packs;

fn demo() -> Sources {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("content");
    ropeleaf::disk::read_pack(&root).expect("the demo pack is there")
}

fn proof_of(sources: Sources) -> Proof {
    let proof = ropeleaf::proof(sources, Scope::Pack, Zones::Shown);
    let errors: Vec<_> = proof
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Error)
        .map(|f| &f.message)
        .collect();
    assert!(errors.is_empty(), "the pack is in order: {errors:?}");
    proof
}

fn pressed(proof: &Proof) -> BTreeMap<String, OutFile> {
    let pressed = press(proof, Order::from(Only::Site), &Silent);
    let pressed = pressed.unwrap_or_else(|findings| panic!("{findings:#?}"));
    let files = pressed.files.into_iter();
    files.map(|f| (f.path.clone(), f)).collect()
}

/// The demo pack's proof and its site, pressed once for all tests.
static DEMO: LazyLock<(Proof, BTreeMap<String, OutFile>)> = LazyLock::new(|| {
    let proof = proof_of(demo());
    let files = pressed(&proof);
    (proof, files)
});

/// A pack of too many lessons for one page of figures; each uses the sling.
static MANY: LazyLock<(Proof, BTreeMap<String, OutFile>)> = LazyLock::new(|| {
    let mut files = packs::plain_pack(61);
    for (_, text) in &mut files {
        *text = text.replacen("summary = \"One", "kit = [\"sling\"]\nsummary = \"One", 1);
    }
    let sling = "title = \"Sling\"\nkind = \"anchor-device\"\nstrength = \"22 kN\"\n";
    files.push(("kit/sling.toml".to_owned(), sling.to_owned()));
    let files = files.into_iter().map(|(path, text)| SourceFile {
        path,
        bytes: text.into_bytes(),
    });
    let proof = proof_of(Sources::new(files.collect()));
    let files = pressed(&proof);
    (proof, files)
});

/// The sites that hold for every one: of the demo pack, and of one with many lessons.
fn sites() -> [&'static BTreeMap<String, OutFile>; 2] {
    [&DEMO.1, &MANY.1]
}

fn pages(files: &BTreeMap<String, OutFile>) -> impl Iterator<Item = (&str, &str)> {
    let html = files.values().filter(|f| f.path.ends_with(".html"));
    html.map(|f| {
        let text = std::str::from_utf8(&f.bytes).expect("pages are UTF-8");
        (f.path.as_str(), text)
    })
}

/// Values of an attribute, entities taken back.
fn values<'a>(html: &'a str, name: &str) -> Vec<String> {
    let start = format!(" {name}=\"");
    let found = html.match_indices(&start).map(|(i, m)| {
        let rest: &'a str = &html[i + m.len()..];
        rest.split('"').next().unwrap_or_default()
    });
    found
        .map(|v| {
            v.replace("&#x27;", "'")
                .replace("&#39;", "'")
                .replace("&#x2F;", "/")
                .replace("&amp;", "&")
        })
        .collect()
}

/// A relative link from a page as a path of the output.
fn resolve(page: &str, link: &str) -> String {
    let mut parts: Vec<&str> = page.split('/').collect();
    parts.pop();
    for part in link.split('/') {
        match part {
            ".." => {
                parts.pop();
            }
            "." | "" => {}
            other => parts.push(other),
        }
    }
    parts.join("/")
}

#[test]
fn every_link_and_fragment_of_the_site_leads_somewhere() {
    for files in sites() {
        let ids: BTreeMap<&str, BTreeSet<String>> = pages(files)
            .map(|(path, html)| (path, values(html, "id").into_iter().collect()))
            .collect();
        let mut seen = 0;
        for (page, html) in pages(files) {
            let mut links = values(html, "href");
            links.extend(values(html, "src"));
            for link in links {
                if link.starts_with("data:") {
                    continue;
                }
                assert!(
                    !link.contains(':') && !link.starts_with('/'),
                    "{page} leads out of the site: {link}"
                );
                let (path, fragment) = link.split_once('#').unwrap_or((&link, ""));
                let path = path.split('?').next().unwrap_or_default();
                let target = if path.is_empty() {
                    page.to_owned()
                } else {
                    resolve(page, path)
                };
                assert!(
                    target.starts_with("site/"),
                    "{page} leaves the site: {link}"
                );
                assert!(files.contains_key(&target), "{page}: no file for {link}");
                if !fragment.is_empty() {
                    let there = ids
                        .get(target.as_str())
                        .is_some_and(|ids| ids.contains(fragment));
                    assert!(there, "{page}: no fragment for {link}");
                }
                seen += 1;
            }
        }
        assert!(seen > 100, "only {seen} links were looked at");
    }
}

#[test]
fn figures_are_the_ones_that_lessons_ask_for() {
    let (proof, files) = &*DEMO;
    let pack = &proof.reading.pack;
    let mut asked: BTreeSet<String> = BTreeSet::new();
    for rig in &pack.rigs {
        asked.extend(
            rig.show
                .iter()
                .map(|k| format!("{}-{}", rig.name, k.word())),
        );
    }
    for part in pack
        .lessons
        .iter()
        .flat_map(|l| &l.sections)
        .flat_map(|s| &s.parts)
    {
        if let Part::Figure(ask) = part {
            let name = &pack.rig(ask.rig).name;
            asked.extend(ask.kinds.iter().map(|k| format!("{name}-{}", k.word())));
        }
    }
    let asked: BTreeSet<String> = asked
        .iter()
        .map(|id| format!("site/figures/{id}.svg"))
        .collect();
    let drawn = files
        .keys()
        .filter(|path| path.starts_with("site/figures/"));
    assert_eq!(drawn.cloned().collect::<BTreeSet<_>>(), asked);
}

#[test]
fn a_mistake_stands_beside_its_right_twin_wherever_that_is_taught() {
    let (proof, files) = &*DEMO;
    let pack = &proof.reading.pack;
    let mut elsewhere = 0;
    for lesson in &pack.lessons {
        let own: Vec<_> = lesson.rigs().collect();
        let html = page(files, &format!("site/lessons/{}.html", lesson.name));
        for twin in own.iter().filter_map(|rig| pack.right_twin(*rig)) {
            elsewhere += usize::from(!own.contains(&twin));
            let title = format!("small-{}-pulls-title\"", pack.rig(twin).name);
            assert!(html.contains(&title), "{}: {title}", lesson.name);
        }
    }
    assert!(elsewhere > 0, "the demo pack has a twin of another lesson");
}

#[test]
fn ids_of_a_page_are_unique() {
    for (page, html) in sites().into_iter().flat_map(pages) {
        let ids = values(html, "id");
        let unique: BTreeSet<&String> = ids.iter().collect();
        assert_eq!(unique.len(), ids.len(), "{page} names something twice");
    }
}

#[test]
fn titles_and_descriptions_tell_pages_apart() {
    let between = |html: &str, from: &str, to: &str| {
        let rest = html.split_once(from).map(|(_, rest)| rest);
        rest.and_then(|rest| rest.split_once(to))
            .map(|(text, _)| text.to_owned())
    };
    for files in sites() {
        let (mut titles, mut descriptions) = (BTreeMap::new(), BTreeMap::new());
        for (page, html) in pages(files) {
            let title = between(html, "<title>", "</title>").expect("a title");
            let description = between(html, "<meta name=\"description\" content=\"", "\"");
            let description = description.unwrap_or_else(|| panic!("{page} has no description"));
            assert!(
                description.trim_end() == description && description.len() > 15,
                "{page}: {description}"
            );
            if let Some(other) = titles.insert(title, page) {
                panic!("{page} is titled as {other}");
            }
            if let Some(other) = descriptions.insert(description, page) {
                panic!("{page} is described as {other}");
            }
        }
    }
}

#[test]
fn figures_of_many_lessons_stand_on_a_page_for_each_course() {
    let (proof, files) = &*MANY;
    let pack = &proof.reading.pack;
    let all = page(files, "site/figures.html");
    assert!(!all.contains("<img"), "the page of courses shows no figure");
    let mut shown = BTreeMap::new();
    let galleries = [
        "figures/course-0000",
        "figures/course-0001",
        "figures-outside",
    ];
    for (gallery, lessons) in galleries.into_iter().zip([30, 29, 2]) {
        let path = format!("site/{gallery}.html");
        assert!(values(all, "href").contains(&format!("{gallery}.html")));
        let html = page(files, &path);
        let current = "figures.html\" aria-current=\"page\"";
        assert!(html.contains(current), "{path}: no mark where one is");
        assert!(html.contains("id=\"filter\""), "{path}: no filter");
        let images = values(html, "src").into_iter();
        let images: Vec<String> = images.filter(|src| src.ends_with(".svg")).collect();
        assert_eq!(images.len(), lessons, "{path}");
        for image in images {
            *shown.entry(resolve(&path, &image)).or_insert(0) += 1;
        }
    }
    let drawings = files.keys().filter(|path| path.ends_with(".svg"));
    let drawings: BTreeMap<String, i32> = drawings.map(|path| (path.clone(), 1)).collect();
    assert_eq!(drawings.len(), pack.lessons.len());
    assert_eq!(shown, drawings, "every figure once");
    for course in &pack.courses {
        let html = page(files, &format!("site/courses/{}.html", course.name));
        assert!(values(html, "href").contains(&format!("../figures/{}.html", course.name)));
    }
    let index = page(files, "site/find-index.js");
    for gallery in galleries {
        assert!(
            index.contains(&format!("{gallery}.html")),
            "{gallery} is not found"
        );
    }
    let one = page(&DEMO.1, "site/figures.html");
    assert!(
        one.contains("<img"),
        "few lessons' figures stand on one page"
    );
}

#[test]
fn an_item_of_many_lessons_leads_to_its_record_card_for_them() {
    let files = &MANY.1;
    for path in ["site/kit.html", "site/techniques.html"] {
        let html = page(files, path);
        assert!(
            html.contains("<a href=\"kit/sling.html\">61 lessons</a>"),
            "{path}"
        );
    }
    let card = page(files, "site/kit/sling.html");
    for number in [0, 60] {
        let lesson = format!("../lessons/lesson-{number:05}.html");
        assert!(values(card, "href").contains(&lesson), "{lesson}");
    }
}

#[test]
fn the_theme_and_the_pages_ask_for_nothing_from_outside() {
    let (_, files) = &*DEMO;
    for file in files.values() {
        let Ok(text) = std::str::from_utf8(&file.bytes) else {
            continue;
        };
        if file.path.ends_with(".css") {
            assert!(!text.contains("@import"), "{}", file.path);
            for part in text.split("url(").skip(1) {
                let url = part.split(')').next().unwrap_or_default().trim_matches('"');
                assert!(!url.contains(':'), "{}: {url}", file.path);
                let target = resolve(&file.path, url);
                assert!(
                    files.contains_key(&target),
                    "{}: no file for {url}",
                    file.path
                );
            }
        }
        if file.path.ends_with(".js") {
            for word in ["fetch(", "XMLHttpRequest", "import(", "eval(", "WebSocket"] {
                assert!(!text.contains(word), "{} uses {word}", file.path);
            }
        }
    }
}

#[test]
fn every_page_has_a_strict_policy_and_obeys_it() {
    for (page, html) in pages(&DEMO.1) {
        let policy = "http-equiv=\"Content-Security-Policy\" content=\"default-src 'none';";
        assert!(html.contains(policy), "{page} has no policy");
        assert!(!html.contains("unsafe-inline"), "{page} allows inline code");
        assert!(
            !html.contains("<style"),
            "{page} has an inline style element"
        );
        assert!(!html.contains(" style=\""), "{page} has an inline style");
        assert!(!html.contains(" onclick="), "{page} has an inline handler");
        for script in html.split("<script").skip(1) {
            let tag = script.split('>').next().unwrap_or_default();
            let data = tag.contains("application/json") || tag.contains("application/ld+json");
            assert!(
                data || tag.contains(" src=\""),
                "{page}: inline script <script{tag}>"
            );
        }
    }
}

/// The vocabulary of schema.org (types LearningResource, HowTo, HowToStep, HowToTool, Organization,
/// with what they inherit from CreativeWork, ListItem and Thing): property, and what it may hold.
const SCHEMA_ORG: [(&str, &[&str]); 5] = [
    (
        "LearningResource",
        &[
            "name",
            "identifier",
            "description",
            "inLanguage",
            "isPartOf",
            "hasPart",
            "version",
            "datePublished",
            "publisher",
            "timeRequired",
            "educationalLevel",
            "teaches",
            "competencyRequired",
            "learningResourceType",
        ],
    ),
    ("HowTo", &["name", "step", "tool"]),
    ("HowToStep", &["position", "text"]),
    ("HowToTool", &["name", "requiredQuantity"]),
    ("Organization", &["name"]),
];

/// Every typed thing in the data: its type is known, it has a name or a text, and no other property.
fn typed(data: &serde_json::Value, seen: &mut BTreeSet<&'static str>) {
    match data {
        serde_json::Value::Array(list) => list.iter().for_each(|inner| typed(inner, seen)),
        serde_json::Value::Object(map) => {
            let kind = map["@type"].as_str().expect("every thing has a type");
            let (kind, may) = SCHEMA_ORG
                .iter()
                .find(|(name, _)| *name == kind)
                .unwrap_or_else(|| panic!("type {kind}"));
            seen.insert(kind);
            for (key, inner) in map.iter().filter(|(key, _)| !key.starts_with('@')) {
                assert!(may.contains(&key.as_str()), "{kind} has no {key}");
                assert!(!inner.is_null() && inner != "", "{kind}.{key} is empty");
                typed(inner, seen);
            }
            let said = map.get("name").or(map.get("text"));
            assert!(said.is_some_and(|s| s.is_string()), "{kind} has no name");
        }
        _ => {}
    }
}

#[test]
fn machines_read_each_lesson_as_a_learning_resource() {
    let (proof, files) = &*DEMO;
    let mut seen = BTreeSet::new();
    for lesson in &proof.reading.pack.lessons {
        let page = &files[&format!("site/lessons/{}.html", lesson.name)];
        let html = std::str::from_utf8(&page.bytes).expect("pages are UTF-8");
        let (_, data) = html
            .split_once("<script type=\"application/ld+json\">")
            .expect("there is data for machines");
        let (data, _) = data.split_once("</script>").expect("it ends");
        let data: serde_json::Value = serde_json::from_str(data).expect("it is JSON");
        assert_eq!(data["@context"], "https://schema.org");
        assert_eq!(data["@type"], "LearningResource");
        assert_eq!(data["name"], lesson.title.as_str());
        assert_eq!(data["identifier"], lesson.code.as_str());
        typed(&data, &mut seen);
        // ISO 8601: a duration in minutes, a day.
        let time: jiff::SignedDuration = data["timeRequired"].as_str().unwrap().parse().unwrap();
        assert_eq!(time.as_mins(), i64::from(lesson.minutes.unwrap()));
        let day: jiff::civil::Date = data["datePublished"].as_str().unwrap().parse().unwrap();
        assert_eq!(Some(day), proof.reading.pack.dated);
        let steps = data["hasPart"]["step"]
            .as_array()
            .expect("the demo's lessons have steps");
        for (i, step) in steps.iter().enumerate() {
            assert_eq!(step["position"], i + 1);
        }
        let tools = data["hasPart"]["tool"].as_array().expect("kit");
        assert_eq!(tools.len(), lesson.kit.len());
    }
    assert_eq!(seen.len(), SCHEMA_ORG.len(), "only {seen:?}");
}

/// Values asked for in the text of all lessons, as the solver's own numbers say them.
fn asked(proof: &Proof, pack: &Pack) -> Vec<(String, String)> {
    let mut out = Vec::new();
    for lesson in &pack.lessons {
        let page = format!("site/lessons/{}.html", lesson.name);
        for part in lesson.sections.iter().flat_map(|s| &s.parts) {
            let Part::Text(flow) = part else { continue };
            for inline in flow {
                let Inline::Value(v) = inline else { continue };
                let solved = proof.solved(v.rig);
                let quantity = value::evaluate(pack.rig(v.rig), &solved, v.path);
                let quantity = quantity.expect("the demo pack asks for values that exist");
                out.push((page.clone(), quantity_text(quantity, pack.units)));
            }
        }
    }
    out
}

#[test]
fn every_value_in_the_text_is_the_solvers_number() {
    let (proof, files) = &*DEMO;
    let wanted = asked(proof, &proof.reading.pack);
    assert!(
        wanted.len() > 10,
        "the demo pack asks for values in its text"
    );
    let mut shown: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (page, html) in pages(files) {
        let values = html.split("<b class=\"value\">").skip(1);
        let values = values.map(|rest| rest.split('<').next().unwrap_or_default());
        shown.insert(page, values.collect());
    }
    for (page, text) in wanted {
        let values = shown
            .get_mut(page.as_str())
            .expect("each lesson has a page");
        let at = values.iter().position(|v| *v == text);
        let at = at.unwrap_or_else(|| panic!("{page} does not show {text}: {values:?}"));
        values.remove(at);
    }
}

#[test]
fn the_numbers_table_is_the_solvers() {
    let (proof, files) = &*DEMO;
    let pack = &proof.reading.pack;
    let mut cells = 0;
    for (i, rig) in pack.rigs.iter().enumerate() {
        if !rig.wrong.is_empty() {
            continue;
        }
        let solved = proof.solved(ropeleaf::pack::RigId(i));
        let page =
            pages(files).find(|(_, html)| html.contains(&format!("id=\"plate-{}\"", rig.name)));
        let (page, html) = page.unwrap_or_else(|| panic!("no page shows {}", rig.name));
        let plate = html
            .split(&format!("id=\"plate-{}\"", rig.name))
            .nth(1)
            .unwrap();
        for line in rig.line_ids() {
            let path = ropeleaf::rig::ValuePath::Pull(line);
            let Some(pull) = value::evaluate(rig, &solved, path) else {
                continue;
            };
            let key = format!("data-cell=\"pull/{}\"", rig.line(line).name);
            let cell = plate
                .split(&key)
                .nth(1)
                .unwrap_or_else(|| panic!("{page}: no {key}"));
            let cell = cell.split("</td>").next().unwrap();
            let text = quantity_text(pull, pack.units);
            assert!(cell.contains(&text), "{page}: {key} is not {text}: {cell}");
            cells += 1;
        }
    }
    assert!(cells > 5, "only {cells} pulls were compared");
}

/// The text of a page, tags taken off, entities taken back.
fn text_of(html: &str) -> String {
    let texts = html
        .split('<')
        .map(|part| part.split_once('>').map_or("", |(_, text)| text));
    let text: Vec<&str> = texts.map(str::trim).filter(|t| !t.is_empty()).collect();
    text.join(" ")
        .replace("&#39;", "'")
        .replace("&quot;", "\"")
        .replace("&amp;", "&")
}

fn page<'a>(files: &'a BTreeMap<String, OutFile>, path: &str) -> &'a str {
    let file = files
        .get(path)
        .unwrap_or_else(|| panic!("there is no {path}"));
    std::str::from_utf8(&file.bytes).expect("pages are UTF-8")
}

#[test]
fn every_lesson_stands_under_a_kind_and_under_its_kit() {
    let (proof, files) = &*DEMO;
    let pack = &proof.reading.pack;
    let html = page(files, "site/techniques.html");
    for lesson in &pack.lessons {
        let link = format!("href=\"lessons/{}.html\"", lesson.name);
        let times = html.matches(&link).count();
        // Once under a kind at least, and once under each item.
        assert!(
            times > lesson.kit.len(),
            "{} stands {times} times",
            lesson.name
        );
    }
}

#[test]
fn every_kit_item_has_its_record_and_the_register_leads_to_it() {
    let (proof, files) = &*DEMO;
    let register = page(files, "site/kit.html");
    for item in &proof.reading.pack.kit {
        let path = format!("kit/{}.html", item.name);
        assert!(register.contains(&format!("href=\"{path}\"")), "{path}");
        let text = text_of(page(files, &format!("site/{path}")));
        let record = &item.record;
        let dates = [record.made, record.first_used].into_iter().flatten();
        let dates = dates
            .chain(record.examined.iter().map(|e| e.dated))
            .map(|d| d.to_string());
        for said in dates
            .chain(record.serial.clone())
            .chain(item.standards.clone())
        {
            assert!(text.contains(&said), "{path} does not say {said}");
        }
    }
}

#[test]
fn references_hold_every_source_of_lessons_and_rules() {
    let (proof, files) = &*DEMO;
    let pack = &proof.reading.pack;
    let text = text_of(page(files, "site/references.html"));
    for source in pack.lessons.iter().flat_map(|l| &l.references) {
        assert!(text.contains(source.as_str()), "{source}");
    }
    let own = "Aldermoor Arboretum crew school, climbing rules 2025, rule 4";
    assert!(text.contains(own), "the pack's own limit has its source");
    for rule in ropeleaf::rulebook::RULES {
        assert!(text.contains(rule.name), "{}", rule.name);
    }
}

#[test]
fn a_day_says_its_hours_and_the_course_leads_to_it() {
    let (proof, files) = &*DEMO;
    let course = &proof.reading.pack.courses[0];
    assert!(!course.days.is_empty(), "the demo course plans days");
    for (i, day) in course.days.iter().enumerate() {
        let file = format!("{}-day-{}.html", course.name, i + 1);
        let from = page(files, &format!("site/courses/{}.html", course.name));
        assert!(from.contains(&format!("href=\"{file}\"")));
        let text = text_of(page(files, &format!("site/courses/{file}")));
        for line in day
            .site
            .iter()
            .chain(&day.weather)
            .chain(&day.rescue)
            .chain(&day.bring)
        {
            assert!(text.contains(line.as_str()), "{file} does not say {line}");
        }
    }
}

#[test]
fn lessons_stay_light() {
    /// Bytes of a lesson's page with its figures, so that it opens at once from a memory stick.
    const MOST: usize = 150_000;
    for (page, html) in pages(&DEMO.1) {
        if page.starts_with("site/lessons/") {
            assert!(html.len() < MOST, "{page} has {} bytes", html.len());
        }
    }
}

#[test]
fn every_sheet_says_the_cautions_and_who_answers_for_it() {
    for (page, html) in pages(&DEMO.1) {
        assert!(
            html.contains("class=\"caution-line"),
            "{page} has no caution line"
        );
        assert!(
            html.contains("<html lang=\"en\">"),
            "{page} has no language"
        );
        if page == "site/find.html" {
            continue;
        }
        assert!(
            html.contains("<div class=\"cautions\">"),
            "{page} has no cautions"
        );
        assert!(
            html.contains("<dl class=\"title-block\">"),
            "{page} has no title block"
        );
    }
}

#[test]
fn two_presses_give_the_same_bytes() {
    let again = pressed(&proof_of(demo()));
    assert_eq!(again.len(), DEMO.1.len());
    for (path, file) in &again {
        assert!(DEMO.1.get(path) == Some(file), "{path} differs");
    }
}

/// A small pack with files of the author's own below `own/`.
fn with_own(own: &[(&str, &str)]) -> Sources {
    let started = ropeleaf::press::starter_pack().into_iter();
    let mut files: Vec<SourceFile> = started
        .map(|file| SourceFile {
            path: file.path,
            bytes: file.bytes,
        })
        .collect();
    files.extend(own.iter().map(|(path, text)| SourceFile {
        path: (*path).to_owned(),
        bytes: text.as_bytes().to_vec(),
    }));
    Sources::new(files)
}

/// Texts of a file of words that are sentences of their own: three words or more, nothing to fill in.
fn sentences(words: &str) -> Vec<String> {
    fn walk(at: &toml::Value, out: &mut Vec<String>) {
        match at {
            toml::Value::Table(table) => table.values().for_each(|v| walk(v, out)),
            toml::Value::Array(list) => list.iter().for_each(|v| walk(v, out)),
            toml::Value::String(text) if text.split(' ').count() > 2 && !text.contains('{') => {
                out.push(text.clone());
            }
            _ => {}
        }
    }
    let mut out = Vec::new();
    walk(&toml::Value::Table(words.parse().expect("TOML")), &mut out);
    out
}

#[test]
fn a_pack_in_german_has_german_pages() {
    let mut files = with_own(&[]).files().to_vec();
    let pack = files.iter_mut().find(|f| f.path == "pack.toml");
    let pack = pack.expect("a pack has its file");
    let text = String::from_utf8(pack.bytes.clone()).expect("text");
    assert!(text.contains("language = \"en\""), "{text}");
    pack.bytes = text
        .replace("language = \"en\"", "language = \"de-AT\"")
        .into_bytes();
    let proof = proof_of(Sources::new(files));
    let told: Vec<_> = proof
        .findings
        .iter()
        .filter(|f| f.code == "no-words")
        .collect();
    assert_eq!(told.len(), 0);
    let files = pressed(&proof);
    let read = |name: &str| {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("theme/words");
        std::fs::read_to_string(root.join(name)).expect("the words are there")
    };
    let (english, german) = (sentences(&read("en.toml")), sentences(&read("de.toml")));
    assert!(english.len() > 60, "only {} sentences", english.len());
    let mut said = 0;
    for (page, html) in pages(&files) {
        assert!(
            html.contains("<html lang=\"de-AT\">"),
            "{page} has another language"
        );
        let text = html.replace("&#39;", "'").replace("&quot;", "\"");
        for sentence in &english {
            assert!(
                !text.contains(sentence.as_str()),
                "{page} says “{sentence}”"
            );
        }
        said += german.iter().filter(|s| text.contains(s.as_str())).count();
    }
    assert!(said > 30, "only {said} German sentences");
    let lesson = pages(&files).find(|(page, _)| page.starts_with("site/lessons/"));
    let (_, html) = lesson.expect("a lesson");
    assert!(html.contains("<figure class=\"drawn kind-pulls\" lang=\"en\""));
}

/// Errors and warnings of a pack with files of its own: code, file, line, message with help.
fn own_findings(own: &[(&str, &str)]) -> Vec<(&'static str, String, usize, String)> {
    let proof = ropeleaf::proof(with_own(own), Scope::Pack, Zones::Shown);
    let mut findings = proof.findings.clone();
    if !proof.has_errors() {
        let pressed = press(&proof, Order::from(Only::Site), &Silent);
        findings.extend(pressed.err().unwrap_or_default());
    }
    let sources = &proof.reading.sources;
    let weighty = findings.into_iter().filter(|f| {
        f.severity != Severity::Note && f.code.contains("own") || f.code == "cautions-missing"
    });
    let said = weighty.map(|f| {
        let place = f.place.expect("a file's finding has a place");
        let path = sources.files()[place.file].path.clone();
        let (line, _) = sources.line_column(place.file, place.start);
        let help = f.help.unwrap_or_default();
        (f.code, path, line, format!("{}; {help}", f.message))
    });
    said.collect()
}

#[test]
fn a_pack_lays_out_pages_with_its_own_templates_theme_and_words() {
    let style = ":root { --ink: #000000; }\n";
    let own = [
        (
            "own/site/steps.html",
            "<p class=\"their-steps\">{{ part.items | length }}</p>",
        ),
        ("own/theme/sheet.js", "// nothing\n"),
        ("own/theme/pack.css", style),
        ("own/words/en.toml", "[edge]\npack = \"Our words\"\n"),
    ];
    assert_eq!(own_findings(&own), []);
    let files = pressed(&proof_of(with_own(&own)));
    let text = |path: &str| String::from_utf8_lossy(&files[path].bytes).into_owned();
    let lesson = text("site/lessons/held-between-two-trees.html");
    assert!(lesson.contains("class=\"their-steps\""));
    assert!(lesson.contains(">Our words<"));
    assert!(lesson.contains("href=\"../theme/pack.css\""));
    assert_eq!(text("site/theme/sheet.js"), "// nothing\n");
    assert_eq!(text("site/theme/pack.css"), style);
    assert!(!DEMO.1.contains_key("site/theme/pack.css"));
}

#[test]
fn a_file_that_replaces_nothing_is_told_the_nearest_name() {
    let found = own_findings(&[("own/site/plat.html", ""), ("own/style/x.css", "")]);
    assert_eq!(found.len(), 2, "{found:?}");
    assert_eq!(found[0].0, "unknown-own-file");
    assert!(found[0].3.contains("own/site/plate.html"), "{found:?}");
    assert_eq!(found[1].1, "own/style/x.css");
}

#[test]
fn a_broken_template_is_a_finding_at_its_line_and_nothing_is_written() {
    let open = "<p>one</p>\n<p>{% if part.items %}two</p>\n{% endfor %}\n";
    let found = own_findings(&[("own/site/steps.html", open)]);
    assert_eq!(found.len(), 1, "{found:?}");
    let (code, path, line, _) = &found[0];
    assert_eq!(
        (*code, path.as_str(), *line),
        ("own-template", "own/site/steps.html", 3)
    );
    // Parsed, but it asks for something that no page has.
    let unknown = "<p>one</p>\n<p>{{ part.itemss | length }}</p>\n";
    let found = own_findings(&[("own/site/steps.html", unknown)]);
    let (code, path, line, _) = found.first().expect("an unknown name is found");
    assert_eq!(
        (*code, path.as_str(), *line),
        ("own-template", "own/site/steps.html", 2)
    );
}

#[test]
fn own_templates_and_words_keep_the_cautions() {
    let found = own_findings(&[("own/site/sheet.html", "{% extends \"frame.html\" %}")]);
    assert!(
        !found.is_empty() && found.iter().all(|f| f.0 == "cautions-missing"),
        "{found:?}"
    );
    let words = "[caution]\nline = \"Go on.\"\n";
    let found = own_findings(&[("own/words/en.toml", words)]);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!((found[0].0, found[0].2), ("own-words", 1));
}

#[test]
fn a_link_to_another_host_is_no_link_to_a_lesson_of_that_name() {
    let file = |path: &str, text: &str| SourceFile {
        path: path.to_owned(),
        bytes: text.as_bytes().to_vec(),
    };
    let lesson = "```lesson\ntitle = \"One\"\ncode = \"X-1\"\nsummary = \"One.\"\n```\n\n\
                  See [there](//example.org/one.md) and [here](one.md).\n";
    let sources = Sources::new(vec![
        file("pack.toml", "title = \"A pack\"\n"),
        file("lessons/one.md", lesson),
    ]);
    let proof = ropeleaf::proof(sources, Scope::Pack, Zones::Shown);
    let files = pressed(&proof);
    let html = page(&files, "site/lessons/one.html");
    let said = "See there and <a href=\"../lessons/one.html\">here</a>.";
    assert!(html.contains(said), "{html}");
}

/// A pack of one lesson that tries to get markup through.
fn hostile() -> Sources {
    let file = |path: &str, text: &str| SourceFile {
        path: path.to_owned(),
        bytes: text.as_bytes().to_vec(),
    };
    let lesson = "```lesson\ntitle = \"<script>alert(1)</script> & \\\"more\\\"\"\ncode = \"X-1\"\n\
                  summary = \"</script><img src=x onerror=alert(2)>\"\n```\n\n# One <b>two</b>\n\n\
                  A <img src=x onerror=alert(3)> word, [a link](javascript:alert(4)),\n\
                  [another](data:text/html,x), ![p](https://example.org/p.png).\n\n\
                  <iframe src=\"https://example.org\"></iframe>\n";
    Sources::new(vec![
        file("pack.toml", "title = \"A <i>pack</i>\"\n"),
        file("lessons/one.md", lesson),
    ])
}

#[test]
fn markup_of_authors_comes_out_as_text() {
    let proof = ropeleaf::proof(hostile(), Scope::Pack, Zones::Shown);
    let files = pressed(&proof);
    for (page, html) in pages(&files) {
        for bad in [
            "<script>alert",
            "<img src=x",
            "<iframe",
            "<i>pack",
            "javascript:",
            "data:text",
            "<b>two",
            "</script><img",
        ] {
            assert!(!html.contains(bad), "{page} lets {bad} through");
        }
        assert!(!html.contains("src=\"https:"), "{page} loads from outside");
    }
    let index = String::from_utf8_lossy(&files["site/find-index.js"].bytes);
    assert!(!index.contains("</script>"));
}

#[test]
fn the_first_use_of_a_term_leads_to_the_glossary() {
    let (proof, files) = &*DEMO;
    let terms = page(files, "site/terms.html");
    let mut linked = 0;
    for lesson in &proof.reading.pack.lessons {
        let html = page(files, &format!("site/lessons/{}.html", lesson.name));
        let links = html.split("href=\"../terms.html#").skip(1);
        let ids: Vec<&str> = links.filter_map(|part| part.split('"').next()).collect();
        for id in &ids {
            assert!(terms.contains(&format!("id=\"{id}\"")), "{id} is no term");
            let times = ids.iter().filter(|other| *other == id).count();
            assert_eq!(times, 1, "{}: {id} is linked again", lesson.name);
        }
        linked += ids.len();
    }
    assert!(
        linked >= proof.reading.pack.glossary.len(),
        "only {linked} links"
    );
}
