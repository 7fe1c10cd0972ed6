//! The plane in which a zone is worked out, and the grid of samples on it.

use glam::{DVec2, DVec3};

/// Largest distance between samples, metres: half a millimetre of a figure at 1:40.
const CELL_M: f64 = 0.02;

/// Most samples along one side before they stand wider apart: those of a rig of 10 m.
const MOST_ACROSS: f64 = 500.0;

/// A plane through `origin`; `across` is level and of unit length, `up` too and square to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Plane {
    pub origin: DVec3,
    pub across: DVec3,
    pub up: DVec3,
}

impl Plane {
    /// The upright plane through a place that an elevation looks at squarely.
    pub fn upright(at: DVec3) -> Self {
        Self {
            origin: DVec3::new(0.0, at.y, 0.0),
            across: DVec3::X,
            up: DVec3::Z,
        }
    }

    /// The level plane through a place.
    pub fn level(at: DVec3) -> Self {
        Self {
            origin: DVec3::new(0.0, 0.0, at.z),
            across: DVec3::X,
            up: DVec3::Y,
        }
    }

    /// The place of coordinates in the plane, metres.
    pub fn place(&self, at: DVec2) -> DVec3 {
        self.origin + self.across * at.x + self.up * at.y
    }

    /// Coordinates of a place, or of its foot in the plane, metres.
    pub fn coordinates(&self, place: DVec3) -> DVec2 {
        let from = place - self.origin;
        DVec2::new(from.dot(self.across), from.dot(self.up))
    }

    /// Whether height grows along `up`.
    pub fn is_upright(&self) -> bool {
        self.up == DVec3::Z
    }

    /// Where a place stands to the plane.
    pub fn foot(&self, place: DVec3) -> Foot {
        let at = self.coordinates(place);
        Foot {
            at,
            off_squared: place.distance_squared(self.place(at)),
        }
    }
}

/// A place by its foot in a plane.
#[derive(Debug, Clone, Copy)]
pub(super) struct Foot {
    /// Coordinates of the foot, metres.
    pub at: DVec2,
    /// Square of the place's distance from the plane, m².
    off_squared: f64,
}

impl Foot {
    /// The least distance from the place to those of a box in the plane, metres.
    pub fn nearest_m(&self, low: DVec2, high: DVec2) -> f64 {
        let beside = |at: f64, low: f64, high: f64| match () {
            () if at < low => low - at,
            () if at > high => at - high,
            () => 0.0,
        };
        let x = beside(self.at.x, low.x, high.x);
        let y = beside(self.at.y, low.y, high.y);
        (x * x + y * y + self.off_squared).sqrt()
    }

    /// The largest such distance, metres.
    pub fn farthest_m(&self, low: DVec2, high: DVec2) -> f64 {
        let off = |at: f64, low: f64, high: f64| match at - low < high - at {
            true => high - at,
            false => at - low,
        };
        let x = off(self.at.x, low.x, high.x);
        let y = off(self.at.y, low.y, high.y);
        (x * x + y * y + self.off_squared).sqrt()
    }
}

/// A grid of samples over a box, wider than the box by a sample on every side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Grid {
    pub low: DVec2,
    pub cell_m: f64,
    pub across: usize,
    pub up: usize,
}

impl Grid {
    /// Lays a grid over a box that is not empty.
    pub fn over(low: DVec2, high: DVec2) -> Self {
        let size = (high - low).max_element();
        Self::with_cell(low, high, CELL_M.max(size / MOST_ACROSS))
    }

    /// Lays a grid of a given cell, metres, over a box.
    pub fn with_cell(low: DVec2, high: DVec2, cell_m: f64) -> Self {
        let size = (high - low).max(DVec2::ZERO);
        let samples = |length: f64| (length / cell_m).ceil() as usize + 3;
        let (across, up) = (samples(size.x), samples(size.y));
        // The box stands in the middle, so that mirrored rigs are sampled alike.
        let spare = DVec2::new((across - 1) as f64, (up - 1) as f64) * cell_m - size;
        Self {
            low: low - spare / 2.0,
            cell_m,
            across,
            up,
        }
    }

    pub fn len(&self) -> usize {
        self.across * self.up
    }

    pub fn index(&self, i: usize, j: usize) -> usize {
        j * self.across + i
    }

    pub fn at(&self, i: usize, j: usize) -> DVec2 {
        self.low + DVec2::new(i as f64, j as f64) * self.cell_m
    }

    /// Whether a sample stands on the rim, outside the box.
    pub fn is_rim(&self, i: usize, j: usize) -> bool {
        i == 0 || j == 0 || i + 1 == self.across || j + 1 == self.up
    }
}
