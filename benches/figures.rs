//! How long drawing takes, one core. Target: every figure of one rig in 5 ms.
//!
//! Statics is not part of it: the rig is solved, with its zone and losses, before the clock starts.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use ropeleaf::figure::{self, Detail, Shelf, Style};
use ropeleaf::quantity::Units;
use ropeleaf::rig::{FigureKind, Rig, RigBuilder};
use ropeleaf::statics::{Ask, Solved, solve};

/// A doubled line to the stem and a single one to a limb, with the whole tree.
fn two_limbs() -> Rig {
    RigBuilder::new("two-limbs")
        .mass_kg(84.0)
        .climber([2.9, 5.0])
        .point("top", [0.36, 9.2])
        .efficiency(0.9)
        .on("stem")
        .point("side", [4.7, 9.75])
        .on("upper-limb")
        .line("main", &["bridge", "top", "bridge"])
        .limit_n(1500.0)
        .adjust_m(1.0, 16.0)
        .line("second", &["centre", "side"])
        .limit_n(1500.0)
        .adjust_m(0.8, 8.0)
        .stem("stem", [0.0, 0.0], [0.1, 11.2], (0.64, 0.32))
        .limb("upper-limb", [0.1, 9.7], [6.6, 10.6], (0.26, 0.11))
        .limb("work-limb", [0.05, 1.6], [6.2, 4.1], (0.23, 0.1))
        .ground_m(0.0)
        .build()
        .expect("a rig of this bench is sound")
}

const STYLE: Style<'static> = Style {
    units: Units::Metric,
    width_mm: 160.0,
    detail: Detail::Full,
    shelf: Shelf::EMPTY,
    right: false,
};

fn draw(rig: &Rig, solved: &Solved, kind: FigureKind) -> usize {
    figure::draw(rig, solved, kind, STYLE).map_or(0, |drawing| drawing.svg.len())
}

fn figures(c: &mut Criterion) {
    let rig = two_limbs();
    let solved = solve(&rig, Ask::ALL).expect("it has an answer");
    let mut group = c.benchmark_group("figure");
    for kind in FigureKind::ALL {
        group.bench_function(kind.word(), |b| {
            b.iter(|| draw(black_box(&rig), black_box(&solved), kind));
        });
    }
    group.bench_function("full-set", |b| {
        b.iter(|| {
            let all = FigureKind::ALL.into_iter();
            all.map(|kind| draw(black_box(&rig), black_box(&solved), kind))
                .sum::<usize>()
        });
    });
    group.finish();
}

criterion_group!(benches, figures);
criterion_main!(benches);
