//! Packing cut pieces into stock lengths: the fewest lengths that can do, by trying every filling of one length after the other.
//!
//! Pieces of a run are of one length, so there are few kinds of piece and few fillings. The search starts at the bound below which
//! nothing fits and stops at the packing of first fit decreasing, which never needs more than 11/9 of the fewest + 6/9 (Dósa,
//! "The tight bound of first fit decreasing bin-packing algorithm", 2007); it gives up on odd lists after [`MOST_TRIES`] fillings.

/// One stock length and what is cut from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Stick {
    /// Positions of the pieces in the list that was packed.
    pub pieces: Vec<usize>,
    /// Length used, saw cuts included.
    pub used: f64,
}

/// Fillings that are tried before the search gives up.
const MOST_TRIES: usize = 200_000;

/// Lengths closer than this are one kind, in the unit of the lengths.
const SAME: f64 = 1e-9;

/// Packs pieces into stock of one length; each cut costs `kerf`. No piece may be longer than the stock. One unit of length throughout.
pub fn pack(pieces: &[f64], stock: f64, kerf: f64) -> Vec<Stick> {
    let first = first_fit(pieces, stock, kerf);
    let kinds = kinds(pieces);
    let mut search = Search { lengths: kinds.iter().map(|kind| kind.0 + kerf).collect(), room: stock + kerf + SAME, tries: 0 };
    let counts: Vec<usize> = kinds.iter().map(|kind| kind.1.len()).collect();
    let better = (fewest(pieces, stock, kerf)..first.len()).find_map(|sticks| search.fill(&counts, sticks));
    better.map_or(first, |fillings| sticks(&fillings, &kinds, stock, kerf))
}

/// No packing can need fewer sticks than this.
pub fn fewest(pieces: &[f64], stock: f64, kerf: f64) -> usize {
    let cut: f64 = pieces.iter().map(|piece| piece + kerf).sum();
    (cut / (stock + kerf) - 1e-9).ceil().max(0.0) as usize
}

/// A stick is a little longer by the cut that its last piece doesn't need.
fn first_fit(pieces: &[f64], stock: f64, kerf: f64) -> Vec<Stick> {
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    order.sort_by(|a, b| pieces[*b].total_cmp(&pieces[*a]));
    let mut sticks: Vec<Stick> = Vec::new();
    for piece in order {
        let length = pieces[piece] + kerf;
        let at = sticks.iter().position(|stick| stick.used + length <= stock + kerf + SAME).unwrap_or_else(|| {
            sticks.push(Stick { pieces: Vec::new(), used: 0.0 });
            sticks.len() - 1
        });
        sticks[at].used += length;
        sticks[at].pieces.push(piece);
    }
    sticks.iter_mut().for_each(|stick| stick.used = stick.used.min(stock));
    sticks
}

/// Lengths from the longest down, each with the pieces that have it.
fn kinds(pieces: &[f64]) -> Vec<(f64, Vec<usize>)> {
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    order.sort_by(|a, b| pieces[*b].total_cmp(&pieces[*a]));
    let mut kinds: Vec<(f64, Vec<usize>)> = Vec::new();
    for piece in order {
        match kinds.last_mut().filter(|kind| (kind.0 - pieces[piece]).abs() < SAME) {
            Some(kind) => kind.1.push(piece),
            None => kinds.push((pieces[piece], vec![piece])),
        }
    }
    kinds
}

/// How many pieces of each kind come out of one stick.
type Filling = Vec<usize>;

struct Search {
    /// Of each kind, its cut included, from the longest down.
    lengths: Vec<f64>,
    room: f64,
    tries: usize,
}

impl Search {
    /// Fillings of so many sticks that use up all pieces; `None` when there are none, or too many to try.
    fn fill(&mut self, left: &[usize], sticks: usize) -> Option<Vec<Filling>> {
        let total: f64 = left.iter().zip(&self.lengths).map(|(count, length)| *count as f64 * length).sum();
        let Some(longest) = left.iter().position(|count| *count > 0) else { return Some(Vec::new()) };
        if total > sticks as f64 * self.room || self.tries > MOST_TRIES {
            return None;
        }
        // The longest piece must come out of some stick: out of this one.
        let mut filling = vec![0; left.len()];
        filling[longest] = 1;
        let mut fillings = Vec::new();
        self.fillings(left, longest, filling, self.room - self.lengths[longest], &mut fillings);
        fillings.sort_by(|a, b| a.1.total_cmp(&b.1));
        for (filling, _) in fillings {
            let rest: Vec<usize> = left.iter().zip(&filling).map(|(left, used)| left - used).collect();
            if let Some(mut others) = self.fill(&rest, sticks - 1) {
                others.push(filling);
                return Some(others);
            }
        }
        None
    }

    /// Every filling, from kind `at` on, to which no further piece can be added, with the room that it leaves.
    fn fillings(&mut self, left: &[usize], at: usize, filling: Filling, room: f64, into: &mut Vec<(Filling, f64)>) {
        if self.tries > MOST_TRIES {
            return;
        }
        let Some(&length) = self.lengths.get(at) else {
            self.tries += 1;
            let full = (0..left.len()).all(|kind| filling[kind] == left[kind] || self.lengths[kind] > room);
            into.extend(full.then_some((filling, room)));
            return;
        };
        let most = ((room / length) as usize).min(left[at] - filling[at]);
        for count in (0..=most).rev() {
            let mut next = filling.clone();
            next[at] += count;
            self.fillings(left, at + 1, next, room - count as f64 * length, into);
        }
    }
}

fn sticks(fillings: &[Filling], kinds: &[(f64, Vec<usize>)], stock: f64, kerf: f64) -> Vec<Stick> {
    let mut next = vec![0; kinds.len()];
    let mut stick = |filling: &Filling| {
        let mut pieces = Vec::new();
        for (kind, count) in filling.iter().enumerate() {
            pieces.extend(&kinds[kind].1[next[kind]..next[kind] + count]);
            next[kind] += count;
        }
        let used: f64 = filling.iter().zip(kinds).map(|(count, kind)| *count as f64 * (kind.0 + kerf)).sum();
        Stick { pieces, used: used.min(stock) }
    };
    fillings.iter().rev().map(&mut stick).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn assert_sound(pieces: &[f64], stock: f64, kerf: f64) -> usize {
        let sticks = pack(pieces, stock, kerf);
        let mut seen: Vec<usize> = sticks.iter().flat_map(|stick| stick.pieces.clone()).collect();
        seen.sort_unstable();
        assert_eq!(seen, (0..pieces.len()).collect::<Vec<_>>());
        for stick in &sticks {
            let cuts = kerf * (stick.pieces.len() as f64 - 1.0);
            assert!(stick.pieces.iter().map(|p| pieces[*p]).sum::<f64>() + cuts <= stock + 1e-8);
        }
        sticks.len()
    }

    #[test]
    fn every_piece_once_and_no_stick_too_long() {
        let pieces: Vec<f64> = (1..40).map(|i| f64::from(i * 37 % 100) / 100.0 * 2.9 + 0.05).collect();
        let count = assert_sound(&pieces, 3.0, 0.003);
        let bound = fewest(&pieces, 3.0, 0.003);
        assert!(count >= bound && count as f64 <= bound as f64 * 11.0 / 9.0 + 2.0);
    }

    /// By hand.
    #[test]
    fn known_packings() {
        assert_eq!(assert_sound(&[3.0, 3.0], 3.0, 0.003), 2);
        assert_eq!(assert_sound(&[1.0, 2.0, 1.0, 1.9], 3.0, 0.003), 3);
        assert_eq!(assert_sound(&[0.4, 0.6, 0.5, 0.4], 1.0, 0.0), 2);
        assert!(pack(&[], 3.0, 0.003).is_empty());
    }

    /// 5 3 2, 5 3 2, 4 3 3, 4 3 3 fill four lengths of 10; taking the longest first needs a fifth.
    #[test]
    fn the_fewest_where_the_longest_first_fails() {
        let pieces = [5.0, 5.0, 4.0, 4.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 2.0, 2.0];
        assert_eq!(first_fit(&pieces, 10.0, 0.0).len(), 5);
        assert_eq!(assert_sound(&pieces, 10.0, 0.0), 4);
    }

    #[test]
    fn odd_lists_come_to_an_end() {
        let pieces: Vec<f64> = (0..120).map(|i| 0.2 + 0.0137 * f64::from(i * 53 % 97)).collect();
        assert_sound(&pieces, 3.0, 0.003);
    }
}
