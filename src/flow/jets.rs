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

/// Half-width of a round jet over the distance from its mouth, as published (`round_jet`).
const GROWTH: f32 = 0.098;
/// Where the computed jet is to be as wide as the law's: at this many cells, or at this many bores where that is farther, as within them a jet
/// still has its core.
const MEETS: (f32, f32) = (20.0, 7.0);

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
    let flat = flat_cells(jet, grid.h) * grid.h;
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

/// Radius of the flat core of a jet's kernel, in cells.
fn flat_cells(jet: &Jet, h: f32) -> f32 {
    (0.5 * jet.bore / h - 0.5 * EDGE).max(0.0)
}

/// Way with which the marks of a jet start, m: the distance of its kernel from the mouth, less what makes up for the kernel's width. A mixing
/// length that grows as the way gone, l = c s, widens a jet from half-width r₀ as r³ = r₀³ + (0.098 s)³; marks that start younger by x₀ give
/// r = 0.098 x at the place where both are to meet.
pub(super) fn way_at_start(grid: &Grid, solids: &Solids, jet: &Jet) -> f32 {
    let as_wide = (flat_cells(jet, grid.h) + 0.5 * EDGE) / GROWTH;
    let meets = MEETS.0.max(MEETS.1 * jet.bore / grid.h);
    let younger = meets - (meets.powi(3) - as_wide.powi(3)).max(0.0).cbrt();
    (ahead(grid, solids, jet) - younger).max(0.0) * grid.h
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

    /// Half-width of 1 cell for a bore of two: 20³ - (1/0.098)³ = 19.07³, so 0.93 cells younger; 1.5 cells for three: 21³ - 15.3³ = 17.8³.
    #[test]
    fn a_widened_jet_starts_younger_and_never_below_none() {
        let grid = Grid { n: [16, 8, 8], h: 0.5 };
        let solids = Solids::new(&grid, &Lattice::new(grid.n), &Physics::tank(1e-6, 0), &vec![1.0; grid.cells()]);
        let way = |bore: f32| way_at_start(&grid, &solids, &Jet { at: [0.0, 2.1, 2.1], direction: [1.0, 0.0, 0.0], bore });
        assert!((way(1.0) - 0.5 * (3.5 - 0.93)).abs() < 0.005, "{}", way(1.0));
        assert!((way(1.5) - 0.5 * (3.5 - 3.16)).abs() < 0.01, "{}", way(1.5));
        assert_eq!(way(5.0), 0.0);
        assert_eq!(way(0.2), way(1.0));
    }

    #[test]
    fn no_direction_is_taken_as_up() {
        assert_eq!(unit([0.0; 3]), [0.0, 0.0, 1.0]);
    }
}
