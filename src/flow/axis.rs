//! The axis of a jet as the water has it: traced from the mouth through the moving water, ended where it strikes a solid or is lost, slowed
//! by what it passes through ([`passage`](super::passage)) and by a stream across it ([`round_jet::core`]).

use super::{
    Flow, Jet,
    jets::{dot, unit},
    passage, round_jet,
};
use serde::{Deserialize, Serialize};

/// A traced axis ends this many cells from the mouth.
pub(super) const LENGTH: usize = 31;
/// The push of a jet acts over this many cells: the axis is straight there.
const STRAIGHT: usize = 4;
/// Most that the axis turns from one cell to the next, rad.
const MOST_TURN: f32 = 0.15;
/// Below this share of the law's speed there is no jet; from twice and a half as much there is one.
const LOST: f32 = 0.10;
/// The law ends over this part of the way to what a jet strikes: there the water turns aside (Beltaos and Rajaratnam 1974: 0.14; from memory).
const TURNING: f32 = 0.15;

/// An axis that strays less than this many cells from the nozzle's own line is taken to be on it: the grid moves an oblique jet by up to
/// as much.
const STRAY: f32 = 0.7;

/// A place on an axis.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub(super) struct Station {
    pub place: [f32; 3],
    /// Direction of the jet, of length 1.
    pub along: [f32; 3],
    /// 0 to 1: is the jet here, and free?
    pub free: f32,
    /// Velocity of the water round the jet, m/s.
    pub ambient: [f32; 3],
    /// Mouth speed that has arrived here, m/s.
    pub speed: f32,
    /// Mouth speed that the grid's own jet, which starts more slowly, has surely brought here, m/s.
    pub slow: f32,
    /// Share of the law's speed that is left by what the jet has passed through and by a stream across it.
    pub left: f32,
}

impl Station {
    /// 0 to 1: should the grid's own jet be here by now?
    fn due(&self) -> f32 {
        if self.speed > 0.0 { ((self.slow / self.speed - 0.5) / 0.3).clamp(0.0, 1.0) } else { 1.0 }
    }
}

/// Radius round a station (m) within which the grid's own picture of the jet is replaced, and the larger one where it is left alone.
pub(super) fn reach(jet: &Jet, h: f32, station: usize) -> (f32, f32) {
    let x = station as f32 * h / jet.bore;
    let flat = (0.5 * jet.bore - h).max(0.0);
    let inner = (2.0 * round_jet::half_width(x) * jet.bore).max(flat + 2.5 * h);
    (inner, 1.5 * inner)
}

/// Traces the axis of a jet into `stations`, one a cell; their speeds are given and kept.
pub(super) fn trace(flow: &Flow, jet: &Jet, stations: &mut [Station]) {
    let h = flow.grid.h;
    let (mut place, mut along, mut free, mut left) = (jet.at, unit(jet.direction), 1.0f32, 1.0f32);
    // Of a jet that has been shut off, water that left it before is still on its way.
    let fastest = stations.iter().map(|station| station.speed).fold(1e-6, f32::max);
    let (mut struck, mut crossing) = (None, 0.0f32);
    for (n, station) in stations.iter_mut().enumerate() {
        let stops = |station: &Station| flow.sample(place).is_none() || passage::stops(flow, jet, n, place, left * station.speed);
        if struck.is_none() && (free <= 0.0 || (n > 0 && stops(station))) {
            struck = Some(n as f32 - 0.5);
        }
        if struck.is_some() {
            *station = Station { speed: station.speed, slow: station.slow, place, along, ..Station::default() };
            continue;
        }
        if n >= STRAIGHT {
            // Before that, the water can't tell whether the jet is there, or where it goes.
            let due = station.due();
            free = free.min(1.0 - due * (1.0 - presence(flow, jet, n, (place, along), left * station.speed)));
            along = turned(flow, place, along, due, h);
        }
        let ambient = ambient(flow, place, along, reach(jet, h, n).1);
        let x = n as f32 * h / jet.bore;
        if x < round_jet::core(crossing) {
            crossing += (across(ambient, along) / fastest - crossing) / (n + 1) as f32;
        }
        let bent = round_jet::crossed(x, crossing);
        *station = Station { place, along, free, ambient, left: left * bent, ..*station };
        let ahead = |by: f32| -> [f32; 3] { std::array::from_fn(|d| place[d] + by * along[d]) };
        left *= passage::left(flow, jet, n, (ahead(0.5 * h), along), left * station.speed);
        place = ahead(h);
    }
    straighten(jet, stations, h);
    if let Some(end) = struck {
        let fading = (TURNING * end).max(1.0);
        stations.iter_mut().enumerate().for_each(|(n, s)| s.free = s.free.min(((end - n as f32) / fading).clamp(0.0, 1.0)));
    }
}

/// Takes [`STRAY`] off the distance of every station from the nozzle's own line.
fn straighten(jet: &Jet, stations: &mut [Station], h: f32) {
    let along = unit(jet.direction);
    for n in 0..stations.len() {
        let line: [f32; 3] = std::array::from_fn(|d| jet.at[d] + n as f32 * h * along[d]);
        let off: [f32; 3] = std::array::from_fn(|d| stations[n].place[d] - line[d]);
        let kept = (1.0 - STRAY * h / dot(off, off).sqrt().max(1e-9)).max(0.0);
        stations[n].place = std::array::from_fn(|d| line[d] + kept * off[d]);
        if n > 0 {
            let before = stations[n - 1].place;
            let place = stations[n].place;
            stations[n - 1].along = unit(std::array::from_fn(|d| place[d] - before[d]));
        }
    }
}

/// Is the jet where the axis leads? From what the water does there, against the law.
fn presence(flow: &Flow, jet: &Jet, n: usize, (place, along): ([f32; 3], [f32; 3]), speed: f32) -> f32 {
    let wanted = speed * round_jet::centreline(n as f32 * flow.grid.h / jet.bore);
    let found = flow.sample(place).map_or(0.0, |u| dot(u, along));
    if wanted > 0.0 { ((found / wanted - LOST) / (1.5 * LOST)).clamp(0.0, 1.0) } else { 0.0 }
}

/// Direction of the momentum round a place, leaning to where most of it is; no more than [`MOST_TURN`], times `due`, from `along`.
fn turned(flow: &Flow, place: [f32; 3], along: [f32; 3], due: f32, h: f32) -> [f32; 3] {
    const LEAN: f32 = 0.125;
    let (mut momentum, mut offset, mut weight) = ([0.0f32; 3], [0.0f32; 3], 0.0f32);
    for from in [[0.0; 3]].into_iter().chain(ring(along, 1.25 * h)) {
        let Some(u) = flow.sample(add(place, from)) else { continue };
        let ahead = dot(u, along).max(0.0);
        (0..3).for_each(|d| momentum[d] += ahead * u[d]);
        (0..3).for_each(|d| offset[d] += ahead * ahead * from[d]);
        weight += ahead * ahead;
    }
    if weight <= 0.0 {
        return along;
    }
    let heading = unit(momentum);
    let turn: [f32; 3] = std::array::from_fn(|d| heading[d] - along[d] + LEAN * offset[d] / (weight * h));
    let size = dot(turn, turn).sqrt();
    let held = due * if size > MOST_TURN { MOST_TURN / size } else { 1.0 };
    unit(std::array::from_fn(|d| along[d] + held * turn[d]))
}

/// Velocity of the water beside a jet: mean of the slower half of eight places on a ring, so that another jet on one side doesn't count.
fn ambient(flow: &Flow, place: [f32; 3], along: [f32; 3], radius: f32) -> [f32; 3] {
    let mut found = [[0.0f32; 3]; 8];
    let mut count = 0;
    for u in ring(along, radius).filter_map(|from| flow.sample(add(place, from))) {
        found[count] = u;
        count += 1;
    }
    let found = &mut found[..count];
    found.sort_by(|a, b| dot(*a, *a).total_cmp(&dot(*b, *b)));
    let half = count.div_ceil(2);
    let share = 1.0 / half.max(1) as f32;
    found[..half].iter().fold([0.0; 3], |sum, u| std::array::from_fn(|d| sum[d] + share * u[d]))
}

/// How fast water goes across a direction.
fn across(u: [f32; 3], along: [f32; 3]) -> f32 {
    (dot(u, u) - dot(u, along).powi(2)).max(0.0).sqrt()
}

/// Eight points round a place, across a direction.
fn ring(along: [f32; 3], radius: f32) -> impl Iterator<Item = [f32; 3]> {
    turned_ring(along, radius, 0.0)
}

/// The same, turned by so many eighths.
pub(super) fn turned_ring(along: [f32; 3], radius: f32, eighths: f32) -> impl Iterator<Item = [f32; 3]> {
    let least = (0..3).min_by(|a, b| along[*a].abs().total_cmp(&along[*b].abs())).unwrap_or(0);
    let mut other = [0.0; 3];
    other[least] = 1.0;
    let first = unit(cross(along, other));
    let second = cross(along, first);
    (0..8).map(move |n| {
        let (sine, cosine) = ((n as f32 + eighths) * std::f32::consts::FRAC_PI_4).sin_cos();
        std::array::from_fn(|d| radius * (cosine * first[d] + sine * second[d]))
    })
}

fn cross(a: [f32; 3], b: [f32; 3]) -> [f32; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn add(a: [f32; 3], b: [f32; 3]) -> [f32; 3] {
    std::array::from_fn(|d| a[d] + b[d])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{Grid, JetRate, NearField, Physics, Ports, Rates};

    /// A jet of 25 mm at 1 m/s across which water goes at 50 mm/s, shut off a moment ago: ten bores away it is still as fast as it was,
    /// 0.6 U0 less the 3 % that such a stream takes.
    #[test]
    fn a_stream_across_does_not_end_a_jet_that_is_shut_off() {
        let grid = Grid { n: [40, 16, 16], h: 0.025 };
        let jet = Jet { at: [0.0, 0.2, 0.2], direction: [1.0, 0.0, 0.0], bore: 0.025 };
        let mut flow = Flow::new(grid, &|_| 1.0, Ports { jets: vec![jet], sinks: vec![] }, Physics::tank(1e-6, 1));
        flow.set_velocity(&|_| [1.0, 0.05, 0.0]);
        let mut near = NearField::new(&flow);
        let area = std::f32::consts::FRAC_PI_4 * 0.025f32.powi(2);
        let on = Rates { jets: vec![JetRate { flow: area, momentum: area }], sinks: vec![] };
        near.pass(&flow, &on, 1e4);
        near.pass(&flow, &Rates::shut(flow.ports()), 1e-3);
        near.trace(&flow);
        let place = near.axes[0][10].place;
        let speed = near.at(&flow, place).map_or(0.0, |(u, _)| u[0]);
        assert!((0.5..0.65).contains(&speed), "{speed}");
    }
}
