//! How sure the picture is: averaged time, settling, pace, cells. Always visible.

use super::{Seen, full_study, theme, words};
use crate::app::action::{Action, CELLS};
use crate::app::fineness::TRACERS;
use bevy_egui::egui::{ComboBox, RichText, Ui};

/// Windows under this height have short words here, points.
const LOW: f32 = 800.0;

/// The panel.
pub fn panel(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let theme = seen.theme();
    ui.add_space(theme::GAP / 2.0);
    ui.horizontal(|ui| {
        let title = ui.label(RichText::new("How sure").heading());
        if let Some(reaction) = seen.model.live.reaction {
            title.on_hover_text(format!("The flow took up the last change {reaction:.2} s after it was made"));
        }
        ui.label(RichText::new(settled(seen)).small().strong().color(theme.accent));
    });
    ui.spacing_mut().item_spacing.y = 3.0;
    for line in lines(seen) {
        ui.label(RichText::new(line).small());
    }
    ui.horizontal(|ui| {
        ui.label(RichText::new("Cells").small());
        cells(ui, seen, out);
        if ui.small_button("New mean").on_hover_text("Forget the average so far; the water goes on (R)").clicked() {
            out.push(Action::RestartMean);
        }
    });
    fineness(ui, seen, out);
    full_study::row(ui, seen, out);
    if seen.model.jobs.study.is_none() && seen.model.jobs.studied.is_none() {
        let whole = "A live picture on coarse cells: for aiming and comparing. Run a full study before you drill.";
        // In a low window the verdict needs the room.
        let low = ui.ctx().content_rect().height() < LOW;
        let caution = if low { "Run a full study before you drill." } else { whole };
        ui.label(RichText::new(caution).small().color(theme.muted)).on_hover_text(whole);
    }
    ui.add_space(theme::GAP / 2.0);
}

/// One word for how far the average has settled.
fn settled(seen: &Seen) -> &'static str {
    let live = &seen.model.live;
    let Some(flow) = live.snapshot.as_ref().filter(|_| !live.stale) else { return "no flow yet" };
    if !live.moved {
        return "nothing moves the water";
    }
    let cycles = live.schedule.as_ref().map_or(0.0, |s| flow.averaged / s.period);
    let change = live.record.as_ref().map(|r| r.run.half_to_half.abs());
    match change {
        _ if flow.averaged <= 0.0 => "no average yet",
        _ if cycles < 1.0 => "early: under one cycle",
        Some(change) if change < 0.05 && cycles >= 2.0 => "settled",
        Some(change) if change < 0.15 => "settling",
        _ => "still changing",
    }
}

fn lines(seen: &Seen) -> Vec<String> {
    let live = &seen.model.live;
    let Some(flow) = &live.snapshot else { return vec!["The flow is being set up.".into()] };
    let mut lines = Vec::new();
    let period = live.schedule.as_ref().map_or(f64::INFINITY, |s| s.period);
    if !live.moved {
        return lines;
    }
    lines.push(format!("Averaged {:.0} s, {:.1} of the {:.0} s cycle", flow.averaged, flow.averaged / period, period));
    // Always as many lines: the verdict above must not move up and down.
    let known = live.record.as_ref().filter(|r| r.run.half_to_half.is_finite() && flow.averaged > 0.0);
    let change = known.map_or("not known yet".to_owned(), |r| format!("{:+.0} %", (r.run.half_to_half * 100.0).round() + 0.0));
    lines.push(format!("Second half against first: {change}"));
    let pace = if flow.paused { "held".to_owned() } else { format!("{:.2} × real time", flow.real_time_factor) };
    let (count, size) = (flow.n.iter().product::<usize>(), words::length(flow.h, seen.model.desk.display));
    lines.push(format!("{} cells of {size}: {pace}", words::thousands(count)));
    lines
}

/// The picture is a lighter one than asked for, and how to have the full one.
fn fineness(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    if !seen.model.desk.software {
        return;
    }
    let sides = seen.model.sides();
    let [full, light] = TRACERS.map(|tracers| words::thousands(tracers / sides));
    // Of two layouts, within the same width.
    let (picture, each) = if sides > 1 { ("", " each") } else { (" picture", "") };
    let (text, button, help) = match seen.model.desk.light() {
        true => (
            format!("Light{picture}: {light} of {full} tracers{each}"),
            "Full",
            "All tracers, smooth edges; drawn several times slower here",
        ),
        false => {
            (format!("Full{picture}, {full} tracers{each}: slow here"), "Light", "Fewer tracers, unsmoothed edges; the flow is the same")
        }
    };
    let why = "This machine has no graphics card that the program can use, so the processor draws. The light picture has fewer tracers and leaves edges as they are; the flow and the verdict are the same.";
    ui.horizontal(|ui| {
        ui.label(RichText::new(text).small()).on_hover_text(why);
        if ui.small_button(button).on_hover_text(help).clicked() {
            out.push(Action::FullPicture);
        }
    });
}

fn cells(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let (desk, display) = (&seen.model.desk, seen.model.desk.display);
    let text = desk.cell.map_or("automatic".to_owned(), |c| words::length(c, display));
    let combo = ComboBox::from_id_salt("cells").selected_text(RichText::new(text).small()).width(86.0).height(320.0);
    let response = combo.show_ui(ui, |ui| {
        if ui.selectable_label(desk.cell.is_none(), "automatic").clicked() {
            out.push(Action::Cell(None));
        }
        for cell in CELLS {
            if ui.selectable_label(desk.cell == Some(cell), words::length(cell, display)).clicked() {
                out.push(Action::Cell(Some(cell)));
            }
        }
    });
    response.response.on_hover_text("Small cells show more and run slower; halving them takes about sixteen times the work");
}
