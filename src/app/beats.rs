//! A drum unit's motion as pieces along the time of the joint cycle, and what dragging their edges does to it.

use crate::layout::{Direction, Drive, Motion, Step};
use crate::units::Time;

/// A stretch of time in which a unit does one thing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Begins then, s; may lie before zero.
    pub from: f64,
    /// Ends then, s.
    pub to: f64,
    /// Number of the step, from 0.
    pub step: usize,
    /// What it does.
    pub kind: Kind,
}

/// What a unit does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// One set of outlets is open.
    Dwell,
    /// From one set to the next.
    ChangeOver,
    /// One turn of the drum.
    Turn,
}

/// Dragged times stop at multiples of this, s.
const STEP: f64 = 0.5;
/// No more pieces than this are made, however short they are.
const MOST: usize = 400;

/// Time after which the unit repeats, s; `None` when it stands still.
pub fn period(drive: &Drive) -> Option<f64> {
    let period = match &drive.motion {
        Motion::Turning { period } if drive.slip < 1.0 => period.si() / (1.0 - drive.slip.max(0.0)),
        Motion::Steps(steps) if steps.len() > 1 => steps.iter().map(|s| s.dwell.si().max(0.0) + s.change_over.si().max(0.0)).sum(),
        _ => 0.0,
    };
    (period.is_finite() && period > 0.0).then_some(period)
}

/// The pieces that touch the first `span` seconds.
pub fn pieces(drive: &Drive, span: f64) -> Vec<Piece> {
    let Some(period) = period(drive) else { return Vec::new() };
    let reverse = drive.direction == Direction::Reverse;
    let phase = drive.phase.si();
    let mut found = Vec::new();
    for (a, b, step, kind) in local(&drive.motion, period) {
        let (from, to) = if reverse { (-b - phase, -a - phase) } else { (a - phase, b - phase) };
        // The first repeat that ends after zero.
        let mut shift = (-to / period).floor() * period + period;
        while from + shift < span && found.len() < MOST {
            found.push(Piece { from: from + shift, to: to + shift, step, kind });
            shift += period;
        }
    }
    found
}

/// Pieces of one cycle in the unit's own time, s.
fn local(motion: &Motion, period: f64) -> Vec<(f64, f64, usize, Kind)> {
    let Motion::Steps(steps) = motion else { return vec![(0.0, period, 0, Kind::Turn)] };
    let mut at = 0.0;
    let mut found = Vec::new();
    for (i, step) in steps.iter().enumerate() {
        for (length, kind) in [(step.dwell.si(), Kind::Dwell), (step.change_over.si(), Kind::ChangeOver)] {
            if length > 0.0 {
                found.push((at, at + length, i, kind));
                at += length;
            }
        }
    }
    found
}

/// The drive with a piece made longer by `by` seconds (forward: its end moves, backward: its beginning).
pub fn stretched(drive: &Drive, piece: &Piece, by: f64) -> Drive {
    let mut drive = drive.clone();
    let grow = |time: &mut Time, least: f64| *time = seconds((time.si() + by).max(least));
    match (&mut drive.motion, piece.kind) {
        (Motion::Turning { period }, _) => grow(period, 4.0),
        (Motion::Steps(steps), Kind::Dwell) => steps.get_mut(piece.step).into_iter().for_each(|s| grow(&mut s.dwell, STEP)),
        (Motion::Steps(steps), Kind::ChangeOver) => steps.get_mut(piece.step).into_iter().for_each(|s| grow(&mut s.change_over, STEP)),
        _ => {}
    }
    drive
}

/// The drive with everything later by so many seconds.
pub fn delayed(drive: &Drive, by: f64) -> Drive {
    let Some(period) = period(drive) else { return drive.clone() };
    Drive { phase: seconds((drive.phase.si() - by).rem_euclid(period)), ..drive.clone() }
}

/// The drive with another step after this one: the same outlets moved on by one.
pub fn with_step_after(drive: &Drive, step: usize, outlets: u32) -> Drive {
    let mut drive = drive.clone();
    if let Motion::Steps(steps) = &mut drive.motion
        && let Some(now) = steps.get(step).cloned()
    {
        let open = now.open.iter().map(|n| n % outlets.max(1) + 1).collect();
        steps.insert(step + 1, Step { open, ..now });
    }
    drive
}

/// The drive without this step; the last one stays.
pub fn without_step(drive: &Drive, step: usize) -> Drive {
    let mut drive = drive.clone();
    if let Motion::Steps(steps) = &mut drive.motion
        && steps.len() > 1
        && step < steps.len()
    {
        steps.remove(step);
    }
    drive
}

fn seconds(s: f64) -> Time {
    Time::new((s / STEP).round() * STEP + 0.0, "s")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{Drum, Window};
    use crate::units::{Angle, Length};

    fn drive(direction: Direction, phase: f64) -> Drive {
        let step = |open: u32, dwell: f64| Step { open: vec![open], dwell: Time::new(dwell, "s"), change_over: Time::new(2.0, "s") };
        let motion = Motion::Steps(vec![step(1, 10.0), step(2, 6.0)]);
        Drive { drum: "unit".into(), motion, phase: Time::new(phase, "s"), direction, slip: 0.0 }
    }

    /// In the middle of a dwell its outlets are fully open, as the solver has it.
    #[test]
    fn pieces_agree_with_what_the_unit_does() {
        for (direction, phase) in
            [(Direction::Forward, 0.0), (Direction::Forward, 7.0), (Direction::Reverse, 0.0), (Direction::Reverse, 3.0)]
        {
            let drive = drive(direction, phase);
            let mut layout = crate::layout::demo();
            let windows = vec![Window { centre: Angle::new(0.0, "deg"), arc: Angle::new(120.0, "deg") }];
            layout.drums = vec![Drum {
                id: "unit".into(),
                outlets: 2,
                bore: Length::new(30.0, "mm"),
                port_arc: Angle::new(60.0, "deg"),
                windows,
                body_k: 1.5,
                leakage: 0.0,
            }];
            layout.sequences[0].drives = vec![drive.clone()];
            layout.sequence = layout.sequences[0].id.clone();
            let unit = &crate::setup::drums::units(&layout)[0];
            let all = pieces(&drive, 40.0);
            assert!(all.iter().filter(|p| p.kind == Kind::Dwell).count() >= 4);
            for piece in all.iter().filter(|p| p.kind == Kind::Dwell && p.from >= 0.0 && p.to <= 40.0) {
                let mut open = [0.0; 2];
                unit.open((piece.from + piece.to) / 2.0, &mut open);
                assert_eq!(open[piece.step], 1.0, "{direction:?} {phase} {piece:?}");
            }
            let covered: f64 = all.iter().map(|p| p.to.min(40.0) - p.from.max(0.0)).sum();
            assert!((covered - 40.0).abs() < 1e-9, "{covered}");
        }
    }

    #[test]
    fn drags_change_dwell_phase_and_steps() {
        let first = drive(Direction::Forward, 0.0);
        let piece = Piece { from: 0.0, to: 10.0, step: 0, kind: Kind::Dwell };
        assert_eq!(period(&stretched(&first, &piece, 3.2)), Some(23.0));
        assert_eq!(period(&stretched(&first, &piece, -50.0)), Some(10.5));
        assert_eq!(delayed(&first, 4.0).phase.text(), "16 s");
        let more = with_step_after(&first, 1, 2);
        let Motion::Steps(steps) = &more.motion else { panic!("no steps") };
        assert_eq!((steps.len(), steps[2].open.clone()), (3, vec![1]));
        assert_eq!(without_step(&more, 2), first);
    }
}
