//! What drawings are made of: inks, strokes, shapes, groups and the layers that hold them.
//!
//! Everything here is in millimetres on the sheet, y down. Colours have a name, a literal for light
//! paper and one for a dark ground; nothing else in a drawing names a colour.

use kurbo::BezPath;

use super::text::Text;

macro_rules! inks {
    ($($name:ident $css:literal $light:literal $dark:literal $doc:literal,)*) => {
        /// A colour by what it is for.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Ink {
            $(#[doc = $doc] $name,)*
        }

        impl Ink {
            /// Every ink.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// Name in classes (`f-NAME`, `s-NAME`) and variables (`--rl-NAME`).
            pub const fn css(self) -> &'static str {
                match self { $(Self::$name => $css,)* }
            }

            /// Literal on light paper.
            pub const fn light(self) -> &'static str {
                match self { $(Self::$name => $light,)* }
            }

            /// Literal on a dark ground.
            pub const fn dark(self) -> &'static str {
                match self { $(Self::$name => $dark,)* }
            }
        }
    };
}

inks! {
    Paper "paper" "#FFFFFF" "#131A20" "Ground, halos, tracers.",
    Ink "ink" "#1B2530" "#E9EEF2" "Text, weight, push of the feet, leaders, slings, helmet.",
    Soft "soft" "#52606C" "#AAB5BF" "Angles, dimensions, the height staff, second text.",
    Hair "hair" "#8A969F" "#6F7C87" "Projection lines, dividers; never text.",
    L1 "l1" "#0C458D" "#5EA3FA" "First line.",
    L2 "l2" "#A33E18" "#FE8440" "Second line.",
    L3 "l3" "#1B7E5F" "#7DF2C2" "Third line.",
    L4 "l4" "#9F608D" "#E8A7C8" "Fourth line.",
    L5 "l5" "#5F6B76" "#A9B4BE" "Fifth line and beyond; told apart by its tracer.",
    Wood "wood" "#EBE1D3" "#40352B" "Wood.",
    Bark "bark" "#6A5542" "#C2AA8E" "Edge of wood.",
    Grain "grain" "#A8937C" "#7D6A57" "Hatching of wood.",
    WoodFar "woodfar" "#F5F0E9" "#28241F" "Wood behind the climber.",
    BarkFar "barkfar" "#A39587" "#7C7163" "Edge of wood behind the climber.",
    Leaf "leaf" "#DCE6D0" "#2F3B2A" "Leaves of twigs.",
    LeafEdge "leafedge" "#7C8B66" "#93A67C" "Edge of leaves.",
    Earth "earth" "#8A8172" "#9B907F" "The ground line.",
    Near "near" "#3D4955" "#C3CDD6" "The climber's near side.",
    Far "far" "#8D98A2" "#74818D" "The climber's far side.",
    Kit "kit" "#FFFFFF" "#131A20" "Harness straps on the climber.",
    Metal "metal" "#C9D1D7" "#56636F" "Connectors, rings, pulleys.",
    MetalEdge "metaledge" "#36424D" "#DDE4EA" "Edge of metal.",
    Zone "zone" "#D3E5E6" "#1F3F43" "Where the climber can be held.",
    ZoneEdge "zoneedge" "#1F5C63" "#8FD0D4" "Edge of the zone.",
    Reach "reach" "#7FA9AD" "#4F8186" "What the hands reach.",
    Ghost "ghost" "#9AA4AC" "#8B97A1" "What was before.",
    Bad "bad" "#A0162B" "#FF8A8F" "A mistake, a strike, a missing force.",
    Good "good" "#1E6840" "#7ED39B" "Right.",
    BadWash "badwash" "#F7E9E8" "#3A2226" "Ground of a strike.",
    Wash "wash" "#F1F3F4" "#1D262E" "Ground of polygons and bars.",
    Alert "alert" "#F2B705" "#F2B705" "The warning sign only.",
    WarnK "warnk" "#1B2530" "#0B1014" "The warning sign's band only.",
}

impl Ink {
    /// Colour of the line with this index in its rig, from 0.
    pub const fn line(index: usize) -> Self {
        match index {
            0 => Self::L1,
            1 => Self::L2,
            2 => Self::L3,
            3 => Self::L4,
            _ => Self::L5,
        }
    }
}

/// End of a stroke.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Cap {
    /// Cut off at the end.
    #[default]
    Butt,
    /// Rounded.
    Round,
}

/// Corner of a stroke.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Join {
    /// Pointed.
    #[default]
    Miter,
    /// Rounded.
    Round,
}

/// How an outline is stroked.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// Its colour.
    pub ink: Ink,
    /// Width, mm.
    pub width_mm: f64,
    /// Dashes and gaps, mm; empty for an unbroken stroke.
    pub dash: Vec<f64>,
    /// Ends.
    pub cap: Cap,
    /// Corners.
    pub join: Join,
}

impl Stroke {
    /// An unbroken stroke with round ends and corners.
    pub const fn solid(ink: Ink, width_mm: f64) -> Self {
        Self {
            ink,
            width_mm,
            dash: Vec::new(),
            cap: Cap::Round,
            join: Join::Round,
        }
    }

    /// A dashed stroke with cut-off ends.
    pub fn dashed(ink: Ink, width_mm: f64, dash: &[f64]) -> Self {
        Self {
            ink,
            width_mm,
            dash: dash.to_vec(),
            cap: Cap::Butt,
            join: Join::Round,
        }
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

/// A path with its fill and stroke.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// In mm, y down.
    pub path: BezPath,
    /// Inside, non-zero winding.
    pub fill: Option<Ink>,
    /// Outline, over the fill.
    pub stroke: Option<Stroke>,
}

impl Shape {
    /// A filled path.
    pub const fn filled(path: BezPath, ink: Ink) -> Self {
        Self {
            path,
            fill: Some(ink),
            stroke: None,
        }
    }

    /// A stroked path.
    pub const fn stroked(path: BezPath, stroke: Stroke) -> Self {
        Self {
            path,
            fill: None,
            stroke: Some(stroke),
        }
    }

    /// A filled and stroked path.
    pub const fn both(path: BezPath, ink: Ink, stroke: Stroke) -> Self {
        Self {
            path,
            fill: Some(ink),
            stroke: Some(stroke),
        }
    }
}

/// One thing in a layer.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A path.
    Shape(Shape),
    /// Things that belong together.
    Group {
        /// The part of the id after `RIG-KIND-`, for example `rope-main`.
        id: Option<String>,
        /// What cuts them off.
        clip: Option<BezPath>,
        /// The things, from the back.
        items: Vec<Item>,
    },
    /// A line of text.
    Text(Text),
}

impl From<Shape> for Item {
    fn from(shape: Shape) -> Self {
        Self::Shape(shape)
    }
}

impl Item {
    /// A named group without a clip.
    pub fn group(id: impl Into<String>, items: impl IntoIterator<Item = impl Into<Self>>) -> Self {
        Self::Group {
            id: Some(id.into()),
            clip: None,
            items: items.into_iter().map(Into::into).collect(),
        }
    }
}

/// The layers of a drawing, from the back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// The sheet.
    Paper,
    /// The ground line.
    Ground,
    /// Stems and limbs.
    Wood,
    /// Where the climber can be held.
    Zone,
    /// What was before.
    Ghost,
    /// Curves of equal pull.
    Contour,
    /// Ropes behind the climber.
    RopeBack,
    /// The climber.
    Climber,
    /// Ropes.
    Rope,
    /// Points, hitches, slings, hands on ropes.
    Mark,
    /// Arcs and dimension lines.
    Angle,
    /// Arrows.
    Force,
    /// Close views.
    Detail,
    /// From labels to what they name.
    Leader,
    /// Lettering.
    Label,
    /// Key, staff, scales.
    Key,
    /// Signs: mistake, warning.
    Flag,
}

impl Layer {
    /// Every layer, from the back.
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

    /// Name in ids and in `data-layer`.
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
