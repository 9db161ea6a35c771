//! Networks: nodes joined by links, each link with a law.

use super::law::Law;
use super::report::Report;
use super::tee::Tee;

/// What flows, as far as head losses depend on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fluid {
    /// kg/m³; turns heads into pressures.
    pub density: f64,
    /// m²/s.
    pub kinematic_viscosity: f64,
}

/// Where links meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Node {
    /// A reservoir: its head is given, m.
    Fixed(f64),
    /// A joint: as much flows in as out, apart from what is taken out here, m³/s (negative: put in).
    Joint(f64),
}

/// A way from one node to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// Number of the node where positive flow comes from.
    pub from: usize,
    /// Number of the node where it goes.
    pub to: usize,
    /// How it loses head.
    pub law: Law,
}

/// A pipe network.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Network {
    /// Nodes, numbered from 0.
    pub nodes: Vec<Node>,
    /// Links between them.
    pub links: Vec<Link>,
    /// Joints whose loss depends on how the flow divides; it comes on top of what the links lose.
    pub tees: Vec<Tee>,
}

/// Flows and heads, and how well they hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Of each link, m³/s.
    pub flow: Vec<f64>,
    /// Of each node, m. Zero for a node that nothing open leads to.
    pub head: Vec<f64>,
    /// How it went.
    pub report: Report,
}

impl Network {
    /// Adds a node and gives its number.
    pub fn node(&mut self, node: Node) -> usize {
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    /// Adds a link and gives its number.
    pub fn link(&mut self, from: usize, to: usize, law: Law) -> usize {
        self.links.push(Link { from, to, law });
        self.links.len() - 1
    }

    /// Flows and heads at rest with each other. `start` may hold flows of an earlier, similar solution.
    ///
    /// Never fails: what can't be solved is left at zero flow and named in the report.
    pub fn solve(&self, fluid: &Fluid, start: Option<&[f64]>) -> Solution {
        super::solve::solve(self, fluid, start)
    }
}
