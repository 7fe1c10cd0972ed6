//! Bending of a limb under a load, beside published strengths of green wood. For teaching why to
//! anchor near the union; never a go or no-go.
//!
//! ```text
//! Rig + Solved ─limb_bending→ stress at the weakest section of each loaded limb
//! species ─green_strength→ modulus of rupture ─→ share
//! ```
//!
//! A limb is a cantilever of solid round section from its `from` end. Defects, decay, the union,
//! the limb's own weight, wind and shock are left out, and they govern in practice. The strengths
//! are averages of small clear green specimens; single pieces scatter by about 16 %
//! (from memory).

use super::Solved;
use crate::quantity::N_PER_LBF;
use crate::rig::{PieceKind, PointId, Rig};

/// Bending stress in the outermost fibre of a round cantilever, pascals: `σ = 32·F·a/(π·d³)`.
///
/// `force_n` F across the limb, `arm_m` a from the load to the section, `diameter_m` d there.
pub fn bending_stress_pa(force_n: f64, arm_m: f64, diameter_m: f64) -> f64 {
    32.0 * force_n * arm_m / (std::f64::consts::PI * diameter_m * diameter_m * diameter_m)
}

/// Pascals in a pound-force a square inch.
const PA_PER_PSI: f64 = N_PER_LBF / (0.025_4 * 0.025_4);

/// Where a strength was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StrengthSource {
    /// *Wood Handbook*, USDA Forest Products Laboratory, FPL-GTR-190 (2010), Table 5-3a; read.
    HandbookMetric,
    /// Clear-wood green values of a table after ASTM D2555; read.
    ClearWood,
    /// *Wood Handbook*, Tables 5-3a and 5-3b; from memory, to be checked before it is quoted.
    HandbookFromMemory,
}

impl StrengthSource {
    /// Words for a caption.
    pub const fn words(self) -> &'static str {
        match self {
            Self::HandbookMetric => "USDA Wood Handbook (2010), Table 5-3a",
            Self::ClearWood => "clear-wood green values after ASTM D2555",
            Self::HandbookFromMemory => {
                "after the USDA Wood Handbook, Table 5-3 (from memory: check the handbook)"
            }
        }
    }
}

/// Modulus of rupture of small clear green specimens of a species, a mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GreenStrength {
    /// Common name, in lower case.
    pub species: &'static str,
    /// Modulus of rupture, pascals.
    pub rupture_pa: f64,
    /// Where it was found.
    pub source: StrengthSource,
}

const fn kpa(species: &'static str, kpa: f64) -> GreenStrength {
    GreenStrength {
        species,
        rupture_pa: kpa * 1000.0,
        source: StrengthSource::HandbookMetric,
    }
}

const fn psi(species: &'static str, psi: f64) -> GreenStrength {
    GreenStrength {
        species,
        rupture_pa: psi * PA_PER_PSI,
        source: StrengthSource::ClearWood,
    }
}

const fn recalled(species: &'static str, kpa: f64) -> GreenStrength {
    GreenStrength {
        species,
        rupture_pa: kpa * 1000.0,
        source: StrengthSource::HandbookFromMemory,
    }
}

/// Published strengths, by source.
pub const GREEN_STRENGTHS: [GreenStrength; 33] = [
    kpa("ponderosa pine", 35_000.0),
    kpa("red pine", 40_000.0),
    kpa("norway pine", 40_000.0), // another name of the red pine
    kpa("shortleaf pine", 51_000.0),
    kpa("slash pine", 60_000.0),
    kpa("pond pine", 51_000.0),
    kpa("sand pine", 52_000.0),
    kpa("spruce pine", 41_000.0),
    kpa("sugar pine", 34_000.0),
    kpa("virginia pine", 50_000.0),
    kpa("western white pine", 32_000.0),
    kpa("old-growth redwood", 52_000.0),
    kpa("young-growth redwood", 41_000.0),
    psi("white fir", 5_854.0),
    psi("western hemlock", 6_637.0),
    psi("lodgepole pine", 5_490.0),
    psi("eastern hemlock", 6_420.0),
    psi("black cottonwood", 4_890.0),
    recalled("white oak", 57_000.0),
    recalled("northern red oak", 57_000.0),
    recalled("white ash", 66_000.0),
    recalled("american beech", 59_000.0),
    recalled("sugar maple", 65_000.0),
    recalled("red maple", 53_000.0),
    recalled("silver maple", 40_000.0),
    recalled("yellow birch", 57_000.0),
    recalled("douglas-fir", 53_000.0),
    recalled("sitka spruce", 39_000.0),
    recalled("eastern white pine", 34_000.0),
    recalled("loblolly pine", 50_000.0),
    recalled("yellow-poplar", 41_000.0),
    recalled("quaking aspen", 35_000.0),
    recalled("eastern cottonwood", 37_000.0),
];

/// The published strength of a species by its common name, whatever its case; `None` where the
/// table has none.
pub fn green_strength(species: &str) -> Option<GreenStrength> {
    let wanted = species.trim().to_lowercase();
    GREEN_STRENGTHS.into_iter().find(|s| s.species == wanted)
}

/// Bending of a limb by the load on one point.
#[derive(Debug, Clone, PartialEq)]
pub struct LimbBending {
    /// The point that loads it.
    pub point: PointId,
    /// Name of the limb.
    pub limb: String,
    /// Part of the load across the limb, newtons.
    pub across_n: f64,
    /// From the union (the limb's `from` end) to the load along the limb, metres.
    pub arm_m: f64,
    /// From the union to the section of the greatest stress, metres: 0 unless the limb tapers fast.
    pub weakest_m: f64,
    /// Stress there, pascals.
    pub stress_pa: f64,
    /// Stress over the green modulus of rupture of the tree's species; `None` where that is not
    /// published here.
    pub share: Option<f64>,
}

/// The bending of every limb that names a loaded point as its own (`on`), in the order of points.
/// Empty where the rig does not hold.
pub fn limb_bending(rig: &Rig, solved: &Solved) -> Vec<LimbBending> {
    let strength = rig.tree.species.as_deref().and_then(green_strength);
    let bent = rig.point_ids().filter_map(|id| {
        let name = rig.point(id).on.as_deref()?;
        let pieces = &mut rig.tree.pieces.iter();
        let limb = pieces.find(|p| p.name == name && p.kind == PieceKind::Limb)?;
        let (answer, axis) = (&solved.points[id.0], limb.to - limb.from);
        let unit = axis.try_normalize()?;
        let load = answer.load_n?;
        let across_n = (load - unit * load.dot(unit)).length();
        let arm_m = (answer.at - limb.from).dot(unit).clamp(0.0, axis.length());
        // σ(s) = 32·F·(a − s)/(π·d(s)³) with d(s) = d₀ + t·s is greatest where d + 3·(a − s)·t = 0.
        let (thick, thin) = limb.diameter_m;
        let taper = (thin - thick) / axis.length();
        let weakest_m = if taper < 0.0 {
            ((thick + 3.0 * arm_m * taper) / (2.0 * taper)).clamp(0.0, arm_m)
        } else {
            0.0
        };
        let diameter_m = thick + taper * weakest_m;
        let stress_pa = bending_stress_pa(across_n, arm_m - weakest_m, diameter_m);
        Some(LimbBending {
            point: id,
            limb: name.to_owned(),
            across_n,
            arm_m,
            weakest_m,
            stress_pa,
            share: strength.map(|s| stress_pa / s.rupture_pa),
        })
    });
    bent.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rig::RigBuilder;
    use crate::statics::{Ask, solve};

    /// The weakest section of a tapering limb against a search along it.
    #[test]
    fn the_weakest_section_is_the_one_a_search_finds() {
        for thin in [0.02, 0.05, 0.12, 0.24] {
            let rig = RigBuilder::new("limb")
                .mass_kg(80.0)
                .climber([3.0, 2.0])
                .limb("limb", [0.0, 7.0], [5.0, 7.0], (0.24, thin))
                .point("top", [3.0, 7.0])
                .on("limb")
                .line("main", &["bridge", "top"])
                .build()
                .unwrap();
            let solved = solve(&rig, Ask::PULLS).unwrap();
            let bent = limb_bending(&rig, &solved);
            let stress = |s: f64| {
                let d = 0.24 + (thin - 0.24) * s / 5.0;
                bending_stress_pa(solved.weight_n, 3.0 - s, d)
            };
            let searched = (0..=3000).map(|k| stress(f64::from(k) / 1000.0));
            let most = searched.fold(0.0, f64::max);
            assert!((bent[0].stress_pa / most - 1.0).abs() < 1e-6, "{bent:?}");
            assert!((bent[0].arm_m - 3.0).abs() < 1e-12);
        }
    }

    #[test]
    fn species_are_found_whatever_their_case() {
        assert_eq!(green_strength("White Oak").unwrap().rupture_pa, 57e6);
        assert_eq!(green_strength("plastic"), None);
    }
}
