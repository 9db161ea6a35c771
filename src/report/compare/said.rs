//! What a comparison says in words.

use crate::report::shown::{count, part, sentence, volume};
use crate::study::compare::Comparison;
use crate::study::compare::findings::FindingChange;
use crate::study::compare::measures::{Measure, Standing};
use crate::study::compare::spots::SpotChange;
use crate::units::Display;

/// Names of measures that a sentence lists before it says "and 5 more".
const LISTED: usize = 4;

/// How the error bars are made and used; said wherever they are shown.
pub const BARS: &str = "± is half the width of an error bar. Two values are the same when they differ by less than their bars, added by their squares. \
    Plumbing is solved, not sampled: its bars are half a per cent.";

/// One case against the first, in a few sentences.
pub fn verdict(comparison: &Comparison, index: usize) -> String {
    let letter = &comparison.cases[index].letter;
    let of = |wanted: Standing| -> Vec<&Measure> {
        comparison.measures.iter().filter(|measure| measure.standings[index] == Some(wanted)).collect()
    };
    let (better, worse, same) = (of(Standing::Better), of(Standing::Worse), of(Standing::Same));
    let head = match (better.is_empty(), worse.is_empty()) {
        (true, true) => format!("{letter} is neither better nor worse than A by more than the error bars."),
        (false, true) => format!("{letter} is better than A where the two differ: {}.", listed(&better)),
        (true, false) => format!("{letter} is worse than A where the two differ: {}.", listed(&worse)),
        (false, false) => format!("{letter} trades: better in {}; worse in {}.", listed(&better), listed(&worse)),
    };
    let tally =
        format!("{} better, {} worse, {} the same within their error bars.", count(better.len(), "measure"), worse.len(), same.len());
    format!("{head} {tally} {}", grades(comparison, index))
}

fn grades(comparison: &Comparison, index: usize) -> String {
    let of = |id: &str, at: usize| {
        let measure = comparison.measures.iter().find(|measure| measure.id == id);
        measure.and_then(|measure| measure.values[at]).map_or(0, |valued| valued.value as usize)
    };
    let letter = &comparison.cases[index].letter;
    format!(
        "{letter} has {} and {}, A {} and {}.",
        count(of("faults", index), "fault"),
        count(of("cautions", index), "caution"),
        count(of("faults", 0), "fault"),
        count(of("cautions", 0), "caution")
    )
}

fn listed(measures: &[&Measure]) -> String {
    let name = |measure: &&Measure| format!("{} ({})", lowered(&measure.name), lowered(&measure.group));
    let names: Vec<String> = measures.iter().take(LISTED).map(name).collect();
    let more = measures.len().saturating_sub(LISTED);
    if more > 0 { format!("{} and {more} more", names.join(", ")) } else { names.join(", ") }
}

/// Without its capital, unless it is a name.
fn lowered(text: &str) -> String {
    let mut letters = text.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if first.is_uppercase() && second.is_lowercase() => first.to_lowercase().chain(letters).collect(),
        _ => text.to_owned(),
    }
}

/// "gained: FAULT, intake I1: ..." in pieces: how it stands, the grade, part and what.
pub fn finding(change: &FindingChange) -> [String; 3] {
    let grade = match change.was {
        Some(was) => format!("{}, was {}", change.finding.grade.word(), was.word()),
        None => change.finding.grade.word().to_owned(),
    };
    let (part, what) = (part(&change.finding.part), sentence(&change.finding.what));
    let said =
        if what.to_lowercase().starts_with(&part.to_lowercase()) { what } else { sentence(&format!("{part}: {}", change.finding.what)) };
    [change.change.word().to_owned(), grade, said]
}

/// What became of a dead spot: words, before, after.
pub fn spot(spot: &SpotChange, letter: &str, display: Display) -> [String; 4] {
    let of =
        |rank: Option<usize>, cubic_metres: f64| rank.map_or("—".to_owned(), |rank| format!("{rank}: {}", volume(cubic_metres, display)));
    let what = match (spot.before, spot.after) {
        (Some(_), None) => "gone".to_owned(),
        (None, _) => format!("new in {letter}"),
        _ if spot.volume_after_m3 > 1.1 * spot.volume_before_m3 => "grown".to_owned(),
        _ if spot.volume_after_m3 < 0.9 * spot.volume_before_m3 => "shrunk".to_owned(),
        _ => "about the same".to_owned(),
    };
    [what, of(spot.before, spot.volume_before_m3), of(spot.after, spot.volume_after_m3), spot.place.clone()]
}
