//! Sinks: where water leaves. The face is spread over the cells just in front of it; the flow is exact.

use super::{
    grid::{Grid, Lattice},
    jets::{dot, unit},
    kernel::{Kernel, bell},
    ports::Sink,
    solids::{NO_REGION, Solids},
};

/// The two directions along a face: t₁ = z × n (x where n is vertical), t₂ = n × t₁.
pub(super) fn tangents(n: [f32; 3]) -> [[f32; 3]; 2] {
    let level = [-n[1], n[0], 0.0];
    let first = if dot(level, level) > 1e-6 { unit(level) } else { [1.0, 0.0, 0.0] };
    let second = [n[1] * first[2] - n[2] * first[1], n[2] * first[0] - n[0] * first[2], n[0] * first[1] - n[1] * first[0]];
    [first, second]
}

/// Kernel of a sink. Where no water is found in front of the face the search widens twice, then gives up.
pub(super) fn kernel(grid: &Grid, lattice: &Lattice, solids: &Solids, sink: &Sink) -> Kernel {
    let normal = unit(sink.normal);
    let tangents = tangents(normal);
    for widen in [1.0, 2.0, 4.0] {
        let blur = widen * grid.h;
        let weight = |p: [f32; 3]| {
            let from: [f32; 3] = std::array::from_fn(|d| p[d] - sink.at[d]);
            let ahead = dot(from, normal);
            let depth = if ahead > -0.5 * blur { bell(ahead / (1.5 * blur)) } else { 0.0 };
            depth * overlap(dot(from, tangents[0]), sink.size[0], blur) * overlap(dot(from, tangents[1]), sink.size[1], blur)
        };
        let reach = 0.5 * sink.size[0].hypot(sink.size[1]) + 2.0 * blur;
        let kernel = Kernel::new((grid, lattice), solids, sink.at, reach, &weight);
        if kernel.region != NO_REGION {
            return kernel;
        }
    }
    Kernel { region: NO_REGION, ..Kernel::default() }
}

/// Share of a cell of width `h` at `x` that a strip of width `size` about 0 covers.
fn overlap(x: f32, size: f32, h: f32) -> f32 {
    let (half, edge) = (0.5 * h, 0.5 * size.max(1e-6));
    ((x + half).min(edge) - (x - half).max(-edge)).max(0.0) / h
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn overlap_of_a_strip_with_cells() {
        assert_eq!(overlap(0.0, 2.0, 1.0), 1.0);
        assert_eq!(overlap(1.0, 2.0, 1.0), 0.5);
        assert_eq!(overlap(2.0, 2.0, 1.0), 0.0);
    }

    #[test]
    fn tangents_of_a_side_wall_are_level_and_upright() {
        assert_eq!(tangents([0.0, 1.0, 0.0]), [[-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]);
        assert_eq!(tangents([0.0, 0.0, 1.0])[0], [1.0, 0.0, 0.0]);
    }
}
