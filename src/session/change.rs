//! What a changed layout leaves as it was.

use crate::layout::{Colony, Layout, Shape, Supply, Want, scan::Field};
use std::sync::Arc;

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

/// Is everything solid where it was, and the water as deep?
pub fn same_solids(from: &Layout, to: &Layout) -> bool {
    let solid = (&from.tank, &from.rocks, &from.sand, &from.overflows) == (&to.tank, &to.rocks, &to.sand, &to.overflows);
    solid && meshes(from).eq(meshes(to))
}

/// Which meshes the scanned rocks are of: files of one name count as equal, but may have been read anew.
fn meshes(layout: &Layout) -> impl Iterator<Item = Option<*const Field>> {
    layout.rocks.iter().filter_map(|rock| match &rock.shape {
        Shape::Scan { scan, .. } => Some(scan.field.as_ref().map(Arc::as_ptr)),
        _ => None,
    })
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        catalog::Catalog,
        layout::{Point, file},
        study::{Runner, Settings, case::Case},
        units::Length,
    };

    #[test]
    fn only_what_is_solid_needs_another_ground() {
        let demo = file::demo();
        let changed = |change: fn(&mut Layout)| {
            let mut layout = demo.clone();
            change(&mut layout);
            same_solids(&demo, &layout)
        };
        let here = || Point(Length::new(0.5, "m"), Length::new(0.2, "m"), Length::new(0.1, "m"));
        assert!(changed(|layout| layout.nozzles[0].bore = Length::new(31.0, "mm")));
        assert!(changed(|layout| layout.intakes.clear()));
        let mut moved = demo.clone();
        moved.rocks[0].at = here();
        assert!(!same_solids(&demo, &moved));
        assert!(!changed(|layout| layout.tank.water_level = Length::new(0.5, "m")));
        assert!(!changed(|layout| layout.overflows.clear()));
    }

    /// A run on a known ground moves as one that looks for its own, and takes none of other cells.
    #[test]
    fn a_known_ground_gives_the_same_motion() {
        let case = Case::new(&file::demo(), Catalog::builtin()).unwrap();
        let settings = Settings { cell: 0.09, threads: 1, ..Settings::default() };
        let mut own = Runner::new(&case, &settings);
        let mut known = Runner::on(&case, &settings, Some(own.ground()));
        assert!(Arc::ptr_eq(&own.ground(), &known.ground()));
        [&mut own, &mut known].into_iter().for_each(|run| _ = run.advance_until(0.5, f64::INFINITY));
        assert!(own.velocity_now() == known.velocity_now() && own.flow().notes() == known.flow().notes());
        let coarser = Runner::on(&case, &Settings { cell: 0.12, ..settings }, Some(own.ground()));
        assert!(!Arc::ptr_eq(&own.ground(), &coarser.ground()));
    }
}
