//! Where the parts of a circuit lie on its drawing: columns along the water's way, rows by branches.

use crate::handover::numbering::Numbering;
use crate::layout::End;

/// A part on the drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// What it is; outlets of a drum unit are one node with its inlet.
    pub end: End,
    /// Column from the left.
    pub column: usize,
    /// Row from the top; may lie between rows.
    pub row: f64,
}

/// A run on the drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// Position in the numbering.
    pub run: usize,
    /// Node the water comes from.
    pub from: usize,
    /// Node it goes to.
    pub to: usize,
    /// Row it runs along.
    pub row: f64,
    /// It bends at its start (a split) rather than at its end.
    pub bends_first: bool,
}

/// A circuit laid out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Graph {
    /// Parts.
    pub nodes: Vec<Node>,
    /// Runs.
    pub links: Vec<Link>,
    /// How many columns.
    pub columns: usize,
    /// How many rows.
    pub rows: f64,
}

impl Graph {
    /// Lays out one circuit.
    pub fn new(numbering: &Numbering, circuit: usize) -> Self {
        let mut graph = Self::default();
        for (run, numbered) in numbering.runs_of(circuit) {
            let (from, to) = (graph.node(&numbered.run.from), graph.node(&numbered.run.to));
            graph.links.push(Link { run, from, to, row: 0.0, bends_first: false });
        }
        graph.set_columns();
        graph.set_rows();
        graph.route();
        graph
    }

    fn node(&mut self, end: &End) -> usize {
        let end = match end {
            End::Outlet(id, _) => End::Drum(id.clone()),
            other => other.clone(),
        };
        self.nodes.iter().position(|node| node.end == end).unwrap_or_else(|| {
            self.nodes.push(Node { end, column: 0, row: 0.0 });
            self.nodes.len() - 1
        })
    }

    /// Each part one column right of the farthest part before it; a loop of pipes stops the count at the number of parts. Nozzles stand last.
    fn set_columns(&mut self) {
        for _ in 0..self.nodes.len() {
            for link in &self.links {
                let after = self.nodes[link.from].column + 1;
                if link.from != link.to && self.nodes[link.to].column < after && after < self.nodes.len() {
                    self.nodes[link.to].column = after;
                }
            }
        }
        let last = self.nodes.iter().map(|node| node.column).max().unwrap_or(0);
        for node in self.nodes.iter_mut().filter(|node| matches!(node.end, End::Nozzle(_))) {
            node.column = last;
        }
        self.columns = last + 1;
    }

    /// Ends get rows one by one; a part between lies in the middle of what it leads to (or, before the pump, of what leads to it).
    fn set_rows(&mut self) {
        let pump = self.nodes.iter().position(|node| matches!(node.end, End::Pump(_)));
        let split = pump.map_or(0, |pump| self.nodes[pump].column);
        let after = self.spread(|node| node.column >= split, |link| (link.from, link.to));
        let before = self.spread(|node| node.column <= split, |link| (link.to, link.from));
        let shift = pump.map_or(0.0, |pump| after[pump].unwrap_or(0.0) - before[pump].unwrap_or(0.0));
        let rows: Vec<f64> = (0..self.nodes.len()).map(|n| after[n].unwrap_or_else(|| before[n].unwrap_or(0.0) + shift)).collect();
        let least = rows.iter().copied().fold(f64::INFINITY, f64::min);
        for (node, row) in self.nodes.iter_mut().zip(&rows) {
            node.row = row - least;
        }
        self.rows = self.nodes.iter().map(|node| node.row).fold(0.0, f64::max) + 1.0;
    }

    /// Rows on one side of the pump; `way` turns a link so that it leads outward.
    fn spread(&self, belongs: impl Fn(&Node) -> bool, way: impl Fn(&Link) -> (usize, usize)) -> Vec<Option<f64>> {
        let mut rows = vec![None; self.nodes.len()];
        let mut next = 0.0;
        let reached = |n: usize| self.links.iter().any(|link| way(link).1 == n && belongs(&self.nodes[way(link).0]));
        let roots = (0..self.nodes.len()).filter(|n| belongs(&self.nodes[*n]) && !reached(*n));
        let all = (0..self.nodes.len()).filter(|n| belongs(&self.nodes[*n]));
        for n in roots.chain(all).collect::<Vec<_>>() {
            self.descend(n, &belongs, &way, &mut rows, &mut next);
        }
        rows
    }

    fn descend(
        &self,
        n: usize,
        belongs: &impl Fn(&Node) -> bool,
        way: &impl Fn(&Link) -> (usize, usize),
        rows: &mut Vec<Option<f64>>,
        next: &mut f64,
    ) {
        if rows[n].is_some() || !belongs(&self.nodes[n]) {
            return;
        }
        rows[n] = Some(*next);
        let outward: Vec<usize> = self.links.iter().map(way).filter(|(from, to)| *from == n && to != from).map(|(_, to)| to).collect();
        let mut own = Vec::new();
        for to in outward.into_iter().filter(|to| belongs(&self.nodes[*to])) {
            self.descend(to, belongs, way, rows, next);
            own.extend(rows[to]);
        }
        match own.is_empty() {
            true => *next += 1.0,
            false => rows[n] = Some(own.iter().sum::<f64>() / own.len() as f64),
        }
    }

    /// Before the pump runs keep to the row they come from, after it to the row they go to.
    fn route(&mut self) {
        let split = self.nodes.iter().find(|node| matches!(node.end, End::Pump(_))).map_or(0, |pump| pump.column);
        for link in &mut self.links {
            link.bends_first = self.nodes[link.from].column >= split;
            link.row = self.nodes[if link.bends_first { link.to } else { link.from }].row;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::Catalog;
    use crate::layout::{Layout, load};

    fn demo(name: &str) -> Layout {
        load(format!("{}/layouts/{name}.ron", env!("CARGO_MANIFEST_DIR")).as_ref()).unwrap().layout
    }

    #[test]
    fn water_runs_to_the_right_and_ends_have_rows_of_their_own() {
        for name in ["alcove", "peninsula", "lagoon"] {
            let layout = demo(name);
            let numbering = Numbering::new(&layout, Catalog::builtin());
            for circuit in 0..layout.circuits.len() {
                let graph = Graph::new(&numbering, circuit);
                assert!(graph.links.iter().all(|link| graph.nodes[link.from].column < graph.nodes[link.to].column));
                let ends: Vec<&Node> = graph.nodes.iter().filter(|node| matches!(node.end, End::Nozzle(_) | End::Intake(_))).collect();
                let apart = |a: &Node, b: &Node| a.column != b.column || (a.row - b.row).abs() > 0.99;
                assert!(ends.iter().enumerate().all(|(i, a)| ends[i + 1..].iter().all(|b| apart(a, b))), "{name} {circuit}");
            }
        }
    }
}
