//! The picture's time: follows the running flow at the wanted pace and never runs ahead of it.

use super::Desktop;
use bevy::prelude::*;

/// Longest step of tank time in one picture, s.
const LONGEST_STEP: f64 = 0.15;
/// Further behind the flow than this, the picture jumps, s.
const LOST: f64 = 1.5;

/// The picture's time.
#[derive(Resource, Default)]
pub struct Clock {
    /// Tank time since the picture before, s.
    pub step: f32,
    generation: Option<u64>,
    time: f64,
}

/// Keeps time.
pub fn plugin(app: &mut App) {
    app.init_resource::<Clock>();
    app.add_systems(PreUpdate, tick);
}

fn tick(mut clock: ResMut<Clock>, mut desktop: ResMut<Desktop>, real: Res<Time<Real>>) {
    desktop.now = real.elapsed_secs_f64();
    clock.step = 0.0;
    let Some(flow) = desktop.live.snapshot.clone() else { return };
    if clock.generation != Some(flow.generation) {
        clock.generation = Some(flow.generation);
        clock.time = flow.time;
    }
    if !desktop.desk.playing {
        return;
    }
    // Catch up gently: the further behind, the faster.
    let behind = (flow.time - clock.time).max(0.0);
    let rate = desktop.desk.pace.min(flow.real_time_factor.max(0.05)) * (0.8 + 2.0 * behind);
    let step = (real.delta_secs_f64() * rate).min(behind).min(LONGEST_STEP);
    clock.time = if behind > LOST { flow.time } else { clock.time + step };
    clock.step = step as f32;
    desktop.desk.playhead = clock.time;
}
