//! Water inside porous rock: how fast it seeps, how much goes through, how long that takes to renew what is inside.

use super::Fields;
use serde::{Deserialize, Serialize};

/// Water inside a porous rock.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct SeepageRecord {
    /// The rock, as list/id.
    pub part: String,
    /// Its volume, stone and water.
    pub volume_m3: f64,
    /// Share of it that is water.
    pub porosity: f64,
    /// Mean of the time-mean speed, as flow through the whole section: between the stones it is that over the porosity.
    pub mean_speed_m_s: f64,
    /// The same where it is slowest.
    pub least_speed_m_s: f64,
    /// Share of the volume under 1 mm/s.
    pub hardly_share: f64,
    /// Flow that the mean motion sends in, and out again.
    pub through_m3_s: f64,
    /// Time in which that renews the water inside; `None` when nothing goes through.
    pub renewal_s: Option<f64>,
}

/// A porous rock and the cells whose middles lie in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Inside {
    /// The part, as list/id.
    pub part: String,
    /// Share of it that is water.
    pub porosity: f64,
    /// Cells.
    pub cells: Vec<usize>,
}

/// Speed under which hardly anything is brought to what lives inside, m/s (common practice, no source).
pub const HARDLY: f64 = 1e-3;

/// Every porous rock that has a cell; `fields` with the water inside them.
pub fn records(fields: &Fields, rocks: &[Inside]) -> Vec<SeepageRecord> {
    rocks.iter().filter(|rock| !rock.cells.is_empty()).map(|rock| record(fields, rock)).collect()
}

fn record(fields: &Fields, rock: &Inside) -> SeepageRecord {
    let count = rock.cells.len() as f64;
    let speed = |cell: &usize| f64::from(fields.mean_speed[*cell]);
    let volume = count * fields.h.powi(3);
    let through = through(fields, &rock.cells);
    SeepageRecord {
        part: rock.part.clone(),
        volume_m3: volume,
        porosity: rock.porosity,
        mean_speed_m_s: rock.cells.iter().map(speed).sum::<f64>() / count,
        least_speed_m_s: rock.cells.iter().map(speed).fold(f64::INFINITY, f64::min),
        hardly_share: rock.cells.iter().filter(|cell| speed(cell) < HARDLY).count() as f64 / count,
        through_m3_s: through,
        renewal_s: (through > 0.0).then(|| rock.porosity * volume / through),
    }
}

/// Half of what the mean flow brings in and takes out between the rock's cells and open water, by the velocity inside: that in the open
/// changes too much within a cell.
fn through(fields: &Fields, cells: &[usize]) -> f64 {
    let mut inside = vec![false; fields.len()];
    cells.iter().for_each(|&cell| inside[cell] = true);
    let across = |cell: usize, other: usize| {
        let axis = (0..3).find(|&axis| fields.cell(cell)[axis] != fields.cell(other)[axis]).unwrap_or(0);
        f64::from(fields.mean_velocity[cell][axis]) * fields.h * fields.h
    };
    let outer = |cell: usize| fields.neighbours(cell).filter(|&other| !inside[other] && fields.water[other] > 0.0).collect::<Vec<_>>();
    cells.iter().flat_map(|&cell| outer(cell).into_iter().map(move |other| across(cell, other).abs())).sum::<f64>() / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1 cm/s along x through a block of 4 × 2 × 2 cells of 5 cm: 1e-4 m³/s through 10 × 10 cm, half of 2 L renewed in 10 s.
    #[test]
    fn even_seepage_through_a_block() {
        let n = [8, 4, 4];
        let mut fields = Fields { n, h: 0.05, water: vec![1.0; 128], ..Fields::default() };
        (fields.mean_velocity, fields.mean_speed) = (vec![[0.01, 0.0, 0.0]; 128], vec![0.01; 128]);
        let is_inside = |cell: &usize| {
            let [i, j, k] = fields.cell(*cell);
            (2..6).contains(&i) && (1..3).contains(&j) && (1..3).contains(&k)
        };
        let rock = Inside { part: "rocks/rubble".into(), porosity: 0.5, cells: (0..128).filter(is_inside).collect() };
        let found = records(&fields, &[rock]).remove(0);
        assert!((found.volume_m3 - 2e-3).abs() < 1e-12 && (found.mean_speed_m_s - 0.01).abs() < 1e-8, "{found:?}");
        assert!((found.through_m3_s - 1e-4).abs() < 1e-10 && (found.renewal_s.unwrap() - 10.0).abs() < 1e-5, "{found:?}");
        assert_eq!(found.hardly_share, 0.0);
    }
}
