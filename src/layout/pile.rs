//! Seeded heaps of boulders: the same seed gives the same heap on every machine.

use super::solid::ellipsoid;
use glam::{DVec2, DVec3};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A heap holds no more boulders than this, whatever the file asks for.
pub const MOST_BOULDERS: u32 = 2000;

/// Boulders let down one after the other may sink into each other by this share: broken rock interlocks. Our own choice.
const INTERLOCK: f64 = 0.7;

/// One boulder: an upright ellipsoid turned about the vertical.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Boulder {
    /// Its middle, m.
    pub centre: DVec3,
    /// Half its size along its own x, y and z, m.
    pub half: DVec3,
    /// Cosine and sine of its turn about the vertical.
    pub turn: DVec2,
}

impl Boulder {
    /// Radius of the sphere round its middle that holds it, m.
    pub fn reach(&self) -> f64 {
        self.half.max_element()
    }

    /// Signed distance, m.
    pub fn distance(&self, point: DVec3) -> f64 {
        let p = point - self.centre;
        let own = DVec3::new(self.turn.x * p.x + self.turn.y * p.y, self.turn.x * p.y - self.turn.y * p.x, p.z);
        ellipsoid(own, self.half)
    }
}

/// Boulders heaped under a dome over a footprint.
#[derive(Debug, Clone)]
pub struct Heap {
    /// In the order in which they were let down.
    pub boulders: Vec<Boulder>,
}

impl Heap {
    /// `size`: length, depth and height of the heap; `diameters`: smallest and largest boulder; all in m.
    pub fn new(size: DVec3, diameters: (f64, f64), count: u32, seed: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut boulders = Vec::new();
        for _ in 0..count.min(MOST_BOULDERS) {
            let boulder = let_down(&boulders, size, diameters, &mut random);
            boulders.push(boulder);
        }
        Self { boulders }
    }

    /// Signed distance, m. The likeliest boulder is asked first; those that can't be nearer than it are passed over, as asking costs a search.
    pub fn distance(&self, point: DVec3) -> f64 {
        let least = |boulder: &Boulder| point.distance(boulder.centre) - boulder.reach();
        let Some(likeliest) = self.boulders.iter().min_by(|a, b| least(a).total_cmp(&least(b))) else { return f64::INFINITY };
        let others = self.boulders.iter().filter(|boulder| !std::ptr::eq(*boulder, likeliest));
        others.fold(
            likeliest.distance(point),
            |nearest, boulder| {
                if least(boulder) < nearest { nearest.min(boulder.distance(point)) } else { nearest }
            },
        )
    }
}

/// One more boulder: onto what lies under it, but not above the dome.
fn let_down(heap: &[Boulder], size: DVec3, diameters: (f64, f64), random: &mut ChaCha8Rng) -> Boulder {
    let radius = (diameters.0 + (diameters.1 - diameters.0) * uniform(random)) / 2.0;
    let half = radius * DVec3::new(1.0, 0.75 + 0.25 * uniform(random), 0.6 + 0.3 * uniform(random));
    let spot = point_in_disc(random);
    let room = (DVec2::new(size.x, size.y) / 2.0 - radius).max(DVec2::ZERO);
    let dome = size.z * (1.0 - spot.length_squared()).sqrt();
    let at = spot * room;
    let floor = half.z * INTERLOCK;
    let resting = heap.iter().map(|lower| resting_height(lower, at, half.z)).fold(floor, f64::max);
    let centre = DVec3::new(at.x, at.y, resting.min((dome - half.z).max(floor)));
    Boulder { centre, half, turn: point_in_disc(random).normalize_or(DVec2::X) }
}

/// Height at which a boulder at `at` comes to rest on `lower`, m.
fn resting_height(lower: &Boulder, at: DVec2, half_height: f64) -> f64 {
    let aside = at.distance(DVec2::new(lower.centre.x, lower.centre.y)) / lower.reach();
    if aside < 1.0 { lower.centre.z + (lower.half.z + half_height) * INTERLOCK * (1.0 - aside * aside).sqrt() } else { 0.0 }
}

/// Evenly from 0 to 1, from the generator's own bits so that no library's mapping can change it.
fn uniform(random: &mut ChaCha8Rng) -> f64 {
    (random.next_u64() >> 11) as f64 / (1u64 << 53) as f64
}

/// Evenly over the unit disc.
fn point_in_disc(random: &mut ChaCha8Rng) -> DVec2 {
    loop {
        let point = 2.0 * DVec2::new(uniform(random), uniform(random)) - 1.0;
        if point.length_squared() < 1.0 {
            return point;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heap(seed: u64) -> Heap {
        Heap::new(DVec3::new(1.2, 0.6, 0.4), (0.1, 0.25), 40, seed)
    }

    #[test]
    fn a_seed_is_a_heap() {
        assert_eq!(heap(7).boulders, heap(7).boulders);
        assert_ne!(heap(7).boulders, heap(8).boulders);
        // Recorded once: files must keep their heaps through every version of every library.
        let recorded = DVec3::new(0.2440485926363794, 0.04823276603214039, 0.035115805782138215);
        assert!((heap(7).boulders[0].centre - recorded).length() < 1e-12);
    }

    #[test]
    fn stays_in_its_box() {
        for seed in 0..50 {
            for b in heap(seed).boulders {
                assert!(b.centre.x.abs() + b.reach() <= 0.6 + 1e-12 && b.centre.y.abs() + b.reach() <= 0.3 + 1e-12, "{b:?}");
                assert!(b.centre.z - b.half.z <= 0.4 && b.centre.z + b.half.z <= 0.4 + 1e-12, "{b:?}");
            }
        }
    }

    #[test]
    fn distance_is_to_the_nearest_boulder() {
        let heap = heap(3);
        for k in 0..100 {
            let a = f64::from(k);
            let p = DVec3::new((a * 1.1).sin(), (a * 1.7).cos() * 0.5, (a * 0.3).sin() * 0.5);
            let plain = heap.boulders.iter().map(|b| b.distance(p)).fold(f64::INFINITY, f64::min);
            assert_eq!(heap.distance(p), plain);
        }
    }
}
