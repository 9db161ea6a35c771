//! What the water seeps through: porous rocks as beds of grains (Ergun 1952), grown colonies as canopies of branches (Nepf 2012).

use super::water;
use crate::{
    flow::Resistance,
    layout::{Layout, solid::Solid},
};
use glam::DVec3;

/// Drag coefficient of a branch among others: 0.8 to 1.5 are reported (Nepf 2012, Annual Review of Fluid Mechanics 44:123; value from memory).
const BRANCH: f64 = 1.0;

/// Everything in a layout that holds the water back without stopping it.
#[derive(Debug, Clone, Default)]
pub struct Seep {
    /// Index of the rock in the layout, its form, its resistance.
    porous: Vec<(usize, Solid, Resistance)>,
    canopies: Vec<Canopy>,
}

#[derive(Debug, Clone)]
struct Canopy {
    middle: DVec3,
    radius: f64,
    resistance: Resistance,
}

impl Seep {
    /// Of a layout.
    pub fn new(layout: &Layout) -> Self {
        let viscosity = water(layout).kinematic_viscosity();
        let rocks = layout.rocks.iter().enumerate().filter_map(|(index, rock)| {
            let porous = rock.porous.as_ref()?;
            let resistance = Resistance::grains(porous.porosity as f32, porous.grain.si() as f32, viscosity as f32);
            Some((index, Solid::rock(rock), resistance))
        });
        let canopies = layout.colonies.iter().filter_map(|colony| {
            let resistance = Resistance::canopy(BRANCH as f32, colony.grown.as_ref()?.frontal_area() as f32);
            Some(Canopy { middle: colony.at.metres(), radius: colony.size.si() / 2.0, resistance })
        });
        Self { porous: rocks.collect(), canopies: canopies.collect() }
    }

    /// Nothing of that kind is there.
    pub fn is_empty(&self) -> bool {
        self.porous.is_empty() && self.canopies.is_empty()
    }

    /// The porous rock that a place (m) lies in, as its index in the layout.
    pub fn rock_at(&self, place: DVec3) -> Option<usize> {
        self.porous.iter().find(|(_, solid, _)| solid.distance(place) < 0.0).map(|(index, ..)| *index)
    }

    /// Resistance at a place, m: that of the porous rock there, else those of all canopies there together.
    pub fn resistance(&self, place: [f32; 3]) -> Resistance {
        let place = DVec3::from_array(place.map(f64::from));
        if let Some((_, _, resistance)) = self.porous.iter().find(|(_, solid, _)| solid.distance(place) < 0.0) {
            return *resistance;
        }
        let here = self.canopies.iter().filter(|canopy| canopy.middle.distance(place) < canopy.radius);
        Resistance { linear: 0.0, quadratic: here.map(|canopy| canopy.resistance.quadratic).sum() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::demo;

    #[test]
    fn rubble_and_branches_are_where_they_were_drawn() {
        let mut layout = demo();
        assert!(Seep::new(&layout).is_empty());
        layout.rocks = vec![
            ron::from_str(
                r#"(id:"rubble",shape:box(size:("20 cm","20 cm","20 cm")),at:("50 cm","50 cm","0 cm"),porous:Some((grain:"3 cm")))"#,
            )
            .unwrap(),
        ];
        layout.colonies = vec![
            ron::from_str(r#"(id:"bush",at:("1 m","50 cm","20 cm"),size:"20 cm",want:strong,grown:Some((branch:"1 cm",spacing:"5 cm")))"#)
                .unwrap(),
        ];
        let seep = Seep::new(&layout);
        let bed = Resistance::grains(0.45, 0.03, water(&layout).kinematic_viscosity() as f32);
        assert_eq!(seep.resistance([0.5, 0.5, 0.1]), bed);
        // 1 cm branches every 5 cm: 0.01/0.0025 = 4 m²/m³; half of that with a coefficient of 1.
        assert!((seep.resistance([1.05, 0.5, 0.2]).quadratic - 2.0).abs() < 1e-6);
        assert_eq!(seep.resistance([1.2, 0.5, 0.2]), Resistance::default());
        assert_eq!((seep.rock_at(DVec3::new(0.5, 0.5, 0.1)), seep.rock_at(DVec3::new(0.5, 0.5, 0.3))), (Some(0), None));
    }
}
