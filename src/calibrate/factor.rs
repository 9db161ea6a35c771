//! The factors that can be fitted, and where they stand in the layout.

use super::predict::Sight;
use crate::layout::{Circuit, End, Layout, Run};
use serde::{Deserialize, Serialize};

/// A number of the layout that readings can mend.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Factor {
    /// `loss_factor` of a circuit, by its id.
    Losses(String),
    /// `head_factor` of a pump, by its id.
    Head(String),
    /// `leakage` of a drum unit, by its id.
    Leakage(String),
}

impl Factor {
    /// "losses of loop A", "head of pump A".
    pub fn words(&self) -> String {
        match self {
            Self::Losses(id) => format!("losses of circuit {id}"),
            Self::Head(id) => format!("head of pump {id}"),
            Self::Leakage(id) => format!("leakage of drum unit {id}"),
        }
    }

    /// The part of the layout, as findings name it.
    pub fn part(&self) -> String {
        match self {
            Self::Losses(id) => format!("circuits/{id}"),
            Self::Head(id) => format!("pumps/{id}"),
            Self::Leakage(id) => format!("drums/{id}"),
        }
    }

    /// As the layout has it; 1 where it has none, 0 for a part that isn't there.
    pub fn value(&self, layout: &Layout) -> f64 {
        let found = match self {
            Self::Losses(id) => layout.circuits.iter().find(|c| c.id == *id).map(|c| c.loss_factor.unwrap_or(1.0)),
            Self::Head(id) => layout.pumps.iter().find(|p| p.id == *id).map(|p| p.head_factor.unwrap_or(1.0)),
            Self::Leakage(id) => layout.drums.iter().find(|d| d.id == *id).map(|d| d.leakage),
        };
        found.unwrap_or(0.0)
    }

    fn set(&self, layout: &mut Layout, value: f64) {
        match self {
            Self::Losses(id) => layout.circuits.iter_mut().filter(|c| c.id == *id).for_each(|c| c.loss_factor = Some(value)),
            Self::Head(id) => layout.pumps.iter_mut().filter(|p| p.id == *id).for_each(|p| p.head_factor = Some(value)),
            Self::Leakage(id) => layout.drums.iter_mut().filter(|d| d.id == *id).for_each(|d| d.leakage = value),
        }
    }
}

/// The layout with factors set.
pub fn applied(layout: &Layout, factors: &[Factor], values: &[f64]) -> Layout {
    let mut changed = layout.clone();
    factors.iter().zip(values).for_each(|(factor, value)| factor.set(&mut changed, *value));
    changed
}

/// Factors of the circuits that were measured in: losses first, then heads, then leakages, for the first are known worst.
pub fn candidates(layout: &Layout, sights: &[Sight]) -> Vec<Factor> {
    let measured: Vec<&Circuit> = layout.circuits.iter().filter(|c| sights.iter().any(|sight| sight.circuits.contains(&c.id))).collect();
    let losses = measured.iter().map(|c| Factor::Losses(c.id.clone()));
    let pumps = layout.pumps.iter().filter(|p| measured.iter().any(|c| names(c, &End::Pump(p.id.clone()))));
    let drums = layout.drums.iter().filter(|d| measured.iter().any(|c| names(c, &End::Drum(d.id.clone()))));
    losses.chain(pumps.map(|p| Factor::Head(p.id.clone()))).chain(drums.map(|d| Factor::Leakage(d.id.clone()))).collect()
}

/// Whether a run of the circuit begins or ends there.
pub fn names(circuit: &Circuit, end: &End) -> bool {
    runs(circuit).any(|run| run.from == *end || run.to == *end)
}

pub fn runs(circuit: &Circuit) -> impl Iterator<Item = &Run> {
    circuit.suction.iter().chain(&circuit.discharge)
}
