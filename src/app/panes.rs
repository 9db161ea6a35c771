//! How the picture's room is shared between two layouts that are compared.

use bevy_egui::egui::Rect;

/// Space between the two, points.
const GAP: f32 = 2.0;

/// Room of the open layout, and of the kept one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Panes {
    /// B, or all of it while nothing is compared.
    pub own: Rect,
    /// A.
    pub kept: Option<Rect>,
}

impl Panes {
    /// All of it for one.
    pub fn one(free: Rect) -> Self {
        Self { own: free, kept: None }
    }

    /// A to the left and B to the right, or A over B, whichever shows a tank of this breadth to height larger.
    pub fn two(free: Rect, tank: f32) -> Self {
        let (across, down) = (free.width() / 2.0, free.height() / 2.0);
        let shown = |width: f32, height: f32| (width / tank).min(height);
        let (first, second) = if shown(across, free.height()) >= shown(free.width(), down) {
            (free.with_max_x(free.center().x - GAP / 2.0), free.with_min_x(free.center().x + GAP / 2.0))
        } else {
            (free.with_max_y(free.center().y - GAP / 2.0), free.with_min_y(free.center().y + GAP / 2.0))
        };
        Self { own: second, kept: Some(first) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy_egui::egui::pos2;

    #[test]
    fn the_larger_picture_wins() {
        let free = Rect::from_min_max(pos2(100.0, 20.0), pos2(900.0, 520.0));
        let long = Panes::two(free, 2.6);
        assert!(long.kept.unwrap().bottom() <= long.own.top() && long.own.width() == 800.0);
        let cube = Panes::two(free, 1.0);
        assert!(cube.kept.unwrap().right() <= cube.own.left() && cube.own.height() == 500.0);
    }
}
