//! What a study is asked to do, and how it tells how far it is.

use serde::{Deserialize, Serialize};

/// How a study is run. The same layout, settings and seed give the same results, bit for bit, for any number of threads.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Settings {
    /// Wanted cell edge, m; the tank's sizes are rounded to whole cells.
    pub cell: f64,
    /// Simulated time before averaging begins, s.
    pub spin_up: f64,
    /// Simulated time averaged over.
    pub span: Span,
    /// Of the small noise in the water at rest that the flow starts from.
    pub seed: u64,
    /// Threads for the solver; 0 uses every core.
    pub threads: usize,
    /// Water whose time-mean speed is under this is slow, m/s.
    pub dead_speed: f64,
    /// Slow water is dead when it is under `dead_speed` for more than this share of the time, 0 to 1.
    pub dead_share: f64,
    /// Points to report besides the layout's own probes, m.
    pub probes: Vec<[f64; 3]>,
    /// Stop as soon as the averages are sure; `span` is then the longest averaging.
    #[serde(default)]
    pub until_settled: bool,
    /// Speed that small fish hold for long, m/s.
    #[serde(default = "fish_limit")]
    pub fish_speed: f64,
    /// Measures that take long.
    #[serde(default)]
    pub extra: Extra,
}

fn fish_limit() -> f64 {
    super::fish::LIMIT
}

/// Measures that take long, for those who ask for them.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Extra {
    /// Age of the water.
    pub age: bool,
    /// A shot of dye at the nozzle with this id.
    pub dye: Option<String>,
    /// Detritus, followed for this long, s.
    pub detritus_s: Option<f64>,
    /// The same study on two coarser grids.
    pub grid_error: bool,
}

impl Extra {
    /// Whether the motion must be recorded.
    pub fn carries(&self) -> bool {
        self.age || self.dye.is_some() || self.detritus_s.is_some()
    }
}

/// Kinds of detritus: name and settling speed, m/s. Fine: flocs of 0.1 mm, 50 kg/m³ heavier than water (Stokes, reference 8.7); medium: the
/// same of 0.5 mm with a sphere's drag; coarse: feed and droppings, of which 0.5 to 5 cm/s are reported (value from memory).
pub const DETRITUS: [(&str, f64); 3] = [("fine", 2.8e-4), ("medium", 5.5e-3), ("coarse", 2e-2)];

/// How long to average. Averages run over whole joint cycles of the drum units wherever that is possible.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Span {
    /// Whole joint cycles that make at least [`Span::ENOUGH_S`], but no more than [`Span::MOST_S`] in all.
    Auto,
    /// This many joint cycles.
    Cycles(f64),
    /// About this many seconds: rounded to whole joint cycles when one fits.
    Seconds(f64),
}

impl Default for Settings {
    /// 25 mm cells; a minute and a half of spin-up: a few turns of the tank's own circulation (common practice, no source; the
    /// half-to-half check of the study says when it was too short).
    fn default() -> Self {
        Self {
            cell: 0.025,
            spin_up: 90.0,
            span: Span::Auto,
            seed: 1,
            threads: 0,
            dead_speed: 0.02,
            dead_share: 0.9,
            probes: Vec::new(),
            until_settled: false,
            fish_speed: fish_limit(),
            extra: Extra::default(),
        }
    }
}

impl Span {
    /// Least time that [`Span::Auto`] averages over, s.
    pub const ENOUGH_S: f64 = 180.0;
    /// Most time that [`Span::Auto`] averages over, s.
    pub const MOST_S: f64 = 900.0;
    /// Most time that [`Span::Auto`] averages over when it waits until the averages are sure, s.
    pub const PATIENCE_S: f64 = 3600.0;

    /// Longest time to average over, s, when it stops by itself.
    pub fn most_seconds(self, cycle: f64) -> f64 {
        if self == Self::Auto { Self::PATIENCE_S } else { self.seconds(cycle) }
    }

    /// Time to average over, s, when the joint cycle takes `cycle` seconds.
    pub fn seconds(self, cycle: f64) -> f64 {
        match self {
            Self::Auto => ((Self::ENOUGH_S / cycle).ceil() * cycle).min(Self::MOST_S),
            Self::Cycles(n) => n * cycle,
            Self::Seconds(s) if s >= cycle => (s / cycle).round() * cycle,
            Self::Seconds(s) => s,
        }
    }
}

/// How far a study is.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// Simulated so far, s.
    pub simulated: f64,
    /// To be simulated in all, s.
    pub total: f64,
    /// What is going on: `spin-up`, `averaging` or `verdict`.
    pub phase: &'static str,
    /// Wall time so far, s.
    pub wall_s: f64,
}

/// Who watches a study: called now and then from any thread.
pub type Watch<'a> = dyn FnMut(&Progress) -> Control + Send + 'a;

/// What the watcher of a study answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Control {
    /// Carry on.
    Go,
    /// Stop here and give the verdict on what there is.
    Stop,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_whole_cycles_where_possible() {
        let cases = [
            (Span::Auto, 60.0, 180.0),
            (Span::Auto, 50.0, 200.0),
            (Span::Auto, 400.0, 400.0),
            (Span::Auto, 1000.0, 900.0),
            (Span::Cycles(2.5), 40.0, 100.0),
            (Span::Seconds(100.0), 40.0, 120.0),
            (Span::Seconds(30.0), 40.0, 30.0),
        ];
        for (span, cycle, seconds) in cases {
            assert_eq!(span.seconds(cycle), seconds, "{span:?} with a cycle of {cycle} s");
        }
    }
}
