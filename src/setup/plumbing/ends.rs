//! Losses where water enters and leaves the pipes: intakes with screens, nozzles.

use crate::hydraulics::{Law, contraction, expansion, screen};
use crate::layout::{Intake, Nozzle, NozzleKind};
use std::f64::consts::FRAC_PI_4;

/// K of a sharp flush entrance, taken where a run from an intake or the sump lists no entrance (Crane TP-410; others 0.57).
const ENTRANCE_K: f64 = 0.5;

/// Area of a round bore, m².
pub fn circle(bore: f64) -> f64 {
    FRAC_PI_4 * bore * bore
}

/// Area that the water leaves a nozzle through, m².
pub fn exit_area(nozzle: &Nozzle) -> f64 {
    let bore = nozzle.bore.si();
    match &nozzle.kind {
        NozzleKind::FlatFan { width } => width.si() * bore,
        NozzleKind::TwinWye { .. } => 2.0 * circle(bore),
        _ => circle(bore),
    }
}

/// Length that a jet's Reynolds number is formed with, m.
pub fn exit_width(nozzle: &Nozzle) -> f64 {
    let bore = nozzle.bore.si();
    match &nozzle.kind {
        NozzleKind::FlatFan { width } => 2.0 * width.si() * bore / (width.si() + bore),
        _ => bore,
    }
}

/// Total flow over the flow through the pipe: above 1 for eductors.
pub fn entrainment(nozzle: &Nozzle) -> f64 {
    match nozzle.kind {
        NozzleKind::Eductor { ratio } if ratio > 1.0 => ratio,
        _ => 1.0,
    }
}

/// Loss of the kind itself on the exit velocity, on top of the velocity head that is lost in the tank (common practice, no source).
fn kind_k(kind: &NozzleKind) -> f64 {
    match kind {
        NozzleKind::Plain => 0.0,
        NozzleKind::Reducing => 0.05,
        NozzleKind::FlatFan { .. } => 0.2,
        NozzleKind::BallHose => 0.3,
        NozzleKind::TwinWye { .. } => 0.4,
        NozzleKind::Eductor { .. } => 0.1,
    }
}

/// A nozzle on the end of a pipe of this bore: its own loss, the change of bore, and the velocity head of its jet.
///
/// An eductor's end carries `ratio` times the motive flow with the same momentum, so its motive jet has 1/ratio² of the end's area.
pub fn nozzle_laws(nozzle: &Nozzle, pipe_bore: f64) -> Vec<Law> {
    let jet = exit_area(nozzle) / entrainment(nozzle).powi(2);
    let pipe = circle(pipe_bore);
    let narrowing = match nozzle.kind {
        NozzleKind::Reducing | NozzleKind::Eductor { .. } => 0.0,
        _ if jet < pipe => contraction((jet / pipe).sqrt()),
        _ => 0.0,
    };
    let mut laws = vec![Law::Minor { k: 1.0 + nozzle.k.unwrap_or_else(|| kind_k(&nozzle.kind)) + narrowing, area: jet }];
    if jet > pipe {
        laws.push(Law::Minor { k: expansion((pipe / jet).sqrt()), area: pipe });
    }
    laws
}

/// An intake in front of a pipe of this bore: its screen, and a bulkhead narrower than the pipe.
pub fn intake_laws(intake: &Intake, pipe_bore: f64) -> Vec<Law> {
    let mut laws = Vec::new();
    if let Some(guard) = &intake.screen {
        laws.push(Law::Minor { k: screen(guard.open), area: guard.free_face() });
    }
    let bore = intake.bore.si();
    if bore < pipe_bore {
        laws.push(Law::minor(expansion(bore / pipe_bore), bore));
    }
    laws
}

/// The entrance of a run that lists none among its fittings.
pub fn entrance_law(fittings: &[crate::layout::Fitting], pipe_bore: f64) -> Option<Law> {
    let listed = fittings.iter().any(|f| ["entrance", "foot valve"].iter().any(|word| f.part.to_lowercase().contains(word)));
    (!listed).then(|| Law::minor(ENTRANCE_K, pipe_bore))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{Aim, Mount, Point, Supply};
    use crate::units::{Angle, Length};

    fn nozzle(kind: NozzleKind) -> Nozzle {
        let mm = |x| Length::new(x, "mm");
        let aim = Aim::Angles { azimuth: Angle::new(0.0, "deg"), elevation: Angle::new(0.0, "deg") };
        let mount = Mount::PipeEnd(Point(mm(1.0), mm(1.0), mm(1.0)));
        Nozzle { id: "N".into(), mount, aim, bore: mm(20.0), kind, k: None, supply: Supply::Plumbed }
    }

    #[test]
    fn velocity_head_is_lost_once() {
        let v = 2.0;
        let flow = v * circle(0.02);
        let loss: f64 = nozzle_laws(&nozzle(NozzleKind::Plain), 0.02).iter().map(|l| l.loss(flow, 1e-6).head).sum();
        assert!((loss - v * v / (2.0 * crate::water::GRAVITY)).abs() < 1e-8);
    }

    #[test]
    fn an_eductor_keeps_momentum() {
        let eductor = nozzle(NozzleKind::Eductor { ratio: 4.0 });
        let (flow, end) = (1e-4, exit_area(&eductor));
        let motive_speed = flow / (end / 16.0);
        assert!((flow * motive_speed - (4.0 * flow).powi(2) / end).abs() < 1e-15);
        let Law::Minor { area, .. } = nozzle_laws(&eductor, 0.02)[0].clone() else { panic!() };
        assert!((area - end / 16.0).abs() < 1e-15);
    }
}
