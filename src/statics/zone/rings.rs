//! The outline of what a mesh holds: rings of places, each with the reason why it ends there.

use glam::DVec2;

use super::mesh::{Mesh, Source};
use super::trace::{Linker, bend};
use crate::statics::NotHeld;

/// A closed ring, the first place not repeated, with the reason at each.
pub(super) struct Ring {
    pub at: Vec<DVec2>,
    pub why: Vec<NotHeld>,
}

impl Ring {
    /// The places, the first one repeated at the end.
    pub fn closed(&self) -> Vec<DVec2> {
        self.at.iter().chain(self.at.first()).copied().collect()
    }
}

/// The rings around what is held, that on the left; between two crossings of one reason no farther
/// than about `tolerance_m` from where it ends.
pub(super) fn rings<S: Source>(mesh: &mut Mesh<'_, S>, tolerance_m: f64) -> Vec<Ring> {
    let cuts = mesh.cuts();
    let joins = cuts.iter().map(|cut| (cut.from, cut.to));
    let paths = Linker::new(mesh.crossings().len()).link(joins);
    let mut values = vec![f64::NAN; mesh.source.values()];
    let mut found = Vec::new();
    for path in paths.into_iter().filter(|path| path.closed) {
        let crossings = path
            .joins
            .iter()
            .map(|join| mesh.crossings()[cuts[*join].from]);
        let crossings: Vec<_> = crossings.collect();
        let mut ring = Ring {
            at: Vec::new(),
            why: Vec::new(),
        };
        for (k, crossing) in crossings.iter().enumerate() {
            let next = &crossings[(k + 1) % crossings.len()];
            ring.at.push(crossing.at);
            if crossing.why == next.why && mesh.source.is_smooth() {
                let mut margin = |at: DVec2| mesh.source.ask(at, &mut values).margin;
                bend(
                    [crossing.at, next.at],
                    tolerance_m,
                    &mut margin,
                    &mut ring.at,
                );
            }
            ring.why.resize(ring.at.len(), crossing.why);
        }
        found.push(ring);
    }
    found
}

/// Area of a closed ring, the first place repeated, m²; negative for one that runs clockwise.
pub(super) fn area_m2(ring: &[DVec2]) -> f64 {
    let Some(first) = ring.first() else {
        return 0.0;
    };
    let pairs = ring.windows(2);
    let open: f64 = pairs.map(|p| (p[0] - *first).perp_dot(p[1] - *first)).sum();
    open / 2.0
}

/// Length of a path, metres.
pub(super) fn length_m(path: &[DVec2]) -> f64 {
    path.windows(2).map(|p| p[0].distance(p[1])).sum()
}
