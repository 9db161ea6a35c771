//! What stands round a map: title, colour scale, scale bar, edge words, key.

use super::canvas::{Anchor, Canvas, Style, number};
use super::frame::Frame;
use super::scale::Scale;
use super::theme::{self, MARGIN, WIDTH};
use super::view::{Depth, Side, View};
use crate::report::shown::{shortened, tank_speed_unit};
use crate::units::Display;

/// Title and the line under it.
pub fn title(canvas: &mut Canvas, title: &str, under: &str) {
    canvas.text([MARGIN, MARGIN + 20.0], Style::new(22.0).bold(), title);
    canvas.text([MARGIN, MARGIN + 43.0], Style::new(14.0).fill(theme::SOFT_INK), &shortened(under, 118));
}

/// The colour scale with its ticks.
pub fn colour_scale(canvas: &mut Canvas, frame: &Frame, scale: Scale, display: Display) {
    let (x, y, height) = (frame.right() + 26.0, frame.at[1] + 34.0, (frame.extent()[1] - 34.0).clamp(120.0, 360.0));
    let [least, most] = scale.ends();
    let stops: String = (0..=20)
        .map(|i| {
            let share = f64::from(i) / 20.0;
            let [r, g, b] = scale.colour(least + share * (most - least));
            format!("<stop offset=\"{}\" stop-color=\"#{r:02x}{g:02x}{b:02x}\"/>", number(share))
        })
        .collect();
    canvas.raw(&format!("<defs><linearGradient id=\"scale\" x1=\"0\" y1=\"1\" x2=\"0\" y2=\"0\">{stops}</linearGradient></defs>"));
    canvas.rect([x, y], [18.0, height], &format!("fill=\"url(#scale)\" stroke=\"{}\" stroke-width=\"0.8\"", theme::INK));
    canvas.text([x, y - 24.0], Style::new(12.5).bold(), scale.words());
    canvas.text([x, y - 9.0], Style::new(12.5), tank_speed_unit(display));
    for i in 0..=4 {
        let share = f64::from(i) / 4.0;
        let at = y + height * (1.0 - share);
        canvas.line([x + 18.0, at], [x + 23.0, at], &format!("stroke=\"{}\"", theme::INK));
        canvas.text([x + 27.0, at + 4.5], Style::new(12.5), &scale.tick(share, display));
    }
}

/// What lies at each edge, and a bar of known length.
pub fn edges_and_bar(canvas: &mut Canvas, frame: &Frame, display: Display) {
    let [left, right, lower, upper] = frame.side.edges();
    let soft = Style::new(12.5).fill(theme::SOFT_INK);
    let (middle_x, middle_y) = (0.5 * (frame.at[0] + frame.right()), 0.5 * (frame.at[1] + frame.bottom()));
    sideways(canvas, [frame.at[0] - 9.0, middle_y], left);
    sideways(canvas, [frame.right() + 17.0, middle_y], right);
    canvas.text([middle_x, frame.bottom() + 17.0], soft.anchor(Anchor::Middle), lower);
    canvas.text([middle_x, frame.at[1] - 7.0], soft.anchor(Anchor::Middle), upper);
    let (length, words) = bar_length(frame.size[0], display);
    let (x, y, wide) = (frame.at[0], frame.bottom() + 34.0, length * frame.scale);
    canvas.rect([x, y - 5.0], [wide, 5.0], &format!("fill=\"{}\"", theme::INK));
    canvas.rect([x + 0.5 * wide, y - 4.0], [0.5 * wide - 1.0, 3.0], "fill=\"#ffffff\"");
    canvas.text([x + wide + 8.0, y + 1.5], Style::new(12.5), &words);
}

fn sideways(canvas: &mut Canvas, at: [f64; 2], text: &str) {
    let [x, y] = at.map(number);
    canvas.raw(&format!("<g transform=\"rotate(-90 {x} {y})\">"));
    canvas.text(at, Style::new(12.5).fill(theme::SOFT_INK).anchor(Anchor::Middle), text);
    canvas.raw("</g>");
}

/// A round length (m) of about a fifth of `size`, and how to say it.
fn bar_length(size: f64, display: Display) -> (f64, String) {
    let lengths: &[(f64, &str)] = match display {
        Display::Us => {
            &[(0.0254, "1 in"), (0.0762, "3 in"), (0.1524, "6 in"), (0.3048, "1 ft"), (0.6096, "2 ft"), (1.524, "5 ft"), (3.048, "10 ft")]
        }
        Display::Metric => {
            &[(0.02, "20 mm"), (0.05, "50 mm"), (0.1, "100 mm"), (0.2, "200 mm"), (0.5, "500 mm"), (1.0, "1 m"), (2.0, "2 m")]
        }
    };
    let near = |l: &&(f64, &str)| (l.0 / (0.2 * size)).ln().abs();
    let (length, words) = lengths.iter().min_by(|a, b| near(a).total_cmp(&near(b))).copied().unwrap_or((1.0, "1 m"));
    (length, words.to_owned())
}

/// What each mark means.
pub fn key(canvas: &mut Canvas, frame: &Frame, view: View, dead: Option<&str>, scale: Scale) {
    let y = frame.bottom() + 64.0;
    let mut x = MARGIN;
    let mut entry = |canvas: &mut Canvas, text: &str, draw: &dyn Fn(&mut Canvas, [f64; 2])| {
        draw(canvas, [x + 12.0, y - 4.5]);
        let style = Style::new(12.5);
        canvas.text([x + 30.0, y], style, text);
        x += 30.0 + style.width_of(text) + 20.0;
    };
    entry(canvas, "nozzle, aim", &|c, at| super::marks::nozzle_mark(c, [at[0] - 6.0, at[1]], [0.5, 0.0, 0.8]));
    entry(canvas, "intake", &|c, at| super::marks::intake_mark(c, at));
    let rock = if view.depth == Depth::Mean { "rock at any height" } else { "rock, cut" };
    entry(canvas, rock, &|c, at| swatch(c, at, theme::ROCK));
    if view.depth != Depth::Mean && view.side != Side::Above {
        entry(canvas, "sand", &|c, at| swatch(c, at, theme::SAND));
    }
    entry(canvas, "overflow, brace", &|c, at| swatch(c, at, theme::FITTED));
    if let Some(words) = dead {
        entry(canvas, words, &|c, at| {
            let ground = if matches!(scale, Scale::Speed(_)) { "#123570" } else { "#ffffff" };
            c.rect([at[0] - 10.0, at[1] - 7.0], [20.0, 14.0], &format!("fill=\"{ground}\""));
            let look = format!("fill=\"url(#dead)\" stroke=\"{}\" stroke-width=\"1.5\"", scale.mark());
            c.rect([at[0] - 9.0, at[1] - 6.0], [18.0, 12.0], &look);
        });
    }
    if matches!(scale, Scale::Speed(_)) {
        entry(canvas, "mean direction", &|c, at| {
            c.path(&super::marks::arrow(at, [1.0, 0.0], 18.0), &format!("fill=\"none\" stroke=\"{}\" stroke-width=\"1.2\"", theme::INK));
        });
    }
    debug_assert!(x <= WIDTH + 40.0, "the key is too long: {x}");
}

fn swatch(canvas: &mut Canvas, at: [f64; 2], (ground, hatch): theme::Tint) {
    let hex = |c: [u8; 3]| format!("#{:02x}{:02x}{:02x}", c[0], c[1], c[2]);
    let look = format!("fill=\"{}\" stroke=\"{}\" stroke-width=\"1.2\"", hex(ground), hex(theme::EDGE));
    canvas.rect([at[0] - 10.0, at[1] - 7.0], [20.0, 14.0], &look);
    for s in [-4.0, 2.0] {
        canvas.line(
            [at[0] + s - 3.0, at[1] + 6.0],
            [at[0] + s + 8.0, at[1] - 6.0],
            &format!("stroke=\"{}\" stroke-width=\"1.4\"", hex(hatch)),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_round() {
        assert_eq!(bar_length(2.4, Display::Metric).1, "500 mm");
        assert_eq!(bar_length(2.4, Display::Us).1, "2 ft");
    }
}
