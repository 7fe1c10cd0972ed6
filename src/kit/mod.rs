//! Kit items: what each may carry, what it was tested with, its life and its record.
//!
//! Built by [`crate::pack`] from `kit/*.toml`; the file's stem is the item's name.

mod read;

use jiff::Span;
use jiff::civil::Date;
use serde::Serialize;

use crate::finding::Place;

pub use read::read;

/// One piece of kit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KitItem {
    /// The file's stem: how rigs and lessons name it.
    pub name: String,
    /// Words for people.
    pub title: String,
    /// What it is.
    pub kind: KitKind,
    /// The whole file, or its `title`, for findings.
    pub place: Place,
    /// Where its life and its record are said.
    pub places: KitPlaces,
    /// Standards as written: `"EN 1891:1998 A"`.
    pub standards: Vec<String>,
    /// Most that it may carry in use, newtons.
    pub working_limit_n: Option<f64>,
    /// Strength when new, newtons.
    pub strength_n: Option<f64>,
    /// Heaviest user, kg.
    pub rated_mass_kg: Option<f64>,
    /// Rope or cord diameter, metres.
    pub diameter_m: Option<f64>,
    /// Length, metres.
    pub length_m: Option<f64>,
    /// Modulus, newtons per unit strain.
    pub modulus_n: Option<f64>,
    /// Material as written.
    pub material: Option<String>,
    /// Stretch under the maker's test load, as a share of the length.
    pub stretch: Option<f64>,
    /// Whether a friction loop may hold only and must not slide under load (low-melting fibre).
    pub hold_only: bool,
    /// Whether the maker rates it as an anchor device: other lines may hang on it.
    pub anchor_device: bool,
    /// A connector's own strengths.
    pub connector: Option<Connector>,
    /// Efficiency of a pulley at half a turn.
    pub efficiency: Option<f64>,
    /// Coefficient of friction of a rope over it.
    pub friction: Option<f64>,
    /// Tested pairings of rope, hitch and cord.
    pub tested_with: Vec<Pairing>,
    /// Service life from first use, months.
    pub life_from_first_use_months: Option<i64>,
    /// Service life from making, months.
    pub life_from_making_months: Option<i64>,
    /// Thorough examination every so many months.
    pub examine_every_months: Option<i64>,
    /// Its record.
    pub record: Record,
    /// A sentence for the register.
    pub note: Option<String>,
}

/// Where an author would put right what is wrong with an item's dates.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct KitPlaces {
    /// `from_first_use` of `[life]`.
    pub from_first_use: Option<Place>,
    /// `from_making` of `[life]`.
    pub from_making: Option<Place>,
    /// `[record]`.
    pub record: Option<Place>,
}

/// What a kit item is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub enum KitKind {
    /// Climbing line.
    Rope,
    /// Hitch cord or loop.
    Cord,
    /// Positioning lanyard.
    Lanyard,
    /// Connector.
    Connector,
    /// Harness.
    Harness,
    /// Pulley.
    Pulley,
    /// Ring.
    Ring,
    /// Anchor sling or other anchor device.
    AnchorDevice,
    /// Helmet.
    Helmet,
    /// Anything else.
    Other,
}

impl KitKind {
    /// Every kind, in the order of the authors' guide.
    pub const ALL: [Self; 10] = [
        Self::Rope,
        Self::Cord,
        Self::Lanyard,
        Self::Connector,
        Self::Harness,
        Self::Pulley,
        Self::Ring,
        Self::AnchorDevice,
        Self::Helmet,
        Self::Other,
    ];

    /// Whether it is metal, for the factor that its strength is divided by; the rest is textile.
    pub const fn is_metal(self) -> bool {
        matches!(self, Self::Connector | Self::Pulley | Self::Ring)
    }

    /// The word in a kit file.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Rope => "rope",
            Self::Cord => "cord",
            Self::Lanyard => "lanyard",
            Self::Connector => "connector",
            Self::Harness => "harness",
            Self::Pulley => "pulley",
            Self::Ring => "ring",
            Self::AnchorDevice => "anchor-device",
            Self::Helmet => "helmet",
            Self::Other => "other",
        }
    }
}

/// Strengths of a connector, as marked on it, and its gate.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Connector {
    /// Along its spine, gate closed, newtons.
    pub major_n: Option<f64>,
    /// Across it, newtons.
    pub minor_n: Option<f64>,
    /// Along its spine, gate open, newtons.
    pub gate_open_n: Option<f64>,
    /// How its gate locks, as written.
    pub gate: Option<String>,
}

/// A rope, hitch and cord that the maker tested together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pairing {
    /// Name of the rope's kit item.
    pub rope: String,
    /// Hitch by its trade name.
    pub hitch: String,
    /// Where it stands.
    pub place: Place,
}

/// A kit item's record.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Record {
    /// Serial or batch number.
    pub serial: Option<String>,
    /// The maker's own name for the product.
    pub model: Option<String>,
    /// Maker as recorded.
    pub maker: Option<String>,
    /// How to reach the maker.
    pub contact: Option<String>,
    /// Date of making.
    pub made: Option<Date>,
    /// Date of purchase.
    pub bought: Option<Date>,
    /// Date of first use.
    pub first_used: Option<Date>,
    /// Who uses it: a person or a pool.
    pub user: Option<String>,
    /// Its examinations and repairs, by date.
    pub examined: Vec<Examination>,
}

/// One line of an item's history.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Examination {
    /// The day.
    pub dated: Date,
    /// Where the day stands.
    pub place: Option<Place>,
    /// Why: periodic, after a fall, a repair; `None` for a thorough examination.
    pub reason: Option<String>,
    /// Defects found, repairs done.
    pub found: Option<String>,
    /// The competent person.
    pub by: Option<String>,
    /// The day by which that person wants the next, if they said one.
    pub next: Option<Date>,
}

impl KitItem {
    /// The day by which the item must be retired: the earlier of its two lives; `None` where no
    /// life is known or the record lacks the date that it runs from.
    pub fn retire_by(&self) -> Option<Date> {
        self.life_end().map(|(by, _)| by)
    }

    /// [`KitItem::retire_by`], with the place of the life that ends first.
    pub fn life_end(&self) -> Option<(Date, Option<Place>)> {
        let (record, places) = (&self.record, &self.places);
        let ends = [
            (
                record.first_used,
                self.life_from_first_use_months,
                places.from_first_use,
            ),
            (
                record.made,
                self.life_from_making_months,
                places.from_making,
            ),
        ];
        let ends = ends.into_iter();
        ends.filter_map(|(from, months, place)| Some((months_after(from?, months?), place)))
            .min_by_key(|(by, _)| *by)
    }

    /// The day by which the next thorough examination is due: after the last one, else after first
    /// use, and earlier where the one who did the last said so; `None` for an item that was never
    /// used.
    ///
    /// - `default_months`: the interval where the item states none.
    pub fn examine_by(&self, default_months: i64) -> Option<Date> {
        let last = self.record.examined.last();
        let from = last.map(|e| e.dated).or(self.record.first_used)?;
        let every = self.examine_every_months.unwrap_or(default_months);
        let due = months_after(from, every);
        let said = last.and_then(|e| e.next);
        Some(said.map_or(due, |said| said.min(due)))
    }
}

/// The same day so many months later, or the last day of a shorter month; the calendar's last day
/// where that is beyond it.
fn months_after(date: Date, months: i64) -> Date {
    Span::new()
        .try_months(months)
        .map_or(Date::MAX, |span| date.saturating_add(span))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn months_end_on_the_last_day_of_a_shorter_month() {
        assert_eq!(months_after(date(2025, 8, 31), 6), date(2026, 2, 28));
        assert_eq!(months_after(date(2023, 8, 31), 6), date(2024, 2, 29));
        assert_eq!(months_after(date(2025, 1, 15), 120), date(2035, 1, 15));
        assert_eq!(months_after(date(2025, 1, 15), i64::MAX), Date::MAX);
    }
}
