//! The top of the colour scale: what the user set, or a round number over nearly all speeds, and steady enough to read.

use crate::app::Desktop;
use crate::app::desk::Quantity;
use crate::app::live::Live;
use crate::app::palette::round_top;
use crate::app::ui::words::speed_unit;
use bevy::prelude::*;

/// Speed at the top of the colour scale, m/s.
#[derive(Resource, Clone, Copy, PartialEq)]
pub struct Scale {
    /// For the slice.
    pub slice: f32,
    /// For the tracers.
    pub tracers: f32,
}

/// Keeps the scale.
pub fn plugin(app: &mut App) {
    app.insert_resource(Scale { slice: 0.2, tracers: 0.2 });
    app.add_systems(Update, fit);
}

fn fit(mut desktop: ResMut<Desktop>, mut scale: ResMut<Scale>, mut last: Local<(f32, Quantity)>, time: Res<Time<Real>>) {
    let another = last.1 != desktop.desk.quantity;
    if time.elapsed_secs() - last.0 < 0.5 && desktop.desk.top.is_none() && !another {
        return;
    }
    *last = (time.elapsed_secs(), desktop.desk.quantity);
    let old = if another { 0.0 } else { scale.slice };
    let (set, unit) = (desktop.desk.top, speed_unit(desktop.desk.display).1 as f32);
    let speed = |quantity| set.unwrap_or_else(|| high(&desktop.live, quantity));
    let next = Scale {
        // A share of time, not a speed.
        slice: if desktop.desk.quantity == Quantity::Still { 1.0 } else { steady(old, speed(desktop.desk.quantity), set, unit) },
        tracers: steady(scale.tracers, speed(Quantity::Now), set, unit),
    };
    scale.set_if_neq(next);
    let shown = if desktop.desk.shown.slice { next.slice } else { next.tracers };
    if desktop.desk.scale_top != shown {
        desktop.desk.scale_top = shown;
    }
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

/// The speed that 98 % of the open water stays under, m/s.
fn high(live: &Live, quantity: Quantity) -> f32 {
    let mut speeds: Vec<f32> = match (quantity, &live.snapshot, &live.fields) {
        (Quantity::Now, Some(s), _) => sample(s.water.len(), |c| (s.water[c] > 0.5).then(|| length(s.velocity[c]))),
        (Quantity::Mean, _, Some(f)) => sample(f.water.len(), |c| (f.water[c] > 0.5).then(|| f.mean_speed[c])),
        (Quantity::Rms, _, Some(f)) => sample(f.water.len(), |c| (f.water[c] > 0.5).then(|| f.rms[c])),
        (Quantity::Peak, _, Some(f)) => sample(f.water.len(), |c| (f.water[c] > 0.5).then(|| f.peak[c])),
        _ => Vec::new(),
    };
    if speeds.is_empty() {
        return 0.2;
    }
    let rank = (speeds.len() - 1) * 98 / 100;
    *speeds.select_nth_unstable_by(rank, f32::total_cmp).1
}

fn sample(cells: usize, value: impl Fn(usize) -> Option<f32>) -> Vec<f32> {
    (0..cells).step_by((cells / 8000).max(1)).filter_map(value).collect()
}

/// Of a vector.
pub fn length(u: [f32; 3]) -> f32 {
    (u[0] * u[0] + u[1] * u[1] + u[2] * u[2]).sqrt()
}
