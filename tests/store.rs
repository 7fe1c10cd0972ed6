//! A press with a store gives what a press from nothing gives, byte for byte, whatever was edited,
//! damaged or taken away before.

use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::path::Path;

use ropeleaf::disk::{Cache, MANIFEST, Said};
use ropeleaf::finding::{Severity, SourceFile, Sources};
use ropeleaf::pack::{Lesson, Scope, read, read_again};
use ropeleaf::press::{Only, Order, press, press_into};
use ropeleaf::progress::Silent;
use ropeleaf::rig::Rig;
use ropeleaf::rules::Proof;
use ropeleaf::store::{InMemory, Store, asked};
use ropeleaf::{Zones, proof_told};

#[path = "../benches/packs/mod.rs"]
mod packs;

use packs::Random;

type Files = BTreeMap<String, Vec<u8>>;

/// A pack small enough to press many times: two lessons, one of them with its zones.
fn small_pack() -> Files {
    let files = packs::pack(5, 2).into_iter();
    let mut files: Files = files.map(|(p, text)| (p, text.into_bytes())).collect();
    edit(&mut files, "lessons/lesson-00001.md", |text| {
        text.replace(", \"polygon\", \"zone\"]", "]")
    });
    files
}

/// A pack whose figures are all but too many for one page.
fn pack_of_many() -> Files {
    let files = packs::plain_pack(60).into_iter();
    files.map(|(p, text)| (p, text.into_bytes())).collect()
}

fn edit(files: &mut Files, path: &str, change: impl FnOnce(String) -> String) {
    if let Some(bytes) = files.get_mut(path) {
        let text = String::from_utf8(bytes.clone()).expect("text");
        *bytes = change(text).into_bytes();
    }
}

fn sources(files: &Files) -> Sources {
    let sources = files.iter().map(|(path, bytes)| SourceFile {
        path: path.clone(),
        bytes: bytes.clone(),
    });
    Sources::new(sources.collect())
}

fn proof(files: &Files) -> Proof {
    proof_with(files, &Store::default())
}

fn proof_with(files: &Files, store: &Store) -> Proof {
    proof_told(sources(files), Scope::Pack, Zones::Asked, store, &Silent)
}

/// A proof with a store must say what one from nothing says.
fn assert_same_proof(want: &Proof, got: &Proof, after: &str) {
    assert_eq!(want.findings, got.findings, "{after}");
    assert_eq!(want.mistakes, got.mistakes, "{after}");
}

/// A press as its user makes it, of a pack without errors; whether there was anything to do.
///
/// - `want`: the proof from nothing.
fn press_again(files: &Files, want: &Proof, cache: &Cache, output: &Path) -> bool {
    let asked = asked(&sources(files), &"a press of this test");
    let said = Said {
        out: format!("{} findings", want.findings.len()),
        err: String::new(),
    };
    let last = cache.last();
    if let Some(again) = last.as_ref().and_then(|last| last.again(output, asked)) {
        assert_eq!(again, said);
        return false;
    }
    let standing = Cache::look(output, last.as_ref());
    let store = cache.store();
    let proof = proof_with(files, &store);
    assert_same_proof(want, &proof, "a press");
    let writing = cache
        .begin(output, last, standing, &store)
        .expect("an output of ours");
    press_into(&proof, Order::from(Only::Site), &store, &writing, &Silent).expect("sound");
    let done = cache.finish(store, writing, asked, |_| said.clone());
    assert_eq!(done.expect("writable"), said);
    true
}

/// The site from nothing; `None` where the pack has errors.
fn from_nothing(proof: &Proof) -> Option<Files> {
    if proof.has_errors() {
        return None;
    }
    let pressed = press(proof, Order::from(Only::Site), &Silent).ok()?;
    Some(
        pressed
            .files
            .into_iter()
            .map(|f| (f.path, f.bytes))
            .collect(),
    )
}

fn on_disk(folder: &Path) -> Files {
    let files = walkdir::WalkDir::new(folder).into_iter().flatten();
    let files = files.filter(|entry| entry.file_type().is_file());
    files
        .map(|entry| {
            let path = entry.path().strip_prefix(folder).expect("below");
            let path = path.to_string_lossy().replace('\\', "/");
            (path, fs::read(entry.path()).expect("readable"))
        })
        .filter(|(path, _)| path != MANIFEST)
        .collect()
}

fn assert_same(want: &Files, got: &Files, after: &str) {
    let names = |files: &Files| files.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(want), names(got), "{after}");
    for (path, bytes) in want {
        assert!(bytes == &got[path], "{path} differs after {after}");
    }
}

/// One edit of a pack at random; says what it did.
fn edit_at_random(files: &mut Files, before: &[Files], random: &mut Random) -> &'static str {
    let lessons = lessons_of(files);
    let lesson = lessons[random.below(lessons.len())].clone();
    match random.below(21) {
        0 => {
            edit(files, &lesson, |t| {
                t.replacen("You hang", "You stay", 1) + "\nMore text.\n"
            });
            "text of a lesson"
        }
        1 => {
            edit(files, &lesson, |t| {
                t.replacen("ground = 0.0", "ground = 0.1", 1)
            });
            "number of a rig"
        }
        2 => {
            edit(files, &lesson, |t| {
                t.replacen("title = \"Between", "title = \"Right between", 1)
            });
            "title of a lesson"
        }
        3 => {
            edit(files, "kit/second-line.toml", |t| {
                t.replace("working_limit = \"2.4 kN\"", "working_limit = \"2.3 kN\"")
            });
            "limit of a kit item"
        }
        4 => {
            files.insert(
                "rules.toml".into(),
                b"[wide-spread]\nspread = \"100 deg\"\nsource = \"school\"\n".to_vec(),
            );
            "rules.toml"
        }
        5 => {
            edit(files, "pack.toml", |t| {
                t.replace("units = \"metric\"", "units = \"imperial\"")
                    .replace("revision = \"A\"\ndated", "revision = \"B\"\ndated")
            });
            "pack.toml"
        }
        6 => {
            files.insert(
                "own/theme/pack.css".into(),
                b".zone { color: navy }\n".to_vec(),
            );
            "a style sheet of the pack's own"
        }
        7 => {
            let n = lessons.len();
            files.insert(
                packs::lesson_path(n + 7),
                packs::lesson(6, n + 7)
                    .replace(", \"polygon\", \"zone\"]", "]")
                    .into_bytes(),
            );
            "a lesson added"
        }
        8 if lessons.len() > 1 => {
            files.remove(&lesson);
            "a lesson removed"
        }
        9 => {
            edit(files, "courses/course-0000.toml", |t| {
                t.replace("lessons = [\"lesson-00000\", ", "lessons = [")
            });
            "a lesson out of its course"
        }
        10 => {
            edit(files, &lesson, |t| {
                t + "\n```figure near-00000\nshow = [\"pulls\"]\n```\n\nElsewhere it is `rig:near-00000/second/pull`.\n"
            });
            "another lesson's rig shown and cited"
        }
        11 => {
            edit(files, "glossary.toml", |t| {
                t + "\n[[term]]\nterm = \"limb\"\nmeans = \"A branch that bears.\"\n"
            });
            "glossary"
        }
        12 => {
            edit(files, &lesson, |t| {
                format!(
                    "{}\n",
                    t.replace("level = \"1 of 3\"", "level = \"2 of 3\"")
                )
            });
            "level of a lesson"
        }
        13 => {
            let words = b"[zone]\ncautions = \"Take care\"\n".to_vec();
            files.insert("own/words/en.toml".into(), words);
            "words of the pack's own"
        }
        14 => {
            files.insert(
                "pictures/limb.png".into(),
                random.below(256).to_le_bytes().to_vec(),
            );
            "a picture"
        }
        15 => {
            let foot = include_str!("../templates/site/foot.html");
            let foot = format!("{foot}<!-- {} -->\n", random.below(9));
            files.insert("own/site/foot.html".into(), foot.into_bytes());
            "a template of the pack's own"
        }
        16 => {
            files.remove("rules.toml");
            files.remove("own/words/en.toml");
            files.remove("own/site/foot.html");
            files.remove("own/theme/pack.css");
            "overrides taken away"
        }
        17 => {
            edit(files, &lesson, |t| {
                t.replacen("two_lines = true", "two_lines = false", 1)
            });
            "a saw out of a lesson"
        }
        18 => {
            edit(files, &lesson, |t| {
                let wrong = "wrong = [\"no-stopper\"]\n\n[climber]";
                t.replacen("[climber]", wrong, 1)
                    .replacen("stopper = true", "stopper = false", 1)
            });
            "a rig that shows a mistake"
        }
        19 => {
            edit(files, &lesson, |t| {
                t.replacen("stopper = true", "stopper = false", 1)
            });
            "a mistake that is not named"
        }
        _ => go_back(files, before, random),
    }
}

/// Paths of the lessons.
fn lessons_of(files: &Files) -> Vec<String> {
    let lessons = files.keys().filter(|path| path.starts_with("lessons/"));
    lessons.cloned().collect()
}

/// Takes the files back to a state from before, if there is one; says so.
fn go_back(files: &mut Files, before: &[Files], random: &mut Random) -> &'static str {
    if let Some(old) = before.get(random.below(before.len().max(1))) {
        files.clone_from(old);
    }
    "a state from before"
}

/// Damage that no edit of the pack does; says what it did.
fn damage_at_random(cache: &Path, output: &Path, random: &mut Random) -> &'static str {
    let kept = cache.join(["kept", "last"][random.below(2)]);
    let spare = output.with_file_name(".output-spare");
    let page = "site/lessons/lesson-00000.html";
    match random.below(12) {
        0 => {
            let _ = fs::remove_dir_all(cache);
            "the cache deleted"
        }
        1 => {
            if let Ok(mut bytes) = fs::read(&kept) {
                let at = random.below(bytes.len());
                bytes[at] ^= 0x20;
                fs::write(&kept, bytes).expect("writable");
            }
            "a byte of the cache turned"
        }
        2 => {
            if let Ok(bytes) = fs::read(&kept) {
                fs::write(&kept, &bytes[..bytes.len() / 2]).expect("writable");
            }
            "half of the cache lost"
        }
        3 => {
            let page = output.join(page);
            if let Ok(mut text) = fs::read(&page) {
                text[100] ^= 0x20;
                fs::write(&page, text).expect("writable");
            }
            "a page changed by hand"
        }
        4 => {
            let _ = fs::remove_dir_all(output);
            "the output deleted"
        }
        5 => {
            let _ = fs::remove_dir_all(&spare);
            "the spare deleted"
        }
        6 => {
            let _ = fs::remove_file(spare.join(page));
            "a page of the spare deleted"
        }
        7 => {
            let _ = fs::remove_file(spare.join(page));
            let _ = fs::write(spare.join(page), "not a page");
            "another file in the place of a page of the spare"
        }
        8 => {
            if let Ok(mut text) = fs::read(spare.join(page)) {
                text[100] ^= 0x20;
                fs::write(spare.join(page), text).expect("writable");
            }
            "a page of the spare, and so of the output, changed by hand"
        }
        _ => "nothing",
    }
}

/// Presses a pack after each of many edits, with a store in a file and with one in memory, and
/// compares with presses from nothing. Says how many states could be pressed, how many had errors and
/// how many had nothing to do.
fn presses_agree(
    first: &Files,
    seed: u64,
    steps: usize,
    edit: impl Fn(&mut Files, &[Files], &mut Random) -> &'static str,
) -> [u32; 3] {
    let (mut pressed, mut refused, mut idle) = (0, 0, 0);
    let home = tempfile::tempdir().expect("a folder");
    let (output, store) = (home.path().join("output"), home.path().join("store"));
    let cache = Cache::at(&store);
    let memory = Store::in_memory();
    let mut random = Random::new(seed);
    let mut files = first.clone();
    let mut before: Vec<Files> = Vec::new();
    for step in 0..steps {
        let mut done = format!("seed {seed}, step {step}: ");
        if step > 0 {
            done += edit(&mut files, &before, &mut random);
            done += ", ";
            done += damage_at_random(&store, &output, &mut random);
        }
        before.push(files.clone());
        let proof = proof(&files);
        let again = proof_with(&files, &memory);
        assert_same_proof(&proof, &again, &done);
        let Some(want) = from_nothing(&proof) else {
            refused += 1;
            continue;
        };
        let worked = press_again(&files, &proof, &cache, &output);
        assert_same(&want, &on_disk(&output), &done);
        idle += u32::from(!worked);

        let sink = InMemory::default();
        press_into(&again, Order::from(Only::Site), &memory, &sink, &Silent)
            .expect("it pressed before");
        let got = sink
            .files()
            .into_iter()
            .map(|f| (f.path, f.bytes))
            .collect();
        assert_same(&want, &got, &format!("{done}, in memory"));
        pressed += 1;
    }
    [pressed, refused, idle]
}

#[test]
fn any_edits_give_the_press_from_nothing() {
    let seeds = [1, 2, 3].map(|seed| presses_agree(&small_pack(), seed, 14, edit_at_random));
    let [pressed, refused, idle] = [0, 1, 2].map(|i| seeds.iter().map(|said| said[i]).sum::<u32>());
    assert!(
        pressed > 2 * refused,
        "{pressed} pressed, {refused} refused"
    );
    assert!(idle > 0, "there was always something to do");
}

/// An edit of a pack that moves its figures between one page and several; says what it did.
fn edit_many(files: &mut Files, before: &[Files], random: &mut Random) -> &'static str {
    let lessons = lessons_of(files);
    let lesson = lessons[random.below(lessons.len())].clone();
    match random.below(6) {
        0 | 1 => {
            let new = lessons.len() + 30;
            let text = packs::plain_lesson(new).into_bytes();
            files.insert(packs::lesson_path(new), text);
            "a lesson added"
        }
        2 => {
            let title = ["title = \"Straight", "title = \"Still straight"];
            edit(files, &lesson, |t| t.replacen(title[0], title[1], 1));
            "title of a lesson"
        }
        3 => {
            edit(files, &lesson, |t| t.replace("86 kg", "84 kg"));
            "number of a rig"
        }
        4 => {
            edit(files, "courses/course-0000.toml", |t| {
                t.replacen("\"lesson-00000\", ", "", 1)
            });
            "a lesson out of its course"
        }
        _ => go_back(files, before, random),
    }
}

#[test]
fn figures_of_many_lessons_are_those_of_a_press_from_nothing() {
    let [pressed, refused, _] = presses_agree(&pack_of_many(), 4, 8, edit_many);
    assert!(pressed > 4, "{pressed} pressed, {refused} refused");
}

#[test]
fn what_did_not_change_is_not_made_again() {
    let home = tempfile::tempdir().expect("a folder");
    let output = home.path().join("output");
    let cache = Cache::at(&home.path().join("store"));
    let mut files = small_pack();
    let written = |path: &str| {
        let kept = fs::metadata(output.join(path)).expect("a page");
        kept.modified().expect("a time")
    };
    let round = |files: &Files, to_do: bool| {
        let worked = press_again(files, &proof(files), &cache, &output);
        assert_eq!(worked, to_do);
        let page = |n: usize| written(&format!("site/lessons/lesson-0000{n}.html"));
        (page(0), page(1))
    };
    let first = round(&files, true);
    assert_eq!(first, round(&files, false), "nothing changed");
    fs::write(output.join("site/mine.txt"), "keep").expect("writable");
    let last = cache.last().expect("a press before");
    let seen = last.again(&output, asked(&sources(&files), &"a press of this test"));
    assert_eq!(seen, None, "a file of somebody else's is seen");
    fs::remove_file(output.join("site/mine.txt")).expect("ours");
    edit(&mut files, "lessons/lesson-00001.md", |text| {
        format!("{text}\nOne more sentence.\n")
    });
    let course = written("site/courses/course-0000.html");
    let third = round(&files, true);
    assert_eq!(course, written("site/courses/course-0000.html"));
    assert_eq!(first.0, third.0, "the other lesson's page is the same file");
    assert_ne!(first.1, third.1, "the edited lesson's page is new");
    // The rest of the spare goes, and with it links of the output's files.
    fs::remove_file(
        output
            .with_file_name(".output-spare")
            .join("site/index.html"),
    )
    .expect("ours");
    assert_eq!(third, round(&files, true), "a page of the spare deleted");
    assert_eq!(third, round(&files, false), "nothing changed after it");
}

/// Bytes of a page of an output changed in place, with the size and the time that it had.
fn change_behind_its_time(page: &Path) {
    let before = fs::metadata(page).expect("a page").modified();
    let mut text = fs::read(page).expect("readable");
    text[100] ^= 0x20;
    let file = fs::File::options().write(true).open(page);
    let mut file = file.expect("writable");
    file.write_all(&text).expect("writable");
    file.set_modified(before.expect("a time"))
        .expect("settable");
}

#[test]
fn an_output_that_somebody_changed_comes_right() {
    let home = tempfile::tempdir().expect("a folder");
    let output = home.path().join("output");
    let cache = Cache::at(&home.path().join("store"));
    let page = output.join("site/lessons/lesson-00000.html");
    let list = output.join(MANIFEST);
    let first = small_pack();
    let mut second = first.clone();
    edit(&mut second, ZERO, |text| {
        text.replace("Look along", "Look ALONG")
    });
    let round = |files: &Files, done: &str| {
        let proof = proof(files);
        press_again(files, &proof, &cache, &output);
        let want = from_nothing(&proof).expect("sound");
        assert_same(&want, &on_disk(&output), done);
        fs::read(&list).expect("a list")
    };
    let list_of_first = round(&first, "the first press");

    change_behind_its_time(&page);
    round(&first, "a page changed behind its time");
    change_behind_its_time(&page);
    round(&second, "a page changed behind its time, and its lesson");
    round(&first, "the lesson as it was");
    change_behind_its_time(&output.join("site/lessons/lesson-00001.html"));
    round(
        &second,
        "a page changed behind its time, and another lesson",
    );

    // Its list says that the pages are those of the first press.
    fs::write(&list, &list_of_first).expect("writable");
    let list_again = round(&first, "the list of another press put back");
    assert!(list_again == list_of_first);

    let mut other = list_of_first.clone();
    other.push(b'\n');
    fs::write(&list, &other).expect("writable");
    let list_again = round(&first, "the list written otherwise");
    assert!(list_again == list_of_first);
}

/// A change of a pack, and what to say of it.
type Step = (&'static str, fn(&mut Files));

/// Changes on which what was read of a lesson before hangs, each on top of those before it.
const STEPS: [Step; 16] = [
    ("nothing", |_| {}),
    ("text of a lesson", |files| {
        edit(files, ONE, |t| t + "\nMore text.\n");
    }),
    ("a lesson that cites and shows another's rig", |files| {
        edit(files, ZERO, |t| {
            t + "\n```figure near-00001\n```\n\nIt is `rig:near-00001/second/pull`.\n"
        });
    }),
    ("figures of the rig that is shown elsewhere", |files| {
        edit(files, ONE, |t| {
            t.replacen("show = [\"pulls\"]", "show = [\"polygon\"]", 1)
        });
    }),
    ("a line that is cited elsewhere has another name", |files| {
        edit(files, ONE, |t| {
            t.replacen("[line.second]", "[line.other]", 1)
                .replacen("second/pull < ", "other/pull < ", 1)
                .replace("rig:near-00001/second/", "rig:near-00001/other/")
        });
    }),
    ("the name is cited", |files| {
        edit(files, ZERO, |t| {
            t.replace("rig:near-00001/second/pull", "rig:near-00001/other/pull")
        });
    }),
    ("a rig by another name", |files| {
        edit(files, ONE, |t| t.replace("near-00001", "nigh-00001"));
    }),
    ("a rig by a name that stands in the other lesson", |files| {
        edit(files, ONE, |t| t.replace("nigh-00001", "near-00000"));
    }),
    ("the rig's name as it was", |files| {
        edit(files, ONE, |t| t.replace("near-00000", "near-00001"));
    }),
    ("a rig by a name that stands before it", |files| {
        edit(files, ZERO, |t| t.clone() + &other_rig(&t));
    }),
    ("no rig by that name", |files| {
        edit(files, ZERO, |t| t.replace(&other_rig(&t), ""));
    }),
    ("a word that is none of ours, said again", |files| {
        edit(files, ONE, |t| t + "\n```stepz\n```\n");
    }),
    ("a limit of kit", |files| {
        edit(files, "kit/second-line.toml", |t| {
            t.replace("working_limit = \"2.4 kN\"", "working_limit = \"2.3 kN\"")
        });
    }),
    ("an outcome that no course has", |files| {
        edit(files, "courses/course-0000.toml", |t| t.replace("O2", "P2"));
    }),
    ("lessons that need one another", |files| {
        for (own, other) in [(ZERO, "lesson-00001"), (ONE, "lesson-00000")] {
            edit(files, own, |t| {
                let needs = format!("needs = [\"{other}\"]\nminutes = ");
                t.replacen("minutes = ", &needs, 1)
            });
        }
    }),
    ("a file before all others", |files| {
        files.insert("courses/a.toml".into(), b"title = \"A\"\n".to_vec());
    }),
];

/// The block of a lesson's first rig, by the name of the next lesson's and with a line of another name.
fn other_rig(lesson: &str) -> String {
    let begin = lesson.find("```rig near-00000").expect("a rig");
    let end = lesson[begin..].find("\n```\n").expect("its end");
    let rig = &lesson[begin..begin + end];
    let rig = rig.replace("near-00000", "near-00001");
    let rig = rig.replace("[line.second]", "[line.third]");
    format!(
        "\n{}\n```\n",
        rig.replace("second/pull < ", "third/pull < ")
    )
}

const ZERO: &str = "lessons/lesson-00000.md";
const ONE: &str = "lessons/lesson-00001.md";

/// What a reading came to: the pack with every place, and what is wrong with it.
fn came_to(reading: &ropeleaf::pack::Reading) -> (String, &[ropeleaf::finding::Finding]) {
    (format!("{:?}", reading.pack), &reading.findings)
}

#[test]
fn a_pack_read_again_is_the_pack_read_from_nothing() {
    let store = Store::in_memory();
    let mut files = small_pack();
    let mut states = Vec::new();
    for (done, step) in STEPS {
        step(&mut files);
        states.push((done, files.clone()));
    }
    let mut found = std::collections::BTreeSet::new();
    // Forth and back: what was kept of one state is met by both its neighbours.
    let back = states.iter().rev();
    for (done, files) in states.iter().chain(back) {
        let want = read(sources(files), Scope::Pack);
        for round in ["first", "second"] {
            let got = read_again(sources(files), Scope::Pack, &store);
            assert!(came_to(&want) == came_to(&got), "{done}, {round} reading");
            store.settle();
        }
        found.extend(want.findings.iter().map(|finding| finding.code));
    }
    for code in [
        "unknown-name",
        "duplicate-name",
        "unknown-block",
        "need-cycle",
    ] {
        assert!(found.contains(code), "no step brought {code}: {found:?}");
    }
}

#[test]
fn a_press_adds_to_the_store_only_what_was_edited() {
    let home = tempfile::tempdir().expect("a folder");
    let (output, store) = (home.path().join("output"), home.path().join("store"));
    let cache = Cache::at(&store);
    let mut files = pack_of_many();
    let mut kept = || {
        press_again(&files, &proof(&files), &cache, &output);
        edit(&mut files, ONE, |t| t + "\nOne more sentence.\n");
        fs::metadata(store.join("kept")).expect("a store").len()
    };
    let (all, more) = (kept(), kept());
    // What all 60 lessons take, and what one of them and the pages that name it take.
    assert!(more - all < all / 20, "{} added to {all}", more - all);
}

/// Whatever Markdown has, in one lesson.
const ALL_OF_MARKDOWN: &str = "```lesson\ntitle = \"All\"\ncode = \"A-1\"\n```\n\nBefore it.\n\n## A *head* {#own .sheet}\n\n\
    One\nline, two  \nlines; `code`, **strong _both_**, \\*, &amp;, <b>tags</b>, <https://example.org>, <who@example.org>,\n\
    [a](all.md \"title\"), [b][ref], [ref][], [ref], ![p](https://example.org/p.png \"title\")[^note].\n\n\
    > Quoted.\n>\n> - a\n> - b\n\n7. seven\n8. eight\n   - [ ] open\n   - [x] done\n\n***\n\n\
    | a | b | c | d |\n| :-- | :-: | --: | --- |\n| 1 | 2 | 3 | 4 |\n\n    typed\n\n```text\nfenced\n```\n\n\
    <div>\nmarkup\n</div>\n\n### Below {.x key=value}\n\n[ref]: https://example.org\n[^note]: A note.\n";

#[test]
fn what_is_kept_of_a_lesson_comes_back_as_it_was() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("content");
    let demo = ropeleaf::disk::read_pack(&demo).expect("the demo pack");
    let all = SourceFile {
        path: "all.md".to_owned(),
        bytes: ALL_OF_MARKDOWN.into(),
    };
    let packs = [
        read(demo, Scope::Pack),
        read(Sources::new(vec![all]), Scope::OneLesson),
    ];
    for reading in packs {
        assert!(
            !reading
                .findings
                .iter()
                .any(|f| f.severity == Severity::Error)
        );
        for lesson in &reading.pack.lessons {
            let kept = postcard::to_allocvec(lesson).expect("kept");
            let back: Lesson = postcard::from_bytes(&kept).expect("read back");
            assert_eq!(*lesson, back);
            for rig in lesson.rigs() {
                let rig = reading.pack.rig(rig);
                let kept = postcard::to_allocvec(rig).expect("kept");
                let back: Rig = postcard::from_bytes(&kept).expect("read back");
                assert_eq!(*rig, back);
            }
        }
    }
}
