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
    /// Outlets that are open then, but less than half, from 1.
    pub partly: Vec<usize>,
}

/// Outlets that are open less than this count as shut.
const SHUT: f64 = 0.05;

/// Positions that last no longer than this share of the cycle are passed, not held.
const PASSING: f64 = 0.02;

impl Position {
    /// "1 + 2", "3, partly 2 + 4", "between outlets", "1 + 2 + 3, in passing".
    pub fn words(&self) -> String {
        let listed = |outlets: &[usize]| outlets.iter().map(ToString::to_string).collect::<Vec<_>>().join(" + ");
        let open = if self.open.is_empty() { "between outlets".to_owned() } else { listed(&self.open) };
        let partly = if self.partly.is_empty() { String::new() } else { format!(", partly {}", listed(&self.partly)) };
        let passing = if self.share <= PASSING { ", in passing" } else { "" };
        format!("{open}{partly}{passing}")
    }
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
            None => found.push(Position { open: wide, share: weight, sample, partly: Vec::new() }),
        }
    }
    for position in &mut found {
        let shares = schedule.open[position.sample][drum].iter().enumerate();
        position.partly = shares.filter(|(_, share)| (SHUT..0.5).contains(*share)).map(|(n, _)| n + 1).collect();
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
    fn positions_are_told_with_what_is_partly_open() {
        let position = |open: &[usize], partly: &[usize], share| Position { open: open.into(), share, sample: 0, partly: partly.into() };
        assert_eq!(position(&[3], &[2, 4], 0.1).words(), "3, partly 2 + 4");
        assert_eq!(position(&[1, 2, 3], &[], 0.01).words(), "1 + 2 + 3, in passing");
        assert_eq!(position(&[], &[], 0.5).words(), "between outlets");
    }

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
