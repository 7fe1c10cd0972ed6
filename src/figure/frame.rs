//! From metres in the tree to millimetres on the sheet.
//!
//! ```text
//! Rig ─extent→ box in metres ─fit→ Frame (scale, origin) ─at→ Point on the sheet
//! ```

use glam::DVec3;
use kurbo::{Point, Rect, Vec2};

use crate::rig::{Piece, Rig, Tree};
use crate::statics::Solved;

/// Room that the climber takes round the harness point, metres: left and right, below, above.
pub const CLIMBER_M: (f64, f64, f64) = (0.65, 1.05, 1.0);

/// Which way the rig is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// From the front: x to the right, z up.
    Elevation,
    /// From above: x to the right, y up on the sheet.
    Plan,
}

/// How metres lie on the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Millimetres for a metre.
    pub scale: f64,
    /// Where x = 0 and z = 0 (y = 0 in plan) lie on the sheet.
    pub origin: Point,
    /// What is looked at.
    pub view: View,
}

impl Frame {
    /// A place on the sheet.
    pub fn at(&self, place: DVec3) -> Point {
        self.origin + self.direction(place) * self.scale
    }

    /// A vector in the sheet's directions, same length unit.
    pub fn direction(&self, v: DVec3) -> Vec2 {
        match self.view {
            View::Elevation => Vec2::new(v.x, -v.z),
            View::Plan => Vec2::new(v.x, -v.y),
        }
    }

    /// A frame that puts `extent` (metres, y up) into `place` (mm), centred across, standing on the
    /// bottom, at most at `most_scale`.
    pub fn fit(extent: Rect, place: Rect, most_scale: f64, view: View) -> Self {
        let scale = (place.width() / extent.width().max(0.1))
            .min(place.height() / extent.height().max(0.1))
            .min(most_scale);
        let left = place.x0 + (place.width() - extent.width() * scale) / 2.0;
        Self {
            scale,
            origin: Point::new(left - extent.x0 * scale, place.y1 + extent.y0 * scale),
            view,
        }
    }

    /// The same as the tree is looked at with.
    pub const fn sight(&self) -> Sight {
        match self.view {
            View::Elevation => Sight::elevation(self.origin, self.scale),
            View::Plan => Sight::plan(self.origin, self.scale),
        }
    }

    /// Where a box in metres lies on the sheet.
    pub fn place(&self, extent: Rect) -> Rect {
        let corner = |x: f64, up: f64| self.origin + Vec2::new(x, -up) * self.scale;
        Rect::from_points(corner(extent.x0, extent.y0), corner(extent.x1, extent.y1))
    }
}

/// How a scene in metres lies on the sheet: a linear map without perspective.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// Where the origin of the tree lies on the sheet, mm.
    pub origin: Point,
    /// What a metre along each axis moves to the right on the sheet, mm.
    pub right: DVec3,
    /// What a metre along each axis moves down on the sheet, mm.
    pub down: DVec3,
}

impl Sight {
    /// The side view: x to the right, z up.
    pub const fn elevation(origin: Point, mm_per_m: f64) -> Self {
        Self {
            origin,
            right: DVec3::new(mm_per_m, 0.0, 0.0),
            down: DVec3::new(0.0, 0.0, -mm_per_m),
        }
    }

    /// The view from above: x to the right, y up the sheet (away from who sees the elevation).
    pub const fn plan(origin: Point, mm_per_m: f64) -> Self {
        Self {
            origin,
            right: DVec3::new(mm_per_m, 0.0, 0.0),
            down: DVec3::new(0.0, -mm_per_m, 0.0),
        }
    }

    /// A place on the sheet, mm.
    pub fn place(&self, at: DVec3) -> Point {
        self.origin + Vec2::new(at.dot(self.right), at.dot(self.down))
    }

    /// Scale, mm for a metre.
    pub fn mm_per_m(&self) -> f64 {
        self.right.length()
    }
}

/// A rig less tall than this share of its tree is drawn without the rest of the tree.
const WORTH_CROPPING: f64 = 0.42;

/// Round a rig whose tree is cropped, metres.
const MARGIN_M: f64 = 0.8;

/// The part of a tree that the side view shows, and the box of it in metres: the whole tree, or what
/// stands round a rig that takes little of it.
pub fn shown(rig: &Rig, solved: &Solved, also: &[DVec3]) -> (Tree, Rect) {
    let whole = extent(rig, solved, View::Elevation, also);
    let bare = Rig {
        tree: Tree::default(),
        ..rig.clone()
    };
    let core = extent(&bare, solved, View::Elevation, also);
    if core.height() > WORTH_CROPPING * whole.height() {
        return (rig.tree.clone(), whole);
    }
    let cut = core.inset(MARGIN_M);
    let cut = Rect::new(
        cut.x0.max(whole.x0),
        cut.y0.max(whole.y0),
        cut.x1.min(whole.x1),
        cut.y1.min(whole.y1),
    );
    let pieces = rig.tree.pieces.iter();
    let tree = Tree {
        pieces: pieces.filter_map(|p| trimmed(p, cut)).collect(),
        ground_m: rig.tree.ground_m.filter(|ground| *ground >= cut.y0),
        species: rig.tree.species.clone(),
    };
    (tree, cut)
}

/// The part of a piece whose middle line is inside a box (x across, z up).
fn trimmed(piece: &Piece, cut: Rect) -> Option<Piece> {
    let axis = piece.to - piece.from;
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for (delta, low, high) in [
        (axis.x, cut.x0 - piece.from.x, cut.x1 - piece.from.x),
        (axis.z, cut.y0 - piece.from.z, cut.y1 - piece.from.z),
    ] {
        if delta.abs() < 1e-9 {
            if low > 0.0 || high < 0.0 {
                return None;
            }
            continue;
        }
        enter = enter.max((low / delta).min(high / delta));
        leave = leave.min((low / delta).max(high / delta));
    }
    let width = |share: f64| piece.diameter_m.0 + (piece.diameter_m.1 - piece.diameter_m.0) * share;
    (leave > enter).then(|| Piece {
        from: piece.from + axis * enter,
        to: piece.from + axis * leave,
        diameter_m: (width(enter), width(leave)),
        ..piece.clone()
    })
}

/// The box of a rig in metres: x across; z up in elevation, y up in plan.
///
/// - `also`: further places of the harness point.
pub fn extent(rig: &Rig, solved: &Solved, view: View, also: &[DVec3]) -> Rect {
    let flat = |v: DVec3| match view {
        View::Elevation => Point::new(v.x, v.z),
        View::Plan => Point::new(v.x, v.y),
    };
    let (side, below, above) = CLIMBER_M;
    let mut bounds: Option<Rect> = None;
    let mut add = |rect: Rect| bounds = Some(bounds.map_or(rect, |b| b.union(rect)));
    for at in also.iter().chain([&solved.climber_at]) {
        let p = flat(*at);
        add(match view {
            View::Elevation => Rect::new(p.x - side, p.y - below, p.x + side, p.y + above),
            View::Plan => Rect::new(p.x - side, p.y - side, p.x + side, p.y + side),
        });
    }
    for point in &solved.points {
        let p = flat(point.at);
        add(Rect::new(p.x, p.y, p.x, p.y));
    }
    for piece in &rig.tree.pieces {
        for (end, diameter) in [
            (piece.from, piece.diameter_m.0),
            (piece.to, piece.diameter_m.1),
        ] {
            let p = flat(end);
            add(Rect::new(p.x, p.y, p.x, p.y).inset(diameter / 2.0));
        }
    }
    if let Some(feet) = &rig.feet {
        let p = flat(feet.at);
        add(Rect::new(p.x, p.y, p.x, p.y));
    }
    let mut bounds = bounds.unwrap_or(Rect::ZERO);
    if let (View::Elevation, Some(ground)) = (view, rig.tree.ground_m) {
        bounds.y0 = bounds.y0.max(ground).min(ground);
    }
    bounds
}
