//! One numbering of holes, runs and valves for every sheet and list.
//!
//! Nozzles, intakes, pumps and drum units keep the names the layout gives them. Numbers follow the order of the layout, so
//! that moving a part doesn't renumber the others.

use crate::catalog::Catalog;
use crate::layout::{Circuit, End, Layout, Mount, PanelName, Run};

/// The numbers.
#[derive(Debug, Clone)]
pub struct Numbering<'a> {
    /// Every hole, panel by panel.
    pub holes: Vec<Hole>,
    /// Every pipe run, circuit by circuit, suction first.
    pub runs: Vec<Numbered<'a>>,
    /// Every valve whose opening can be set, run by run.
    pub valves: Vec<Valve>,
}

/// A hole in a panel. Lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Hole {
    /// "H3".
    pub tag: String,
    /// What it is for: "intake A1".
    pub serves: String,
    /// Which panel.
    pub panel: PanelName,
    /// Centre along the panel, as in the layout.
    pub along: f64,
    /// Centre up the panel, as in the layout.
    pub up: f64,
    /// Diameter to drill; `None`: not given.
    pub drill: Option<f64>,
}

/// A pipe run with its number.
#[derive(Debug, Clone)]
pub struct Numbered<'a> {
    /// "P3".
    pub tag: String,
    /// Position of its circuit in the layout.
    pub circuit: usize,
    /// The run.
    pub run: &'a Run,
}

/// A valve that can be set.
#[derive(Debug, Clone, PartialEq)]
pub struct Valve {
    /// "V2".
    pub tag: String,
    /// Position of its run in [`Numbering::runs`].
    pub run: usize,
    /// Name in the catalogue.
    pub part: String,
    /// 1 open, 0 shut.
    pub opening: f64,
}

impl<'a> Numbering<'a> {
    /// Numbers all parts of a layout.
    pub fn new(layout: &'a Layout, catalog: &Catalog) -> Self {
        let names = names(layout);
        let runs = runs(layout, &free_prefix(&["P", "PIPE"], &names));
        let valves = valves(&runs, catalog, &free_prefix(&["V", "VALVE"], &names));
        Self { holes: holes(layout, &free_prefix(&["H", "HOLE"], &names)), runs, valves }
    }

    /// The holes of one panel.
    pub fn holes_in(&self, panel: PanelName) -> impl Iterator<Item = &Hole> {
        self.holes.iter().filter(move |hole| hole.panel == panel)
    }

    /// The runs of one circuit.
    pub fn runs_of(&self, circuit: usize) -> impl Iterator<Item = (usize, &Numbered<'a>)> {
        self.runs.iter().enumerate().filter(move |(_, run)| run.circuit == circuit)
    }
}

/// What a run's end is called on sheets: "drum unit A, outlet 2". A unit called "unit A" is not called a "drum unit unit A".
pub fn end_words(end: &End) -> String {
    let with = |kind: &str, id: &str| {
        if id.to_lowercase().contains(kind.rsplit(' ').next().unwrap_or(kind)) { id.to_owned() } else { format!("{kind} {id}") }
    };
    match end {
        End::Intake(id) => with("intake", id),
        End::Nozzle(id) => with("nozzle", id),
        End::Pump(id) => with("pump", id),
        End::Drum(id) => format!("{}, inlet", with("drum unit", id)),
        End::Outlet(id, number) => format!("{}, outlet {number}", with("drum unit", id)),
        End::Joint(id) => {
            if ["tee", "wye", "manifold", "joint", "cross"].iter().any(|word| id.to_lowercase().contains(word)) {
                id.clone()
            } else {
                format!("joint {id}")
            }
        }
        End::Sump => "the sump".to_owned(),
    }
}

fn holes(layout: &Layout, prefix: &str) -> Vec<Hole> {
    let intakes = layout.intakes.iter().map(|intake| (End::Intake(intake.id.clone()), &intake.mount));
    let nozzles = layout.nozzles.iter().map(|nozzle| (End::Nozzle(nozzle.id.clone()), &nozzle.mount));
    let mut holes: Vec<Hole> = intakes.chain(nozzles).filter_map(|(end, mount)| hole(&end, mount)).collect();
    holes.sort_by_key(|hole| PanelName::ALL.iter().position(|name| *name == hole.panel));
    for (at, hole) in holes.iter_mut().enumerate() {
        hole.tag = format!("{prefix}{}", at + 1);
    }
    holes
}

fn hole(end: &End, mount: &Mount) -> Option<Hole> {
    let Mount::Hole { panel, along, up, drill } = mount else { return None };
    let drill = drill.as_ref().map(|d| 1e3 * d.si()).filter(|d| d.is_finite() && *d > 0.0);
    Some(Hole { tag: String::new(), serves: end_words(end), panel: *panel, along: 1e3 * along.si(), up: 1e3 * up.si(), drill })
}

fn runs<'a>(layout: &'a Layout, prefix: &str) -> Vec<Numbered<'a>> {
    let all = layout.circuits.iter().enumerate().flat_map(|(at, circuit)| both_sides(circuit).map(move |run| (at, run)));
    all.enumerate().map(|(at, (circuit, run))| Numbered { tag: format!("{prefix}{}", at + 1), circuit, run }).collect()
}

fn both_sides(circuit: &Circuit) -> impl Iterator<Item = &Run> {
    circuit.suction.iter().chain(&circuit.discharge)
}

fn valves(runs: &[Numbered], catalog: &Catalog, prefix: &str) -> Vec<Valve> {
    let mut found = Vec::new();
    for (run, numbered) in runs.iter().enumerate() {
        for fitting in numbered.run.fittings.iter().filter(|f| catalog.fitting(&f.part).is_some_and(|kind| kind.is_valve())) {
            for _ in 0..fitting.count.min(MOST_OF_ONE_PART) {
                found.push(Valve {
                    tag: format!("{prefix}{}", found.len() + 1),
                    run,
                    part: fitting.part.clone(),
                    opening: fitting.opening,
                });
            }
        }
    }
    found
}

/// A file may ask for any count; nobody glues more of one part on one run.
const MOST_OF_ONE_PART: u32 = 100;

fn names(layout: &Layout) -> Vec<&str> {
    let runs = layout.circuits.iter().flat_map(both_sides).map(|run| run.id.as_str());
    let parts = layout.intakes.iter().map(|p| p.id.as_str()).chain(layout.nozzles.iter().map(|p| p.id.as_str()));
    parts.chain(layout.pumps.iter().map(|p| p.id.as_str())).chain(layout.drums.iter().map(|p| p.id.as_str())).chain(runs).collect()
}

/// The first prefix with which no number of ours reads like a name of the user's.
fn free_prefix(wanted: &[&str], names: &[&str]) -> String {
    let taken = |prefix: &str| {
        names.iter().any(|name| name.strip_prefix(prefix).is_some_and(|rest| !rest.is_empty() && rest.bytes().all(|b| b.is_ascii_digit())))
    };
    (*wanted.iter().find(|prefix| !taken(prefix)).unwrap_or(&wanted[wanted.len() - 1])).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prefixes_avoid_names_in_use() {
        assert_eq!(free_prefix(&["H", "HOLE"], &["H12", "pump"]), "HOLE");
        assert_eq!(free_prefix(&["H", "HOLE"], &["H", "Hall 2"]), "H");
    }

    #[test]
    fn ends_are_named_once() {
        assert_eq!(end_words(&End::Drum("unit A".into())), "unit A, inlet");
        assert_eq!(end_words(&End::Outlet("west".into(), 2)), "drum unit west, outlet 2");
        assert_eq!(end_words(&End::Nozzle("A1".into())), "nozzle A1");
    }
}
