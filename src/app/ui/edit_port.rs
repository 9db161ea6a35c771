//! The fields of nozzles, intakes and propeller pumps: how they are held, where they point, what feeds them.

use super::edit_part::point;
use super::fields;
use crate::app::{reach, snap};
use crate::layout::{Aim, Face, Intake, Mount, Nozzle, NozzleKind, PanelName, Point, Propeller, PropellerOutput, Screen, Supply};
use crate::units::{Angle, Display, Force, Length, Speed, VolumeFlow};
use bevy_egui::egui::Ui;
use glam::DVec3;

/// True when something changed.
pub fn nozzle(ui: &mut Ui, nozzle: &mut Nozzle, size: DVec3, display: Display) -> bool {
    let from = nozzle.mount.centre(size);
    mount(ui, &mut nozzle.mount, size, display)
        | aim(ui, &mut nozzle.aim, from, display)
        | fields::quantity(ui, "Bore", &mut nozzle.bore, display)
        | nozzle_kind(ui, &mut nozzle.kind, display)
        | supply(ui, &mut nozzle.supply, display)
}

/// True when something changed.
pub fn intake(ui: &mut Ui, intake: &mut Intake, size: DVec3, display: Display) -> bool {
    let from = intake.mount.centre(size);
    let mut changed = mount(ui, &mut intake.mount, size, display) | fields::quantity(ui, "Bore", &mut intake.bore, display);
    if matches!(intake.mount, Mount::PipeEnd(_)) {
        let facing = intake.facing.get_or_insert_with(|| reach::angles(DVec3::Z));
        changed |= aim(ui, facing, from, display);
    }
    changed | screen(ui, &mut intake.screen, intake.bore.si(), display) | supply(ui, &mut intake.supply, display)
}

/// True when something changed.
pub fn propeller(ui: &mut Ui, propeller: &mut Propeller, display: Display) -> bool {
    let from = propeller.at.metres();
    point(ui, "At", &mut propeller.at, display)
        | aim(ui, &mut propeller.aim, from, display)
        | fields::quantity(ui, "Bore", &mut propeller.bore, display)
        | output(ui, &mut propeller.output, display)
}

fn nozzle_kind(ui: &mut Ui, kind: &mut NozzleKind, display: Display) -> bool {
    let width = if let NozzleKind::FlatFan { width } = &*kind { width.clone() } else { Length::new(60.0, "mm") };
    let spread = if let NozzleKind::TwinWye { spread } = &*kind { spread.clone() } else { Angle::new(45.0, "deg") };
    let ratio = if let NozzleKind::Eductor { ratio } = &*kind { *ratio } else { 4.0 };
    let kinds = [
        (NozzleKind::Plain, "plain"),
        (NozzleKind::Reducing, "reducing"),
        (NozzleKind::FlatFan { width }, "flat fan"),
        (NozzleKind::BallHose, "ball hose"),
        (NozzleKind::TwinWye { spread }, "twin wye"),
        (NozzleKind::Eductor { ratio }, "eductor"),
    ];
    let chosen = fields::choice(ui, "Kind", kind, &kinds);
    chosen
        | match kind {
            NozzleKind::FlatFan { width } => fields::quantity(ui, "  slot width", width, display),
            NozzleKind::TwinWye { spread } => fields::quantity(ui, "  spread", spread, display),
            NozzleKind::Eductor { ratio } => fields::number(ui, "  total over motive", ratio, 1.0..=10.0, 1),
            NozzleKind::Plain | NozzleKind::Reducing | NozzleKind::BallHose => false,
        }
}

fn supply(ui: &mut Ui, supply: &mut Supply, display: Display) -> bool {
    let fixed = if let Supply::Fixed(flow) = &*supply { flow.clone() } else { VolumeFlow::from_si(5e-4, display) };
    let chosen = fields::choice(ui, "Fed", supply, &[(Supply::Plumbed, "by its pipes"), (Supply::Fixed(fixed), "a fixed flow")]);
    let moved = if let Supply::Fixed(flow) = supply { fields::quantity(ui, "  flow", flow, display) } else { false };
    chosen | moved
}

fn screen(ui: &mut Ui, screen: &mut Option<Screen>, bore: f64, display: Display) -> bool {
    let mut there = screen.is_some();
    let mut changed = fields::tick(ui, "Screen", &mut there);
    if changed {
        let side = Length::from_si(bore * 4.0, display);
        *screen = there.then(|| Screen { face: Face::Rectangle(side.clone(), side), open: 0.5, hidden: 0.0, blocked: 0.0 });
    }
    let Some(screen) = screen else { return changed };
    let (across, high) = match &screen.face {
        Face::Round(d) => (d.clone(), d.clone()),
        Face::Rectangle(w, h) => (w.clone(), h.clone()),
    };
    let faces = [(Face::Round(across.clone()), "round"), (Face::Rectangle(across, high), "rectangle")];
    changed |= fields::choice(ui, "  face", &mut screen.face, &faces);
    changed |= match &mut screen.face {
        Face::Round(d) => fields::quantity(ui, "  across", d, display),
        Face::Rectangle(w, h) => fields::quantity(ui, "  wide", w, display) | fields::quantity(ui, "  high", h, display),
    };
    changed
        | fields::percent(ui, "  open share", &mut screen.open, 1.0)
        | fields::percent(ui, "  behind rock", &mut screen.hidden, 1.0)
        | fields::percent(ui, "  blocked by dirt", &mut screen.blocked, 1.0)
}

/// How it is held: through a panel or on a pipe end, and where.
fn mount(ui: &mut Ui, mount: &mut Mount, size: DVec3, display: Display) -> bool {
    let mut through = mount.panel();
    let mut options: Vec<(Option<PanelName>, &str)> = PanelName::ALL.into_iter().map(|p| (Some(p), p.word())).collect();
    options.push((None, "pipe end"));
    let switched = fields::choice(ui, "Held by", &mut through, &options);
    if switched {
        *mount = held(mount, through, size, display);
    }
    let changed = match mount {
        Mount::PipeEnd(at) => point(ui, "At", at, display),
        Mount::Hole { panel, along, up, drill } => {
            let (a, u) = match panel {
                PanelName::Front | PanelName::Back => ("From left", "Above floor"),
                PanelName::Left | PanelName::Right => ("From front", "Above floor"),
                PanelName::Bottom => ("From left", "From front"),
            };
            fields::quantity(ui, a, along, display)
                | fields::quantity(ui, u, up, display)
                | fields::optional(ui, "Drill", drill, 0.045, display)
        }
    };
    switched | changed
}

/// The same height and the same share along another panel, or the same place on a pipe end.
fn held(mount: &Mount, panel: Option<PanelName>, size: DVec3, display: Display) -> Mount {
    let now = mount.centre(size);
    let length = |metres: f64| Length::from_si((metres * 1e3).round() / 1e3, display);
    let Some(panel) = panel else {
        let inside = mount.panel().map_or(DVec3::ZERO, |p| p.inward() * 0.05);
        let at = now + inside;
        return Mount::PipeEnd(Point(length(at.x), length(at.y), length(at.z)));
    };
    let drill = if let Mount::Hole { drill, .. } = mount { drill.clone() } else { None };
    let at = snap::on_panel(panel, now);
    let extent = snap::on_panel(panel, size);
    let inside = |x: f64, whole: f64| if x <= 0.0 || x >= whole { whole / 2.0 } else { x };
    Mount::Hole { panel, along: length(inside(at.x, extent.x)), up: length(inside(at.y, extent.y)), drill }
}

fn aim(ui: &mut Ui, aim: &mut Aim, from: DVec3, display: Display) -> bool {
    let (mut turn, mut changed) = (false, false);
    match aim {
        Aim::Toward(target) => {
            changed |= point(ui, "Aimed at", target, display);
            ui.label("");
            turn = ui.small_button("Aim by angles").clicked();
            ui.end_row();
        }
        Aim::Angles { azimuth, elevation } => {
            changed |= fields::quantity(ui, "Azimuth", azimuth, display) | fields::quantity(ui, "Elevation", elevation, display);
        }
    }
    if turn {
        *aim = reach::angles(aim.direction(from));
    }
    changed | turn
}

fn output(ui: &mut Ui, output: &mut PropellerOutput, display: Display) -> bool {
    let flow = if let PropellerOutput::Flow(x) = &*output { x.clone() } else { VolumeFlow::from_si(2e-3, display) };
    let thrust = if let PropellerOutput::Thrust(x) = &*output { x.clone() } else { Force::from_si(2.0, display) };
    let speed = if let PropellerOutput::Speed(x) = &*output { x.clone() } else { Speed::from_si(1.0, display) };
    let kinds =
        [(PropellerOutput::Flow(flow), "flow"), (PropellerOutput::Thrust(thrust), "thrust"), (PropellerOutput::Speed(speed), "speed")];
    let chosen = fields::choice(ui, "Known by", output, &kinds);
    chosen
        | match output {
            PropellerOutput::Flow(x) => fields::quantity(ui, "  flow", x, display),
            PropellerOutput::Thrust(x) => fields::quantity(ui, "  thrust", x, display),
            PropellerOutput::Speed(x) => fields::quantity(ui, "  speed", x, display),
        }
}
