//! How many cells a box gets, and how large they are.

use glam::DVec3;

/// Smallest and largest cell edge that is computed, m.
pub const CELL_RANGE: [f64; 2] = [0.005, 0.1];
/// Most that the cell edge is changed to fit the box, as a share.
const STRETCH: f64 = 0.03;
const TRIES: i32 = 30;

/// Cells along x, y, z and their edge (m) for a box of `size` (m): near the `wanted` edge, changed by up to 3 % where that makes the sides
/// come out nearer to whole cells. A box that fits as it is keeps the wanted edge.
pub fn fitted_cell(size: DVec3, wanted: f64) -> ([usize; 3], f64) {
    let wanted = if wanted.is_finite() { wanted.clamp(CELL_RANGE[0], CELL_RANGE[1]) } else { 0.025 };
    let edges = (0..=TRIES).flat_map(|k| [k, -k]).map(|k| wanted * (1.0 + STRETCH * f64::from(k) / f64::from(TRIES)));
    let best = edges.min_by(|&a, &b| misfit(size, a, wanted).total_cmp(&misfit(size, b, wanted))).unwrap_or(wanted);
    (cells(size, best), best)
}

fn cells(size: DVec3, edge: f64) -> [usize; 3] {
    size.to_array().map(|side| (side / edge).round().max(1.0) as usize)
}

/// Largest error of a side, with a little held against changing the edge.
fn misfit(size: DVec3, edge: f64, wanted: f64) -> f64 {
    let n = cells(size, edge);
    let off = (0..3).map(|axis| (n[axis] as f64 * edge - size[axis]).abs()).fold(0.0, f64::max);
    off + 0.02 * (edge - wanted).abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_of_whole_cells_keeps_the_edge() {
        assert_eq!(fitted_cell(DVec3::new(2.4, 0.75, 0.6), 0.025), ([96, 30, 24], 0.025));
    }

    #[test]
    fn sides_come_out_near_their_size() {
        for (x, y, z) in [(1.2, 0.55, 0.5), (2.438, 0.914, 0.73), (0.9, 0.45, 0.41), (3.0, 1.5, 1.07)] {
            for cell in [0.015, 0.02, 0.025, 0.04, 0.06] {
                let size = DVec3::new(x, y, z);
                let (n, edge) = fitted_cell(size, cell);
                assert!((edge / cell - 1.0).abs() <= 0.0301);
                for axis in 0..3 {
                    let off = (n[axis] as f64 * edge - size[axis]).abs();
                    assert!(off <= 0.35 * cell, "side {axis} of {size} at {cell}: off by {off}");
                }
            }
        }
    }

    #[test]
    fn nonsense_is_clamped() {
        assert_eq!(fitted_cell(DVec3::ONE, f64::NAN).0, [40, 40, 40]);
        assert!(fitted_cell(DVec3::ONE, 0.0).1 >= 0.0048);
    }
}
