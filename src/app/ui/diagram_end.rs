//! An end of runs in the drawing of a circuit: pump, drum unit, nozzle, intake, sump, joint.

use super::diagram::BOX;
use super::{Seen, words};
use crate::app::action::Action;
use crate::app::part::{List, Part, ids};
use crate::layout::{End, Layout};
use crate::report::shown::shortened;
use bevy_egui::egui::{Align2, FontId, Id, Pos2, Rect, Sense, Stroke, StrokeKind, Ui, vec2};

/// An end: a box with its name and what it does now. A click selects the part.
pub fn end(ui: &mut Ui, at: Pos2, end: &End, circuit: usize, seen: &Seen, out: &mut Vec<Action>) {
    let theme = seen.theme();
    if let End::Joint(name) = end {
        let response = ui.interact(Rect::from_center_size(at, vec2(BOX.x, 14.0)), Id::new(("joint", circuit, name)), Sense::hover());
        ui.painter().line_segment([at - vec2(BOX.x / 2.0, 0.0), at + vec2(BOX.x / 2.0, 0.0)], Stroke::new(2.5, theme.jet));
        ui.painter().circle(at, 4.0, theme.jet, Stroke::new(1.0, theme.panel));
        let clip = ui.painter().with_clip_rect(Rect::from_center_size(at - vec2(0.0, 10.0), vec2(BOX.x, 14.0)).intersect(ui.clip_rect()));
        clip.text(at - vec2(0.0, 5.0), Align2::CENTER_BOTTOM, shortened(name, 17), FontId::proportional(10.0), theme.muted);
        response.on_hover_text(format!("Joint: {name}"));
        return;
    }
    let part = part_of(end, seen.model.document.layout());
    let rect = Rect::from_center_size(at, BOX);
    let response = ui.interact(rect, Id::new(("end", circuit, end)), Sense::click());
    let selected = part.is_some_and(|p| seen.model.desk.is_selected(p));
    let edge = if selected || response.hovered() { theme.accent } else { theme.muted };
    ui.painter().rect(rect, 4.0, theme.raised, Stroke::new(if selected { 2.0 } else { 1.0 }, edge), StrokeKind::Inside);
    let (name, now) = said(end, part, seen);
    let clip = ui.painter().with_clip_rect(rect.shrink(2.0).intersect(ui.clip_rect()));
    clip.text(at - vec2(0.0, 0.5), Align2::CENTER_BOTTOM, name, FontId::proportional(11.0), theme.text);
    clip.text(at + vec2(0.0, 0.5), Align2::CENTER_TOP, now, FontId::proportional(9.5), theme.muted);
    if response.on_hover_text("Click to select it").clicked() {
        out.extend(part.map(|p| Action::Select(Some(p))));
    }
}

fn part_of(end: &End, layout: &Layout) -> Option<Part> {
    let (list, id) = match end {
        End::Intake(id) => (List::Intakes, id),
        End::Nozzle(id) => (List::Nozzles, id),
        End::Pump(id) => (List::Pumps, id),
        End::Drum(id) | End::Outlet(id, _) => (List::Drums, id),
        End::Sump => return layout.sump.is_some().then_some(Part { list: List::Sump, index: 0 }),
        End::Joint(_) => return None,
    };
    ids(layout, list).iter().position(|known| known == id).map(|index| Part { list, index })
}

/// Its name, and what it does at the playhead.
fn said(end: &End, part: Option<Part>, seen: &Seen) -> (String, String) {
    let layout = seen.model.document.layout();
    let name = part.map_or_else(|| "missing".to_owned(), |p| p.label(layout));
    let (Some(schedule), Some(part)) = (&seen.model.live.schedule, part) else { return (name, String::new()) };
    let (now, display) = (seen.model.desk.playhead, seen.model.desk.display);
    let does = match end {
        End::Pump(_) => {
            let of = |value: fn(&crate::setup::plumbing::PumpDuty) -> f64| schedule.at(now, |d| d.pumps.get(part.index).map_or(0.0, value));
            format!("{}, {}", words::flow(of(|p| p.flow), display), words::head(of(|p| p.head), display))
        }
        End::Nozzle(_) => {
            format!("jet {}", words::speed(schedule.at(now, |d| d.nozzles.get(part.index).map_or(0.0, |n| n.speed)), display))
        }
        End::Intake(_) => words::flow(schedule.intake_at(part.index, now), display),
        End::Drum(_) | End::Outlet(..) => {
            let outlets = layout.drums.get(part.index).map_or(0, |d| d.outlets as usize);
            let open: Vec<String> = (0..outlets).filter(|o| open_share(seen, part.index, *o) > 0.5).map(|o| (o + 1).to_string()).collect();
            if open.is_empty() { "changing over".into() } else { format!("open: {}", open.join(", ")) }
        }
        End::Joint(_) | End::Sump => String::new(),
    };
    (name, does)
}

/// Open share of an outlet at the last sample before the playhead.
fn open_share(seen: &Seen, drum: usize, outlet: usize) -> f64 {
    let Some(schedule) = &seen.model.live.schedule else { return 0.0 };
    let t = seen.model.desk.playhead.rem_euclid(schedule.period);
    let sample = schedule.times.partition_point(|s| *s <= t).saturating_sub(1);
    schedule.open.get(sample).and_then(|o| o.get(drum)?.get(outlet)).copied().unwrap_or(0.0)
}
