//! The made-up packs that speed is measured with: sound, without findings, the same for a seed.

use ropeleaf::Zones;
use ropeleaf::finding::{SourceFile, Sources};
use ropeleaf::pack::{RigId, Scope};

#[path = "../benches/packs/mod.rs"]
mod packs;

fn sources(seed: u64, lessons: usize) -> Sources {
    let files = packs::pack(seed, lessons);
    let files = files.into_iter().map(|(path, text)| SourceFile {
        path,
        bytes: text.into_bytes(),
    });
    Sources::new(files.collect())
}

#[test]
fn a_made_up_pack_proofs_without_findings() {
    let proof = ropeleaf::proof(sources(8, 6), Scope::Pack, Zones::Shown);
    let said: Vec<_> = proof.findings.iter().map(|f| &f.message).collect();
    assert!(said.is_empty(), "{said:#?}");
    assert_eq!(proof.reading.pack.lessons.len(), 6);
    assert_eq!(proof.reading.pack.rigs.len(), 12);
    for rig in 0..12 {
        let solved = proof.solved(RigId(rig));
        let zone = solved.zone.as_ref().expect("asked for");
        assert!(zone.area_m2 > 1.0);
    }
}

#[test]
fn a_seed_gives_the_same_pack_and_another_seed_another() {
    assert_eq!(packs::pack(1, 3), packs::pack(1, 3));
    assert_ne!(packs::pack(1, 3), packs::pack(2, 3));
}
