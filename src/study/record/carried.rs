//! Records of what goes with the water, and of what other cells would have said.

use serde::{Deserialize, Serialize};

/// Age of the water since it last came out of a nozzle.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct AgeRecord {
    /// Volume over the flow of all nozzles, V/Q: what leaves must have this age on average.
    pub nominal_s: f64,
    /// Mean age of the water that leaves, as computed.
    pub outlets_s: f64,
    /// The same for each intake and overflow that takes water.
    #[serde(default)]
    pub outlets: Vec<OutletAge>,
    /// Volume-mean age.
    pub mean_s: f64,
    /// V/Q over twice the volume-mean age: 1 for plug flow, 0.5 for perfect mixing.
    pub exchange_efficiency: f64,
    /// A twentieth of the water is older than this.
    pub oldest_s: f64,
    /// Where the oldest water is.
    pub oldest_at_m: Option<[f64; 3]>,
    /// Time that it was carried for.
    pub carried_s: f64,
    /// The ages had come to rest and closed to half a percent at the outlets.
    pub settled: bool,
}

/// Age of the water that leaves by an intake or overflow.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct OutletAge {
    /// The part, as list/id.
    pub part: String,
    /// Mean age of the water that it takes.
    pub age_s: f64,
    /// Its share of all that leaves: weighed by it, the ages make that of all outlets.
    pub share: f64,
}

/// A shot of dye at a nozzle.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct DyeRecord {
    /// Id of the nozzle.
    pub nozzle: String,
    /// When it was mixed to 95 %; `None` when it was not.
    pub mixed_s: Option<f64>,
    /// Time followed.
    pub followed_s: f64,
    /// Coefficient of variation at the end.
    pub variation: f64,
    /// Published time for one steady jet with the momentum of all nozzles and this one's free path.
    pub published_s: Option<f64>,
    /// How far the nozzle's axis goes through water.
    pub free_path_m: f64,
}

/// What becomes of one kind of detritus.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct DetritusRecord {
    /// `fine`, `medium` or `coarse`.
    pub kind: String,
    /// Its settling speed.
    pub settling_m_s: f64,
    /// Speed of the water that lifts it again.
    pub lifting_m_s: f64,
    /// Particles followed.
    pub particles: usize,
    /// Time followed.
    pub followed_s: f64,
    /// Share caught by each intake and overflow.
    pub caught: Vec<Caught>,
    /// Share that lay at the end.
    pub settled_share: f64,
    /// Share still in the water.
    pub afloat_share: f64,
    /// Standard error of the settled share, from the number of particles.
    pub standard_error: f64,
}

/// Share of detritus that an intake or overflow caught.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Caught {
    /// The part, as list/id.
    pub part: String,
    /// 0 to 1.
    pub share: f64,
}

/// How much a figure depends on the size of the cells.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct GridError {
    /// Which figure.
    pub quantity: String,
    /// Its unit: `m/s`, or `share` of the water, 0 to 1.
    #[serde(default)]
    pub unit: String,
    /// Its values, finest grid first.
    pub values: Vec<f64>,
    /// Cell edges of those grids, m.
    pub cells_m: Vec<f64>,
    /// Observed order; `None` when the values don't converge one way.
    pub order: Option<f64>,
    /// Error of the finest value, in its own unit.
    pub error: f64,
}
