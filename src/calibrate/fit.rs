//! The least squares: which factors the readings tell apart, their values, their intervals.

use super::factor::{Factor, applied, names};
use super::limits::{SAME, Z95, bounds, step, widest_error};
use super::predict::{Sight, predictions};
use super::record::{Agreement, Compared, Fitted, Left};
use crate::catalog::Catalog;
use crate::layout::{End, Layout};
use nalgebra::DMatrix;
use rmpfit::{MPFitter, MPPar, MPResult, MPSide, MPSuccess};

/// Readings of a layout.
#[derive(Clone, Copy)]
pub struct Problem<'a> {
    pub layout: &'a Layout,
    pub catalog: &'a Catalog,
    pub sights: &'a [Sight],
}

/// What came out.
#[derive(Debug, Clone)]
pub struct Fit {
    /// Of each factor.
    pub values: Vec<f64>,
    /// Standard error of each, from the stated uncertainties.
    pub errors: Vec<f64>,
    /// Differences between prediction and reading over the standard uncertainty.
    pub residuals: Vec<f64>,
    /// Slope of each residual by each factor.
    pub slopes: DMatrix<f64>,
    /// How far each reading pulls the fit toward itself, 0 to 1.
    pub leverage: Vec<f64>,
    /// The search ended at a minimum.
    pub converged: bool,
}

impl Fit {
    /// What widens the interval of one factor: the scatter of the readings that feel it, so that a bad reading in one loop leaves the others alone.
    fn widening(&self, factor: usize) -> f64 {
        let feels = |i: usize, k: usize| self.slopes[(i, k)].abs() > 1e-6 * self.slopes.column(k).amax();
        let own: Vec<usize> = (0..self.residuals.len()).filter(|i| feels(*i, factor)).collect();
        let along = (0..self.values.len()).filter(|k| own.iter().any(|i| feels(*i, *k))).count();
        let chi_square = own.iter().map(|i| self.residuals[*i].powi(2)).sum();
        Agreement::new(chi_square, own.len().saturating_sub(along), self.converged).widening
    }

    /// χ² and what it says.
    pub fn agreement(&self) -> Agreement {
        let chi_square = self.residuals.iter().map(|r| r * r).sum();
        Agreement::new(chi_square, self.residuals.len() - self.values.len().min(self.residuals.len()), self.converged)
    }
}

impl Problem<'_> {
    /// The factors that the readings tell, in the order given, and why the others are left.
    pub fn told_apart(&self, candidates: &[Factor]) -> (Vec<Factor>, Vec<Left>) {
        let (mut active, mut left) = (Vec::new(), Vec::new());
        for factor in candidates {
            let mut tried: Vec<Factor> = active.clone();
            tried.push(factor.clone());
            match self.why_not(&tried) {
                None => active = tried,
                Some(why) => left.push(Left { factor: factor.clone(), value: factor.value(self.layout), why }),
            }
        }
        (active, left)
    }

    /// Why the last of these factors can't be found along with the others.
    fn why_not(&self, factors: &[Factor]) -> Option<String> {
        if factors.len() > self.sights.len() {
            return Some(format!(
                "{} readings can't tell {} factors: as many as factors are needed, one more to check",
                self.sights.len(),
                factors.len()
            ));
        }
        if let Some(circuit) = self.untold_losses(factors) {
            return Some(format!("the losses of circuit {circuit} are not told, and would hide in it"));
        }
        let start: Vec<f64> = factors.iter().map(|factor| factor.value(self.layout)).collect();
        let slopes = self.slopes(factors, &start);
        let last = factors.len() - 1;
        let alone = slopes.column(last).norm();
        if 1.0 / alone.max(1e-12) > widest_error(&factors[last]) {
            return Some("no reading feels it enough".to_owned());
        }
        if let Some(twin) = (0..last).find(|k| slopes.column(*k).dot(&slopes.column(last)).abs() > SAME * slopes.column(*k).norm() * alone)
        {
            return Some(format!("these readings can't tell it from the {}", factors[twin].words()));
        }
        let Some(covariance) = covariance(&slopes) else { return Some("the readings don't tell it from the other factors".to_owned()) };
        let wide = (0..factors.len()).find(|k| covariance[(*k, *k)].sqrt() > widest_error(&factors[*k]));
        wide.map(|k| match k == last {
            true => format!("its standard error would be {:.2}, too wide to be of use", covariance[(k, k)].sqrt()),
            false => format!("with it, the {} would become too uncertain", factors[k].words()),
        })
    }

    /// The circuit of a leakage whose losses are not fitted along with it: a little leakage looks like a little loss.
    fn untold_losses(&self, factors: &[Factor]) -> Option<&str> {
        let Some(Factor::Leakage(drum)) = factors.last() else { return None };
        let fed = self.layout.circuits.iter().find(|c| names(c, &End::Drum(drum.clone())))?;
        (!factors.contains(&Factor::Losses(fed.id.clone()))).then_some(&fed.id)
    }

    /// Slope of each reading by each factor, over the reading's standard uncertainty.
    fn slopes(&self, factors: &[Factor], at: &[f64]) -> DMatrix<f64> {
        let mut slopes = DMatrix::zeros(self.sights.len(), factors.len());
        for (k, factor) in factors.iter().enumerate() {
            let h = step(factor);
            let near = |sign: f64| {
                let mut moved = at.to_vec();
                moved[k] = (moved[k] + sign * h).max(*bounds(factor).start());
                (self.residuals(factors, &moved), moved[k])
            };
            let ((high, up), (low, down)) = (near(1.0), near(-1.0));
            high.iter().zip(&low).enumerate().for_each(|(i, (high, low))| slopes[(i, k)] = (high - low) / (up - down));
        }
        slopes
    }

    fn residuals(&self, factors: &[Factor], values: &[f64]) -> Vec<f64> {
        let predicted = predictions(&applied(self.layout, factors, values), self.catalog, self.sights);
        let predicted = predicted.unwrap_or_else(|| vec![f64::NAN; self.sights.len()]);
        predicted.iter().zip(self.sights).map(|(p, sight)| (p - sight.measured) / sight.sigma).collect()
    }

    /// The least squares.
    pub fn fit(&self, factors: &[Factor]) -> Fit {
        let mut values: Vec<f64> = factors.iter().map(|f| f.value(self.layout).clamp(*bounds(f).start(), *bounds(f).end())).collect();
        let mut search = Search { problem: self, factors, parameters: factors.iter().map(parameter).collect() };
        let converged = factors.is_empty() || search.mpfit(&mut values).is_ok_and(|status| status.success != MPSuccess::MaxIter);
        values.iter_mut().for_each(|value| *value = rounded(*value));
        let slopes = self.slopes(factors, &values);
        let covariance = covariance(&slopes).unwrap_or_else(|| DMatrix::from_element(factors.len(), factors.len(), f64::INFINITY));
        let hat = &slopes * &covariance * slopes.transpose();
        Fit {
            errors: (0..factors.len()).map(|k| covariance[(k, k)].sqrt()).collect(),
            residuals: self.residuals(factors, &values),
            leverage: hat.diagonal().iter().map(|h| h.clamp(0.0, 1.0)).collect(),
            slopes,
            values,
            converged,
        }
    }

    /// The factors with their intervals.
    pub fn fitted(&self, factors: &[Factor], fit: &Fit) -> Vec<Fitted> {
        let one = |(k, factor): (usize, &Factor)| {
            let ((low, high), value) = (bounds(factor).into_inner(), fit.values[k]);
            let error = fit.errors[k] * fit.widening(k);
            Fitted {
                factor: factor.clone(),
                before: factor.value(self.layout),
                value,
                standard_error: error,
                interval_95: [(value - Z95 * error).max(low), (value + Z95 * error).min(high)],
                at_limit: value <= low || value >= high,
            }
        };
        factors.iter().enumerate().map(one).collect()
    }

    /// Every reading beside the layout as it is and as calibrated.
    pub fn compared(&self, calibrated: &Layout, fit: &Fit) -> Vec<Compared> {
        let nothing = || vec![f64::NAN; self.sights.len()];
        let before = predictions(self.layout, self.catalog, self.sights).unwrap_or_else(nothing);
        let after = predictions(calibrated, self.catalog, self.sights).unwrap_or_else(nothing);
        let one = |(i, sight): (usize, &Sight)| {
            // A reading that pulls the fit toward itself has a small residual of its own accord.
            let own = (1.0 - fit.leverage.get(i).copied().unwrap_or(0.0)).max(0.05).sqrt();
            Compared {
                id: sight.reading.id.clone(),
                date: sight.reading.date.clone(),
                kind: (&sight.reading.value).into(),
                measured: sight.measured,
                within: Z95 * sight.sigma,
                before: before[i],
                after: after[i],
                off: (sight.measured - after[i]) / (Z95 * sight.sigma * own),
            }
        };
        self.sights.iter().enumerate().map(one).collect()
    }
}

/// To four decimals, so that the file's text is the value.
fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

/// (JᵀJ)⁻¹; `None` when the factors can't be told apart at all.
fn covariance(slopes: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let inverse = (slopes.transpose() * slopes).cholesky()?.inverse();
    inverse.iter().all(|x| x.is_finite()).then_some(inverse)
}

fn parameter(factor: &Factor) -> MPPar {
    let (low, high) = bounds(factor).into_inner();
    MPPar { limited_low: true, limited_up: true, limit_low: low, limit_up: high, step: step(factor), side: MPSide::Auto, ..MPPar::new() }
}

struct Search<'a> {
    problem: &'a Problem<'a>,
    factors: &'a [Factor],
    parameters: Vec<MPPar>,
}

impl MPFitter for Search<'_> {
    fn eval(&mut self, values: &[f64], deviates: &mut [f64]) -> MPResult<()> {
        deviates.copy_from_slice(&self.problem.residuals(self.factors, values));
        Ok(())
    }

    fn number_of_points(&self) -> usize {
        self.problem.sights.len()
    }

    fn parameters(&self) -> &[MPPar] {
        &self.parameters
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A straight line through the origin: variance of the slope is σ²/Σx² (Bevington and Robinson, ch. 6).
    #[test]
    fn variance_of_a_slope() {
        let slopes = DMatrix::from_column_slice(3, 1, &[10.0, 20.0, 30.0]);
        assert!((covariance(&slopes).unwrap()[(0, 0)] - 0.01 / 14.0).abs() < 1e-12);
    }
}
