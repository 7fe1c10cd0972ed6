//! Time of a zone. The target of the design: a zone of two lines over 20,000 steps of its grid in
//! 10 ms on one core; that of a pack of 1,000 lessons pressed in 4 s: one of its zones in 1 ms.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use ropeleaf::rig::{Over, Rig, RigBuilder, ZoneAsk};
use ropeleaf::statics::{Ask, solve};

/// Two lines between anchors `width` metres apart.
fn two_lines(width: f64) -> Rig {
    RigBuilder::new("two")
        .mass_kg(86.0)
        .climber([0.5 * width, 0.5 * width])
        .ground_m(0.0)
        .point("top", [0.0, 1.1 * width])
        .over(Over::Pulley)
        .efficiency(0.85)
        .point("far", [width, 1.2 * width])
        .line("main", &["bridge", "top", "bridge"])
        .adjust_m(0.1, 2.2 * width)
        .limit_n(1500.0)
        .line("second", &["centre", "far"])
        .adjust_m(0.1, 1.1 * width)
        .limit_n(1000.0)
        .build()
        .expect("a rig")
}

/// Two lines below a limb with the limits that rigs of `packs` have.
fn below_a_limb() -> Rig {
    RigBuilder::new("below-a-limb")
        .mass_kg(86.0)
        .climber([4.6, 5.4])
        .stem("stem", [-2.2, 0.0], [-2.0, 11.5], (0.64, 0.32))
        .limb("limb", [-2.0, 9.4], [8.0, 10.4], (0.32, 0.14))
        .limb("near-limb", [-2.0, 9.4], [3.5, 9.95], (0.32, 0.2))
        .ground_m(0.0)
        .point("left", [2.5, 9.7])
        .over(Over::Pulley)
        .efficiency(0.92)
        .point("right", [6.6, 10.14])
        .line("main", &["bridge", "left", "bridge"])
        .adjust_m(1.0, 17.0)
        .limit_n(2400.0)
        .line("second", &["centre", "right"])
        .adjust_m(0.8, 8.0)
        .limit_n(2400.0)
        .zone(ZoneAsk {
            spread_rad: Some(110_f64.to_radians()),
            work_reach_m: None,
        })
        .build()
        .expect("a rig")
}

fn three_lines() -> Rig {
    RigBuilder::new("three")
        .mass_kg(84.0)
        .climber([1.5, 4.0])
        .point("a", [-1.5, 9.0])
        .point("b", [2.2, 10.5])
        .point("c", [4.5, 7.0])
        .line("one", &["bridge", "a"])
        .line("two", &["bridge", "b"])
        .limit_n(700.0)
        .line("three", &["centre", "c"])
        .limit_n(500.0)
        .build()
        .expect("a rig")
}

fn zones(c: &mut Criterion) {
    for (name, rig) in [
        ("two lines", two_lines(2.6)),
        ("two lines, large", two_lines(6.0)),
        ("two lines below a limb", below_a_limb()),
        ("three lines", three_lines()),
    ] {
        c.bench_function(&format!("zone, {name}"), |b| {
            b.iter(|| solve(black_box(&rig), Ask::ZONE));
        });
    }
}

criterion_group!(benches, zones);
criterion_main!(benches);
