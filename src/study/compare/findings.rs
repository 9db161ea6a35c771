//! Findings gained, lost, or told in another grade.

use super::spots::SpotChange;
use crate::finding::{Finding, Grade};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How a finding stands against the first study.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    /// The first study doesn't have it.
    Gained,
    /// Both have it, the first in a milder grade.
    Worse,
    /// Both have it, the first in a worse grade.
    Milder,
    /// Only the first study has it.
    Lost,
}

impl Change {
    /// The word shown to people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Gained => "gained",
            Self::Worse => "worse",
            Self::Milder => "milder",
            Self::Lost => "lost",
        }
    }
}

/// A finding that is not the same in both studies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FindingChange {
    /// How it stands.
    pub change: Change,
    /// The finding: of the second study, or of the first when it is lost.
    pub finding: Finding,
    /// Grade in the first study, when both have it.
    pub was: Option<Grade>,
}

/// What differs between two lists, gained first, the worst grade first. A dead spot counts as the same where the two were matched.
pub fn changes(before: &[Finding], after: &[Finding], spots: &[SpotChange]) -> Vec<FindingChange> {
    let before = worst_by_key(before, &|part| part.to_owned());
    let after = worst_by_key(after, &|part| part_before(part, spots));
    let mut found: Vec<FindingChange> = after.iter().filter_map(|(key, finding)| new_or_other(before.get(key).copied(), finding)).collect();
    let lost = before.iter().filter(|(key, _)| !after.contains_key(*key));
    found.extend(lost.map(|(_, finding)| FindingChange { change: Change::Lost, finding: (*finding).clone(), was: None }));
    found.sort_by(|a, b| a.change.cmp(&b.change).then(b.finding.grade.cmp(&a.finding.grade)));
    found
}

fn new_or_other(was: Option<&Finding>, finding: &Finding) -> Option<FindingChange> {
    let change = match was {
        None => Change::Gained,
        Some(was) if was.grade < finding.grade => Change::Worse,
        Some(was) if was.grade > finding.grade => Change::Milder,
        Some(_) => return None,
    };
    Some(FindingChange { change, finding: finding.clone(), was: was.map(|was| was.grade) })
}

type Key = (String, String);

/// One finding a rule and part: the worst.
fn worst_by_key<'a>(findings: &'a [Finding], part: &dyn Fn(&str) -> String) -> BTreeMap<Key, &'a Finding> {
    let mut found: BTreeMap<Key, &Finding> = BTreeMap::new();
    for finding in findings {
        let entry = found.entry((finding.rule.clone(), part(&finding.part))).or_insert(finding);
        if finding.grade > entry.grade {
            *entry = finding;
        }
    }
    found
}

/// Dead spots by the name of their partner in the first study.
fn part_before(part: &str, spots: &[SpotChange]) -> String {
    let Some(rank) = part.strip_prefix("dead_spots/").and_then(|rank| rank.parse().ok()) else { return part.to_owned() };
    let before = spots.iter().find(|spot| spot.after == Some(rank)).and_then(|spot| spot.before);
    before.map_or_else(|| format!("dead_spots/new {rank}"), |rank| format!("dead_spots/{rank}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn finding(grade: Grade, rule: &str, part: &str) -> Finding {
        Finding::new(grade, rule, part, "what", "", "")
    }

    #[test]
    fn gained_lost_and_regraded() {
        let before = [finding(Grade::Fault, "screen", "intakes/I"), finding(Grade::Note, "bore", ""), finding(Grade::Note, "slow", "p")];
        let after =
            [finding(Grade::Caution, "screen", "intakes/I"), finding(Grade::Caution, "slow", "p"), finding(Grade::Fault, "slow", "q")];
        let told: Vec<_> = changes(&before, &after, &[]).into_iter().map(|c| (c.change, c.finding.part, c.was)).collect();
        assert_eq!(
            told,
            [
                (Change::Gained, "q".to_owned(), None),
                (Change::Worse, "p".to_owned(), Some(Grade::Note)),
                (Change::Milder, "intakes/I".to_owned(), Some(Grade::Fault)),
                (Change::Lost, String::new(), None),
            ]
        );
    }

    #[test]
    fn a_dead_spot_that_changed_its_rank_is_the_same() {
        let spot =
            |before, after| SpotChange { before, after, volume_before_m3: 1.0, volume_after_m3: 1.0, shared: 1.0, place: String::new() };
        let (was, is) = ([finding(Grade::Note, "dead-spot", "dead_spots/1")], [finding(Grade::Note, "dead-spot", "dead_spots/2")]);
        assert_eq!(changes(&was, &is, &[spot(Some(1), Some(2))]), []);
        assert_eq!(changes(&was, &is, &[spot(Some(1), None), spot(None, Some(2))]).len(), 2);
    }
}
