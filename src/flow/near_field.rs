//! What the water does near the nozzles, where the grid can't hold a jet: the published jet laid over the computed flow.
//!
//! The axis of every jet is traced through the moving water ([`axis`](super::axis)); round it the computed velocity gives way to the law
//! ([`round_jet`](super::round_jet)) plus the water beside the jet, wholly to 18 cells from the mouth, then less and less to 30. Jets that
//! meet add their momentum fluxes (Reichardt 1942). The law's turbulence comes with it; farther on that of the marked jet water.

use super::{
    Flow, Jet, Rates,
    axis::{self, LENGTH, Station},
    field::max,
    jets::dot,
    overlay,
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

/// The grid's own jet may take this many times as long as the law's to come to a place (measured: 1.5 to 3).
const SLOWER: f32 = 4.0;

/// The near field of all jets of a flow. Keeps what the jets were a moment ago.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct NearField {
    pub(super) axes: Vec<[Station; LENGTH]>,
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
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Touch {
    /// Share of the law, 0 to 1.
    pub weight: f32,
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
        Self { axes, gusts: vec![Gust::default(); cells] }
    }

    /// Takes over the jets of another flow that this one has as well: they have blown for long already.
    pub fn go_on_from(&mut self, flow: &Flow, (before, then): (&Self, &Flow)) {
        for (stations, jet) in self.axes.iter_mut().zip(&flow.ports.jets) {
            if let Some(same) = then.ports.jets.iter().position(|other| other == jet) {
                *stations = before.axes[same];
            }
        }
    }

    /// Time passes: `dt` seconds with these rates. To be called at every step.
    pub fn pass(&mut self, flow: &Flow, rates: &Rates, dt: f32) {
        for (index, (stations, jet)) in self.axes.iter_mut().zip(&flow.ports.jets).enumerate() {
            let blocked = flow.sources.jets[index].region == NO_REGION;
            let momentum = rates.jets.get(index).map_or(0.0, |rate| rate.momentum).max(0.0);
            let mouth = if blocked { 0.0 } else { mouth_speed(jet, momentum) };
            for (n, station) in stations.iter_mut().enumerate() {
                let x = n as f32 * flow.grid.h;
                station.speed = round_jet::arrived(station.speed, mouth, jet.bore, x, dt);
                station.slow = round_jet::arrived(station.slow, mouth, jet.bore, x, dt / SLOWER);
            }
        }
    }

    /// Lays the jets over the velocity at cells (m/s; from [`Flow::velocity_at_cells`] of this moment).
    pub fn overlay(&mut self, flow: &Flow, velocity: &mut [[f32; 3]]) {
        self.trace(flow);
        flow.gusts(velocity, &mut self.gusts);
        overlay::lay(flow, &self.axes, velocity, &mut self.gusts);
    }

    /// Turbulence and highest speed of every cell, as the last overlay found them; x fastest.
    pub fn gusts(&self) -> &[Gust] {
        &self.gusts
    }

    /// Finds the axes in the present flow; [`NearField::overlay`] does it too.
    pub fn trace(&mut self, flow: &Flow) {
        self.axes.par_iter_mut().zip(&flow.ports.jets).for_each(|(stations, jet)| {
            if jet.bore > 0.0 && stations[1].speed > 0.0 {
                axis::trace(flow, jet, stations);
            }
        });
    }

    /// Velocity (m/s) and turbulence at a place, with the axes as last traced; `None` outside the water.
    pub fn at(&self, flow: &Flow, place: [f32; 3]) -> Option<([f32; 3], Gust)> {
        let velocity = flow.sample(place)?;
        let mut touch = Touch::default();
        for (stations, jet) in self.axes.iter().zip(&flow.ports.jets) {
            let reach = |station| axis::reach(jet, flow.grid.h, station);
            touch.add(jet, stations, flow.grid.h, place, (Extent::Point, &reach));
        }
        let gust = flow.gust_at(place, velocity);
        Some(if touch.weight > 0.0 { touch.over(velocity, gust) } else { (velocity, gust) })
    }
}

/// What a touch is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Extent {
    Point,
    Cell,
}

/// Speed that gives this momentum flux over density (m⁴/s²) to a round mouth, m/s.
fn mouth_speed(jet: &Jet, momentum: f32) -> f32 {
    let area = std::f32::consts::FRAC_PI_4 * jet.bore * jet.bore;
    if area > 0.0 && momentum.is_finite() { (momentum / area).sqrt() } else { 0.0 }
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
    left: f32,
}

/// The stretch of the axis that a place is abreast of; `None` behind the mouth and beyond the end.
#[inline(always)]
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
    Some(Spot { along: along.max(0.0), off, station: n, free: between(|s| s.free), speed: between(|s| s.speed), left: between(|s| s.left) })
}

impl Touch {
    /// Adds what one jet does at a place or in the cell round it.
    #[inline(always)]
    pub fn add(
        &mut self,
        jet: &Jet,
        stations: &[Station],
        h: f32,
        place: [f32; 3],
        (extent, reach): (Extent, &impl Fn(usize) -> (f32, f32)),
    ) {
        let Some(spot) = spot(stations, h, place) else { return };
        let (inner, outer) = reach(spot.station);
        if spot.off >= outer {
            return;
        }
        let within = ((outer - spot.off) / (outer - inner)).clamp(0.0, 1.0);
        let near = ((OVER - spot.along / h) / (OVER - ALONE)).clamp(0.0, 1.0);
        let weight = spot.free * smooth(near) * smooth(within);
        if weight <= 1e-3 || jet.bore <= 0.0 || spot.speed <= 0.0 {
            return;
        }
        let station = &stations[spot.station];
        let x = spot.along / jet.bore;
        let fast = spot.speed * spot.left * round_jet::centreline(x);
        let profile = Profile::new(x);
        let narrow = extent == Extent::Cell && profile.half_width() * jet.bore < NARROW * h;
        let share = if narrow { cell_share(jet, station, &profile, h, place) } else { profile.at(spot.off / jet.bore) };
        let nearest = if extent == Extent::Cell { (spot.off - 0.5 * h).max(0.0) } else { spot.off };
        let most = profile.at(nearest / jet.bore);
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

    #[inline(always)]
    pub fn join(&mut self, other: &Touch) {
        self.weight = self.weight.max(other.weight);
        self.weights += other.weights;
        self.ambient = std::array::from_fn(|d| self.ambient[d] + other.ambient[d]);
        self.push = std::array::from_fn(|d| self.push[d] + other.push[d]);
        self.share = self.share.max(other.share);
        self.variance += other.variance;
        self.fastest = self.fastest.max(other.fastest);
    }

    /// Velocity and gust, from those computed.
    pub fn over(&self, computed: [f32; 3], gust: Gust) -> ([f32; 3], Gust) {
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
#[inline(always)]
fn cell_share(jet: &Jet, station: &Station, profile: &Profile, h: f32, place: [f32; 3]) -> f32 {
    let step = h / 12f32.sqrt();
    let per_bore = 1.0 / jet.bore;
    let mut share = [0.0f32; 8];
    for (n, share) in share.iter_mut().enumerate() {
        let from: [f32; 3] = std::array::from_fn(|d| place[d] + if n >> d & 1 == 1 { step } else { -step } - station.place[d]);
        let ahead = dot(from, station.along);
        *share = profile.at(max(dot(from, from) - ahead * ahead, 0.0).sqrt() * per_bore);
    }
    share.iter().sum::<f32>() * 0.125
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
        self.gust(self.lattice.cell(self.grid.cell_at(place)), velocity)
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
