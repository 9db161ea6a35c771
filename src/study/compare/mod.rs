//! Several studies on one scale: every measure side by side, what was gained and lost, dead spots matched. A pure function of studies.

pub mod findings;
pub mod measures;
pub mod spots;

use super::{Fields, Study};
use crate::layout::Layout;
use crate::layout::changes::{FieldChange, changes};
use findings::FindingChange;
use measures::Measure;
use serde::{Deserialize, Serialize};
use spots::SpotChange;

/// Version of [`Comparison`]'s form.
pub const COMPARE_VERSION: u32 = 1;

/// A study to be compared.
#[derive(Debug, Clone)]
pub struct Case {
    /// As the user named it: a file, a file with a what-if or sequence, or a folder.
    pub name: String,
    /// What was studied; `None` when a saved study doesn't hold its layout.
    pub layout: Option<Layout>,
    /// The study; its fields may be empty when a saved study doesn't hold them.
    pub study: Study,
}

/// The comparison of two studies or more: the first is the one that the others are held against.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Comparison {
    /// [`COMPARE_VERSION`].
    pub compare_version: u32,
    /// What is compared, in the order typed.
    pub cases: Vec<CaseInfo>,
    /// Every measure, one value a case.
    pub measures: Vec<Measure>,
    /// Each case but the first against the first.
    pub against_first: Vec<Against>,
    /// What makes the comparison less than fair, in words; empty when nothing does.
    pub cautions: Vec<String>,
}

/// A case in short.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CaseInfo {
    /// `A`, `B` and so on.
    pub letter: String,
    /// As the user named it.
    pub name: String,
    /// Name of its layout.
    pub layout: String,
    /// Cell edge, m.
    pub cell_m: f64,
    /// Time averaged over, s.
    pub averaged_s: f64,
    /// Stopped early.
    pub interrupted: bool,
    /// Where its error bars come from, in words.
    pub error_bars: String,
}

/// One case against the first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Against {
    /// Letter of the case.
    pub letter: String,
    /// What differs between the layouts; `None` when one of them isn't known.
    pub changes: Option<Vec<FieldChange>>,
    /// Findings gained, lost or of another grade.
    pub findings: Vec<FindingChange>,
    /// Dead spots of both, matched where they overlap.
    pub dead_spots: Vec<SpotChange>,
}

/// Compares studies, the first against each of the others.
pub fn compare(cases: &[Case]) -> Comparison {
    let records: Vec<_> = cases.iter().map(|case| &case.study.record).collect();
    Comparison {
        compare_version: COMPARE_VERSION,
        cases: cases.iter().enumerate().map(|(index, case)| info(index, case)).collect(),
        measures: measures::all(&records),
        against_first: (1..cases.len()).map(|index| against(&cases[0], &cases[index], index)).collect(),
        cautions: cautions(cases),
    }
}

/// `A` to `Z`, then numbers.
pub fn letter(index: usize) -> String {
    u8::try_from(index).ok().filter(|i| *i < 26).map_or_else(|| (index + 1).to_string(), |i| char::from(b'A' + i).to_string())
}

fn info(index: usize, case: &Case) -> CaseInfo {
    let record = &case.study.record;
    CaseInfo {
        letter: letter(index),
        name: case.name.clone(),
        layout: record.layout.clone(),
        cell_m: record.run.cell_m,
        averaged_s: record.run.averaged_s,
        interrupted: record.run.interrupted,
        error_bars: measures::error_words(record),
    }
}

fn against(first: &Case, other: &Case, index: usize) -> Against {
    let dead_spots = spots::matched(marked(&first.study), marked(&other.study));
    let layouts = first.layout.as_ref().zip(other.layout.as_ref());
    Against {
        letter: letter(index),
        changes: layouts.map(|(before, after)| changes(before, after)),
        findings: findings::changes(&first.study.record.findings, &other.study.record.findings, &dead_spots),
        dead_spots,
    }
}

/// Whether the fields of two studies stand on the same cells; never when a saved study doesn't hold them.
pub fn is_same_grid(a: &Fields, b: &Fields) -> bool {
    a.n == b.n && !a.is_empty() && (a.h - b.h).abs() < 1e-6 * a.h
}

fn cautions(cases: &[Case]) -> Vec<String> {
    let Some(first) = cases.first() else { return Vec::new() };
    let mut said = Vec::new();
    for (index, case) in cases.iter().enumerate() {
        let (run, base, letter) = (&case.study.record.run, &first.study.record.run, letter(index));
        if run.interrupted {
            said.push(format!("{letter} was stopped early: its averages are over {:.0} s", run.averaged_s));
        }
        if (run.cell_m - base.cell_m).abs() > 0.02 * base.cell_m {
            said.push(format!(
                "{letter} has cells of {:.1} mm and A of {:.1} mm: part of a difference may be the grid's",
                run.cell_m * 1e3,
                base.cell_m * 1e3
            ));
        }
        if (run.spin_up_s - base.spin_up_s).abs() > 1.0 || run.seed != base.seed {
            said.push(format!("{letter} was run with another spin-up or seed than A"));
        }
    }
    said
}

fn marked(study: &Study) -> spots::Marked<'_> {
    (&study.fields, &study.record.dead_spots)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cases_have_letters() {
        assert_eq!([letter(0), letter(25), letter(26)], ["A", "Z", "27"]);
    }
}
