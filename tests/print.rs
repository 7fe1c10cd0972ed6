//! The print set of a small pack, judged by other programs than ours: poppler (`pdfinfo`,
//! `pdffonts`, `pdftotext`) and `qpdf`. `.ci/run` adds the rules of PDF/UA-1.
#![cfg(feature = "print")]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

use ropeleaf::Zones;
use ropeleaf::finding::{Finding, SourceFile, Sources};
use ropeleaf::pack::{Lesson, LessonId, Part, RigId, Scope};
use ropeleaf::press::print::{Batch, figure_pdf, sheets};
use ropeleaf::press::view::{Rich, letters, rich, rich_run};
use ropeleaf::press::{Figures, Order, OutFile, PrintList, press, site_into};
use ropeleaf::progress::Silent;
use ropeleaf::rig::FigureKind;
use ropeleaf::rules::Proof;
use ropeleaf::store::{InMemory, Sink, Store};

/// The lesson's code: names its prints.
const CODE: &str = "PT-04";

fn sources() -> Sources {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/print/pack");
    ropeleaf::disk::read_pack(&root).expect("the pack of this test is there")
}

fn proof_of(sources: Sources) -> Proof {
    let proof = ropeleaf::proof(sources, Scope::Pack, Zones::Shown);
    let errors: Vec<_> = proof
        .findings
        .iter()
        .filter(|f| f.severity == ropeleaf::finding::Severity::Error)
        .map(|f| &f.message)
        .collect();
    assert!(
        errors.is_empty(),
        "the pack of this test is in order: {errors:?}"
    );
    proof
}

/// The prints of a batch, by path.
fn set(proof: &Proof, batch: Batch<'_>) -> Result<Vec<OutFile>, Vec<Finding>> {
    let sink = InMemory::default();
    let prints = sheets(proof, batch, &|file| sink.put(file), &Silent)?;
    let files = sink.files();
    let listed: Vec<_> = prints.list.iter().collect();
    let taken = files.iter().map(|file| {
        let name = file.path.strip_prefix("print/").expect("a print");
        (name, Some(file.bytes.len()))
    });
    assert_eq!(listed, taken.collect::<Vec<_>>());
    Ok(files)
}

fn printed(proof: &Proof) -> Vec<OutFile> {
    set(proof, Batch::default()).unwrap_or_else(|findings| panic!("{findings:#?}"))
}

/// Every print of the pack in a folder of its own, and their paths.
struct Prints {
    folder: tempfile::TempDir,
    files: Vec<OutFile>,
}

impl Prints {
    fn new() -> Self {
        Self::of(&sources())
    }

    fn of(sources: &Sources) -> Self {
        let files = printed(&proof_of(sources.clone()));
        let folder = tempfile::tempdir().unwrap();
        for file in &files {
            let path = folder.path().join(&file.path);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, &file.bytes).unwrap();
        }
        Self { folder, files }
    }

    fn path(&self, kind: &str) -> PathBuf {
        self.folder.path().join(format!("print/{CODE}-{kind}.pdf"))
    }
}

/// Whether the judging programs are here. Without them their tests say so and stop, except in the
/// gate (`CI` is set), where that is a failure.
fn judges_are_here() -> bool {
    let missing: Vec<&str> = ["pdfinfo", "pdffonts", "pdftotext", "qpdf"]
        .into_iter()
        .filter(|program| Command::new(program).arg("--version").output().is_err())
        .collect();
    assert!(
        missing.is_empty() || std::env::var_os("CI").is_none(),
        "the gate needs {missing:?}"
    );
    #[expect(clippy::print_stderr, reason = "a skipped test must say so")]
    if !missing.is_empty() {
        eprintln!("not judged: install poppler-utils and qpdf for {missing:?}");
    }
    missing.is_empty()
}

/// Output of a program that must succeed.
fn run(program: &str, arguments: &[&str], file: &Path) -> String {
    let done = Command::new(program)
        .args(arguments)
        .arg(file)
        .args(match program {
            "pdftotext" => &["-"][..],
            "qpdf" if arguments.contains(&"--qdf") => &["-"],
            _ => &[],
        })
        .output()
        .unwrap_or_else(|e| panic!("{program} is needed by this test: {e}"));
    let text = String::from_utf8_lossy(&done.stdout).into_owned();
    assert!(
        done.status.success(),
        "{program} {}: {text}",
        file.display()
    );
    text
}

/// The text of a print with every white space as one blank, as a reader copies it.
fn text_of(file: &Path) -> String {
    let text = run("pdftotext", &["-raw"], file);
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Letters without any white space.
fn packed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

/// Texts of a lesson that stand unbroken on paper: steps, reasons, checks, criteria.
fn unbroken(proof: &Proof, lesson: &Lesson, whole: bool) -> Vec<String> {
    let mut texts = Vec::new();
    for part in lesson.sections.iter().flat_map(|s| &s.parts) {
        match part {
            Part::Steps(steps) => {
                for step in steps {
                    texts.push(letters(&rich_run(&step.text, proof)));
                    texts.extend(step.check.iter().map(|c| letters(&rich_run(c, proof))));
                    let why = step.why.iter().filter(|_| whole);
                    texts.extend(why.map(|c| letters(&rich_run(c, proof))));
                }
            }
            Part::Marking(criteria) if whole => {
                texts.extend(criteria.iter().map(|c| letters(&rich_run(&c.text, proof))));
            }
            _ => {}
        }
    }
    texts
}

/// Numbers of a lesson's rigs that its text asks for, as readers see them.
fn values(proof: &Proof, lesson: &Lesson) -> Vec<String> {
    fn gather(pieces: &[Rich], out: &mut Vec<String>) {
        for piece in pieces {
            match piece {
                Rich::Value { text } => out.push(text.clone()),
                Rich::Paragraph { inside } | Rich::Strong { inside } => gather(inside, out),
                _ => {}
            }
        }
    }
    let mut out = Vec::new();
    for part in lesson.sections.iter().flat_map(|s| &s.parts) {
        if let Part::Text(flow) = part {
            gather(&rich(flow, proof), &mut out);
        }
    }
    out
}

/// The demo pack, printed once for the tests that read it.
static DEMO: LazyLock<(Proof, Prints)> = LazyLock::new(|| {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("content");
    let sources = ropeleaf::disk::read_pack(&root).expect("the demo pack is there");
    (proof_of(sources.clone()), Prints::of(&sources))
});

#[test]
fn the_demo_carries_every_step_and_number_on_sheet_handout_and_book() {
    if !judges_are_here() {
        return;
    }
    let (proof, prints) = &*DEMO;
    let text = |name: &str| {
        let path = prints.folder.path().join(format!("print/{name}.pdf"));
        packed(&run("pdftotext", &["-raw"], &path))
    };
    let book = text("AS-book");
    let lessons = &proof.reading.pack.lessons;
    assert_eq!(lessons.len(), 6);
    for lesson in lessons {
        let (code, handout) = (&lesson.code, text(&format!("{}-handout", lesson.code)));
        let sheet = text(&format!("{code}-sheet"));
        for words in unbroken(proof, lesson, false) {
            assert!(sheet.contains(&packed(&words)), "{code}-sheet: {words}");
        }
        for words in unbroken(proof, lesson, true)
            .into_iter()
            .chain(values(proof, lesson))
        {
            assert!(handout.contains(&packed(&words)), "{code}-handout: {words}");
            assert!(book.contains(&packed(&words)), "AS-book: {words}");
        }
        assert!(book.contains(&packed(&lesson.title)), "{}", lesson.title);
    }
    for term in &proof.reading.pack.glossary {
        assert!(book.contains(&packed(&term.term)), "{}", term.term);
    }
}

/// Where the lowest word of each page ends above the running foot, as a share of the page's height.
fn filled(path: &Path) -> Vec<f64> {
    let number = |line: &str, name: &str| -> f64 {
        let after = line.split_once(&format!("{name}=\"")).expect(name).1;
        after.split('"').next().unwrap().parse().unwrap()
    };
    let mut pages: Vec<(f64, f64)> = Vec::new();
    for line in run("pdftotext", &["-bbox"], path).lines() {
        if line.contains("<page ") {
            pages.push((number(line, "height"), 0.0));
        } else if line.contains("<word ") {
            let (height, lowest) = pages.last_mut().expect("words stand on pages");
            let end = number(line, "yMax");
            if end < 0.92 * *height {
                *lowest = lowest.max(end);
            }
        }
    }
    pages
        .iter()
        .map(|(height, lowest)| lowest / height)
        .collect()
}

#[test]
fn no_page_of_a_handout_is_left_half_empty_before_a_figure() {
    if !judges_are_here() {
        return;
    }
    let (proof, prints) = &*DEMO;
    for lesson in &proof.reading.pack.lessons {
        let name = format!("print/{}-handout.pdf", lesson.code);
        let pages = filled(&prints.folder.path().join(&name));
        let (_, inner) = pages.split_last().expect("pages");
        for (i, share) in inner.iter().enumerate() {
            assert!(*share > 0.55, "{name} page {}: {share:.2}", i + 1);
        }
    }
}

#[test]
fn a_page_leads_to_every_print() {
    let (proof, prints) = &*DEMO;
    let pressed = press(proof, Order::default(), &Silent);
    let files = pressed
        .unwrap_or_else(|findings| panic!("{findings:#?}"))
        .files;
    let pages = files.iter().filter(|f| f.path.ends_with(".html"));
    let pages: String = pages.map(|f| String::from_utf8_lossy(&f.bytes)).collect();
    assert!(prints.files.len() > 30, "{}", prints.files.len());
    for print in &prints.files {
        let link = format!("{}\"", print.path);
        assert!(pages.contains(&link), "no page leads to {}", print.path);
    }
}

#[test]
fn the_book_has_bookmarks_and_contents_that_lead_to_each_lesson() {
    if !judges_are_here() {
        return;
    }
    let (proof, prints) = &*DEMO;
    let path = prints.folder.path().join("print/AS-book.pdf");
    let about = run("qpdf", &["--json", "--json-key=outlines"], &path);
    let about: serde_json::Value = serde_json::from_str(&about).expect("qpdf writes JSON");
    let bookmarks: Vec<(&str, i64)> = about["outlines"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|b| Some((b["title"].as_str()?, b["destpageposfrom1"].as_i64()?)))
        .collect();
    let mut last = 0;
    for id in &proof.reading.pack.courses[0].lessons {
        let title = proof.reading.pack.lesson(*id).title.as_str();
        let found = bookmarks.iter().find(|(name, _)| *name == title);
        let (_, page) = found.unwrap_or_else(|| panic!("{title} is not among {bookmarks:?}"));
        assert!(
            *page > last,
            "{title} begins a page after the one before it"
        );
        last = *page;
        let page = page.to_string();
        let text = run("pdftotext", &["-raw", "-f", &page, "-l", &page], &path);
        assert!(text.contains(title), "page {page} is not that of {title}");
    }
}

#[test]
fn a_session_plan_has_its_times_kit_and_lines_to_fill_in() {
    if !judges_are_here() {
        return;
    }
    let (_, prints) = &*DEMO;
    let text = text_of(&prints.folder.path().join("print/AS-day-1.pdf"));
    // content/courses/one-line-to-three.toml: begins 08:00, six people, the walk takes 30 minutes.
    for words in [
        "08:00 to 08:30",
        "Site walk, weather, rescue plan; every item of kit looked over",
        "AS-01 One line over a bend",
        "6, at most 3 to an instructor",
        "4 for each of 6",
        "Grid reference at the gate:",
        "Nobody leaves the ground before every line",
        "Throw line and bag, one for each tree",
    ] {
        assert!(text.contains(words), "{words:?}:\n{text}");
    }
}

#[test]
fn the_outcome_matrix_shows_criteria_and_gaps() {
    if !judges_are_here() {
        return;
    }
    let whole = Prints::new();
    let path = |prints: &Prints| prints.folder.path().join("print/first-outcomes.pdf");
    let text = text_of(&path(&whole));
    assert!(text.contains("G1, G3") && !text.contains("Gap."), "{text}");
    // Without the criterion that shows O2 nothing does.
    let gap = Prints::of(&changed("outcome = \"O2\"", ""));
    let text = text_of(&path(&gap));
    assert!(text.contains("Gap."), "{text}");
    assert!(text.contains("none: a gap"), "{text}");
}

#[test]
fn the_pairing_table_says_what_was_tested_and_what_was_not() {
    if !judges_are_here() {
        return;
    }
    let (_, prints) = &*DEMO;
    let text = text_of(&prints.folder.path().join("print/kit-pairings.pdf"));
    for words in [
        "Prusik",
        "Hitch cord, 8 mm",
        "tested",
        "not tested",
        "holding only",
    ] {
        assert!(text.contains(words), "{words:?}:\n{text}");
    }
}

#[test]
fn a_figure_is_a_tagged_page_of_its_own_size() {
    if !judges_are_here() {
        return;
    }
    let proof = proof_of(sources());
    let figures = Figures::draw(&proof);
    let drawing = figures.get(RigId(0), FigureKind::Pulls).expect("it holds");
    let bytes = figure_pdf(&proof.reading.pack, drawing).expect("it can be set");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("figure.pdf");
    std::fs::write(&path, bytes).unwrap();
    let about = run("pdfinfo", &[], &path);
    assert_eq!(info(&about, "Pages"), "1");
    assert_eq!(info(&about, "Tagged"), "yes");
    let size = info(&about, "Page size").split_once(" x ").expect(&about);
    // 72 points to the inch of 25.4 mm.
    let wide: f64 = size.0.parse().unwrap();
    let want = drawing.size_mm.0 * 72.0 / 25.4;
    assert!((wide - want).abs() < 0.01, "{wide} pt, not {want}");
}

/// Findings of the fixture with a print template of its own.
fn with_own(name: &str, text: &str) -> Result<Vec<OutFile>, Vec<Finding>> {
    let mut files = sources().files().to_vec();
    files.push(SourceFile {
        path: format!("own/print/{name}"),
        bytes: text.as_bytes().to_vec(),
    });
    let proof = proof_of(Sources::new(files));
    set(&proof, Batch::default())
}

/// A print template of ours, to be changed.
fn ours(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/print");
    std::fs::read_to_string(path.join(name)).unwrap()
}

#[test]
fn a_pack_replaces_a_print_template() {
    if !judges_are_here() {
        return;
    }
    let own = ours("questions.typ").replace("= #(if key", "House rule: pencil only.\n\n= #(if key");
    let files = with_own("questions.typ", &own).expect("it can be set");
    let paper = files.iter().find(|f| f.path.ends_with("questions.pdf"));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("paper.pdf");
    std::fs::write(&path, &paper.unwrap().bytes).unwrap();
    assert!(text_of(&path).contains("House rule: pencil only."));
}

#[test]
fn a_fault_of_an_own_print_template_is_told_at_its_line() {
    let own = ours("questions.typ") + "\n#no-such-name\n";
    let line = own.lines().count();
    let findings = with_own("questions.typ", &own).expect_err("it cannot be set");
    let finding = &findings[0];
    assert_eq!(finding.code, "own-template", "{finding:#?}");
    assert!(finding.message.contains("no-such-name"), "{finding:#?}");
    let start = finding.place.expect("it has a place").start;
    assert_eq!(own[..start].matches('\n').count() + 1, line);
}

#[test]
fn an_own_print_template_cannot_drop_a_caution() {
    let own = ours("questions.typ").replace("#cautions(data)", "");
    let findings = with_own("questions.typ", &own).expect_err("it drops the cautions");
    assert_eq!(findings[0].code, "cautions-missing", "{findings:#?}");
}

/// `Pages: 1` of `pdfinfo`.
fn info<'a>(text: &'a str, key: &str) -> &'a str {
    text.lines()
        .find_map(|line| line.strip_prefix(key)?.strip_prefix(':'))
        .map_or("", str::trim)
}

#[test]
fn one_page_sheets_are_one_tagged_a4_page_with_embedded_subsets() {
    if !judges_are_here() {
        return;
    }
    let prints = Prints::new();
    for kind in ["sheet", "marking"] {
        let path = prints.path(kind);
        let about = run("pdfinfo", &[], &path);
        assert_eq!(info(&about, "Pages"), "1", "{kind}");
        // ISO 216: A4 is 210 mm x 297 mm, which is 595.28 pt x 841.89 pt.
        assert_eq!(
            info(&about, "Page size"),
            "595.276 x 841.89 pts (A4)",
            "{kind}"
        );
        assert_eq!(info(&about, "Tagged"), "yes", "{kind}");
        assert_eq!(
            info(&about, "CreationDate"),
            "",
            "{kind}: a date would change the bytes"
        );
        let title = info(&about, "Title");
        assert!(
            title.starts_with("PT-04 A second line to a side limb"),
            "{title}"
        );
    }
}

#[test]
fn a_pack_for_us_letter_has_every_print_on_letter() {
    if !judges_are_here() {
        return;
    }
    let prints = Prints::of(&changed_in(
        "pack.toml",
        "language",
        "paper = \"US Letter\"\nlanguage",
    ));
    for file in &prints.files {
        let about = run("pdfinfo", &[], &prints.folder.path().join(&file.path));
        // ANSI/ASME Y14.1 size A is 8.5 in x 11 in, 72 pt to the inch.
        let size = info(&about, "Page size");
        assert_eq!(size, "612 x 792 pts (letter)", "{}", file.path);
    }
    for kind in ["sheet", "marking"] {
        let about = run("pdfinfo", &[], &prints.path(kind));
        assert_eq!(info(&about, "Pages"), "1", "{kind}");
    }
}

#[test]
fn an_unknown_paper_is_an_error_with_the_nearest_name() {
    let sources = changed_in("pack.toml", "language", "paper = \"US Leter\"\nlanguage");
    let proof = ropeleaf::proof(sources, Scope::Pack, Zones::Shown);
    let said: Vec<String> = proof
        .findings
        .iter()
        .map(|f| format!("{} {}", f.message, f.help.as_deref().unwrap_or_default()))
        .collect();
    assert!(
        said.iter()
            .any(|text| text.contains("US Leter") && text.contains("nearest word is `US Letter`")),
        "{said:#?}"
    );
}

#[test]
fn a_lesson_alone_has_its_own_prints_only() {
    let proof = proof_of(sources());
    let one = Batch {
        lesson: Some(LessonId(0)),
        ..Batch::default()
    };
    let one = set(&proof, one).expect("it fits");
    let names: Vec<&str> = one.iter().map(|f| f.path.as_str()).collect();
    let own = ["answers", "handout", "marking", "questions", "sheet"];
    let own = own.map(|kind| format!("print/{CODE}-{kind}.pdf"));
    assert_eq!(names, own);
}

/// Names of the prints that a pack promises before any is set.
fn promised(proof: &Proof) -> BTreeSet<String> {
    let list = PrintList::promised(&proof.reading.pack);
    list.iter()
        .map(|(name, size)| {
            assert_eq!(size, None, "{name} is not set yet");
            name.to_owned()
        })
        .collect()
}

#[test]
fn the_prints_that_are_promised_are_those_that_a_press_makes() {
    let (demo, prints) = &*DEMO;
    let made = std::fs::read_dir(prints.folder.path().join("print")).unwrap();
    let made: BTreeSet<String> = made
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert!(
        made.len() > 30,
        "the demo has every kind of print: {made:?}"
    );
    assert_eq!(promised(demo), made);

    // A pack with nothing but a lesson: no questions, no criteria, no kit.
    let bare = |path: &str, text: &str| SourceFile {
        path: path.to_owned(),
        bytes: text.as_bytes().to_vec(),
    };
    let bare = proof_of(Sources::new(vec![
        bare("pack.toml", "title = \"Bare\"\n"),
        bare(
            "lessons/bare.md",
            "```lesson\ntitle = \"Bare\"\ncode = \"B-1\"\n```\n\n## A heading\n\nA sentence.\n",
        ),
    ]));
    let made: BTreeSet<String> = printed(&bare)
        .iter()
        .map(|file| file.path.trim_start_matches("print/").to_owned())
        .collect();
    assert_eq!(promised(&bare), made);
    assert_eq!(
        made,
        ["B-1-handout.pdf", "B-1-sheet.pdf"]
            .map(String::from)
            .into()
    );
}

/// Where pages link to prints: page and file name.
fn links_to_prints(files: &[OutFile]) -> BTreeSet<(String, String)> {
    let pages = files.iter().filter(|file| file.path.ends_with(".html"));
    pages
        .flat_map(|page| {
            let html = String::from_utf8_lossy(&page.bytes).into_owned();
            let links: Vec<(String, String)> = html
                .split("href=\"")
                .filter_map(|rest| rest.split('"').next())
                .filter_map(|href| href.trim_start_matches("../").strip_prefix("print/"))
                .map(|name| (page.path.clone(), name.to_owned()))
                .collect();
            links
        })
        .collect()
}

#[test]
fn pages_link_to_promised_prints_as_to_those_that_are_set() {
    let proof = proof_of(sources());
    let whole = press(&proof, Order::default(), &Silent).expect("it fits");
    let sink = InMemory::default();
    let list = PrintList::promised(&proof.reading.pack);
    site_into(&proof, &list, &Store::default(), &sink).expect("pages are laid out");
    let links = links_to_prints(&sink.files());
    assert_eq!(links, links_to_prints(&whole.files));
    let linked: BTreeSet<String> = links.into_iter().map(|(_, name)| name).collect();
    assert_eq!(linked, promised(&proof), "each print can be reached");
}

#[test]
fn a_print_is_set_alone_by_its_name() {
    let proof = proof_of(sources());
    let list = PrintList::promised(&proof.reading.pack);
    let (book, _) = list
        .of_course(&proof.reading.pack.courses[0], "book")
        .expect("a book");
    for name in [
        format!("{CODE}-marking.pdf"),
        book.to_owned(),
        "kit-records.pdf".to_owned(),
    ] {
        let one = Batch {
            name: Some(&name),
            ..Batch::default()
        };
        let one = set(&proof, one).expect("it fits");
        let paths: Vec<&str> = one.iter().map(|file| file.path.as_str()).collect();
        assert_eq!(paths, [format!("print/{name}")]);
    }
}

#[test]
fn every_print_is_sound_tagged_and_embeds_subsets_of_its_fonts() {
    if !judges_are_here() {
        return;
    }
    let prints = Prints::new();
    assert!(!prints.files.is_empty());
    for file in &prints.files {
        let path = prints.folder.path().join(&file.path);
        run("qpdf", &["--check"], &path);
        assert_eq!(
            info(&run("pdfinfo", &[], &path), "Tagged"),
            "yes",
            "{}",
            file.path
        );
        // ISO 32000-1: the catalogue names the language; a link's target is a /URI string.
        let plain = run(
            "qpdf",
            &[
                "--qdf",
                "--object-streams=disable",
                "--stream-data=uncompress",
            ],
            &path,
        );
        assert!(
            plain.contains("/Lang (en-GB)"),
            "{} has no language",
            file.path
        );
        assert!(
            plain.contains("pdfuaid:part"),
            "{} is not PDF/UA",
            file.path
        );
        assert!(
            plain.contains("/Outlines"),
            "{} has no bookmarks",
            file.path
        );
        for target in plain.split("/URI (").skip(1) {
            assert!(target.starts_with("http"), "{}: {target:.60}", file.path);
        }
        let here = env!("CARGO_MANIFEST_DIR");
        assert!(!plain.contains(here), "{} names a path", file.path);
        let fonts = run("pdffonts", &[], &path);
        let rows: Vec<&str> = fonts.lines().skip(2).collect();
        assert!(!rows.is_empty(), "{}", file.path);
        for row in rows {
            let columns: Vec<&str> = row.split_whitespace().collect();
            // name, type (two words or three), encoding, emb, sub, uni, object, generation
            let [emb, sub, uni] = columns[columns.len() - 5..columns.len() - 2] else {
                panic!("{row}");
            };
            assert_eq!(
                (emb, sub, uni),
                ("yes", "yes", "yes"),
                "{}: {row}",
                file.path
            );
        }
    }
}

#[test]
fn the_sheet_says_every_step_check_number_and_caution() {
    if !judges_are_here() {
        return;
    }
    let prints = Prints::new();
    let text = text_of(&prints.path("sheet"));
    // Words of the fixture's lesson, as its author wrote them.
    for words in [
        "Choose both anchors first: the side anchor beyond the work, near a union, on wood that stays.",
        "Second person agrees, aloud.",
        "Climb on the main line. Keep it straight and its hitch set.",
        "Lead the second line through its ring saver; connect it to the bridge.",
        "Load the second line slowly, with the main line still straight.",
        "Move out: let out one line, take in the other, a hand’s width at a time.",
        "Set both hitches, let go with both hands, then start. With a saw both lines stay on.",
        "Hands off, count of three: no drift.",
        "Hang well below both anchors",
        "Climb up between the anchors",
        "Teaching aid.",
        "Not for stopping a fall: never more than 0.5 m of slack.",
        "Aldermoor Arboretum crew school",
        "Identification no.",
    ] {
        assert!(
            text.contains(words),
            "{words:?} is not on the sheet:\n{text}"
        );
    }
    let proof = proof_of(sources());
    let (rig, solved) = (
        &proof.reading.pack.rigs[0],
        &proof.solved(ropeleaf::pack::RigId(0)),
    );
    for id in rig.line_ids() {
        for path in [
            ropeleaf::rig::ValuePath::OnClimber(id),
            ropeleaf::rig::ValuePath::Pull(id),
            ropeleaf::rig::ValuePath::PullLow(id),
            ropeleaf::rig::ValuePath::PullHigh(id),
            ropeleaf::rig::ValuePath::Share(id),
            ropeleaf::rig::ValuePath::Length(id),
            ropeleaf::rig::ValuePath::Angle(id),
            ropeleaf::rig::ValuePath::LossDrop(id),
        ] {
            let value = ropeleaf::value::evaluate(rig, solved, path).expect("the fixture holds");
            let (number, _) = ropeleaf::quantity::quantity_parts(value, proof.reading.pack.units);
            assert!(
                text.contains(&number),
                "{path:?} {number} is not on the sheet:\n{text}"
            );
        }
    }
}

#[test]
fn two_presses_give_the_same_bytes() {
    let (first, second) = (printed(&proof_of(sources())), printed(&proof_of(sources())));
    assert_eq!(first.len(), second.len());
    for (a, b) in first.iter().zip(&second) {
        assert_eq!(a.path, b.path);
        assert!(a.bytes == b.bytes, "{} differs from press to press", a.path);
    }
}

/// The fixture's sources with one change in the lesson.
fn changed(from: &str, to: &str) -> Sources {
    changed_in("lessons/side-limb.md", from, to)
}

/// The fixture's sources with one change in a file.
fn changed_in(path: &str, from: &str, to: &str) -> Sources {
    let mut files = sources().files().to_vec();
    let file = files.iter_mut().find(|f| f.path == path).unwrap();
    let text = String::from_utf8(file.bytes.clone()).unwrap();
    assert!(text.contains(from), "the fixture says {from:?}");
    file.bytes = text.replacen(from, to, 1).into_bytes();
    Sources::new(files)
}

#[test]
fn a_lesson_that_does_not_fit_is_refused_with_what_to_shorten() {
    let long = "Look at the union, the bark, the fungus at its foot and the way the limb moves. "
        .repeat(12);
    let from = "Climb on the main line. Keep it straight and its hitch set.";
    let proof = proof_of(changed(from, &format!("{from} {long}")));
    let findings = set(&proof, Batch::default())
        .map(|files| files.len())
        .expect_err("the sheet is too long");
    let [finding] = findings.as_slice() else {
        panic!("one finding, not {findings:#?}");
    };
    assert_eq!(finding.code, "sheet-too-long");
    assert!(finding.message.contains("PT-04"), "{}", finding.message);
    assert!(
        finding.message.contains("mm too long for one page"),
        "{}",
        finding.message
    );
    let help = finding.help.as_deref().unwrap_or_default();
    assert!(help.starts_with("shorten step 2 ("), "{help}");
    let place = finding.place.expect("it has a place");
    let text = proof.reading.sources.text(place.file);
    assert!(
        text[..place.start].contains("Second person agrees"),
        "after step 1"
    );
    assert!(
        !text[..place.start].contains("Lead the second line"),
        "before step 3"
    );
}

#[test]
fn a_full_sheet_leaves_out_small_drawings_before_any_word() {
    if !judges_are_here() {
        return;
    }
    let longer = "Look at the union, the bark, the fungus at its foot and the way the limb moves. "
        .repeat(3);
    let from = "Climb on the main line. Keep it straight and its hitch set.";
    let proof = proof_of(changed(from, &format!("{from} {longer}")));
    let files = printed(&proof);
    let sheet = files.iter().find(|f| f.path.ends_with("-sheet.pdf"));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.pdf");
    std::fs::write(&path, &sheet.expect("a sheet").bytes).unwrap();
    let text = text_of(&path);
    assert!(text.contains(longer.trim()), "{text}");
    assert!(
        text.contains("Hands off, count of three: no drift."),
        "{text}"
    );
}

#[test]
fn the_marking_sheet_has_every_criterion_and_what_it_shows() {
    if !judges_are_here() {
        return;
    }
    let prints = Prints::new();
    let text = text_of(&prints.path("marking"));
    for words in [
        "Both anchors are beyond the work and on wood that stays; agreed aloud.",
        "Says what each line carries, to 0.1 kN.",
        "Hands off for a count of three without drifting.",
        "Chooses two anchors that hold a place between them",
        "G1, G3",
        "Stop at once if a learner is at risk",
        "Assessor’s signature",
    ] {
        assert!(
            text.contains(words),
            "{words:?} is not on the sheet:\n{text}"
        );
    }
}

#[test]
fn the_question_paper_keeps_its_answers_to_the_key() {
    if !judges_are_here() {
        return;
    }
    let prints = Prints::new();
    let (paper, key) = (
        text_of(&prints.path("questions")),
        text_of(&prints.path("answers")),
    );
    for asked in [
        "Which line carries more in the lesson’s hold?",
        "Two lines spread 120° carry as much each as the climber weighs.",
        "How much of the weight does the main line carry?",
        "Load the second line slowly",
    ] {
        assert!(paper.contains(asked), "{asked:?}:\n{paper}");
        assert!(key.contains(asked), "{asked:?}:\n{key}");
    }
    let proof = proof_of(sources());
    let share = ropeleaf::value::evaluate(
        &proof.reading.pack.rigs[0],
        &proof.solved(ropeleaf::pack::RigId(0)),
        ropeleaf::rig::ValuePath::Share(ropeleaf::rig::LineId(0)),
    )
    .expect("the fixture holds");
    let (number, _) = ropeleaf::quantity::quantity_parts(share, proof.reading.pack.units);
    for answer in [
        "It leans less from the vertical",
        "All its legs together, over the weight.",
        &format!("Answer: {number}"),
    ] {
        assert!(key.contains(answer), "{answer:?}:\n{key}");
        assert!(!paper.contains(answer), "{answer:?}:\n{paper}");
    }
}

#[test]
fn the_handout_has_every_section_and_counts_its_pages() {
    if !judges_are_here() {
        return;
    }
    let prints = Prints::new();
    let path = prints.path("handout");
    let (text, about) = (text_of(&path), run("pdfinfo", &[], &path));
    for words in [
        "Two lines hold the climber between a stem and a side limb.",
        "The hold",
        "Do not climb up between the anchors",
        "4 questions: see the question paper.",
        "Climbing line, 11.7 mm",
        "These are positioning lines, not for stopping a fall.",
        &format!("Page 1 of {}", info(&about, "Pages")),
    ] {
        assert!(text.contains(words), "{words:?}:\n{text}");
    }
}

#[test]
fn each_kit_item_has_one_record_card() {
    if !judges_are_here() {
        return;
    }
    let prints = Prints::new();
    let path = prints.folder.path().join("print/kit-records.pdf");
    let about = run("pdfinfo", &[], &path);
    assert_eq!(info(&about, "Pages"), "4", "four items in the fixture");
    let text = text_of(&path);
    for words in [
        "Hitch cord, 8 mm",
        "PT-1",
        "2025-11-10",
        "Next thorough examination by",
    ] {
        assert!(text.contains(words), "{words:?}:\n{text}");
    }
}
