//! What a lesson's file is and names, by digest: enough to tell whether its pages are as they were.
//!
//! ```text
//! file, kit ─(store)→ Sketch ┐
//!            └ not there: typed lesson ─→ Sketch
//! mistakes, kinds, zones ────┴named→ digests of rigs and of what other lessons say of a lesson
//! ```

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::pack::{Lesson, Pack, RigId};
use crate::rig::FigureKind;
use crate::rules::Proof;
use crate::store::{Digest, Indexes, Inputs, Named, Store};

/// What the store keeps of a lesson.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Sketch {
    /// Its rigs, in order, each alone.
    rigs: Vec<Digest>,
    /// The lesson without its sections.
    head: Digest,
    /// Rigs that it names, its own among them.
    rig_names: Vec<String>,
    /// Lessons that it names.
    lesson_names: Vec<String>,
}

/// A lesson's sketch with its file, names as indexes again.
pub(super) struct Sketched {
    /// The file says everything that a lesson holds but what its names stand for.
    file: Digest,
    sketch: Sketch,
    rigs: Vec<usize>,
    lessons: Vec<usize>,
}

impl Sketched {
    /// Takes the lesson in with everything that it names; all of the kit is the caller's to take in.
    pub(super) fn put_into(&self, inputs: &mut Inputs, named: &Named) {
        inputs.digest(self.file);
        for rig in &self.rigs {
            inputs.digest(named.rigs[*rig]);
        }
        for lesson in &self.lessons {
            inputs.digest(named.lessons[*lesson]);
        }
    }
}

/// Where the names of a pack lead.
struct Names<'a> {
    rigs: BTreeMap<&'a str, usize>,
    lessons: BTreeMap<&'a str, usize>,
}

impl<'a> Names<'a> {
    fn of(pack: &'a Pack) -> Self {
        let rigs = pack.rigs.iter().map(|rig| rig.name.as_str());
        let lessons = pack.lessons.iter().map(|lesson| lesson.name.as_str());
        Self {
            rigs: rigs.zip(0..).collect(),
            lessons: lessons.zip(0..).collect(),
        }
    }

    /// `None` where a name leads nowhere.
    fn sketched(&self, file: Digest, sketch: Sketch) -> Option<Sketched> {
        let find = |names: &[String], among: &BTreeMap<&str, usize>| {
            let found = names.iter().map(|name| among.get(name.as_str()).copied());
            found.collect::<Option<Vec<_>>>()
        };
        Some(Sketched {
            rigs: find(&sketch.rig_names, &self.rigs)?,
            lessons: find(&sketch.lesson_names, &self.lessons)?,
            file,
            sketch,
        })
    }
}

/// Every lesson's sketch, and the digests that indexes of the pack stand for.
///
/// - `kinds`, `zones`: for each rig, which figures it has and whether its zone is worked out.
pub(super) fn of_pack(
    proof: &Proof,
    store: &Store,
    kinds: &[BTreeSet<FigureKind>],
    zones: &[bool],
) -> (Vec<Sketched>, Named) {
    let pack = &proof.reading.pack;
    let sources = &proof.reading.sources;
    let names = Names::of(pack);
    let lesson_names = pack.lessons.iter().map(|l| Digest::of(l.name.as_bytes()));
    let none = Named::default();
    let kit = pack.kit.par_iter();
    let plain = Named {
        lessons: lesson_names.collect(),
        kit: kit
            .map(|item| Inputs::of("kit").typed(item, &none).finish())
            .collect(),
        rigs: Vec::new(),
    };
    let mut with = Inputs::of("sketch");
    plain.kit.iter().for_each(|item| {
        with.digest(*item);
    });
    let with = with.finish();
    let sketched = pack.lessons.par_iter().map(|lesson| {
        let file = sources.digest(lesson.place.file);
        let key = Inputs::of("sketch of")
            .digest(with)
            .digest(file)
            .bytes(lesson.name.as_bytes())
            .finish();
        let known = store.sketch(key);
        let known = known.and_then(|sketch| names.sketched(file, sketch));
        known.unwrap_or_else(|| {
            let (sketch, named) = sketch(pack, lesson, &plain);
            store.keep_sketch(key, sketch.clone());
            Sketched {
                file,
                sketch,
                rigs: named.rigs.into_iter().collect(),
                lessons: named.lessons.into_iter().collect(),
            }
        })
    });
    let sketched: Vec<Sketched> = sketched.collect();
    let mut rigs = vec![Digest::of(b""); pack.rigs.len()];
    for (lesson, of) in pack.lessons.iter().zip(&sketched) {
        for (rig, digest) in lesson.rigs().zip(&of.sketch.rigs) {
            rigs[rig.0] = *digest;
        }
    }
    let alone: Vec<Digest> = (0..pack.rigs.len())
        .into_par_iter()
        .map(|i| {
            Inputs::of("rig")
                .digest(rigs[i])
                .typed(&(&kinds[i], zones[i], &proof.mistakes[i]), &plain)
                .finish()
        })
        .collect();
    // A mistake is shown beside the rig that does it right.
    let with_twin = alone.iter().enumerate().map(|(i, own)| {
        let mut inputs = Inputs::of("rig and twin");
        inputs.digest(*own);
        if let Some(twin) = pack.right_twin(RigId(i)) {
            inputs.digest(alone[twin.0]);
        }
        inputs.finish()
    });
    let named = Named {
        rigs: with_twin.collect(),
        lessons: sketched.iter().map(|of| of.sketch.head).collect(),
        kit: plain.kit,
    };
    (sketched, named)
}

/// Sketches a lesson from what was read of it, with what it names.
fn sketch(pack: &Pack, lesson: &Lesson, plain: &Named) -> (Sketch, Indexes) {
    let named = Indexes::of(lesson);
    let alone = |rig| Inputs::of("rig").typed(pack.rig(rig), plain).finish();
    let rig_names = named.rigs.iter().map(|i| pack.rigs[*i].name.clone());
    let lesson_names = named.lessons.iter().map(|i| pack.lessons[*i].name.clone());
    let sketch = Sketch {
        rigs: lesson.rigs().map(alone).collect(),
        head: head(lesson, plain),
        rig_names: rig_names.collect(),
        lesson_names: lesson_names.collect(),
    };
    (sketch, named)
}

/// The digest of a lesson without its sections, to which no link leads.
fn head(lesson: &Lesson, plain: &Named) -> Digest {
    let Lesson {
        name,
        title,
        code,
        summary,
        minutes,
        level,
        needs,
        outcomes,
        kit,
        two_lines,
        references,
        sections: _,
        place: _,
    } = lesson;
    Inputs::of("head")
        .typed(&(name, title, code, summary, minutes, level), plain)
        .typed(&(needs, outcomes, kit, two_lines, references), plain)
        .finish()
}
