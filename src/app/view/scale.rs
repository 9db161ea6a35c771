//! The ends of the colour scale: what the user set, or a round number over nearly all values, and steady enough to read. The same for
//! both of two layouts.

use super::sample::{Cells, difference};
use crate::app::desk::Quantity;
use crate::app::kept::Side;
use crate::app::live::Live;
use crate::app::palette::round_top;
use crate::app::ui::words::tank_speed_unit;
use crate::app::{Desktop, Phase};
use bevy::prelude::*;

/// Ends of a scale, m/s or shares.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Span {
    /// Darkest colour.
    pub low: f32,
    /// Lightest colour.
    pub top: f32,
}

/// Ends of the colour scales.
#[derive(Resource, Clone, Copy, PartialEq, Debug)]
pub struct Scale {
    /// Of slices and skins.
    pub slice: Span,
    /// Of tracers and arrows: the speed now.
    pub tracers: Span,
}

/// Keeps the scale.
pub fn plugin(app: &mut App) {
    let span = Span { low: 0.0, top: 0.2 };
    app.insert_resource(Scale { slice: span, tracers: span });
    app.add_systems(Update, fit.in_set(Phase::Scale));
}

/// What the scale was fitted to.
#[derive(Default, PartialEq, Clone, Copy)]
struct Fitted {
    quantity: Quantity,
    differs: bool,
    set: [Option<f32>; 2],
}

fn fit(mut desktop: ResMut<Desktop>, mut scale: ResMut<Scale>, mut last: Local<(f32, Fitted)>, time: Res<Time<Real>>) {
    let desk = &desktop.desk;
    let differs = desktop.difference().is_some();
    let now = Fitted { quantity: desk.quantity, differs, set: [desk.top, Some(desk.low)] };
    if time.elapsed_secs() - last.0 < 0.5 && last.1 == now {
        return;
    }
    let another = (last.1.quantity, last.1.differs) != (now.quantity, now.differs);
    *last = (time.elapsed_secs(), now);
    let old = if another { 0.0 } else { scale.slice.top };
    let slice = if differs { change(&desktop, old) } else { speeds(&desktop, desk.quantity, old) };
    let next = Scale { slice, tracers: speeds(&desktop, Quantity::Now, scale.tracers.top) };
    scale.set_if_neq(next);
    let shown = if desk.colours_surfaces() { next.slice } else { next.tracers };
    let shown = [shown.low, shown.top];
    if desktop.desk.scale != shown {
        desktop.desk.scale = shown;
    }
}

fn speeds(desktop: &Desktop, quantity: Quantity, old: f32) -> Span {
    if quantity.is_share() {
        return Span { low: 0.0, top: 1.0 };
    }
    let desk = &desktop.desk;
    let both = Side::ALL.into_iter().filter_map(|side| desktop.stage(side)).map(|stage| high(stage.live, quantity));
    let wanted = desk.top.unwrap_or_else(|| both.fold(0.0, f32::max));
    let top = steady(old, wanted, desk.top, tank_speed_unit(desk.display).1 as f32);
    Span { low: desk.low.min(0.9 * top), top }
}

/// As much slower as faster.
fn change(desktop: &Desktop, old: f32) -> Span {
    let unit = if desktop.desk.quantity.is_share() { 0.01 } else { tank_speed_unit(desktop.desk.display).1 as f32 };
    let top = steady(old, desktop.desk.top.unwrap_or_else(|| high_change(desktop)), desktop.desk.top, unit);
    Span { low: -top, top }
}

/// The change that one cell in twenty exceeds.
fn high_change(desktop: &Desktop) -> f32 {
    let quantity = desktop.desk.quantity;
    let cells = desktop.difference().and_then(|(a, b)| Some((Cells::new(a, quantity)?, Cells::new(b, quantity)?)));
    let Some((a, b)) = cells else { return 0.05 };
    let mut changes: Vec<f32> = difference(&a, &b).into_iter().filter(|(_, water)| *water > 0.5).map(|(change, _)| change.abs()).collect();
    if changes.is_empty() {
        return 0.05;
    }
    let rank = (changes.len() - 1) * 95 / 100;
    changes.select_nth_unstable_by(rank, f32::total_cmp).1.max(0.005)
}

/// Keep the old top while it still fits; `unit` is the shown unit's size, m/s.
fn steady(old: f32, wanted: f32, set: Option<f32>, unit: f32) -> f32 {
    let is_round = (round_top(old / unit) * unit / old - 1.0).abs() < 1e-3;
    let fits = is_round && wanted <= old && wanted > 0.45 * old;
    match set {
        Some(top) => top,
        None if fits => old,
        None => round_top(wanted / unit) * unit,
    }
}

/// The scale ends here at least, m/s: in water at rest it would show the solver's rounding.
const LEAST: f32 = 0.01;

/// The speed that 98 % of the open water stays under, m/s.
fn high(live: &Live, quantity: Quantity) -> f32 {
    let Some(cells) = Cells::new(live, quantity) else { return 0.2 };
    let every = (cells.water.len() / 8000).max(1);
    let mut speeds: Vec<f32> = (0..cells.water.len()).step_by(every).filter(|c| cells.water[*c] > 0.5).map(|c| cells.at(c)).collect();
    if speeds.is_empty() {
        return 0.2;
    }
    let rank = (speeds.len() - 1) * 98 / 100;
    speeds.select_nth_unstable_by(rank, f32::total_cmp).1.max(LEAST)
}

/// Of a vector.
pub fn length(u: [f32; 3]) -> f32 {
    (u[0] * u[0] + u[1] * u[1] + u[2] * u[2]).sqrt()
}
