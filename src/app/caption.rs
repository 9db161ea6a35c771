//! What stands on stills and clips: the user's words or the layout's name, what runs at that moment, and what the colours mean.

use super::kept::{Compare, Side};
use super::model::Model;
use super::palette::{colour, difference, tick, ticks_between};
use super::ui::legend;
use super::ui::theme::Theme;
use crate::report::pictures::{escaped, lay_over};
use crate::report::shown::shortened;
use bevy_egui::egui::Color32;

/// Height of the picture that sizes are meant for; larger ones are scaled up.
const HEIGHT: f32 = 540.0;
/// Width and height of the bar of colours.
const BAR: [f32; 2] = [220.0, 9.0];
/// Distance from the edges.
const EDGE: f32 = 18.0;

/// The words of one picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Caption {
    title: String,
    under: String,
    letters: Vec<(String, [f32; 2])>,
    legend: Option<Legend>,
    ink: Color32,
    soft: Color32,
    ground: Color32,
}

#[derive(Debug, Clone, PartialEq)]
struct Legend {
    title: String,
    ends: [f64; 2],
    differs: bool,
}

impl Caption {
    /// Of what the model shows now. `rooms`: lower left corners of the pictures of the sides, shares of the whole picture.
    pub fn new(model: &Model, own_words: &str, rooms: &[(Side, [f32; 2])]) -> Self {
        let layout = model.document.layout();
        let theme = Theme::of(model.desk.look);
        let title = if own_words.trim().is_empty() { layout.name.clone() } else { own_words.trim().to_owned() };
        let letter = |side: Side| match (side, &model.kept) {
            (Side::Kept, Some(kept)) => format!("A   {}", shortened(&kept.name, 40)),
            _ => "B".to_owned(),
        };
        let compared = model.kept.is_some() && model.desk.compare != Compare::Alone;
        let letters = rooms.iter().filter(|_| compared && rooms.len() > 1).map(|(side, at)| (letter(*side), *at)).collect();
        Self {
            title: shortened(&title, 70),
            under: now(model),
            letters,
            legend: legend(model),
            ink: theme.text,
            soft: theme.muted,
            ground: theme.panel,
        }
    }

    /// Put them on a picture of 8-bit RGB pixels.
    ///
    /// # Errors
    /// When they can't be drawn: a slip of ours, told in words.
    pub fn put_on(&self, rgb: &mut [u8], size: [u32; 2]) -> Result<(), String> {
        let scale = size[1] as f32 / HEIGHT;
        lay_over(rgb, size[0] as usize, &self.svg(size[0] as f32 / scale), scale)
    }

    fn svg(&self, width: f32) -> String {
        let mut svg = format!("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{HEIGHT}\" font-family=\"Noto Sans\">");
        let low = HEIGHT - EDGE;
        svg += &self.text([EDGE, low - 20.0], 19.0, self.ink, "bold", "start", &self.title);
        svg += &self.text([EDGE, low], 12.5, self.soft, "normal", "start", &self.under);
        for (letter, at) in &self.letters {
            let foot = at[1] * HEIGHT - 62.0;
            svg += &self.text([at[0] * width + EDGE, foot], 15.0, self.ink, "bold", "start", letter);
        }
        if let Some(legend) = &self.legend {
            svg += &self.scale(legend, width - EDGE - BAR[0], low - 22.0);
        }
        svg + "</svg>"
    }

    /// With a rim in the ground's colour, to be read over anything.
    fn text(&self, at: [f32; 2], size: f32, ink: Color32, weight: &str, anchor: &str, text: &str) -> String {
        format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{size}\" font-weight=\"{weight}\" text-anchor=\"{anchor}\" fill=\"{}\" stroke=\"{}\" \
             stroke-width=\"3\" stroke-linejoin=\"round\" paint-order=\"stroke\">{}</text>",
            at[0],
            at[1],
            hex(ink),
            hex(self.ground),
            escaped(text)
        )
    }

    fn scale(&self, legend: &Legend, x: f32, y: f32) -> String {
        const STEPS: usize = 44;
        let map = if legend.differs { difference } else { colour };
        let mut svg = self.text([x, y - 6.0], 12.5, self.ink, "normal", "start", &legend.title);
        let wide = BAR[0] / STEPS as f32;
        for i in 0..STEPS {
            let [r, g, b] = map((i as f32 + 0.5) / STEPS as f32);
            let at = x + i as f32 * wide;
            svg += &format!("<rect x=\"{at}\" y=\"{y}\" width=\"{}\" height=\"{}\" fill=\"rgb({r},{g},{b})\"/>", wide + 0.4, BAR[1]);
        }
        let [low, top] = legend.ends;
        for t in ticks_between(low, top) {
            let share = ((t - low) / (top - low)) as f32;
            let anchor = if share < 0.02 {
                "start"
            } else if share > 0.98 {
                "end"
            } else {
                "middle"
            };
            let number = tick(t, top, legend.differs);
            svg += &self.text([x + share * BAR[0], y + BAR[1] + 13.0], 11.5, self.soft, "normal", anchor, &number);
        }
        svg
    }
}

fn hex(c: Color32) -> String {
    format!("#{:02x}{:02x}{:02x}", c.r(), c.g(), c.b())
}

/// The sequence, which outlets are open, and when: "slow turn: A1, B2 open, 12.3 s of 120 s".
pub fn now(model: &Model) -> String {
    let layout = model.document.layout();
    let Some(schedule) = &model.live.schedule else { return String::new() };
    let time = model.desk.playhead;
    let most = |i: usize| schedule.times.iter().map(|t| schedule.nozzle_at(i, *t).0).fold(0.0, f64::max);
    let open = |i: &usize| schedule.nozzle_at(*i, time).0 > 0.25 * most(*i).max(1e-9);
    let names: Vec<&str> = (0..layout.nozzles.len()).filter(open).map(|i| layout.nozzles[i].id.as_str()).collect();
    let running = if names.is_empty() { "nothing runs".to_owned() } else { format!("{} running", names.join(", ")) };
    let sequence = layout.active_sequence().map(|s| format!("{}: ", s.id)).unwrap_or_default();
    shortened(&format!("{sequence}{running}, {:.0} s of {:.0} s", time.rem_euclid(schedule.period), schedule.period), 110)
}

fn legend(model: &Model) -> Option<Legend> {
    let (unit, factor) = legend::unit(model);
    let ends = model.desk.scale.map(|end| f64::from(end) / factor);
    let title = format!("{}, {unit}", legend::title(model));
    legend::is_wanted(model).then_some(Legend { title, ends, differs: legend::differs(model) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::document::Document;

    #[test]
    fn words_stand_low_in_the_picture() {
        let model = Model::new(Document::new(crate::layout::demo(), None, None));
        assert!(now(&model).contains("running"), "{}", now(&model));
        let caption = Caption::new(&model, "Peninsula <for> you", &[]);
        let mut rgb = vec![40; 3 * 320 * 180];
        caption.put_on(&mut rgb, [320, 180]).unwrap();
        let row = |y: usize| rgb[3 * 320 * y..3 * 320 * (y + 1)].iter().any(|c| *c != 40);
        assert!((150..180).any(row) && !(0..100).any(row));
        assert!(Caption::new(&model, "", &[]).title == crate::layout::demo().name);
    }
}
