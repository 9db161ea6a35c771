//! The stable result of a study: what `study.json` holds. Names carry their units; adding fields is allowed, renaming is not.

mod carried;

pub use super::{seepage::SeepageRecord, skin::SkinRecord};
pub use carried::{AgeRecord, Caught, DetritusRecord, DyeRecord, GridError, OutletAge};

use crate::finding::Finding;
use serde::{Deserialize, Serialize};

/// Version of this record's form.
pub const RECORD_VERSION: u32 = 1;

/// Everything a study found, without the fields.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// [`RECORD_VERSION`].
    pub record_version: u32,
    /// Name of the layout.
    pub layout: String,
    /// How it was computed.
    pub run: RunInfo,
    /// Joint cycle of all drum units, s; the sampling window when nothing moves.
    pub cycle_s: f64,
    /// Every pump over the cycle.
    pub pumps: Vec<PumpRecord>,
    /// Every pipe run over the cycle.
    pub links: Vec<LinkRecord>,
    /// Every drum outlet over the cycle.
    pub outlets: Vec<OutletRecord>,
    /// Every nozzle over the cycle.
    pub nozzles: Vec<NozzleRecord>,
    /// Every intake over the cycle.
    pub intakes: Vec<IntakeRecord>,
    /// Every drum unit over the cycle.
    #[serde(default)]
    pub drums: Vec<DrumRecord>,
    /// Open water in the tank, m³.
    pub water_m3: f64,
    /// Flow through all nozzles per hour over the water volume.
    pub turnover_per_hour: f64,
    /// Share of the open water whose time-mean speed is under each limit.
    pub share_under: Vec<ShareUnder>,
    /// Volume mean of the time-mean speed, m/s.
    pub mean_speed_m_s: f64,
    /// Volume mean of half the time-mean of |u|², m²/s².
    pub mean_kinetic_energy_m2_s2: f64,
    /// Volume mean of the speed that is not exceeded for 95 % of the time, m/s.
    #[serde(default)]
    pub p95_speed_m_s: f64,
    /// Highest sampled speed anywhere, m/s.
    #[serde(default)]
    pub peak_speed_m_s: f64,
    /// Volume mean of the change of direction, 0 (always one way) to 1 (back and forth).
    #[serde(default)]
    pub direction_change: f64,
    /// Volume mean of the turns by more than a right angle per joint cycle.
    #[serde(default)]
    pub reversals_per_cycle: f64,
    /// Volume mean of the longest still spell, s.
    #[serde(default)]
    pub longest_still_s: f64,
    /// Dead spots, largest first.
    pub dead_spots: Vec<DeadSpot>,
    /// Colonies and zones against their bands.
    pub colonies: Vec<ColonyRecord>,
    /// Probes.
    pub probes: Vec<ProbeRecord>,
    /// The sand bed; `None` without one.
    #[serde(default)]
    pub sand: Option<SandRecord>,
    /// The surface film; `None` without an overflow.
    #[serde(default)]
    pub surface: Option<SurfaceRecord>,
    /// Water before intakes that a small fish can't leave, one entry for each intake.
    #[serde(default)]
    pub fish_zones: Vec<FishZone>,
    /// Age of the water; `None` when it wasn't asked for.
    #[serde(default)]
    pub age: Option<AgeRecord>,
    /// Mixing of a shot of dye; `None` when it wasn't asked for.
    #[serde(default)]
    pub dye: Option<DyeRecord>,
    /// What becomes of detritus, kind by kind; empty when it wasn't asked for.
    #[serde(default)]
    pub detritus: Vec<DetritusRecord>,
    /// Errors by the cells' size; empty when they weren't asked for.
    #[serde(default)]
    pub grid_errors: Vec<GridError>,
    /// Speed on the skin of each rock.
    #[serde(default)]
    pub skin: Vec<SkinRecord>,
    /// Water inside porous rocks.
    #[serde(default)]
    pub seepage: Vec<SeepageRecord>,
    /// What it all means, worst first.
    pub findings: Vec<Finding>,
}

/// How the flow was computed.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct RunInfo {
    /// Cell edge, m.
    pub cell_m: f64,
    /// Cells along x, y, z.
    pub cells: [usize; 3],
    /// All of them.
    pub cell_count: usize,
    /// Those with water in them.
    pub water_cells: usize,
    /// Time before averaging began, s.
    pub spin_up_s: f64,
    /// Time averaged over, s.
    pub averaged_s: f64,
    /// Whole joint cycles in that time.
    pub cycles: f64,
    /// Time steps.
    pub steps: u64,
    /// Seed of the initial noise.
    pub seed: u64,
    /// Threads used.
    pub threads: usize,
    /// Wall time, s.
    pub wall_s: f64,
    /// Speed of the solver.
    pub cell_steps_per_s: f64,
    /// Peak memory of the process, bytes; 0 where the system doesn't say.
    pub peak_memory_bytes: u64,
    /// Worst imbalance of inflow and outflow after a step, as a share of the inflow.
    pub worst_mass_error: f64,
    /// Root-mean-square divergence after a step, worst, 1/s.
    pub worst_divergence_rms_per_s: f64,
    /// Change of the volume-mean speed from the first half of the averaging to the second, as a share.
    pub half_to_half: f64,
    /// The user stopped it early.
    pub interrupted: bool,
    /// Batches of whole joint cycles that the standard errors come from.
    #[serde(default)]
    pub batches: u32,
    /// Length of a batch, s.
    #[serde(default)]
    pub batch_s: f64,
    /// Standard error of the volume-mean speed, m/s; `None` with fewer than two batches.
    #[serde(default)]
    pub standard_error_m_s: Option<f64>,
    /// Simulated time at which the averages were sure enough, s; `None` when it wasn't asked for or never came.
    #[serde(default)]
    pub settled_at_s: Option<f64>,
    /// What the measures that were asked for besides took.
    #[serde(default)]
    pub costs: Vec<Cost>,
}

/// What a measure took.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Cost {
    /// Which.
    pub measure: String,
    /// Wall time, s.
    pub seconds: f64,
    /// Memory per cell, bytes.
    pub bytes_per_cell: f64,
}

/// Least, mean and most over the cycle.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Range {
    /// Least.
    pub min: f64,
    /// Time mean.
    pub mean: f64,
    /// Most.
    pub max: f64,
}

/// A pump over the cycle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PumpRecord {
    /// Id in the layout.
    pub id: String,
    /// Delivered flow.
    pub flow_m3_s: Range,
    /// Head added.
    pub head_m: Range,
    /// Share of full speed that it was computed at.
    #[serde(default)]
    pub speed: f64,
    /// Share of the cycle with hardly any flow.
    #[serde(default)]
    pub shut_off_share: f64,
    /// Share of the cycle past the last point of its curve.
    #[serde(default)]
    pub run_out_share: f64,
    /// Electric power at that speed, W, by the cube of the speed; `None` where the layout gives none.
    #[serde(default)]
    pub power_w: Option<f64>,
    /// Power that reaches the water over electric power, mean over the cycle.
    #[serde(default)]
    pub efficiency: Option<f64>,
    /// Electric energy of a year, by its speed programme where it has one.
    #[serde(default)]
    pub energy_kwh_year: Option<f64>,
    /// Each step of its speed programme, in the order of the day.
    #[serde(default)]
    pub programme: Vec<PumpStepRecord>,
}

/// A step of a pump's speed programme, all pumps at their speeds of that time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PumpStepRecord {
    /// Time after midnight from which it holds.
    pub from_s: f64,
    /// How long it holds.
    pub lasts_s: f64,
    /// Share of full speed.
    pub speed: f64,
    /// Delivered flow over the cycle.
    pub flow_m3_s: Range,
    /// Head added over the cycle.
    pub head_m: Range,
    /// Electric power, W; `None` where the layout gives none.
    pub power_w: Option<f64>,
}

/// A drum unit over the cycle.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct DrumRecord {
    /// Id in the layout.
    pub id: String,
    /// Least open area of all outlets together, leakage left out, in outlets.
    pub least_open_outlets: f64,
    /// The same with leakage past shut outlets, m².
    pub least_open_area_m2: f64,
    /// When in the cycle that is, s.
    pub least_open_at_s: f64,
    /// Most open area of all outlets together, leakage left out, in outlets.
    pub most_open_outlets: f64,
}

/// A pipe run over the cycle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LinkRecord {
    /// Circuit it belongs to.
    pub circuit: String,
    /// Id in the layout.
    pub id: String,
    /// Nominal pipe.
    pub pipe: String,
    /// Real bore used, m.
    pub bore_m: f64,
    /// Flow, negative against the run's direction.
    pub flow_m3_s: Range,
    /// Mean velocity in the pipe.
    pub velocity_m_s: Range,
    /// Head lost along it.
    pub head_loss_m: Range,
}

/// A drum outlet over the cycle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OutletRecord {
    /// Drum unit.
    pub drum: String,
    /// Number from 1.
    pub outlet: u32,
    /// Share of the cycle in which it is more than half open.
    pub share_open: f64,
    /// Flow.
    pub flow_m3_s: Range,
    /// Sample times over the cycle, s.
    pub time_s: Vec<f64>,
    /// Open fraction at those times.
    pub open: Vec<f64>,
    /// Flow at those times.
    pub flow_series_m3_s: Vec<f64>,
}

/// A nozzle over the cycle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NozzleRecord {
    /// Id in the layout.
    pub id: String,
    /// Flow.
    pub flow_m3_s: Range,
    /// Exit speed.
    pub speed_m_s: Range,
    /// Flow × exit speed.
    pub momentum_m4_s2: Range,
    /// Jet Reynolds number at the largest flow.
    pub reynolds: f64,
    /// Push of the jet: momentum times density, N.
    #[serde(default)]
    pub thrust_n: Range,
    /// Flow that an eductor drags in from the tank, m³/s; nothing for other nozzles.
    #[serde(default)]
    pub entrained_m3_s: Range,
}

/// An intake over the cycle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct IntakeRecord {
    /// Id in the layout.
    pub id: String,
    /// Flow out of the tank.
    pub flow_m3_s: Range,
    /// Flow over the whole screen face; `None` without a screen.
    pub approach_m_s: Option<Range>,
    /// Flow over the open area of the screen; `None` without a screen.
    pub through_m_s: Option<Range>,
    /// The layout's own limit on it, m/s; `None`: the usual one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit_m_s: Option<f64>,
}

/// Share of the open water under a limit.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct ShareUnder {
    /// Time-mean speed, m/s.
    pub limit_m_s: f64,
    /// 0 to 1.
    pub share: f64,
    /// The share that is under the limit by more than two standard errors; `None` when they aren't known.
    #[serde(default)]
    pub share_low: Option<f64>,
    /// The share that is not over the limit by more than two standard errors; `None` when they aren't known.
    #[serde(default)]
    pub share_high: Option<f64>,
}

/// Connected water that stays slow.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct DeadSpot {
    /// Rank from 1.
    pub rank: usize,
    /// Volume, m³.
    pub volume_m3: f64,
    /// Share of the open water.
    pub share: f64,
    /// Middle, m.
    pub centre_m: [f64; 3],
    /// Bounding box: least corner, m.
    pub from_m: [f64; 3],
    /// Bounding box: greatest corner, m.
    pub to_m: [f64; 3],
    /// Time-mean speed in it, m/s.
    pub mean_speed_m_s: f64,
    /// Where, in words.
    pub place: String,
    /// Longest time without a sample over the dead speed anywhere in it, s.
    #[serde(default)]
    pub longest_still_s: f64,
    /// Share of its volume that is under the dead speed by more than two standard errors; `None` when they aren't known.
    #[serde(default)]
    pub sure_share: Option<f64>,
    /// Why it is there, by following the flow; only for the largest.
    #[serde(default)]
    pub cause: Option<Cause>,
}

/// Why water stands still.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Cause {
    /// The solid part between it and the nearest jet's path, as list/id.
    pub lee_of: Option<String>,
    /// Jets whose paths pass by, nearest first, two at most.
    pub passes: Vec<Passing>,
    /// The jet that its water comes from.
    pub fed_by: Option<String>,
    /// The jet that would reach it best if it were turned.
    pub reach: Option<Reach>,
    /// All that in words.
    pub words: String,
}

/// A jet that passes by.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Passing {
    /// Which.
    pub jet: String,
    /// How far away, m.
    pub distance_m: f64,
    /// Time-mean speed there, m/s.
    pub speed_m_s: f64,
}

/// A jet that could be turned.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Reach {
    /// Which.
    pub jet: String,
    /// By how much, rad.
    pub turn_rad: f64,
    /// How far it is, m.
    pub distance_m: f64,
    /// Speed with which a free round jet would arrive, m/s.
    pub speed_m_s: f64,
}

/// A colony or zone against its band.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct ColonyRecord {
    /// Id in the layout.
    pub id: String,
    /// `colony` or `zone`.
    pub kind: String,
    /// Lowest wanted time-mean speed.
    pub want_low_m_s: f64,
    /// Highest wanted time-mean speed.
    pub want_high_m_s: f64,
    /// Time-mean speed around it.
    pub mean_speed_m_s: f64,
    /// Peak speed around it.
    pub peak_m_s: f64,
    /// Share of its water within the band.
    pub share_in_band: f64,
    /// `in band`, `too slow`, `too fast`, or `no water there`.
    pub verdict: String,
    /// Speed that is not exceeded for 95 % of the time where that is highest around it.
    #[serde(default)]
    pub p95_m_s: f64,
    /// Share of the time in which the mean speed around it is within the band; `None` when it wasn't followed.
    #[serde(default)]
    pub time_in_band: Option<f64>,
    /// Share of the time over the band: blasted.
    #[serde(default)]
    pub time_over: Option<f64>,
    /// Share of the time under the band: starved.
    #[serde(default)]
    pub time_under: Option<f64>,
    /// Standard error of the time-mean speed; `None` with fewer than two batches.
    #[serde(default)]
    pub standard_error_m_s: Option<f64>,
    /// The mean is within two standard errors of an end of the band: the verdict is not certain.
    #[serde(default)]
    pub near_limit: bool,
}

/// A probe.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ProbeRecord {
    /// Id in the layout, or the place typed on the command line.
    pub id: String,
    /// Where, m.
    pub at_m: [f64; 3],
    /// Time-mean velocity; `None` in rock.
    pub mean_velocity_m_s: Option<[f64; 3]>,
    /// Time-mean speed.
    pub mean_speed_m_s: Option<f64>,
    /// Root mean square of the velocity's fluctuation.
    pub rms_m_s: Option<f64>,
    /// Standard error of the time-mean speed; `None` in rock and with fewer than two batches.
    #[serde(default)]
    pub standard_error_m_s: Option<f64>,
}

/// The sand bed under the flow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SandRecord {
    /// Grain diameter.
    pub grain_m: f64,
    /// Bed shear stress at which such grains begin to move.
    pub threshold_shear_pa: f64,
    /// The same as a speed 5 cm over the bed.
    pub threshold_speed_m_s: f64,
    /// Bed with open water over it.
    pub bed_area_m2: f64,
    /// Bed on which the time-mean speed moves the grains: it will be blown bare.
    pub blown_area_m2: f64,
    /// Bed on which the peak speed moves the grains: it will be stirred now and then.
    pub stirred_area_m2: f64,
    /// Largest time-mean speed over the bed as a share of the threshold.
    pub worst_ratio: f64,
    /// Where that is.
    pub worst_at_m: Option<[f64; 3]>,
}

/// The surface film.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SurfaceRecord {
    /// Time within which film must reach an overflow.
    pub horizon_s: f64,
    /// Share of the surface whose film does.
    pub skimmed_share: f64,
    /// Mean speed of the film toward the nearest overflow.
    pub drift_m_s: f64,
    /// Where more than a tenth of the film comes together without being skimmed.
    pub trap_at_m: Option<[f64; 3]>,
    /// Share of the surface whose film reaches an overflow within other times.
    #[serde(default)]
    pub skimmed: Vec<Skimmed>,
}

/// Share of the surface that is skimmed within a time.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Skimmed {
    /// Within this time, s.
    pub within_s: f64,
    /// 0 to 1.
    pub share: f64,
}

/// Water before an intake that moves toward it faster than a small fish can swim for long.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct FishZone {
    /// Id of the intake.
    pub intake: String,
    /// Speed that the fish holds, m/s.
    pub limit_m_s: f64,
    /// Volume of that water, m³.
    pub volume_m3: f64,
    /// How far from the middle of the intake it reaches, m.
    pub reach_m: f64,
}
