//! Symbols of a circuit drawing, in the forms usual on piping diagrams (ISO 14617, from memory): circle with triangle for a pump, two
//! triangles tip to tip for a valve. Sizes in mm; a symbol's place is its middle.

use crate::handover::page::{Anchor, At, Drawing, Ink, Lettering, Pen};

const PEN: Pen = Pen::new(0.3, Ink::Black);

/// What sits on a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OnRun {
    /// Can be set.
    Valve,
    /// Lets water one way.
    Check,
    /// Can be opened.
    Union,
}

impl OnRun {
    /// The symbol for a part of the catalogue, if it has one.
    pub fn of(part: &str) -> Option<Self> {
        let name = part.to_lowercase();
        if name.contains("check") {
            Some(Self::Check)
        } else if name.contains("valve") && !name.contains("foot") {
            Some(Self::Valve)
        } else if name.contains("union") {
            Some(Self::Union)
        } else {
            None
        }
    }

    /// Draws it on a level pipe with the water going right.
    pub fn draw(self, drawing: &mut Drawing, [x, y]: At) {
        match self {
            Self::Valve => {
                drawing.panel([x - 2.4, y - 1.5], [4.8, 3.0], Ink::White);
                drawing.outline(&[[x - 2.4, y - 1.5], [x, y], [x - 2.4, y + 1.5]], PEN);
                drawing.outline(&[[x + 2.4, y - 1.5], [x, y], [x + 2.4, y + 1.5]], PEN);
            }
            Self::Check => {
                drawing.panel([x - 2.0, y - 1.5], [4.0, 3.0], Ink::White);
                drawing.area(&[[x - 2.0, y - 1.5], [x + 1.6, y], [x - 2.0, y + 1.5]], Ink::Black);
                drawing.line(&[[x + 1.8, y - 1.7], [x + 1.8, y + 1.7]], Pen::new(0.5, Ink::Black));
            }
            Self::Union => {
                for dx in [-0.7, 0.7] {
                    drawing.line(&[[x + dx, y - 1.6], [x + dx, y + 1.6]], Pen::new(0.45, Ink::Black));
                }
            }
        }
    }
}

/// An arrow head, the water going right.
pub fn arrow(drawing: &mut Drawing, [x, y]: At) {
    drawing.area(&[[x - 3.0, y - 1.2], [x, y], [x - 3.0, y + 1.2]], Ink::Black);
}

/// A run's number in a ring.
pub fn ring(drawing: &mut Drawing, [x, y]: At, tag: &str) {
    drawing.disc([x, y], 3.6, Ink::White);
    drawing.circle([x, y], 3.6, PEN);
    let size = if tag.chars().count() > 3 { 2.0 } else { 2.7 };
    drawing.text([x, y + 0.35 * size], tag, Lettering::new(size).bold().anchor(Anchor::Middle));
}

/// A pump.
pub fn pump(drawing: &mut Drawing, [x, y]: At) {
    drawing.disc([x, y], 5.0, Ink::White);
    drawing.circle([x, y], 5.0, PEN);
    drawing.outline(&[[x - 3.0, y - 4.0], [x + 5.0, y], [x - 3.0, y + 4.0]], PEN);
}

/// An intake behind its screen.
pub fn intake(drawing: &mut Drawing, [x, y]: At) {
    drawing.panel([x - 2.5, y - 3.0], [5.0, 6.0], Ink::White);
    drawing.rectangle([x - 2.5, y - 3.0], [5.0, 6.0], PEN);
    for dy in [-1.8, -0.6, 0.6, 1.8] {
        drawing.line(&[[x - 2.5, y + dy], [x + 2.5, y + dy]], Pen::new(0.2, Ink::Black));
    }
}

/// A nozzle.
pub fn nozzle(drawing: &mut Drawing, [x, y]: At) {
    let cone = [[x - 3.0, y - 2.2], [x + 3.0, y - 1.1], [x + 3.0, y + 1.1], [x - 3.0, y + 2.2]];
    drawing.area(&cone, Ink::White);
    drawing.outline(&cone, PEN);
}

/// The sump, open at the top.
pub fn sump(drawing: &mut Drawing, [x, y]: At) {
    drawing.panel([x - 5.0, y - 1.5], [10.0, 5.5], Ink::Pale);
    drawing.line(&[[x - 5.0, y - 4.0], [x - 5.0, y + 4.0], [x + 5.0, y + 4.0], [x + 5.0, y - 4.0]], PEN);
    drawing.line(&[[x - 5.0, y - 1.5], [x + 5.0, y - 1.5]], Pen::new(0.2, Ink::Black));
}

/// Where runs meet.
pub fn joint(drawing: &mut Drawing, at: At) {
    drawing.disc(at, 1.3, Ink::Black);
}

/// A drum unit that reaches from `top` to `bottom`.
pub fn drum(drawing: &mut Drawing, x: f64, top: f64, bottom: f64) {
    drawing.panel([x - 5.0, top - 5.0], [10.0, bottom - top + 10.0], Ink::White);
    drawing.rectangle([x - 5.0, top - 5.0], [10.0, bottom - top + 10.0], Pen::new(0.5, Ink::Black));
    drawing.circle([x, (top + bottom) / 2.0], 3.2, PEN);
    drawing.line(&[[x, (top + bottom) / 2.0], [x + 3.2, (top + bottom) / 2.0]], PEN);
}

/// What the symbols mean, in one line.
pub fn legend(width: f64) -> Drawing {
    let mut legend = Drawing::new(width, 8.0);
    let step = width / 7.0;
    let mut x = 5.0;
    let mut entry = |legend: &mut Drawing, draw: &dyn Fn(&mut Drawing, At), words: &str| {
        draw(legend, [x, 4.0]);
        legend.text([x + 7.0, 5.0], words, Lettering::new(2.6));
        x += step;
    };
    entry(&mut legend, &|d, at| ring(d, at, "P1"), "pipe run");
    entry(&mut legend, &|d, at| OnRun::Valve.draw(d, at), "valve");
    entry(&mut legend, &|d, at| OnRun::Check.draw(d, at), "check valve");
    entry(&mut legend, &|d, at| OnRun::Union.draw(d, at), "union");
    entry(&mut legend, &|d, at| intake(d, at), "intake, screen");
    entry(&mut legend, &|d, at| nozzle(d, at), "nozzle");
    entry(&mut legend, &|d, at| joint(d, at), "runs meet");
    legend
}
