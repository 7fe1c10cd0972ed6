//! Time of a zone. The target of the design: a zone of two lines with 20,000 cells in 10 ms on one
//! core.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use ropeleaf::rig::{Over, Rig, RigBuilder};
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
    let cells = |rig: &Rig| {
        let zone = solve(rig, Ask::ZONE)
            .expect("an answer")
            .zone
            .expect("asked for");
        zone.field.held.len()
    };
    for (name, rig) in [
        ("two lines", two_lines(2.6)),
        ("two lines, large", two_lines(6.0)),
        ("three lines", three_lines()),
    ] {
        let name = format!("zone, {name}, {} cells", cells(&rig));
        c.bench_function(&name, |b| b.iter(|| solve(black_box(&rig), Ask::ZONE)));
    }
}

criterion_group!(benches, zones);
criterion_main!(benches);
