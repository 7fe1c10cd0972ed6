//! How long the solver takes, one core. Targets: held solve ≤ 20 µs, ranges ≤ 100 µs, hung solve
//! ≤ 200 µs, a 20,000-cell zone of two lines ≤ 10 ms.
//!
//! A held solve with its ranges and loads is one call; the first group times rigs whose ranges are
//! single numbers, so that it is the solve, and the second rigs that need the linear programs.

#[path = "../tests/common/mod.rs"]
mod common;

use common::two_limbs;
use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use glam::DVec3;
use ropeleaf::rig::{Rig, RigBuilder};
use ropeleaf::statics::{Ask, HoldAnswer, Prepared, solve};

fn built(builder: RigBuilder) -> Rig {
    builder.build().expect("a rig of this bench is sound")
}

fn three_in_space() -> RigBuilder {
    RigBuilder::new("space")
        .climber([0.0, 0.0, 0.0])
        .point("a", [3.0, 0.5, 5.0])
        .point("b", [-2.0, 2.0, 6.0])
        .point("c", [-1.0, -3.0, 4.0])
        .line("one", &["bridge", "a"])
        .line("two", &["bridge", "b"])
        .line("three", &["centre", "c"])
}

fn base_tied_and_doubled() -> RigBuilder {
    RigBuilder::new("ranges")
        .climber([3.4, 3.2])
        .point("base", [0.1, 0.8])
        .point("top", [0.6, 11.2])
        .friction(0.2)
        .point("side", [5.6, 6.4])
        .efficiency(0.9)
        .point("third", [2.0, 9.0])
        .line("main", &["bridge", "top", "base"])
        .line("second", &["centre", "side", "centre"])
        .line("spare", &["bridge", "third"])
}

fn ring() -> RigBuilder {
    RigBuilder::new("ring")
        .point("top", [0.0, 10.0])
        .point("limb", [4.0, 9.0])
        .hanging("ring")
        .line("main", &["bridge", "ring", "top"])
        .lengths_m(&[8.4])
        .line("sling", &["ring", "limb"])
        .lengths_m(&[2.2])
}

fn grip_in_space() -> RigBuilder {
    RigBuilder::new("grip")
        .point("a", [0.0, -1.0, 9.0])
        .point("b", [3.5, 0.5, 8.5])
        .point("top", [1.0, 3.0, 10.0])
        .hanging("grip")
        .grips(&["across"])
        .line("across", &["a", "grip", "b"])
        .lengths_m(&[2.4, 2.2])
        .line("tether", &["bridge", "grip"])
        .lengths_m(&[1.0])
        .line("main", &["bridge", "top", "bridge"])
        .lengths_m(&[9.4])
}

fn solves(c: &mut Criterion) {
    for (name, rig) in [
        ("held solve: two lines, planar (20 us)", two_limbs()),
        ("held solve: three lines, spatial (20 us)", three_in_space()),
        (
            "ranges: five spans, friction (100 us)",
            base_tied_and_doubled(),
        ),
        ("hung solve: ring, planar (200 us)", ring()),
        ("hung solve: grip, spatial (200 us)", grip_in_space()),
    ] {
        let rig = built(rig);
        c.bench_function(name, |b| b.iter(|| solve(black_box(&rig), Ask::PULLS)));
    }
    let rig = built(two_limbs());
    c.bench_function("losses of two lines with their swings", |b| {
        b.iter(|| solve(black_box(&rig), Ask::LOSSES));
    });
}

/// 20,000 places of a grid: the hold and the pulls at each.
fn places(c: &mut Criterion) {
    let third = two_limbs()
        .point("third", [2.0, 9.0])
        .line("third", &["bridge", "third"]);
    for (name, rig) in [
        ("20,000 places, two lines (10 ms)", two_limbs()),
        ("20,000 places, three lines", third),
    ] {
        let mut prepared = Prepared::new(&built(rig));
        let mut answer = HoldAnswer::default();
        c.bench_function(name, |b| {
            b.iter(|| {
                let mut held = 0;
                for i in 0..200 {
                    for j in 0..100 {
                        let at = DVec3::new(0.025 * f64::from(i), 0.0, 0.1 * f64::from(j));
                        prepared.hold_at(black_box(at), &mut answer);
                        held += usize::from(answer.holds);
                    }
                }
                held
            });
        });
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(30);
    targets = solves, places
}
criterion_main!(benches);
