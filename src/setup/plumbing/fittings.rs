//! Losses of what sits on a run.

use crate::catalog::{Bore, BoreChange, Catalog, FittingKind};
use crate::hydraulics::{Law, LossCurve, gradual_contraction, gradual_expansion};
use crate::layout::{CheckState, Fitting};

/// Resistance of a closed check valve against backward flow, s/m²: 0.1 mL/s at 1 m of head (common practice, no source).
const CHECK_VALVE_LEAK: f64 = 1e7;
/// Narrow over wide bore of a reducer that doesn't say which: 3 in on 4 in, the worst of the neighbouring sizes.
const NEXT_SIZE: f64 = 0.76;

/// Rule, what is wrong, and the mend.
type Flaw = (&'static str, String, &'static str);

/// The laws of one kind of fitting on a run of this bore, m.
pub fn fitting_laws(fitting: &Fitting, bore: f64, which: Bore, catalog: &Catalog) -> Result<Vec<Law>, Flaw> {
    let kind = catalog.fitting(&fitting.part);
    let mut laws = if fitting.curve.is_empty() { loss(fitting, kind, bore, which, catalog)? } else { table(fitting)? };
    if is_check_valve(fitting) {
        let opens_at = kind.and_then(FittingKind::opens_at).unwrap_or(0.0);
        let leak = match &fitting.check {
            CheckState::Holds => Some(CHECK_VALVE_LEAK),
            CheckState::Leaks(flow) => Some(1.0 / flow.si().max(1e-9)),
            CheckState::StuckOpen => None,
        };
        laws.extend(leak.map(|leak| Law::OneWay { leak, opens_at }));
    }
    Ok(laws)
}

fn loss(fitting: &Fitting, kind: Option<&FittingKind>, bore: f64, which: Bore, catalog: &Catalog) -> Result<Vec<Law>, Flaw> {
    let count = f64::from(fitting.count);
    if let Some(k) = fitting.k {
        return Ok(vec![if fitting.opening <= 0.0 { Law::Shut } else { Law::minor(k * count, bore) }]);
    }
    let Some(kind) = kind else {
        let what = format!("the catalogue has no fitting `{}`", fitting.part);
        return Err(("unknown-fitting", what, "use a name that `assets/catalog/fittings.ron` lists, or give its own `k` or `curve`"));
    };
    if let Some(change) = kind.bore_change() {
        let other = match &fitting.other {
            None => bore * NEXT_SIZE,
            Some(name) => catalog.pipe(name).map(|pipe| pipe.bore(which)).ok_or_else(|| unknown_pipe(name))?,
        };
        return Ok(vec![bore_change(change, bore, other, count)]);
    }
    Ok(vec![kind.k(bore, fitting.opening).map_or(Law::Shut, |k| Law::minor(k * count, bore))])
}

fn unknown_pipe(name: &str) -> Flaw {
    ("unknown-pipe", format!("the catalogue has no pipe `{name}`"), "use a size that `assets/catalog/pipes.ron` lists")
}

fn bore_change(change: BoreChange, one: f64, other: f64, count: f64) -> Law {
    let (narrow, wide) = (one.min(other), one.max(other));
    let beta = narrow / wide;
    let k = if change.narrows { gradual_contraction(beta, change.angle) } else { gradual_expansion(beta, change.angle) };
    Law::minor(k * count, narrow)
}

fn table(fitting: &Fitting) -> Result<Vec<Law>, Flaw> {
    let points: Vec<_> = fitting.curve.iter().map(|p| (p.flow.si(), p.head.si())).collect();
    let curve = LossCurve::new(&points).map_err(|error| {
        let what = format!("the curve of `{}` can't be used: {error}", fitting.part);
        ("loss-curve", what, "give the maker's points, flow and head both rising")
    })?;
    if fitting.opening <= 0.0 {
        return Ok(vec![Law::Shut]);
    }
    Ok(vec![Law::Table(curve); fitting.count as usize])
}

/// Whether a fitting lets water through one way only.
pub fn is_check_valve(fitting: &Fitting) -> bool {
    let name = fitting.part.to_lowercase();
    name.contains("check valve") || name.contains("foot valve")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::GRAVITY;

    fn laws(text: &str) -> Result<Vec<Law>, Flaw> {
        let options = ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
        fitting_laws(&options.from_str(text).unwrap(), 0.05, Bore::Average, Catalog::builtin())
    }

    fn lost(text: &str, flow: f64) -> f64 {
        laws(text).unwrap().iter().map(|law| law.loss(flow, 1e-6).head).sum()
    }

    #[test]
    fn reducers_go_by_both_bores() {
        // 2 in on 1 in, schedule 40, on the velocity in the 1 in: 0.5 (1 - β²).
        let (narrow, flow) = (0.026238_f64, 1e-3);
        let velocity = flow / (std::f64::consts::FRAC_PI_4 * narrow * narrow);
        let k = 0.5 * (1.0 - (narrow / 0.05).powi(2));
        let expected = k * velocity * velocity / (2.0 * GRAVITY);
        assert!((lost(r#"(part: "reducer", other: "1 in, schedule 40")"#, flow) / expected - 1.0).abs() < 1e-3);
        assert!(lost(r#"(part: "reducer, tapered", other: "1 in, schedule 40")"#, flow) < 0.5 * expected);
        assert_eq!(laws(r#"(part: "reducer", other: "9 in")"#).unwrap_err().0, "unknown-pipe");
    }

    #[test]
    fn a_check_valve_holds_leaks_or_stands_open() {
        let back = |state: &str| lost(&format!(r#"(part: "swing check valve", check: {state})"#), -1e-5);
        assert!(back("holds") < -90.0 && back("stuck_open") > -0.01);
        assert!((back(r#"leaks("36 L/h")"#) + 1.0).abs() < 0.01);
        assert!(
            lost(r#"(part: "spring check valve")"#, 1e-3) - 0.18 > lost(r#"(part: "spring check valve", check: stuck_open)"#, 1e-3) - 1e-6
        );
    }

    #[test]
    fn a_curve_stands_for_the_makers_points() {
        let text = r#"(part: "chiller", curve: [(flow: "1 L/s", head: "0.5 m"), (flow: "2 L/s", head: "2 m")])"#;
        assert!((lost(text, 1e-3) - 0.5).abs() < 1e-12 && (lost(text, -2e-3) + 2.0).abs() < 1e-12);
        assert_eq!(
            laws(r#"(part: "chiller", curve: [(flow: "2 L/s", head: "2 m"), (flow: "1 L/s", head: "3 m")])"#).unwrap_err().0,
            "loss-curve"
        );
        assert_eq!(laws(r#"(part: "chiller")"#).unwrap_err().0, "unknown-fitting");
    }
}
