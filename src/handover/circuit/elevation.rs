//! A return loop from the side: heights to scale, widths not. Where the water stands, how high it is lifted, where a siphon breaks.

use super::symbol;
use crate::handover::measure::both;
use crate::handover::numbering::end_words;
use crate::handover::page::{Anchor, At, Drawing, Ink, Lettering, Pen, wrapped};
use crate::layout::{Circuit, End, Layout};

/// Height of the drawing between the lowest and the highest mark, mm.
const TALL: f64 = 62.0;
const TOP: f64 = 10.0;
const WALL: Pen = Pen::new(0.5, Ink::Black);
const PIPE: Pen = Pen::new(0.7, Ink::Black);
const THIN: Pen = Pen::new(0.2, Ink::Black);
const HELP: Pen = Pen::new(0.12, Ink::Grey);
const SMALL: f64 = 2.45;

/// Places across the drawing, mm from its left edge: sump, pump, riser, tank.
const SUMP: [f64; 2] = [64.0, 102.0];
const PUMP: f64 = 112.0;
const RISER: f64 = 124.0;
const TANK: [f64; 2] = [132.0, 178.0];

/// A height with its words.
struct Mark {
    height: f64,
    words: String,
}

/// The elevation of a return loop; `None` when the layout has no sump.
pub fn elevation(layout: &Layout, circuit: &Circuit, width: f64) -> Option<Drawing> {
    let sump = layout.sump.as_ref()?.level.si();
    let (rim, water) = (layout.tank.height.si(), layout.tank.water_level.si());
    let lowest = sump.min(0.0) - 0.12;
    let scale = TALL / (rim.max(water) - lowest);
    let mut drawing = Drawing::new(width, TOP + TALL + 8.0);
    let y = |height: f64| TOP + (rim.max(water) - height) * scale;
    draw_vessels(&mut drawing, layout, &y, [sump, lowest]);
    draw_pipes(&mut drawing, layout, circuit, &y, sump);
    let spread = draw_marks(
        &mut drawing,
        &tank_marks(layout, circuit),
        &y,
        &Side { x: TANK[1] + 6.0, from: TANK[1], anchor: Anchor::Start, room: width - TANK[1] - 7.0 },
    );
    let low = draw_marks(
        &mut drawing,
        &sump_marks(layout, circuit),
        &y,
        &Side { x: SUMP[0] - 6.0, from: SUMP[0], anchor: Anchor::End, room: SUMP[0] - 7.0 },
    );
    drawing.height = drawing.height.max(spread.max(low) + 3.0);
    drawing.text(
        [2.0, 4.0],
        "Seen from the side: heights to scale, widths not. Heights from the tank's inside floor.",
        Lettering::new(SMALL).bold(),
    );
    Some(drawing)
}

fn draw_vessels(drawing: &mut Drawing, layout: &Layout, y: &impl Fn(f64) -> f64, [sump, lowest]: [f64; 2]) {
    let [left, right] = TANK;
    let (rim, floor, water) = (y(layout.tank.height.si()), y(0.0), y(layout.tank.water_level.si()));
    drawing.panel([left, water], [right - left, floor - water], Ink::Pale);
    drawing.line(&[[left, rim], [left, floor], [right, floor], [right, rim]], WALL);
    water_line(drawing, [left, right], water);
    let [left, right] = SUMP;
    let low = y(lowest);
    drawing.panel([left, y(sump)], [right - left, low - y(sump)], Ink::Pale);
    drawing.line(&[[left, y(sump) - 9.0], [left, low], [right, low], [right, y(sump) - 9.0]], WALL);
    water_line(drawing, SUMP, y(sump));
    drawing.text([(left + right) / 2.0, low + 4.0], "sump", Lettering::new(SMALL).anchor(Anchor::Middle));
}

/// A surface with the mark for one, a triangle on its tip.
fn water_line(drawing: &mut Drawing, [left, right]: [f64; 2], y: f64) {
    drawing.line(&[[left, y], [right, y]], THIN);
    let x = left + 0.7 * (right - left);
    drawing.outline(&[[x - 1.4, y - 2.4], [x + 1.4, y - 2.4], [x, y]], THIN);
}

fn draw_pipes(drawing: &mut Drawing, layout: &Layout, circuit: &Circuit, y: &impl Fn(f64) -> f64, sump: f64) {
    let nozzles = nozzles(layout, circuit);
    let top = nozzles.iter().map(|nozzle| y(nozzle.middle)).fold(y(layout.tank.water_level.si()), f64::min);
    let pump = [PUMP, y(sump) + 4.0];
    drawing.line(&[[SUMP[1] - 4.0, pump[1]], pump, [RISER, pump[1]], [RISER, top]], PIPE);
    for nozzle in &nozzles {
        drawing.line(&[[RISER, y(nozzle.middle)], [TANK[0] + 3.0, y(nozzle.middle)]], PIPE);
        symbol::arrow(drawing, [TANK[0] + 6.0, y(nozzle.middle)]);
    }
    symbol::pump(drawing, pump);
    for (at, overflow) in layout.overflows.iter().enumerate() {
        draw_overflow(
            drawing,
            [TANK[1] - 5.0 * (at as f64 + 1.0), SUMP[1] - 9.0 - 2.0 * at as f64],
            y(overflow.crest.si()),
            [y(0.0), y(sump)],
        );
    }
}

/// The wall of an overflow box up to its lip, and its drains down to the sump as one broken line.
fn draw_overflow(drawing: &mut Drawing, [wall, end]: [f64; 2], crest: f64, [floor, sump]: [f64; 2]) {
    drawing.line(&[[wall, floor], [wall, crest]], WALL);
    let x = wall + 2.5;
    drawing.line(&[[x, crest + 4.0], [x, floor + 4.0], [end, floor + 4.0], [end, sump + 2.0]], THIN.dashed());
}

/// A return nozzle by its heights, m.
struct Mouth {
    words: String,
    middle: f64,
    top: f64,
}

fn nozzles(layout: &Layout, circuit: &Circuit) -> Vec<Mouth> {
    let size = layout.tank.size();
    let ends = circuit.discharge.iter().filter_map(|run| if let End::Nozzle(id) = &run.to { Some((id, &run.to)) } else { None });
    let found = ends.filter_map(|(id, end)| Some((layout.nozzles.iter().find(|nozzle| nozzle.id == *id)?, end)));
    let mouth = |(nozzle, end): (&crate::layout::Nozzle, &End)| {
        let middle = nozzle.mount.centre(size).z;
        Mouth { words: end_words(end), middle, top: middle + 0.5 * nozzle.bore.si() }
    };
    found.map(mouth).filter(|mouth| mouth.middle.is_finite()).collect()
}

fn tank_marks(layout: &Layout, circuit: &Circuit) -> Vec<Mark> {
    let mark = |height: f64, words: String| Mark { height, words: format!("{words}: {}", both(1e3 * height)) };
    let mut marks =
        vec![mark(layout.tank.height.si(), "rim".into()), mark(layout.tank.water_level.si(), "water line, pumps running".into())];
    marks.extend(layout.overflows.iter().map(|overflow| mark(overflow.crest.si(), format!("lip of {}", overflow.id))));
    let mouths = nozzles(layout, circuit);
    let lowest = mouths.iter().map(|mouth| mouth.top).fold(f64::INFINITY, f64::min);
    for mouth in &mouths {
        let last = if mouth.top <= lowest + 1e-9 { ", the lowest: the siphon breaks here unless a check valve holds" } else { "" };
        marks.push(Mark { height: mouth.top, words: format!("{}, top of bore: {}{last}", mouth.words, both(1e3 * mouth.top)) });
    }
    marks.push(mark(0.0, "inside floor".into()));
    marks
}

fn sump_marks(layout: &Layout, circuit: &Circuit) -> Vec<Mark> {
    let Some(sump) = layout.sump.as_ref().map(|sump| sump.level.si()) else { return Vec::new() };
    let highest = nozzles(layout, circuit).iter().map(|mouth| mouth.middle).fold(layout.tank.water_level.si(), f64::max);
    vec![
        Mark { height: sump + 0.001, words: format!("lift: {}", both(1e3 * (highest - sump))) },
        Mark { height: sump, words: format!("water line, running: {}", both(1e3 * sump)) },
        Mark { height: sump - 0.001, words: "after a power cut: see the commissioning sheet".into() },
    ]
}

/// Where words stand.
struct Side {
    x: f64,
    from: f64,
    anchor: Anchor,
    room: f64,
}

/// Words beside their heights, moved down where they would stand on each other; returns the lowest line.
fn draw_marks(drawing: &mut Drawing, marks: &[Mark], y: &impl Fn(f64) -> f64, side: &Side) -> f64 {
    let mut order: Vec<&Mark> = marks.iter().filter(|mark| mark.height.is_finite()).collect();
    order.sort_by(|a, b| b.height.total_cmp(&a.height));
    let mut last = f64::NEG_INFINITY;
    for mark in order {
        let first: At = [side.x, (y(mark.height) + 0.9).max(last + 3.5)];
        let inner = side.x + (side.from - side.x) * 0.15;
        drawing.line(&[[side.from, y(mark.height)], [inner + (side.from - inner) * 0.4, y(mark.height)], [inner, first[1] - 0.9]], HELP);
        for (line, words) in wrapped(&mark.words, SMALL, false, side.room).iter().enumerate() {
            last = first[1] + 3.0 * line as f64;
            drawing.text([side.x, last], words, Lettering::new(SMALL).anchor(side.anchor));
        }
    }
    last
}
