//! Tees as the solver sees them: heads that links lose on top of their own, and how those change with each other's flows.

use super::network::Network;
use super::report::{Note, Report};
use super::tee::Tee;

/// Share of the flow by which slopes are taken.
const NUDGE: f64 = 1e-6;

/// A tee with its legs as numbers of open links.
#[derive(Debug)]
pub struct Coupled<'a> {
    tee: &'a Tee,
    /// Number among the open links, and 1 where its positive flow comes in, -1 where it goes out; `None` for a leg without water.
    legs: [Option<(usize, f64)>; 3],
}

/// One entry of the table of slopes.
#[derive(Debug, Clone, Copy)]
pub struct Slope {
    /// Open link whose loss it is.
    pub loss_of: usize,
    /// Open link whose flow it goes by.
    pub flow_of: usize,
    /// m per m³/s.
    pub slope: f64,
}

impl<'a> Coupled<'a> {
    /// The network's sound tees.
    pub fn all(network: &'a Network, open: &[usize], report: &mut Report) -> Vec<Self> {
        let mut place = vec![None; network.links.len()];
        open.iter().enumerate().for_each(|(i, &link)| place[link] = Some(i));
        let mut all = Vec::new();
        for (number, tee) in network.tees.iter().enumerate() {
            if !tee.is_sound() || !tee.legs().iter().flatten().all(|leg| leg.link < network.links.len()) {
                report.notes.push(Note::BadTee(number));
                continue;
            }
            let leg = |leg: super::tee::Leg| place[leg.link].map(|i| (i, if leg.is_end { 1.0 } else { -1.0 }));
            all.push(Self { tee, legs: tee.legs().map(|l| l.and_then(leg)) });
        }
        all
    }

    /// Open links that it couples.
    pub fn links(&self) -> impl Iterator<Item = usize> {
        self.legs.iter().flatten().map(|leg| leg.0)
    }

    /// Adds its heads to the losses of its links; `flow` by open link.
    pub fn add_losses(&self, flow: impl Fn(usize) -> f64, losses: &mut [f64]) {
        let heads = self.tee.heads(self.inflow(&flow));
        for (leg, head) in self.legs.iter().zip(heads) {
            if let Some((link, sign)) = leg {
                losses[*link] += sign * head;
            }
        }
    }

    /// Adds its slopes, by central differences.
    pub fn add_slopes(&self, flow: impl Fn(usize) -> f64, slopes: &mut Vec<Slope>) {
        let inflow = self.inflow(&flow);
        let size = inflow.iter().fold(1e-9, |most: f64, q| most.max(q.abs())) * NUDGE;
        for (by, by_leg) in self.legs.iter().enumerate() {
            let Some((flow_of, flow_sign)) = *by_leg else { continue };
            let moved = |step: f64| {
                let mut moved = inflow;
                moved[by] += step;
                self.tee.heads(moved)
            };
            let (ahead, back) = (moved(size), moved(-size));
            for (of, of_leg) in self.legs.iter().enumerate() {
                let Some((loss_of, loss_sign)) = *of_leg else { continue };
                slopes.push(Slope { loss_of, flow_of, slope: loss_sign * flow_sign * (ahead[of] - back[of]) / (2.0 * size) });
            }
        }
    }

    fn inflow(&self, flow: &impl Fn(usize) -> f64) -> [f64; 3] {
        self.legs.map(|leg| leg.map_or(0.0, |(link, sign)| sign * flow(link)))
    }
}
