//! One line about what just happened, under the middle of the picture; and what stands in the picture's place while there is no flow.

use super::{Seen, words};
use crate::app::action::Action;
use bevy_egui::egui::{Align2, Area, Frame, Id, Margin, Rect, RichText, Sense, Ui, vec2};

/// Notes go by themselves after this, s; faults stay until read.
const LINGER: f64 = 6.0;

/// The line.
pub fn overlay(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) {
    if !reading(ui, free, seen, out) {
        starting(ui, free, seen);
    }
    let Some(notice) = &seen.model.desk.notice else { return };
    let theme = seen.theme();
    let stays = notice.grade == crate::finding::Grade::Fault;
    if !stays && seen.model.now - notice.since > LINGER {
        out.push(Action::Dismiss);
        return;
    }
    // Over the bar with the ways of comparing.
    let lift = if seen.model.kept.is_some() { 54.0 } else { 14.0 };
    let at = free.center_bottom() - vec2(0.0, lift);
    Area::new(Id::new("notice")).pivot(Align2::CENTER_BOTTOM).fixed_pos(at).show(ui.ctx(), |ui| {
        Frame::new().fill(theme.raised).corner_radius(6).inner_margin(Margin::symmetric(12, 7)).show(ui, |ui| {
            ui.set_max_width(widest(free));
            ui.horizontal_wrapped(|ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(14.0, 14.0), Sense::hover());
                words::mark(ui.painter(), rect.center(), notice.grade, theme.grade(notice.grade));
                ui.label(&notice.text);
                if stays && ui.button("Understood").clicked() {
                    out.push(Action::Dismiss);
                }
            });
        });
    });
}

fn widest(free: Rect) -> f32 {
    (free.width() - 60.0).clamp(160.0, 520.0)
}

/// A file that takes its time; true while there is one.
fn reading(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) -> bool {
    let Some(job) = &seen.model.jobs.reading else { return false };
    let theme = seen.theme();
    let at = free.center_top() + vec2(0.0, 84.0);
    Area::new(Id::new("reading")).pivot(Align2::CENTER_TOP).fixed_pos(at).show(ui.ctx(), |ui| {
        Frame::new().fill(theme.raised).corner_radius(6).inner_margin(Margin::symmetric(12, 7)).show(ui, |ui| {
            ui.horizontal(|ui| {
                ui.spinner();
                ui.label(format!("Reading {}: {:.0} s", job.progress().1, job.seconds()));
                if ui.button("Leave it").clicked() {
                    out.push(Action::StopReading);
                }
            });
        });
    });
    true
}

/// Waited for longer than most changes take: a word on each of them would only flicker.
const LATE: f64 = 0.7;

/// For how long the flow has been behind the layout.
fn late(ui: &Ui, stale: bool) -> bool {
    let (key, now) = (Id::new("stale since"), ui.input(|i| i.time));
    if !stale {
        ui.ctx().data_mut(|d| d.remove_temp::<f64>(key));
        return false;
    }
    now - ui.ctx().data_mut(|d| *d.get_temp_mut_or(key, now)) > LATE
}

fn starting(ui: &mut Ui, free: Rect, seen: &Seen) {
    let live = &seen.model.live;
    let text = match (live.blocked(), &live.snapshot) {
        (Some(_), _) => "The flow stands still: something has to be mended first. The verdict says what.",
        (None, None) => "Setting up the flow…",
        (None, Some(_)) if late(ui, live.stale) => "Taking up the change…",
        (None, Some(_)) => return,
    };
    let theme = seen.theme();
    let at = free.center_top() + vec2(0.0, 84.0);
    Area::new(Id::new("starting")).pivot(Align2::CENTER_TOP).fixed_pos(at).interactable(false).show(ui.ctx(), |ui| {
        Frame::new().fill(theme.panel).corner_radius(6).inner_margin(Margin::symmetric(12, 6)).show(ui, |ui| {
            // Not as narrow as the last words were.
            ui.set_max_width(widest(free));
            ui.label(RichText::new(text).color(theme.muted));
        });
    });
}
