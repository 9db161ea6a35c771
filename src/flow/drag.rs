//! Water that passes through something: rubble, a porous block, a canopy of branches. A drag in the water's own volume, without walls.
//!
//! ∂u/∂t = … − (a + b |u|) u, taken implicitly at the end of the prediction: the u that solves u (1 + dt (a + b |u|)) = u*, so that any
//! drag is stable and steady flow doesn't depend on the step.

use super::{Flow, field::Faces, grid::Lattice};
use serde::{Deserialize, Serialize};

/// Drag on water per mass, (a + b |u|) u; u is the flow through the whole section, not that between the grains.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Resistance {
    /// a, 1/s.
    pub linear: f32,
    /// b, 1/m.
    pub quadratic: f32,
}

impl Resistance {
    /// Bed of grains of one size (m) with this share of voids in water of this kinematic viscosity (m²/s): Ergun 1952.
    pub fn grains(voids: f32, grain: f32, viscosity: f32) -> Self {
        let solid = 1.0 - voids;
        Self {
            linear: 150.0 * viscosity * solid * solid / (voids.powi(3) * grain * grain),
            quadratic: 1.75 * solid / (voids.powi(3) * grain),
        }
    }

    /// Canopy of stems or branches: ½ C a |u| u with their drag coefficient and frontal area per volume (1/m); Nepf 2012.
    pub fn canopy(coefficient: f32, frontal_area: f32) -> Self {
        Self { linear: 0.0, quadratic: 0.5 * coefficient * frontal_area }
    }

    /// Share of a predicted speed that is left after a step: 1/(1 + dt (a + b u)) with u the speed that is left.
    fn left(&self, predicted: f32, dt: f32) -> f32 {
        let linear = 1.0 + dt * self.linear;
        2.0 / (linear + (linear * linear + 4.0 * dt * self.quadratic * predicted).sqrt())
    }

    fn is_some(&self) -> bool {
        self.linear.is_finite() && self.quadratic.is_finite() && self.linear.max(self.quadratic) > 0.0
    }
}

/// A face in something that water passes through.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
struct Dragged {
    at: u32,
    resistance: Resistance,
    /// Share of the predicted speed that is left in this step.
    left: f32,
}

/// All drag of a run: at the faces of each axis, and at the middles of cells, in the order of the lattice.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(super) struct Drag {
    faces: [Vec<Dragged>; 3],
    #[serde(default)]
    cells: Vec<(u32, Resistance)>,
}

impl Flow {
    /// Sets what the water passes through: its resistance at every place (m).
    pub fn set_resistance(&mut self, resistance: &dyn Fn([f32; 3]) -> Resistance) {
        for axis in 0..3 {
            let mut faces = Vec::new();
            for cell in self.lattice.cells() {
                let mut place = self.grid.centre(cell);
                place[axis] -= 0.5 * self.grid.h;
                let (at, resistance) = (self.lattice.cell(cell), resistance(place));
                if resistance.is_some() && self.solids.is_open(axis, at) {
                    faces.push(Dragged { at: at as u32, resistance, left: 1.0 });
                }
            }
            self.drag.faces[axis] = faces;
        }
        let at_cell = |cell: [usize; 3]| (self.lattice.cell(cell) as u32, resistance(self.grid.centre(cell)));
        self.drag.cells = self.lattice.cells().map(at_cell).filter(|(_, resistance)| resistance.is_some()).collect();
        self.drag.cells.sort_unstable_by_key(|(at, _)| *at);
    }

    /// Is there anything that the water passes through?
    pub(super) fn has_resistance(&self) -> bool {
        !self.drag.cells.is_empty()
    }

    /// What the water passes through in the cell that holds a place (m).
    pub(super) fn resistance_at(&self, place: [f32; 3]) -> Resistance {
        if self.drag.cells.is_empty() {
            return Resistance::default();
        }
        let at = self.lattice.cell(self.grid.cell_at(place)) as u32;
        self.drag.cells.binary_search_by_key(&at, |(at, _)| *at).map_or_else(|_| Resistance::default(), |found| self.drag.cells[found].1)
    }
}

impl Drag {
    /// Holds the predicted velocity back for a step of `dt`: all shares first, for each looks at its neighbours.
    pub fn hold_back(&mut self, lattice: &Lattice, velocity: &mut Faces, dt: f32) {
        for (axis, faces) in self.faces.iter_mut().enumerate() {
            for face in faces {
                let speed = (0..3).map(|d| mean_at(lattice, velocity, axis, d, face.at as usize).powi(2)).sum::<f32>().sqrt();
                face.left = face.resistance.left(speed, dt);
            }
        }
        for (faces, values) in self.faces.iter().zip(velocity) {
            faces.iter().for_each(|face| values[face.at as usize] *= face.left);
        }
    }
}

/// A component at a face of an axis: its own, or the mean of the four around.
fn mean_at(lattice: &Lattice, velocity: &Faces, axis: usize, component: usize, at: usize) -> f32 {
    let (array, low, up) = (&velocity[component], lattice.stride[axis], lattice.stride[component]);
    if component == axis { array[at] } else { 0.25 * ((array[at] + array[at + up]) + (array[at - low] + array[at - low + up])) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_of_a_speed_solves_the_implicit_equation() {
        let (resistance, dt) = (Resistance { linear: 3.0, quadratic: 50.0 }, 0.1);
        let left = 0.4 * resistance.left(0.4, dt);
        assert!((left * (1.0 + dt * (3.0 + 50.0 * left)) - 0.4).abs() < 1e-6);
    }

    #[test]
    fn a_bed_of_grains_resists_after_ergun() {
        // Voids 0.4, 5 mm, ν 1e-6: a = 150·1e-6·0.36/(0.064·25e-6) = 33.75 1/s, b = 1.75·0.6/(0.064·0.005) = 3281.25 1/m.
        let bed = Resistance::grains(0.4, 0.005, 1e-6);
        assert!((bed.linear - 33.75).abs() < 1e-3 && (bed.quadratic - 3281.25).abs() < 1e-2, "{bed:?}");
        assert_eq!(Resistance::canopy(1.0, 4.0).quadratic, 2.0);
        assert!(!Resistance { linear: f32::NAN, quadratic: 1.0 }.is_some());
    }
}
