//! A layout's circuits as a pipe network.

use super::ends::{entrance_law, intake_laws, nozzle_laws};
use super::fittings::fitting_laws;
use super::joints::{JointEnds, tees};
use crate::catalog::{Catalog, PipeSize};
use crate::finding::{Finding, Grade};
use crate::hydraulics::tee::Tee;
use crate::hydraulics::{Curve, Law, Network, Node};
use crate::layout::{Circuit, Drum, End, Joint, Layout, Pump, Run};
use std::collections::HashMap;

/// The whole network, and which link is what.
#[derive(Debug, Clone, Default)]
pub struct Assembly {
    pub network: Network,
    /// Link of each run, circuits in order.
    pub runs: Vec<RunLink>,
    /// Link of each pump of the layout, where runs lead to it and away from it.
    pub pumps: Vec<Option<usize>>,
    /// Links of drum ports.
    pub ports: Vec<PortLink>,
    /// What is wrong; nothing can be solved while there is something.
    pub problems: Vec<Finding>,
}

/// A run in the network.
#[derive(Debug, Clone, Copy)]
pub struct RunLink {
    pub link: usize,
    pub circuit: usize,
    /// m².
    pub area: f64,
    pub intake: Option<usize>,
    pub nozzle: Option<usize>,
}

/// A drum port in the network.
#[derive(Debug, Clone, Copy)]
pub struct PortLink {
    pub link: usize,
    pub drum: usize,
    pub outlet: usize,
}

/// A place where runs meet.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Spot {
    PumpInlet(usize),
    PumpOutlet(usize),
    Drum(usize),
    Outlet(usize, usize),
    /// By name, and by the number of the branch along it.
    Joint(String, usize),
    /// Reservoirs get a node for each run end, so that parts stay apart.
    Reservoir(usize),
}

struct Builder<'a> {
    layout: &'a Layout,
    catalog: &'a Catalog,
    spots: HashMap<Spot, usize>,
    joints: JointEnds<'a>,
    out: Assembly,
}

/// Builds the network; see [`Assembly::problems`].
pub fn assemble(layout: &Layout, catalog: &Catalog) -> Assembly {
    let mut builder = Builder { layout, catalog, spots: HashMap::new(), joints: JointEnds::new(layout), out: Assembly::default() };
    for (number, circuit) in layout.circuits.iter().enumerate() {
        for run in circuit.suction.iter().chain(&circuit.discharge) {
            builder.run(number, run);
        }
    }
    (0..layout.drums.len()).for_each(|d| builder.drum(d));
    (0..layout.pumps.len()).for_each(|p| builder.pump(p));
    builder.joints();
    builder.out
}

impl Builder<'_> {
    fn run(&mut self, circuit: usize, run: &Run) {
        let part = format!("circuits/{}/{}", self.layout.circuits[circuit].id, run.id);
        let ends = (self.end(&run.from, run, true, &part), self.end(&run.to, run, false, &part));
        let pipe = self.catalog.pipe(&run.pipe);
        if pipe.is_none() {
            self.problem(
                "unknown-pipe",
                &part,
                format!("the catalogue has no pipe `{}`", run.pipe),
                "use a size that `assets/catalog/pipes.ron` lists",
            );
        }
        let (Some(from), Some(to), Some(pipe)) = (ends.0, ends.1, pipe) else { return };
        let (intake, nozzle) = (self.intake(&run.from), self.nozzle(&run.to));
        let losses = self.layout.circuits[circuit].loss_factor.unwrap_or(1.0);
        let law = self.run_law(run, pipe, [intake, nozzle], losses, &part);
        let link = self.out.network.link(from, to, law);
        let bore = pipe.bore(self.layout.pipes.bore);
        self.joints.take(run, link, bore, from, to);
        self.out.runs.push(RunLink { link, circuit, area: pipe.area(self.layout.pipes.bore), intake, nozzle });
    }

    fn run_law(&mut self, run: &Run, pipe: &PipeSize, [intake, nozzle]: [Option<usize>; 2], losses: f64, part: &str) -> Law {
        let bore = pipe.bore(self.layout.pipes.bore);
        let roughness = self.layout.pipes.roughness.grain(pipe.roughness_m);
        let mut laws = vec![Law::Pipe { bore, length: run.length.si(), roughness }];
        for fitting in &run.fittings {
            match fitting_laws(fitting, bore, self.layout.pipes.bore, self.catalog) {
                Ok(own) => laws.extend(own),
                Err((rule, what, mend)) => self.problem(rule, part, what, mend),
            }
        }
        if let Some(i) = intake {
            laws.extend(intake_laws(&self.layout.intakes[i], bore));
        }
        if intake.is_some() || run.from == End::Sump {
            laws.extend(entrance_law(&run.fittings, bore));
        }
        laws.iter_mut().for_each(|law| scale(law, losses));
        match nozzle {
            Some(n) => laws.extend(nozzle_laws(&self.layout.nozzles[n], bore)),
            None if run.to == End::Sump => laws.push(Law::minor(1.0, bore)),
            None => {}
        }
        Law::Series(laws)
    }

    fn drum(&mut self, number: usize) {
        let drum: &Drum = &self.layout.drums[number];
        let Some(&inlet) = self.spots.get(&Spot::Drum(number)) else { return };
        for outlet in 0..drum.outlets as usize {
            let Some(&to) = self.spots.get(&Spot::Outlet(number, outlet)) else { continue };
            let law = Law::Port { area: super::ends::circle(drum.bore.si()), open: 0.0, leakage: drum.leakage, body_k: drum.body_k };
            let link = self.out.network.link(inlet, to, law);
            self.out.ports.push(PortLink { link, drum: number, outlet });
        }
    }

    fn pump(&mut self, number: usize) {
        let pump: &Pump = &self.layout.pumps[number];
        let points: Vec<_> = pump.curve.iter().map(|p| (p.flow.si(), pump.head_factor.unwrap_or(1.0) * p.head.si())).collect();
        let curve = Curve::new(&points);
        if let Err(error) = &curve {
            let mend = "give at least two points, flow rising and head falling, as read off the maker's curve";
            self.problem("pump-curve", &format!("pumps/{}", pump.id), format!("its curve can't be used: {error}"), mend);
        }
        let ends = (self.spots.get(&Spot::PumpInlet(number)), self.spots.get(&Spot::PumpOutlet(number)));
        let link = match (ends, curve) {
            ((Some(&from), Some(&to)), Ok(curve)) => Some(self.out.network.link(from, to, Law::Pump { curve, speed: pump.speed })),
            _ => None,
        };
        self.out.pumps.push(link);
    }

    /// The node of a run's end; `None` when it names nothing.
    fn end(&mut self, end: &End, run: &Run, is_start: bool, part: &str) -> Option<usize> {
        let layout = self.layout;
        let level = layout.tank.water_level.si();
        let (spot, head) = match end {
            End::Intake(_) => (self.intake(end).map(|_| self.reservoir()), Some(level)),
            End::Nozzle(_) => {
                let nozzle = self.nozzle(end);
                let height = nozzle.map(|n| layout.nozzles[n].mount.centre(layout.tank.size()).z);
                (nozzle.map(|_| self.reservoir()), Some(height.unwrap_or(level).max(level)))
            }
            End::Sump => (layout.sump.as_ref().map(|_| self.reservoir()), layout.sump.as_ref().map(|s| s.level.si())),
            End::Pump(id) => {
                let number = layout.pumps.iter().position(|p| p.id == *id);
                (number.map(|n| if is_start { Spot::PumpOutlet(n) } else { Spot::PumpInlet(n) }), None)
            }
            End::Drum(id) => (layout.drums.iter().position(|d| d.id == *id).map(Spot::Drum), None),
            End::Outlet(id, outlet) => {
                let number = layout.drums.iter().position(|d| d.id == *id && (1..=d.outlets).contains(outlet));
                (number.map(|n| Spot::Outlet(n, *outlet as usize - 1)), None)
            }
            End::Joint(name) => (Some(Spot::Joint(name.clone(), self.joints.place(name, run))), None),
        };
        if spot.is_none() {
            self.problem(
                "dangling-run",
                part,
                format!("it ends at {}, which the layout doesn't have", words(end)),
                "correct the name, or add the part",
            );
        }
        let node = head.map_or(Node::Joint(0.0), Node::Fixed);
        let network = &mut self.out.network;
        spot.map(|spot| *self.spots.entry(spot).or_insert_with(|| network.node(node)))
    }

    /// Links between the branches of crosses and manifolds, and the tees of all joints.
    fn joints(&mut self) {
        let joints = std::mem::take(&mut self.joints);
        for (number, joint) in self.layout.joints.iter().enumerate() {
            match tees(joint, joints.of(number), &mut self.out.network) {
                Ok(own) => {
                    let factor = self.losses_at(joint);
                    self.out.network.tees.extend(own.into_iter().map(|tee| Tee { factor, ..tee }));
                }
                Err((what, mend)) => self.problem("bad-joint", &format!("joints/{}", joint.id), what, &mend),
            }
        }
    }

    /// The loss factor of the circuit that a joint belongs to.
    fn losses_at(&self, joint: &Joint) -> f64 {
        let here = End::Joint(joint.id.clone());
        let is_here = |circuit: &&Circuit| circuit.suction.iter().chain(&circuit.discharge).any(|run| run.from == here || run.to == here);
        self.layout.circuits.iter().find(is_here).and_then(|circuit| circuit.loss_factor).unwrap_or(1.0)
    }

    fn reservoir(&self) -> Spot {
        Spot::Reservoir(self.out.network.nodes.len())
    }

    fn intake(&self, end: &End) -> Option<usize> {
        let End::Intake(id) = end else { return None };
        self.layout.intakes.iter().position(|i| i.id == *id)
    }

    fn nozzle(&self, end: &End) -> Option<usize> {
        let End::Nozzle(id) = end else { return None };
        self.layout.nozzles.iter().position(|n| n.id == *id)
    }

    fn problem(&mut self, rule: &str, part: &str, what: String, mend: &str) {
        self.out.problems.push(Finding::new(Grade::Fault, rule, part, what, "the plumbing can't be computed without it", mend).blocking());
    }
}

/// Multiplies a loss by a measured factor (a pipe's as if it were longer); what is no loss of that kind stays.
fn scale(law: &mut Law, factor: f64) {
    match law {
        Law::Pipe { length, .. } => *length *= factor,
        Law::Minor { k, .. } => *k *= factor,
        Law::Table(curve) => *curve = curve.scaled(factor),
        _ => {}
    }
}

fn words(end: &End) -> String {
    match end {
        End::Intake(id) => format!("intake `{id}`"),
        End::Nozzle(id) => format!("nozzle `{id}`"),
        End::Pump(id) => format!("pump `{id}`"),
        End::Drum(id) => format!("drum unit `{id}`"),
        End::Outlet(id, number) => format!("outlet {number} of drum unit `{id}`"),
        End::Joint(id) => format!("joint `{id}`"),
        End::Sump => "the sump".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hydraulics::LossCurve;

    #[test]
    fn a_loss_factor_scales_pipes_fittings_curves_and_joints() {
        let mut layout = crate::layout::read("template", crate::layout::template().as_bytes()).unwrap().layout;
        for factor in [1.0, 2.0] {
            layout.circuits.iter_mut().for_each(|circuit| circuit.loss_factor = Some(factor));
            let tees = assemble(&layout, Catalog::builtin()).network.tees;
            assert!(!tees.is_empty() && tees.iter().all(|tee| tee.factor == factor));
        }
        let curve = LossCurve::new(&[(1.0, 0.5), (2.0, 2.5)]).unwrap();
        let pipe = Law::Pipe { bore: 0.05, length: 1.0, roughness: 1e-6 };
        for law in [pipe, Law::minor(1.0, 0.05), Law::Table(curve)] {
            let mut scaled = law.clone();
            scale(&mut scaled, 1.5);
            assert!((scaled.loss(1.5, 1e-6).head / law.loss(1.5, 1e-6).head - 1.5).abs() < 1e-9, "{law:?}");
        }
    }
}
