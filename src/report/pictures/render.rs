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
    encoded(&drawn(svg, scale)?).map_err(|e| format!("the picture can't be written: {e}"))
}

/// Draw an SVG of ours over a picture of 8-bit RGB pixels, row by row from the top left, `scale` pixels to a picture unit.
///
/// # Errors
/// When the SVG can't be read or has no size: a slip in our own drawing, told in words.
pub fn lay_over(rgb: &mut [u8], width: usize, svg: &str, scale: f32) -> Result<(), String> {
    let over = drawn(svg, scale)?;
    let across = over.width() as usize;
    for (row, line) in over.pixels().chunks(across).zip(rgb.chunks_mut(3 * width)) {
        for (over, under) in row.iter().zip(line.chunks_exact_mut(3)) {
            let rest = u16::from(255 - over.alpha());
            // Colours of the drawing are multiplied by their opacity already.
            for (channel, over) in under.iter_mut().zip([over.red(), over.green(), over.blue()]) {
                *channel = over.saturating_add((u16::from(*channel) * rest / 255) as u8);
            }
        }
    }
    Ok(())
}

fn drawn(svg: &str, scale: f32) -> Result<tiny_skia::Pixmap, String> {
    let options = usvg::Options { fontdb: Arc::clone(&FONTS), font_family: super::canvas::FONT.to_owned(), ..usvg::Options::default() };
    let tree = usvg::Tree::from_str(svg, &options).map_err(|e| format!("the picture can't be drawn: {e}"))?;
    let size = tree.size().to_int_size().scale_by(scale).ok_or("the picture has no size")?;
    let mut pixels = tiny_skia::Pixmap::new(size.width(), size.height()).ok_or("the picture has no size")?;
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut pixels.as_mut());
    Ok(pixels)
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
    fn a_drawing_is_laid_over_pixels() {
        let svg = r##"<svg xmlns="http://www.w3.org/2000/svg" width="4" height="2"><rect width="2" height="2" fill="#ff0000" fill-opacity="0.5"/></svg>"##;
        let mut rgb = vec![100; 3 * 4 * 2];
        lay_over(&mut rgb, 4, svg, 1.0).unwrap();
        assert!(rgb[0] > 170 && rgb[1] < 60, "{:?}", &rgb[..3]);
        assert_eq!(rgb[6..12], [100; 6]);
    }

    #[test]
    fn text_is_drawn_with_the_embedded_font() {
        let mut canvas = Canvas::new(60.0, 30.0);
        let blank = png(&Canvas::new(60.0, 30.0).finish("t"), 1.0).unwrap();
        canvas.text([5.0, 20.0], Style::new(16.0), "Wm");
        let written = png(&canvas.finish("t"), 1.0).unwrap();
        assert!(written.starts_with(b"\x89PNG") && written != blank);
    }
}
