//! Soft streaks and discs on a picture of plain pixels.

use image::{ExtendedColorType, ImageEncoder, codecs::png::PngEncoder};

/// A picture from the top left, channels 0 to 255.
#[derive(Debug, Clone)]
pub struct Picture {
    /// Pixels across and down.
    pub size: [usize; 2],
    /// Its pixels.
    pub pixels: Vec<[u8; 3]>,
}

/// A rectangle of a picture: left, top, right, bottom.
pub type Window = [usize; 4];

impl Picture {
    /// From a PNG.
    pub fn read(png: &[u8]) -> Result<Self, String> {
        let image = image::load_from_memory(png).map_err(|e| format!("a picture of ours can't be read: {e}"))?.to_rgb8();
        let size = [image.width() as usize, image.height() as usize];
        Ok(Self { size, pixels: image.pixels().map(|p| p.0).collect() })
    }

    /// Another picture laid over this one.
    pub fn lay(&mut self, other: &Self, at: [usize; 2]) {
        for row in 0..other.size[1].min(self.size[1].saturating_sub(at[1])) {
            let across = other.size[0].min(self.size[0].saturating_sub(at[0]));
            let to = at[0] + self.size[0] * (at[1] + row);
            self.pixels[to..to + across].copy_from_slice(&other.pixels[other.size[0] * row..][..across]);
        }
    }

    /// A streak between two places that fades toward the first, only inside the window.
    pub fn streak(&mut self, window: Window, from: [f32; 2], to: [f32; 2], colour: [u8; 3], strength: f32) {
        const STEP: f32 = 0.7;
        let length = (to[0] - from[0]).hypot(to[1] - from[1]);
        let steps = (length / STEP).ceil().max(1.0) as usize;
        for step in 0..=steps {
            let share = step as f32 / steps as f32;
            let at = [0, 1].map(|axis| from[axis] + share * (to[axis] - from[axis]));
            self.dab(window, at, colour, strength * (0.06 + 0.6 * share * share));
        }
    }

    /// A soft dot of a pixel and a half.
    fn dab(&mut self, window: Window, at: [f32; 2], colour: [u8; 3], strength: f32) {
        let (left, top) = (at[0] - 0.5, at[1] - 0.5);
        for (dx, dy) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
            let (x, y) = (left.floor() as isize + dx, top.floor() as isize + dy);
            let near = (1.0 - (left - x as f32).abs()).max(0.0) * (1.0 - (top - y as f32).abs()).max(0.0);
            self.blend(window, [x, y], colour, strength * near);
        }
    }

    /// A disc with a smooth edge.
    pub fn disc(&mut self, window: Window, at: [f32; 2], radius: f32, colour: [u8; 3]) {
        let reach = radius.ceil() as isize + 1;
        for y in at[1] as isize - reach..=at[1] as isize + reach {
            for x in at[0] as isize - reach..=at[0] as isize + reach {
                let away = (x as f32 + 0.5 - at[0]).hypot(y as f32 + 0.5 - at[1]);
                self.blend(window, [x, y], colour, (radius + 0.5 - away).clamp(0.0, 1.0));
            }
        }
    }

    /// A filled rectangle.
    pub fn bar(&mut self, [left, top, right, bottom]: Window, colour: [u8; 3]) {
        for y in top..bottom.min(self.size[1]) {
            for x in left..right.min(self.size[0]) {
                self.pixels[x + self.size[0] * y] = colour;
            }
        }
    }

    fn blend(&mut self, [left, top, right, bottom]: Window, [x, y]: [isize; 2], colour: [u8; 3], share: f32) {
        let inside = x >= left as isize && y >= top as isize && x < right as isize && y < bottom as isize;
        if !inside || share <= 0.0 {
            return;
        }
        let pixel = &mut self.pixels[x as usize + self.size[0] * y as usize];
        for channel in 0..3 {
            let old = f32::from(pixel[channel]);
            pixel[channel] = (old + share.min(1.0) * (f32::from(colour[channel]) - old)) as u8;
        }
    }
}

/// A picture as PNG.
pub fn png([width, height]: [usize; 2], pixels: &[[u8; 3]]) -> Result<Vec<u8>, String> {
    let mut png = Vec::new();
    PngEncoder::new(&mut png)
        .write_image(pixels.as_flattened(), width as u32, height as u32, ExtendedColorType::Rgb8)
        .map_err(|e| format!("the picture can't be written: {e}"))?;
    Ok(png)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn streaks_stay_in_their_window() {
        let mut picture = Picture { size: [20, 10], pixels: vec![[0; 3]; 200] };
        picture.streak([4, 2, 12, 8], [-5.0, 5.0], [25.0, 5.0], [255; 3], 1.0);
        picture.disc([4, 2, 12, 8], [4.0, 2.0], 3.0, [255; 3]);
        let lit: Vec<usize> = (0..200).filter(|i| picture.pixels[*i] != [0; 3]).collect();
        assert!(!lit.is_empty() && lit.iter().all(|i| (4..12).contains(&(i % 20)) && (2..8).contains(&(i / 20))));
    }
}
