//! What the shape of the solids says of a grid's cells, whatever the ports: looked for once, and kept while only ports change.

use super::{
    Grid, Physics,
    corners::Corners,
    narrow::{self, Narrow},
    solids::distances,
};

/// Distances to solids at the cells of a grid, and what is too narrow for them.
#[derive(Debug, Clone)]
pub struct Ground {
    pub(super) grid: Grid,
    /// Signed distance at every cell centre (public order), m.
    pub(super) distance: Vec<f32>,
    /// Solids and gaps narrower than two cells.
    pub(super) narrow: [Narrow; 2],
    /// Steps of slopes.
    pub(super) corners: Corners,
}

impl Ground {
    /// `signed_distance` is in metres, negative inside solids, and nowhere more than the true distance.
    pub fn new(grid: Grid, physics: &Physics, signed_distance: &(dyn Fn([f32; 3]) -> f32 + Sync)) -> Self {
        let distance = distances(&grid, signed_distance);
        let narrow = narrow::survey(&grid, physics, &distance, signed_distance);
        let corners = Corners::new(&grid, &distance);
        Self { grid, distance, narrow, corners }
    }

    /// The cells.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }
}
