//! The ground of a map: the colour of the water's speed, and solid parts as an engineer cuts them, hatched.

use super::outline::Outline;
use super::scale::Scale;
use super::theme;
use super::view::{Depth, Plane, Side, View};
use crate::layout::Layout;
use image::{ExtendedColorType, ImageEncoder, codecs::png::PngEncoder};
use rayon::prelude::*;

/// Pixels along the longer side of a ground.
const LONGEST: f64 = 1500.0;

/// Everything that decides a pixel.
struct Ground<'a> {
    plane: &'a Plane,
    outline: Outline,
    view: View,
    scale: Scale,
    /// Picture up, m.
    height: f64,
    /// Edge of a pixel, m.
    pixel: f64,
}

/// The ground as a PNG. `size` is the picture right and up (m), from the tank's corner.
///
/// # Errors
/// When the image can't be encoded.
pub fn png(layout: &Layout, plane: &Plane, view: View, size: [f64; 2], scale: Scale) -> Result<Vec<u8>, String> {
    let pixel = size[0].max(size[1]).max(1e-6) / LONGEST;
    let (width, height) = ((size[0] / pixel).round().max(1.0) as usize, (size[1] / pixel).round().max(1.0) as usize);
    let ground = Ground { plane, outline: Outline::new(layout, view, size, pixel), view, scale, height: size[1], pixel };
    let mut pixels = vec![255_u8; width * height * 3];
    pixels.par_chunks_mut(width * 3).enumerate().for_each(|(row, line)| {
        for (column, rgb) in line.chunks_exact_mut(3).enumerate() {
            rgb.copy_from_slice(&ground.colour(column, row));
        }
    });
    let mut png = Vec::new();
    PngEncoder::new(&mut png)
        .write_image(&pixels, width as u32, height as u32, ExtendedColorType::Rgb8)
        .map_err(|e| format!("the picture can't be written: {e}"))?;
    Ok(png)
}

impl Ground<'_> {
    fn colour(&self, column: usize, row: usize) -> [u8; 3] {
        let right = (column as f64 + 0.5) * self.pixel;
        let up = self.height - (row as f64 + 0.5) * self.pixel;
        let water = self.water(right, up);
        let (distance, tint) = self.outline.at(right, up);
        let pixels = distance / self.pixel;
        if pixels > 2.0 {
            return water;
        }
        let cover = if self.view.depth == Depth::Mean && tint == theme::ROCK { 0.35 } else { 1.0 };
        let hatched = if (column + row) % 12 < 2 { tint.1 } else { tint.0 };
        let filled = mixed(water, hatched, cover * (0.5 - pixels).clamp(0.0, 1.0));
        mixed(filled, theme::EDGE, (1.6 - pixels.abs()).clamp(0.0, 1.0))
    }

    fn water(&self, right: f64, up: f64) -> [u8; 3] {
        let surface = self.plane.n[1] as f64 * self.plane.h;
        if self.view.side != Side::Above && up > surface {
            return [255; 3];
        }
        self.plane.speed_at(right, up).map_or(theme::ROCK.0, |speed| self.scale.colour(speed))
    }
}

fn mixed(a: [u8; 3], b: [u8; 3], share: f64) -> [u8; 3] {
    std::array::from_fn(|i| (f64::from(a[i]) + share * (f64::from(b[i]) - f64::from(a[i]))).round() as u8)
}
