//! The verdict: findings worst first; a click takes the camera there and opens cause and mend.

use super::{Seen, theme, words};
use crate::app::action::Action;
use crate::app::live::{ENOUGH_S, Which};
use crate::finding::{Finding, Grade};
use crate::report::shown::{count, part};
use bevy_egui::egui::{CornerRadius, Frame, Margin, RichText, ScrollArea, Sense, Stroke, Ui, UiBuilder, vec2};

/// The panel.
pub fn panel(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let live = &seen.model.live;
    ui.horizontal(|ui| {
        ui.label(RichText::new("Verdict").heading());
        ui.label(RichText::new(summary(seen)).small().color(seen.theme().muted));
    });
    ScrollArea::vertical().auto_shrink(false).id_salt("verdict").show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 4.0;
        live.findings.iter().enumerate().for_each(|(index, finding)| card(ui, index, finding, seen, out));
        if live.verdict().is_none() {
            hint(ui, seen);
        } else if live.findings.is_empty() {
            let text = "Nothing to mend was found in the plumbing or in the flow averaged so far.";
            ui.label(RichText::new(text).color(seen.theme().muted));
        }
    });
}

fn summary(seen: &Seen) -> String {
    let live = &seen.model.live;
    let count = |grade: Grade| count(live.count(grade), grade.word());
    let grades = [Grade::Fault, Grade::Caution, Grade::Note].into_iter().filter(|g| live.count(*g) > 0);
    grades.map(count).collect::<Vec<_>>().join(", ")
}

/// While the flow has nothing to say yet.
fn hint(ui: &mut Ui, seen: &Seen) {
    let live = &seen.model.live;
    let text = match (live.blocked(), &live.snapshot) {
        (Some(_), _) => "The flow can't be computed until the faults above that say so are mended.".to_owned(),
        (None, _) if !live.moved => "Nothing moves the water yet. Add a closed loop or a propeller pump; the verdict follows.".to_owned(),
        (None, None) => "The flow is being set up…".to_owned(),
        (None, Some(flow)) => waiting(seen, flow.averaged),
    };
    ui.add_space(theme::GAP);
    ui.label(RichText::new(text).small().color(seen.theme().muted));
}

/// How far the averaging is from a verdict.
fn waiting(seen: &Seen, averaged: f64) -> String {
    let period = seen.model.live.schedule.as_ref().map_or(ENOUGH_S, |s| s.period.min(ENOUGH_S));
    format!(
        "Dead spots and colonies are judged from {period:.0} s of averaged flow on; there are {averaged:.0} s so far. Until then, watch the tracers."
    )
}

fn card(ui: &mut Ui, index: usize, finding: &Finding, seen: &Seen, out: &mut Vec<Action>) {
    let theme = seen.theme();
    let open = seen.model.desk.finding.is_some() && seen.model.desk.finding == seen.model.live.which(index);
    let builder = UiBuilder::new().id_salt(("finding", index)).sense(Sense::click());
    let response = ui
        .scope_builder(builder, |ui| {
            let hovered = ui.response().hovered();
            let stroke = if open { Stroke::new(1.0, theme.grade(finding.grade)) } else { Stroke::new(1.0, theme.line) };
            let fill = if hovered { theme.hover } else { theme.raised };
            let frame = Frame::new().fill(fill).stroke(stroke).corner_radius(CornerRadius::same(5)).inner_margin(Margin::symmetric(8, 6));
            frame.show(ui, |ui| {
                ui.set_width(ui.available_width());
                ui.spacing_mut().item_spacing = vec2(4.0, 3.0);
                head(ui, finding, seen);
                ui.add(plain(RichText::new(words::unbroken(&finding.what))));
                if open {
                    body(ui, finding, seen);
                }
            });
        })
        .response;
    if open {
        into_sight(ui, &response, seen.model.live.which(index));
    }
    let name = finding.what.clone();
    response.widget_info(|| bevy_egui::egui::WidgetInfo::labeled(bevy_egui::egui::WidgetType::Button, true, &name));
    if response.on_hover_cursor(bevy_egui::egui::CursorIcon::PointingHand).clicked() {
        out.push(Action::ShowFinding(index));
    }
}

/// What was opened just now is scrolled to, once: its mend may lie below the edge.
fn into_sight(ui: &Ui, response: &bevy_egui::egui::Response, which: Option<Which>) {
    let key = bevy_egui::egui::Id::new("finding in sight");
    let before: Option<(Option<Which>, f32)> = ui.ctx().data(|d| d.get_temp(key));
    let now = (which, response.rect.height());
    if before.as_ref() != Some(&now) {
        response.scroll_to_me(None);
        ui.ctx().data_mut(|d| d.insert_temp(key, now));
    }
}

/// A finding with all that it says, for reading only.
pub fn told(ui: &mut Ui, finding: &Finding, seen: &Seen) {
    let theme = seen.theme();
    let frame = Frame::new().fill(theme.panel).stroke(Stroke::new(1.0, theme.line)).corner_radius(CornerRadius::same(5));
    frame.inner_margin(Margin::symmetric(8, 6)).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.spacing_mut().item_spacing = vec2(4.0, 3.0);
        head(ui, finding, seen);
        ui.add(plain(RichText::new(words::unbroken(&finding.what))));
        body(ui, finding, seen);
    });
}

/// Text that lets clicks through to the card.
fn plain(text: RichText) -> bevy_egui::egui::Label {
    bevy_egui::egui::Label::new(text).selectable(false).wrap()
}

fn head(ui: &mut Ui, finding: &Finding, seen: &Seen) {
    let theme = seen.theme();
    ui.horizontal(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(13.0, 13.0), Sense::hover());
        words::mark(ui.painter(), rect.center(), finding.grade, theme.grade(finding.grade));
        ui.add(plain(RichText::new(finding.grade.word()).small().strong().color(theme.grade(finding.grade))));
        ui.add(plain(RichText::new(part(&finding.part)).small().color(theme.muted)).truncate());
    });
}

fn body(ui: &mut Ui, finding: &Finding, seen: &Seen) {
    let theme = seen.theme();
    ui.add(plain(RichText::new(words::unbroken(&finding.why)).small().color(theme.muted)));
    if !finding.mend.is_empty() {
        ui.add(plain(RichText::new("Mend").small().strong().color(theme.accent)));
        ui.add(plain(RichText::new(words::unbroken(&finding.mend)).small()));
    }
}
