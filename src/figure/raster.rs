//! A drawing as pixels, for slides: SVG in, PNG out, with the bundled fonts only.

use std::sync::{Arc, OnceLock};

use resvg::tiny_skia::{Color, Pixmap, Transform};
use usvg::fontdb::Database;
use usvg::{Options, Tree};

use super::Drawing;

/// Why a drawing has no PNG. Drawings of this program never give the first; the second guards
/// against an absurd width.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RasterProblem {
    /// The SVG could not be read back; the reader's words.
    Unreadable(String),
    /// A width of 0, or too many pixels.
    Size,
}

impl std::fmt::Display for RasterProblem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Unreadable(why) => write!(f, "the drawing could not be read back: {why}"),
            Self::Size => write!(f, "the width must be 1 to {MAX_WIDTH_PX} pixels"),
        }
    }
}

/// Widest PNG, pixels: four times a large screen, 0.4 GB of memory for a square figure.
const MAX_WIDTH_PX: u32 = 10_000;

/// Fonts for text in drawings, read once.
fn fonts() -> &'static Arc<Database> {
    static FONTS: OnceLock<Arc<Database>> = OnceLock::new();
    FONTS.get_or_init(|| {
        let mut fonts = Database::new();
        for bytes in crate::figure::FONT_FILES {
            fonts.load_font_data(bytes.to_vec());
        }
        Arc::new(fonts)
    })
}

/// Draws into a PNG of the given width; the height follows.
///
/// - `width_px`: 1 to 10,000 pixels.
/// - `transparent`: nothing under the drawing instead of white paper.
///
/// # Errors
/// [`RasterProblem`].
pub fn png(drawing: &Drawing, width_px: u32, transparent: bool) -> Result<Vec<u8>, RasterProblem> {
    if !(1..=MAX_WIDTH_PX).contains(&width_px) {
        return Err(RasterProblem::Size);
    }
    let options = Options {
        fontdb: fonts().clone(),
        ..Options::default()
    };
    let tree = Tree::from_str(&drawing.svg, &options)
        .map_err(|e| RasterProblem::Unreadable(e.to_string()))?;
    let size = tree.size();
    let scale = width_px as f32 / size.width();
    let height_px = (size.height() * scale).ceil() as u32;
    let mut pixels = Pixmap::new(width_px, height_px).ok_or(RasterProblem::Size)?;
    if !transparent {
        pixels.fill(Color::WHITE);
    }
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut pixels.as_mut(),
    );
    encode(&pixels)
}

/// Fast compression: encoding would else be three quarters of the time.
fn encode(pixels: &Pixmap) -> Result<Vec<u8>, RasterProblem> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, pixels.width(), pixels.height());
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::Fast);
    let straight: Vec<u8> = pixels
        .pixels()
        .iter()
        .flat_map(|p| {
            let c = p.demultiply();
            [c.red(), c.green(), c.blue(), c.alpha()]
        })
        .collect();
    let mut writer = encoder
        .write_header()
        .map_err(|e| RasterProblem::Unreadable(e.to_string()))?;
    writer
        .write_image_data(&straight)
        .map_err(|e| RasterProblem::Unreadable(e.to_string()))?;
    writer
        .finish()
        .map_err(|e| RasterProblem::Unreadable(e.to_string()))?;
    Ok(bytes)
}
