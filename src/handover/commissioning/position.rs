//! The positions that a drum unit goes through, each with a moment of the schedule that shows it best.

use crate::layout::{End, Layout};
use crate::setup::Schedule;

/// One position of a drum unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Position {
    /// Outlets that are half open or more, from 1.
    pub open: Vec<usize>,
    /// Share of the cycle.
    pub share: f64,
    /// Sample of the schedule in which it shows most clearly.
    pub sample: usize,
}

/// The positions of a drum unit, in the order in which they come.
pub fn positions(schedule: &Schedule, drum: usize) -> Vec<Position> {
    let mut found: Vec<Position> = Vec::new();
    for (sample, (open, weight)) in schedule.open.iter().zip(schedule.weights()).enumerate() {
        let Some(shares) = open.get(drum) else { continue };
        let wide: Vec<usize> = shares.iter().enumerate().filter(|(_, share)| **share >= 0.5).map(|(n, _)| n + 1).collect();
        match found.iter_mut().find(|position| position.open == wide) {
            Some(position) => {
                position.share += weight;
                if clarity(&schedule.open[sample][drum]) > clarity(&schedule.open[position.sample][drum]) + 1e-9 {
                    position.sample = sample;
                }
            }
            None => found.push(Position { open: wide, share: weight, sample }),
        }
    }
    found
}

/// How far the least clear outlet is from being half open: most when each is fully open or fully shut.
fn clarity(shares: &[f64]) -> f64 {
    shares.iter().map(|share| (share - 0.5).abs()).fold(f64::INFINITY, f64::min)
}

/// The pump that feeds a drum unit, by its place in the layout.
pub fn pump_of(layout: &Layout, drum: &str) -> Option<usize> {
    let inlet = End::Drum(drum.to_owned());
    let circuit = layout.circuits.iter().find(|c| c.suction.iter().chain(&c.discharge).any(|run| run.to == inlet))?;
    let runs = circuit.suction.iter().chain(&circuit.discharge);
    let pump = runs.filter_map(|run| if let End::Pump(id) = &run.to { Some(id) } else { None }).next()?;
    layout.pumps.iter().position(|p| p.id == *pump)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::Catalog;

    #[test]
    fn positions_fill_the_cycle() {
        let layout = crate::layout::demo();
        let schedule = Schedule::new(&layout, Catalog::builtin()).unwrap();
        for (drum, part) in layout.drums.iter().enumerate() {
            let positions = positions(&schedule, drum);
            assert!((positions.iter().map(|p| p.share).sum::<f64>() - 1.0).abs() < 1e-9);
            assert!(positions.len() >= part.outlets as usize);
            assert!(pump_of(&layout, &part.id).is_some());
        }
    }
}
