//! How a run begins.

use super::{
    Flow, Grid, Ground, Note, Physics, Ports,
    drag::Drag,
    grid::Lattice,
    narrow,
    solids::{NO_REGION, Solids, periodic},
    sources::Sources,
    tags::Tags,
    timestep::History,
    wall_faces::Walls,
    walls,
};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

impl Flow {
    /// Water at rest but for the initial noise. `signed_distance` is in metres, negative inside solids, and nowhere more than the true distance.
    pub fn new(grid: Grid, signed_distance: &(dyn Fn([f32; 3]) -> f32 + Sync), ports: Ports, physics: Physics) -> Self {
        Self::on(&Ground::new(grid, &physics, signed_distance), ports, physics)
    }

    /// The same on a ground that is known already, with physics of the same sides.
    pub fn on(ground: &Ground, ports: Ports, physics: Physics) -> Self {
        let grid = ground.grid;
        let lattice = Lattice::new(grid.n);
        let mut notes = Vec::with_capacity(4 * (ports.jets.len() + ports.sinks.len()) + 4);
        let mut solids = Solids::new(&grid, &lattice, &physics, &ground.distance);
        let sources = Sources::new(&grid, &lattice, &solids, &ports, &mut notes);
        let sealed = solids.close(&grid, &lattice, &regions_in_use(&solids, &sources));
        notes.extend(narrow::middle(&grid, &sealed).map(|at| Note::SealedWater { cells: sealed.len(), at }));
        let [thin, gaps] = ground.narrow;
        notes.extend((thin.cells > 0).then_some(Note::ThinSolid { cells: thin.cells, at: thin.at }));
        notes.extend((gaps.cells > 0).then_some(Note::NarrowGap { cells: gaps.cells, at: gaps.at }));
        let walls = Walls::new(&lattice, grid.h, &physics, &solids, &|cell| is_water(&grid, &physics, &solids, cell));
        let zero = || vec![0.0; lattice.len];
        let mut flow = Self {
            grid,
            ports,
            physics,
            lattice,
            solids,
            walls,
            corners: ground.corners.clone(),
            drag: Drag::default(),
            sources,
            time: 0.0,
            velocity: std::array::from_fn(|_| zero()),
            rate: std::array::from_fn(|_| zero()),
            pressure: zero(),
            tags: Tags::new(&lattice),
            history: History::default(),
            notes,
        };
        flow.add_noise();
        flow
    }

    /// Starts from a given velocity, m/s, as far as solids, walls and ∇·u = q allow.
    pub fn set_velocity(&mut self, velocity: &dyn Fn([f32; 3]) -> [f32; 3]) {
        for component in 0..3 {
            self.set_faces(component, |place| velocity(place)[component]);
        }
        self.history.courant_speed = self.fastest_faces();
        walls::fill_outside(&mut self.velocity, &self.lattice, &self.physics);
    }

    /// Goes on with the water of another run as it moves now, where its cells are the same: time, velocity, pressure and jet marks. Faces that
    /// are no longer open stand still, and the next step makes the rest free of divergence. False, and nothing changed, when the
    /// cells differ or that water is no longer sound.
    pub fn go_on_from(&mut self, before: &Self) -> bool {
        let sound = before.velocity.iter().flatten().all(|u| u.is_finite());
        if self.grid != before.grid || !sound {
            return false;
        }
        self.time = before.time;
        self.pressure.clone_from(&before.pressure);
        self.tags.clone_from(&before.tags);
        for (axis, own) in self.velocity.iter_mut().enumerate() {
            let open = &self.solids.open;
            own.iter_mut()
                .zip(&before.velocity[axis])
                .zip(open)
                .for_each(|((u, old), open)| *u = if open >> axis & 1 == 1 { *old } else { 0.0 });
        }
        self.history.courant_speed = self.fastest_faces();
        walls::fill_outside(&mut self.velocity, &self.lattice, &self.physics);
        true
    }

    fn add_noise(&mut self) {
        let mut random = ChaCha8Rng::seed_from_u64(self.physics.seed);
        let noise = if self.physics.noise.is_finite() { self.physics.noise.abs() } else { 0.0 };
        for component in 0..3 {
            self.set_faces(component, |_| noise * (2.0 * random.random::<f32>() - 1.0));
        }
        self.history.courant_speed = self.fastest_faces();
        walls::fill_outside(&mut self.velocity, &self.lattice, &self.physics);
    }

    fn set_faces(&mut self, component: usize, mut value: impl FnMut([f32; 3]) -> f32) {
        let mut last = self.grid.n;
        last[component] += 1;
        for k in 0..last[2] {
            for j in 0..last[1] {
                for i in 0..last[0] {
                    let at = self.lattice.cell([i, j, k]);
                    let mut place = self.grid.centre([i, j, k]);
                    place[component] -= 0.5 * self.grid.h;
                    let value = value(place);
                    self.velocity[component][at] = if self.solids.is_open(component, at) { value } else { 0.0 };
                }
            }
        }
    }

    /// Largest sum over the axes of the largest speed along each, m/s: no less than any cell's Σ|u|.
    fn fastest_faces(&self) -> f32 {
        self.velocity.iter().map(|array| array.iter().fold(0.0f32, |most, u| most.max(u.abs()))).sum()
    }
}

/// The largest body of water, and those that a port or an open side reaches.
fn regions_in_use(solids: &Solids, sources: &Sources) -> Vec<bool> {
    let mut used = solids.region_is_open.clone();
    if let Some((largest, _)) = solids.region_cells.iter().enumerate().max_by_key(|(index, cells)| (**cells, std::cmp::Reverse(*index))) {
        used[largest] = true;
    }
    for kernel in sources.jets.iter().chain(&sources.sinks).filter(|kernel| kernel.region != NO_REGION) {
        used[usize::from(kernel.region)] = true;
    }
    used
}

/// Is this cell water, seen from inside the box? Beyond the ends: round a joined axis, or as the last cell.
fn is_water(grid: &Grid, physics: &Physics, solids: &Solids, cell: [isize; 3]) -> bool {
    let inside = std::array::from_fn(|d| {
        let n = grid.n[d] as isize;
        (if periodic(physics, d) { cell[d].rem_euclid(n) } else { cell[d].clamp(0, n - 1) }) as usize
    });
    solids.water[grid.index(inside)] > 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{Jet, JetRate, Rates, Scratch, Sink, step};

    /// A nozzle is added while another one blows: the water goes on, and its jet is still known as one.
    #[test]
    fn water_goes_on_with_its_marks_when_a_nozzle_is_added() {
        let grid = Grid { n: [24, 12, 12], h: 0.03 };
        let jet = |y: f32| Jet { at: [0.0, y, 0.18], direction: [1.0, 0.0, 0.0], bore: 0.03 };
        let sink = Sink { at: [0.72, 0.18, 0.1], normal: [-1.0, 0.0, 0.0], size: [0.09, 0.09] };
        let flow = |jets: Vec<Jet>| Flow::new(grid, &|_| 1.0, Ports { jets, sinks: vec![sink] }, Physics::tank(1e-6, 1));
        let mut before = flow(vec![jet(0.1)]);
        let mut scratch = Scratch::new(&before);
        let rates = Rates { jets: vec![JetRate { flow: 7e-4, momentum: 7e-4 }], sinks: vec![7e-4] };
        (0..40).for_each(|_| _ = step(&mut before, &mut scratch, &rates, 0.1));
        let mut after = flow(vec![jet(0.1), jet(0.26)]);
        assert!(!after.tags.any());
        assert!(after.go_on_from(&before));
        assert!(after.tags.any() && after.tags.mark == before.tags.mark && after.time == before.time);
    }
}
