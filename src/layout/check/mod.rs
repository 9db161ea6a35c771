//! What is wrong with a layout, as far as the layout alone can tell: numbers, names, places, holes, plumbing, sequences.

mod glass;
mod measured;
mod names;
mod places;
mod plumbing;
mod sequences;
mod sizes;

use super::Layout;
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::units::{Display, LengthKind, show};

/// Everything that is wrong, the worst first. A finding that `blocks` keeps the layout from being computed; places and holes
/// are judged only when the numbers make sense.
pub fn check(layout: &Layout, catalog: &Catalog) -> Vec<Finding> {
    let mut found = sizes::check(layout);
    let sound = !found.iter().any(|finding| finding.blocks);
    found.extend(names::check(layout, catalog));
    found.extend(plumbing::check(layout));
    found.extend(sequences::check(layout));
    found.extend(measured::check(layout));
    if sound {
        found.extend(places::check(layout));
        found.extend(glass::check(layout));
    }
    found.sort_by_key(|finding| (!finding.blocks, std::cmp::Reverse(finding.grade)));
    found
}

/// A length (m) as the user reads it.
fn length(metres: f64, display: Display) -> String {
    show::<LengthKind>(metres, display)
}

fn fault(rule: &str, part: String, what: String, why: &str, mend: &str) -> Finding {
    Finding::new(Grade::Fault, rule, part, what, why, mend)
}

fn caution(rule: &str, part: String, what: String, why: &str, mend: &str) -> Finding {
    Finding::new(Grade::Caution, rule, part, what, why, mend)
}

#[cfg(test)]
mod tests;
