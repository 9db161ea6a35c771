//! The panels: plain functions from what is seen to what is asked for. They import egui, not Bevy.

mod beside;
mod diagram;
mod diagram_end;
mod diagram_pipe;
mod dial;
mod edit_part;
mod edit_pipes;
mod edit_port;
mod edit_rock;
mod edit_sequence;
mod fields;
mod full_study;
mod grab;
mod guide;
mod handles;
mod help;
mod hint;
mod hover;
mod keys;
pub mod legend;
mod marks;
mod meaning;
mod menu;
mod net;
mod notice;
mod parts;
mod pop;
mod prompts;
mod properties;
mod record;
mod rulers;
mod see;
mod sheets;
mod strip;
mod sure;
pub mod theme;
mod timeline;
mod transport;
mod verdict;
pub mod words;

use super::action::Action;
use super::desk::Lower;
use super::model::Model;
use bevy_egui::egui::{Frame, Key, Panel, Rect, Ui};
use theme::Theme;

/// What panels see.
#[derive(Clone, Copy)]
pub struct Seen<'a> {
    /// Document, desk, and what is known.
    pub model: &'a Model,
}

impl Seen<'_> {
    /// Colours.
    pub fn theme(&self) -> Theme {
        Theme::of(self.model.desk.look)
    }
}

/// Height of the lower panel, points.
fn lower(seen: &Seen, whole: f32) -> f32 {
    let high = match seen.model.desk.lower {
        Lower::Sequence => timeline::height(seen).min((whole * 0.34).max(theme::BOTTOM.1)).min(whole * 0.5),
        Lower::Plumbing => diagram::height(seen).min(whole * 0.42),
    };
    high.max(theme::BOTTOM.0)
}

/// The whole window; returns what is left for the picture.
pub fn shell(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) -> Rect {
    let size = ui.available_size();
    let theme = seen.theme();
    if ui.input(|i| i.pointer.any_pressed()) {
        out.push(Action::Press);
    }
    keys::keys(ui, seen, out);
    let frame = Frame::new().fill(theme.panel).inner_margin(theme::margin());
    if seen.model.desk.shown.panels {
        let bar = Frame::new().fill(theme.panel).inner_margin(bevy_egui::egui::Margin::symmetric(theme::PAD, 4));
        Panel::top("menu").frame(bar).show(ui, |ui| menu::bar(ui, seen, out));
        if size.y > theme::LOW {
            Panel::bottom("time").exact_size(lower(seen, size.y)).frame(frame).show(ui, |ui| {
                transport::row(ui, seen, out);
                match seen.model.desk.lower {
                    Lower::Sequence => timeline::panel(ui, seen, out),
                    Lower::Plumbing => diagram::panel(ui, seen, out),
                }
            });
        }
        if size.x > theme::TINY {
            Panel::right("verdict").exact_size(theme::RIGHT).frame(frame).show(ui, |ui| {
                Panel::bottom("sure").resizable(false).frame(Frame::new()).show(ui, |ui| sure::panel(ui, seen, out));
                if seen.model.kept.is_some() {
                    beside::tabs(ui, seen, out);
                }
                match seen.model.desk.against && seen.model.kept.is_some() {
                    true => beside::panel(ui, seen),
                    false => verdict::panel(ui, seen, out),
                }
            });
        }
        if size.x > theme::NARROW {
            Panel::left("parts").exact_size(theme::LEFT).frame(frame).show(ui, |ui| parts::panel(ui, seen, out));
        }
    }
    let free = ui.available_rect_before_wrap();
    let panes = seen.model.panes(free);
    let window = ui.clip_rect();
    ui.set_clip_rect(panes.own);
    marks::draw(ui, panes.own, seen, out);
    ui.set_clip_rect(window);
    beside::overlay(ui, free, panes, seen, out);
    if seen.model.desk.shown.panels {
        see::overlay(ui, free, seen, out);
    }
    legend::overlay(ui, free, seen, out);
    hover::draw(ui, panes.own, seen);
    record::overlay(ui, free, seen, out);
    hint::overlay(ui, panes.own, seen);
    notice::overlay(ui, free, seen, out);
    prompts::show(ui, seen, out);
    // What is typed into the next field is another step of the history, as the next drag is.
    if ui.input(|i| i.pointer.any_released() || i.key_pressed(Key::Tab) || i.key_pressed(Key::Enter)) {
        out.push(Action::Release);
    }
    free
}
