//! Signed distances of a mesh on a grid of samples, made once and interpolated from then on.

use super::Mesh;
use super::triangle::nearest;
use super::winding::Winding;
use glam::{DVec3, Vec3};
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// About so many samples.
const SAMPLES: f64 = 1.2e6;
/// No more samples than this along a side.
const MOST_ALONG: f64 = 200.0;
/// Samples beyond the mesh on each side.
const MARGIN: usize = 3;

/// Distances in the file's own unit, negative inside. Between samples they are interpolated: off by less than half a step.
#[derive(Debug)]
pub struct Field {
    n: [usize; 3],
    step: f64,
    origin: DVec3,
    low: DVec3,
    high: DVec3,
    distance: Vec<f32>,
    /// Triangles that it was made of.
    pub triangles: usize,
    /// Share of samples near the surface where the mesh winds round neither fully nor not at all: it has holes.
    pub open: f64,
}

impl Field {
    /// Of a mesh; holes are closed where it winds half round.
    pub fn new(mesh: &Mesh) -> Self {
        let corners: Vec<[Vec3; 3]> = mesh.triangles.iter().map(|t| t.map(|i| mesh.points[i as usize])).collect();
        let low = corners.iter().flatten().fold(Vec3::INFINITY, |a, p| a.min(*p)).as_dvec3();
        let high = corners.iter().flatten().fold(Vec3::NEG_INFINITY, |a, p| a.max(*p)).as_dvec3();
        let size = (high - low).max(DVec3::splat(1e-9 * (high - low).max_element().max(1e-30)));
        let step = (size.element_product() / SAMPLES).cbrt().max(size.max_element() / MOST_ALONG);
        let n = (size / step).to_array().map(|s| s.ceil() as usize + 1 + 2 * MARGIN);
        let grid = Grid { n, step: step as f32, origin: (low - step * MARGIN as f64).as_vec3() };
        let closest = grid.closest(&corners);
        let winding = Winding::new(corners.clone());
        let signed: Vec<(f32, bool)> = closest
            .par_iter()
            .enumerate()
            .map(|(c, triangle)| {
                let p = grid.place(c);
                let distance = p.distance(nearest(p, corners[*triangle as usize]));
                let round = winding.at(p);
                let torn = distance < 2.0 * grid.step && (0.15..0.85).contains(&round) && distance > 0.5 * grid.step;
                (if round > 0.5 { -distance } else { distance }, torn)
            })
            .collect();
        let torn = signed.iter().filter(|s| s.1).count() as f64;
        let near = signed.iter().filter(|s| s.0.abs() < 2.0 * grid.step).count().max(1) as f64;
        let distance = signed.into_iter().map(|s| s.0).collect();
        Self { n, step, origin: grid.origin.as_dvec3(), low, high, distance, triangles: corners.len(), open: torn / near }
    }

    /// Size along its axes.
    pub fn size(&self) -> DVec3 {
        self.high - self.low
    }

    /// Signed distance. Beyond the samples: no more than the true one.
    pub fn distance(&self, p: DVec3) -> f64 {
        let last = DVec3::from_array(self.n.map(|n| (n - 1) as f64)) * self.step;
        let inside = (p - self.origin).clamp(DVec3::ZERO, last);
        let away = (p - self.origin - inside).length();
        let here = self.between(inside / self.step);
        // Beyond the samples: their box is convex, so the way to its nearest place and on to the mesh bends by a right angle or less sharply.
        if away > 0.0 { away.hypot(here) } else { here }
    }

    fn between(&self, at: DVec3) -> f64 {
        let low = at.to_array().map(|x| x as usize);
        let base: [usize; 3] = std::array::from_fn(|a| low[a].min(self.n[a] - 2));
        let part: [f64; 3] = std::array::from_fn(|a| at[a] - base[a] as f64);
        (0..8)
            .map(|corner: usize| {
                let bit = |a: usize| corner >> a & 1;
                let weight: f64 = (0..3).map(|a| if bit(a) == 1 { part[a] } else { 1.0 - part[a] }).product();
                let c = base[0] + bit(0) + self.n[0] * (base[1] + bit(1) + self.n[1] * (base[2] + bit(2)));
                weight * f64::from(self.distance[c])
            })
            .sum()
    }
}

struct Grid {
    n: [usize; 3],
    step: f32,
    origin: Vec3,
}

impl Grid {
    fn place(&self, c: usize) -> Vec3 {
        let cell = [c % self.n[0], c / self.n[0] % self.n[1], c / (self.n[0] * self.n[1])];
        self.origin + Vec3::from_array(cell.map(|i| i as f32)) * self.step
    }

    /// The closest triangle of each sample: exact near the surface, handed on from neighbour to neighbour further away.
    fn closest(&self, corners: &[[Vec3; 3]]) -> Vec<u32> {
        let best: Vec<AtomicU64> = (0..self.n.iter().product()).map(|_| AtomicU64::new(u64::MAX)).collect();
        corners.par_iter().enumerate().for_each(|(number, t)| self.offer(*t, number as u64, &best));
        let mut closest: Vec<u32> = best.into_iter().map(|b| (b.into_inner() & u64::from(u32::MAX)) as u32).collect();
        for _ in 0..2 {
            self.sweep(corners, &mut closest, false);
            self.sweep(corners, &mut closest, true);
        }
        closest
    }

    /// Offer a triangle to all samples within a step of it. Positive floats are ordered as their bits; the lower number wins a tie, so that
    /// the result doesn't depend on the order of threads.
    fn offer(&self, t: [Vec3; 3], number: u64, best: &[AtomicU64]) {
        let cell = |p: Vec3| (p - self.origin) / self.step;
        let low = cell(t[0].min(t[1]).min(t[2])) - 1.0;
        let high = cell(t[0].max(t[1]).max(t[2])) + 1.0;
        let range = |a: usize| (low[a].ceil().max(0.0) as usize)..=(high[a].floor().max(0.0) as usize).min(self.n[a] - 1);
        for k in range(2) {
            for j in range(1) {
                for i in range(0) {
                    let c = i + self.n[0] * (j + self.n[1] * k);
                    let p = self.place(c);
                    let distance = p.distance_squared(nearest(p, t));
                    best[c].fetch_min(u64::from(distance.to_bits()) << 32 | number, Ordering::Relaxed);
                }
            }
        }
    }

    /// Each sample tries what its neighbours on the way came to.
    fn sweep(&self, corners: &[[Vec3; 3]], closest: &mut [u32], back: bool) {
        let count = closest.len();
        let stride = [1, self.n[0], self.n[0] * self.n[1]];
        for turn in 0..count {
            let c = if back { count - 1 - turn } else { turn };
            let p = self.place(c);
            let far = |t: u32| corners.get(t as usize).map_or(f32::INFINITY, |t| p.distance_squared(nearest(p, *t)));
            let cell = [c % self.n[0], c / self.n[0] % self.n[1], c / stride[2]];
            let (mut own, mut own_far) = (closest[c], far(closest[c]));
            for a in 0..3 {
                let there = if back { (cell[a] + 1 < self.n[a]).then(|| c + stride[a]) } else { (cell[a] > 0).then(|| c - stride[a]) };
                let Some(other) = there.map(|d| closest[d]).filter(|t| *t != own && *t != u32::MAX) else { continue };
                let other_far = far(other);
                if other_far < own_far {
                    (own, own_far) = (other, other_far);
                }
            }
            closest[c] = own;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A ball of radius 1 about (0, 0, 1) from `fine` by twice `fine` strips; the cap above `top` is left out.
    fn ball(fine: usize, top: f32) -> Mesh {
        let mut mesh = Mesh::default();
        let (rows, around) = (fine, 2 * fine);
        for i in 0..=rows {
            for j in 0..around {
                let (s, t) = (std::f32::consts::PI * i as f32 / rows as f32, 2.0 * std::f32::consts::PI * j as f32 / around as f32);
                mesh.points.push(Vec3::new(s.sin() * t.cos(), s.sin() * t.sin(), 1.0 - s.cos()));
            }
        }
        for i in 0..rows {
            for j in 0..around {
                let at = |di: usize, dj: usize| ((i + di) * around + (j + dj) % around) as u32;
                mesh.triangles.extend([[at(0, 0), at(1, 1), at(1, 0)], [at(0, 0), at(0, 1), at(1, 1)]]);
            }
        }
        let points = mesh.points.clone();
        mesh.triangles.retain(|t| {
            let [a, b, c] = t.map(|i| points[i as usize]);
            (b - a).cross(c - a).length() > 1e-9 && (a.z + b.z + c.z) / 3.0 < top
        });
        mesh
    }

    /// Corners lie on the ball; between them its faces lie up to 1 - cos(pi/48) deeper, half a step is 0.011. Beyond the samples, which end
    /// at 1.05, the distance is a bound.
    #[test]
    fn a_closed_ball_has_its_distances() {
        let field = Field::new(&ball(48, 9.0));
        for k in 0..400 {
            let a = f64::from(k);
            let p = DVec3::new((a * 1.3).sin(), (a * 2.1).cos(), (a * 0.7).sin()) * 1.2;
            let (exact, got) = (p.length() - 1.0, field.distance(p + DVec3::Z));
            let sampled = p.abs().max_element() < 1.04;
            assert!(got < exact + 0.013 && (!sampled || got > exact - 0.013), "{p}: {got}, not {exact}");
        }
        assert!(field.open < 0.01, "{}", field.open);
        assert!(field.size().distance(DVec3::new(2.0, 2.0, 2.0)) < 0.01);
        assert!((field.distance(DVec3::new(9.0, 0.0, 1.0)) - 8.0).abs() < 0.3 && field.distance(DVec3::new(9.0, 0.0, 1.0)) <= 8.0);
    }

    /// A hole at the top of a quarter of its height: below it, inside stays inside and outside outside.
    #[test]
    fn a_ball_with_a_hole_is_still_a_ball_below_it() {
        let field = Field::new(&ball(48, 1.5));
        for k in 0..400 {
            let a = f64::from(k);
            let p = DVec3::new((a * 1.3).sin(), (a * 2.1).cos(), 0.6 + 0.6 * (a * 0.7).sin());
            let exact = p.distance(DVec3::Z) - 1.0;
            if exact.abs() > 0.1 {
                assert_eq!(field.distance(p) < 0.0, exact < 0.0, "{p}: {}", field.distance(p));
            }
        }
        assert!(field.open > 0.02, "the hole is noticed: {}", field.open);
    }

    #[test]
    fn the_same_bits_for_any_number_of_threads() {
        let mesh = ball(20, 9.0);
        let pool = |n| rayon::ThreadPoolBuilder::new().num_threads(n).build().unwrap();
        let (one, three) = (pool(1).install(|| Field::new(&mesh)), pool(3).install(|| Field::new(&mesh)));
        assert!(one.distance == three.distance);
    }
}
