//! Where solids, or the water between them, are too narrow for the cells: looked for once, before a run.
//!
//! From every cell that the surface passes through, a probe goes along the normal: inward for two cells, where it must not come out
//! into water, and outward for two cells, where it must not meet another solid or a closed side of the box.

use super::{
    grid::Grid,
    physics::{Physics, Side},
};
use rayon::prelude::*;

/// Least width of a solid or a gap, in cells.
const LEAST_WIDTH: f32 = 2.0;
/// Probes within that width.
const PROBES: usize = 8;
/// Half a cell and a little, so that a surface along a face is not lost between two cells.
const HALF: f32 = 0.505;
/// Step for the slope of the distance, in cells.
const SLOPE_STEP: f32 = 0.05;

/// Signed distance to solids, m.
type Distance<'a> = &'a (dyn Fn([f32; 3]) -> f32 + Sync);

/// Cells that are too coarse for what they hold.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Narrow {
    /// Number of cells.
    pub cells: usize,
    /// Centre of one in the middle of the largest group, m.
    pub at: [f32; 3],
}

/// Solids and gaps narrower than two cells. `distance` holds the signed distance at every cell centre (public order).
pub(super) fn survey(grid: &Grid, physics: &Physics, distance: &[f32], signed_distance: Distance) -> [Narrow; 2] {
    let probe = Probe { grid, physics, signed_distance };
    let flags: Vec<[bool; 2]> = (0..grid.cells()).into_par_iter().map(|index| probe.flags(grid.cell(index), distance[index])).collect();
    [0, 1].map(|which| largest_group(grid, &flags.iter().map(|flag| flag[which]).collect::<Vec<_>>()))
}

struct Probe<'a> {
    grid: &'a Grid,
    physics: &'a Physics,
    signed_distance: Distance<'a>,
}

/// What lies at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Matter {
    Water,
    Solid,
    /// Outside the box, beyond a closed side or an open one.
    Closed,
    Beyond,
}

impl Probe<'_> {
    /// Is the solid here too thin, is the gap here too narrow?
    fn flags(&self, cell: [usize; 3], distance: f32) -> [bool; 2] {
        let (h, centre) = (self.grid.h, self.grid.centre(cell));
        if !distance.is_finite() || distance.abs() > HALF * h * 3.0f32.sqrt() {
            return [false; 2];
        }
        let slope = self.slope(centre, distance);
        if distance.abs() > HALF * h * slope.iter().map(|c| c.abs()).sum::<f32>() {
            return [false; 2];
        }
        let surface: [f32; 3] = std::array::from_fn(|d| centre[d] - distance * slope[d]);
        let thin = self.comes_out(surface, slope.map(|c| -c), Matter::Solid, |matter| matter == Matter::Water);
        let narrow = self.comes_out(surface, slope, Matter::Water, |matter| matches!(matter, Matter::Solid | Matter::Closed));
        [thin, narrow]
    }

    /// Direction away from the nearest solid, of length 1; zero where there is none.
    fn slope(&self, place: [f32; 3], distance: f32) -> [f32; 3] {
        let step = SLOPE_STEP * self.grid.h;
        let slope: [f32; 3] = std::array::from_fn(|d| {
            let mut near = place;
            near[d] += step;
            (self.signed_distance)(near) - distance
        });
        let length = slope.iter().map(|c| c * c).sum::<f32>().sqrt();
        if length.is_finite() && length > 0.0 { slope.map(|c| c / length) } else { [0.0; 3] }
    }

    /// Does a probe from the surface, first `through` one matter, meet an `end` within the least width?
    fn comes_out(&self, surface: [f32; 3], along: [f32; 3], through: Matter, end: impl Fn(Matter) -> bool) -> bool {
        if self.goes_on(surface, along, through) {
            return false;
        }
        let step = LEAST_WIDTH * self.grid.h / PROBES as f32;
        let mut entered = (self.signed_distance)(surface).abs() < 0.25 * step;
        for probe in 1..=PROBES {
            let matter = self.matter(std::array::from_fn(|d| surface[d] + probe as f32 * step * 0.999 * along[d]));
            if matter == through {
                entered = true;
            } else if matter == Matter::Beyond || !end(matter) {
                // A thin solid on a wall is part of the wall.
                return false;
            } else if entered {
                return true;
            }
        }
        false
    }

    /// Does a ball round the middle of the probe's way, all of one matter, hold all of it? Most surfaces are done with so.
    fn goes_on(&self, surface: [f32; 3], along: [f32; 3], through: Matter) -> bool {
        /// The middle a little beyond half the way, as the surface was found by straight lines, cells.
        const MIDDLE: f32 = 0.525 * LEAST_WIDTH;
        let (h, end) = (self.grid.h, LEAST_WIDTH - MIDDLE);
        let place = |way: f32| -> [f32; 3] { std::array::from_fn(|d| surface[d] + way * h * along[d]) };
        let inside = |place: [f32; 3]| (0..3).all(|d| place[d] >= 0.0 && place[d] <= self.grid.n[d] as f32 * h);
        let distance = (self.signed_distance)(place(MIDDLE));
        let deep = if through == Matter::Water { distance } else { -distance };
        inside(place(LEAST_WIDTH)) && deep >= end * h
    }

    fn matter(&self, place: [f32; 3]) -> Matter {
        for d in 0..3 {
            let size = self.grid.n[d] as f32 * self.grid.h;
            if place[d] < 0.0 || place[d] > size {
                let side = self.physics.sides[2 * d + usize::from(place[d] > size)];
                return if matches!(side, Side::Open | Side::Periodic) { Matter::Beyond } else { Matter::Closed };
            }
        }
        if (self.signed_distance)(place) >= 0.0 { Matter::Water } else { Matter::Solid }
    }
}

/// Number of flagged cells, and the one nearest to the middle of their largest group.
fn largest_group(grid: &Grid, flagged: &[bool]) -> Narrow {
    let mut waiting = flagged.to_vec();
    let mut largest: Vec<[usize; 3]> = Vec::new();
    for start in 0..waiting.len() {
        if waiting[start] {
            let group = flood(grid, &mut waiting, start);
            largest = if group.len() > largest.len() { group } else { largest };
        }
    }
    let Some(at) = middle(grid, &largest) else { return Narrow::default() };
    Narrow { cells: flagged.iter().filter(|flag| **flag).count(), at }
}

/// Takes one group, joined by sides, edges or corners, out of those waiting.
fn flood(grid: &Grid, waiting: &mut [bool], start: usize) -> Vec<[usize; 3]> {
    waiting[start] = false;
    let mut group = vec![grid.cell(start)];
    let mut next = 0;
    while next < group.len() {
        let cell = group[next];
        let range = |d: usize| cell[d].saturating_sub(1)..(cell[d] + 2).min(grid.n[d]);
        for near in range(2).flat_map(|k| range(1).flat_map(move |j| range(0).map(move |i| [i, j, k]))) {
            if std::mem::take(&mut waiting[grid.index(near)]) {
                group.push(near);
            }
        }
        next += 1;
    }
    group
}

/// Centre of the cell nearest to the mean of a group, m; `None` if there are none.
pub(super) fn middle(grid: &Grid, group: &[[usize; 3]]) -> Option<[f32; 3]> {
    let centre = |cell: &[usize; 3]| grid.centre(*cell);
    let mean: [f32; 3] = std::array::from_fn(|d| group.iter().map(|cell| centre(cell)[d]).sum::<f32>() / group.len().max(1) as f32);
    let off = |place: [f32; 3]| (0..3).map(|d| (place[d] - mean[d]).powi(2)).sum::<f32>();
    group.iter().map(centre).min_by(|a, b| off(*a).total_cmp(&off(*b)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A plate across x from `low` of this thickness in a box of unit cells.
    fn plate(low: f32, thickness: f32) -> [Narrow; 2] {
        let distance = move |p: [f32; 3]| (p[0] - low - 0.5 * thickness).abs() - 0.5 * thickness;
        found(&distance)
    }

    fn found(distance: Distance) -> [Narrow; 2] {
        let grid = Grid { n: [16, 6, 6], h: 1.0 };
        let at: Vec<f32> = (0..grid.cells()).map(|index| distance(grid.centre(grid.cell(index)))).collect();
        survey(&grid, &Physics::tank(1e-6, 0), &at, distance)
    }

    #[test]
    fn a_plate_is_thin_below_two_cells_wherever_it_lies() {
        for offset in [0.0, 0.2, 0.5, 0.77] {
            for (thickness, thin) in [(0.1, true), (0.6, true), (1.1, true), (1.7, true), (2.1, false), (3.0, false)] {
                let [solids, gaps] = plate(6.0 + offset, thickness);
                assert_eq!(solids.cells > 0, thin, "{thickness} at {offset}");
                assert_eq!(gaps.cells, 0, "{thickness} at {offset}");
                assert!(!thin || (solids.at[0] - 6.0 - offset - 0.5 * thickness).abs() < 1.5);
            }
        }
    }

    #[test]
    fn a_gap_to_a_wall_is_narrow_below_two_cells() {
        for (gap, narrow) in [(0.6, true), (1.0, true), (1.8, true), (2.2, false), (4.0, false)] {
            let [solids, gaps] = plate(gap, 4.0);
            assert_eq!((solids.cells > 0, gaps.cells > 0), (false, narrow), "{gap}");
        }
    }

    #[test]
    fn a_layer_on_the_floor_is_part_of_the_floor() {
        assert_eq!(found(&|p| p[2] - 0.8), [Narrow::default(); 2]);
    }

    #[test]
    fn a_ball_is_not_thin_and_a_rod_is() {
        let ball = |p: [f32; 3]| ((p[0] - 8.2).powi(2) + (p[1] - 2.9).powi(2) + (p[2] + 0.3).powi(2)).sqrt() - 2.5;
        assert_eq!(found(&ball)[0].cells, 0);
        let rod = |p: [f32; 3]| ((p[0] - 8.2).powi(2) + (p[1] - 2.9).powi(2)).sqrt() - 0.8;
        assert!(found(&rod)[0].cells >= 6);
    }
}
