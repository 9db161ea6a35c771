//! Frames to an animated GIF (89a): one palette for all, and of each frame only what changed.

use color_quant::NeuQuant;
use gif::{DisposalMethod, Encoder, Frame, Repeat};

/// Colours of the palette; one more index means "as before". More would be spent on the faint ends of trails.
const COLOURS: usize = 127;
const AS_BEFORE: u8 = 127;
/// A pixel whose channels all change by no more than this stays as it was: nobody sees it, and the file is half the size.
const UNSEEN: u8 = 9;
/// Of how many pixels one is looked at for the palette; NeuQuant's own scale, 1 the best.
const SAMPLING: i32 = 3;

/// A film that is being written.
pub struct Film {
    size: [usize; 2],
    delay: u16,
    encoder: Encoder<Vec<u8>>,
    quantiser: NeuQuant,
    /// Index of each colour with five bits a channel, found when first asked for.
    known: Vec<Option<u8>>,
    /// Pixels as they were when they were last written.
    before: Vec<[u8; 3]>,
}

impl Film {
    /// Of this size, with so many hundredths of a second to a frame; the palette suits the colours of `sample`.
    pub fn new(size: [usize; 2], delay: u16, sample: &[[u8; 3]]) -> Result<Self, String> {
        let rgba: Vec<u8> = sample.iter().flat_map(|[r, g, b]| [*r, *g, *b, 255]).collect();
        let quantiser = NeuQuant::new(SAMPLING, COLOURS, &rgba);
        let [width, height] = size.map(|edge| u16::try_from(edge).unwrap_or(u16::MAX));
        let mut palette = quantiser.color_map_rgb();
        palette.resize(3 * (COLOURS + 1), 0);
        let mut encoder = Encoder::new(Vec::new(), width, height, &palette).map_err(told)?;
        encoder.set_repeat(Repeat::Infinite).map_err(told)?;
        Ok(Self { size, delay, encoder, quantiser, known: vec![None; 1 << 15], before: Vec::new() })
    }

    /// Adds a picture.
    pub fn add(&mut self, pixels: &[[u8; 3]]) -> Result<(), String> {
        let is_first = self.before.is_empty();
        if is_first {
            self.before = pixels.to_vec();
        }
        let changes: Vec<bool> = pixels.iter().zip(&self.before).map(|(now, old)| is_first || differs(*now, *old)).collect();
        let now: Vec<u8> = pixels.iter().zip(&changes).map(|(rgb, changes)| if *changes { self.index(*rgb) } else { AS_BEFORE }).collect();
        self.encoder.write_frame(&self.frame(&now)).map_err(told)?;
        for ((old, now), changes) in self.before.iter_mut().zip(pixels).zip(changes) {
            if changes {
                *old = *now;
            }
        }
        Ok(())
    }

    /// The file.
    pub fn finish(self) -> Result<Vec<u8>, String> {
        self.encoder.into_inner().map_err(|error| format!("the clip can't be written: {error}"))
    }

    fn index(&mut self, [r, g, b]: [u8; 3]) -> u8 {
        let five = |x: u8| usize::from(x >> 3);
        let slot = five(r) << 10 | five(g) << 5 | five(b);
        if let Some(index) = self.known[slot] {
            return index;
        }
        let middle = |x: u8| (x & 0xf8) | 4;
        let index = self.quantiser.index_of(&[middle(r), middle(g), middle(b), 255]) as u8;
        self.known[slot] = Some(index);
        index
    }

    /// The part that changed; one pixel when nothing did.
    fn frame(&self, now: &[u8]) -> Frame<'static> {
        let width = self.size[0];
        let [left, top, right, bottom] = self.changed(now).unwrap_or([0, 0, 1, 1]);
        let rows = (top..bottom).flat_map(|row| (left..right).map(move |column| column + width * row));
        let buffer: Vec<u8> = rows.map(|i| now[i]).collect();
        let short = |x: usize| u16::try_from(x).unwrap_or(u16::MAX);
        Frame {
            delay: self.delay,
            dispose: DisposalMethod::Keep,
            transparent: Some(AS_BEFORE),
            left: short(left),
            top: short(top),
            width: short(right - left),
            height: short(bottom - top),
            buffer: buffer.into(),
            ..Frame::default()
        }
    }

    /// Left, top, right and bottom of what is different.
    fn changed(&self, now: &[u8]) -> Option<[usize; 4]> {
        let width = self.size[0];
        let different = (0..now.len()).filter(|i| now[*i] != AS_BEFORE);
        different.fold(None, |bounds: Option<[usize; 4]>, i| {
            let (x, y) = (i % width, i / width);
            let [l, t, r, b] = bounds.unwrap_or([x, y, x + 1, y + 1]);
            Some([l.min(x), t.min(y), r.max(x + 1), b.max(y + 1)])
        })
    }
}

fn differs(a: [u8; 3], b: [u8; 3]) -> bool {
    (0..3).any(|channel| a[channel].abs_diff(b[channel]) > UNSEEN)
}

fn told(error: gif::EncodingError) -> String {
    format!("the clip can't be written: {error}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frames_are_read_back() {
        let dark = vec![[0u8, 0, 0]; 64];
        let mut spot = dark.clone();
        spot[27] = [248, 248, 248];
        let mut film = Film::new([8, 8], 8, &spot).unwrap();
        for picture in [&dark, &spot, &spot] {
            film.add(picture).unwrap();
        }
        let bytes = film.finish().unwrap();
        let mut decoder = gif::DecodeOptions::new().read_info(bytes.as_slice()).unwrap();
        let mut areas = Vec::new();
        while let Some(frame) = decoder.read_next_frame().unwrap() {
            areas.push((frame.left, frame.top, frame.width, frame.height, frame.delay));
        }
        assert_eq!(areas, vec![(0, 0, 8, 8, 8), (3, 3, 1, 1, 8), (0, 0, 1, 1, 8)]);
    }
}
