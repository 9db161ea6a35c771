//! A quantity between the middles of cells.

use super::drift::velocity;
use super::scale::length;
use crate::app::desk::Quantity;
use crate::app::live::Live;
use crate::session::Snapshot;
use crate::study::Fields;
use glam::DVec3;

/// A quantity on its cells: m/s, or a share.
pub struct Cells<'a> {
    /// Cells along x, y, z.
    pub n: [usize; 3],
    /// Cell edge, m.
    pub h: f64,
    /// Share of each cell that is water.
    pub water: &'a [f32],
    value: Source<'a>,
}

enum Source<'a> {
    Now(&'a Snapshot),
    Plain(&'a [f32]),
    Turning(&'a Fields),
}

impl<'a> Cells<'a> {
    /// Of what is known; `None` while it isn't.
    pub fn new(live: &'a Live, quantity: Quantity) -> Option<Self> {
        if quantity == Quantity::Now {
            let flow = live.flow()?;
            return Some(Self { n: flow.n, h: flow.h, water: &flow.water, value: Source::Now(flow) });
        }
        let fields = live.fields.as_deref().filter(|f| !f.is_empty())?;
        let value = match quantity {
            Quantity::Rms => Source::Plain(&fields.rms),
            Quantity::Peak => Source::Plain(&fields.peak),
            Quantity::Still => Source::Plain(&fields.share_still),
            Quantity::Turning => Source::Turning(fields),
            Quantity::Now | Quantity::Mean => Source::Plain(&fields.mean_speed),
        };
        Some(Self { n: fields.n, h: fields.h, water: &fields.water, value })
    }

    /// In a cell.
    pub fn at(&self, cell: usize) -> f32 {
        match self.value {
            Source::Now(flow) => length(flow.velocity[cell]),
            Source::Plain(values) => values[cell],
            Source::Turning(fields) => fields.direction_change(cell) as f32,
        }
    }

    /// The cell that a place (m) lies in; `None` outside.
    pub fn cell(&self, place: [f32; 3]) -> Option<usize> {
        cell_of(self.n, self.h, place)
    }

    /// The middle of a cell, m.
    pub fn middle(&self, cell: usize) -> [f32; 3] {
        [cell % self.n[0], cell / self.n[0] % self.n[1], cell / (self.n[0] * self.n[1])].map(|c| (c as f32 + 0.5) * self.h as f32)
    }
}

/// The cell that a place (m) lies in; `None` outside.
pub fn cell_of(n: [usize; 3], h: f64, place: [f32; 3]) -> Option<usize> {
    let cell: [usize; 3] = std::array::from_fn(|a| (f64::from(place[a]) / h).max(0.0) as usize);
    let inside = (0..3).all(|a| place[a] >= 0.0 && cell[a] < n[a]);
    inside.then(|| cell[0] + n[0] * (cell[1] + n[1] * cell[2]))
}

/// Mean velocity between the middles of cells, m/s; `None` outside the water.
pub fn mean_at(fields: &Fields, at: [f32; 3]) -> Option<[f32; 3]> {
    let h = fields.h as f32;
    let cell: [usize; 3] = std::array::from_fn(|a| (at[a] / h).max(0.0) as usize);
    let inside = (0..3).all(|a| at[a] >= 0.0 && cell[a] < fields.n[a]);
    if !inside || fields.water[fields.index(cell)] < 0.3 {
        return None;
    }
    let mut sum = [0.0; 3];
    for corner in 0..8usize {
        let mut weight = 1.0;
        let c: [usize; 3] = std::array::from_fn(|a| {
            let s = (at[a] / h - 0.5).clamp(0.0, (fields.n[a] - 1) as f32);
            let low = (s as usize).min(fields.n[a].saturating_sub(2));
            let part = s - low as f32;
            weight *= if corner >> a & 1 == 1 { part } else { 1.0 - part };
            (low + (corner >> a & 1)).min(fields.n[a] - 1)
        });
        let u = fields.mean_velocity[fields.index(c)];
        (0..3).for_each(|a| sum[a] += weight * u[a]);
    }
    Some(sum)
}

/// At a place in the tank (m), m/s or a share; `None` in rock, outside, or while it isn't known.
pub fn value_at(live: &Live, quantity: Quantity, place: DVec3) -> Option<f32> {
    let at = place.as_vec3().to_array();
    let cells = Cells::new(live, quantity)?;
    let cell = cells.cell(at).filter(|cell| cells.water[*cell] > 0.3)?;
    Some(match cells.value {
        Source::Now(flow) => length(velocity(flow, at)),
        _ => cells.at(cell),
    })
}

/// B less A at a place (m); `None` where one of the two isn't known.
pub fn difference_at((first, second): (&Live, &Live), quantity: Quantity, place: DVec3) -> Option<f32> {
    Some(value_at(second, quantity, place)? - value_at(first, quantity, place)?)
}

/// B less A on the cells of B, and how much of them is water in both.
pub fn difference(first: &Cells, second: &Cells) -> Vec<(f32, f32)> {
    let same = first.n == second.n;
    let partner = |cell: usize| if same { Some(cell) } else { first.cell(second.middle(cell)) };
    let pair = |cell: usize| match partner(cell) {
        Some(other) => (second.at(cell) - first.at(other), second.water[cell].min(first.water[other])),
        None => (0.0, 0.0),
    };
    (0..second.water.len()).map(pair).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    fn live(n: [usize; 3], h: f64, speed: f32) -> Live {
        let cells = n.iter().product();
        let mean_velocity = vec![[speed, 0.0, 0.0]; cells];
        let fields = Fields { n, h, water: vec![1.0; cells], mean_speed: vec![speed; cells], mean_velocity, ..Fields::default() };
        let mut live = Live::default();
        live.fields = Some(Arc::new(fields));
        live
    }

    #[test]
    fn differences_are_taken_on_any_two_grids() {
        let (a, b, c) = (live([4, 4, 4], 0.1, 0.2), live([4, 4, 4], 0.1, 0.5), live([8, 8, 8], 0.05, 0.1));
        let of = |first: &Live, second: &Live| {
            let cells = [first, second].map(|l| Cells::new(l, Quantity::Mean).unwrap());
            difference(&cells[0], &cells[1])
        };
        assert!(of(&a, &b).iter().all(|(d, w)| (d - 0.3).abs() < 1e-6 && *w == 1.0));
        assert!(of(&a, &c).len() == 512 && of(&a, &c).iter().all(|(d, w)| (d + 0.1).abs() < 1e-6 && *w == 1.0));
        let at = difference_at((&a, &b), Quantity::Mean, DVec3::splat(0.15)).unwrap();
        assert!((at - 0.3).abs() < 1e-6);
        assert_eq!(difference_at((&a, &b), Quantity::Mean, DVec3::splat(0.45)), None);
        assert_eq!(value_at(&a, Quantity::Turning, DVec3::splat(0.15)), Some(0.0));
    }
}
