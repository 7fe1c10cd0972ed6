//! What figures are made of: inks, strokes, shapes, lettering and layers, in millimetres.
//!
//! ```text
//! tree, climber, rope, marks ─→ Item (Shape, Group, Text) by Layer ─write→ SVG
//! ```
//!
//! x runs right, y runs down, as on the sheet. A shape says its colour by name ([`Ink`]); the writer
//! turns the name into a literal colour and a class, so that a page can show a dark scheme.

use kurbo::{Affine, BezPath, Cap, Join, Point, Rect, Shape as _};

/// A named colour of the figures; each has a light and a dark form.
///
/// Text inks keep a contrast of 4.5 on paper, rope, arrow and contour inks 3.0 on paper, wood and
/// zone (WCAG 2.2, success criteria 1.4.3 and 1.4.11).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ink {
    /// Ground of the sheet, halos, tracers.
    Paper,
    /// Text, weight, feet's push, leaders, slings, helmet.
    Ink,
    /// Angles, dimensions, staff, second text.
    Soft,
    /// Projection lines and dividers; never text.
    Hair,
    /// First line.
    L1,
    /// Second line.
    L2,
    /// Third line.
    L3,
    /// Fourth line.
    L4,
    /// Fifth line: grey, told apart by its tracer.
    L5,
    /// Fill of wood.
    Wood,
    /// Edge of wood.
    Bark,
    /// Hatching on wood.
    Grain,
    /// Fill of leaves.
    Leaf,
    /// Edge of leaves, twigs' midribs.
    Leafedge,
    /// Ground line.
    Earth,
    /// The climber's near side.
    Near,
    /// The climber's far side.
    Far,
    /// Harness straps on the climber.
    Kit,
    /// Fill of connectors, rings, pulleys.
    Metal,
    /// Edge of connectors, rings, pulleys.
    Metaledge,
    /// Fill of the zone.
    Zone,
    /// Edge of the zone.
    Zoneedge,
    /// Edge of the hands' reach.
    Reach,
    /// What was before.
    Ghost,
    /// A mistake.
    Bad,
    /// Right.
    Good,
    /// Fill of a strike.
    Badwash,
    /// Fill of a polygon and of bars.
    Wash,
    /// Yellow of the warning sign.
    Alert,
    /// Black of the warning sign.
    Warnk,
}

impl Ink {
    /// Every ink, in the order of the table of colours.
    pub const ALL: [Self; 30] = [
        Self::Paper,
        Self::Ink,
        Self::Soft,
        Self::Hair,
        Self::L1,
        Self::L2,
        Self::L3,
        Self::L4,
        Self::L5,
        Self::Wood,
        Self::Bark,
        Self::Grain,
        Self::Leaf,
        Self::Leafedge,
        Self::Earth,
        Self::Near,
        Self::Far,
        Self::Kit,
        Self::Metal,
        Self::Metaledge,
        Self::Zone,
        Self::Zoneedge,
        Self::Reach,
        Self::Ghost,
        Self::Bad,
        Self::Good,
        Self::Badwash,
        Self::Wash,
        Self::Alert,
        Self::Warnk,
    ];

    /// Colour of a line by its order in the rig; the fifth and all after it are grey.
    pub const fn of_line(index: usize) -> Self {
        match index {
            0 => Self::L1,
            1 => Self::L2,
            2 => Self::L3,
            3 => Self::L4,
            _ => Self::L5,
        }
    }

    /// The word in classes (`f-word`, `s-word`) and variables (`--rl-word`).
    pub const fn css_name(self) -> &'static str {
        self.row().0
    }

    /// The colour on a light ground, `#RRGGBB`.
    pub const fn light(self) -> &'static str {
        self.row().1
    }

    /// The colour on a dark ground, `#RRGGBB`.
    pub const fn dark(self) -> &'static str {
        self.row().2
    }

    /// Name, light, dark.
    const fn row(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Self::Paper => ("paper", "#FFFFFF", "#131A20"),
            Self::Ink => ("ink", "#1B2530", "#E9EEF2"),
            Self::Soft => ("soft", "#52606C", "#AAB5BF"),
            Self::Hair => ("hair", "#8A969F", "#6F7C87"),
            Self::L1 => ("l1", "#0C458D", "#5EA3FA"),
            Self::L2 => ("l2", "#A33E18", "#FE8440"),
            Self::L3 => ("l3", "#1B7E5F", "#7DF2C2"),
            Self::L4 => ("l4", "#9F608D", "#E8A7C8"),
            Self::L5 => ("l5", "#5F6B76", "#A9B4BE"),
            Self::Wood => ("wood", "#EBE1D3", "#40352B"),
            Self::Bark => ("bark", "#6A5542", "#C2AA8E"),
            Self::Grain => ("grain", "#A8937C", "#7D6A57"),
            Self::Leaf => ("leaf", "#DCE6D0", "#2F3B2A"),
            Self::Leafedge => ("leafedge", "#7C8B66", "#93A67C"),
            Self::Earth => ("earth", "#8A8172", "#9B907F"),
            Self::Near => ("near", "#3D4955", "#C3CDD6"),
            Self::Far => ("far", "#8D98A2", "#74818D"),
            Self::Kit => ("kit", "#FFFFFF", "#131A20"),
            Self::Metal => ("metal", "#C9D1D7", "#56636F"),
            Self::Metaledge => ("metaledge", "#36424D", "#DDE4EA"),
            Self::Zone => ("zone", "#D3E5E6", "#1F3F43"),
            Self::Zoneedge => ("zoneedge", "#1F5C63", "#8FD0D4"),
            Self::Reach => ("reach", "#7FA9AD", "#4F8186"),
            Self::Ghost => ("ghost", "#9AA4AC", "#8B97A1"),
            Self::Bad => ("bad", "#A0162B", "#FF8A8F"),
            Self::Good => ("good", "#1E6840", "#7ED39B"),
            Self::Badwash => ("badwash", "#F7E9E8", "#3A2226"),
            Self::Wash => ("wash", "#F1F3F4", "#1D262E"),
            Self::Alert => ("alert", "#F2B705", "#F2B705"),
            Self::Warnk => ("warnk", "#1B2530", "#0B1014"),
        }
    }
}

/// How an outline is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// Colour.
    pub ink: Ink,
    /// Width, mm.
    pub width_mm: f64,
    /// Lengths of dashes and gaps in turn, mm; empty for an unbroken stroke.
    pub dash: Vec<f64>,
    /// Ends of the stroke and of its dashes.
    pub cap: Cap,
    /// Corners.
    pub join: Join,
}

impl Stroke {
    /// An unbroken stroke with round ends and corners.
    pub const fn new(ink: Ink, width_mm: f64) -> Self {
        Self {
            ink,
            width_mm,
            dash: Vec::new(),
            cap: Cap::Round,
            join: Join::Round,
        }
    }

    /// The same stroke broken into dashes (mm), with square-cut ends.
    #[must_use]
    pub fn dashed(mut self, dash: &[f64]) -> Self {
        self.dash = dash.to_vec();
        self.cap = Cap::Butt;
        self
    }

    /// The same stroke with other ends.
    #[must_use]
    pub const fn cap(mut self, cap: Cap) -> Self {
        self.cap = cap;
        self
    }

    /// The same stroke with other corners.
    #[must_use]
    pub const fn join(mut self, join: Join) -> Self {
        self.join = join;
        self
    }
}

/// An outline with its fill and stroke.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// The outline, mm, y down.
    pub path: BezPath,
    /// Colour inside.
    pub fill: Option<Ink>,
    /// Stroke along it.
    pub stroke: Option<Stroke>,
}

impl Shape {
    /// Filled, no stroke.
    pub const fn filled(path: BezPath, fill: Ink) -> Self {
        Self {
            path,
            fill: Some(fill),
            stroke: None,
        }
    }

    /// Stroked, no fill.
    pub const fn stroked(path: BezPath, stroke: Stroke) -> Self {
        Self {
            path,
            fill: None,
            stroke: Some(stroke),
        }
    }

    /// Filled and stroked.
    pub const fn both(path: BezPath, fill: Ink, stroke: Stroke) -> Self {
        Self {
            path,
            fill: Some(fill),
            stroke: Some(stroke),
        }
    }

    /// The box that it inks, mm, half the stroke included.
    pub fn bounds(&self) -> Rect {
        let half = self.stroke.as_ref().map_or(0.0, |s| s.width_mm / 2.0);
        self.path.bounding_box().inset(half)
    }
}

/// Weight of lettering.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// 400.
    Regular,
    /// 600, for names and values.
    Bold,
}

/// A stretch of text in one weight and colour.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The words.
    pub text: String,
    /// Their weight.
    pub weight: Weight,
    /// Their colour.
    pub ink: Ink,
}

/// Where a text stands from its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// It starts there.
    Start,
    /// It is centred there.
    Middle,
    /// It ends there.
    End,
}

/// One line of text at a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// On the base line, mm.
    pub at: Point,
    /// Where the text stands from there.
    pub align: Align,
    /// Size, mm.
    pub size_mm: f64,
    /// What it says.
    pub runs: Vec<Run>,
    /// Whether a paper edge lifts it off what lies behind.
    pub halo: bool,
}

/// One thing of a layer.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// An outline.
    Shape(Shape),
    /// Things that belong together.
    Group {
        /// Ending of the id inside the figure, such as `rope-main`; the writer puts `RIG-KIND-`
        /// before it.
        id: Option<String>,
        /// Nothing is drawn outside this outline.
        clip: Option<BezPath>,
        /// What is inside, back to front.
        items: Vec<Item>,
    },
    /// Lettering.
    Text(Text),
}

impl From<Shape> for Item {
    fn from(shape: Shape) -> Self {
        Self::Shape(shape)
    }
}

impl Item {
    /// Things under one id.
    pub fn named(id: impl Into<String>, items: Vec<Self>) -> Self {
        Self::Group {
            id: Some(id.into()),
            clip: None,
            items,
        }
    }

    /// Things seen through an opening.
    pub const fn clipped(clip: BezPath, items: Vec<Self>) -> Self {
        Self::Group {
            id: None,
            clip: Some(clip),
            items,
        }
    }

    /// The same thing moved, turned, mirrored or evenly scaled. Stroke widths, dashes and the size of
    /// lettering stay, so that line weights do not depend on the place of a mark.
    #[must_use]
    pub fn placed(self, by: Affine) -> Self {
        match self {
            Self::Shape(shape) => Self::Shape(Shape {
                path: by * shape.path,
                ..shape
            }),
            Self::Group { id, clip, items } => Self::Group {
                id,
                clip: clip.map(|path| by * path),
                items: items.into_iter().map(|item| item.placed(by)).collect(),
            },
            Self::Text(text) => Self::Text(Text {
                at: by * text.at,
                ..text
            }),
        }
    }
}

/// A layer of a figure, back to front.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// The sheet.
    Paper,
    /// Ground line.
    Ground,
    /// Stems and limbs.
    Wood,
    /// Where the climber can be held.
    Zone,
    /// What was before.
    Ghost,
    /// Lines of equal pull.
    Contour,
    /// Ropes behind the climber.
    RopeBack,
    /// The climber.
    Climber,
    /// Ropes.
    Rope,
    /// Hardware, the harness point, an arm that grips a rope.
    Mark,
    /// Arcs, axes.
    Angle,
    /// Arrows of force.
    Force,
    /// Details seen closer.
    Detail,
    /// Leaders.
    Leader,
    /// Lettering.
    Label,
    /// Legend and scales.
    Key,
    /// Tab of a mistake or of its right twin.
    Flag,
}

impl Layer {
    /// Every layer, back to front.
    pub const ALL: [Self; 17] = [
        Self::Paper,
        Self::Ground,
        Self::Wood,
        Self::Zone,
        Self::Ghost,
        Self::Contour,
        Self::RopeBack,
        Self::Climber,
        Self::Rope,
        Self::Mark,
        Self::Angle,
        Self::Force,
        Self::Detail,
        Self::Leader,
        Self::Label,
        Self::Key,
        Self::Flag,
    ];

    /// The word in ids and in `data-layer`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Paper => "paper",
            Self::Ground => "ground",
            Self::Wood => "wood",
            Self::Zone => "zone",
            Self::Ghost => "ghost",
            Self::Contour => "contour",
            Self::RopeBack => "rope-back",
            Self::Climber => "climber",
            Self::Rope => "rope",
            Self::Mark => "mark",
            Self::Angle => "angle",
            Self::Force => "force",
            Self::Detail => "detail",
            Self::Leader => "leader",
            Self::Label => "label",
            Self::Key => "key",
            Self::Flag => "flag",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// WCAG 2.2: relative luminance of sRGB, and the ratio (L1 + 0.05) / (L2 + 0.05).
    fn contrast(a: &str, b: &str) -> f64 {
        let luminance = |hex: &str| {
            let channel = |at: usize| {
                let c = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
                if c <= 0.04045 {
                    c / 12.92
                } else {
                    libm::pow((c + 0.055) / 1.055, 2.4)
                }
            };
            0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn text_inks_keep_the_contrast_of_wcag() {
        // WCAG 2.2, 1.4.3: 4.5 for text. Black on white is 21 by the same formula.
        assert!((contrast("#000000", "#FFFFFF") - 21.0).abs() < 1e-9);
        for ink in [
            Ink::Ink,
            Ink::Soft,
            Ink::L1,
            Ink::L2,
            Ink::L3,
            Ink::L4,
            Ink::L5,
            Ink::Bad,
        ] {
            let light = contrast(ink.light(), Ink::Paper.light());
            let dark = contrast(ink.dark(), Ink::Paper.dark());
            assert!(
                light >= 4.5 && dark >= 4.5,
                "{ink:?}: {light:.2}, {dark:.2}"
            );
        }
    }

    #[test]
    fn rope_inks_stand_off_paper_wood_and_zone() {
        // WCAG 2.2, 1.4.11: 3.0 for graphical objects.
        for index in 0..5 {
            let ink = Ink::of_line(index);
            for ground in [Ink::Paper, Ink::Wood, Ink::Zone] {
                let light = contrast(ink.light(), ground.light());
                let dark = contrast(ink.dark(), ground.dark());
                assert!(
                    light >= 3.0 && dark >= 3.0,
                    "{ink:?} on {ground:?}: {light:.2}, {dark:.2}"
                );
            }
        }
    }

    #[test]
    fn names_of_inks_and_layers_are_their_own() {
        let mut inks: Vec<_> = Ink::ALL.iter().map(|ink| ink.css_name()).collect();
        inks.sort_unstable();
        inks.dedup();
        assert_eq!(inks.len(), Ink::ALL.len());
        assert!(Layer::ALL.windows(2).all(|two| two[0] < two[1]));
    }

    #[test]
    fn placing_keeps_stroke_widths() {
        let line = BezPath::from_svg("M0 0L1 0").unwrap();
        let item: Item = Shape::stroked(line, Stroke::new(Ink::Ink, 0.5)).into();
        let turn = Affine::translate((5.0, 5.0)) * Affine::new([0.0, 2.0, -2.0, 0.0, 0.0, 0.0]);
        let Item::Shape(shape) = item.placed(turn) else {
            panic!("a shape stays a shape")
        };
        assert_eq!(shape.bounds(), Rect::new(4.75, 4.75, 5.25, 7.25));
    }
}
