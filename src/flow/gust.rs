//! Motion in a cell that its velocity doesn't show: turbulence of jet water, and the highest speeds that it brings.

use super::{
    Flow,
    field::{max, min},
    jets::dot,
    round_jet,
    tags::jet_share,
};
use multiversion::multiversion;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// Peaks are this many standard deviations above the mean: the highest of some thousand samples.
pub(super) const PEAK: f32 = 3.0;

/// Motion in a cell that its velocity doesn't show.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Gust {
    /// Mean square of the turbulent velocity of a jet, all three components, m²/s².
    pub variance: f32,
    /// Highest speed to be expected anywhere in the cell, m/s.
    pub fastest: f32,
}

impl Gust {
    /// Of water with this speed (m/s), so far a share jet water, from how far it has come (m) and how strong its jet was (m²/s): the law's
    /// centreline speed there, and so its turbulence.
    #[inline(always)]
    fn of(speed: f32, (share, way, drive): (f32, f32, f32)) -> Self {
        let fast = round_jet::far_centreline(max(drive, 0.0), max(way, 1e-9));
        let (along, variance) = round_jet::developed(min(share * speed / max(fast, 1e-9), 1.0));
        let is_jet = (share > 0.0) & (way > 0.0) & (drive > 0.0);
        let (variance, more) = (fast * fast * variance, PEAK * fast * along);
        Self { variance: if is_jet { variance } else { 0.0 }, fastest: speed + if is_jet { more } else { 0.0 } }
    }
}

impl Flow {
    /// Turbulence of the marked jet water at every cell, where the law doesn't reach.
    pub(super) fn gusts(&self, velocity: &[[f32; 3]], gusts: &mut [Gust]) {
        let [nx, ny, _] = self.lattice.n;
        let rows = gusts.par_chunks_mut(nx).zip(velocity.par_chunks(nx)).with_min_len(ny).enumerate();
        rows.for_each(|(row, (gusts, velocity))| {
            let (j, k) = (row % ny, row / ny);
            if self.tags.row_is_marked(j, k) {
                self.gusts_of_row(self.lattice.row(j, k), velocity, gusts);
            } else {
                gusts.iter_mut().zip(velocity).for_each(|(gust, u)| *gust = Gust { variance: 0.0, fastest: dot(*u, *u).sqrt() });
            }
        });
    }

    fn gusts_of_row(&self, at: usize, velocity: &[[f32; 3]], gusts: &mut [Gust]) {
        let n = gusts.len();
        let (mark, way, drive) = (&self.tags.mark[at..][..n], &self.tags.way[at..][..n], &self.tags.drive[at..][..n]);
        gusts_of_jet_water(self.grid.h, [mark, way, drive], &velocity[..n], gusts);
    }

    pub(super) fn gust_at(&self, place: [f32; 3], velocity: [f32; 3]) -> Gust {
        let at = self.lattice.cell(self.grid.cell_at(place));
        Gust::of(dot(velocity, velocity).sqrt(), self.tags.jet_water(at, self.grid.h))
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn gusts_of_jet_water(h: f32, [mark, way, drive]: [&[f32]; 3], velocity: &[[f32; 3]], gusts: &mut [Gust]) {
    let n = gusts.len();
    let (mark, way, drive, velocity) = (&mark[..n], &way[..n], &drive[..n], &velocity[..n]);
    for i in 0..n {
        let [u, v, w] = velocity[i];
        gusts[i] = Gust::of((u * u + v * v + w * w).sqrt(), (jet_share(mark[i], way[i], h), way[i], drive[i]));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// On the axis of a jet of 1.5 m/s from 25 mm, a metre on: the mean of the law, and u'/Uc as published for developed jets.
    #[test]
    fn water_on_the_axis_of_a_jet_has_its_turbulence() {
        let fast = 6.0 * 1.5 * 0.025;
        let gust = Gust::of(fast, (1.0, 1.0, 1.5 * 0.025));
        assert!((gust.variance / (fast * fast) - (0.25f32.powi(2) + 2.0 * 0.2f32.powi(2))).abs() < 1e-5, "{gust:?}");
        assert!((gust.fastest / fast - 1.75).abs() < 1e-5, "{gust:?}");
        assert_eq!(Gust::of(0.1, (0.0, 1.0, 0.04)), Gust { variance: 0.0, fastest: 0.1 });
        assert_eq!(Gust::of(0.1, (1.0, 0.0, 0.04)), Gust { variance: 0.0, fastest: 0.1 });
    }
}
