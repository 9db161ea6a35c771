//! SVG to PNG with the embedded font only: the same pixels on every machine.

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use resvg::{tiny_skia, usvg};
use std::sync::{Arc, LazyLock};

const REGULAR: &[u8] = include_bytes!("../../../assets/fonts/NotoSans-Regular.ttf");
const BOLD: &[u8] = include_bytes!("../../../assets/fonts/NotoSans-Bold.ttf");

static FONTS: LazyLock<Arc<usvg::fontdb::Database>> = LazyLock::new(|| {
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_data(REGULAR.to_vec());
    fonts.load_font_data(BOLD.to_vec());
    fonts.set_sans_serif_family(super::canvas::FONT);
    Arc::new(fonts)
});

/// Draw an SVG of ours as a PNG, `scale` pixels to a picture unit.
///
/// # Errors
/// When the SVG can't be read or has no size: a slip in our own drawing, told in words.
pub fn png(svg: &str, scale: f32) -> Result<Vec<u8>, String> {
    let options = usvg::Options { fontdb: Arc::clone(&FONTS), font_family: super::canvas::FONT.to_owned(), ..usvg::Options::default() };
    let tree = usvg::Tree::from_str(svg, &options).map_err(|e| format!("the picture can't be drawn: {e}"))?;
    let size = tree.size().to_int_size().scale_by(scale).ok_or("the picture has no size")?;
    let mut pixels = tiny_skia::Pixmap::new(size.width(), size.height()).ok_or("the picture has no size")?;
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut pixels.as_mut());
    encoded(&pixels).map_err(|e| format!("the picture can't be written: {e}"))
}

/// Our pictures have no transparency; without it, and with filters, the files are half the size.
fn encoded(pixels: &tiny_skia::Pixmap) -> image::ImageResult<Vec<u8>> {
    let rgb: Vec<u8> = pixels.pixels().iter().flat_map(|p| [p.red(), p.green(), p.blue()]).collect();
    let mut png = Vec::new();
    let encoder = PngEncoder::new_with_quality(&mut png, CompressionType::Default, FilterType::Adaptive);
    encoder.write_image(&rgb, pixels.width(), pixels.height(), ExtendedColorType::Rgb8)?;
    Ok(png)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::pictures::canvas::{Canvas, Style};

    #[test]
    fn text_is_drawn_with_the_embedded_font() {
        let mut canvas = Canvas::new(60.0, 30.0);
        let blank = png(&Canvas::new(60.0, 30.0).finish("t"), 1.0).unwrap();
        canvas.text([5.0, 20.0], Style::new(16.0), "Wm");
        let written = png(&canvas.finish("t"), 1.0).unwrap();
        assert!(written.starts_with(b"\x89PNG") && written != blank);
    }
}
