//! Turbulence for water that comes to a step or a cube: the published flows arrive turbulent, a computed one that starts quiet does not.
//!
//! Pairs of propellers push to and fro along each axis at fixed places upstream, each with a random course in time of its own
//! (Ornstein-Uhlenbeck: σ = 1, memory τ). They bring no water and on the mean no momentum. How strong they are is not fitted to the
//! answer: the intensity that reaches the step or the cube is measured and printed beside that of the published approach flow.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use slackwater::flow::{Jet, JetRate, Ports, Rates};

/// Water that comes in along x, evenly over an upright rectangle, always at the same rate. A steady force can't hold the rate: where a channel
/// widens, more flow gains more pressure, and the flow runs away or turns back.
#[derive(Clone, Copy)]
pub struct Inflow {
    /// Least and greatest corner, m; of the same x.
    pub face: [[f32; 3]; 2],
    /// Mouths across and up, two cells or so apart.
    pub mouths: [usize; 2],
    /// m/s.
    pub speed: f32,
    /// Share of that speed at a height, m.
    pub profile: fn(f32) -> f32,
}

/// The same at every height.
pub fn even(_: f32) -> f32 {
    1.0
}

impl Inflow {
    fn count(&self) -> usize {
        self.mouths.iter().product()
    }

    fn area_of_one(&self) -> f32 {
        let [from, to] = self.face;
        (to[1] - from[1]) * (to[2] - from[2]) / self.count() as f32
    }

    fn jets(&self) -> impl Iterator<Item = Jet> + '_ {
        let ([from, to], [across, up]) = (self.face, self.mouths);
        let bore = (self.area_of_one() / std::f32::consts::FRAC_PI_4).sqrt();
        (0..across * up).map(move |n| {
            let part = [(n % across) as f32 + 0.5, (n / across) as f32 + 0.5];
            let y = from[1] + (to[1] - from[1]) * part[0] / across as f32;
            let z = from[2] + (to[2] - from[2]) * part[1] / up as f32;
            Jet { at: [from[0], y, z], direction: [1.0, 0.0, 0.0], bore }
        })
    }

    fn rates(&self) -> impl Iterator<Item = JetRate> + '_ {
        self.jets().map(|jet| {
            let speed = self.speed * (self.profile)(jet.at[2]);
            let flow = speed * self.area_of_one();
            JetRate { flow, momentum: flow * speed }
        })
    }
}

/// Where and how hard the water is stirred.
#[derive(Clone, Copy)]
pub struct Stirring {
    /// Water that comes in, if a force doesn't move it.
    pub inflow: Option<Inflow>,
    /// Least and greatest corner of the block that is stirred, m.
    pub block: [[f32; 3]; 2],
    /// Places along each axis.
    pub places: [usize; 3],
    /// Standard deviation of the push at each place and axis, m⁴/s².
    pub push: f32,
    /// Memory of the push, s.
    pub memory: f32,
}

/// Random pushes under way.
pub struct Stirrers {
    stirring: Stirring,
    state: Vec<f32>,
    random: ChaCha8Rng,
    pub rates: Rates,
}

/// Largest push taken, in standard deviations.
const MOST: f32 = 2.5;

/// Speed of a propeller's disc at the largest push, m/s: the solver holds all water under 1.5 times the fastest port.
const FASTEST: f32 = 2.0;

impl Stirring {
    fn pairs(&self) -> usize {
        3 * self.places.iter().product::<usize>()
    }

    /// Two propellers for each place and axis, one each way.
    pub fn ports(&self) -> Ports {
        let bore = (MOST * self.push / (std::f32::consts::FRAC_PI_4 * FASTEST * FASTEST)).sqrt();
        let mut jets: Vec<Jet> = self.inflow.iter().flat_map(Inflow::jets).collect();
        for site in 0..self.pairs() / 3 {
            let [nx, ny, _] = self.places;
            let cell = [site % nx, site / nx % ny, site / (nx * ny)];
            let [from, to] = self.block;
            let at: [f32; 3] = std::array::from_fn(|d| from[d] + (to[d] - from[d]) * (cell[d] as f32 + 0.5) / self.places[d] as f32);
            for axis in 0..3 {
                for way in [1.0, -1.0] {
                    let mut direction = [0.0; 3];
                    direction[axis] = way;
                    jets.push(Jet { at, direction, bore });
                }
            }
        }
        Ports { jets, sinks: vec![] }
    }
}

impl Stirrers {
    pub fn new(stirring: Stirring) -> Self {
        let still = std::iter::repeat_n(JetRate::default(), 2 * stirring.pairs());
        let rates = Rates { jets: stirring.inflow.iter().flat_map(Inflow::rates).chain(still).collect(), sinks: vec![] };
        Self { state: vec![0.0; stirring.pairs()], random: ChaCha8Rng::seed_from_u64(1), stirring, rates }
    }

    /// Goes on by so many seconds.
    pub fn advance(&mut self, dt: f32) {
        let kept = (-dt / self.stirring.memory).exp();
        let fresh = (1.0 - kept * kept).sqrt();
        let first = self.stirring.inflow.map_or(0, |inflow| inflow.count());
        for (pair, state) in self.state.iter_mut().enumerate() {
            let (a, b): (f32, f32) = (self.random.random(), self.random.random());
            *state = kept * *state + fresh * (-2.0 * (1.0 - a).ln()).sqrt() * (std::f32::consts::TAU * b).cos();
            let push = self.stirring.push * state.clamp(-MOST, MOST);
            self.rates.jets[first + 2 * pair].momentum = push.max(0.0);
            self.rates.jets[first + 2 * pair + 1].momentum = (-push).max(0.0);
        }
    }
}
