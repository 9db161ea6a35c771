//! Means of the jets' profiles over cells, by 2 × 2 × 2 points each: for several cells at a time, whichever jets they are in.

use super::{
    field::max,
    grid::LANES,
    round_jet::Profile,
    touch::{Felt, Touch},
};

/// Cells that wait until there are enough of them to be averaged over at once.
#[derive(Debug, Default)]
pub(super) struct Waiting<'a> {
    felt: [Option<(usize, Felt<'a>)>; LANES],
    count: usize,
    from: [[f32; LANES]; 3],
    along: [[f32; LANES]; 3],
    spread: [f32; LANES],
    per_bore: [f32; LANES],
    nearest: [f32; LANES],
    profile: [Profile; LANES],
}

impl<'a> Waiting<'a> {
    /// One more, for the touch with that index.
    #[inline(always)]
    pub fn push(&mut self, index: usize, felt: Felt<'a>, touches: &mut [Touch]) {
        let n = self.count;
        for d in 0..3 {
            (self.from[d][n], self.along[d][n]) = (felt.from[d], felt.station.along[d]);
        }
        (self.spread[n], self.per_bore[n], self.nearest[n]) = (felt.spread(), felt.per_bore, felt.nearest());
        self.profile[n] = felt.profile;
        self.felt[n] = Some((index, felt));
        self.count += 1;
        if self.count == LANES {
            self.flush(touches);
        }
    }

    /// Gives all that wait to their touches.
    #[inline(always)]
    pub fn flush(&mut self, touches: &mut [Touch]) {
        if self.count == 0 {
            return;
        }
        let (share, most) = (self.means(), self.profiles(&self.nearest));
        for (n, felt) in self.felt.iter_mut().enumerate().take(self.count) {
            if let Some((index, felt)) = felt.take() {
                touches[index].join(&felt.touch(share[n], most[n]));
            }
        }
        self.count = 0;
    }

    /// Means of the profiles over the cells, by two Gauss points along each side.
    #[inline(always)]
    fn means(&self) -> [f32; LANES] {
        let mut mean = [0.0; LANES];
        for corner in 0..8 {
            let side: [f32; 3] = std::array::from_fn(|d| if corner >> d & 1 == 1 { 1.0 } else { -1.0 });
            let (from, along) = (&self.from, &self.along);
            let mut off = [0.0; LANES];
            for n in 0..LANES {
                let place = |d: usize| from[d][n] + side[d] * self.spread[n];
                let (x, y, z) = (place(0), place(1), place(2));
                let ahead = x * along[0][n] + y * along[1][n] + z * along[2][n];
                off[n] = max(x * x + y * y + z * z - ahead * ahead, 0.0).sqrt() * self.per_bore[n];
            }
            let share = self.profiles(&off);
            (0..LANES).for_each(|n| mean[n] += 0.125 * share[n]);
        }
        mean
    }

    /// The profiles at these distances from their axes (bores).
    #[inline(always)]
    fn profiles(&self, off: &[f32; LANES]) -> [f32; LANES] {
        let mut share = [0.0; LANES];
        for n in 0..LANES {
            share[n] = self.profile[n].at(off[n]);
        }
        share
    }
}
