//! Rows of padded arrays, and loops over planes that give the same bits for any number of threads.

use super::grid::{HIGH, LANES, LOW, Lattice};

/// Three arrays: velocity components at faces (`_at_face`), or three coefficients of faces.
pub(super) type Faces = [Vec<f32>; 3];

/// `len` entries from `start`. Rows cut with the same `len` let the compiler drop its bounds checks.
#[inline(always)]
pub(super) fn row(array: &[f32], start: usize, len: usize) -> &[f32] {
    &array[start..][..len]
}

/// As [`row`], to write to.
#[inline(always)]
pub(super) fn row_mut(array: &mut [f32], start: usize, len: usize) -> &mut [f32] {
    &mut array[start..][..len]
}

/// One run of lanes from `start`. Loops over just these, with results in arrays of their own, become vectors without a remainder and without
/// a look whether arrays overlap, however short a row is.
#[inline(always)]
pub(super) fn lanes(array: &[f32], start: usize) -> &[f32; LANES] {
    &array[start..][..LANES].as_chunks().0[0]
}

/// [`lanes`] of one array from several places. Written out as a loop, for `map` of an array is not always inlined.
#[inline(always)]
pub(super) fn lanes_from<const N: usize>(array: &[f32], starts: [usize; N]) -> [&[f32; LANES]; N] {
    let mut all = [lanes(array, starts[0]); N];
    for n in 1..N {
        all[n] = lanes(array, starts[n]);
    }
    all
}

/// [`lanes`] of several arrays from one place.
#[inline(always)]
pub(super) fn lanes_of<const N: usize>(arrays: [&[f32]; N], start: usize) -> [&[f32; LANES]; N] {
    let mut all = [lanes(arrays[0], start); N];
    for n in 1..N {
        all[n] = lanes(arrays[n], start);
    }
    all
}

/// As [`lanes`], to write to.
#[inline(always)]
pub(super) fn lanes_mut(array: &mut [f32], start: usize) -> &mut [f32; LANES] {
    &mut array[start..][..LANES].as_chunks_mut().0[0]
}

/// Half a run of lanes.
pub(super) const PAIRS: usize = LANES / 2;

/// Entries with even and odd numbers apart, each a whole number of half runs.
#[inline(always)]
pub(super) fn split_row(values: &[f32], even: &mut [f32], odd: &mut [f32]) {
    let (even, odd) = (even.as_chunks_mut::<PAIRS>().0, odd.as_chunks_mut::<PAIRS>().0);
    for ((values, even), odd) in values.as_chunks::<LANES>().0.iter().zip(even).zip(odd) {
        let [mut evens, mut odds] = [[0.0; PAIRS]; 2];
        for m in 0..PAIRS {
            (evens[m], odds[m]) = (values[2 * m], values[2 * m + 1]);
        }
        (*even, *odd) = (evens, odds);
    }
}

/// The reverse of [`split_row`].
#[inline(always)]
pub(super) fn merge_row(even: &[f32], odd: &[f32], values: &mut [f32]) {
    let (even, odd) = (even.as_chunks::<PAIRS>().0, odd.as_chunks::<PAIRS>().0);
    for ((values, even), odd) in values.as_chunks_mut::<LANES>().0.iter_mut().zip(even).zip(odd) {
        let mut merged = [0.0; LANES];
        for m in 0..PAIRS {
            (merged[2 * m], merged[2 * m + 1]) = (even[m], odd[m]);
        }
        *values = merged;
    }
}

/// Greater of two; one instruction, unlike `f32::max`, which also sorts out NaN.
#[inline(always)]
pub(super) fn max(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// Lesser of two; see [`max`].
#[inline(always)]
pub(super) fn min(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// Planes that one task takes. Results don't depend on it: every loop gathers, or adds in the same order.
pub(super) fn planes_per_task(planes: usize) -> usize {
    let threads = rayon::current_num_threads();
    if threads == 1 { planes.max(1) } else { planes.div_ceil(2 * threads).max(1) }
}

/// Planes of one thread's slab, where neighbouring planes are best worked on by the same thread.
pub(super) fn planes_per_slab(planes: usize) -> usize {
    planes.div_ceil(rayon::current_num_threads()).max(1)
}

/// The planes of a padded array that hold cells.
pub(super) fn inner_mut<'a>(array: &'a mut [f32], lattice: &Lattice) -> &'a mut [f32] {
    &mut array[LOW * lattice.stride[2]..(LOW + lattice.n[2]) * lattice.stride[2]]
}

/// Copies whole layers across one axis: layer `from` to layer `to` (cell numbers, −2 to n+2), scaled and shifted.
pub(super) fn copy_layer(array: &mut [f32], lattice: &Lattice, axis: usize, (from, to): (isize, isize), (scale, shift): (f32, f32)) {
    let padded = lattice.n.map(|n| n + LOW + HIGH);
    let (first, second) = ((axis + 1) % 3, (axis + 2) % 3);
    let low = LOW as isize;
    let (from, to) = ((from + low) as usize * lattice.stride[axis], (to + low) as usize * lattice.stride[axis]);
    for b in 0..padded[second] {
        for a in 0..padded[first] {
            let at = a * lattice.stride[first] + b * lattice.stride[second];
            array[at + to] = scale * array[at + from] + shift;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_layer_is_copied_scaled_and_shifted() {
        let lattice = Lattice::new([3, 3, 3]);
        let mut array = vec![2.0; lattice.len];
        copy_layer(&mut array, &lattice, 1, (0, -1), (-1.0, 3.0));
        assert_eq!(array[lattice.at(1, -1, 2)], 1.0);
        assert_eq!(array[lattice.at(1, 0, 2)], 2.0);
    }
}
