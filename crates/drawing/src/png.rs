//! An SVG of this crate as a PNG picture, with a font that comes along.
//! Never: looks for fonts on the computer, so that the same picture comes out everywhere.
//! Start at [`to_png`].

use resvg::{tiny_skia, usvg};

/// Why no picture could be made.
#[derive(Debug, thiserror::Error)]
pub enum PictureError {
    /// The text is no SVG.
    #[error("the drawing cannot be read as SVG: {0}; give the text that `one_line` returned")]
    Svg(String),
    /// The picture would be empty or too large.
    #[error("a picture {0} pixels wide cannot be made; give a width from 1 to 20000")]
    Width(u32),
    /// The picture could not be packed.
    #[error("the picture cannot be packed as PNG: {0}")]
    Pack(String),
}

/// Renders a drawing `width` pixels wide, on white where the drawing is clear.
pub fn to_png(svg: &str, width: u32) -> Result<Vec<u8>, PictureError> {
    if !(1..=20_000).contains(&width) {
        return Err(PictureError::Width(width));
    }
    let mut options = usvg::Options { font_family: "DejaVu Sans".to_owned(), ..usvg::Options::default() };
    options.fontdb_mut().load_font_data(dejavu::sans::regular().to_vec());
    options.fontdb_mut().load_font_data(dejavu::sans::bold().to_vec());
    let tree = usvg::Tree::from_str(svg, &options).map_err(|error| PictureError::Svg(error.to_string()))?;
    let scale = width as f32 / tree.size().width();
    // A hundredth of a dot is only rounding of the scale.
    let height = ((tree.size().height() * scale - 0.01).ceil() as u32).max(1);
    let mut picture = tiny_skia::Pixmap::new(width, height).ok_or(PictureError::Width(width))?;
    picture.fill(tiny_skia::Color::WHITE);
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut picture.as_mut());
    picture.encode_png().map_err(|error| PictureError::Pack(error.to_string()))
}
