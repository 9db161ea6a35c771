//! What a jet's law says at one place.
//!
//! Jets narrower than the cells are averaged over 2 × 2 × 2 points of the cell (`cell_means`).

use super::{
    Jet,
    axis::Station,
    field::max,
    gust::{Gust, PEAK},
    jets::dot,
    round_jet::{self, Profile},
};

/// The law stands alone to this many cells from the mouth,
const ALONE: f32 = 18.0;
/// and has handed over to the computed flow at this many.
const OVER: f32 = 30.0;
/// Jets narrower than this many cells (half-width) are averaged over the cell.
const NARROW: f32 = 2.0;

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

/// Station abreast of a place if the axis were straight.
#[inline(always)]
pub(super) fn abreast(stations: &[Station], h: f32, place: [f32; 3]) -> usize {
    let ahead = (0..3).map(|d| (place[d] - stations[0].place[d]) * stations[0].along[d]).sum::<f32>();
    ((ahead / h + 0.5).max(0.0) as usize).min(stations.len() - 1)
}

/// The stretch of the axis that a place is abreast of, looked for from a station `near` it; `None` behind the mouth and beyond the end.
#[inline(always)]
fn spot(stations: &[Station], h: f32, place: [f32; 3], near: usize) -> Option<Spot> {
    let from = |n: usize| -> [f32; 3] { std::array::from_fn(|d| place[d] - stations[n].place[d]) };
    let ahead = |n: usize| dot(from(n), stations[n].along);
    let mut n = near;
    // Each look moves to the neighbour that the place lies towards; outside a bend, two may send it to each other.
    let forward = ahead(n) > 0.5 * h;
    loop {
        let a = ahead(n);
        let next = if forward && a > 0.5 * h {
            n + 1
        } else if !forward && a < -0.5 * h {
            n.wrapping_sub(1)
        } else {
            break;
        };
        if next >= stations.len() {
            break;
        }
        n = next;
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

/// A jet at a place: all but its profile there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Felt<'a> {
    pub station: &'a Station,
    /// Its number.
    pub number: usize,
    /// From the station to the place, m.
    pub from: [f32; 3],
    h: f32,
    pub per_bore: f32,
    /// Distance from the axis and from the mouth, in bores.
    off: f32,
    x: f32,
    /// Share of the law, speed on the axis and at the mouth (m/s).
    weight: f32,
    fast: f32,
    mouth: f32,
    pub profile: Profile,
}

impl<'a> Felt<'a> {
    /// `None` where the jet isn't felt. `reach` as in [`axis::reach`](super::axis::reach), by station; `near` is a station near the place.
    #[inline(always)]
    pub fn at(
        jet: &Jet,
        (stations, near): (&'a [Station], usize),
        h: f32,
        place: [f32; 3],
        reach: &impl Fn(usize) -> (f32, f32),
    ) -> Option<Self> {
        let spot = spot(stations, h, place, near)?;
        let (inner, outer) = reach(spot.station);
        if spot.off >= outer {
            return None;
        }
        let within = ((outer - spot.off) / (outer - inner)).clamp(0.0, 1.0);
        let near = ((OVER - spot.along / h) / (OVER - ALONE)).clamp(0.0, 1.0);
        let weight = spot.free * smooth(near) * smooth(within);
        if weight <= 1e-3 || jet.bore <= 0.0 || spot.speed <= 0.0 {
            return None;
        }
        let station = &stations[spot.station];
        let (x, per_bore) = (spot.along / jet.bore, 1.0 / jet.bore);
        Some(Self {
            station,
            number: spot.station,
            from: std::array::from_fn(|d| place[d] - station.place[d]),
            h,
            per_bore,
            off: spot.off * per_bore,
            x,
            weight,
            fast: spot.speed * spot.left * round_jet::centreline(x),
            mouth: spot.speed,
            profile: Profile::new(x),
        })
    }

    /// What it does at the place itself.
    pub fn at_a_point(&self) -> Touch {
        let share = self.profile.at(self.off);
        self.touch(share, share)
    }

    /// Distance from the axis of the place in the cell that is nearest to it, in bores.
    pub fn nearest(&self) -> f32 {
        max(self.off - 0.5 * self.h * self.per_bore, 0.0)
    }

    /// Half the distance of the points of a cell that its mean is taken over, m: none in a wide jet.
    pub fn spread(&self) -> f32 {
        if self.profile.half_width() < NARROW * self.h * self.per_bore { self.h / 12f32.sqrt() } else { 0.0 }
    }

    /// From the profile: its mean, and the most of it.
    #[inline(always)]
    pub fn touch(&self, share: f32, most: f32) -> Touch {
        let (_, variance) = round_jet::turbulence(self.x, share);
        let (gust, _) = round_jet::turbulence(self.x, most);
        let push = (self.fast * share).powi(2);
        Touch {
            weight: self.weight,
            weights: self.weight,
            ambient: self.station.ambient.map(|u| self.weight * u),
            push: self.station.along.map(|t| self.weight * push * t),
            share,
            variance: self.weight * self.fast * self.fast * variance,
            // No gust outruns the mouth.
            fastest: (self.fast * (most + PEAK * gust)).min(self.mouth),
        }
    }
}

impl Touch {
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

/// From 0 to 1 without a corner.
fn smooth(x: f32) -> f32 {
    x * x * (3.0 - 2.0 * x)
}
