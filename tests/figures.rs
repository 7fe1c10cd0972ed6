//! Every figure of the demo pack, as its readers meet it: parsed without a warning, unique ids, numbers
//! in the lettering repeated by the description.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::LazyLock;

use ropeleaf::Zones;
use ropeleaf::figure::{self, Detail, Drawing, Shelf, Style};
use ropeleaf::pack::{RigId, Scope};
use ropeleaf::rig::FigureKind;
use ropeleaf::rules::Proof;

static DEMO: LazyLock<Proof> = LazyLock::new(|| {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("content");
    let sources = ropeleaf::disk::read_pack(&root).expect("the demo pack is there");
    ropeleaf::proof(sources, Scope::Pack, Zones::Shown)
});

/// Every kind that each rig of the demo pack has something to say in.
fn drawings(width_mm: f64, detail: Detail) -> Vec<(FigureKind, Drawing)> {
    let pack = &DEMO.reading.pack;
    let style = Style {
        units: pack.units,
        width_mm,
        detail,
        shelf: Shelf::of(pack),
        right: false,
    };
    let mut all = Vec::new();
    for (i, rig) in pack.rigs.iter().enumerate() {
        let solved = DEMO.solved(RigId(i));
        let kinds = FigureKind::ALL.into_iter();
        all.extend(kinds.filter_map(|kind| Some((kind, figure::draw(rig, &solved, kind, style)?))));
    }
    assert!(all.len() > 30, "{} figures", all.len());
    all
}

thread_local! {
    static WARNINGS: RefCell<Vec<String>> = const { RefCell::new(Vec::new()) };
}

/// Keeps what readers of SVG say to the log, by thread.
struct Keeper;

impl log::Log for Keeper {
    fn enabled(&self, _: &log::Metadata<'_>) -> bool {
        true
    }

    fn log(&self, record: &log::Record<'_>) {
        if record.level() <= log::Level::Warn {
            let words = format!("{}: {}", record.target(), record.args());
            WARNINGS.with_borrow_mut(|all| all.push(words));
        }
    }

    fn flush(&self) {}
}

fn parsed(svg: &str) -> Vec<String> {
    log::set_max_level(log::LevelFilter::Warn);
    // A second test that sets it keeps the first one's.
    let _ = log::set_logger(&Keeper);
    WARNINGS.take();
    let mut options = usvg::Options::default();
    for bytes in figure::FONT_FILES {
        options.fontdb_mut().load_font_data(bytes.to_vec());
    }
    usvg::Tree::from_str(svg, &options).expect("valid SVG");
    WARNINGS.take()
}

#[test]
fn readers_of_svg_have_nothing_to_warn_of() {
    // The keeper hears warnings at all: usvg knows no conditional rules.
    let broken = "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'>\
                  <style>@media screen{.a{fill:red}}</style></svg>";
    assert!(!parsed(broken).is_empty(), "a warning is heard");
    for (kind, drawing) in drawings(160.0, Detail::Full) {
        assert_eq!(
            parsed(&drawing.svg),
            Vec::<String>::new(),
            "{} {kind:?}",
            drawing.id
        );
    }
}

/// Attribute values of a name in a drawing.
fn values<'a>(svg: &'a str, name: &str) -> Vec<&'a str> {
    let mark = format!(" {name}=\"");
    svg.split(&mark)
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect()
}

#[test]
fn ids_are_unique_and_what_is_referred_to_is_there() {
    for (kind, drawing) in drawings(160.0, Detail::Full) {
        let ids = values(&drawing.svg, "id");
        let unique: BTreeSet<&str> = ids.iter().copied().collect();
        assert_eq!(ids.len(), unique.len(), "{} {kind:?}: {ids:?}", drawing.id);
        for id in &ids {
            assert!(!id.contains(char::is_whitespace), "{id}");
        }
        for used in values(&drawing.svg, "href") {
            assert!(unique.contains(used.trim_start_matches('#')), "{used}");
        }
    }
}

/// Numbers with a unit of force, length, speed, angle or share in a text.
fn quantities(text: &str) -> Vec<String> {
    let text = text.replace('\u{a0}', " ");
    let words: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || "(),;:".contains(c))
        .map(|w| w.trim_end_matches('.'))
        .filter(|w| !w.is_empty())
        .collect();
    let is_number =
        |w: &str| w.starts_with(|c: char| c.is_ascii_digit()) && w.parse::<f64>().is_ok();
    let mut found: Vec<String> = words
        .windows(2)
        .filter(|w| is_number(w[0]) && matches!(w[1], "kN" | "m" | "m/s" | "%"))
        .map(|w| format!("{} {}", w[0], w[1]))
        .collect();
    let degrees = words
        .iter()
        .filter(|w| w.strip_suffix('°').is_some_and(is_number));
    found.extend(degrees.map(|w| (*w).to_owned()));
    found
}

#[test]
fn a_description_says_every_number_that_is_lettered() {
    let pack = &DEMO.reading.pack;
    let mut missing = Vec::new();
    for (kind, drawing) in drawings(160.0, Detail::Full) {
        let said = quantities(&drawing.description);
        // The key's scales and the staff are how numbers are measured, not what the figure says.
        let key = format!("<g id=\"{}-key\"", drawing.id);
        let body = drawing.svg.split(&key).next().unwrap_or_default();
        let lettered: Vec<String> = body
            .lines()
            .filter(|line| line.starts_with("<text"))
            .map(|line| {
                let parts = line
                    .split('<')
                    .filter_map(|part| Some(part.split_once('>')?.1));
                parts.collect::<String>()
            })
            .flat_map(|words| quantities(&words))
            .collect();
        let unsaid = lettered.iter().filter(|number| !said.contains(number));
        let unsaid: BTreeSet<&String> = unsaid.collect();
        if !unsaid.is_empty() {
            missing.push(format!("{}: {unsaid:?}", drawing.id));
        }
        if kind == FigureKind::Setup {
            assert!(lettered.is_empty(), "{}: {lettered:?}", drawing.id);
        }
        let rig = pack
            .rigs
            .iter()
            .find(|r| drawing.id == format!("{}-{}", r.name, kind.word()));
        for line in &rig.expect("its rig").lines {
            let name = line.name.replace(['-', '_'], " ");
            // An effort figure leaves out a line that carries nothing.
            let named = drawing.description.contains(&name) || kind == FigureKind::Effort;
            assert!(named, "{}: no word of {name}", drawing.id);
        }
    }
    assert!(
        missing.is_empty(),
        "lettered, but not described: {missing:#?}"
    );
}
