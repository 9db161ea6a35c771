//! Numbers as people read them, and marks that go with grades.

use crate::finding::Grade;
use crate::report::shown;
use crate::units::{Display, FlowKind, HeadKind, LengthKind, SpeedKind, TankSpeedKind, show};
use bevy_egui::egui::{Color32, Painter, Pos2, Shape, Stroke, pos2};

/// A volume flow.
pub fn flow(si: f64, display: Display) -> String {
    show::<FlowKind>(si, display)
}

/// A length.
pub fn length(si: f64, display: Display) -> String {
    show::<LengthKind>(si, display)
}

/// A head of water.
pub fn head(si: f64, display: Display) -> String {
    show::<HeadKind>(si, display)
}

/// A speed of water in the tank.
pub fn tank_speed(si: f64, display: Display) -> String {
    shown::tank_speed(si, display)
}

/// Name and size of the unit that speeds in the tank are shown in.
pub fn tank_speed_unit(display: Display) -> (&'static str, f64) {
    (shown::tank_speed_unit(display), shown::scale::<TankSpeedKind>(display))
}

/// A speed in pipes.
pub fn speed(si: f64, display: Display) -> String {
    show::<SpeedKind>(si, display)
}

/// Words whose numbers stay on one line with their units.
pub fn unbroken(text: &str) -> String {
    let mut words = text.split(' ').peekable();
    let mut out = String::with_capacity(text.len());
    while let Some(word) = words.next() {
        out.push_str(word);
        let number = word.ends_with(|c: char| c.is_ascii_digit());
        let unit = |next: &&str| UNITS.contains(&next.trim_end_matches([',', ';', ':', '.', ')']));
        match words.peek() {
            Some(next) => out.push(if number && unit(next) { '\u{a0}' } else { ' ' }),
            None => break,
        }
    }
    out
}

/// Units that findings speak in.
const UNITS: [&str; 18] =
    ["mm", "cm", "m", "in", "ft", "L", "gal", "L/h", "gph", "cm/s", "m/s", "in/s", "ft/s", "s", "deg", "%", "kPa", "psi"];

/// Three-figure number of cells: "52 000".
pub fn thousands(n: usize) -> String {
    shown::grouped(n).replace(' ', "\u{2009}")
}

/// A grade's mark, told apart by shape: triangle for a fault, diamond for a caution, ring for a note.
pub fn mark(painter: &Painter, at: Pos2, grade: Grade, color: Color32) {
    let r = 5.5;
    match grade {
        Grade::Fault => {
            let points = vec![pos2(at.x, at.y - r), pos2(at.x + r, at.y + r * 0.8), pos2(at.x - r, at.y + r * 0.8)];
            painter.add(Shape::convex_polygon(points, color, Stroke::NONE));
        }
        Grade::Caution => {
            let points = vec![pos2(at.x, at.y - r), pos2(at.x + r, at.y), pos2(at.x, at.y + r), pos2(at.x - r, at.y)];
            painter.add(Shape::convex_polygon(points, color, Stroke::NONE));
        }
        Grade::Note => {
            painter.circle_stroke(at, r * 0.75, Stroke::new(1.8, color));
        }
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn numbers_keep_their_units() {
        assert_eq!(
            super::unbroken("comes at 7.3 cm/s, from 2 sides of N1 and 3 m"),
            "comes at 7.3\u{a0}cm/s, from 2 sides of N1 and 3\u{a0}m"
        );
    }

    #[test]
    fn groups_of_three() {
        assert_eq!(super::thousands(1_234_567), "1\u{2009}234\u{2009}567");
        assert_eq!(super::thousands(12), "12");
    }
}
