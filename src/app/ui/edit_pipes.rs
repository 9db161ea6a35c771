//! The fields of pumps, drum units, overflow boxes and pipework.

use super::{Seen, dial, fields};
use crate::app::fresh_loop::fitting;
use crate::catalog::Catalog;
use crate::layout::{Circuit, CurvePoint, Drain, DrainKind, Drum, Overflow, Pump, Run, SpeedStep, Window};
use crate::units::{Angle, Display, Head, Length, Time, VolumeFlow};
use bevy_egui::egui::{RichText, Ui};

/// True when something changed.
pub fn pump(ui: &mut Ui, pump: &mut Pump, display: Display) -> bool {
    let mut changed = fields::percent(ui, "Speed", &mut pump.speed, 1.2);
    changed |= fields::optional(ui, "Electric power", &mut pump.power, 150.0, display);
    changed |= fields::optional(ui, "NPSH wanted", &mut pump.npsh_required, 2.0, display);
    ui.label(RichText::new("Curve").strong());
    ui.end_row();
    let mut gone = None;
    for (i, point) in pump.curve.iter_mut().enumerate() {
        changed |= fields::quantity(ui, &format!("  flow {}", i + 1), &mut point.flow, display);
        changed |= fields::quantity(ui, "  head", &mut point.head, display);
        if i > 1 {
            ui.label("");
            if ui.small_button("Take it out").clicked() {
                gone = Some(i);
            }
            ui.end_row();
        }
    }
    if let Some(i) = gone {
        pump.curve.remove(i);
    }
    ui.label("");
    let more = ui.small_button("Add a point").clicked();
    ui.end_row();
    if more {
        let last = pump.curve.last().map_or((1e-3, 4.0), |p| (p.flow.si(), p.head.si()));
        pump.curve.push(CurvePoint { flow: VolumeFlow::from_si(last.0 * 1.15, display), head: Head::from_si(last.1 * 0.7, display) });
    }
    changed | more | gone.is_some() | programme(ui, &mut pump.programme)
}

/// Speeds over the day; true when something changed.
fn programme(ui: &mut Ui, steps: &mut Vec<SpeedStep>) -> bool {
    ui.label(RichText::new("Speeds over the day").strong());
    let more = ui.small_button("Add").on_hover_text("A speed that holds from a time of day on; 0 h is midnight").clicked();
    ui.end_row();
    let mut changed = more;
    if more {
        let from = steps.last().map_or(8.0, |s| (s.from.in_unit("h") + 4.0).min(23.0));
        steps.push(SpeedStep { from: Time::new(from, "h"), speed: 1.0 });
    }
    let mut gone = None;
    for (i, step) in steps.iter_mut().enumerate() {
        changed |= fields::time_of_day(ui, &format!("  {} from", i + 1), &mut step.from);
        changed |= fields::percent(ui, "    speed", &mut step.speed, 1.2);
        ui.label("");
        if ui.small_button("Take it out").clicked() {
            gone = Some(i);
        }
        ui.end_row();
    }
    if let Some(i) = gone {
        steps.remove(i);
    }
    changed | gone.is_some()
}

/// True when something changed.
pub fn drum(ui: &mut Ui, drum: &mut Drum, seen: &Seen) -> bool {
    let display = seen.model.desk.display;
    let changed = fields::count(ui, "Outlets", &mut drum.outlets, 1..=12)
        | fields::quantity(ui, "Outlet bore", &mut drum.bore, display)
        | fields::quantity(ui, "Port arc", &mut drum.port_arc, display)
        | fields::number(ui, "Loss K, open", &mut drum.body_k, 0.0..=20.0, 2)
        | fields::percent(ui, "Leak, shut", &mut drum.leakage, 0.5);
    ui.label(RichText::new("Windows").strong());
    let turned = dial::dial(ui, drum, seen);
    ui.end_row();
    changed | turned | windows(ui, &mut drum.windows, display)
}

fn windows(ui: &mut Ui, windows: &mut Vec<Window>, display: Display) -> bool {
    let mut changed = false;
    for (i, window) in windows.iter_mut().enumerate() {
        changed |= fields::quantity(ui, &format!("  window {} at", i + 1), &mut window.centre, display);
        changed |= fields::quantity(ui, "  arc", &mut window.arc, display);
    }
    ui.label("");
    ui.horizontal(|ui| {
        if ui.small_button("Add a window").clicked() {
            windows.push(Window { centre: Angle::new(180.0, "deg"), arc: Angle::new(60.0, "deg") });
            changed = true;
        }
        if windows.len() > 1 && ui.small_button("Take one out").clicked() {
            windows.pop();
            changed = true;
        }
    });
    ui.end_row();
    changed
}

/// True when something changed.
pub fn overflow(ui: &mut Ui, o: &mut Overflow, seen: &Seen) -> bool {
    let display = seen.model.desk.display;
    let mut changed = fields::quantity(ui, "Crest", &mut o.crest, display)
        | fields::quantity(ui, "Lip", &mut o.lip, display)
        | fields::percent(ui, "Left open by teeth", &mut o.open, 1.0)
        | fields::quantity(ui, "Left", &mut o.from.0, display)
        | fields::quantity(ui, "Front", &mut o.from.1, display)
        | fields::quantity(ui, "Right", &mut o.to.0, display)
        | fields::quantity(ui, "Back", &mut o.to.1, display);
    let kinds = [(DrainKind::FullSiphon, "full siphon"), (DrainKind::OpenStack, "open stack"), (DrainKind::Emergency, "emergency")];
    let mut gone = None;
    for (i, drain) in o.drains.iter_mut().enumerate() {
        ui.label(RichText::new(format!("Drain {}", drain.id)).strong());
        if ui.small_button("x").on_hover_text("Take this drain out").clicked() {
            gone = Some(i);
        }
        ui.end_row();
        changed |= pipe(ui, &drain.id, &mut drain.pipe, seen);
        ui.label("  runs as");
        changed |= fields::pick(ui, ("kind", i), &mut drain.kind, &kinds).changed();
        ui.end_row();
        changed |= fields::quantity(ui, "  drop", &mut drain.drop, display);
        changed |= fields::quantity(ui, "  length", &mut drain.length, display);
    }
    if let Some(i) = gone {
        o.drains.remove(i);
    }
    ui.label("");
    let more = ui.small_button("Add a drain").clicked();
    ui.end_row();
    if more {
        o.drains.push(new_drain(o, display));
    }
    changed | more | gone.is_some()
}

fn new_drain(o: &Overflow, display: Display) -> Drain {
    let pipe = o.drains.last().map_or_else(|| "1-1/2 in, schedule 40".to_owned(), |d| d.pipe.clone());
    let taken: Vec<&str> = o.drains.iter().map(|d| d.id.as_str()).collect();
    let id = crate::app::document::free_id(&taken, "drain 1");
    Drain { id, pipe, kind: DrainKind::OpenStack, drop: Length::from_si(1.0, display), length: Length::from_si(1.5, display), depth: None }
}

/// Choose a pipe size by its name in the catalogue, the layout's own over the builtin one.
fn pipe(ui: &mut Ui, salt: &str, name: &mut String, seen: &Seen) -> bool {
    let names: Vec<(String, &str)> = seen.model.document.catalog.pipe_names().map(|n| (n.to_owned(), n)).collect();
    let label = ui.label("  pipe");
    let response = fields::pick(ui, ("pipe", salt), name, &names).labelled_by(label.id);
    let changed = response.changed();
    response.on_hover_text("Wider: less head lost, more room and cost. Suction is kept slower than discharge");
    ui.end_row();
    changed
}

/// Every run with its size, length, fittings and valves; true when something changed.
pub fn circuit(ui: &mut Ui, circuit: &mut Circuit, seen: &Seen) -> bool {
    ui.label("");
    ui.label(RichText::new("drawn in the lower panel").small().color(seen.theme().muted));
    ui.end_row();
    circuit.suction.iter_mut().chain(&mut circuit.discharge).fold(false, |changed, r| run(ui, r, seen) | changed)
}

/// Size, length, fittings and valves of a run; true when something changed.
pub fn run(ui: &mut Ui, run: &mut Run, seen: &Seen) -> bool {
    let display = seen.model.desk.display;
    let catalog = &seen.model.document.catalog;
    ui.label(RichText::new(&run.id).strong());
    ui.end_row();
    let mut changed = pipe(ui, &run.id.clone(), &mut run.pipe, seen) | fields::quantity(ui, "  length", &mut run.length, display);
    let mut gone = None;
    for (i, fitting) in run.fittings.iter_mut().enumerate() {
        let valve = is_set_by_hand(&fitting.part, catalog);
        ui.label(format!("  {}", fitting.part));
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 3.0;
            let count = bevy_egui::egui::DragValue::new(&mut fitting.count).range(1..=40).speed(0.05).suffix(" x");
            changed |= ui.add(count).on_hover_text("How many").changed();
            if ui.small_button("x").on_hover_text("Take it out").clicked() {
                gone = Some(i);
            }
        });
        ui.end_row();
        if valve {
            changed |= fields::percent(ui, "    open", &mut fitting.opening, 1.0);
        }
    }
    if let Some(i) = gone {
        run.fittings.remove(i);
    }
    changed | gone.is_some() | add_fitting(ui, run, catalog)
}

fn add_fitting(ui: &mut Ui, run: &mut Run, catalog: &Catalog) -> bool {
    let mut chosen = None;
    ui.label("");
    ui.menu_button("Add a fitting", |ui| {
        bevy_egui::egui::ScrollArea::vertical().max_height(260.0).show(ui, |ui| {
            for name in catalog.fitting_names() {
                if ui.button(name).clicked() {
                    chosen = Some(name.to_owned());
                    ui.close();
                }
            }
        });
    });
    ui.end_row();
    let Some(part) = chosen else { return false };
    match run.fittings.iter_mut().find(|f| f.part == part && !is_set_by_hand(&part, catalog)) {
        Some(there) => there.count += 1,
        None => run.fittings.push(fitting(&part, 1)),
    }
    true
}

/// A valve whose opening can be set.
fn is_set_by_hand(part: &str, catalog: &Catalog) -> bool {
    catalog.fitting(part).is_some_and(crate::catalog::FittingKind::is_valve)
}
