//! Packing cut pieces into stock lengths: first-fit decreasing, which never needs more than 11/9 of the fewest possible + 6/9.
//! (Dósa, "The tight bound of first fit decreasing bin-packing algorithm", 2007.)

/// One stock length and what is cut from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Stick {
    /// Positions of the pieces in the list that was packed.
    pub pieces: Vec<usize>,
    /// Length used, saw cuts included.
    pub used: f64,
}

/// Packs pieces into stock of one length; each cut costs `kerf`. No piece may be longer than the stock. One unit of length throughout.
pub fn pack(pieces: &[f64], stock: f64, kerf: f64) -> Vec<Stick> {
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    order.sort_by(|a, b| pieces[*b].total_cmp(&pieces[*a]));
    let mut sticks: Vec<Stick> = Vec::new();
    for piece in order {
        let length = pieces[piece];
        // A piece as long as the stick needs no cut.
        let cost = |used: f64| if used + length + kerf > stock { length } else { length + kerf };
        match sticks.iter_mut().find(|stick| stick.used + length <= stock + 1e-9) {
            Some(stick) => {
                stick.used += cost(stick.used);
                stick.pieces.push(piece);
            }
            None => sticks.push(Stick { pieces: vec![piece], used: cost(0.0) }),
        }
    }
    sticks
}

/// No packing can need fewer sticks than this.
pub fn fewest(pieces: &[f64], stock: f64) -> usize {
    (pieces.iter().sum::<f64>() / stock - 1e-9).ceil().max(0.0) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_piece_once_and_no_stick_too_long() {
        let pieces: Vec<f64> = (1..40).map(|i| f64::from(i * 37 % 100) / 100.0 * 2.9 + 0.05).collect();
        let sticks = pack(&pieces, 3.0, 0.003);
        let mut seen: Vec<usize> = sticks.iter().flat_map(|stick| stick.pieces.clone()).collect();
        seen.sort_unstable();
        assert_eq!(seen, (0..pieces.len()).collect::<Vec<_>>());
        for stick in &sticks {
            let cuts = 0.003 * (stick.pieces.len() as f64 - 1.0);
            assert!(stick.pieces.iter().map(|p| pieces[*p]).sum::<f64>() + cuts <= 3.0 + 1e-9);
        }
        let bound = fewest(&pieces, 3.0);
        assert!(sticks.len() >= bound && sticks.len() as f64 <= bound as f64 * 11.0 / 9.0 + 2.0);
    }

    #[test]
    fn known_packings() {
        assert_eq!(pack(&[3.0, 3.0], 3.0, 0.003).len(), 2);
        assert_eq!(pack(&[1.0, 2.0, 1.0, 1.9], 3.0, 0.003).len(), 3);
        assert_eq!(pack(&[0.4, 0.6, 0.5, 0.4], 1.0, 0.0).len(), 2);
        assert!(pack(&[], 3.0, 0.003).is_empty());
    }
}
