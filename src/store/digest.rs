//! Digests of typed values: two values with the same digest give the same work.
//!
//! ```text
//! value ─Debug→ text ─places out, indexes to what they name→ SHA-256
//! ```
//!
//! Every type of a pack derives `Debug`, which prints each field, so that a field added later is in
//! the digest without anybody thinking of it; the same holds of the `Serialize` that large ones go
//! through ([`Inputs::fields`]). Places in the source are left out: a lesson is the
//! same when a line above it is added. An index of a rig, lesson or kit item stands for the digest
//! of what it names, so that a change there is seen here.

use std::collections::BTreeSet;
use std::fmt::Debug;

use serde::Serialize;
use sha2::{Digest as _, Sha256};

use crate::digest::Digest;
use crate::finding::Sources;

use super::fields::fields;

/// What the indexes inside a value stand for.
#[derive(Debug, Clone, Default)]
pub struct Named {
    /// For each rig of the pack.
    pub rigs: Vec<Digest>,
    /// For each lesson.
    pub lessons: Vec<Digest>,
    /// For each kit item.
    pub kit: Vec<Digest>,
}

/// What a value names by index.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Indexes {
    /// Rigs of the pack.
    pub rigs: BTreeSet<usize>,
    /// Lessons.
    pub lessons: BTreeSet<usize>,
    /// Kit items.
    pub kit: BTreeSet<usize>,
}

impl Indexes {
    /// Everything that a typed value names.
    pub fn of(value: &impl Serialize) -> Self {
        fields(value, &Named::default()).1
    }
}

/// Takes in everything that a piece of work depends on.
pub struct Inputs(Sha256);

impl Inputs {
    /// Begins with the kind of work; the program itself is always among the inputs.
    pub fn of(work: &str) -> Self {
        let mut inputs = Self(Sha256::new());
        inputs.bytes(env!("ROPELEAF_MADE_FROM").as_bytes());
        inputs.bytes(work.as_bytes());
        inputs
    }

    /// Bytes, apart from those before and after.
    pub fn bytes(&mut self, bytes: &[u8]) -> &mut Self {
        self.0.update((bytes.len() as u64).to_le_bytes());
        self.0.update(bytes);
        self
    }

    /// A number.
    pub fn count(&mut self, count: usize) -> &mut Self {
        self.0.update((count as u64).to_le_bytes());
        self
    }

    /// Another digest.
    pub fn digest(&mut self, digest: Digest) -> &mut Self {
        self.0.update(digest.0);
        self
    }

    /// A typed value.
    pub fn typed(&mut self, value: &impl Debug, named: &Named) -> &mut Self {
        self.bytes(&placeless(&format!("{value:?}"), named))
    }

    /// As [`Inputs::typed`], for large values of types that the store keeps.
    pub fn fields(&mut self, value: &impl Serialize, named: &Named) -> &mut Self {
        self.bytes(&fields(value, named).0)
    }

    /// The digest of everything taken in.
    pub fn finish(&self) -> Digest {
        Digest(self.0.clone().finalize().into())
    }
}

/// Of everything that a press depends on: the program, the call, each file of the pack.
pub fn asked(sources: &Sources, call: &impl Debug) -> Digest {
    let mut inputs = Inputs::of("press");
    inputs.typed(call, &Named::default());
    for (file, digest) in sources.with_digests() {
        inputs.bytes(file.path.as_bytes()).digest(digest);
    }
    inputs.finish()
}

/// The folders of files that a lesson does not depend on but by name, or as the one that it is.
const OTHER_FOLDERS: [&str; 4] = ["lessons/", "courses/", "pictures/", "own/"];

/// Of the files that every lesson is read and judged with: pack, rules, kit.
pub fn common(sources: &Sources) -> Digest {
    let mut common = Inputs::of("common");
    for (file, digest) in sources.with_digests() {
        if !OTHER_FOLDERS
            .iter()
            .any(|other| file.path.starts_with(other))
        {
            common.bytes(file.path.as_bytes()).digest(digest);
        }
    }
    common.finish()
}

/// The text of a value without places, indexes replaced. Texts inside the value are left alone.
fn placeless(text: &str, named: &Named) -> Vec<u8> {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut i = 0;
    while i < bytes.len() {
        let fresh = i == 0 || !(bytes[i - 1].is_ascii_alphanumeric() || bytes[i - 1] == b'_');
        let rest = &text.as_bytes()[i..];
        if rest[0] == b'"' {
            let end = end_of_text(rest);
            out.extend_from_slice(&rest[..end]);
            i += end;
        } else if rest.starts_with(b"'\"'") {
            out.extend_from_slice(&rest[..3]);
            i += 3;
        } else if fresh && rest.starts_with(b"Place {") {
            i += rest
                .iter()
                .position(|b| *b == b'}')
                .map_or(rest.len(), |end| end + 1);
        } else if let Some((list, from)) = fresh.then(|| index_of(rest, named)).flatten() {
            let digits = rest[from..].iter().take_while(|b| b.is_ascii_digit());
            let end = from + digits.count();
            let index: Option<usize> = std::str::from_utf8(&rest[from..end])
                .ok()
                .and_then(|digits| digits.parse().ok());
            match index.and_then(|index| list.get(index)) {
                Some(digest) => out.extend_from_slice(&digest.0),
                None => out.extend_from_slice(&rest[..end]),
            }
            i += end;
        } else {
            out.push(rest[0]);
            i += 1;
        }
    }
    out
}

/// What an index at the start of a text counts in, and where its digits begin.
fn index_of<'a>(rest: &[u8], named: &'a Named) -> Option<(&'a [Digest], usize)> {
    let lists: [(&[u8], &[Digest]); 3] = [
        (b"RigId(", &named.rigs),
        (b"LessonId(", &named.lessons),
        (b"KitId(", &named.kit),
    ];
    let found = lists.into_iter().find(|(word, _)| rest.starts_with(word));
    found.map(|(word, list)| (list, word.len()))
}

/// One past the closing quote of a text that begins with one.
fn end_of_text(rest: &[u8]) -> usize {
    let mut i = 1;
    while i < rest.len() {
        match rest[i] {
            b'\\' => i += 2,
            b'"' => return i + 1,
            _ => i += 1,
        }
    }
    rest.len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Place;
    use crate::pack::{KitId, KitUse, RigId};

    fn of(value: &impl Debug, named: &Named) -> Digest {
        Inputs::of("test").typed(value, named).finish()
    }

    fn place(start: usize) -> Place {
        Place {
            file: 3,
            start,
            end: start + 1,
        }
    }

    #[test]
    fn places_do_not_count_and_texts_that_look_like_them_do() {
        let named = Named::default();
        let at = |text: &str, start| (text.to_owned(), place(start), Some(place(start)));
        assert_eq!(of(&at("a", 1), &named), of(&at("a", 700), &named));
        assert_ne!(of(&at("a", 1), &named), of(&at("b", 1), &named));
        let sly = |n: usize| format!("\" Place {{ file: {n} }} RigId({n}) \\");
        assert_ne!(of(&sly(1), &named), of(&sly(2), &named));
        assert_ne!(of(&('"', 1), &named), of(&('"', 2), &named));
    }

    #[test]
    fn an_index_is_what_it_names() {
        let list = |texts: &[&str]| texts.iter().map(|t| Digest::of(t.as_bytes())).collect();
        let before = Named {
            rigs: list(&["x", "y"]),
            kit: list(&["k"]),
            ..Named::default()
        };
        let after = Named {
            rigs: list(&["new", "x", "y"]),
            kit: list(&["other"]),
            ..Named::default()
        };
        assert_eq!(of(&RigId(1), &before), of(&RigId(2), &after));
        assert_ne!(of(&RigId(1), &before), of(&RigId(1), &after));
        let kit = KitUse {
            item: KitId(0),
            count: 2,
        };
        assert_ne!(of(&kit, &before), of(&kit, &after));
    }
}
