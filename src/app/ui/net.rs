//! Where the ends of pipe runs stand in a drawing of a circuit: from left to right with the water, without crossing where that can be.

use crate::layout::{Circuit, End};
use std::collections::HashMap;

/// A circuit laid out on a grid of columns and rows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Net {
    /// The ends that are drawn. A drum unit's inlet and outlets are one; the sump is one for each run that meets it.
    pub nodes: Vec<Node>,
    /// For each run, suction first: its two nodes.
    pub edges: Vec<(usize, usize)>,
    /// Columns and rows.
    pub size: (usize, f32),
}

/// One end.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// What it is; an outlet counts as its drum unit.
    pub end: End,
    /// From the left.
    pub column: usize,
    /// From the top.
    pub row: f32,
}

impl Net {
    /// Of a circuit.
    pub fn new(circuit: &Circuit) -> Self {
        let mut net = Self::default();
        let mut known: HashMap<End, usize> = HashMap::new();
        for run in circuit.suction.iter().chain(&circuit.discharge) {
            let ends = [&run.from, &run.to].map(|end| {
                let end = whole(end);
                *known.entry(end.clone()).or_insert_with(|| {
                    net.nodes.push(Node { end, column: 0, row: 0.0 });
                    net.nodes.len() - 1
                })
            });
            net.edges.push((ends[0], ends[1]));
        }
        net.columns();
        net.rows();
        net
    }

    /// Every node right of all that flows to it; what nothing flows to stands just left of where it flows.
    fn columns(&mut self) {
        // Circuits may go round in a ring: no more rounds than there are nodes.
        for _ in 0..self.nodes.len() {
            for &(a, b) in &self.edges {
                let least = self.nodes[a].column + 1;
                if a != b && self.nodes[b].column < least && least < self.nodes.len() {
                    self.nodes[b].column = least;
                }
            }
        }
        for i in 0..self.nodes.len() {
            let fed = self.edges.iter().any(|e| e.1 == i);
            let next = self.edges.iter().filter(|e| e.0 == i).map(|e| self.nodes[e.1].column).min();
            if let Some(next) = next.filter(|_| !fed) {
                self.nodes[i].column = next.saturating_sub(1);
            }
        }
        self.size.0 = self.nodes.iter().map(|n| n.column + 1).max().unwrap_or(0);
    }

    /// Leaves a row apart, everything else in the middle of what it flows to or comes from.
    fn rows(&mut self) {
        let mut wanted: Vec<f32> = (0..self.nodes.len()).map(|i| i as f32).collect();
        let mut leaves = 0.0;
        for (i, row) in wanted.iter_mut().enumerate() {
            if !self.edges.iter().any(|e| e.0 == i) {
                *row = leaves;
                leaves += 1.0;
            }
        }
        let by_column =
            |net: &Self, column: usize| -> Vec<usize> { (0..net.nodes.len()).filter(|i| net.nodes[*i].column == column).collect() };
        for column in (0..self.size.0).rev() {
            for i in by_column(self, column) {
                let to: Vec<f32> = self.edges.iter().filter(|e| e.0 == i && e.1 != i).map(|e| wanted[e.1]).collect();
                if !to.is_empty() {
                    wanted[i] = to.iter().sum::<f32>() / to.len() as f32;
                }
            }
            spread(&by_column(self, column), &mut wanted);
        }
        let top = wanted.iter().copied().fold(f32::INFINITY, f32::min);
        self.nodes.iter_mut().zip(&wanted).for_each(|(node, row)| node.row = row - top);
        self.size.1 = self.nodes.iter().map(|n| n.row + 1.0).fold(0.0, f32::max);
    }
}

/// The node that an end belongs to.
fn whole(end: &End) -> End {
    match end {
        End::Outlet(drum, _) => End::Drum(drum.clone()),
        other => other.clone(),
    }
}

/// Push the nodes of a column apart until each has a row of its own, about their middle.
fn spread(column: &[usize], wanted: &mut [f32]) {
    let mut order = column.to_vec();
    order.sort_by(|a, b| wanted[*a].total_cmp(&wanted[*b]));
    let before: f32 = order.iter().map(|i| wanted[*i]).sum();
    for pair in 1..order.len() {
        let least = wanted[order[pair - 1]] + 1.0;
        wanted[order[pair]] = wanted[order[pair]].max(least);
    }
    let after: f32 = order.iter().map(|i| wanted[*i]).sum();
    let shift = (before - after) / order.len().max(1) as f32;
    order.iter().for_each(|i| wanted[*i] += shift);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn water_flows_to_the_right_and_no_two_ends_meet() {
        for text in [crate::layout::template(), crate::layout::DEMO, crate::app::template::Template::Lagoon.text()] {
            let layout = crate::layout::read("", text.as_bytes()).unwrap().layout;
            for circuit in &layout.circuits {
                let net = Net::new(circuit);
                assert_eq!(net.edges.len(), circuit.suction.len() + circuit.discharge.len());
                for &(a, b) in &net.edges {
                    assert!(net.nodes[a].column < net.nodes[b].column, "{}: {:?} to {:?}", circuit.id, net.nodes[a], net.nodes[b]);
                }
                for (i, a) in net.nodes.iter().enumerate() {
                    let meets = net.nodes[i + 1..].iter().any(|b| a.column == b.column && (a.row - b.row).abs() < 0.99);
                    assert!(!meets && a.row >= 0.0 && a.row < net.size.1, "{}: {a:?}", circuit.id);
                }
            }
        }
    }
}
