//! The rules by name: what each finds, how much it weighs, its limits and their basis.
//!
//! ```text
//! RULES + rules.toml ─(pack)→ Rulebook ─(rules)→ findings
//! ```
//!
//! The judging itself is in [`crate::rules`]; this room only knows names and numbers, so that the
//! reader of a pack can check `wrong = [...]` and `rules.toml` against them.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::finding::{Place, Severity};
use crate::quantity::Dimension;

/// How a limit is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitUnit {
    /// A bare number: a factor or an allowance.
    Factor,
    /// A quantity with its unit; SI inside.
    Quantity(Dimension),
    /// A whole number of months.
    Months,
}

/// A number that a pack may replace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitEntry {
    /// Its key in the rule's table of `rules.toml`.
    pub key: &'static str,
    /// How it is written.
    pub unit: LimitUnit,
    /// The built-in value, SI.
    pub default: f64,
}

/// One built-in rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RuleEntry {
    /// Stable name: the code of its findings.
    pub name: &'static str,
    /// How much a finding weighs.
    pub severity: Severity,
    /// What it finds, for people.
    pub finds: &'static str,
    /// Its limits.
    pub limits: &'static [LimitEntry],
    /// What the rule stands on.
    pub basis: &'static str,
}

const DEG: f64 = std::f64::consts::PI / 180.0;

const PRACTICE: &str = "practice: common practice of the trade, no published source";

/// Basis of the rules about how a course is made.
const COURSE_DESIGN: &str = "course design";

/// Basis of what an author expects.
const AUTHOR: &str = "the author";

const fn rule(
    name: &'static str,
    severity: Severity,
    finds: &'static str,
    limits: &'static [LimitEntry],
    basis: &'static str,
) -> RuleEntry {
    RuleEntry {
        name,
        severity,
        finds,
        limits,
        basis,
    }
}

/// Every built-in rule, in the order of the authors' guide.
pub const RULES: &[RuleEntry] = &[
    rule(
        "no-hold",
        Severity::Error,
        "the lines cannot hold the climber where the rig says",
        &[],
        "statics",
    ),
    rule(
        "over-limit",
        Severity::Error,
        "a line's most pull, times an allowance for movement, above its limit",
        &[LimitEntry {
            key: "allowance",
            unit: LimitUnit::Factor,
            default: 2.0,
        }],
        PRACTICE,
    ),
    rule(
        "over-mass",
        Severity::Error,
        "a climber heavier than the rated mass of a kit item in use",
        &[],
        "the kit item's entry",
    ),
    rule(
        "low-strength",
        Severity::Error,
        "a kit item's strength over its pull below the wanted factor",
        &[
            LimitEntry {
                key: "textile",
                unit: LimitUnit::Factor,
                default: 10.0,
            },
            LimitEntry {
                key: "metal",
                unit: LimitUnit::Factor,
                default: 5.0,
            },
        ],
        PRACTICE,
    ),
    rule(
        "untested-pairing",
        Severity::Error,
        "a rope and hitch that the cord's maker has not tested together",
        &[],
        "the maker's tested list in the kit entry",
    ),
    rule(
        "unpaired",
        Severity::Error,
        "a front or side attachment loaded without its partner by the same line",
        &[],
        PRACTICE,
    ),
    rule(
        "side-without-feet",
        Severity::Error,
        "side attachments used with the feet off a surface",
        &[],
        "practice; EN 358 equipment is for support, not suspension (check the standard)",
    ),
    rule(
        "one-line",
        Severity::Error,
        "a saw in use with fewer than two lines that hold, or all lines on one anchor or one limb",
        &[],
        "practice and national codes",
    ),
    rule(
        "nothing-left",
        Severity::Warning,
        "a line whose loss leaves nothing that holds; an error where a saw is in use",
        &[],
        "statics",
    ),
    rule(
        "strikes",
        Severity::Warning,
        "a swing after a loss that meets wood",
        &[],
        "statics",
    ),
    rule(
        "wide-spread",
        Severity::Warning,
        "two lines spread so far that each carries more than the climber weighs",
        &[LimitEntry {
            key: "spread",
            unit: LimitUnit::Quantity(Dimension::Angle),
            default: 120.0 * DEG,
        }],
        "geometry: at 120 deg between equal lines each carries the whole weight",
    ),
    rule(
        "rope-angle",
        Severity::Note,
        "the first line flatter at the climber than the limit",
        &[LimitEntry {
            key: "from_vertical",
            unit: LimitUnit::Quantity(Dimension::Angle),
            default: 45.0 * DEG,
        }],
        PRACTICE,
    ),
    rule(
        "not-an-anchor",
        Severity::Error,
        "a positioning item that carries another line without a rating as an anchor device",
        &[],
        "EN 795 type B (check the standard)",
    ),
    rule(
        "cross-loaded",
        Severity::Error,
        "a connector that closes a loop too short for the wood, so that it is pulled across its spine",
        &[LimitEntry {
            key: "between_legs",
            unit: LimitUnit::Quantity(Dimension::Angle),
            default: 90.0 * DEG,
        }],
        "practice; EN 362 marks the strength across a connector (check the standard)",
    ),
    rule(
        "gate-towards-rope",
        Severity::Error,
        "a connector whose gate faces a rope that runs",
        &[],
        PRACTICE,
    ),
    rule(
        "hold-only",
        Severity::Error,
        "a low-melting friction loop used where the line must slide under load",
        &[],
        PRACTICE,
    ),
    rule(
        "no-stopper",
        Severity::Warning,
        "a tail that could run through its hitch or ring without a stopper knot",
        &[],
        PRACTICE,
    ),
    rule(
        "slack",
        Severity::Error,
        "slack in a positioning line that allows a free fall above the limit",
        &[LimitEntry {
            key: "fall",
            unit: LimitUnit::Quantity(Dimension::Length),
            default: 0.5,
        }],
        "EN 358 (recalled, not seen: check the standard)",
    ),
    rule(
        "out-of-reach",
        Severity::Warning,
        "an end that must be retrieved beyond the hands' reach from the work position",
        &[LimitEntry {
            key: "reach",
            unit: LimitUnit::Quantity(Dimension::Length),
            default: 0.7,
        }],
        PRACTICE,
    ),
    rule(
        "too-short",
        Severity::Error,
        "a run that needs more line than the kit item has, hitch and tail included",
        &[
            LimitEntry {
                key: "hitch",
                unit: LimitUnit::Quantity(Dimension::Length),
                default: 0.3,
            },
            LimitEntry {
                key: "tail",
                unit: LimitUnit::Quantity(Dimension::Length),
                default: 0.5,
            },
        ],
        "geometry",
    ),
    rule(
        "thin-limb",
        Severity::Warning,
        "a limb bent to more than a share of the published green strength of its species",
        &[LimitEntry {
            key: "share",
            unit: LimitUnit::Quantity(Dimension::Share),
            default: 0.2,
        }],
        "Wood Handbook, USDA FPL-GTR-190 (2010), for clear green wood; teaching only",
    ),
    rule(
        "fall-force",
        Severity::Error,
        "the peak force of the worst fall that slack allows above the limit",
        &[LimitEntry {
            key: "peak",
            unit: LimitUnit::Quantity(Dimension::Force),
            default: 6000.0,
        }],
        "standard rope equation; 6 kN after EN 355 and EN 363 (recalled, not seen: check the standards)",
    ),
    rule(
        "past-life",
        Severity::Warning,
        "a kit item past its service life on the pack's date",
        &[],
        "the kit item's entry",
    ),
    rule(
        "examine",
        Severity::Warning,
        "a kit item whose thorough examination is due on the pack's date",
        &[LimitEntry {
            key: "every",
            unit: LimitUnit::Months,
            default: 6.0,
        }],
        "LOLER 1998 reg. 9 (UK): lifting equipment for persons, at least every 6 months",
    ),
    rule(
        "record",
        Severity::Warning,
        "a kit record without the serial number, the maker, the user, or the dates of making, purchase and first use; a day in it after the pack's date",
        &[],
        "EN 365:2004, record card (recalled, not seen: check the standard)",
    ),
    rule(
        "expect",
        Severity::Error,
        "an author's expectation that the numbers miss",
        &[],
        AUTHOR,
    ),
    rule(
        "order",
        Severity::Warning,
        "a lesson that stands in a course before what it needs",
        &[],
        COURSE_DESIGN,
    ),
    rule(
        "minutes",
        Severity::Warning,
        "a lesson whose minutes in a course's teaching days are not its own, or a course of fewer hours than its lessons take",
        &[],
        COURSE_DESIGN,
    ),
    rule(
        "outcome",
        Severity::Warning,
        "an outcome that no criterion assesses, or critical steps with no critical criterion",
        &[],
        COURSE_DESIGN,
    ),
];

/// The rule of a name.
pub fn rule_named(name: &str) -> Option<&'static RuleEntry> {
    RULES.iter().find(|rule| rule.name == name)
}

/// A pack's own number for a rule, with where it comes from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Replaced {
    /// SI.
    pub value: f64,
    /// As the pack states it.
    pub source: String,
}

/// A pack's own weight for a rule, with where it comes from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Weighed {
    /// How much its findings weigh; `None` where the pack silences it.
    pub severity: Option<Severity>,
    /// As the pack states it; empty only for a rule that protects no one.
    pub source: String,
    /// Where the weight stands.
    pub place: Place,
}

impl RuleEntry {
    /// Whether breaking it can hurt someone: all but the rules about how a course is made.
    pub fn protects(&self) -> bool {
        !matches!(self.basis, COURSE_DESIGN | AUTHOR)
    }
}

/// The rules with a pack's own numbers in place of the built-in ones.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Rulebook {
    replaced: BTreeMap<(&'static str, &'static str), Replaced>,
    weighed: BTreeMap<&'static str, Weighed>,
}

impl Rulebook {
    /// Replaces a limit. The caller has found `rule` and `limit` in [`RULES`].
    pub fn replace(&mut self, rule: &'static RuleEntry, limit: &'static LimitEntry, by: Replaced) {
        self.replaced.insert((rule.name, limit.key), by);
    }

    /// Weighs a rule's findings otherwise.
    pub fn weigh(&mut self, rule: &'static RuleEntry, by: Weighed) {
        self.weighed.insert(rule.name, by);
    }

    /// The pack's own weights by rule.
    pub fn weighed(&self) -> impl Iterator<Item = (&'static str, &Weighed)> {
        self.weighed.iter().map(|(name, by)| (*name, by))
    }

    /// The value in force, SI.
    ///
    /// # Panics
    /// For a name that is not in [`RULES`]: that is a slip in this program, not in a pack.
    pub fn limit(&self, rule: &'static str, key: &'static str) -> f64 {
        if let Some(by) = self.replaced.get(&(rule, key)) {
            return by.value;
        }
        let entry = rule_named(rule).and_then(|r| r.limits.iter().find(|l| l.key == key));
        entry.expect("every limit asked for is in RULES").default
    }

    /// What a rule stands on: the pack's source where it replaced a limit, else the built-in basis.
    pub fn basis(&self, rule: &'static str) -> &str {
        let own = self.replaced.iter().find(|((name, _), _)| *name == rule);
        own.map_or_else(
            || rule_named(rule).map_or("", |r| r.basis),
            |(_, by)| by.source.as_str(),
        )
    }
}
