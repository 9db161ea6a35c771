//! How old the water is: the time since it last came out of a nozzle.
//!
//! The age a is carried with the water and grows by a second a second: ∂a/∂t + ∇·(u a) = 1, with a = 0 in what nozzles bring (Danckwerts
//! 1953; Sandberg 1981). Integrated over the tank and over a repeating cycle this says that what leaves has the mean age V/Q exactly, whatever the
//! flow: the check that a computed age must pass.

use super::{
    Control,
    record::AgeRecord,
    recording::Recording,
    scalar::{Brought, Feed, Scalar, Taken},
};

/// The mean age at the outlets must come this near to V/Q, as a share (reference 11.1).
const CLOSED: f64 = 0.005;
/// A cell is at rest when its age changes by no more than this share of V/Q while a tenth of the water is renewed.
const AT_REST: f64 = 0.002;
/// Longest carrying, in times that the water is renewed.
const MOST_RENEWALS: f64 = 15.0;
/// The oldest water: this share of it is older. It may still be ageing when the rest is at rest: a pocket that nothing flushes never ends.
const OLDEST: f64 = 0.05;

/// An age as computed.
#[derive(Debug, Clone, PartialEq)]
pub struct Aged {
    /// Its record, without the single outlets: their names aren't known here.
    pub record: AgeRecord,
    /// The mean age in every cell, s.
    pub at_cell: Vec<f32>,
    /// Water and age (m³, s·m³) that left by each sink in the last rounds, in the order of [`Recording::sinks`].
    pub by_sink: Vec<Taken>,
}

/// The age after the motion has repeated until it no longer changes; `None` without inflow. `watch` sees seconds carried, and the most that
/// it may take, and can stop it.
pub fn age(recording: &Recording, watch: &mut dyn FnMut(f64, f64) -> Control) -> Option<Aged> {
    let inflow = recording.inflow();
    if inflow <= 0.0 || recording.streams.is_empty() {
        return None;
    }
    let nominal = recording.water_volume() / inflow;
    let mut scalar = Scalar::new(recording, vec![nominal; recording.water.len()], 0.0);
    let (mut carried, mut outlets, mut settled) = (0.0, nominal, false);
    let mut by_sink = Vec::new();
    while !settled && carried < MOST_RENEWALS * nominal && watch(carried, MOST_RENEWALS * nominal) == Control::Go {
        let before = scalar.value.clone();
        let seconds = rounds(&mut scalar, recording, 0.1 * nominal);
        carried += seconds;
        by_sink = scalar.take_out();
        outlets = by_sink.iter().copied().fold(Taken::default(), Taken::with).mean().unwrap_or(f64::INFINITY);
        let restless = restless(recording, &before, &scalar.value, AT_REST * 10.0 * seconds);
        settled = restless <= OLDEST && (outlets / nominal - 1.0).abs() < CLOSED;
    }
    let mean = scalar.mean();
    let (oldest, at) = oldest(recording, &scalar.value);
    let record = AgeRecord {
        nominal_s: nominal,
        outlets_s: outlets,
        outlets: Vec::new(),
        mean_s: mean,
        exchange_efficiency: nominal / (2.0 * mean),
        oldest_s: oldest,
        oldest_at_m: at,
        carried_s: carried,
        settled,
    };
    let at_cell = (0..scalar.value.len()).map(|cell| if recording.water[cell] > 0.0 { scalar.value[cell] as f32 } else { 0.0 });
    Some(Aged { record, at_cell: at_cell.collect(), by_sink })
}

/// Whole rounds of the recording that take at least so long; their seconds.
fn rounds(scalar: &mut Scalar, recording: &Recording, least: f64) -> f64 {
    let mut seconds = 0.0;
    while seconds < least {
        for stream in &recording.streams {
            scalar.carry(stream, Feed { gain: 1.0, brought: Brought::Fixed(0.0) });
            seconds += stream.seconds;
        }
    }
    seconds
}

/// Share of the water whose age changed by more than `most` (s).
fn restless(recording: &Recording, before: &[f64], now: &[f64], most: f64) -> f64 {
    let moved = (0..now.len()).filter(|&cell| (now[cell] - before[cell]).abs() > most);
    moved.map(|cell| recording.volume(cell)).sum::<f64>() / recording.water_volume().max(1e-300)
}

/// The age that only [`OLDEST`] of the water exceeds, and where the very oldest is.
fn oldest(recording: &Recording, age: &[f64]) -> (f64, Option<[f64; 3]>) {
    let mut cells: Vec<usize> = (0..age.len()).filter(|&cell| recording.water[cell] > 0.0).collect();
    cells.sort_by(|&a, &b| age[b].total_cmp(&age[a]).then(a.cmp(&b)));
    let mut left = OLDEST * recording.water_volume();
    let edge = cells.iter().find(|&&cell| {
        left -= recording.volume(cell);
        left <= 0.0
    });
    let middle = |&cell: &usize| recording.cell(cell).map(|c| (c as f64 + 0.5) * recording.h);
    (edge.map_or(0.0, |&cell| age[cell]), cells.first().map(middle))
}
