//! A quantity between the middles of cells.

use super::drift::velocity;
use super::scale::length;
use crate::app::desk::Quantity;
use crate::app::live::Live;
use crate::study::Fields;
use glam::DVec3;

/// At a place in the tank (m), m/s; `None` in rock, outside, or while it isn't known.
pub fn value_at(live: &Live, quantity: Quantity, place: DVec3) -> Option<f32> {
    let flow = live.snapshot.as_ref().filter(|s| !s.velocity.is_empty() && s.velocity.len() == s.water.len())?;
    let at = place.as_vec3().to_array();
    if quantity == Quantity::Now {
        let cell = cell_of(flow.n, flow.h, at)?;
        return (flow.water[cell] > 0.3).then(|| length(velocity(flow, at)));
    }
    let fields = live.fields.as_ref()?;
    let cell = cell_of(fields.n, fields.h, at)?;
    (fields.water[cell] > 0.3).then(|| number(fields, quantity)[cell])
}

fn number(fields: &Fields, quantity: Quantity) -> &[f32] {
    match quantity {
        Quantity::Rms => &fields.rms,
        Quantity::Peak => &fields.peak,
        Quantity::Still => &fields.share_still,
        Quantity::Now | Quantity::Mean => &fields.mean_speed,
    }
}

fn cell_of(n: [usize; 3], h: f64, at: [f32; 3]) -> Option<usize> {
    let cell: [usize; 3] = std::array::from_fn(|a| (f64::from(at[a]) / h).max(0.0) as usize);
    let inside = (0..3).all(|a| at[a] >= 0.0 && cell[a] < n[a]);
    inside.then(|| cell[0] + n[0] * (cell[1] + n[1] * cell[2]))
}
