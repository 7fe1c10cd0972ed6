//! The demo pack uses the whole format: every block, every key, every word that a key may have.
//!
//! The lists below are the format; that they are whole is checked against the reader, which names
//! the keys of a table for each unknown one.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::sync::Arc;

use ropeleaf::Zones;
use ropeleaf::finding::{SourceFile, Sources};
use ropeleaf::kit::KitKind;
use ropeleaf::pack::{self, RigId, Scope};
use ropeleaf::rig::FigureKind;
use ropeleaf::statics::{self, Ask};
use toml::{Table, Value};

/// Each table of the format by its path, and its keys. `NAME` stands for any name.
const FORMAT: &[(&str, &str)] = &[
    (
        "pack.toml",
        "title organisation language units paper revision dated caution summary prepared_by approved_by change",
    ),
    ("pack.toml change", "revision dated what"),
    ("course", "title code summary lessons hours outcome day"),
    ("course outcome", "key text"),
    (
        "course day",
        "title begins ends group per_instructor instructors aims site weather rescue bring part",
    ),
    ("course day part", "lesson pause task minutes"),
    ("glossary", "term"),
    ("glossary term", "term means"),
    (
        "kit",
        "title kind standards working_limit strength rated_mass diameter length modulus stretch material \
        hold_only anchor_device connector efficiency friction tested life record examination note",
    ),
    ("kit connector", "major minor gate_open gate"),
    ("kit tested", "rope hitch"),
    ("kit life", "from_first_use from_making examine_every"),
    (
        "kit record",
        "serial model maker contact made bought first_used user examined",
    ),
    ("kit examination", "dated reason found by next"),
    ("rules NAME", "spread severity source"),
    (
        "lesson",
        "title code summary minutes level needs outcomes kit two_lines references",
    ),
    ("lesson kit", "item count"),
    (
        "rig",
        "title show expect wrong right climber feet point line tree zone",
    ),
    ("rig climber", "mass at com facing"),
    ("rig feet", "at on normal friction"),
    (
        "rig point NAME",
        "at hangs on over efficiency friction turns grips kit loop closed_by gate",
    ),
    (
        "rig line NAME",
        "run kit hitch adjust limit length cord connectors stopper slides slack retrieve",
    ),
    ("rig tree", "stems limbs ground species"),
    ("rig tree stems", "name from to diameter"),
    ("rig zone", "spread work_reach"),
    ("figure", "show caption"),
    ("steps", "step"),
    ("steps step", "do why check critical"),
    ("faults", "fault"),
    ("faults fault", "seen leads_to put_right"),
    ("questions", "question"),
    (
        "questions question",
        "ask because choices right choose wrong true_false number tolerance order",
    ),
    ("marking", "criterion"),
    (
        "marking criterion",
        "text critical outcome measure tolerance",
    ),
];

fn home() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/content"))
}

fn files() -> Vec<(String, Vec<u8>)> {
    let walk = walkdir::WalkDir::new(home()).sort_by_file_name();
    let files = walk.into_iter().map(Result::unwrap);
    files
        .filter(|entry| entry.file_type().is_file())
        .map(|entry| {
            let path = entry.path().strip_prefix(home()).unwrap();
            let path = path.to_string_lossy().replace('\\', "/");
            (path, fs::read(entry.path()).unwrap())
        })
        .collect()
}

fn sources() -> Sources {
    let files = files().into_iter();
    Sources::new(
        files
            .map(|(path, bytes)| SourceFile { path, bytes })
            .collect(),
    )
}

/// What is used: keys by table, and the texts under each key.
#[derive(Default)]
struct Used {
    keys: BTreeMap<String, BTreeSet<String>>,
    texts: BTreeMap<String, BTreeSet<String>>,
    blocks: BTreeSet<String>,
    heads: BTreeSet<String>,
}

impl Used {
    fn table(&mut self, path: &str, table: &Table) {
        for (key, value) in table {
            let named = matches!(path, "rig point" | "rig line" | "rules");
            let key = if named { "NAME" } else { key };
            self.keys
                .entry(path.to_owned())
                .or_default()
                .insert(key.to_owned());
            let key = if key == "limbs" { "stems" } else { key };
            self.value(&format!("{path} {key}"), value);
        }
    }

    fn value(&mut self, path: &str, value: &Value) {
        match value {
            Value::Table(table) => self.table(path, table),
            Value::Array(list) => list.iter().for_each(|item| self.value(path, item)),
            Value::String(text) => {
                self.texts
                    .entry(path.to_owned())
                    .or_default()
                    .insert(text.clone());
            }
            _ => {}
        }
    }

    fn lesson(&mut self, text: &str) {
        let mut block: Option<(String, String)> = None;
        for line in text.lines() {
            if let Some((word, body)) = &mut block {
                if line == "```" {
                    let table: Table = body.parse().unwrap();
                    let word = word.clone();
                    self.table(&word, &table);
                    block = None;
                } else {
                    body.push_str(line);
                    body.push('\n');
                }
            } else if let Some(info) = line.strip_prefix("```") {
                let word = info.split(' ').next().unwrap().to_owned();
                self.blocks.insert(word.clone());
                block = Some((word, String::new()));
            } else if line.starts_with('#') && line.ends_with('}') {
                let mark = line.rsplit('{').next().unwrap();
                self.heads.insert(mark.trim_end_matches('}').to_owned());
            }
        }
    }
}

fn used() -> Used {
    let mut used = Used::default();
    for (path, bytes) in files() {
        let text = || String::from_utf8(bytes.clone()).unwrap();
        let table = || text().parse::<Table>().unwrap();
        match path.split('/').next().unwrap() {
            "pack.toml" => used.table("pack.toml", &table()),
            "courses" => used.table("course", &table()),
            "kit" => used.table("kit", &table()),
            "rules.toml" => used.table("rules", &table()),
            "glossary.toml" => used.table("glossary", &table()),
            "lessons" => used.lesson(&text()),
            _ => {}
        }
    }
    used
}

#[test]
fn every_block_and_key_is_used() {
    let used = used();
    let mut missing = Vec::new();
    for (path, keys) in FORMAT {
        let own = used.keys.get(*path);
        for key in keys.split_whitespace() {
            if !own.is_some_and(|own| own.contains(key)) {
                missing.push(format!("{path}: {key}"));
            }
        }
    }
    assert_eq!(missing, [""; 0], "keys that the demo pack does not use");
    for word in [
        "lesson",
        "rig",
        "figure",
        "steps",
        "faults",
        "questions",
        "marking",
    ] {
        assert!(used.blocks.contains(word), "no {word} block");
    }
    assert!(used.heads.contains(".sheet"), "no section goes on a sheet");
}

#[test]
fn every_word_of_a_key_is_used() {
    let used = used();
    let has = |path: &str, word: &str| {
        let own = used.texts.get(path);
        assert!(
            own.is_some_and(|own| own.contains(word)),
            "{path} = {word:?} is not used"
        );
    };
    for kind in FigureKind::ALL {
        let shown = ["rig show", "figure show"].iter().any(|path| {
            used.texts
                .get(*path)
                .is_some_and(|own| own.contains(kind.word()))
        });
        assert!(shown, "the figure {} is not shown", kind.word());
    }
    for kind in KitKind::ALL {
        has("kit kind", kind.word());
    }
    for over in ["limb", "stem", "ring", "pulley"] {
        has("rig point NAME over", over);
    }
    for end in [
        "bridge",
        "centre",
        "side-left",
        "side-right",
        "front-left",
        "front-right",
    ] {
        has("rig line NAME run", end);
    }
    for side in ["left", "right"] {
        has("rig climber facing", side);
    }
    for face in ["to-rope", "away"] {
        has("rig point NAME gate", face);
    }
    let reading = pack::read(sources(), Scope::Pack);
    assert!(
        !reading.pack.pictures.is_empty(),
        "no picture of the author's own"
    );
    let space = |spatial: bool| {
        let mut rigs = reading.pack.rigs.iter();
        rigs.any(|rig| (rig.space == ropeleaf::rig::Space::Spatial) == spatial)
    };
    assert!(space(true) && space(false), "planar and spatial rigs");
    assert!(
        reading.pack.rigs.iter().any(|rig| rig.is_hung()),
        "a hung rig"
    );
}

/// For each table one unknown key: the reader lists the keys that it knows there.
#[test]
fn the_lists_are_the_readers_own() {
    let bad = "nosuchkeyatall = 1\n";
    let lesson = format!(
        "```lesson\n{bad}kit = [{{ {} }}]\n```\n\n```rig r\n{bad}[climber]\n{bad}[feet]\n{bad}[point.p]\n{bad}\
         [line.l]\n{bad}[tree]\n{bad}stems = [{{ {} }}]\n[zone]\n{bad}```\n\n```steps\n{bad}[[step]]\n{bad}```\n\n\
         ```faults\n{bad}[[fault]]\n{bad}```\n\n```questions\n{bad}[[question]]\n{bad}```\n\n\
         ```marking\n{bad}[[criterion]]\n{bad}```\n\n```figure r\n{bad}```\n",
        bad.trim(),
        bad.trim(),
    );
    let texts = [
        ("lessons/a.md", lesson),
        ("pack.toml", format!("{bad}[[change]]\n{bad}")),
        (
            "kit/k.toml",
            format!(
                "{bad}[connector]\n{bad}[[tested]]\n{bad}[life]\n{bad}[record]\n{bad}[[examination]]\n{bad}"
            ),
        ),
        (
            "courses/c.toml",
            format!("{bad}[[outcome]]\n{bad}[[day]]\n{bad}[[day.part]]\n{bad}"),
        ),
        ("glossary.toml", format!("{bad}[[term]]\n{bad}")),
        ("rules.toml", format!("[wide-spread]\n{bad}")),
    ];
    let sources = texts.into_iter().map(|(path, text)| SourceFile {
        path: path.to_owned(),
        bytes: text.into_bytes(),
    });
    let reading = pack::read(Sources::new(sources.collect()), Scope::Pack);
    let unknown = reading.findings.iter().filter(|f| f.code == "unknown-key");
    // The keys that each help lists, and how many more there are.
    let mut read: Vec<(Vec<String>, usize)> = unknown
        .filter_map(|f| f.help.as_ref())
        .map(|help| {
            let keys = help.split('`').skip(1).step_by(2).map(str::to_owned);
            let keys: Vec<String> = keys.collect();
            let more = help
                .rsplit(", ")
                .next()
                .and_then(|last| last.strip_suffix(" more"));
            let more = more.map_or(0, |n| n.parse().unwrap());
            (keys, more)
        })
        .collect();
    assert_eq!(
        read.len(),
        FORMAT.len(),
        "a table without its unknown key: {read:#?}"
    );
    for (path, keys) in FORMAT {
        let keys: BTreeSet<&str> = keys.split_whitespace().collect();
        let place = read.iter().position(|(known, more)| {
            known.len() + more == keys.len() && known.iter().all(|key| keys.contains(&**key))
        });
        let place = place.unwrap_or_else(|| {
            panic!("{path}: the reader's keys are not {keys:?}; left are {read:#?}")
        });
        read.remove(place);
    }
}

/// Judging lets answers go, and most of an answer is solved again when a page asks for it.
#[test]
fn answers_after_judging_are_those_of_a_solve() {
    let proof = ropeleaf::proof(sources(), Scope::Pack, Zones::Asked);
    let pack = &proof.reading.pack;
    let mut lost = 0;
    for id in 0..pack.rigs.len() {
        let id = RigId(id);
        let mut again = proof.answer(id);
        if let Ok(solved) = &mut again {
            Arc::make_mut(solved).zone = None;
            lost += solved.loss.len();
        }
        let want = statics::solve(pack.rig(id), Ask::LOSSES).map(Arc::new);
        assert_eq!(again, want, "{}", pack.rig(id).name);
    }
    assert!(lost > 20, "{lost} losses");
}
