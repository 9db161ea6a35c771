//! What a changed layout leaves as it was.

use crate::layout::{Colony, Layout, Supply, Want};

/// How much of a running flow a changed layout leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kept {
    /// Water and sequence: only words, colonies, zones or probes changed.
    All,
    /// The water: pumps, pipes, drum units or sequences changed.
    Water,
    /// Neither walls nor ports: the tank, rock, sand, nozzles or intakes changed. The motion of the water is kept where the cells are.
    Nothing,
}

/// What is kept from one layout to the next.
pub fn kept(from: &Layout, to: &Layout) -> Kept {
    if without_questions(from) == without_questions(to) {
        Kept::All
    } else if water_only(from) == water_only(to) {
        Kept::Water
    } else {
        Kept::Nothing
    }
}

/// Without what is only said or asked about the water.
fn without_questions(layout: &Layout) -> Layout {
    Layout {
        name: String::new(),
        notes: String::new(),
        display: Default::default(),
        bands: Default::default(),
        colonies: branches_only(layout),
        zones: Vec::new(),
        probes: Vec::new(),
        ..layout.clone()
    }
}

/// Colonies whose branches hold the water back, without what is said or asked about them.
fn branches_only(layout: &Layout) -> Vec<Colony> {
    let grown = layout.colonies.iter().filter(|colony| colony.grown.is_some());
    grown.map(|colony| Colony { id: String::new(), want: Want::Moderate, ..colony.clone() }).collect()
}

/// Without what only changes how much flows through the ports, and when.
fn water_only(layout: &Layout) -> Layout {
    let mut water = without_questions(layout);
    water.nozzles.iter_mut().for_each(|nozzle| nozzle.supply = Supply::Plumbed);
    water.intakes.iter_mut().for_each(|intake| intake.supply = Supply::Plumbed);
    Layout {
        pumps: Vec::new(),
        drums: Vec::new(),
        circuits: Vec::new(),
        joints: Vec::new(),
        pipes: Default::default(),
        catalogue: String::new(),
        sequences: Vec::new(),
        sequence: String::new(),
        sump: None,
        ..water
    }
}
