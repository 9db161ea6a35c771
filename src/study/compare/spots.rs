//! Dead spots of two studies matched by the water that they share.

use super::is_same_grid;
use crate::study::{Fields, record::DeadSpot};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Least share of the smaller spot that must lie in the other for the two to count as the same: common practice, no source.
pub const LEAST_SHARED: f64 = 0.1;

/// A dead spot before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpotChange {
    /// Rank in the first study; `None` when it is new.
    pub before: Option<usize>,
    /// Rank in the second study; `None` when it is gone.
    pub after: Option<usize>,
    /// Volume in the first, m³; 0 when new.
    pub volume_before_m3: f64,
    /// Volume in the second, m³; 0 when gone.
    pub volume_after_m3: f64,
    /// Share of the smaller of the two that lies in both, 0 to 1.
    pub shared: f64,
    /// Where, in words: of the second, or of the first when it is gone.
    pub place: String,
}

/// The fields of a study, with its dead spots marked in them, and those spots.
pub type Marked<'a> = (&'a Fields, &'a [DeadSpot]);

/// Every dead spot of either study once: kept ones in the first's order, then those gone, then new ones. Exact by cells when both stand on
/// the same grid, by bounding boxes otherwise.
pub fn matched(first: Marked, second: Marked) -> Vec<SpotChange> {
    let (before, after) = (first.1, second.1);
    let pairs = pairs(first, second);
    let partner = |rank: usize| pairs.iter().find(|(a, _, _)| *a == rank);
    let by_rank = |spots: &'_ [DeadSpot], rank: usize| spots.iter().find(|spot| spot.rank == rank).cloned();
    let (kept, gone): (Vec<_>, Vec<_>) = before.iter().partition(|spot| partner(spot.rank).is_some());
    let mut found: Vec<SpotChange> = kept
        .into_iter()
        .filter_map(|spot| partner(spot.rank).map(|(_, rank, shared)| change(Some(spot), by_rank(after, *rank).as_ref(), *shared)))
        .collect();
    found.extend(gone.into_iter().map(|spot| change(Some(spot), None, 0.0)));
    let is_new = |spot: &&DeadSpot| !pairs.iter().any(|(_, rank, _)| *rank == spot.rank);
    found.extend(after.iter().filter(is_new).map(|spot| change(None, Some(spot), 0.0)));
    found
}

fn change(before: Option<&DeadSpot>, after: Option<&DeadSpot>, shared: f64) -> SpotChange {
    SpotChange {
        before: before.map(|spot| spot.rank),
        after: after.map(|spot| spot.rank),
        volume_before_m3: before.map_or(0.0, |spot| spot.volume_m3),
        volume_after_m3: after.map_or(0.0, |spot| spot.volume_m3),
        shared,
        place: after.or(before).map(|spot| spot.place.clone()).unwrap_or_default(),
    }
}

/// Ranks that belong together and the share of the smaller that both have; the largest common water first, each spot once.
fn pairs(first: Marked, second: Marked) -> Vec<(usize, usize, f64)> {
    let common = if is_same_grid(first.0, second.0) { common_cells(first.0, second.0) } else { common_boxes(first.1, second.1) };
    let volume = |spots: &[DeadSpot], rank: usize| spots.iter().find(|spot| spot.rank == rank).map_or(0.0, |spot| spot.volume_m3);
    let mut all: Vec<((usize, usize), f64)> = common.into_iter().collect();
    all.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut pairs: Vec<(usize, usize, f64)> = Vec::new();
    for ((a, b), shared_m3) in all {
        let smaller = volume(first.1, a).min(volume(second.1, b));
        let shared = if smaller > 0.0 { (shared_m3 / smaller).min(1.0) } else { 0.0 };
        if shared >= LEAST_SHARED && !pairs.iter().any(|pair| pair.0 == a || pair.1 == b) {
            pairs.push((a, b, shared));
        }
    }
    pairs
}

fn common_cells(first: &Fields, second: &Fields) -> BTreeMap<(usize, usize), f64> {
    let mut common = BTreeMap::new();
    for (cell, (&a, &b)) in first.dead.iter().zip(&second.dead).enumerate() {
        if a > 0 && b > 0 {
            *common.entry((usize::from(a), usize::from(b))).or_insert(0.0) += first.volume(cell).min(second.volume(cell));
        }
    }
    common
}

fn common_boxes(first: &[DeadSpot], second: &[DeadSpot]) -> BTreeMap<(usize, usize), f64> {
    let side = |a: &DeadSpot, b: &DeadSpot, axis: usize| (a.to_m[axis].min(b.to_m[axis]) - a.from_m[axis].max(b.from_m[axis])).max(0.0);
    let pairs = first.iter().flat_map(|a| second.iter().map(move |b| (a, b)));
    let common = pairs.map(|(a, b)| ((a.rank, b.rank), side(a, b, 0) * side(a, b, 1) * side(a, b, 2)));
    common.filter(|(_, volume)| *volume > 0.0).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spot(rank: usize, x: [f64; 2]) -> DeadSpot {
        let volume_m3 = x[1] - x[0];
        DeadSpot { rank, volume_m3, from_m: [x[0], 0.0, 0.0], to_m: [x[1], 1.0, 1.0], ..DeadSpot::default() }
    }

    fn ranks(found: &[SpotChange]) -> Vec<(Option<usize>, Option<usize>)> {
        found.iter().map(|change| (change.before, change.after)).collect()
    }

    #[test]
    fn boxes_keep_their_partner_when_ranks_change() {
        let (one, other) = (Fields::default(), Fields { n: [3, 1, 1], ..Fields::default() });
        let before = [spot(1, [0.0, 1.0]), spot(2, [2.0, 2.6]), spot(3, [4.0, 4.2])];
        let after = [spot(1, [2.1, 2.9]), spot(2, [0.1, 0.6]), spot(3, [5.0, 5.1])];
        let found = matched((&one, &before), (&other, &after));
        assert_eq!(ranks(&found), [(Some(1), Some(2)), (Some(2), Some(1)), (Some(3), None), (None, Some(3))]);
    }

    #[test]
    fn cells_tell_bent_spots_apart() {
        let field = |dead: [u16; 6]| Fields { n: [6, 1, 1], h: 1.0, water: vec![1.0; 6], dead: dead.to_vec(), ..Fields::default() };
        let (first, second) = (field([1, 1, 1, 0, 2, 2]), field([2, 2, 0, 1, 1, 1]));
        let before = [spot(1, [0.0, 3.0]), spot(2, [4.0, 6.0])];
        let after = [spot(1, [3.0, 6.0]), spot(2, [0.0, 2.0])];
        let found = matched((&first, &before), (&second, &after));
        assert_eq!(ranks(&found), [(Some(1), Some(2)), (Some(2), Some(1))]);
        assert!(found.iter().all(|change| (change.shared - 1.0).abs() < 1e-12), "{found:?}");
    }
}
