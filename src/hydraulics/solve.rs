//! Newton's method on flows and heads together, with a line search that can't fail on rising laws.
//!
//! The flows that balance at all joints and lose the least "content" Σ ∫h dQ are the answer (Collins et al. 1978, Manage. Sci.
//! 24:747); content is convex, so there is one answer, and a Newton direction with an exact enough line search reaches it from
//! anywhere. The step is the global gradient algorithm (Todini and Pilati 1988) in correction form.
//!
//! Tees couple the flows of their legs: there is no content any more, but the same step with the coupled slopes in it, and the same
//! search for where the work along the step vanishes, find the answer from that without tees. Where they don't, the tees are brought in
//! bit by bit.

use super::coupling::{Coupled, Slope};
use super::curve::Regime;
use super::law::LEAST_RESISTANCE;
use super::network::{Fluid, Network, Node, Solution};
use super::report::{Note, Report};
use nalgebra::{Cholesky, DMatrix, DVector};

const TOLERANCE: f64 = 1e-9;
/// Iterate a little further than promised; the last steps are quadratic and cheap.
const AIM: f64 = 1e-12;
const MOST_ITERATIONS: usize = 100;
/// Shares of the tees' losses that are brought in one after the other where the whole at once fails.
const TEE_STEPS: u32 = 8;
/// Share of each step that is taken where whole steps go to and fro over a kink in a tee's law.
const SHORT_STEP: f64 = 0.3;

pub(super) fn solve(network: &Network, fluid: &Fluid, start: Option<&[f64]>) -> Solution {
    let mut report = Report::default();
    let mut system = System::new(network, fluid, &mut report);
    let mut state = system.start(start);
    system.find(&mut state, start.is_some(), &mut report);
    system.note_pumps(&state, &mut report);
    if !report.converged {
        state.flow.fill(0.0);
    }
    Solution { flow: state.flow, head: state.head, report }
}

/// The part of a network that water can move in.
struct System<'a> {
    network: &'a Network,
    viscosity: f64,
    /// Links that are open and sound.
    open: Vec<usize>,
    /// Row of each node in the matrix; `None` where the head is known.
    row: Vec<Option<usize>>,
    demand: Vec<f64>,
    rows: usize,
    tees: Vec<Coupled<'a>>,
    /// Share of the tees' losses that counts.
    tee_share: f64,
    /// Largest share of a step that is taken.
    most_share: f64,
}

struct State {
    flow: Vec<f64>,
    head: Vec<f64>,
}

/// Loss and slope of each open link at some flow.
struct Losses {
    head: Vec<f64>,
    slope: Vec<f64>,
    /// What tees add to the slopes.
    coupled: Vec<Slope>,
}

impl<'a> System<'a> {
    fn new(network: &'a Network, fluid: &Fluid, report: &mut Report) -> Self {
        let open = open_links(network, report);
        let tees = Coupled::all(network, &open, report);
        let group = groups(network, &open);
        let demand = network
            .nodes
            .iter()
            .map(|n| {
                if let Node::Joint(d) = n
                    && d.is_finite()
                {
                    *d
                } else {
                    0.0
                }
            })
            .collect();
        let mut system = Self {
            network,
            viscosity: fluid.kinematic_viscosity,
            open,
            row: vec![None; network.nodes.len()],
            demand,
            rows: 0,
            tees,
            tee_share: 1.0,
            most_share: 1.0,
        };
        system.number_rows(&group, report);
        system
    }

    /// Gives every joint a row, except one in each floating group, whose head stays zero.
    fn number_rows(&mut self, group: &[usize], report: &mut Report) {
        let nodes = &self.network.nodes;
        let mut supplied = vec![false; nodes.len()];
        nodes.iter().zip(group).filter(|(n, _)| matches!(n, Node::Fixed(_))).for_each(|(_, &g)| supplied[g] = true);
        for node in 0..nodes.len() {
            let anchor = group[node] == node && !supplied[node];
            if anchor {
                self.settle_floating(node, group, report);
            }
            if !anchor && matches!(nodes[node], Node::Joint(_)) {
                self.row[node] = Some(self.rows);
                self.rows += 1;
            }
        }
    }

    fn settle_floating(&mut self, anchor: usize, group: &[usize], report: &mut Report) {
        let members: Vec<usize> = (0..group.len()).filter(|&n| group[n] == anchor).collect();
        let asked: f64 = members.iter().map(|&n| self.demand[n]).sum();
        let size: f64 = members.iter().map(|&n| self.demand[n].abs()).sum();
        if asked.abs() <= 1e-12 * size {
            report.notes.push(Note::Floating(members));
        } else {
            members.iter().for_each(|&n| self.demand[n] = 0.0);
            report.notes.push(Note::Stranded(members));
        }
    }

    fn start(&self, start: Option<&[f64]>) -> State {
        let links = &self.network.links;
        let given = start.filter(|s| s.len() == links.len() && s.iter().all(|q| q.is_finite()));
        let mut flow = vec![0.0; links.len()];
        for &l in &self.open {
            let usual = links[l].law.usual_flow();
            flow[l] = given.map_or(if usual.is_finite() { usual } else { 1e-3 }, |s| s[l]);
        }
        let head = self
            .network
            .nodes
            .iter()
            .map(|n| {
                if let Node::Fixed(h) = n
                    && h.is_finite()
                {
                    *h
                } else {
                    0.0
                }
            })
            .collect();
        State { flow, head }
    }

    /// Straight away from a given start; else, and where that fails, from the answer without tees; at last step by step.
    fn find(&mut self, state: &mut State, is_near: bool, report: &mut Report) {
        if self.tees.is_empty() || is_near {
            self.iterate(state, report);
        }
        if self.tees.is_empty() || is_near && report.converged {
            return;
        }
        for (steps, most_share) in [(1, 1.0), (TEE_STEPS, 1.0), (TEE_STEPS, SHORT_STEP)] {
            *state = self.start(None);
            self.most_share = most_share;
            for step in 0..=steps {
                self.tee_share = f64::from(step) / f64::from(steps);
                self.iterate(state, report);
            }
            if report.converged {
                return;
            }
        }
    }

    fn iterate(&self, state: &mut State, report: &mut Report) {
        (report.mass_residual, report.energy_residual) = (f64::INFINITY, f64::INFINITY);
        for iteration in 0..MOST_ITERATIONS {
            let losses = self.losses(&state.flow);
            let previous = report.mass_residual.max(report.energy_residual);
            self.measure(state, &losses, report);
            let worst = report.mass_residual.max(report.energy_residual);
            report.iterations = iteration;
            report.converged = worst <= TOLERANCE;
            if worst <= AIM || report.converged && iteration > 0 && worst > 0.5 * previous {
                return;
            }
            if !self.step(state, &losses, report.mass_residual > 1e-6) {
                return;
            }
        }
    }

    fn losses(&self, flow: &[f64]) -> Losses {
        let all = self.open.iter().map(|&l| self.network.links[l].law.loss(flow[l], self.viscosity));
        let (mut head, slope): (Vec<f64>, Vec<f64>) = self
            .open
            .iter()
            .zip(all)
            .map(|(&l, loss)| (loss.head + LEAST_RESISTANCE * flow[l], loss.slope.max(0.0) + LEAST_RESISTANCE))
            .unzip();
        let mut coupled = Vec::new();
        if self.tee_share > 0.0 {
            self.add_tees(|i| flow[self.open[i]], &mut head);
            self.tees.iter().for_each(|tee| tee.add_slopes(|i| flow[self.open[i]], &mut coupled));
            coupled.iter_mut().for_each(|entry| entry.slope *= self.tee_share);
        }
        Losses { head, slope, coupled }
    }

    fn add_tees(&self, flow: impl Fn(usize) -> f64, heads: &mut [f64]) {
        if self.tees.is_empty() {
            return;
        }
        let mut own = vec![0.0; heads.len()];
        self.tees.iter().for_each(|tee| tee.add_losses(&flow, &mut own));
        heads.iter_mut().zip(own).for_each(|(head, own)| *head += self.tee_share * own);
    }

    /// Head between the ends of an open link that its loss doesn't account for.
    fn gap(&self, state: &State, losses: &Losses, i: usize) -> f64 {
        let link = &self.network.links[self.open[i]];
        losses.head[i] - (state.head[link.from] - state.head[link.to])
    }

    /// Flow that a joint has too much of (it comes in and doesn't go out).
    fn surplus(&self, flow: &[f64]) -> Vec<f64> {
        let mut surplus: Vec<f64> = self.demand.iter().map(|d| -d).collect();
        for &l in &self.open {
            let link = &self.network.links[l];
            surplus[link.from] -= flow[l];
            surplus[link.to] += flow[l];
        }
        surplus
    }

    fn measure(&self, state: &State, losses: &Losses, report: &mut Report) {
        let most = |values: &mut dyn Iterator<Item = f64>| values.fold(0.0, f64::max);
        let flow = most(&mut self.open.iter().map(|&l| state.flow[l].abs()).chain(self.demand.iter().map(|d| d.abs()))).max(1e-12);
        let head = most(&mut losses.head.iter().map(|h| h.abs())).max(1e-6);
        let surplus = self.surplus(&state.flow);
        report.mass_residual = most(&mut (0..surplus.len()).filter(|&n| self.row[n].is_some()).map(|n| surplus[n].abs())) / flow;
        report.energy_residual = most(&mut (0..self.open.len()).map(|i| self.gap(state, losses, i).abs())) / head;
    }

    /// One Newton step; false when the matrix or a number fails.
    fn step(&self, state: &mut State, losses: &Losses, unbalanced: bool) -> bool {
        let coupled = self.coupled(losses);
        let Some(rise) = self.correction(state, losses, &coupled) else { return false };
        let of = |node: usize| self.row[node].map_or(0.0, |r| rise[r]);
        let mut change: Vec<f64> = (0..self.open.len())
            .map(|i| {
                let link = &self.network.links[self.open[i]];
                (of(link.from) - of(link.to) - self.gap(state, losses, i)) / losses.slope[i]
            })
            .collect();
        coupled.iter().enumerate().for_each(|(k, &i)| change[i] = rise[self.rows + k]);
        (0..state.head.len()).for_each(|n| state.head[n] += of(n));
        if !change.iter().chain(&state.head).all(|x| x.is_finite()) {
            return false;
        }
        // Until the joints balance, content means nothing: take the whole step, which balances them.
        let share = if unbalanced { 1.0 } else { self.line_search(state, &change).min(self.most_share) };
        self.open.iter().zip(&change).for_each(|(&l, c)| state.flow[l] += share * c);
        true
    }

    /// Open links whose flows stand in the matrix beside the heads, because tees couple them.
    fn coupled(&self, losses: &Losses) -> Vec<usize> {
        if losses.coupled.is_empty() {
            return Vec::new();
        }
        let mut links: Vec<usize> = self.tees.iter().flat_map(Coupled::links).collect();
        links.sort_unstable();
        links.dedup();
        links
    }

    /// Changes of the heads of all rows, then of the flows of the coupled links.
    fn correction(&self, state: &State, losses: &Losses, coupled: &[usize]) -> Option<DVector<f64>> {
        let size = self.rows + coupled.len();
        let mut matrix = DMatrix::zeros(size, size);
        let mut right = DVector::zeros(size);
        let surplus = self.surplus(&state.flow);
        for (node, row) in self.row.iter().enumerate() {
            if let Some(r) = *row {
                right[r] += surplus[node];
            }
        }
        for (i, &l) in self.open.iter().enumerate().filter(|(i, _)| coupled.binary_search(i).is_err()) {
            let link = &self.network.links[l];
            let (ends, carry) = ((self.row[link.from], self.row[link.to]), 1.0 / losses.slope[i]);
            let push = self.gap(state, losses, i) * carry;
            if let Some(a) = ends.0 {
                matrix[(a, a)] += carry;
                right[a] += push;
            }
            if let Some(b) = ends.1 {
                matrix[(b, b)] += carry;
                right[b] -= push;
            }
            if let (Some(a), Some(b)) = ends {
                matrix[(a, b)] -= carry;
                matrix[(b, a)] -= carry;
            }
        }
        if size == 0 {
            return Some(right);
        }
        if coupled.is_empty() {
            return Cholesky::new(matrix).map(|c| c.solve(&right));
        }
        self.add_coupled(state, losses, coupled, &mut matrix, &mut right);
        matrix.lu().solve(&right)
    }

    fn add_coupled(&self, state: &State, losses: &Losses, coupled: &[usize], matrix: &mut DMatrix<f64>, right: &mut DVector<f64>) {
        for (k, &i) in coupled.iter().enumerate() {
            let (link, at) = (&self.network.links[self.open[i]], self.rows + k);
            matrix[(at, at)] += losses.slope[i];
            right[at] = -self.gap(state, losses, i);
            for (node, sign) in [(link.from, 1.0), (link.to, -1.0)] {
                if let Some(row) = self.row[node] {
                    matrix[(row, at)] += sign;
                    matrix[(at, row)] -= sign;
                }
            }
        }
        for entry in &losses.coupled {
            if let (Ok(of), Ok(by)) = (coupled.binary_search(&entry.loss_of), coupled.binary_search(&entry.flow_of)) {
                matrix[(self.rows + of, self.rows + by)] += entry.slope;
            }
        }
    }

    /// Share of the step at which content stops falling. Content's slope rises along the step, so halving finds its zero.
    fn line_search(&self, state: &State, change: &[f64]) -> f64 {
        let slope = |share: f64| -> f64 {
            let at = |i: usize| state.flow[self.open[i]] + share * change[i];
            let own = |i: usize| {
                let link = &self.network.links[self.open[i]];
                let loss = link.law.loss(at(i), self.viscosity).head + LEAST_RESISTANCE * at(i);
                loss - state.head[link.from] + state.head[link.to]
            };
            if self.tees.is_empty() {
                return (0..self.open.len()).map(|i| change[i] * own(i)).sum();
            }
            let mut gap: Vec<f64> = (0..self.open.len()).map(own).collect();
            self.add_tees(at, &mut gap);
            gap.iter().zip(change).map(|(gap, change)| gap * change).sum()
        };
        let (first, whole) = (slope(0.0), slope(1.0));
        if whole <= 0.5 * first.abs() || first >= 0.0 {
            return 1.0;
        }
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            let here = slope(middle);
            if here.abs() <= 0.2 * first.abs() {
                return middle;
            }
            if here < 0.0 { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }

    fn note_pumps(&self, state: &State, report: &mut Report) {
        for &l in &self.open {
            let Some((curve, speed)) = self.network.links[l].law.pump() else { continue };
            let regime = curve.regime(state.flow[l], speed);
            if regime != Regime::OnCurve {
                report.notes.push(Note::Pump(l, regime));
            }
        }
    }
}

fn open_links(network: &Network, report: &mut Report) -> Vec<usize> {
    let is_sound = |n: usize| network.nodes.get(n).is_some_and(|(Node::Fixed(x) | Node::Joint(x))| x.is_finite());
    let mut open = Vec::with_capacity(network.links.len());
    for (l, link) in network.links.iter().enumerate() {
        let sound = is_sound(link.from) && is_sound(link.to) && link.from != link.to && link.law.is_sound();
        if !sound {
            report.notes.push(Note::BadLink(l));
        } else if !link.law.is_shut() {
            if no_resistance(&link.law) {
                report.notes.push(Note::NoResistance(l));
            }
            open.push(l);
        } else if link.law.pump().is_some() {
            report.notes.push(Note::Pump(l, Regime::DeadHead));
        }
    }
    open
}

fn no_resistance(law: &super::law::Law) -> bool {
    law.pump().is_none() && law.loss(1.0, 1e-6).head == 0.0
}

/// Least node number of each node's group, by the open links.
fn groups(network: &Network, open: &[usize]) -> Vec<usize> {
    let mut parent: Vec<usize> = (0..network.nodes.len()).collect();
    for &l in open {
        let (a, b) = (root(&mut parent, network.links[l].from), root(&mut parent, network.links[l].to));
        let (low, high) = (a.min(b), a.max(b));
        parent[high] = low;
    }
    (0..parent.len()).map(|n| root(&mut parent, n)).collect()
}

fn root(parent: &mut [usize], mut node: usize) -> usize {
    while parent[node] != node {
        parent[node] = parent[parent[node]];
        node = parent[node];
    }
    node
}
