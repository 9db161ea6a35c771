//! Every limit that the wet-side checks hold a design against, in one place, each with where it comes from. SI units.

use crate::layout::Layout;

/// A limit with where it comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// SI.
    pub value: f64,
    /// For people.
    pub source: &'static str,
}

/// The limits of one layout: its author's own, or the usual ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Pipes that a pump sucks through, m/s.
    pub suction_velocity: Limit,
    /// Pipes behind a pump, m/s.
    pub pressure_velocity: Limit,
    /// Open part of a screen, m/s.
    pub screen_through: Limit,
    /// Whole face of a screen, m/s.
    pub screen_approach: Limit,
    /// Water over a lip, m.
    pub weir_head: Limit,
    /// Rim over the water, m.
    pub freeboard: Limit,
    /// Share of the sump's room.
    pub sump_share: Limit,
}

impl Limits {
    /// Of a layout.
    pub fn of(layout: &Layout) -> Self {
        let own = layout.limits.clone().unwrap_or_default();
        let speed = |own: Option<crate::units::Speed>, usual, source| limit(own.map(|q| q.si()), usual, source);
        let length = |own: Option<crate::units::Length>, usual| limit(own.map(|q| q.si()), usual, COMMON_PRACTICE);
        Self {
            suction_velocity: speed(own.suction_velocity, SUCTION_VELOCITY, "ANSI/APSP-7 line velocity guidance"),
            pressure_velocity: speed(own.pressure_velocity, PRESSURE_VELOCITY, COMMON_PRACTICE),
            screen_through: speed(own.screen_through, SCREEN_THROUGH, SCREEN_THROUGH_SOURCE),
            screen_approach: speed(
                own.screen_approach,
                SCREEN_APPROACH,
                "NMFS pump-intake criteria, for screens that are not cleaned while they run",
            ),
            weir_head: length(own.weir_head, WEIR_HEAD),
            freeboard: length(own.freeboard, FREEBOARD),
            sump_share: limit(own.sump_share, SUMP_SHARE, COMMON_PRACTICE),
        }
    }
}

fn limit(own: Option<f64>, usual: f64, source: &'static str) -> Limit {
    own.map_or(Limit { value: usual, source }, |value| Limit { value, source: "the layout's own limit" })
}

const COMMON_PRACTICE: &str = "common practice, no source";

/// Flow through a screen's open area: 0.5 ft/s (40 CFR 125.84(b)(2), 125.94(c)).
pub const SCREEN_THROUGH: f64 = 0.1524;
/// Source of [`SCREEN_THROUGH`] for people.
pub const SCREEN_THROUGH_SOURCE: &str = "40 CFR 125.84(b)(2) and 125.94(c)";
/// Flow over a screen's whole face, for screens that nobody cleans while they run: 0.2 ft/s (NMFS pump-intake screen criteria).
pub const SCREEN_APPROACH: f64 = 0.06096;
/// Face that a body can't cover: wider than 18 in × 23 in, m (ANSI/APSP-16).
pub const UNBLOCKABLE: (f64, f64) = (0.457, 0.584);

/// Suction pipe: 6 ft/s (line velocity guidance of ANSI/APSP-7).
pub const SUCTION_VELOCITY: f64 = 1.829;
/// Suction pipe, too much by any rule: 8 ft/s (common practice, no source).
pub const SUCTION_VELOCITY_MOST: f64 = 2.438;
/// Pressure pipe: 8 ft/s (common practice, no source).
pub const PRESSURE_VELOCITY: f64 = 2.438;
/// Pressure pipe, too much by any rule: 12 ft/s (common practice, no source).
pub const PRESSURE_VELOCITY_MOST: f64 = 3.658;

/// Share of the curve's last flow under which a pump is badly loaded (common practice, no source).
pub const LEAST_PUMP_SHARE: f64 = 0.15;
/// Sum of a drum's open shares that should never be undercut: one outlet's worth (common practice, no source).
pub const LEAST_OPEN: f64 = 1.0;
/// Half of it is a fault.
pub const LEAST_OPEN_FAULT: f64 = 0.5;
/// Wire-to-water efficiency that no small pump reaches: the curve or the power is wrong (common practice, no source).
pub const MOST_EFFICIENCY: f64 = 0.75;

/// Water surface under the rim, m (common practice, no source).
pub const FREEBOARD: f64 = 0.02;
/// Difference between the stated and the computed surface that is worth saying, m (common practice, no source).
pub const LEVEL_DIFFERENCE: f64 = 0.006;
/// Head over an overflow lip above which it gurgles and drowns its teeth, m (common practice, no source).
pub const WEIR_HEAD: f64 = 0.025;
/// Share of the sump's room that back-drained water may take (common practice, no source).
pub const SUMP_SHARE: f64 = 0.9;

/// Wall stress allowed in PVC 1120 at 73 °F, Pa: 2000 psi (ASTM D1785).
pub const STRESS_SCHEDULE: f64 = 13.79e6;
/// The same in metric pressure pipe at 20 °C, Pa (EN ISO 1452: 10 MPa for sizes to 90 mm).
pub const STRESS_METRIC: f64 = 10.0e6;
/// What is left of it in water of 80 °F (value from memory).
pub const WARM_WATER: f64 = 0.88;

/// A switching period this near to a sloshing mode feeds it, as a share (common practice, no source).
pub const SLOSH_NEAR: f64 = 0.15;
