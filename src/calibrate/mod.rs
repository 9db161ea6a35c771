//! Calibration: a few factors of the plumbing fitted to what was measured on the finished system.
//!
//! The factors are those that the design knows worst: what a circuit's pipes, fittings and screens lose, what head a pump
//! gives, what a shut outlet leaks. They are found by bounded least squares (Levenberg and Marquardt, crate `rmpfit`) on the
//! differences between prediction and reading, each divided by its standard uncertainty. A factor that the readings can't tell
//! stays as it is, and that is said: with flows alone a weak pump looks like a rough pipe. Intervals are 95 %, from the
//! linearised least squares; they are widened by √(χ²/degrees of freedom) when the readings that feel a factor scatter more than they claim to.
//!
//! Sources: Bevington and Robinson, "Data Reduction and Error Analysis for the Physical Sciences", 3rd ed., ch. 8 and 11
//! (covariance, χ²; from memory); Belsley, Kuh and Welsch, "Regression Diagnostics" (leverage; from memory).

mod drift;
mod factor;
mod fit;
mod limits;
mod predict;
mod record;
mod verdict;

pub use drift::{LAW_SHARE, Marks, is_round, marks, seconds};
pub use factor::Factor;
pub use predict::{Sight, sights};
pub use record::{Agreement, CALIBRATION_VERSION, Calibration, Change, Compared, Fitted, Left, Measure, Number, NumberKind, Shift};

use crate::catalog::Catalog;
use crate::finding::Finding;
use crate::layout::Layout;
use fit::{Fit, Problem};

/// Fits the factors of a layout to its readings.
///
/// # Errors
/// What keeps the plumbing from being computed, or that there is no usable reading.
pub fn calibrate(layout: &Layout, catalog: &Catalog) -> Result<Calibration, Vec<Finding>> {
    let (sights, unused) = sights(layout, catalog)?;
    if sights.is_empty() {
        return Err(no_readings(unused));
    }
    let problem = Problem { layout, catalog, sights: &sights };
    let (active, left) = problem.told_apart(&factor::candidates(layout, &sights));
    let fit = problem.fit(&active);
    let calibrated = factor::applied(layout, &active, &fit.values);
    let readings = problem.compared(&calibrated, &fit);
    Ok(Calibration {
        calibration_version: CALIBRATION_VERSION,
        layout: layout.name.clone(),
        factors: problem.fitted(&active, &fit),
        left,
        without_worst: without_worst(&problem, &active, &fit, &readings),
        agreement: fit.agreement(),
        readings,
        unused,
        change: verdict::change(layout, &calibrated, catalog),
    })
}

/// The layout with the fitted factors in it.
pub fn applied(layout: &Layout, calibration: &Calibration) -> Layout {
    let factors: Vec<Factor> = calibration.factors.iter().map(|fitted| fitted.factor.clone()).collect();
    let values: Vec<f64> = calibration.factors.iter().map(|fitted| fitted.value).collect();
    factor::applied(layout, &factors, &values)
}

/// What the factors would be without the reading that disagrees most, if one does.
fn without_worst(problem: &Problem, active: &[Factor], fit: &Fit, readings: &[Compared]) -> Option<Shift> {
    let worst = (0..readings.len()).max_by(|a, b| readings[*a].off.abs().total_cmp(&readings[*b].off.abs()))?;
    if !readings[worst].disagrees() || readings.len() <= active.len() + 1 {
        return None;
    }
    let kept: Vec<Sight> = problem.sights.iter().enumerate().filter(|(at, _)| *at != worst).map(|(_, sight)| sight.clone()).collect();
    let refit = Problem { sights: &kept, ..*problem }.fit(active);
    let factors = active.iter().zip(&refit.values).map(|(factor, value)| (factor.words(), *value)).collect();
    Some(Shift { reading: readings[worst].id.clone(), factors, agreement: refit.agreement(), before: fit.agreement().chi_square })
}

fn no_readings(unused: Vec<Finding>) -> Vec<Finding> {
    if !unused.is_empty() {
        return unused;
    }
    let what = "no readings stand in the layout";
    let why = "there is nothing to fit to";
    let mend = "add `measured: [(id: ..., held: ..., value: bucket(...))]`; layouts/README.md shows how";
    vec![Finding::new(crate::finding::Grade::Fault, "no-readings", "", what, why, mend)]
}
