//! Which entries of a run are parts to buy, and which only stand for a loss.

use super::joint::joints;
use crate::handover::measure::both;
use crate::handover::numbering::{Numbering, end_words};
use crate::layout::{CircuitKind, End, Layout, Run};

/// A line of the shopping list.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// What to ask for.
    pub part: String,
    /// Size, as the shop needs it.
    pub size: String,
    /// How many.
    pub count: usize,
    /// Where they go, by numbers.
    pub places: Vec<String>,
    /// What to mind.
    pub note: &'static str,
}

/// Parts at which more than two ways meet; their entries on runs ("tee branch") stand for losses.
const MEETINGS: [&str; 3] = ["tee", "wye", "cross"];

fn starts_with(part: &str, words: &[&str]) -> bool {
    let name = part.trim().to_lowercase();
    words.iter().any(|word| name.starts_with(word))
}

/// Whether a fitting sits between two pieces of pipe of its run.
pub fn divides(part: &str, run: &Run) -> bool {
    let at_an_end = starts_with(part, &["bulkhead", "pipe exit", "foot valve", "reducer", "enlarger"]);
    !(at_an_end || (starts_with(part, &MEETINGS) && meets_others(run)))
}

/// Whether an end of the run is a joint.
fn meets_others(run: &Run) -> bool {
    [&run.from, &run.to].iter().any(|end| matches!(end, End::Joint(_)))
}

/// Whether an entry is counted elsewhere: bulkheads with the holes, tees with the joints, an exit is no part.
fn counted_elsewhere(part: &str, run: &Run) -> bool {
    starts_with(part, &["bulkhead", "pipe exit"]) || (starts_with(part, &MEETINGS) && meets_others(run))
}

/// Everything to buy but pipe.
pub fn shopping(layout: &Layout, numbering: &Numbering, couplings: &[(usize, usize)]) -> Vec<Item> {
    let mut items = Vec::new();
    for (at, numbered) in numbering.runs.iter().enumerate() {
        for fitting in numbered.run.fittings.iter().filter(|f| !counted_elsewhere(&f.part, numbered.run)) {
            add(&mut items, &fitting.part, &numbered.run.pipe, fitting.count.min(100) as usize, &numbered.tag, fitting_note(&fitting.part));
        }
        let added = couplings.iter().find(|(run, _)| *run == at).map_or(0, |(_, count)| *count);
        add(&mut items, "coupling", &numbered.run.pipe, added, &numbered.tag, "joins pieces where the run is longer than the stock");
    }
    joints(layout, numbering, &mut items);
    bulkheads(numbering, &mut items);
    bits(numbering, &mut items);
    equipment(layout, &mut items);
    items
}

fn fitting_note(part: &str) -> &'static str {
    let name = part.to_lowercase();
    if name.starts_with("ball valve") {
        "true-union kind saves two unions; buy one spare for the set"
    } else if starts_with(part, &MEETINGS) {
        "at no joint of the layout: find out what its other end does"
    } else if name.starts_with("foot valve") {
        "must be reached for cleaning"
    } else if name.contains("valve") && !name.contains("check") {
        "one spare for the set; a union on either side"
    } else if name.contains("check") {
        "must be reached for cleaning; it will fail one day: the sump has to hold the back-drain"
    } else if name.contains("union") {
        "at every pump; one spare and spare seals"
    } else if name.starts_with("reducer") || name.starts_with("enlarger") {
        "the other size is that of the run it meets"
    } else {
        ""
    }
}

pub(super) fn add(items: &mut Vec<Item>, part: &str, size: &str, count: usize, place: &str, note: &'static str) {
    if count == 0 {
        return;
    }
    match items.iter_mut().find(|item| item.part == part && item.size == size) {
        Some(item) => {
            item.count += count;
            if !item.places.iter().any(|known| known == place) {
                item.places.push(place.to_owned());
            }
        }
        None => items.push(Item { part: part.to_owned(), size: size.to_owned(), count, places: vec![place.to_owned()], note }),
    }
}

/// What the holes are cut with, by diameter.
fn bits(numbering: &Numbering, items: &mut Vec<Item>) {
    for hole in &numbering.holes {
        let Some(diameter) = hole.drill else { continue };
        let size = format!("for a hole of {}", both(diameter));
        add(items, "hole saw", &size, 1, &hole.tag, "one does for all of a size; diamond for glass, for plastic on acrylic");
    }
    items.iter_mut().filter(|item| item.part == "hole saw").for_each(|item| item.count = 1);
}

fn bulkheads(numbering: &Numbering, items: &mut Vec<Item>) {
    for hole in &numbering.holes {
        let size = numbering.runs.iter().find(|n| end_words(&n.run.from) == hole.serves || end_words(&n.run.to) == hole.serves);
        let size = size.map_or_else(|| "size of its pipe".to_owned(), |n| n.run.pipe.clone());
        let size = hole.drill.map_or_else(|| format!("{size}; hole not given"), |d| format!("{size}; for a hole of {}", both(d)));
        add(items, "bulkhead", &size, 1, &hole.tag, "measure it before drilling; spare gaskets");
    }
    let from_sump = numbering.runs.iter().filter(|n| n.run.from == End::Sump);
    for numbered in from_sump {
        add(items, "bulkhead", &format!("{}; in the sump", numbered.run.pipe), 1, &numbered.tag, "or a pump that stands in the sump");
    }
}

fn equipment(layout: &Layout, items: &mut Vec<Item>) {
    for drum in &layout.drums {
        add(
            items,
            "drum unit",
            &format!("{} outlets, bore {}", drum.outlets, drum.bore),
            1,
            &drum.id,
            "with its drive; unions on every port",
        );
    }
    for nozzle in &layout.nozzles {
        add(items, "nozzle", &format!("bore {}", nozzle.bore), 1, &nozzle.id, "");
    }
    for intake in &layout.intakes {
        let screen = intake
            .screen
            .as_ref()
            .map_or_else(|| "NO SCREEN IN THE LAYOUT".to_owned(), |s| format!("{}, {:.0} % open", face_words(&s.face), 100.0 * s.open));
        add(items, "intake screen", &screen, 1, &intake.id, "never a single unscreened intake; one spare");
    }
    for (pump, kind) in layout.pumps.iter().map(|pump| (pump, kind_of(layout, &pump.id))) {
        let top = pump.curve.iter().map(|p| p.head.si()).fold(0.0, f64::max);
        let most = pump.curve.iter().max_by(|a, b| a.flow.si().total_cmp(&b.flow.si()));
        let most = most.map_or_else(String::new, |p| format!(", up to {}", p.flow));
        add(items, "pump", &format!("shut-off head {:.1} m ({:.1} ft){most}", top, top / 0.3048), 1, &pump.id, kind);
    }
}

fn kind_of(layout: &Layout, pump: &str) -> &'static str {
    let end = End::Pump(pump.to_owned());
    let circuit = layout.circuits.iter().find(|c| c.suction.iter().chain(&c.discharge).any(|run| run.from == end || run.to == end));
    match circuit.map(|c| c.kind) {
        Some(CircuitKind::Closed) => "closed loop; unions and valves on both sides",
        Some(CircuitKind::Return) => "return loop",
        None => "in no circuit",
    }
}

fn face_words(face: &crate::layout::Face) -> String {
    match face {
        crate::layout::Face::Round(diameter) => format!("round, {diameter}"),
        crate::layout::Face::Rectangle(width, height) => format!("{width} x {height}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn end_parts_divide_no_pipe() {
        let run = |to: &str| -> Run {
            ron::from_str(&format!("(id: \"r\", from: pump(\"p\"), to: {to}, pipe: \"p\", length: \"1 m\")")).unwrap()
        };
        for (part, at_a_joint, between_pumps) in [
            ("elbow 90", true, true),
            ("ball valve", true, true),
            ("bulkhead entrance", false, false),
            ("Tee branch", false, true),
            ("wye run", false, true),
            ("pipe exit", false, false),
            ("union", true, true),
        ] {
            assert_eq!(divides(part, &run("joint(\"j\")")), at_a_joint, "{part}");
            assert_eq!(divides(part, &run("nozzle(\"n\")")), between_pumps, "{part}");
        }
    }
}
