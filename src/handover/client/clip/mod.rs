//! The clip: one round of the moving water from above and from the front, drawn in software.

pub mod film;
mod paint;
mod stage;

pub use paint::png;

use super::drift::Drift;
use super::{Shown, scene};
use crate::handover::files::Sheet;
use crate::study::Control;
use film::Film;
use stage::Stage;

/// Name of the clip's file.
pub const CLIP: &str = "clip.gif";
/// Frames in a second.
const FRAMES_PER_S: f64 = 10.0;
/// Length of the clip, s.
const LENGTH_S: f64 = 12.0;
/// The picture goes no faster than this many times the tank; a longer round is cut.
const FASTEST: f64 = 8.0;
/// Marks in the water.
const MARKS: usize = 1100;
/// Time that the marks drift before the first frame, s.
const WARM_UP: f64 = 6.0;

/// The clip, or nothing when `watch`, which is told the share that is done, answers [`Control::Stop`].
///
/// # Errors
/// When a picture can't be drawn or encoded: a slip of ours, told in words.
pub fn clip(shown: &Shown, watch: &mut dyn FnMut(f64) -> Control) -> Result<Option<Sheet>, String> {
    let jets = scene::jets(shown);
    let frames = (LENGTH_S * FRAMES_PER_S).round() as usize;
    let length = shown.motion.length().min(FASTEST * LENGTH_S);
    let pace = length / LENGTH_S;
    let stage = Stage::new(shown, &jets, pace)?;
    let mut drift = Drift::new(shown.motion, &jets, MARKS);
    drift.advance(0.0, WARM_UP);
    let mut film = Film::new(stage.size(), (100.0 / FRAMES_PER_S).round() as u16, &stage.painted(&drift.marks, 0.3 * length)?)?;
    for frame in 0..frames {
        if watch(frame as f64 / frames as f64) == Control::Stop {
            return Ok(None);
        }
        let time = length * frame as f64 / frames as f64;
        drift.advance(time, length / frames as f64);
        film.add(&stage.painted(&drift.marks, time)?)?;
    }
    film.finish().map(|bytes| Some(Sheet::ready(CLIP, bytes).purpose("For the client: the same water, in a mail or a message.")))
}

/// One moment of the clip as a PNG, for where nothing can move.
///
/// # Errors
/// When it can't be drawn.
pub fn still(shown: &Shown) -> Result<Vec<u8>, String> {
    let jets = scene::jets(shown);
    let mut drift = Drift::new(shown.motion, &jets, MARKS);
    drift.advance(0.0, WARM_UP);
    let stage = Stage::new(shown, &jets, 1.0)?;
    paint::png(stage.size(), &stage.painted(&drift.marks, 0.0)?)
}
