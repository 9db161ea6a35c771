//! Tees, wyes, crosses and manifolds: which run comes to which leg.

use crate::hydraulics::tee::{Leg, Tee};
use crate::hydraulics::{Law, Network};
use crate::layout::{End, Joint, JointForm, Layout, Roughness, Run};
use std::f64::consts::FRAC_PI_2;

/// Length of pipe that stands for the body of a cross between its two branches, in bores (ours).
const CROSS_BODY: f64 = 1.0;

/// A run's end at a joint.
#[derive(Debug, Clone)]
struct Arrival {
    run: String,
    leg: Leg,
    node: usize,
}

/// The runs that come to each listed joint, as far as they are in the network yet.
#[derive(Debug, Clone, Default)]
pub struct JointEnds<'a> {
    joints: &'a [Joint],
    /// Runs off the branches, in the layout's order.
    straight: Vec<Vec<String>>,
    arrivals: Vec<Vec<Arrival>>,
}

impl<'a> JointEnds<'a> {
    /// None yet.
    pub fn new(layout: &'a Layout) -> Self {
        let runs = || layout.circuits.iter().flat_map(|c| c.suction.iter().chain(&c.discharge));
        let straight = |joint: &Joint| {
            let is_here = |run: &&Run| [&run.from, &run.to].into_iter().any(|end| is_at(end, joint));
            let off_branches = |run: &&Run| !joint.form.branches().contains(&run.id.as_str());
            runs().filter(is_here).filter(off_branches).map(|run| run.id.clone()).collect()
        };
        Self {
            joints: &layout.joints,
            straight: layout.joints.iter().map(straight).collect(),
            arrivals: vec![Vec::new(); layout.joints.len()],
        }
    }

    /// Number of the branch at which a run comes to a joint; 0 for joints that aren't listed.
    pub fn place(&self, name: &str, run: &Run) -> usize {
        let Some(number) = self.joints.iter().position(|j| j.id == name) else { return 0 };
        let branches = self.joints[number].form.branches();
        let on_branch = branches.iter().position(|branch| *branch == run.id);
        let last = branches.len().saturating_sub(1);
        on_branch.unwrap_or(if self.straight[number].first() == Some(&run.id) { 0 } else { last })
    }

    /// Takes note of a run that is in the network now.
    pub fn take(&mut self, run: &Run, link: usize, bore: f64, from: usize, to: usize) {
        for (number, joint) in self.joints.iter().enumerate() {
            for (end, node, is_end) in [(&run.from, from, false), (&run.to, to, true)] {
                if is_at(end, joint) {
                    self.arrivals[number].push(Arrival { run: run.id.clone(), leg: Leg { link, is_end, bore }, node });
                }
            }
        }
    }

    /// What came to the joint of this number.
    pub fn of(&self, number: usize) -> Arrivals<'_> {
        Arrivals { all: &self.arrivals[number], straight: &self.straight[number] }
    }
}

/// The runs at one joint.
#[derive(Debug, Clone, Copy)]
pub struct Arrivals<'a> {
    all: &'a [Arrival],
    straight: &'a [String],
}

impl<'a> Arrivals<'a> {
    fn find(&self, run: &str) -> Option<&'a Arrival> {
        self.all.iter().find(|arrival| arrival.run == run)
    }
}

fn is_at(end: &End, joint: &Joint) -> bool {
    matches!(end, End::Joint(name) if *name == joint.id)
}

/// The tees that a joint consists of, one after the other; links between them go into the network.
pub fn tees(joint: &Joint, arrivals: Arrivals, network: &mut Network) -> Result<Vec<Tee>, (String, String)> {
    let names = joint.form.branches();
    let branches: Vec<&Arrival> =
        names.iter().map(|name| arrivals.find(name).ok_or_else(|| unknown(name, arrivals))).collect::<Result<_, _>>()?;
    if arrivals.straight.is_empty() || arrivals.straight.len() > 2 {
        let what = format!("{} runs meet there besides its branches", arrivals.straight.len());
        return Err((what, "the straight way has two ends, or one and a cap; more runs need another joint or a manifold".into()));
    }
    let ends = [0, 1].map(|i| arrivals.straight.get(i).and_then(|run| arrivals.find(run)));
    let bore = ends.iter().flatten().map(|end| end.leg.bore).fold(0.0, f64::max);
    let (angle, between) = shape(&joint.form, bore);
    let mut before = ends[0].map(|end| end.leg);
    let mut tees = Vec::with_capacity(branches.len());
    for (i, branch) in branches.iter().enumerate() {
        let next = branches.get(i + 1).map(|next| {
            let law = Law::Pipe { bore, length: between, roughness: Roughness::NEW };
            network.link(branch.node, next.node, law)
        });
        let along = |is_end| next.map(|link| Leg { link, is_end, bore });
        let after = along(false).or(ends[1].filter(|_| i + 1 == branches.len()).map(|end| end.leg));
        tees.push(Tee { straight: [before, after], branch: Some(branch.leg), angle, factor: 1.0 });
        before = along(true);
    }
    Ok(tees)
}

/// Angle of the branches, rad, and length of pipe between them, m.
fn shape(form: &JointForm, bore: f64) -> (f64, f64) {
    match form {
        JointForm::Tee { .. } => (FRAC_PI_2, 0.0),
        JointForm::Wye { angle, .. } => (angle.si(), 0.0),
        JointForm::Cross { .. } => (FRAC_PI_2, CROSS_BODY * bore),
        JointForm::Manifold { spacing, .. } => (FRAC_PI_2, spacing.si()),
    }
}

fn unknown(name: &str, arrivals: Arrivals) -> (String, String) {
    let known: Vec<String> = arrivals.all.iter().map(|a| format!("`{}`", a.run)).collect();
    (format!("no run `{name}` comes to it"), format!("name one of the runs that end there: {}", known.join(", ")))
}
