//! The handover: every page that people read, to look at, and a folder to write the sheets into.

use super::full_study::folder;
use super::{Seen, theme, words};
use crate::app::action::Action;
use crate::app::desk::{Prompt, Wanted};
use crate::app::sheets::Page;
use crate::finding::Grade;
use crate::report::shown::count;
use bevy_egui::egui::{
    Align2, Color32, ColorImage, Context, Frame, Id, Image, ProgressBar, RichText, ScrollArea, Sense, TextureHandle, TextureOptions, Ui,
    Vec2, Window, vec2,
};

/// The window over the window.
pub fn show(ctx: &Context, shown: usize, seen: &Seen, out: &mut Vec<Action>) {
    let whole = ctx.content_rect().size();
    let size = vec2((whole.x - 80.0).clamp(280.0, 1100.0), (whole.y - 130.0).clamp(160.0, 900.0));
    let window = Window::new("Handover sheets").collapsible(false).resizable(false).fixed_size(size);
    window.anchor(Align2::CENTER_CENTER, [0.0, 0.0]).show(ctx, |ui| {
        let picture = vec2((size.x - 230.0).max(60.0), (size.y - 120.0).max(60.0));
        ui.horizontal_top(|ui| {
            ui.vertical(|ui| list(ui, shown, picture.y, seen, out));
            if let Some(page) = seen.model.jobs.pages.get(shown) {
                leaf(ui, shown, page, picture, seen);
            }
        });
        ui.separator();
        foot(ui, seen, out);
    });
}

fn list(ui: &mut Ui, shown: usize, high: f32, seen: &Seen, out: &mut Vec<Action>) {
    ui.set_width(210.0);
    let jobs = &seen.model.jobs;
    if let Some(job) = &jobs.drawing {
        let (share, what) = job.progress();
        ui.add(ProgressBar::new(share as f32).desired_height(14.0).text(RichText::new(what).small()));
    }
    ScrollArea::vertical().max_height(high).id_salt("pages").show(ui, |ui| {
        for (i, page) in jobs.pages.iter().enumerate() {
            let number = if page.number[1] > 1 { format!("  {} of {}", page.number[0], page.number[1]) } else { String::new() };
            let response = ui.selectable_label(i == shown, format!("{}{number}", page.title));
            if response.on_hover_text(format!("{}: {}", page.file_name, page.purpose)).clicked() {
                out.push(Action::Prompt(Some(Prompt::Sheets(i))));
            }
        }
    });
}

/// The page, as large as there is room; the wheel comes closer.
fn leaf(ui: &mut Ui, shown: usize, page: &Page, room: Vec2, seen: &Seen) {
    let texture = texture(ui.ctx(), shown, page, seen);
    let fit = (room.x / page.size[0] as f32).min(room.y / page.size[1] as f32);
    let key = Id::new("page zoom");
    let mut zoom: f32 = ui.ctx().data(|d| d.get_temp(key)).unwrap_or(1.0);
    Frame::new().fill(seen.theme().canvas).show(ui, |ui| {
        ScrollArea::both().max_width(room.x).max_height(room.y).id_salt(("leaf", shown)).show(ui, |ui| {
            let size = vec2(page.size[0] as f32, page.size[1] as f32) * fit * zoom;
            let response = ui.add(Image::new(&texture).fit_to_exact_size(size).sense(Sense::click()));
            if response.on_hover_text("Click to come closer, click again for the whole page").clicked() {
                zoom = if zoom > 1.0 { 1.0 } else { (1.0 / fit).max(2.0) };
                ui.ctx().data_mut(|d| d.insert_temp(key, zoom));
            }
        });
    });
}

/// The page on the graphics card: one at a time.
fn texture(ctx: &Context, shown: usize, page: &Page, seen: &Seen) -> TextureHandle {
    type Held = (u64, usize, TextureHandle);
    let key = Id::new("page texture");
    let of = seen.model.jobs.pages_of;
    let held: Option<Held> = ctx.data(|d| d.get_temp(key));
    if let Some((revision, number, texture)) = held
        && (revision, number) == (of, shown)
    {
        return texture;
    }
    let pixels = page.pixels.chunks_exact(4).map(|p| Color32::from_rgb(p[0], p[1], p[2])).collect();
    let texture = ctx.load_texture("page", ColorImage::new(page.size, pixels), TextureOptions::LINEAR);
    ctx.data_mut(|d| d.insert_temp(key, (of, shown, texture.clone())));
    texture
}

fn foot(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let (model, theme) = (seen.model, seen.theme());
    ui.horizontal(|ui| {
        let faults = model.live.count(Grade::Fault);
        if faults > 0 {
            let (rect, _) = ui.allocate_exact_size(vec2(14.0, 14.0), Sense::hover());
            words::mark(ui.painter(), rect.center(), Grade::Fault, theme.fault);
            let text = format!("{} open: do not drill, buy or glue before they are mended.", count(faults, "fault"));
            ui.label(RichText::new(text).small());
        }
        if model.jobs.pages_of != model.document.revision() {
            ui.label(RichText::new("The layout has changed since these pages were drawn.").small().color(theme.caution));
            if ui.small_button("Draw again").clicked() {
                out.push(Action::AskSheets);
            }
        }
    });
    if let Some(job) = &model.jobs.writing {
        let (share, name) = job.progress();
        ui.add(ProgressBar::new(share as f32).desired_height(16.0).text(RichText::new(name).small()));
        if ui.button("Stop writing").clicked() {
            out.push(Action::StopSheets);
        }
        return;
    }
    if let Some(folder) = folder(ui, "PDF, SVG, DXF and CSV into", "handover", Wanted::Sheets, seen, out) {
        out.push(Action::WriteSheets(folder.into()));
    }
    ui.add_space(theme::GAP / 2.0);
}
