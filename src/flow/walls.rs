//! What sides of the box do to the water inside: values beside it, two layers deep.

use super::{
    field::{Faces, copy_layer},
    grid::{LOW, Lattice},
    physics::{Physics, Side},
    solids::periodic,
};

/// Velocities outside the box, two layers deep: mirrored, joined or carried on, as each side asks.
pub(super) fn fill_outside(velocity: &mut Faces, lattice: &Lattice, physics: &Physics) {
    let size = lattice.stride[2];
    for plane in 0..lattice.len / size {
        let mut planes = velocity.each_mut().map(|array| &mut array[plane * size..][..size]);
        fill_beside(&mut planes, lattice, physics);
    }
    fill_above_and_below(velocity, lattice, physics);
}

/// The same beside one plane: values at both ends of its rows, and whole rows at its ends.
pub(super) fn fill_beside(planes: &mut [&mut [f32]; 3], lattice: &Lattice, physics: &Physics) {
    let pitch = lattice.stride[1];
    for (component, plane) in planes.iter_mut().enumerate() {
        for (from, to, (scale, shift)) in copies(lattice, physics, 0, component) {
            for row in plane.chunks_exact_mut(pitch) {
                row[to] = scale * row[from] + shift;
            }
        }
        for (from, to, (scale, shift)) in copies(lattice, physics, 1, component) {
            for i in 0..pitch {
                plane[to * pitch + i] = scale * plane[from * pitch + i] + shift;
            }
        }
    }
}

/// The same for whole planes.
pub(super) fn fill_above_and_below(velocity: &mut Faces, lattice: &Lattice, physics: &Physics) {
    for (component, array) in velocity.iter_mut().enumerate() {
        for (from, to, rule) in copies(lattice, physics, 2, component) {
            copy_layer(array, lattice, 2, (from as isize - LOW as isize, to as isize - LOW as isize), rule);
        }
    }
}

/// Layers to copy across both ends of an axis: from, to (padding counted), scale and shift.
fn copies(lattice: &Lattice, physics: &Physics, axis: usize, component: usize) -> impl Iterator<Item = (usize, usize, (f32, f32))> {
    let n = lattice.n[axis] as isize;
    let joined = periodic(physics, axis);
    let sides = physics.sides;
    [false, true].into_iter().flat_map(move |high| {
        let side = sides[2 * axis + usize::from(high)];
        let rule = mirror(side, joined, component == axis, component);
        let padded = |layer: isize| (layer + LOW as isize) as usize;
        layers(side, joined, component == axis, high, n).map(|(from, to)| (padded(from), padded(to), rule))
    })
}

/// Which layers (from, to) to copy across one end of an axis of `n` cells. The velocity across a face layer has a face at n.
fn layers(side: Side, joined: bool, normal: bool, high: bool, n: isize) -> [(isize, isize); 2] {
    match (joined, side, normal, high) {
        (true, _, _, true) => [(0, n), (1, n + 1)],
        (true, _, _, false) => [(n - 1, -1), (n - 2, -2)],
        (false, Side::Open, true, true) => [(n, n + 1), (n, n + 2)],
        (false, Side::Open, false, true) => [(n - 1, n), (n - 1, n + 1)],
        (false, Side::Open, _, false) => [(0, -1), (0, -2)],
        (false, _, true, true) => [(n - 1, n + 1), (n - 2, n + 2)],
        (false, _, true, false) => [(1, -1), (2, -2)],
        (false, _, false, true) => [(n - 1, n), (n - 2, n + 1)],
        (false, _, false, false) => [(0, -1), (1, -2)],
    }
}

/// Scale and shift of a copied layer: a wall brings the mean of both sides to its own velocity.
fn mirror(side: Side, joined: bool, normal: bool, component: usize) -> (f32, f32) {
    match side {
        _ if joined => (1.0, 0.0),
        Side::Open => (1.0, 0.0),
        _ if normal => (-1.0, 0.0),
        Side::Slip => (1.0, 0.0),
        Side::Sliding { velocity } => (-1.0, 2.0 * velocity[component]),
        Side::Wall { .. } | Side::Periodic => (-1.0, 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wall_mirrors_and_a_slip_side_copies() {
        let lattice = Lattice::new([4, 4, 4]);
        let mut velocity: Faces = std::array::from_fn(|_| vec![1.0; lattice.len]);
        fill_outside(&mut velocity, &lattice, &Physics::tank(1e-6, 0));
        assert_eq!(velocity[0][lattice.at(1, 1, -1)], -1.0);
        assert_eq!(velocity[0][lattice.at(1, 1, 4)], 1.0);
        assert_eq!(velocity[2][lattice.at(1, 1, 5)], -1.0);
    }
}
