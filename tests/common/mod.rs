//! What several test files and benchmarks share: a few rigs of the Aldermoor Arboretum, and how a
//! value is compared with a published one.

// Each test file is a crate of its own and uses its own part of this.
#![allow(dead_code)]

use ropeleaf::rig::{Over, RigBuilder};

/// Asserts that a value is within a tolerance of what the source prints.
pub fn near(source: &str, got: f64, want: f64, tol: f64) {
    assert!(
        (got - want).abs() <= tol,
        "{source}: got {got}, want {want} ± {tol}"
    );
}

/// A climber on a main line and a second line, one to each side.
pub fn two_limbs() -> RigBuilder {
    RigBuilder::new("oak-two-limbs")
        .mass_kg(84.0)
        .climber([2.2, 5.0])
        .point("top", [0.2, 10.5])
        .point("side", [4.9, 7.6])
        .line("main", &["bridge", "top"])
        .line("second", &["centre", "side"])
}

/// Three lines in one plane, more than equilibrium can tell apart.
pub fn three_lines() -> RigBuilder {
    RigBuilder::new("lime-three-lines")
        .mass_kg(84.0)
        .climber([1.5, 4.0])
        .point("a", [-1.5, 9.0])
        .point("b", [2.2, 10.5])
        .point("c", [4.5, 7.0])
        .line("one", &["bridge", "a"])
        .line("two", &["bridge", "b"])
        .line("three", &["centre", "c"])
}

/// A climber at the origin between two anchors.
pub fn between(left: [f64; 2], right: [f64; 2]) -> RigBuilder {
    RigBuilder::new("between")
        .climber([0.0, 0.0])
        .point("left", left)
        .point("right", right)
        .line("port", &["bridge", "left"])
        .line("starboard", &["bridge", "right"])
}

/// Two level lines that pull against each other under a main line straight above.
pub fn level() -> RigBuilder {
    between([-3.0, 0.0], [3.0, 0.0])
        .point("top", [0.0, 5.0])
        .line("main", &["bridge", "top"])
}

/// One line over two limbs and back: it holds by friction alone.
pub fn loop_over_two_limbs() -> RigBuilder {
    RigBuilder::new("beech-loop")
        .mass_kg(84.0)
        .climber([1.0, 3.5])
        .point("left", [-1.5, 8.0])
        .over(Over::Limb)
        .friction(0.3)
        .point("right", [2.5, 8.4])
        .over(Over::Limb)
        .friction(0.3)
        .line("loop", &["bridge", "left", "right", "bridge"])
}
