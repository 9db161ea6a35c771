//! Rockwork: simple solids, placed and turned.

use super::place::{Point, Turn};
use super::scan::{Scan, Up};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// One piece of rockwork.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rock {
    /// What people call it: "left arch".
    pub id: String,
    /// Its form and size.
    pub shape: Shape,
    /// The middle of its underside, before turning.
    pub at: Point,
    /// Turned about that point.
    #[serde(default)]
    pub turn: Turn,
    /// Water seeps through it: a heap of rubble. `None`: solid.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub porous: Option<Porous>,
}

/// Rubble that water seeps through.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Porous {
    /// Share of it that is water, 0 to 1.
    #[serde(default = "heap")]
    pub porosity: f64,
    /// Diameter of its pieces.
    pub grain: Length,
}

/// Voids of a loose heap of rubble: 0.4 to 0.5, value from memory.
fn heap() -> f64 {
    0.45
}

/// Forms of rock. Sizes run along the rock's own x, y and z before it is turned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Shape {
    /// A boulder.
    Ellipsoid {
        /// Full diameters.
        size: Point,
    },
    /// A block.
    Box {
        /// Full edges.
        size: Point,
    },
    /// A pillar, axis upright.
    Cylinder {
        /// Across.
        diameter: Length,
        /// Up.
        height: Length,
    },
    /// Two legs and a half-ring over them, spanning along x.
    Arch {
        /// Outside to outside along x.
        span: Length,
        /// Floor to top.
        height: Length,
        /// Along y.
        depth: Length,
        /// Of the legs and the ring.
        thickness: Length,
    },
    /// A slab with rounded edges.
    Shelf {
        /// Along x.
        length: Length,
        /// Along y.
        depth: Length,
        /// Along z.
        thickness: Length,
    },
    /// Seeded random boulders heaped on a footprint: the same seed gives the same pile on every machine.
    Pile {
        /// Along x.
        length: Length,
        /// Along y.
        depth: Length,
        /// Top of the heap.
        height: Length,
        /// Boulders' diameters: smallest, largest.
        boulders: (Length, Length),
        /// How many.
        count: u32,
        /// Which of the possible piles.
        seed: u64,
    },
    /// A scanned or modelled rock from a mesh file: STL, OBJ, or glTF binary.
    Scan {
        /// Name of the file; a relative name starts where the layout's file lies.
        file: String,
        /// Length of one unit of the file.
        #[serde(default = "millimetre")]
        unit: Length,
        /// Which axis of the file points up.
        #[serde(default)]
        up: Up,
        /// What was read of the file.
        #[serde(skip)]
        scan: Scan,
    },
}

fn millimetre() -> Length {
    Length::new(1.0, "mm")
}
