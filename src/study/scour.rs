//! Where the sand bed is blown away.
//!
//! The speed in the first cell over the bed gives the bed shear by the log law over a rough bed, u = (u*/κ) ln(z/z₀) with z₀ = d/12
//! (κ = 0.40), which is held against the threshold of motion after Soulsby and Whitehouse 1997:
//! θ_cr = 0.30/(1 + 1.2 D*) + 0.055 (1 − e^(−0.020 D*)), D* = d (g (s − 1)/ν²)^(1/3), τ_cr = θ_cr g (ρ_s − ρ) d.

use super::{Fields, record::SandRecord};
use crate::{
    layout::{Layout, Sand},
    setup,
    water::{GRAVITY, WaterProperties},
};

/// Density of coral sand, aragonite, kg/m³ (handbook value; porous grains are lighter and move sooner).
pub const ARAGONITE: f64 = 2930.0;
/// Von Kármán's constant.
const KARMAN: f64 = 0.40;
/// Height over the bed at which speeds are told, m.
const TOLD_AT: f64 = 0.05;

/// Shear stress at which grains of this diameter (m) and density (kg/m³) begin to move, Pa.
pub fn threshold_shear(grain: f64, density: f64, water: &WaterProperties) -> f64 {
    let excess = density / water.density - 1.0;
    let size = grain * (GRAVITY * excess / water.kinematic_viscosity().powi(2)).cbrt();
    let shields = 0.30 / (1.0 + 1.2 * size) + 0.055 * (1.0 - (-0.020 * size).exp());
    shields * GRAVITY * (density - water.density) * grain
}

/// Speed at a height over the bed (m) when grains of this diameter (m) begin to move, m/s; none at heights within the grains.
pub fn threshold_speed(grain: f64, density: f64, height: f64, water: &WaterProperties) -> f64 {
    let shear_speed = (threshold_shear(grain, density, water) / water.density).sqrt();
    shear_speed / KARMAN * (12.0 * height / grain).max(1.0).ln()
}

/// The sand bed of a layout in the averaged flow; `None` without sand.
pub fn sand(fields: &Fields, layout: &Layout) -> Option<SandRecord> {
    let sand = layout.sand.as_ref()?;
    let water = setup::water(layout);
    let grain = sand.grain.si();
    let bed: Vec<(usize, f64)> = bed_cells(fields, sand);
    let limit = |height: f64| threshold_speed(grain, ARAGONITE, height, &water);
    let excess = |values: &[f32], &(cell, height): &(usize, f64)| f64::from(values[cell]) / limit(height);
    let area = |values: &[f32]| bed.iter().filter(|&place| excess(values, place) > 1.0).count() as f64 * fields.h * fields.h;
    let worst = bed.iter().max_by(|a, b| excess(&fields.mean_speed, a).total_cmp(&excess(&fields.mean_speed, b)));
    Some(SandRecord {
        grain_m: grain,
        threshold_shear_pa: threshold_shear(grain, ARAGONITE, &water),
        threshold_speed_m_s: limit(TOLD_AT),
        bed_area_m2: bed.len() as f64 * fields.h * fields.h,
        blown_area_m2: area(&fields.mean_speed),
        stirred_area_m2: area(&fields.peak),
        worst_ratio: worst.map_or(0.0, |place| excess(&fields.mean_speed, place)),
        worst_at_m: worst.map(|&(cell, _)| fields.centre(cell)),
    })
}

/// For every column with open sand: the lowest cell whose middle is clear of the bed, and how high that is over it, m.
fn bed_cells(fields: &Fields, sand: &Sand) -> Vec<(usize, f64)> {
    let top = sand.depth.si();
    let columns = (0..fields.n[1]).flat_map(|j| (0..fields.n[0]).map(move |i| (i, j)));
    let lowest = |(i, j): (usize, usize)| {
        let clear = |&k: &usize| (k as f64 + 0.5) * fields.h - top >= 0.25 * fields.h;
        let k = (0..fields.n[2]).find(clear)?;
        let cell = fields.index([i, j, k]);
        (fields.water[cell] > 0.5).then_some((cell, (k as f64 + 0.5) * fields.h - top))
    };
    columns.filter_map(lowest).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Reference 8.5 and 8.6: Soulsby's threshold for aragonite in water of S 35, 25 °C, to 1 %; the log-law speed at 5 cm, to 1.5 %.
    #[test]
    fn thresholds_of_aragonite() {
        let water = WaterProperties::new(298.15, 35.0);
        let cases = [(0.2e-3, 0.169, 0.257), (0.5e-3, 0.284, 0.295), (1e-3, 0.600, 0.387), (2e-3, 1.540, 0.553)];
        for (grain, shear, speed) in cases {
            let got = threshold_shear(grain, ARAGONITE, &water);
            assert!((got / shear - 1.0).abs() < 0.01, "{grain} m: {got} Pa, not {shear}");
            let got = threshold_speed(grain, ARAGONITE, 0.05, &water);
            assert!((got / speed - 1.0).abs() < 0.015, "{grain} m: {got} m/s, not {speed}");
        }
    }

    #[test]
    fn a_fast_strip_is_blown() {
        let n = [10, 10, 8];
        let mut fields = Fields { n, h: 0.05, water: vec![1.0; 800], ..Fields::default() };
        fields.mean_speed = (0..800).map(|cell| if fields.cell(cell)[0] < 3 { 0.6 } else { 0.05 }).collect();
        fields.peak = (0..800).map(|cell| if fields.cell(cell)[0] < 5 { 0.8 } else { 0.1 }).collect();
        fields.water.iter_mut().take(100).for_each(|water| *water = 0.0);
        let rock = fields.index([0, 0, 1]);
        fields.water[rock] = 0.0;
        let sand: Sand = ron::from_str(r#"(depth: "5 cm", grain: "0.5 mm")"#).unwrap();
        let bed = bed_cells(&fields, &sand);
        assert_eq!(bed.len(), 99);
        assert!(bed.iter().all(|&(cell, height)| fields.cell(cell)[2] == 1 && (height - 0.025).abs() < 1e-12));
    }
}
