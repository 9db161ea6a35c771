//! What the water does near the nozzles, where the grid can't hold a jet: the published jet laid over the computed flow.
//!
//! The axis of every jet is traced through the moving water ([`axis`](super::axis)); round it the computed velocity gives way to the law
//! ([`round_jet`](super::round_jet)) plus the water beside the jet, wholly to 18 cells from the mouth, then less and less to 30. Jets that
//! meet add their momentum fluxes (Reichardt 1942). The law's turbulence comes with it; farther on that of the marked jet water.

use super::{
    Flow, Jet, Rates,
    axis::{self, LENGTH, Station},
    grid::Grid,
    jets::dot,
    round_jet::{self, Profile},
    solids::NO_REGION,
};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// The law stands alone to this many cells from the mouth,
const ALONE: f32 = 18.0;
/// and has handed over to the computed flow at this many.
const OVER: f32 = 30.0;
/// Peaks are this many standard deviations above the mean: the highest of some thousand samples.
const PEAK: f32 = 3.0;
/// Jets narrower than this many cells (half-width) are averaged over the cell.
const NARROW: f32 = 2.0;
/// No cell.
const NONE: u32 = u32::MAX;

/// The near field of all jets of a flow. Keeps what the jets were a moment ago.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct NearField {
    axes: Vec<[Station; LENGTH]>,
    touched: Vec<(u32, Touch)>,
    slot: Vec<u32>,
    gusts: Vec<Gust>,
}

/// Motion in a cell that its velocity doesn't show.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Gust {
    /// Mean square of the turbulent velocity of a jet, all three components, m²/s².
    pub variance: f32,
    /// Highest speed to be expected anywhere in the cell, m/s.
    pub fastest: f32,
}

/// What the jets do at one place.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
struct Touch {
    /// Share of the law, 0 to 1.
    weight: f32,
    /// Sum of weights of all jets, and of weight × velocity of the water beside them.
    weights: f32,
    ambient: [f32; 3],
    /// Sum of weight × speed² × direction.
    push: [f32; 3],
    /// Largest share that jet water has in the mean.
    share: f32,
    /// Sum of weight × variance; highest speed.
    variance: f32,
    fastest: f32,
}

impl NearField {
    /// Of a flow in which no jet has blown yet.
    pub fn new(flow: &Flow) -> Self {
        let cells = flow.grid.cells();
        let axes = vec![[Station::default(); LENGTH]; flow.ports.jets.len()];
        Self { axes, touched: Vec::new(), slot: vec![NONE; cells], gusts: vec![Gust::default(); cells] }
    }

    /// Time passes: `dt` seconds with these rates. To be called at every step.
    pub fn pass(&mut self, flow: &Flow, rates: &Rates, dt: f32) {
        for (index, (stations, jet)) in self.axes.iter_mut().zip(&flow.ports.jets).enumerate() {
            let blocked = flow.sources.jets[index].region == NO_REGION;
            let momentum = rates.jets.get(index).map_or(0.0, |rate| rate.momentum).max(0.0);
            let mouth = if blocked { 0.0 } else { mouth_speed(jet, momentum) };
            for (n, station) in stations.iter_mut().enumerate() {
                station.speed = round_jet::arrived(station.speed, mouth, jet.bore, n as f32 * flow.grid.h, dt);
            }
        }
    }

    /// Lays the jets over the velocity at cells (m/s; from [`Flow::velocity_at_cells`] of this moment).
    pub fn overlay(&mut self, flow: &Flow, velocity: &mut [[f32; 3]]) {
        self.trace(flow);
        flow.gusts(velocity, &mut self.gusts);
        for (stations, jet) in self.axes.iter().zip(&flow.ports.jets) {
            let Some(cone) = Cone::round(flow.grid.h, jet, stations) else { continue };
            for cell in cells_near(&flow.grid, jet, stations) {
                let at = flow.grid.index(cell);
                if !cone.may_hold(flow.grid.centre(cell)) || flow.solids.water[at] <= 0.0 {
                    continue;
                }
                let mut touch = Touch::default();
                touch.add(jet, stations, flow.grid.h, flow.grid.centre(cell), Extent::Cell);
                if touch.weight > 0.0 {
                    note(&mut self.touched, &mut self.slot, at, touch);
                }
            }
        }
        for (cell, touch) in self.touched.drain(..) {
            let cell = cell as usize;
            self.slot[cell] = NONE;
            (velocity[cell], self.gusts[cell]) = touch.over(velocity[cell], self.gusts[cell]);
        }
    }

    /// Turbulence and highest speed of every cell, as the last overlay found them; x fastest.
    pub fn gusts(&self) -> &[Gust] {
        &self.gusts
    }

    /// Finds the axes in the present flow; [`NearField::overlay`] does it too.
    pub fn trace(&mut self, flow: &Flow) {
        for (stations, jet) in self.axes.iter_mut().zip(&flow.ports.jets) {
            if jet.bore > 0.0 && stations[1].speed > 0.0 {
                axis::trace(flow, jet, stations);
            }
        }
    }

    /// Velocity (m/s) and turbulence at a place, with the axes as last traced; `None` outside the water.
    pub fn at(&self, flow: &Flow, place: [f32; 3]) -> Option<([f32; 3], Gust)> {
        let velocity = flow.sample(place)?;
        let mut touch = Touch::default();
        for (stations, jet) in self.axes.iter().zip(&flow.ports.jets) {
            touch.add(jet, stations, flow.grid.h, place, Extent::Point);
        }
        let gust = flow.gust_at(place, velocity);
        Some(if touch.weight > 0.0 { touch.over(velocity, gust) } else { (velocity, gust) })
    }
}

/// What a touch is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Extent {
    Point,
    Cell,
}

/// Speed that gives this momentum flux over density (m⁴/s²) to a round mouth, m/s.
fn mouth_speed(jet: &Jet, momentum: f32) -> f32 {
    let area = std::f32::consts::FRAC_PI_4 * jet.bore * jet.bore;
    if area > 0.0 && momentum.is_finite() { (momentum / area).sqrt() } else { 0.0 }
}

/// Puts what jets do at a cell with what others do there.
fn note(touched: &mut Vec<(u32, Touch)>, slot: &mut [u32], cell: usize, touch: Touch) {
    if slot[cell] == NONE {
        slot[cell] = touched.len() as u32;
        touched.push((cell as u32, touch));
    } else {
        touched[slot[cell] as usize].1.join(&touch);
    }
}

/// Cells of the box round all stations of a jet that take part.
fn cells_near(grid: &Grid, jet: &Jet, stations: &[Station]) -> impl Iterator<Item = [usize; 3]> + use<> {
    let (mut low, mut high) = ([f32::MAX; 3], [f32::MIN; 3]);
    for (n, station) in stations.iter().enumerate().filter(|(_, s)| s.free > 0.0 && s.speed > 0.0) {
        let reach = axis::reach(jet, grid.h, n).1;
        for d in 0..3 {
            // Across an axis the reach is less than along it.
            let wide = reach * (1.0 - station.along[d] * station.along[d]).max(0.0).sqrt() + grid.h;
            low[d] = low[d].min(station.place[d] - wide);
            high[d] = high[d].max(station.place[d] + wide);
        }
    }
    let n = grid.n;
    let range = |d: usize| {
        let bound = |x: f32| (x / grid.h).clamp(0.0, n[d] as f32) as usize;
        if low[d] < high[d] { bound(low[d])..(bound(high[d]) + 1).min(n[d]) } else { 0..0 }
    };
    let (x, y, z) = (range(0), range(1), range(2));
    z.flat_map(move |k| {
        let x = x.clone();
        y.clone().flat_map(move |j| x.clone().map(move |i| [i, j, k]))
    })
}

/// A straight cone that holds all that a jet may touch: most cells of the box round it don't lie in it, and are told so cheaply.
struct Cone {
    tip: [f32; 3],
    along: [f32; 3],
    /// Radius at the tip and its growth per length, twice the bend of the axis included.
    radius: f32,
    growth: f32,
    h: f32,
}

impl Cone {
    /// `None` when the jet is nowhere.
    fn round(h: f32, jet: &Jet, stations: &[Station]) -> Option<Self> {
        let last = stations.iter().rposition(|station| station.free > 0.0 && station.speed > 0.0)?;
        let between = |n: usize| -> [f32; 3] { std::array::from_fn(|d| stations[n].place[d] - stations[0].place[d]) };
        let end = between(last);
        let length = dot(end, end).sqrt();
        let along = if length > 0.0 { end.map(|c| c / length) } else { stations[0].along };
        let off = |n: usize| {
            let from = between(n);
            (dot(from, from) - dot(from, along).powi(2)).max(0.0).sqrt()
        };
        let bend = (0..=last).map(off).fold(0.0, f32::max);
        let (first, widest) = (axis::reach(jet, h, 0).1, axis::reach(jet, h, last).1);
        let growth = if length > 0.0 { (widest - first) / length } else { 0.0 };
        // Reach grows slower near the mouth than farther on: a straight line between both ends lies over it.
        Some(Self { tip: stations[0].place, along, radius: first + 2.0 * bend + h, growth, h })
    }

    fn may_hold(&self, place: [f32; 3]) -> bool {
        let from: [f32; 3] = std::array::from_fn(|d| place[d] - self.tip[d]);
        let ahead = dot(from, self.along);
        let radius = self.radius + self.growth * (ahead + self.h).max(0.0);
        ahead > -2.0 * self.h - self.radius && dot(from, from) - ahead * ahead <= radius * radius
    }
}

/// Where a place lies along and off an axis.
struct Spot {
    /// Distance along the axis from the mouth and off it, m.
    along: f32,
    off: f32,
    station: usize,
    /// Of the station and its neighbour on that side.
    free: f32,
    speed: f32,
}

/// The stretch of the axis that a place is abreast of; `None` behind the mouth and beyond the end.
fn spot(stations: &[Station], h: f32, place: [f32; 3]) -> Option<Spot> {
    let from = |n: usize| -> [f32; 3] { std::array::from_fn(|d| place[d] - stations[n].place[d]) };
    let ahead = |n: usize| dot(from(n), stations[n].along);
    let mut n = ((ahead(0) / h + 0.5).max(0.0) as usize).min(stations.len() - 1);
    // On a bent axis the first guess is off; each look moves to the neighbour that the place lies towards.
    for _ in 0..stations.len() {
        let a = ahead(n);
        let better = if a > 0.5 * h {
            n + 1
        } else if a < -0.5 * h {
            n.wrapping_sub(1)
        } else {
            n
        };
        if better >= stations.len() || better == n {
            break;
        }
        n = better;
    }
    let a = ahead(n);
    let along = n as f32 * h + a;
    if along < -0.25 * h || a > h {
        return None;
    }
    let d = from(n);
    let off = (dot(d, d) - a * a).max(0.0).sqrt();
    let next = if a >= 0.0 { (n + 1).min(stations.len() - 1) } else { n.saturating_sub(1) };
    let part = (a.abs() / h).min(1.0);
    let between = |of: fn(&Station) -> f32| of(&stations[n]) + part * (of(&stations[next]) - of(&stations[n]));
    Some(Spot { along: along.max(0.0), off, station: n, free: between(|s| s.free), speed: between(|s| s.speed) })
}

impl Touch {
    /// Adds what one jet does at a place or in the cell round it.
    fn add(&mut self, jet: &Jet, stations: &[Station], h: f32, place: [f32; 3], extent: Extent) {
        let Some(spot) = spot(stations, h, place) else { return };
        let (inner, outer) = axis::reach(jet, h, spot.station);
        let within = ((outer - spot.off) / (outer - inner)).clamp(0.0, 1.0);
        let near = ((OVER - spot.along / h) / (OVER - ALONE)).clamp(0.0, 1.0);
        let weight = spot.free * smooth(near) * smooth(within);
        if weight <= 1e-3 || jet.bore <= 0.0 || spot.speed <= 0.0 {
            return;
        }
        let station = &stations[spot.station];
        let x = spot.along / jet.bore;
        let fast = spot.speed * round_jet::centreline(x);
        let narrow = extent == Extent::Cell && round_jet::half_width(x) * jet.bore < NARROW * h;
        let share = if narrow { cell_share(jet, station, x, h, place) } else { Profile::new(x).at(spot.off / jet.bore) };
        let nearest = if extent == Extent::Cell { (spot.off - 0.5 * h).max(0.0) } else { spot.off };
        let most = Profile::new(x).at(nearest / jet.bore);
        let (_, variance) = round_jet::turbulence(x, share);
        let (gust, _) = round_jet::turbulence(x, most);
        let push = (fast * share).powi(2);
        self.join(&Touch {
            weight,
            weights: weight,
            ambient: station.ambient.map(|u| weight * u),
            push: station.along.map(|t| weight * push * t),
            share,
            variance: weight * fast * fast * variance,
            // No gust outruns the mouth.
            fastest: (fast * (most + PEAK * gust)).min(spot.speed),
        });
    }

    fn join(&mut self, other: &Touch) {
        self.weight = self.weight.max(other.weight);
        self.weights += other.weights;
        self.ambient = std::array::from_fn(|d| self.ambient[d] + other.ambient[d]);
        self.push = std::array::from_fn(|d| self.push[d] + other.push[d]);
        self.share = self.share.max(other.share);
        self.variance += other.variance;
        self.fastest = self.fastest.max(other.fastest);
    }

    /// Velocity and gust, from those computed.
    fn over(&self, computed: [f32; 3], gust: Gust) -> ([f32; 3], Gust) {
        let push = self.push.map(|p| p / self.weight);
        let square = dot(push, push).sqrt();
        let jet = push.map(|p| p / square.max(1e-12).sqrt());
        let ambient = self.ambient.map(|a| a * (1.0 - self.share) / self.weights);
        let law: [f32; 3] = std::array::from_fn(|d| ambient[d] + jet[d]);
        let blend = |a: f32, b: f32| a + self.weight * (b - a);
        let velocity: [f32; 3] = std::array::from_fn(|d| blend(computed[d], law[d]));
        let fastest = self.fastest.max(dot(law, law).sqrt());
        let gust = Gust { variance: blend(gust.variance, self.variance / self.weight), fastest: blend(gust.fastest, fastest) };
        (velocity, gust)
    }
}

/// Mean share over a cell, by two Gauss points along each side.
fn cell_share(jet: &Jet, station: &Station, x: f32, h: f32, place: [f32; 3]) -> f32 {
    let profile = Profile::new(x);
    let step = h / 12f32.sqrt();
    let corner = |n: usize| {
        let from: [f32; 3] = std::array::from_fn(|d| place[d] + if n >> d & 1 == 1 { step } else { -step } - station.place[d]);
        let ahead = dot(from, station.along);
        profile.at((dot(from, from) - ahead * ahead).max(0.0).sqrt() / jet.bore)
    };
    (0..8).map(corner).sum::<f32>() / 8.0
}

/// From 0 to 1 without a corner.
fn smooth(x: f32) -> f32 {
    x * x * (3.0 - 2.0 * x)
}

impl Flow {
    /// Turbulence of the marked jet water at every cell, where the law doesn't reach.
    fn gusts(&self, velocity: &[[f32; 3]], gusts: &mut [Gust]) {
        let [nx, ny, _] = self.lattice.n;
        let rows = gusts.par_chunks_mut(nx).zip(velocity.par_chunks(nx)).with_min_len(ny).enumerate();
        rows.for_each(|(row, (gusts, velocity))| {
            let (j, k) = (row % ny, row / ny);
            let marked = self.tags.row_is_marked(j, k);
            let at = self.lattice.row(j, k);
            for (i, (gust, u)) in gusts.iter_mut().zip(velocity).enumerate() {
                *gust = if marked { self.gust(at + i, *u) } else { Gust { variance: 0.0, fastest: dot(*u, *u).sqrt() } };
            }
        });
    }

    fn gust_at(&self, place: [f32; 3], velocity: [f32; 3]) -> Gust {
        let cell = std::array::from_fn(|d| ((place[d] / self.grid.h).max(0.0) as usize).min(self.grid.n[d] - 1));
        self.gust(self.lattice.cell(cell), velocity)
    }

    /// From how far marked water has come and how strong its jet was: the law's centreline speed there, and so its turbulence.
    fn gust(&self, at: usize, velocity: [f32; 3]) -> Gust {
        let speed = dot(velocity, velocity).sqrt();
        let (share, way, drive) = self.tags.jet_water(at, self.grid.h);
        if share <= 0.0 || way <= 0.0 || drive <= 0.0 {
            return Gust { variance: 0.0, fastest: speed };
        }
        let fast = round_jet::far_centreline(drive, way);
        let (along, variance) = round_jet::turbulence(f32::INFINITY, (share * speed / fast).min(1.0));
        Gust { variance: fast * fast * variance, fastest: speed + PEAK * fast * along }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{JetRate, Physics, Ports, Scratch, Sink, step};

    /// A jet across a stream of another: no cell that it touches lies outside its cone.
    #[test]
    fn a_cone_holds_all_that_a_bent_jet_touches() {
        let grid = Grid { n: [40, 30, 20], h: 0.025 };
        let jets = vec![
            Jet { at: [0.3, 0.0, 0.25], direction: [0.4, 1.0, -0.2], bore: 0.025 },
            Jet { at: [0.0, 0.4, 0.25], direction: [1.0, 0.0, 0.1], bore: 0.05 },
        ];
        let sink = Sink { at: [1.0, 0.3, 0.2], normal: [-1.0, 0.0, 0.0], size: [0.1, 0.1] };
        let mut flow = Flow::new(grid, &|_| 1.0, Ports { jets, sinks: vec![sink] }, Physics::tank(1e-6, 1));
        let (mut scratch, mut near) = (Scratch::new(&flow), NearField::new(&flow));
        let rates =
            Rates { jets: vec![JetRate { flow: 7e-4, momentum: 1e-3 }, JetRate { flow: 3e-3, momentum: 4.5e-3 }], sinks: vec![3.7e-3] };
        for _ in 0..150 {
            let report = step(&mut flow, &mut scratch, &rates, 0.1);
            near.pass(&flow, &rates, report.dt);
        }
        near.trace(&flow);
        let mut touched = [0, 0];
        for (index, (stations, jet)) in near.axes.iter().zip(&flow.ports.jets).enumerate() {
            let cone = Cone::round(grid.h, jet, stations).unwrap();
            for cell in flow.lattice.cells() {
                let mut touch = Touch::default();
                touch.add(jet, stations, grid.h, grid.centre(cell), Extent::Cell);
                touched[index] += usize::from(touch.weight > 0.0);
                assert!(touch.weight == 0.0 || cone.may_hold(grid.centre(cell)), "{cell:?} of jet {index}");
            }
        }
        assert!(touched.iter().all(|cells| *cells > 100), "{touched:?}");
    }
}
