//! Pump curves: head against flow through given points, with no hump that the points don't have.

/// Head against flow at full speed. Interpolated by a monotone piecewise cubic (Fritsch and Butland 1984, SIAM J. Sci.
/// Stat. Comput. 5:300; PCHIP), so that a falling curve falls everywhere.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    flow: Vec<f64>,
    head: Vec<f64>,
    slope: Vec<f64>,
}

/// Why points make no pump curve.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum CurveError {
    /// One point says nothing about the slope.
    #[error("a curve needs at least two points")]
    TooFew,
    /// NaN, infinite or negative.
    #[error("point {0} is not a flow and a head of zero or more")]
    NotANumber(usize),
    /// Flows must rise from point to point.
    #[error("the flow of point {0} is not above that of the point before it")]
    FlowNotRising(usize),
    /// A rising stretch gives several flows for one head: such a pump hunts.
    #[error("the head of point {0} is not below that of the point before it")]
    HeadNotFalling(usize),
    /// More flow must lose more head.
    #[error("the head lost at point {0} is not above that of the point before it, or its flow isn't above nothing")]
    LossNotRising(usize),
}

/// Head lost against flow through given points, from nothing at no flow: the same interpolation; past the last point the loss goes on
/// with the square of the flow. The same both ways.
#[derive(Debug, Clone, PartialEq)]
pub struct LossCurve(Curve);

impl LossCurve {
    /// From (flow m³/s, head lost m) points; the point of no flow may be left out.
    ///
    /// # Errors
    /// No points, numbers that are none, flows or heads that don't rise.
    pub fn new(points: &[(f64, f64)]) -> Result<Self, CurveError> {
        let own: Vec<(f64, f64)> = points.iter().copied().filter(|p| *p != (0.0, 0.0)).collect();
        if own.is_empty() {
            return Err(CurveError::TooFew);
        }
        if let Some(i) = own.iter().position(|&(q, h)| !(q.is_finite() && h.is_finite())) {
            return Err(CurveError::NotANumber(i + 1));
        }
        let all: Vec<(f64, f64)> = std::iter::once((0.0, 0.0)).chain(own).collect();
        if let Some(i) = all.windows(2).position(|w| w[1].0 <= w[0].0 || w[1].1 <= w[0].1) {
            return Err(CurveError::LossNotRising(i + 1));
        }
        let (flow, head): (Vec<_>, Vec<_>) = all.iter().map(|(q, h)| (*q, -h)).unzip();
        let slope = slopes(&flow, &head);
        Ok(Self(Curve { flow, head, slope }))
    }

    /// The same with every head multiplied.
    pub fn scaled(&self, factor: f64) -> Self {
        let scaled = |heads: &[f64]| heads.iter().map(|head| factor * head).collect();
        Self(Curve { flow: self.0.flow.clone(), head: scaled(&self.0.head), slope: scaled(&self.0.slope) })
    }

    /// Flow of the last point given, m³/s.
    pub fn last_flow(&self) -> f64 {
        self.0.last_flow()
    }

    /// Head lost, m, and its slope by flow.
    pub fn loss(&self, flow: f64) -> (f64, f64) {
        let (size, sign) = (flow.abs(), flow.signum());
        let last = self.0.last_flow();
        if size > last {
            let most = -self.0.head[self.0.head.len() - 1];
            return (sign * most * (size / last).powi(2), 2.0 * most * size / last.powi(2));
        }
        let (head, slope) = self.0.full_speed(size);
        (-sign * head, -slope)
    }
}

/// Where on its curve a pump works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Regime {
    /// Between dead-head and the last point given.
    OnCurve,
    /// Hardly any flow, under 2 % of the last point's: the pump churns its own water warm.
    DeadHead,
    /// More flow than the last point given: what the pump does there is a guess.
    RunOut,
    /// Water is forced backwards through it.
    Backwards,
    /// Speed zero.
    Stopped,
}

/// Share of the last point's flow under which a pump counts as dead-headed (common practice, no source).
const DEAD_HEAD_SHARE: f64 = 0.02;

impl Curve {
    /// From (flow m³/s, head m) points.
    ///
    /// # Errors
    /// Fewer than two points, numbers that are none, flows that don't rise, heads that don't fall.
    pub fn new(points: &[(f64, f64)]) -> Result<Self, CurveError> {
        check(points)?;
        let (flow, head): (Vec<_>, Vec<_>) = points.iter().copied().unzip();
        let slope = slopes(&flow, &head);
        Ok(Self { flow, head, slope })
    }

    /// Head at no flow, full speed, m.
    pub fn dead_head(&self) -> f64 {
        self.full_speed(0.0).0
    }

    /// Flow of the last point given, full speed, m³/s.
    pub fn last_flow(&self) -> f64 {
        self.flow[self.flow.len() - 1]
    }

    /// Head added and its slope by flow, at a share of full speed: affinity laws, Q with n and H with n².
    ///
    /// Past the last point and for backward flow the curve goes on with its end slope plus a square term of the size
    /// dead-head/last flow²: an estimate, flagged by [`Curve::regime`]; at speed zero only that square is left, the loss of
    /// the standing impeller.
    pub fn gain(&self, flow: f64, speed: f64) -> (f64, f64) {
        if speed < 1e-6 {
            let c = self.beyond();
            return (-c * flow * flow.abs(), -2.0 * c * flow.abs());
        }
        let (head, slope) = self.full_speed(flow / speed);
        (speed * speed * head, speed * slope)
    }

    /// Where on the curve this flow lies at this speed.
    pub fn regime(&self, flow: f64, speed: f64) -> Regime {
        let share = flow / (speed * self.last_flow());
        match share {
            _ if speed < 1e-6 => Regime::Stopped,
            s if s < -1e-6 => Regime::Backwards,
            s if s < DEAD_HEAD_SHARE => Regime::DeadHead,
            s if s > 1.0 + 1e-6 => Regime::RunOut,
            _ => Regime::OnCurve,
        }
    }

    fn beyond(&self) -> f64 {
        self.head[0] / self.last_flow().powi(2)
    }

    fn full_speed(&self, flow: f64) -> (f64, f64) {
        let last = self.flow.len() - 1;
        if flow > self.flow[last] {
            let past = flow - self.flow[last];
            let c = self.beyond();
            return (self.head[last] + past * (self.slope[last] - c * past), self.slope[last] - 2.0 * c * past);
        }
        if flow < self.flow[0] {
            let (head, slope) = (self.head[0] + self.slope[0] * (flow - self.flow[0]), self.slope[0]);
            let back = flow.min(0.0);
            let c = self.beyond();
            return (head + c * back * back, slope + 2.0 * c * back);
        }
        let i = self.flow.partition_point(|&q| q <= flow).clamp(1, last) - 1;
        let width = self.flow[i + 1] - self.flow[i];
        let s = (flow - self.flow[i]) / width;
        let rise = self.head[i + 1] - self.head[i];
        let (m0, m1) = (self.slope[i] * width, self.slope[i + 1] * width);
        let (b, c) = (3.0 * rise - 2.0 * m0 - m1, m0 + m1 - 2.0 * rise);
        (self.head[i] + s * (m0 + s * (b + s * c)), (m0 + s * (2.0 * b + s * 3.0 * c)) / width)
    }
}

fn check(points: &[(f64, f64)]) -> Result<(), CurveError> {
    if points.len() < 2 {
        return Err(CurveError::TooFew);
    }
    if let Some(i) = points.iter().position(|&(q, h)| !(q.is_finite() && h.is_finite() && q >= 0.0 && h >= 0.0)) {
        return Err(CurveError::NotANumber(i + 1));
    }
    for (i, pair) in points.windows(2).enumerate() {
        if pair[1].0 <= pair[0].0 {
            return Err(CurveError::FlowNotRising(i + 2));
        }
        if pair[1].1 >= pair[0].1 {
            return Err(CurveError::HeadNotFalling(i + 2));
        }
    }
    Ok(())
}

fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let n = x.len();
    let width: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
    let chord: Vec<f64> = y.windows(2).zip(&width).map(|(w, d)| (w[1] - w[0]) / d).collect();
    if n == 2 {
        return vec![chord[0]; 2];
    }
    let mut slope = vec![0.0; n];
    for i in 1..n - 1 {
        let (a, b) = (2.0 * width[i] + width[i - 1], width[i] + 2.0 * width[i - 1]);
        slope[i] = (a + b) / (a / chord[i - 1] + b / chord[i]);
    }
    slope[0] = end_slope(width[0], width[1], chord[0], chord[1]);
    slope[n - 1] = end_slope(width[n - 2], width[n - 3], chord[n - 2], chord[n - 3]);
    slope
}

/// One-sided three-point slope, kept falling and no steeper than three chords.
fn end_slope(near: f64, next: f64, near_chord: f64, next_chord: f64) -> f64 {
    let slope = ((2.0 * near + next) * near_chord - near * next_chord) / (near + next);
    slope.clamp(3.0 * near_chord, 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve() -> Curve {
        Curve::new(&[(0.0, 5.0), (1.0, 4.9), (2.0, 3.0), (4.0, 0.5)]).unwrap()
    }

    #[test]
    fn goes_through_its_points_and_falls_everywhere() {
        let c = curve();
        assert_eq!(c.gain(2.0, 1.0).0, 3.0);
        assert_eq!(c.dead_head(), 5.0);
        let heads: Vec<f64> = (-300..700).map(|i| c.gain(f64::from(i) / 100.0, 1.0).0).collect();
        assert!(heads.windows(2).all(|w| w[1] <= w[0]));
    }

    #[test]
    fn slope_is_the_derivative() {
        let c = curve();
        for q in [-1.0, 0.3, 1.7, 3.1, 4.5] {
            let numeric = (c.gain(q + 1e-5, 0.8).0 - c.gain(q - 1e-5, 0.8).0) / 2e-5;
            assert!((numeric - c.gain(q, 0.8).1).abs() < 1e-6, "{q}");
        }
    }

    #[test]
    fn affinity_laws() {
        // Reference 2.1: Q with n, H with n², exact by similarity.
        let c = curve();
        assert!((c.gain(2.0 * 0.7, 0.7).0 - 0.49 * 3.0).abs() < 1e-12);
    }

    #[test]
    fn says_where_it_works() {
        let c = curve();
        let at = |q, n| c.regime(q, n);
        assert_eq!([at(2.0, 1.0), at(0.01, 1.0), at(4.1, 1.0)], [Regime::OnCurve, Regime::DeadHead, Regime::RunOut]);
        assert_eq!([at(-0.1, 1.0), at(1.0, 0.0), at(2.1, 0.5)], [Regime::Backwards, Regime::Stopped, Regime::RunOut]);
    }

    #[test]
    fn a_loss_curve_goes_through_its_points_and_rises() {
        let c = LossCurve::new(&[(1.0, 0.5), (2.0, 2.5)]).unwrap();
        assert!((c.loss(1.0).0 - 0.5).abs() < 1e-12 && (c.loss(-2.0).0 + 2.5).abs() < 1e-12 && (c.loss(4.0).0 - 10.0).abs() < 1e-12);
        let heads: Vec<f64> = (-400..400).map(|i| c.loss(f64::from(i) / 100.0).0).collect();
        assert!(heads.windows(2).all(|w| w[1] > w[0]));
        assert_eq!(LossCurve::new(&[(1.0, 0.5), (2.0, 0.4)]), Err(CurveError::LossNotRising(2)));
        assert_eq!(LossCurve::new(&[(0.0, 0.0)]), Err(CurveError::TooFew));
    }

    #[test]
    fn refuses_what_is_no_curve() {
        assert_eq!(Curve::new(&[(0.0, 1.0)]), Err(CurveError::TooFew));
        assert_eq!(Curve::new(&[(0.0, 1.0), (0.0, 0.5)]), Err(CurveError::FlowNotRising(2)));
        assert_eq!(Curve::new(&[(0.0, 1.0), (1.0, 1.5)]), Err(CurveError::HeadNotFalling(2)));
        assert_eq!(Curve::new(&[(0.0, f64::NAN), (1.0, 0.5)]), Err(CurveError::NotANumber(1)));
    }
}
