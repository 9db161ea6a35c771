//! The same dead spot in two studies: which spot of one lies where a spot of the other lay.

use super::{Fields, record::DeadSpot};

/// What became of the dead spots of one study in another.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tracks {
    /// Pairs of ranks (in the first, in the second), the largest overlap first. A spot appears once.
    pub same: Vec<(usize, usize)>,
    /// Ranks in the first that have no partner: gone.
    pub gone: Vec<usize>,
    /// Ranks in the second that have no partner: new.
    pub new: Vec<usize>,
}

/// Two spots are the same when their boxes share this part of the smaller one.
const ALIKE: f64 = 0.25;

/// Matches spots by the overlap of their boxes: good when only the records are left, whatever their grids.
pub fn by_boxes(first: &[DeadSpot], second: &[DeadSpot]) -> Tracks {
    let mut pairs = Vec::new();
    for a in first {
        for b in second {
            let shared = shared(a, b);
            let smaller = size(a.from_m, a.to_m).min(size(b.from_m, b.to_m)).max(1e-12);
            if shared / smaller >= ALIKE {
                pairs.push((shared, a.rank, b.rank));
            }
        }
    }
    tracks(pairs, &ranks(first), &ranks(second))
}

/// Matches spots by the water that they share, cell by cell: exact where both studies have the same cells. `None` where they have not.
pub fn by_cells((first, a): (&Fields, &[DeadSpot]), (second, b): (&Fields, &[DeadSpot])) -> Option<Tracks> {
    if first.n != second.n || first.dead.len() != second.dead.len() {
        return None;
    }
    let mut shared = std::collections::BTreeMap::<(usize, usize), f64>::new();
    for (cell, (&old, &new)) in first.dead.iter().zip(&second.dead).enumerate().filter(|(_, (old, new))| **old > 0 && **new > 0) {
        *shared.entry((usize::from(old), usize::from(new))).or_default() += first.volume(cell).min(second.volume(cell));
    }
    let volume = |spots: &[DeadSpot], rank: usize| spots.iter().find(|spot| spot.rank == rank).map_or(f64::INFINITY, |spot| spot.volume_m3);
    let alike = |&((old, new), volume_m3): &((usize, usize), f64)| volume_m3 >= ALIKE * volume(a, old).min(volume(b, new));
    let pairs = shared.into_iter().filter(alike).map(|((old, new), volume)| (volume, old, new)).collect();
    Some(tracks(pairs, &ranks(a), &ranks(b)))
}

fn ranks(spots: &[DeadSpot]) -> Vec<usize> {
    spots.iter().map(|spot| spot.rank).collect()
}

/// The largest overlaps first, every spot once.
fn tracks(mut pairs: Vec<(f64, usize, usize)>, first: &[usize], second: &[usize]) -> Tracks {
    pairs.sort_by(|x, y| y.0.total_cmp(&x.0).then((x.1, x.2).cmp(&(y.1, y.2))));
    let mut found = Tracks::default();
    for (_, a, b) in pairs {
        if found.same.iter().all(|&(old, new)| old != a && new != b) {
            found.same.push((a, b));
        }
    }
    found.gone = first.iter().copied().filter(|rank| found.same.iter().all(|&(old, _)| old != *rank)).collect();
    found.new = second.iter().copied().filter(|rank| found.same.iter().all(|&(_, new)| new != *rank)).collect();
    found
}

fn size(from: [f64; 3], to: [f64; 3]) -> f64 {
    (0..3).map(|axis| (to[axis] - from[axis]).max(0.0)).product()
}

fn shared(a: &DeadSpot, b: &DeadSpot) -> f64 {
    let from = std::array::from_fn(|axis| a.from_m[axis].max(b.from_m[axis]));
    size(from, std::array::from_fn(|axis| a.to_m[axis].min(b.to_m[axis])))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spot(rank: usize, x: [f64; 2]) -> DeadSpot {
        let volume_m3 = x[1] - x[0];
        DeadSpot { rank, volume_m3, from_m: [x[0], 0.0, 0.0], to_m: [x[1], 1.0, 1.0], ..DeadSpot::default() }
    }

    #[test]
    fn spots_keep_their_partner_when_ranks_change() {
        let before = [spot(1, [0.0, 1.0]), spot(2, [2.0, 2.6]), spot(3, [4.0, 4.2])];
        let after = [spot(1, [2.1, 2.9]), spot(2, [0.1, 0.6]), spot(3, [5.0, 5.1])];
        let found = by_boxes(&before, &after);
        assert_eq!(found.same, [(1, 2), (2, 1)]);
        assert_eq!((found.gone, found.new), (vec![3], vec![3]));
    }

    #[test]
    fn cells_tell_bent_spots_apart() {
        let field = |dead: [u16; 6]| Fields { n: [6, 1, 1], h: 1.0, water: vec![1.0; 6], dead: dead.to_vec(), ..Fields::default() };
        let (first, second) = (field([1, 1, 1, 0, 2, 2]), field([2, 2, 0, 1, 1, 1]));
        let before = [spot(1, [0.0, 3.0]), spot(2, [4.0, 6.0])];
        let after = [spot(1, [3.0, 6.0]), spot(2, [0.0, 2.0])];
        let found = by_cells((&first, &before), (&second, &after)).unwrap();
        assert_eq!(found, Tracks { same: vec![(1, 2), (2, 1)], gone: vec![], new: vec![] });
        let other = Fields { n: [3, 1, 1], dead: vec![1; 3], ..first.clone() };
        assert_eq!(by_cells((&first, &before), (&other, &after)), None);
    }
}
