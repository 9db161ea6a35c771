//! Where things go on a map: from metres in the tank to units of the picture.

use super::theme::{MARGIN, WIDTH};
use super::view::Side;
use crate::layout::Layout;
use glam::DVec3;

/// Room for the title above a map.
const TITLE: f64 = 76.0;
/// Room for the legend right of it.
const LEGEND: f64 = 104.0;
/// Room under it: edge words, scale bar, key.
const FOOT: f64 = 76.0;
/// Room at its left for an edge word.
const LEFT: f64 = 26.0;
/// Tallest map.
const TALLEST: f64 = 620.0;

/// A map's place on its picture.
#[derive(Debug, Clone, Copy)]
pub struct Frame {
    /// From where the tank is seen.
    pub side: Side,
    /// Tank right and up, m.
    pub size: [f64; 2],
    /// Upper left corner.
    pub at: [f64; 2],
    /// Picture units in a metre.
    pub scale: f64,
}

impl Frame {
    /// As big as the picture allows.
    pub fn new(layout: &Layout, side: Side) -> Self {
        let tank = layout.tank.size();
        let [a, b, _] = side.axes();
        let size = [tank[a].max(1e-3), tank[b].max(1e-3)];
        let room = WIDTH - 2.0 * MARGIN - LEFT - LEGEND;
        let scale = (room / size[0]).min(TALLEST / size[1]);
        let left = MARGIN + LEFT + 0.5 * (room - scale * size[0]);
        Self { side, size, at: [left, MARGIN + TITLE], scale }
    }

    /// Height of the whole picture.
    pub fn picture_height(&self) -> f64 {
        self.bottom() + FOOT + MARGIN
    }

    /// Lower edge of the map.
    pub fn bottom(&self) -> f64 {
        self.at[1] + self.extent()[1]
    }

    /// Right edge of the map.
    pub fn right(&self) -> f64 {
        self.at[0] + self.extent()[0]
    }

    /// Width and height of the map.
    pub fn extent(&self) -> [f64; 2] {
        self.size.map(|s| s * self.scale)
    }

    /// Picture place of a place right and up, m.
    pub fn flat(&self, right: f64, up: f64) -> [f64; 2] {
        [self.at[0] + right * self.scale, self.bottom() - up * self.scale]
    }

    /// Picture place of a point in the tank.
    pub fn place(&self, point: DVec3) -> [f64; 2] {
        let [right, up, _] = self.side.project(point);
        self.flat(right, up)
    }
}
