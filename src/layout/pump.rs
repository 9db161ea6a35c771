//! Pumps in the plumbing, and propeller pumps in the water.

use super::place::{Aim, Point};
use crate::units::{Force, Head, Length, Power, Speed, Time, VolumeFlow};
use serde::{Deserialize, Serialize};

/// A centrifugal pump, described by points read off its curve at full speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pump {
    /// For people and references.
    pub id: String,
    /// At least two points, flow rising, head falling.
    pub curve: Vec<CurvePoint>,
    /// Share of full speed, 0 to 1 (more than 1 where the drive allows).
    #[serde(default = "full")]
    pub speed: f64,
    /// Speeds over the day, for the energy of a year and for a look at each of them; `speed` is what is computed with otherwise.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub programme: Vec<SpeedStep>,
    /// Electric power at full speed, if known.
    #[serde(default)]
    pub power: Option<Power>,
    /// Net positive suction head that the maker asks for at the duty point, if known.
    #[serde(default)]
    pub npsh_required: Option<Head>,
    /// Measured: multiplies every head of the curve; `slackwater calibrate` finds it. None is 1.
    #[serde(default)]
    pub head_factor: Option<f64>,
}

impl Pump {
    /// Share of full speed that its programme gives at a time of day (s after midnight); its own `speed` without a programme.
    /// Before the first step of the day the last one of the day before still holds.
    pub fn speed_at(&self, time: f64) -> f64 {
        let time = time.rem_euclid(DAY);
        let latest =
            |steps: &mut dyn Iterator<Item = &SpeedStep>| steps.max_by(|a, b| a.from.si().total_cmp(&b.from.si())).map(|s| s.speed);
        let today = latest(&mut self.programme.iter().filter(|s| s.from.si() <= time));
        today.or_else(|| latest(&mut self.programme.iter())).unwrap_or(self.speed)
    }
}

impl Pump {
    /// Time mean over the day of the cube of its speed: what the affinity laws take the power by.
    pub fn mean_cube_of_speed(&self) -> f64 {
        let mut times: Vec<f64> = self.programme.iter().map(|step| step.from.si().rem_euclid(DAY)).collect();
        if times.is_empty() {
            return self.speed.powi(3);
        }
        times.sort_by(f64::total_cmp);
        times.push(times[0] + DAY);
        times.windows(2).map(|pair| (pair[1] - pair[0]) / DAY * self.speed_at(pair[0]).powi(3)).sum()
    }
}

/// A day, s.
pub const DAY: f64 = 86_400.0;

/// One step of a speed programme.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpeedStep {
    /// Time after midnight from which it holds, until the next step.
    pub from: Time,
    /// Share of full speed.
    pub speed: f64,
}

pub(super) fn full() -> f64 {
    1.0
}

/// One point of a pump curve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CurvePoint {
    /// Delivered flow.
    pub flow: VolumeFlow,
    /// Head added.
    pub head: Head,
}

/// A propeller pump: it gives the water momentum without taking any away from the tank.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Propeller {
    /// For people.
    pub id: String,
    /// Middle of its outlet.
    pub at: Point,
    /// Where it blows.
    pub aim: Aim,
    /// Outlet diameter.
    pub bore: Length,
    /// How strong it is.
    pub output: PropellerOutput,
}

/// What the maker or a test says about a propeller pump.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PropellerOutput {
    /// Flow through the outlet.
    Flow(VolumeFlow),
    /// Force on the water.
    Thrust(Force),
    /// Mean speed at the outlet.
    Speed(Speed),
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pump(programme: &[(f64, f64)]) -> Pump {
        let programme = programme.iter().map(|(h, speed)| SpeedStep { from: Time::new(*h, "h"), speed: *speed }).collect();
        let point = |flow: f64, head: f64| CurvePoint { flow: VolumeFlow::new(flow, "L/h"), head: Head::new(head, "m") };
        let text = r#"(id: "P", curve: [(flow: "0 L/h", head: "5 m"), (flow: "9 m3/h", head: "1 m")])"#;
        Pump { programme, curve: vec![point(0.0, 5.0), point(9000.0, 1.0)], ..ron::from_str(text).unwrap() }
    }

    #[test]
    fn a_step_holds_until_the_next_and_over_midnight() {
        let pump = pump(&[(22.0, 0.5), (8.0, 1.0)]);
        let at = |hour: f64| pump.speed_at(hour * 3600.0);
        assert_eq!([at(0.0), at(7.9), at(8.0), at(21.9), at(22.0), at(25.0)], [0.5, 0.5, 1.0, 1.0, 0.5, 0.5]);
    }

    #[test]
    fn energy_goes_by_the_cube_of_the_speed() {
        // 14 h at full speed, 10 h at half: (14 + 10/8)/24.
        assert!((pump(&[(8.0, 1.0), (22.0, 0.5)]).mean_cube_of_speed() - 15.25 / 24.0).abs() < 1e-12);
        assert_eq!(pump(&[]).mean_cube_of_speed(), 1.0);
    }
}
