//! The picture's time: follows the running flow at the wanted pace and never runs ahead of it.

use super::Desktop;
use bevy::prelude::*;

/// Longest step of tank time in one picture, s.
const LONGEST_STEP: f64 = 0.15;
/// Further behind the flow than this, the picture jumps, s.
const LOST: f64 = 1.5;

/// How far the flows are that are in sight: the one behind counts.
struct Flows {
    time: f64,
    rate: f64,
    generations: [Option<u64>; 2],
}

fn flows(desktop: &Desktop) -> Option<Flows> {
    let own = desktop.live.snapshot.as_ref()?;
    let other = desktop.kept.as_ref().and_then(|kept| kept.live.snapshot.as_ref()).filter(|other| !other.velocity.is_empty());
    let least = |a: f64, b: Option<f64>| b.map_or(a, |b| a.min(b));
    Some(Flows {
        time: least(own.time, other.map(|o| o.time)),
        rate: least(own.real_time_factor, other.map(|o| o.real_time_factor)),
        generations: [Some(own.generation), other.map(|o| o.generation)],
    })
}

/// The picture's time.
#[derive(Resource, Default)]
pub struct Clock {
    /// Tank time since the picture before, s.
    pub step: f32,
    /// Time goes on by steps of this, s, or not at all.
    pub paced: Option<f64>,
    generations: [Option<u64>; 2],
    time: f64,
}

impl Clock {
    /// How far the flow is ahead of the picture, s.
    pub fn behind(&self, desktop: &Desktop) -> f64 {
        flows(desktop).map_or(0.0, |flow| (flow.time - self.time).max(0.0))
    }
}

/// Keeps time.
pub fn plugin(app: &mut App) {
    app.init_resource::<Clock>();
    app.add_systems(PreUpdate, tick);
}

/// Time goes on.
pub fn tick(mut clock: ResMut<Clock>, mut desktop: ResMut<Desktop>, real: Res<Time<Real>>) {
    desktop.now = real.elapsed_secs_f64();
    clock.step = 0.0;
    let Some(flow) = flows(&desktop) else { return };
    if clock.generations != flow.generations {
        clock.generations = flow.generations;
        clock.time = flow.time;
    }
    if !desktop.desk.playing {
        return;
    }
    if let Some(step) = clock.paced {
        if flow.time >= clock.time + step {
            clock.time += step;
            clock.step = step as f32;
            desktop.desk.playhead = clock.time;
        }
        return;
    }
    // Catch up gently: the further behind, the faster.
    let behind = (flow.time - clock.time).max(0.0);
    let rate = desktop.desk.pace.min(flow.rate.max(0.05)) * (0.8 + 2.0 * behind);
    let step = (real.delta_secs_f64() * rate).min(behind).min(LONGEST_STEP);
    clock.time = if behind > LOST { flow.time } else { clock.time + step };
    clock.step = step as f32;
    desktop.desk.playhead = clock.time;
}
