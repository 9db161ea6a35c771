//! Something that goes with the water: dye, or the water's age. Carried in flux form by the recorded motion.
//!
//! ∂c/∂t + ∇·(u c) = D ∇²c + s, with water that jets bring at `brought` and water that sinks take at its own c. Between cells the value
//! upstream is taken, corrected toward second order by van Leer's limiter (1974; φ(r) = (r + |r|)/(1 + |r|)), with the Courant number
//! of what leaves a cell under one half: no new extremes, and nothing gained or lost.

use super::recording::Recording;
use crate::flow::Stream;
use rayon::prelude::*;

/// Largest share of a cell's water that leaves it in a step.
const COURANT: f64 = 0.5;

/// A number per cell that goes with the water.
#[derive(Debug, Clone)]
pub struct Scalar<'a> {
    recording: &'a Recording,
    /// Its value in each cell.
    pub value: Vec<f64>,
    diffusivity: f64,
    flux: [Vec<f64>; 3],
    volumes: Vec<f64>,
    /// What each sink took, since [`Scalar::take_out`] was called last.
    taken: Vec<Taken>,
}

/// What sinks took.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Taken {
    /// Water, m³.
    pub water: f64,
    /// What went with it: value × m³.
    pub amount: f64,
}

impl Taken {
    /// Mean value of the water that was taken; `None` when there was none.
    pub fn mean(&self) -> Option<f64> {
        (self.water > 0.0).then(|| self.amount / self.water)
    }

    /// Both together.
    pub fn with(self, other: Self) -> Self {
        Self { water: self.water + other.water, amount: self.amount + other.amount }
    }
}

/// What goes on besides transport.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feed {
    /// Gain everywhere, 1/s times the unit of the value.
    pub gain: f64,
    /// Value of the water that jets bring.
    pub brought: Brought,
}

/// Value of the water that jets bring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Brought {
    /// A fixed one.
    Fixed(f64),
    /// The mean of what all sinks take at the moment: pumps send it round, pipes hold nothing back.
    Returned,
}

impl<'a> Scalar<'a> {
    /// A value per cell; `diffusivity` in m²/s.
    pub fn new(recording: &'a Recording, value: Vec<f64>, diffusivity: f64) -> Self {
        let faces = |axis: usize| vec![0.0; recording.streams.first().map_or(0, |stream| stream.at_face[axis].len())];
        let volumes = (0..value.len()).map(|cell| recording.volume(cell)).collect();
        Self {
            recording,
            value,
            diffusivity,
            flux: std::array::from_fn(faces),
            volumes,
            taken: vec![Taken::default(); recording.sinks.len()],
        }
    }

    /// Bytes of memory per cell that carrying takes besides the recording.
    pub const BYTES_PER_CELL: usize = 5 * size_of::<f64>();

    /// Volume mean.
    pub fn mean(&self) -> f64 {
        self.volume_mean(|value| value)
    }

    /// Root mean square of value/mean − 1: the coefficient of variation; infinite when the mean is zero.
    pub fn variation(&self) -> f64 {
        let mean = self.mean();
        self.volume_mean(|value| (value / mean - 1.0).powi(2)).sqrt()
    }

    fn volume_mean(&self, of: impl Fn(f64) -> f64) -> f64 {
        let (mut sum, mut volume) = (0.0, 0.0);
        for (&value, &v) in self.value.iter().zip(&self.volumes).filter(|&(_, &v)| v > 0.0) {
            sum += v * of(value);
            volume += v;
        }
        sum / volume.max(1e-300)
    }

    /// Carries it through one stream, from its beginning to its end.
    pub fn carry(&mut self, stream: &Stream, feed: Feed) {
        self.carry_for(stream, stream.seconds, feed);
    }

    /// Carries it by one stream for so many seconds.
    pub fn carry_for(&mut self, stream: &Stream, seconds: f64, feed: Feed) {
        let exchanges = self.recording.exchanges(stream);
        let steps = (seconds / self.longest_step(stream, &exchanges)).ceil().max(1.0);
        (0..steps as usize).for_each(|_| self.step(stream, &exchanges, seconds / steps, feed));
    }

    /// What each sink took since this was called last, in the order of [`Recording::sinks`].
    pub fn take_out(&mut self) -> Vec<Taken> {
        let count = self.taken.len();
        std::mem::replace(&mut self.taken, vec![Taken::default(); count])
    }

    /// What each sink takes now in a step of `dt` seconds.
    fn taking<'s>(&'s self, stream: &'s Stream, dt: f64) -> impl Iterator<Item = Taken> + 's {
        let value = |cells: &[(usize, f32)]| cells.iter().map(|&(cell, share)| f64::from(share) * self.value[cell]).sum::<f64>();
        let of_sink = move |(cells, &flow): (&Vec<(usize, f32)>, &f32)| {
            let water = dt * f64::from(flow).max(0.0);
            Taken { water, amount: water * value(cells) }
        };
        self.recording.sinks.iter().zip(&stream.sinks).map(of_sink)
    }

    /// Longest step, s, in which no cell gives more than [`COURANT`] of its water.
    fn longest_step(&self, stream: &Stream, exchanges: &[(usize, f64, f64)]) -> f64 {
        let recording = self.recording;
        let area = recording.h * recording.h;
        let mut out: Vec<f64> = (0..self.value.len())
            .into_par_iter()
            .map(|index| {
                let through = |(axis, high): (usize, bool)| {
                    let mut cell = recording.cell(index);
                    cell[axis] += usize::from(high);
                    let speed = f64::from(stream.at_face[axis][recording.face(axis, cell)]);
                    area * if high { speed.max(0.0) } else { (-speed).max(0.0) }
                };
                let diffused = 12.0 * self.diffusivity * recording.h;
                [0, 1, 2].map(|axis| through((axis, false)) + through((axis, true))).iter().sum::<f64>() + diffused
            })
            .collect();
        exchanges.iter().for_each(|&(cell, _, taken)| out[cell] += taken);
        let hurried =
            out.iter().zip(&self.volumes).filter(|&(_, &volume)| volume > 0.0).map(|(out, volume)| out / volume).fold(0.0, f64::max);
        if hurried > 0.0 { COURANT / hurried } else { f64::INFINITY }
    }

    fn step(&mut self, stream: &Stream, exchanges: &[(usize, f64, f64)], dt: f64, feed: Feed) {
        for axis in 0..3 {
            self.find_flux(stream, axis, dt);
        }
        let taken: Vec<Taken> = self.taking(stream, dt).collect();
        let brought = match feed.brought {
            Brought::Fixed(value) => value,
            Brought::Returned => taken.iter().copied().fold(Taken::default(), Taken::with).mean().unwrap_or_default(),
        };
        let gains: Vec<(usize, f64)> =
            exchanges.iter().map(|&(cell, inflow, out)| (cell, dt * (inflow * brought - out * self.value[cell]))).collect();
        self.apply(dt, feed.gain);
        gains.iter().for_each(|&(cell, gain)| self.value[cell] += gain / self.volumes[cell]);
        self.taken.iter_mut().zip(taken).for_each(|(sum, step)| *sum = sum.with(step));
    }

    /// What goes through the faces of one axis, value × m³/s.
    fn find_flux(&mut self, stream: &Stream, axis: usize, dt: f64) {
        let recording = self.recording;
        let mut count = recording.n;
        count[axis] += 1;
        let stride = [1, recording.n[0], recording.n[0] * recording.n[1]];
        let (h, value, water) = (recording.h, &self.value, &recording.water);
        let (speeds, plane) = (&stream.at_face[axis], count[0] * count[1]);
        let spread = self.diffusivity * h;
        self.flux[axis].par_chunks_mut(plane).zip(speeds.par_chunks(plane)).enumerate().for_each(|(k, (flux, speeds))| {
            for (at, (flux, &speed)) in flux.iter_mut().zip(speeds).enumerate() {
                let cell = [at % count[0], at / count[0], k];
                if cell[axis] == 0 || cell[axis] == recording.n[axis] {
                    *flux = 0.0;
                    continue;
                }
                let high = cell[0] + stride[1] * cell[1] + stride[2] * cell[2];
                let low = high - stride[axis];
                if water[low] == 0.0 || water[high] == 0.0 {
                    *flux = 0.0;
                    continue;
                }
                let speed = f64::from(speed);
                let (up, down, before, room) = if speed > 0.0 {
                    (low, high, low.wrapping_sub(stride[axis]), cell[axis] >= 2)
                } else {
                    (high, low, high + stride[axis], cell[axis] + 1 < recording.n[axis])
                };
                let jump = value[down] - value[up];
                let far = if room && water[before] > 0.0 { value[up] - value[before] } else { 0.0 };
                let part = (speed * dt / h).abs();
                let face = value[up] + 0.5 * (1.0 - part).max(0.0) * van_leer(far, jump);
                *flux = h * h * speed * face - spread * (value[high] - value[low]);
            }
        });
    }

    fn apply(&mut self, dt: f64, gain: f64) {
        let recording = self.recording;
        let plane = recording.n[0] * recording.n[1];
        let flux = &self.flux;
        self.value.par_chunks_mut(plane).zip(self.volumes.par_chunks(plane)).enumerate().for_each(|(k, (value, volumes))| {
            for (at, (value, &volume)) in value.iter_mut().zip(volumes).enumerate().filter(|(_, (_, volume))| **volume > 0.0) {
                let cell = [at % recording.n[0], at / recording.n[0], k];
                let net = |axis: usize| {
                    let mut next = cell;
                    next[axis] += 1;
                    flux[axis][recording.face(axis, next)] - flux[axis][recording.face(axis, cell)]
                };
                *value += dt * (gain - (net(0) + net(1) + net(2)) / volume);
            }
        });
    }
}

/// Limited difference: φ(r) times the jump ahead, with r the ratio of the one behind to it.
fn van_leer(behind: f64, ahead: f64) -> f64 {
    let product = behind * ahead;
    if product > 0.0 { 2.0 * product / (behind + ahead) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    const REST: Feed = Feed { gain: 0.0, brought: Brought::Fixed(0.0) };

    #[test]
    fn the_limiter_is_between_the_differences() {
        assert_eq!((van_leer(1.0, -1.0), van_leer(2.0, 2.0), van_leer(1.0, 3.0)), (0.0, 2.0, 1.5));
    }

    /// A swirl in a closed box keeps the amount and makes no new extremes.
    #[test]
    fn nothing_is_gained_or_lost_in_a_swirl() {
        let (n, h) = (16, 1.0 / 16.0);
        // From the stream function sin²(πx) sin²(πy) at the corners: closes exactly.
        let stream = |x: f64, y: f64| ((std::f64::consts::PI * x).sin() * (std::f64::consts::PI * y).sin()).powi(2) / 10.0;
        let recording = Recording::steady([n, n, 1], h, |axis, p| match axis {
            0 => (stream(p[0], p[1] + h / 2.0) - stream(p[0], p[1] - h / 2.0)) / h,
            1 => -(stream(p[0] + h / 2.0, p[1]) - stream(p[0] - h / 2.0, p[1])) / h,
            _ => 0.0,
        });
        let value = (0..n * n).map(|cell| if cell % n < n / 2 { 1.0 } else { 0.0 }).collect();
        let mut scalar = Scalar::new(&recording, value, 0.0);
        for _ in 0..5 {
            scalar.carry(&recording.streams[0], REST);
        }
        assert!((scalar.mean() - 0.5).abs() < 1e-6, "{}", scalar.mean());
        assert!(scalar.value.iter().all(|&c| (-1e-6..=1.0 + 1e-6).contains(&c)));
        assert!(scalar.variation() < 0.9);
    }
}
