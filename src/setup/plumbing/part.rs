//! Parts of the network that share no joint, each solved and remembered by itself.

use super::assemble::PortLink;
use super::duty::DutyReport;
use crate::hydraulics::tee::{Leg, Tee};
use crate::hydraulics::{Fluid, Law, Link, Network, Node, Note, Solution};
use std::collections::HashMap;

/// Shares closer than this count as the same position.
const SAME_POSITION: f64 = 1e-9;

/// A connected part.
#[derive(Debug, Clone)]
pub struct Part {
    network: Network,
    /// Numbers in the whole network of its links and nodes.
    links: Vec<usize>,
    nodes: Vec<usize>,
    /// Its ports, with link numbers of its own.
    ports: Vec<PortLink>,
    known: HashMap<Vec<i64>, Solution>,
    last: Vec<f64>,
}

/// Flows and heads of the whole network.
#[derive(Debug)]
pub struct Flows {
    pub flow: Vec<f64>,
    pub head: Vec<f64>,
    pub unsolved: Vec<bool>,
    /// With numbers of the whole network.
    pub notes: Vec<Note>,
    pub report: DutyReport,
}

impl Flows {
    pub fn new(links: usize, nodes: usize) -> Self {
        Self {
            flow: vec![0.0; links],
            head: vec![0.0; nodes],
            unsolved: vec![false; links],
            notes: Vec::new(),
            report: DutyReport::default(),
        }
    }
}

impl Part {
    /// Solves it and writes its flows and heads into the whole.
    pub fn solve(&mut self, open: &[Vec<f64>], fluid: &Fluid, flows: &mut Flows) {
        let shares: Vec<f64> = self.ports.iter().map(|p| share(open, p)).collect();
        let position: Vec<i64> = shares.iter().map(|s| (s / SAME_POSITION).round() as i64).collect();
        if !self.known.contains_key(&position) {
            let solution = self.solve_new(&shares, fluid);
            self.known.insert(position.clone(), solution);
        }
        self.write(&self.known[&position], flows);
    }

    fn solve_new(&mut self, shares: &[f64], fluid: &Fluid) -> Solution {
        for (port, now) in self.ports.iter().zip(shares) {
            if let Law::Port { open, .. } = &mut self.network.links[port.link].law {
                *open = *now;
            }
        }
        let solution = self.network.solve(fluid, Some(&self.last));
        if solution.report.converged {
            self.last.clone_from(&solution.flow);
        }
        solution
    }

    fn write(&self, solution: &Solution, flows: &mut Flows) {
        for (i, &link) in self.links.iter().enumerate() {
            flows.flow[link] = solution.flow[i];
            flows.unsolved[link] = !solution.report.converged;
        }
        self.nodes.iter().enumerate().for_each(|(i, &node)| flows.head[node] = solution.head[i]);
        let (report, own) = (&mut flows.report, &solution.report);
        report.converged &= own.converged;
        report.residual = report.residual.max(own.mass_residual).max(own.energy_residual);
        report.iterations = report.iterations.max(own.iterations);
        own.notes.iter().for_each(|note| flows.notes.extend(self.in_whole(note)));
    }
}

fn share(open: &[Vec<f64>], port: &PortLink) -> f64 {
    open.get(port.drum).and_then(|drum| drum.get(port.outlet)).copied().unwrap_or(0.0)
}

/// Splits a network where only reservoirs join its parts.
pub fn split(network: &Network, ports: &[PortLink]) -> Vec<Part> {
    let group = groups(network);
    let mut of_group: HashMap<usize, usize> = HashMap::new();
    let mut parts: Vec<Part> = Vec::new();
    let mut place = vec![usize::MAX; network.nodes.len()];
    for (number, link) in network.links.iter().enumerate() {
        let joint = if matches!(network.nodes[link.from], Node::Joint(_)) { link.from } else { link.to };
        let index = *of_group.entry(group[joint]).or_insert_with(|| {
            parts.push(Part {
                network: Network::default(),
                links: vec![],
                nodes: vec![],
                ports: vec![],
                known: HashMap::new(),
                last: vec![],
            });
            parts.len() - 1
        });
        let part = &mut parts[index];
        let [from, to] = [link.from, link.to].map(|node| part.take_node(node, network, &mut place));
        let own = part.network.links.len();
        part.network.links.push(Link { from, to, law: link.law.clone() });
        part.links.push(number);
        part.ports.extend(ports.iter().filter(|p| p.link == number).map(|p| PortLink { link: own, ..*p }));
    }
    take_tees(network, &mut parts);
    parts
}

/// All legs of a tee end at one joint and so lie in one part.
fn take_tees(network: &Network, parts: &mut [Part]) {
    for tee in &network.tees {
        let Some(first) = tee.legs().into_iter().flatten().next() else { continue };
        let Some(part) = parts.iter_mut().find(|part| part.links.contains(&first.link)) else { continue };
        let own = |leg: Option<Leg>| leg.and_then(|leg| Some(Leg { link: part.links.iter().position(|l| *l == leg.link)?, ..leg }));
        let tee = Tee { straight: tee.straight.map(own), branch: own(tee.branch), ..tee.clone() };
        part.network.tees.push(tee);
    }
}

impl Part {
    /// What the solver noted, with numbers of the whole network; what the duties tell anyhow is left out.
    fn in_whole(&self, note: &Note) -> Option<Note> {
        let nodes = |own: &[usize]| own.iter().map(|&n| self.nodes[n]).collect();
        match note {
            Note::BadLink(link) => Some(Note::BadLink(self.links[*link])),
            Note::NoResistance(link) => Some(Note::NoResistance(self.links[*link])),
            Note::Floating(own) => Some(Note::Floating(nodes(own))),
            Note::Stranded(own) => Some(Note::Stranded(nodes(own))),
            Note::BadTee(tee) => Some(Note::BadTee(*tee)),
            Note::Pump(..) => None,
        }
    }

    fn take_node(&mut self, node: usize, network: &Network, place: &mut [usize]) -> usize {
        let known = self.nodes.get(place[node]) == Some(&node);
        if !known {
            place[node] = self.nodes.len();
            self.nodes.push(node);
            self.network.nodes.push(network.nodes[node]);
        }
        place[node]
    }
}

/// Least joint number that each joint is linked to; reservoirs stand alone.
fn groups(network: &Network) -> Vec<usize> {
    let mut group: Vec<usize> = (0..network.nodes.len()).collect();
    let is_joint = |n: usize| matches!(network.nodes[n], Node::Joint(_));
    loop {
        let mut changed = false;
        for link in network.links.iter().filter(|l| is_joint(l.from) && is_joint(l.to)) {
            let least = group[link.from].min(group[link.to]);
            changed |= group[link.from] != least || group[link.to] != least;
            (group[link.from], group[link.to]) = (least, least);
        }
        if !changed {
            return group;
        }
    }
}
