//! The picture round the moving marks: two views of the tank on one scale, title, colour scale, scale bar, time.

use super::super::Shown;
use super::super::drift::Mark;
use super::super::relief::{Relief, Side};
use super::super::scene::{self, JetMark};
use super::paint::{Picture, Window, png};
use crate::report::pictures::{self, escaped};
use crate::report::shown::{duration, shortened, trimmed};
use crate::units::{Display, LengthKind, show};
use base64::Engine;
use glam::DVec3;

/// Room round everything, and between the views; px.
const MARGIN: f64 = 20.0;
const BETWEEN: f64 = 34.0;
/// Room for title and foot; px.
const HEAD: f64 = 84.0;
const FOOT: f64 = 62.0;
/// Largest views; px.
const WIDEST: f64 = 720.0;
const TALLEST: f64 = 470.0;
/// Narrowest picture: the words need it; px.
const NARROWEST: f64 = 600.0;
/// Length of a mark's trail, s at the pace of the tank.
const TRAIL: f32 = 0.5;
const INK: &str = "#dfe7ec";
const SOFT: &str = "#93a5b1";
const DEEP: &str = "#0d161d";
const RUNNING: [u8; 3] = [242, 140, 56];
const RESTING: [u8; 3] = [120, 134, 144];
/// Time, px: at the left of the foot.
const CLOCK: [f64; 2] = [150.0, 22.0];

/// Everything that stays the same from frame to frame, and how the rest is put on it.
pub struct Stage<'a> {
    base: Picture,
    views: [View; 2],
    jets: &'a [JetMark],
    colours: Vec<[u8; 3]>,
    top: f32,
    size: DVec3,
    trail: f32,
    length: f64,
    times: &'a [f64],
}

struct View {
    relief: Relief,
    at: [f64; 2],
}

impl<'a> Stage<'a> {
    /// For a clip that runs `pace` times as fast as the tank.
    pub fn new(shown: &Shown<'a>, jets: &'a [JetMark], pace: f64) -> Result<Self, String> {
        let layout = shown.layout();
        let size = layout.tank.size();
        let (scale, places, picture) = arranged(size);
        let views =
            [(Side::Above, places[0]), (Side::Front, places[1])].map(|(side, at)| View { relief: Relief::new(layout, side, scale), at });
        let top = scene::scale(shown);
        let svg = svg(shown, &views, picture, scale, top, pace)?;
        let base = Picture::read(&pictures::png(&svg, 1.0)?)?;
        let trail = TRAIL * pace.clamp(1.0, 2.0) as f32;
        let (length, times) = (shown.motion.length(), shown.motion.times.as_slice());
        Ok(Self { base, views, jets, colours: scene::colours(), top: top as f32, size, trail, length, times })
    }

    /// Pixels across and down.
    pub fn size(&self) -> [usize; 2] {
        self.base.size
    }

    /// The picture with these marks at a time, s after the first recorded frame.
    pub fn painted(&self, marks: &[Mark], time: f64) -> Result<Vec<[u8; 3]>, String> {
        let mut picture = self.base.clone();
        for view in &self.views {
            marks.iter().for_each(|mark| self.mark(&mut picture, view, mark));
            self.jets.iter().for_each(|jet| self.jet(&mut picture, view, jet, time));
        }
        self.clock(&mut picture, time)?;
        Ok(picture.pixels)
    }

    fn mark(&self, picture: &mut Picture, view: &View, mark: &Mark) {
        let point = |p: [f32; 3]| view.relief.side.seen(DVec3::from_array(p.map(f64::from)), self.size);
        let head = point(mark.at);
        if !view.relief.shows(head) {
            return;
        }
        let tail = point(std::array::from_fn(|axis| mark.at[axis] - self.trail * mark.velocity[axis]));
        let speed = mark.velocity.iter().map(|v| v * v).sum::<f32>().sqrt();
        let colour = self.colours[((speed / self.top).min(1.0) * (self.colours.len() - 1) as f32).round() as usize];
        picture.streak(view.window(), view.pixel(tail), view.pixel(head), colour, mark.fade());
    }

    fn jet(&self, picture: &mut Picture, view: &View, jet: &JetMark, time: f64) {
        let (at, _, _) = jet.mouth();
        let share = jet.share_at(self.times, time);
        let colour = std::array::from_fn(|c| (f64::from(RESTING[c]) + share * (f64::from(RUNNING[c]) - f64::from(RESTING[c]))) as u8);
        let at = view.pixel(view.relief.side.seen(DVec3::from_array(at.map(f64::from)), self.size));
        let [l, t, r, b] = view.window();
        let around = [l.saturating_sub(6), t.saturating_sub(6), r + 6, b + 6];
        picture.disc(around, at, 3.2 + 1.6 * share as f32, colour);
    }

    fn clock(&self, picture: &mut Picture, time: f64) -> Result<(), String> {
        let [width, height] = self.base.size;
        let words = format!("{:.0} s of {}", time, duration(self.length.round()));
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\"><rect width=\"{w}\" height=\"{h}\" fill=\"{DEEP}\"/>{}</svg>",
            text([0.0, 16.0], 14.0, "bold", INK, &words),
            w = CLOCK[0],
            h = CLOCK[1]
        );
        picture.lay(&Picture::read(&pictures::png(&svg, 1.0)?)?, [MARGIN as usize, height - 34]);
        let (left, right) = (MARGIN as usize, width - MARGIN as usize);
        let now = left + ((right - left) as f64 * (time / self.length.max(1e-9)).min(1.0)) as usize;
        picture.bar([left, height - 8, right, height - 5], [38, 54, 64]);
        picture.bar([left, height - 8, now, height - 5], RUNNING);
        Ok(())
    }
}

impl View {
    fn window(&self) -> Window {
        let [left, top] = self.at.map(|x| x as usize);
        [left, top, left + self.relief.width, top + self.relief.height]
    }

    fn pixel(&self, [right, up, _]: [f64; 3]) -> [f32; 2] {
        let scale = self.relief.scale;
        [(self.at[0] + right * scale) as f32, (self.at[1] + self.relief.height as f64 - up * scale) as f32]
    }
}

/// Pixels to a metre, top left corners of the views from above and from the front, size of the picture.
fn arranged(size: DVec3) -> (f64, [[f64; 2]; 2], [f64; 2]) {
    let is_long = size.x >= 0.9 * (size.y + size.z);
    let scale = match is_long {
        true => (WIDEST / size.x).min(TALLEST / (size.y + size.z)),
        false => ((WIDEST - BETWEEN) / (2.0 * size.x)).min(TALLEST / size.y.max(size.z)),
    };
    let [l, w, h] = (size * scale).to_array().map(f64::round);
    let (across, down) = if is_long { (l, w + BETWEEN + h) } else { (2.0 * l + BETWEEN, w.max(h)) };
    let width = (across + 2.0 * MARGIN).max(NARROWEST).ceil();
    let left = ((width - across) / 2.0).round();
    let second = if is_long { [left, HEAD + w + BETWEEN] } else { [left + l + BETWEEN, HEAD + down - h] };
    let first = if is_long { [left, HEAD] } else { [left, HEAD + down - w] };
    (scale, [first, second], [width, (HEAD + down + FOOT + MARGIN).ceil()])
}

fn svg(shown: &Shown, views: &[View; 2], picture: [f64; 2], scale: f64, top: f64, pace: f64) -> Result<String, String> {
    let [width, height] = picture;
    let mut body = format!("<rect width=\"{width}\" height=\"{height}\" fill=\"{DEEP}\"/>");
    body += &text([MARGIN, 32.0], 20.0, "bold", INK, &shortened(&shown.layout().name, 48));
    body += &text([MARGIN, 52.0], 13.0, "normal", SOFT, &under(pace));
    for (view, words) in views.iter().zip(["seen from above, front at the bottom", "seen from the front"]) {
        body += &framed(view, words, shown)?;
    }
    body += &colour_scale([width - MARGIN - 235.0, height - 54.0], top, shown.layout().display);
    body += &scale_bar([MARGIN + 170.0, height - 24.0], scale, shown.layout().display);
    Ok(format!("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\">{body}</svg>"))
}

fn under(pace: f64) -> String {
    let fast = if pace > 1.05 { format!("{} times as fast as in the tank; ", trimmed(pace, 1)) } else { String::new() };
    format!("{fast}computed, an estimate; orange: nozzle that runs, grey: nozzle that rests")
}

fn framed(view: &View, words: &str, shown: &Shown) -> Result<String, String> {
    let [x, y] = view.at;
    let (w, h) = (view.relief.width, view.relief.height);
    let data = base64::engine::general_purpose::STANDARD.encode(png([w, h], &view.relief.colours)?);
    let level = match view.relief.side {
        Side::Above => String::new(),
        Side::Front => {
            let line = y + h as f64 - shown.layout().tank.water_level.si() * view.relief.scale;
            let air = line - y;
            format!(
                "<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{air}\" fill=\"{DEEP}\" fill-opacity=\"0.6\"/>\
                 <path d=\"M{x} {line}h{w}\" stroke=\"#6fb6e0\" stroke-width=\"1\"/>"
            )
        }
    };
    Ok(format!(
        "<image x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" href=\"data:image/png;base64,{data}\"/>{level}\
         <rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill=\"none\" stroke=\"#9fc4d8\" stroke-width=\"1.4\"/>{}",
        text([x, y - 8.0], 12.5, "normal", SOFT, words)
    ))
}

fn colour_scale([x, y]: [f64; 2], top: f64, display: Display) -> String {
    let colours = scene::colours();
    let last = (colours.len() - 1) as f64;
    let stops: String = colours
        .iter()
        .enumerate()
        .map(|(i, [r, g, b])| format!("<stop offset=\"{:.3}\" stop-color=\"#{r:02x}{g:02x}{b:02x}\"/>", i as f64 / last))
        .collect();
    let [none, half, most] = scene::ticks(top, display);
    let tick = |share: f64, words: &str| text([x + share * 120.0, y + 36.0], 12.0, "normal", INK, words);
    format!(
        "<defs><linearGradient id=\"speed\">{stops}</linearGradient></defs>{}<rect x=\"{x}\" y=\"{}\" width=\"120\" height=\"8\" fill=\"url(#speed)\"/>{}{}{}",
        text([x, y + 8.0], 12.0, "normal", SOFT, "speed of the water"),
        y + 14.0,
        tick(0.0, &none),
        tick(0.5, &half),
        tick(1.0, &most)
    )
}

/// A bar of a round length about 100 px long.
fn scale_bar([x, y]: [f64; 2], scale: f64, display: Display) -> String {
    let wanted = 110.0 / scale;
    let lengths: &[f64] = match display {
        Display::Us => &[0.1524, 0.3048, 0.6096, 0.9144, 1.8288],
        Display::Metric => &[0.1, 0.2, 0.25, 0.5, 1.0, 2.0],
    };
    let length = lengths.iter().copied().filter(|l| *l <= wanted).fold(lengths[0], f64::max);
    let long = length * scale;
    let words = match display {
        Display::Us => format!("{} in", trimmed(length / 0.0254, 1)),
        Display::Metric => show::<LengthKind>(length, display),
    };
    format!(
        "<path d=\"M{x} {}v8m0 -4h{long}m0 -4v8\" stroke=\"{INK}\" stroke-width=\"1.4\" fill=\"none\"/>{}",
        y - 9.0,
        text([x + long + 8.0, y], 12.5, "normal", INK, &words)
    )
}

fn text([x, y]: [f64; 2], size: f64, weight: &str, fill: &str, words: &str) -> String {
    format!(
        "<text x=\"{x}\" y=\"{y}\" font-family=\"Noto Sans\" font-size=\"{size}\" font-weight=\"{weight}\" fill=\"{fill}\">{}</text>",
        escaped(words)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn views_fit_their_picture() {
        for size in [
            DVec3::new(4.0, 2.0, 0.82),
            DVec3::new(2.4, 1.0, 0.85),
            DVec3::new(0.9, 0.55, 0.56),
            DVec3::new(1.0, 1.0, 1.0),
            DVec3::new(0.3, 0.3, 2.0),
        ] {
            let (scale, [above, front], [width, height]) = arranged(size);
            assert!(above[0] + size.x * scale <= width - MARGIN + 1.0 && front[0] + size.x * scale <= width - MARGIN + 1.0, "{size}");
            assert!(above[1] + size.y * scale <= height - FOOT && front[1] + size.z * scale <= height - FOOT, "{size}");
            let apart = front[1] >= above[1] + size.y * scale + 20.0 || front[0] >= above[0] + size.x * scale + 20.0;
            assert!(apart && above[1] >= HEAD - 1.0 && width * height < 700_000.0, "{size}");
        }
    }
}
