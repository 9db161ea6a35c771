//! What the solver noted about links and nodes, in the words of the layout.

use super::assemble::Assembly;
use crate::finding::{Finding, Grade};
use crate::hydraulics::Note;
use crate::layout::Layout;

/// Findings about runs: shut ones, then what was noted.
pub fn findings(layout: &Layout, assembly: &Assembly, notes: &[Note]) -> Vec<Finding> {
    let runs = Runs { parts: names(layout), assembly };
    let shut = assembly.runs.iter().filter(|run| assembly.network.links[run.link].law.is_shut());
    let mut found: Vec<Finding> = shut.filter_map(|run| runs.of_link(run.link)).map(shut_run).collect();
    found.extend(notes.iter().filter_map(|note| noted(note, &runs)));
    found
}

/// The layout's runs, in the order of the assembly's.
struct Runs<'a> {
    parts: Vec<String>,
    assembly: &'a Assembly,
}

impl Runs<'_> {
    fn of_link(&self, link: usize) -> Option<String> {
        let number = self.assembly.runs.iter().position(|run| run.link == link)?;
        self.parts.get(number).cloned()
    }

    /// Ids of the runs that end at any of these nodes.
    fn at(&self, nodes: &[usize]) -> Vec<String> {
        let ends = |link: usize| [self.assembly.network.links[link].from, self.assembly.network.links[link].to];
        let here = self.assembly.runs.iter().enumerate().filter(|(_, run)| ends(run.link).iter().any(|end| nodes.contains(end)));
        here.filter_map(|(number, _)| self.parts.get(number)).map(|part| format!("`{}`", part.rsplit('/').next().unwrap_or(part))).collect()
    }
}

fn names(layout: &Layout) -> Vec<String> {
    let runs = layout.circuits.iter().flat_map(|c| c.suction.iter().chain(&c.discharge).map(move |run| (c, run)));
    runs.map(|(circuit, run)| format!("circuits/{}/{}", circuit.id, run.id)).collect()
}

fn shut_run(part: String) -> Finding {
    let why = "a valve or a blocked screen on it is fully shut";
    Finding::new(Grade::Note, "run-shut", part, "no water passes it", why, "open the valve if that isn't meant")
}

fn noted(note: &Note, runs: &Runs) -> Option<Finding> {
    match note {
        Note::BadLink(link) => {
            let what = "its numbers can't be computed with; it is taken as shut";
            let why = "a roughness as large as the bore, or a number that is none";
            Some(Finding::new(Grade::Fault, "bad-run", runs.of_link(*link)?, what, why, "correct its pipe, length, fittings and `pipes`"))
        }
        Note::NoResistance(link) => {
            let what = "it has neither length nor fittings: no head is lost in it";
            let why = "water would share itself over such runs by nothing but chance; 1e-7 m at 10 L/s is taken";
            Some(Finding::new(Grade::Note, "no-resistance", runs.of_link(*link)?, what, why, "give it its length"))
        }
        Note::Floating(nodes) | Note::Stranded(nodes) => closed_off(&runs.at(nodes)),
        Note::BadTee(_) | Note::Pump(..) => None,
    }
}

/// Nodes without runs are the inside of a fitting.
fn closed_off(runs: &[String]) -> Option<Finding> {
    (!runs.is_empty()).then(|| {
        let what = format!("no open way leads from {} to the tank or the sump", runs.join(", "));
        let why = "the water in there only goes round or stands still, and its pressure can't be told";
        Finding::new(Grade::Caution, "closed-off", "", what, why, "open a valve, or join it to the rest")
    })
}
