//! How much the cells' size matters: the same study on two coarser grids, after Richardson and Roache.
//!
//! f₁, f₂, f₃ on cells of h, r h, r² h. Observed order p = ln((f₃ − f₂)/(f₂ − f₁))/ln r; error of f₁ = 1.25 |f₂ − f₁|/(r^p − 1) (grid convergence
//! index; Roache 1994; Celik et al. 2008, JFE 130:078001). Where the three don't converge one way no order can be seen; then the error is taken
//! as 3 |f₂ − f₁|/(r − 1), the safety factor for two grids with p = 1, and no less than half the spread of the three.

use super::record::GridError;

/// Ratio of the cells of successive grids.
pub const RATIO: f64 = 1.5;
/// Orders outside these are taken for the nearer end: a lower one would blow the error up, a higher one play it down.
const ORDERS: (f64, f64) = (0.5, 2.0);

/// The error of a figure from its values on three grids, finest first.
pub fn of(quantity: &str, unit: &str, values: [f64; 3], cells_m: [f64; 3]) -> GridError {
    let [fine, middle, coarse] = values;
    let ratio = (cells_m[1] / cells_m[0]).max(1.01);
    let (near, far) = (middle - fine, coarse - middle);
    let order = (near * far > 0.0).then(|| (far / near).ln() / ratio.ln()).filter(|order| *order > 0.0);
    let spread = values.iter().fold(f64::MIN, |a, &b| a.max(b)) - values.iter().fold(f64::MAX, |a, &b| a.min(b));
    let error = match order {
        Some(order) => 1.25 * near.abs() / (ratio.powf(order.clamp(ORDERS.0, ORDERS.1)) - 1.0),
        None => (3.0 * near.abs() / (ratio - 1.0)).max(0.5 * spread),
    };
    GridError { quantity: quantity.into(), unit: unit.into(), values: values.to_vec(), cells_m: cells_m.to_vec(), order, error }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// f = 1 + 2 h^p on h, 1.5 h, 2.25 h: the order comes back, and the error is 1.25 times the exact one.
    #[test]
    fn known_orders_come_back() {
        for order in [1.0, 1.7, 2.0] {
            let cells = [0.02, 0.03, 0.045];
            let found = of("f", "m/s", cells.map(|h: f64| 1.0 + 2.0 * h.powf(order)), cells);
            assert!((found.order.unwrap() - order).abs() < 1e-9, "{found:?}");
            assert!((found.error / (1.25 * 2.0 * 0.02f64.powf(order)) - 1.0).abs() < 1e-9, "{found:?}");
        }
    }

    #[test]
    fn figures_that_go_to_and_fro_show_no_order() {
        let found = of("f", "m/s", [1.0, 1.1, 0.9], [0.02, 0.03, 0.045]);
        assert!(found.order.is_none() && (found.error - 0.6).abs() < 1e-9, "{found:?}");
    }
}
