//! What a lesson becomes: sections with their parts, whole stretches of text, values in their place.

use pulldown_cmark::{Event, Tag};

use ropeleaf::finding::{SourceFile, Sources};
use ropeleaf::pack::{self, Answer, Flow, Inline, Lesson, Part, Reading, Scope};
use ropeleaf::rig::{FigureKind, LineId, ValuePath};

const RIG: &str = "```rig two\n[climber]\nmass = \"86 kg\"\nat = [2.2, 5.0]\n[point.top]\nat = [0.2, 10.5]\n\
[line.main]\nrun = [\"bridge\", \"top\", \"bridge\"]\n```\n";

fn read(lesson: &str) -> Reading {
    let text = format!("```lesson\ntitle = \"T\"\ncode = \"C\"\n```\n\n{lesson}");
    let file = |path: &str, text: String| SourceFile {
        path: path.to_owned(),
        bytes: text.into_bytes(),
    };
    let files = vec![
        file("pack.toml", "title = \"P\"\n".to_owned()),
        file("lessons/a.md", text),
    ];
    let reading = pack::read(Sources::new(files), Scope::Pack);
    assert_eq!(reading.findings, []);
    reading
}

fn lesson(reading: &Reading) -> &Lesson {
    &reading.pack.lessons[0]
}

/// The events of a flow as HTML, values as `«LINE»`.
fn html(flow: &Flow) -> String {
    let events = flow.iter().map(|inline| match inline {
        Inline::Value(value) => Event::Text(format!("«{:?}»", value.path).into()),
        event => event.event().expect("no value").into_static(),
    });
    let mut out = String::new();
    pulldown_cmark::html::push_html(&mut out, events);
    out.replace('\n', "")
}

fn texts(lesson: &Lesson) -> Vec<String> {
    let parts = lesson.sections.iter().flat_map(|s| &s.parts);
    parts
        .map(|part| match part {
            Part::Text(flow) => html(flow),
            Part::Rig(id) => format!("rig {}", id.0),
            other => format!("{other:?}").split('(').next().unwrap().to_owned(),
        })
        .collect()
}

#[test]
fn headings_of_the_first_two_levels_begin_sections() {
    let reading = read(
        "Before.\n\n# One {.sheet}\n\na\n\n### Inner\n\nb\n\nTwo\n---\n\nc\n\n## One {#own}\n\n## One\n",
    );
    let sections = &lesson(&reading).sections;
    let seen: Vec<(&str, bool, usize)> = sections
        .iter()
        .map(|s| (s.id.as_str(), s.on_sheet, s.parts.len()))
        .collect();
    assert_eq!(
        seen,
        [
            ("", false, 1),
            ("one", true, 1),
            ("two", false, 1),
            ("own", false, 0),
            ("one-2", false, 0)
        ]
    );
    assert!(sections[0].heading.is_empty());
    let (line, column) = reading.sources.line_column(0, sections[2].place.start);
    assert_eq!((line, column), (16, 1));
}

#[test]
fn a_block_cuts_a_list_into_whole_lists() {
    let rig: String = RIG.lines().map(|l| format!("   {l}\n")).collect();
    let reading = read(&format!("1. one\n\n{rig}\n2. two\n3. three\n"));
    assert_eq!(
        texts(lesson(&reading)),
        [
            "<ol><li><p>one</p></li></ol>",
            "rig 0",
            "<ol start=\"2\"><li><p>two</p></li><li><p>three</p></li></ol>"
        ]
    );
}

#[test]
fn what_follows_a_block_in_the_same_item_keeps_its_number() {
    let rig: String = RIG.lines().map(|l| format!("   {l}\n")).collect();
    let reading = read(&format!("4. one\n5. two\n\n{rig}\n   more\n\n> quoted\n"));
    assert_eq!(
        texts(lesson(&reading)),
        [
            "<ol start=\"4\"><li><p>one</p></li><li><p>two</p></li></ol>",
            "rig 0",
            "<ol start=\"5\"><li><p>more</p></li></ol><blockquote><p>quoted</p></blockquote>"
        ]
    );
}

#[test]
fn every_stretch_of_text_is_whole_by_itself() {
    let rig: String = RIG.lines().map(|l| format!("> > {l}\n")).collect();
    let reading = read(&format!(
        "> a\n>\n> > b\n> >\n{rig}> >\n> > - c\n>\n> d\n\n| x |\n| - |\n| y |\n"
    ));
    for part in lesson(&reading).sections.iter().flat_map(|s| &s.parts) {
        let Part::Text(flow) = part else {
            continue;
        };
        let mut open: Vec<Tag> = Vec::new();
        for inline in flow {
            match inline.event() {
                Some(Event::Start(tag)) => open.push(tag.clone()),
                Some(Event::End(end)) => {
                    assert_eq!(open.pop().map(|t| t.to_end()), Some(end));
                }
                _ => {}
            }
        }
        assert!(open.is_empty(), "{open:?} stays open");
    }
}

#[test]
fn values_stand_where_they_were_asked_for() {
    let reading = read(&format!(
        "{RIG}\nIt pulls `rig:two/main/pull`, see `code` and ``rig:two/main/share``.\n\n\
         ```steps\n[[step]]\ndo = \"\"\"\nLoad\nit to `rig:two/top/load`.\"\"\"\ncritical = true\n```\n"
    ));
    let lesson = lesson(&reading);
    let parts = &lesson.sections[0].parts;
    let Part::Text(flow) = &parts[1] else {
        panic!("text after the rig: {parts:?}");
    };
    assert_eq!(
        html(flow),
        "<p>It pulls «Pull(LineId(0))», see <code>code</code> and «Share(LineId(0))».</p>"
    );
    let value = flow.iter().find_map(|inline| match inline {
        Inline::Value(value) => Some(**value),
        _ => None,
    });
    let value = value.unwrap();
    assert_eq!(value.path, ValuePath::Pull(LineId(0)));
    let text = reading.sources.text(value.place.file);
    assert_eq!(&text[value.place.start..value.place.end], "two/main/pull");
    let Part::Steps(steps) = &parts[2] else {
        panic!("steps after the text: {parts:?}");
    };
    assert!(steps[0].critical);
    let step_value = steps[0].text.iter().find_map(|inline| match inline {
        Inline::Value(value) => Some(value.place),
        _ => None,
    });
    let place = step_value.unwrap();
    assert_eq!(&text[place.start..place.end], "two/top/load");
}

#[test]
fn questions_figures_and_defaults_are_typed() {
    let reading = read(&format!(
        "{RIG}\n```questions\n[[question]]\nask = \"a\"\nchoices = [\"x\", \"y\"]\nright = 2\n\
         [[question]]\nask = \"b\"\nnumber = \"1.5 kN\"\ntolerance = \"50 N\"\n```\n\n\
         ```figure two\nshow = [\"setup\"]\n```\n\n```figure two\n```\n"
    ));
    let parts = &lesson(&reading).sections[0].parts;
    let Part::Questions(questions) = &parts[1] else {
        panic!("{parts:?}");
    };
    assert!(matches!(
        questions[0].answer,
        Answer::Choice { right: 1, .. }
    ));
    assert!(matches!(questions[1].answer, Answer::Number { tolerance, .. } if tolerance == 50.0));
    let kinds = parts.iter().filter_map(|part| match part {
        Part::Figure(ask) => Some(ask.kinds.clone()),
        _ => None,
    });
    assert_eq!(
        kinds.collect::<Vec<_>>(),
        [vec![FigureKind::Setup], vec![FigureKind::Pulls]],
        "the rig's own figures where the block names none"
    );
}
