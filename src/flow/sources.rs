//! From the rates asked for to what is done to the water: volume into the divergence, push into the rates, marks into the tags.

use super::{
    field::Faces,
    grid::Lattice,
    jets::{self, mouth_speed},
    kernel::{Kernel, Share},
    ports::{JetRate, Ports, Rates},
    report::Note,
    sinks,
    solids::{NO_REGION, Solids},
    tags::Tags,
};
use serde::{Deserialize, Serialize};

/// Kernels of all ports, fixed for a run.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Sources {
    pub jets: Vec<Kernel>,
    /// Way with which the marks of each jet start, m.
    way: Vec<f32>,
    pub sinks: Vec<Kernel>,
}

/// Rates after balancing: what goes into each body of water comes out of it.
#[derive(Debug, Default)]
pub(super) struct Applied {
    pub jets: Vec<JetRate>,
    pub sinks: Vec<f32>,
    /// Water in and out of each region, m³/s.
    regions: Vec<[f64; 2]>,
}

impl Applied {
    /// Rates that are balanced already.
    pub fn of(jets: Vec<JetRate>, sinks: Vec<f32>) -> Self {
        Self { jets, sinks, regions: Vec::new() }
    }
}

/// A number that can be used: finite and not negative.
fn usable(rate: f32) -> f32 {
    if rate.is_finite() { rate.max(0.0) } else { 0.0 }
}

impl Sources {
    pub fn new(grid: &super::Grid, lattice: &Lattice, solids: &Solids, ports: &Ports, notes: &mut Vec<Note>) -> Self {
        let jets: Vec<Kernel> = ports.jets.iter().map(|jet| jets::kernel(grid, lattice, solids, jet)).collect();
        let sinks: Vec<Kernel> = ports.sinks.iter().map(|sink| sinks::kernel(grid, lattice, solids, sink)).collect();
        notes.extend(blocked(&jets).map(|jet| Note::JetBlocked { jet }));
        notes.extend(blocked(&sinks).map(|sink| Note::SinkBlocked { sink }));
        for (jet, port) in ports.jets.iter().enumerate() {
            let bore_in_cells = port.bore / grid.h;
            if bore_in_cells < 1.0 / 3.0 {
                notes.push(Note::JetThin { jet, bore_in_cells });
            }
        }
        let way = ports.jets.iter().map(|jet| jets::way_at_start(grid, solids, jet)).collect();
        Self { jets, way, sinks }
    }

    /// Balances the rates into `applied`; says once what had to be left out.
    pub fn balance(&self, rates: &Rates, solids: &Solids, applied: &mut Applied, notes: &mut Vec<Note>) {
        applied.regions.clear();
        applied.regions.resize(solids.region_is_open.len(), [0.0; 2]);
        applied.jets.clear();
        applied.sinks.clear();
        for (index, kernel) in self.jets.iter().enumerate() {
            let rate = rates.jets.get(index).copied().filter(|_| kernel.region != NO_REGION).unwrap_or_default();
            let rate = JetRate { flow: usable(rate.flow), momentum: usable(rate.momentum) };
            add(&mut applied.regions, kernel, 0, rate.flow);
            applied.jets.push(rate);
        }
        for (index, kernel) in self.sinks.iter().enumerate() {
            let flow = rates.sinks.get(index).copied().filter(|_| kernel.region != NO_REGION).map_or(0.0, usable);
            add(&mut applied.regions, kernel, 1, flow);
            applied.sinks.push(flow);
        }
        for (jet, (rate, kernel)) in applied.jets.iter_mut().zip(&self.jets).enumerate() {
            if rate.flow > 0.0 && !has_way(&applied.regions, solids, kernel, 1) {
                rate.flow = 0.0;
                say_once(notes, Note::NoWayOut { jet });
            }
        }
        for (sink, (flow, kernel)) in applied.sinks.iter_mut().zip(&self.sinks).enumerate() {
            if *flow > 0.0 && !has_way(&applied.regions, solids, kernel, 0) {
                *flow = 0.0;
                say_once(notes, Note::NoWayIn { sink });
            } else if *flow > 0.0 && !solids.region_is_open[usize::from(kernel.region)] {
                let [water_in, water_out] = applied.regions[usize::from(kernel.region)];
                *flow = (f64::from(*flow) * water_in / water_out) as f32;
            }
        }
    }

    /// Volume sources at cells, 1/s.
    pub fn fill_divergence(&self, applied: &Applied, cell_volume: f32, source: &mut [f32]) {
        self.jets.iter().chain(&self.sinks).flat_map(|kernel| &kernel.cells).for_each(|share| source[share.at as usize] = 0.0);
        for (kernel, rate) in self.jets.iter().zip(&applied.jets) {
            scatter(source, &kernel.cells, rate.flow / cell_volume);
        }
        for (kernel, flow) in self.sinks.iter().zip(&applied.sinks) {
            scatter(source, &kernel.cells, -flow / cell_volume);
        }
    }

    /// Water that all ports together bring, as their cells get it, m³/s.
    pub fn net(&self, applied: &Applied) -> f64 {
        let whole = |kernel: &Kernel| kernel.cells.iter().map(|share| f64::from(share.weight)).sum::<f64>();
        let brought: f64 = self.jets.iter().zip(&applied.jets).map(|(kernel, rate)| whole(kernel) * f64::from(rate.flow)).sum();
        let taken: f64 = self.sinks.iter().zip(&applied.sinks).map(|(kernel, flow)| whole(kernel) * f64::from(*flow)).sum();
        brought - taken
    }

    /// Push of the jets, and momentum that leaves with the water of the sinks (moving at `velocity`), on the rates at faces, and at once
    /// with a weight (s) on the new velocity.
    pub fn push(
        &self,
        applied: &Applied,
        ports: &Ports,
        cell_volume: f32,
        velocity: &Faces,
        (rate, next): (&mut Faces, &mut Faces),
        weight: f32,
    ) {
        for ((kernel, jet), applied) in self.jets.iter().zip(&ports.jets).zip(&applied.jets) {
            let along = jets::unit(jet.direction);
            for axis in 0..3 {
                let push = applied.momentum * along[axis] / cell_volume;
                scatter(&mut rate[axis], &kernel.faces[axis], push);
                scatter(&mut next[axis], &kernel.faces[axis], weight * push);
            }
        }
        for (kernel, flow) in self.sinks.iter().zip(&applied.sinks) {
            for axis in 0..3 {
                for share in &kernel.faces[axis] {
                    let at = share.at as usize;
                    let lost = flow / cell_volume * share.weight * velocity[axis][at];
                    rate[axis][at] -= lost;
                    next[axis][at] -= weight * lost;
                }
            }
        }
    }

    /// Marks: new water of a jet brings them, a propeller renews those of the water it passes, a sink takes them away.
    pub fn mark(&self, applied: &Applied, ports: &Ports, lattice: &Lattice, (cell_volume, dt): (f32, f32), tags: &mut Tags) {
        for (((kernel, jet), rate), way) in self.jets.iter().zip(&ports.jets).zip(&applied.jets).zip(&self.way) {
            let bore = jet.bore.max(1e-4);
            let (fresh, drive) = (0.2 / bore, mouth_speed(jet, *rate) * bore);
            let passing = if rate.flow > 0.0 { 0.0 } else { std::f32::consts::FRAC_PI_4 * bore * bore * mouth_speed(jet, *rate) };
            let through = (rate.flow + passing) * dt / cell_volume;
            if through <= 0.0 {
                continue;
            }
            for share in &kernel.cells {
                let at = share.at as usize;
                let gain = share.weight * through;
                let lost = (share.weight * passing * dt / cell_volume).min(1.0);
                tags.refresh(lattice, at, 1.0 - lost, (gain * fresh, *way, drive));
            }
        }
        for (kernel, flow) in self.sinks.iter().zip(&applied.sinks) {
            for share in &kernel.cells {
                tags.mark[share.at as usize] *= 1.0 - (share.weight * flow * dt / cell_volume).min(1.0);
            }
        }
    }

    /// Fastest speed that the jets bring, and the greatest acceleration and divergence × h that they cause at once, m/s, m/s², m/s.
    pub fn demands(&self, applied: &Applied, ports: &Ports, h: f32) -> Demands {
        let mut demands = Demands::default();
        let peak = |shares: &[Share]| shares.iter().map(|share| share.weight).fold(0.0, f32::max);
        for ((kernel, jet), rate) in self.jets.iter().zip(&ports.jets).zip(&applied.jets) {
            if rate.momentum > 0.0 {
                demands.speed = demands.speed.max(mouth_speed(jet, *rate));
            }
            let push = jets::unit(jet.direction);
            let most = (0..3).map(|d| push[d].abs() * peak(&kernel.faces[d])).fold(0.0, f32::max);
            demands.acceleration = demands.acceleration.max(rate.momentum * most / (h * h * h));
            demands.inflow = demands.inflow.max(rate.flow * peak(&kernel.cells) / (h * h));
        }
        for (kernel, flow) in self.sinks.iter().zip(&applied.sinks) {
            demands.inflow = demands.inflow.max(flow * peak(&kernel.cells) / (h * h));
        }
        demands.speed = demands.speed.max(demands.inflow);
        demands
    }
}

/// What the ports ask of the time step.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Demands {
    pub speed: f32,
    pub acceleration: f32,
    pub inflow: f32,
}

fn blocked(kernels: &[Kernel]) -> impl Iterator<Item = usize> + '_ {
    kernels.iter().enumerate().filter(|(_, kernel)| kernel.region == NO_REGION).map(|(index, _)| index)
}

fn add(regions: &mut [[f64; 2]], kernel: &Kernel, way: usize, flow: f32) {
    if let Some(region) = regions.get_mut(usize::from(kernel.region)) {
        region[way] += f64::from(flow);
    }
}

/// Can water that comes in here go out somewhere (way 1), or water that goes out be replaced (way 0)?
fn has_way(regions: &[[f64; 2]], solids: &Solids, kernel: &Kernel, way: usize) -> bool {
    let region = usize::from(kernel.region);
    solids.region_is_open[region] || regions[region][way] > 0.0
}

fn say_once(notes: &mut Vec<Note>, note: Note) {
    if !notes.contains(&note) {
        notes.push(note);
    }
}

fn scatter(array: &mut [f32], shares: &[Share], amount: f32) {
    for share in shares {
        array[share.at as usize] += share.weight * amount;
    }
}
