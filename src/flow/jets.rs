//! Jets: where their water and their push go.
//!
//! The grid is often as coarse as the bore, so a jet is a source spread over a few cells in front of the mouth: its volume goes
//! into the divergence, its momentum flux into a force. Both are normalised after solids are left out, so both are exact.

use super::{
    grid::{Grid, Lattice},
    kernel::{Kernel, bell},
    ports::{Jet, JetRate},
    solids::{NO_REGION, Solids},
};

/// The middle of a kernel lies this many cells before the mouth, or less where a solid is in the way. Nearer to the wall that holds the nozzle
/// the widened jet draws on it, which costs up to 8 % of the momentum and turns an oblique jet aside by some 4 degrees (measured).
const AHEAD: [f32; 4] = [3.5, 2.5, 1.5, 1.0];
/// Open water wanted beyond the middle of a kernel, in cells.
const ROOM: f32 = 2.5;
/// Half the length of the kernel along the jet, in cells: two layers of cells for a jet along an axis.
const HALF_LENGTH: f32 = 1.5;
/// Radius over which the kernel falls from 1 to 0, in cells; narrower ones depend on the jet's direction.
const EDGE: f32 = 2.0;

/// A vector of length 1; along z if `v` has none.
pub(super) fn unit(v: [f32; 3]) -> [f32; 3] {
    let length = dot(v, v).sqrt();
    if length.is_finite() && length > 1e-12 { v.map(|c| c / length) } else { [0.0, 0.0, 1.0] }
}

pub(super) fn dot(a: [f32; 3], b: [f32; 3]) -> f32 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Kernel of a jet. Where no water is found in front of the mouth the search widens twice, then gives up.
pub(super) fn kernel(grid: &Grid, lattice: &Lattice, solids: &Solids, jet: &Jet) -> Kernel {
    let along = unit(jet.direction);
    let centre = on_line(jet, ahead(grid, solids, jet) * grid.h);
    let flat = (0.5 * jet.bore - 0.5 * EDGE * grid.h).max(0.0);
    for widen in [1.0, 2.0, 4.0] {
        let (length, edge) = (HALF_LENGTH * widen * grid.h, EDGE * widen * grid.h);
        let weight = |p: [f32; 3]| {
            let from: [f32; 3] = std::array::from_fn(|d| p[d] - centre[d]);
            let ahead = dot(from, along);
            let off_axis = (dot(from, from) - ahead * ahead).max(0.0).sqrt();
            bell(ahead / length) * bell((off_axis - flat).max(0.0) / edge)
        };
        let kernel = Kernel::new((grid, lattice), solids, centre, flat + edge + length, &weight);
        if kernel.region != NO_REGION && (0..3).all(|d| along[d] == 0.0 || !kernel.faces[d].is_empty()) {
            return kernel;
        }
    }
    Kernel { region: NO_REGION, ..Kernel::default() }
}

/// How many cells before the mouth the middle of a jet's kernel lies: the farthest choice with open water up to it and a little beyond.
pub(super) fn ahead(grid: &Grid, solids: &Solids, jet: &Jet) -> f32 {
    let wet = |cells: f32| {
        let place = on_line(jet, cells * grid.h);
        let inside = (0..3).all(|d| place[d] >= 0.0 && place[d] < grid.n[d] as f32 * grid.h);
        inside && solids.water[grid.index(std::array::from_fn(|d| (place[d] / grid.h) as usize))] > 0.0
    };
    let free = |cells: &f32| (1..).map(|n| 0.5 * n as f32).take_while(|x| *x <= cells + ROOM).all(wet);
    AHEAD.into_iter().find(free).unwrap_or(1.0)
}

fn on_line(jet: &Jet, x: f32) -> [f32; 3] {
    let along = unit(jet.direction);
    std::array::from_fn(|d| jet.at[d] + along[d] * x)
}

/// Speed at the mouth, m/s: momentum flux over flow; for a propeller, from the disc area.
pub(super) fn mouth_speed(jet: &Jet, rate: JetRate) -> f32 {
    let area = std::f32::consts::FRAC_PI_4 * jet.bore * jet.bore;
    if rate.flow > 0.0 { rate.momentum / rate.flow } else { (rate.momentum / area.max(1e-12)).sqrt() }
}

#[cfg(test)]
mod tests {
    use super::{super::physics::Physics, *};

    #[test]
    fn a_propeller_speed_comes_from_its_disc() {
        let jet = Jet { at: [0.0; 3], direction: [1.0, 0.0, 0.0], bore: 0.1 };
        let momentum = std::f32::consts::FRAC_PI_4 * 0.01 * 4.0;
        assert!((mouth_speed(&jet, JetRate { flow: 0.0, momentum }) - 2.0).abs() < 1e-5);
    }

    #[test]
    fn a_solid_ahead_draws_the_kernel_back() {
        let grid = Grid { n: [16, 8, 8], h: 1.0 };
        let lattice = Lattice::new(grid.n);
        let jet = Jet { at: [0.0, 4.2, 4.2], direction: [1.0, 0.0, 0.0], bore: 1.0 };
        for (wall, wanted) in [(12.0, 3.5), (5.5, 2.5), (5.0, 1.5), (2.0, 1.0)] {
            let distance = crate::flow::solids::distances(&grid, &|p: [f32; 3]| wall - p[0]);
            let solids = Solids::new(&grid, &lattice, &Physics::tank(1e-6, 0), &distance);
            assert_eq!(ahead(&grid, &solids, &jet), wanted, "wall at {wall}");
        }
    }

    #[test]
    fn no_direction_is_taken_as_up() {
        assert_eq!(unit([0.0; 3]), [0.0, 0.0, 1.0]);
    }
}
