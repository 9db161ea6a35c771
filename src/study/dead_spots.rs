//! Connected water that stays slow.

use super::{Fields, exposure::LIKELY, record::DeadSpot};

/// Least volume of a dead spot, m³: smaller ones are below what anybody would move a nozzle for (common practice, no source).
pub const LEAST_VOLUME: f64 = 1e-4;
/// Least size of a dead spot in cells: fewer are not resolved by the grid.
pub const LEAST_CELLS: f64 = 4.0;

/// When water counts as dead.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Time-mean speed under this, m/s, and
    pub speed: f64,
    /// under that speed for more than this share of the time.
    pub share: f64,
}

/// A dead spot with the cells it is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// Its figures; `place` is left empty.
    pub spot: DeadSpot,
    /// Middle of the cell of the region that is nearest to its centre, m: in the water even when the region is bent.
    pub inside: [f64; 3],
    /// Cells.
    pub cells: Vec<usize>,
}

/// All dead spots, largest first; marks them by rank in `fields.dead`.
pub fn find(fields: &mut Fields, limits: Limits) -> Vec<Region> {
    let least = LEAST_VOLUME.max(LEAST_CELLS * fields.h.powi(3));
    let mut groups: Vec<(f64, Vec<usize>)> = groups(fields, limits).into_iter().map(|cells| (volume(fields, &cells), cells)).collect();
    groups.retain(|(volume, _)| *volume >= least * (1.0 - 1e-6));
    groups.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1[0].cmp(&b.1[0])));
    groups.truncate(usize::from(u16::MAX));
    fields.dead = vec![0; fields.len()];
    let water = fields.water_volume();
    let regions: Vec<Region> =
        groups.into_iter().enumerate().map(|(index, (volume, cells))| region(fields, index + 1, (volume, water), limits, cells)).collect();
    for region in &regions {
        region.cells.iter().for_each(|&cell| fields.dead[cell] = region.spot.rank as u16);
    }
    regions
}

fn is_dead(fields: &Fields, index: usize, limits: Limits) -> bool {
    fields.water[index] > 0.0 && f64::from(fields.mean_speed[index]) < limits.speed && f64::from(fields.share_still[index]) > limits.share
}

/// Under the dead speed by more than two standard errors.
fn is_sure(fields: &Fields, index: usize, limits: Limits) -> bool {
    f64::from(fields.mean_speed[index]) + LIKELY * fields.error(index).unwrap_or_default() < limits.speed
}

fn volume(fields: &Fields, cells: &[usize]) -> f64 {
    cells.iter().map(|&cell| fields.volume(cell)).sum()
}

/// Dead cells that touch by a face, group by group, in the order of their first cells.
fn groups(fields: &Fields, limits: Limits) -> Vec<Vec<usize>> {
    let mut waiting: Vec<bool> = (0..fields.len()).map(|index| is_dead(fields, index, limits)).collect();
    let mut groups = Vec::new();
    for start in 0..waiting.len() {
        if std::mem::take(&mut waiting[start]) {
            groups.push(flood(fields, start, &mut waiting));
        }
    }
    groups
}

fn flood(fields: &Fields, start: usize, waiting: &mut [bool]) -> Vec<usize> {
    let mut cells = vec![start];
    let mut next = 0;
    while next < cells.len() {
        for neighbour in neighbours(fields.n, fields.cell(cells[next])).into_iter().flatten() {
            let index = fields.index(neighbour);
            if std::mem::take(&mut waiting[index]) {
                cells.push(index);
            }
        }
        next += 1;
    }
    cells
}

/// The six cells that share a face with a cell; `None` outside the grid.
fn neighbours(n: [usize; 3], cell: [usize; 3]) -> [Option<[usize; 3]>; 6] {
    std::array::from_fn(|side| {
        let (axis, up) = (side / 2, side % 2 == 1);
        let mut next = cell;
        next[axis] = if up { Some(cell[axis] + 1).filter(|&c| c < n[axis])? } else { cell[axis].checked_sub(1)? };
        Some(next)
    })
}

fn region(fields: &Fields, rank: usize, (volume, water): (f64, f64), limits: Limits, cells: Vec<usize>) -> Region {
    let mean = |of: &dyn Fn(usize) -> f64| cells.iter().map(|&cell| fields.volume(cell) * of(cell)).sum::<f64>() / volume;
    let centre: [f64; 3] = std::array::from_fn(|axis| mean(&|cell| fields.centre(cell)[axis]));
    let edge = |axis: usize, of: fn(f64, f64) -> f64, start: f64| cells.iter().map(|&c| fields.centre(c)[axis]).fold(start, of);
    let spot = DeadSpot {
        rank,
        volume_m3: volume,
        share: volume / water,
        centre_m: centre,
        from_m: std::array::from_fn(|axis| edge(axis, f64::min, f64::INFINITY) - fields.h / 2.0),
        to_m: std::array::from_fn(|axis| edge(axis, f64::max, f64::NEG_INFINITY) + fields.h / 2.0),
        mean_speed_m_s: mean(&|cell| f64::from(fields.mean_speed[cell])),
        longest_still_s: cells.iter().map(|&cell| fields.longest_still.get(cell).map_or(0.0, |&s| f64::from(s))).fold(0.0, f64::max),
        sure_share: (!fields.standard_error.is_empty()).then(|| mean(&|cell| if is_sure(fields, cell, limits) { 1.0 } else { 0.0 })),
        place: String::new(),
        cause: None,
    };
    let off = |cell: usize| (0..3).map(|axis| (fields.centre(cell)[axis] - centre[axis]).powi(2)).sum::<f64>();
    let nearest = cells.iter().copied().min_by(|&a, &b| off(a).total_cmp(&off(b))).unwrap_or_default();
    Region { spot, inside: fields.centre(nearest), cells }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: Limits = Limits { speed: 0.02, share: 0.9 };

    /// 10 × 6 × 5 cells of 5 cm (0.125 L) at 10 cm/s, with still boxes in it given by their first and last cells.
    fn with_still(boxes: &[([usize; 3], [usize; 3])]) -> Fields {
        let n = [10, 6, 5];
        let count = n.iter().product();
        let mut fields = Fields {
            n,
            h: 0.05,
            water: vec![1.0; count],
            mean_speed: vec![0.1; count],
            share_still: vec![0.0; count],
            dead: vec![0; count],
            ..Fields::default()
        };
        for index in 0..count {
            let cell = fields.cell(index);
            if boxes.iter().any(|(from, to)| (0..3).all(|axis| (from[axis]..=to[axis]).contains(&cell[axis]))) {
                fields.mean_speed[index] = 0.01;
                fields.share_still[index] = 0.95;
            }
        }
        fields
    }

    #[test]
    fn boxes_are_found_with_their_sizes_and_ranks() {
        let mut fields = with_still(&[([0, 0, 0], [1, 1, 1]), ([5, 2, 1], [8, 4, 3])]);
        let found = find(&mut fields, LIMITS);
        assert_eq!(found.len(), 2);
        let (large, small) = (&found[0].spot, &found[1].spot);
        assert!((large.volume_m3 - 36.0 * 0.05f64.powi(3)).abs() < 1e-12);
        assert!((large.share - 36.0 / 300.0).abs() < 1e-12);
        assert!((small.volume_m3 - 1e-3).abs() < 1e-12);
        for axis in 0..3 {
            assert!((large.centre_m[axis] - [0.35, 0.175, 0.125][axis]).abs() < 1e-9);
            assert!((large.from_m[axis] - [0.25, 0.10, 0.05][axis]).abs() < 1e-9);
            assert!((large.to_m[axis] - [0.45, 0.25, 0.20][axis]).abs() < 1e-9);
        }
        assert!((large.mean_speed_m_s - 0.01).abs() < 1e-8);
        assert_eq!(fields.dead.iter().filter(|&&rank| rank == 1).count(), 36);
        assert_eq!(fields.dead.iter().filter(|&&rank| rank == 2).count(), 8);
    }

    #[test]
    fn touching_by_an_edge_is_not_connected() {
        let mut fields = with_still(&[([0, 0, 0], [1, 1, 1]), ([2, 2, 0], [3, 3, 1])]);
        assert_eq!(find(&mut fields, LIMITS).len(), 2);
    }

    #[test]
    fn specks_rock_and_brief_stillness_are_not_dead_spots() {
        let mut speck = with_still(&[([4, 4, 4], [6, 4, 4])]);
        assert!(find(&mut speck, LIMITS).is_empty());
        let mut brief = with_still(&[([0, 0, 0], [4, 4, 4])]);
        brief.share_still.iter_mut().for_each(|share| *share = share.min(0.89));
        assert!(find(&mut brief, LIMITS).is_empty());
        let mut rock = with_still(&[([0, 0, 0], [4, 4, 4])]);
        rock.water = rock.mean_speed.iter().map(|&speed| if speed < 0.02 { 0.0 } else { 1.0 }).collect();
        assert!(find(&mut rock, LIMITS).is_empty());
    }
}
