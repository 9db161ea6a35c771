//! Numbers of neighbouring cells side by side, so that one instruction works on all of them.

/// Cells in a group.
pub const LANES: usize = 16;

/// One number of each cell of a group.
pub type Lanes = [f32; LANES];

/// One number of each of a group's cells; 0 for those that the last group lacks.
#[inline(always)]
pub fn gathered<T>(cells: &[T], number: impl Fn(&T) -> f32) -> Lanes {
    let mut lanes = [0.0; LANES];
    if let Some(cells) = cells.first_chunk::<LANES>() {
        (0..LANES).for_each(|m| lanes[m] = number(&cells[m]));
    } else {
        lanes.iter_mut().zip(cells).for_each(|(lane, cell)| *lane = number(cell));
    }
    lanes
}
