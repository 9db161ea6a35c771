//! Velocity at the ends of axes that are joined or open, which the loops over cells don't reach. Closed boxes have none of it.

use super::{
    field::{Faces, copy_layer},
    grid::Lattice,
    physics::{Physics, Side},
    poisson::Finest,
    project::Projection,
    solids::periodic,
};

/// Before the pressure is known: an open end gets what comes from inside, a joined one its other end.
pub(super) fn predict(velocity: &mut Faces, open: &[u8], lattice: &Lattice, physics: &Physics) {
    for axis in 0..3 {
        let (stride, n) = (lattice.stride[axis], lattice.n[axis]);
        if periodic(physics, axis) {
            copy_layer(&mut velocity[axis], lattice, axis, (0, n as isize), (1.0, 0.0));
            continue;
        }
        for side in [0, 1].into_iter().filter(|side| physics.sides[2 * axis + side] == Side::Open) {
            for mut cell in end_cells(lattice.n, axis) {
                cell[axis] = side * n;
                let face = lattice.cell(cell);
                let inside = match side {
                    _ if n == 1 => face,
                    0 => face + stride,
                    _ => face - stride,
                };
                velocity[axis][face] = if open[face] >> axis & 1 == 1 { velocity[axis][inside] } else { 0.0 };
            }
        }
    }
}

/// One plane's faces at ends along x, y and the low end of z, after the loops have taken the gradient off: at a fixed-pressure end the pressure
/// is 0 half a cell away, so the gradient is 2 x/h, of which the loops have taken half wherever they reach.
pub(super) fn correct_sides(projection: &Projection, k: usize, planes: &mut [&mut [f32]; 3], x: &[f32]) {
    let Projection { lattice, physics, open, .. } = projection;
    let pitch = lattice.stride[1];
    for axis in 0..2 {
        let (n, stride) = (lattice.n[axis], lattice.stride[axis]);
        let first = lattice.row_in_plane(0);
        let (count, step) = if axis == 0 { (lattice.n[1], pitch) } else { (lattice.n[0], 1) };
        let is_open = |face: usize| open[(k + super::grid::LOW) * lattice.stride[2] + face] >> axis & 1 == 1;
        for low in (0..count).map(|place| first + place * step) {
            let high = low + n * stride;
            if periodic(physics, axis) {
                planes[axis][high] = planes[axis][low];
                continue;
            }
            if physics.sides[2 * axis] == Side::Open && is_open(low) {
                planes[axis][low] -= x[low];
            }
            if physics.sides[2 * axis + 1] == Side::Open && is_open(high) {
                // The loop over rows runs over the face at the end of each, but not over the row behind the last.
                let left = if axis == 0 { 1.0 } else { 2.0 };
                planes[axis][high] += left * x[high - stride];
            }
        }
    }
    if k == 0 && physics.sides[4] == Side::Open && !periodic(physics, 2) {
        for cell in end_cells(lattice.n, 2) {
            let at = lattice.row_in_plane(cell[1]) + cell[0];
            if open[lattice.cell(cell)] >> 2 & 1 == 1 {
                planes[2][at] -= x[at];
            }
        }
    }
}

/// The upper end of z.
pub(super) fn correct_top(projection: &Projection, velocity: &mut Faces, finest: &Finest) {
    let Projection { lattice, physics, open, .. } = projection;
    let n = lattice.n[2];
    if periodic(physics, 2) {
        copy_layer(&mut velocity[2], lattice, 2, (0, n as isize), (1.0, 0.0));
    } else if physics.sides[5] == Side::Open {
        for [i, j, _] in end_cells(lattice.n, 2) {
            let face = lattice.cell([i, j, n]);
            let (colour, at) = finest.layout.at([i, j, n - 1].map(|c| c as isize));
            if open[face] >> 2 & 1 == 1 {
                velocity[2][face] += 2.0 * finest.x[colour][at];
            }
        }
    }
}

/// One cell for each place on the low end of an axis.
fn end_cells(n: [usize; 3], axis: usize) -> impl Iterator<Item = [usize; 3]> {
    let (first, second) = ((axis + 1) % 3, (axis + 2) % 3);
    (0..n[second]).flat_map(move |b| {
        (0..n[first]).map(move |a| {
            let mut cell = [0; 3];
            (cell[first], cell[second]) = (a, b);
            cell
        })
    })
}
