//! Every measure of several studies side by side, each with its error bar and how it stands against the first study's.

use crate::finding::Grade;
use crate::study::record::{ColonyRecord, Record};
use serde::{Deserialize, Serialize};

/// Share of a value below which two are the same whatever their error bars: rounding and the solvers' tolerances.
pub const LEAST_ERROR: f64 = 0.005;
/// Cells that a volume or an area is uncertain by at least: fewer are not resolved by the grid.
pub const LEAST_CELLS: f64 = 4.0;

/// What a measure is a number of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// A whole number.
    Count,
    /// 0 to 1.
    Share,
    /// A plain number.
    Ratio,
    /// Of water in the tank, m/s.
    TankSpeed,
    /// Through screens and pipes, m/s.
    PipeSpeed,
    /// m³/s.
    Flow,
    /// m.
    Head,
    /// m³.
    Volume,
    /// m².
    Area,
    /// s.
    Time,
    /// 1/h.
    PerHour,
    /// m²/s².
    Energy,
}

/// Which way is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Better {
    /// Less of it.
    Lower,
    /// More of it.
    Higher,
    /// Neither by itself.
    Neither,
}

/// How a value stands against the first study's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// The difference is within the error bars.
    Same,
    /// Better by more than the error bars.
    Better,
    /// Worse by more than the error bars.
    Worse,
    /// More by more than the error bars, of something that is neither good nor bad.
    More,
    /// Less by more than the error bars, of something that is neither good nor bad.
    Less,
    /// One of the two has no error bar.
    NotCertain,
}

impl Standing {
    /// The word shown to people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::Better => "better",
            Self::Worse => "worse",
            Self::More => "more",
            Self::Less => "less",
            Self::NotCertain => "not certain",
        }
    }
}

/// A value with its error bar.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Valued {
    /// In SI.
    pub value: f64,
    /// Half the width of its error bar, in SI; `None` when it isn't known.
    pub error: Option<f64>,
}

/// One measure of all studies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Measure {
    /// Stable machine name, for instance `dead_share` or `intakes/I1/through`.
    pub id: String,
    /// What it belongs to, in words.
    pub group: String,
    /// What it is, in words.
    pub name: String,
    /// What it is a number of.
    pub quantity: Quantity,
    /// Which way is better.
    pub better: Better,
    /// One a study, in their order; `None` where a study doesn't have it.
    pub values: Vec<Option<Valued>>,
    /// How each stands against the first; `None` for the first and where one of the two is missing.
    pub standings: Vec<Option<Standing>>,
}

/// What a measure is, before its values.
struct Head<'a> {
    id: &'a str,
    group: &'a str,
    name: &'a str,
    quantity: Quantity,
    better: Better,
}

impl Head<'_> {
    fn of(self, records: &[&Record], read: impl Fn(&Record) -> Option<Valued>) -> Measure {
        let values: Vec<Option<Valued>> = records.iter().map(|record| read(record).filter(|v| v.value.is_finite())).collect();
        let first = values.first().copied().flatten();
        let against =
            |(index, value): (usize, &Option<Valued>)| (index > 0).then(|| Some(standing(first?, (*value)?, self.better))).flatten();
        let standings = values.iter().enumerate().map(against).collect();
        Measure {
            id: self.id.into(),
            group: self.group.into(),
            name: self.name.into(),
            quantity: self.quantity,
            better: self.better,
            values,
            standings,
        }
    }
}

/// How `b` stands against `a`. The bars are added as independent errors are: by their squares.
pub fn standing(a: Valued, b: Valued, better: Better) -> Standing {
    let (Some(bar_a), Some(bar_b)) = (a.error, b.error) else {
        return if a.value == b.value { Standing::Same } else { Standing::NotCertain };
    };
    let difference = b.value - a.value;
    match better {
        _ if difference.abs() <= bar_a.hypot(bar_b) => Standing::Same,
        Better::Neither if difference > 0.0 => Standing::More,
        Better::Neither => Standing::Less,
        Better::Higher if difference > 0.0 => Standing::Better,
        Better::Lower if difference < 0.0 => Standing::Better,
        _ => Standing::Worse,
    }
}

/// How far the speeds of a study can be off by chance, as a share of them: half the width of an error bar. Two standard errors of the mean
/// speed by batch means; with fewer than two batches its change from the first half of the averaging to the second, which is twice the
/// standard error by two halves. `None` without averages.
pub fn speed_error(record: &Record) -> Option<f64> {
    let by_batches = batch_error(record);
    let error = by_batches.unwrap_or(record.run.half_to_half.abs());
    (record.run.averaged_s > 0.0 && error.is_finite()).then_some(error.max(LEAST_ERROR))
}

fn batch_error(record: &Record) -> Option<f64> {
    let standard_error = record.run.standard_error_m_s?;
    (record.mean_speed_m_s > 0.0).then(|| 2.0 * standard_error / record.mean_speed_m_s)
}

/// Where the error bars of a study come from, for people.
pub fn error_words(record: &Record) -> String {
    match (speed_error(record), batch_error(record)) {
        (Some(error), Some(_)) => {
            format!("two standard errors of the mean speed by {} batches: {:.1} %", record.run.batches, 100.0 * error)
        }
        (Some(error), None) => format!(
            "half to half: the mean speed changed by {:.1} % from the first half of the averaging to the second; a rough bar, by two halves only",
            100.0 * error
        ),
        (None, _) => "none: nothing was averaged".to_owned(),
    }
}

/// All measures, group by group.
pub fn all(records: &[&Record]) -> Vec<Measure> {
    [
        verdict(records),
        water(records),
        dead_spots(records),
        colonies(records),
        sand(records),
        surface(records),
        plumbing(records),
        probes(records),
    ]
    .concat()
}

fn exact(value: f64) -> Option<Valued> {
    Some(Valued { value, error: Some(0.0) })
}

/// Of the plumbing: solved, not sampled.
fn solved(value: f64) -> Option<Valued> {
    Some(Valued { value, error: Some(LEAST_ERROR * value.abs()) })
}

/// Goes with the speed.
fn by_speed(value: f64, record: &Record) -> Option<Valued> {
    Some(Valued { value, error: speed_error(record).map(|error| error * value.abs()) })
}

/// A share of water or time in a band: uncertain by the speed's share of error, in hundredths of the whole.
fn by_band(value: f64, record: &Record) -> Option<Valued> {
    Some(Valued { value, error: speed_error(record) })
}

/// Not less than `least`.
fn at_least(valued: Option<Valued>, least: f64) -> Option<Valued> {
    valued.map(|v| Valued { error: v.error.map(|error| error.max(least)), ..v })
}

fn verdict(records: &[&Record]) -> Vec<Measure> {
    let count = |grade: Grade, name: &str, id: &str| {
        let head = Head { id, group: "Verdict", name, quantity: Quantity::Count, better: Better::Lower };
        head.of(records, |record| exact(record.findings.iter().filter(|finding| finding.grade == grade).count() as f64))
    };
    vec![count(Grade::Fault, "Faults", "faults"), count(Grade::Caution, "Cautions", "cautions")]
}

fn water(records: &[&Record]) -> Vec<Measure> {
    let head = |id, name, quantity| Head { id, group: "Water", name, quantity, better: Better::Neither };
    let mut measures = vec![
        head("water", "Open water", Quantity::Volume).of(records, |r| solved(r.water_m3)),
        head("turnover", "Turnover", Quantity::PerHour).of(records, |r| solved(r.turnover_per_hour)),
        head("mean_speed", "Mean speed", Quantity::TankSpeed).of(records, |r| by_speed(r.mean_speed_m_s, r)),
        head("kinetic_energy", "Mean kinetic energy", Quantity::Energy).of(records, |r| {
            let valued = by_speed(r.mean_kinetic_energy_m2_s2, r)?;
            Some(Valued { error: valued.error.map(|error| 2.0 * error), ..valued })
        }),
    ];
    measures.extend(motion(records));
    let limits: Vec<f64> = records.first().map(|r| r.share_under.iter().map(|s| s.limit_m_s).collect()).unwrap_or_default();
    measures.extend(limits.into_iter().map(|limit| {
        let (id, name) = (format!("share_under/{limit}"), format!("Water slower than {:.0} cm/s", 100.0 * limit));
        let head = Head { id: &id, group: "Water", name: &name, quantity: Quantity::Share, better: Better::Lower };
        head.of(records, |record| share_under(record, limit))
    }));
    measures
}

/// Percentiles, turns, still spells and age: where a study has them.
fn motion(records: &[&Record]) -> Vec<Measure> {
    let head = |id, name, quantity, better| Head { id, group: "Water", name, quantity, better };
    let given = |value: f64| (value > 0.0).then_some(value);
    let mut measures = vec![
        head("p95_speed", "Speed not exceeded for 95 % of the time", Quantity::TankSpeed, Better::Neither)
            .of(records, |r| by_speed(given(r.p95_speed_m_s)?, r)),
        head("direction_change", "Change of direction", Quantity::Share, Better::Neither)
            .of(records, |r| by_band(given(r.direction_change)?, r)),
        head("longest_still", "Longest still spell, mean", Quantity::Time, Better::Lower)
            .of(records, |r| by_speed(given(r.longest_still_s)?, r)),
        head("age", "Age of the water, mean", Quantity::Time, Better::Lower).of(records, |r| by_speed(r.age.as_ref()?.mean_s, r)),
        head("exchange", "Exchange efficiency", Quantity::Share, Better::Higher)
            .of(records, |r| by_band(r.age.as_ref()?.exchange_efficiency, r)),
        head("mixing", "Time to mix dye to 95 %", Quantity::Time, Better::Lower).of(records, |r| by_speed(r.dye.as_ref()?.mixed_s?, r)),
    ];
    let kinds = ids(records, |r| r.detritus.iter().map(|d| d.kind.as_str()).collect());
    measures.extend(kinds.into_iter().map(|kind| settled(records, kind)));
    measures.retain(|measure| measure.values.iter().any(Option::is_some));
    measures
}

/// The share of a kind of detritus that lies at the end: its own error from the number of particles, and the flow's.
fn settled(records: &[&Record], kind: &str) -> Measure {
    let (id, name) = (format!("detritus/{kind}/settled"), format!("Detritus, {kind}: share that settles"));
    let head = Head { id: &id, group: "Water", name: &name, quantity: Quantity::Share, better: Better::Lower };
    head.of(records, |r| {
        let found = r.detritus.iter().find(|d| d.kind == kind)?;
        let of_flow = speed_error(r).map(|error| error * found.settled_share);
        Some(Valued { value: found.settled_share, error: of_flow.map(|error| error.hypot(2.0 * found.standard_error)) })
    })
}

/// The share under a limit; its error from how many of the speeds lie near the limit.
fn share_under(record: &Record, limit: f64) -> Option<Valued> {
    let under = record.share_under.iter().find(|s| s.limit_m_s == limit)?;
    let value = under.share;
    if let (Some(low), Some(high)) = (under.share_low, under.share_high) {
        return Some(Valued { value, error: Some((0.5 * (high - low)).max(LEAST_ERROR * value)) });
    }
    let error = speed_error(record).map(|e| (share_at(record, limit * (1.0 + e)) - share_at(record, limit * (1.0 - e))).abs() / 2.0);
    Some(Valued { value, error: error.map(|e| e.max(LEAST_ERROR * value)) })
}

/// The share under any speed, between the recorded limits by straight lines from nothing at rest; past the last limit as at it.
fn share_at(record: &Record, speed: f64) -> f64 {
    let mut below = (0.0, 0.0);
    for s in &record.share_under {
        if s.limit_m_s >= speed {
            let along = (speed - below.0) / (s.limit_m_s - below.0).max(1e-12);
            return below.1 + along * (s.share - below.1);
        }
        below = (s.limit_m_s, s.share);
    }
    below.1
}

fn dead_spots(records: &[&Record]) -> Vec<Measure> {
    let head = |id, name, quantity, better| Head { id, group: "Dead spots", name, quantity, better };
    let all = |r: &Record| r.dead_spots.iter().map(|spot| spot.volume_m3).sum::<f64>();
    let largest = |r: &Record| r.dead_spots.first().map_or(0.0, |spot| spot.volume_m3);
    vec![
        head("dead_spots", "Number", Quantity::Count, Better::Neither).of(records, |r| exact(r.dead_spots.len() as f64)),
        head("dead_volume", "Volume of all", Quantity::Volume, Better::Lower).of(records, |r| slow_volume(r, all(r))),
        head("dead_share", "Share of the water", Quantity::Share, Better::Lower).of(records, |r| {
            let volume = slow_volume(r, all(r))?;
            let water = r.water_m3.max(1e-12);
            Some(Valued { value: volume.value / water, error: volume.error.map(|error| error / water) })
        }),
        head("largest_dead_spot", "The largest", Quantity::Volume, Better::Lower).of(records, |r| slow_volume(r, largest(r))),
    ]
}

/// A volume of slow water: uncertain by the same share as the water under 2 cm/s, and by some cells of the grid.
fn slow_volume(record: &Record, volume: f64) -> Option<Valued> {
    let slow = record.share_under.iter().find(|s| (s.limit_m_s - 0.02).abs() < 1e-9).and_then(|s| share_under(record, s.limit_m_s));
    let share = match slow {
        Some(Valued { value, error: Some(error) }) if value > 0.0 => Some(error / value),
        _ => speed_error(record),
    };
    at_least(Some(Valued { value: volume, error: share.map(|share| share * volume) }), LEAST_CELLS * record.run.cell_m.powi(3))
}

/// Ids of the parts of all studies, in the order in which they first appear.
fn ids<'a>(records: &[&'a Record], of: impl Fn(&'a Record) -> Vec<&'a str>) -> Vec<&'a str> {
    let mut all: Vec<&str> = Vec::new();
    for id in records.iter().flat_map(|record| of(record)) {
        if !all.contains(&id) {
            all.push(id);
        }
    }
    all
}

fn colonies(records: &[&Record]) -> Vec<Measure> {
    let names = ids(records, |r| r.colonies.iter().map(|c| c.id.as_str()).collect());
    names.into_iter().flat_map(|id| colony(records, id)).collect()
}

fn colony(records: &[&Record], id: &str) -> Vec<Measure> {
    let find = |r: &Record| r.colonies.iter().find(|c| c.id == id && c.verdict != "no water there").cloned();
    let place = |what: &str| (format!("colonies/{id}/{what}"), format!("{id}: {}", what.replace('_', " ")));
    let [mean, off, share, time] = [place("mean_speed"), place("off_its_band"), place("share_in_band"), place("time_in_band")];
    let head = |(id, name): &'_ (String, String), quantity, better| {
        let (id, name) = (id.clone(), name.clone());
        move |records: &[&Record], read: &dyn Fn(&Record, &ColonyRecord) -> Option<Valued>| {
            let head = Head { id: &id, group: "Colonies and zones", name: &name, quantity, better };
            head.of(records, |record| find(record).and_then(|colony| read(record, &colony)))
        }
    };
    let mut measures = vec![
        head(&mean, Quantity::TankSpeed, Better::Neither)(records, &|r, c| mean_of(r, c)),
        head(&off, Quantity::TankSpeed, Better::Lower)(records, &|r, c| off_band(r, c)),
        head(&share, Quantity::Share, Better::Higher)(records, &|r, c| by_band(c.share_in_band, r)),
        head(&time, Quantity::Share, Better::Higher)(records, &|r, c| by_band(c.time_in_band?, r)),
    ];
    measures.retain(|measure| measure.values.iter().any(Option::is_some));
    measures
}

/// Two standard errors of its own batches where it has them; else as the mean speed of the water.
fn by_batches(value: f64, standard_error: Option<f64>, record: &Record) -> Option<Valued> {
    match standard_error {
        Some(error) => Some(Valued { value, error: Some((2.0 * error).max(LEAST_ERROR * value)) }),
        None => by_speed(value, record),
    }
}

fn mean_of(record: &Record, colony: &ColonyRecord) -> Option<Valued> {
    by_batches(colony.mean_speed_m_s, colony.standard_error_m_s, record)
}

/// How far the mean speed is out of the wanted band.
fn off_band(record: &Record, colony: &ColonyRecord) -> Option<Valued> {
    let speed = colony.mean_speed_m_s;
    let value = (colony.want_low_m_s - speed).max(speed - colony.want_high_m_s).max(0.0);
    Some(Valued { value, error: mean_of(record, colony)?.error })
}

fn sand(records: &[&Record]) -> Vec<Measure> {
    if records.iter().all(|record| record.sand.is_none()) {
        return Vec::new();
    }
    let head = |id, name, quantity| Head { id, group: "Sand", name, quantity, better: Better::Lower };
    vec![
        head("sand_blown", "Blown bare", Quantity::Area).of(records, |r| moved_area(r, r.sand.as_ref()?.blown_area_m2)),
        head("sand_stirred", "Stirred now and then", Quantity::Area).of(records, |r| moved_area(r, r.sand.as_ref()?.stirred_area_m2)),
        head("sand_worst", "Fastest over the bed, of the threshold", Quantity::Ratio)
            .of(records, |r| by_speed(r.sand.as_ref()?.worst_ratio, r)),
    ]
}

/// Shear goes with the square of the speed.
fn moved_area(record: &Record, area: f64) -> Option<Valued> {
    let valued = by_speed(area, record)?;
    at_least(Some(Valued { error: valued.error.map(|error| 2.0 * error), ..valued }), LEAST_CELLS * record.run.cell_m.powi(2))
}

fn surface(records: &[&Record]) -> Vec<Measure> {
    if records.iter().all(|record| record.surface.is_none()) {
        return Vec::new();
    }
    let head = |id, name, quantity| Head { id, group: "Surface", name, quantity, better: Better::Higher };
    vec![
        head("skimmed", "Film skimmed in time", Quantity::Share).of(records, |r| by_band(r.surface.as_ref()?.skimmed_share, r)),
        head("drift", "Drift toward the overflow", Quantity::TankSpeed).of(records, |r| by_speed(r.surface.as_ref()?.drift_m_s, r)),
    ]
}

fn plumbing(records: &[&Record]) -> Vec<Measure> {
    let mut measures = Vec::new();
    for id in ids(records, |r| r.intakes.iter().map(|i| i.id.as_str()).collect()) {
        let (name, id_of) = (format!("{id}: fastest through the screen"), format!("intakes/{id}/through"));
        let head = Head { id: &id_of, group: "Intake screens", name: &name, quantity: Quantity::PipeSpeed, better: Better::Lower };
        measures.push(head.of(records, |r| solved(r.intakes.iter().find(|i| i.id == id)?.through_m_s?.max)));
    }
    for id in ids(records, |r| r.pumps.iter().map(|p| p.id.as_str()).collect()) {
        let flow = (format!("{id}: mean flow"), format!("pumps/{id}/flow"));
        let head = Head { id: &flow.1, group: "Pumps", name: &flow.0, quantity: Quantity::Flow, better: Better::Neither };
        measures.push(head.of(records, |r| solved(r.pumps.iter().find(|p| p.id == id)?.flow_m3_s.mean)));
        let lift = (format!("{id}: mean head"), format!("pumps/{id}/head"));
        let head = Head { id: &lift.1, group: "Pumps", name: &lift.0, quantity: Quantity::Head, better: Better::Neither };
        measures.push(head.of(records, |r| solved(r.pumps.iter().find(|p| p.id == id)?.head_m.mean)));
    }
    for id in ids(records, |r| r.nozzles.iter().map(|n| n.id.as_str()).collect()) {
        let (name, id_of) = (format!("{id}: mean flow"), format!("nozzles/{id}/flow"));
        let head = Head { id: &id_of, group: "Nozzles", name: &name, quantity: Quantity::Flow, better: Better::Neither };
        measures.push(head.of(records, |r| solved(r.nozzles.iter().find(|n| n.id == id)?.flow_m3_s.mean)));
    }
    measures
}

fn probes(records: &[&Record]) -> Vec<Measure> {
    let names = ids(records, |r| r.probes.iter().map(|p| p.id.as_str()).collect());
    let measure = |id: &str| {
        let (name, id_of) = (format!("{id}: mean speed"), format!("probes/{id}/mean_speed"));
        let head = Head { id: &id_of, group: "Probes", name: &name, quantity: Quantity::TankSpeed, better: Better::Neither };
        head.of(records, |r| {
            let probe = r.probes.iter().find(|p| p.id == id)?;
            by_batches(probe.mean_speed_m_s?, probe.standard_error_m_s, r)
        })
    };
    names.into_iter().map(measure).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn valued(value: f64, error: f64) -> Valued {
        Valued { value, error: Some(error) }
    }

    /// 3-4-5: bars of 3 and 4 make one of 5.
    #[test]
    fn within_the_bars_is_the_same() {
        let at = |value, better| standing(valued(10.0, 3.0), valued(value, 4.0), better);
        assert_eq!([at(15.0, Better::Higher), at(5.0, Better::Higher)], [Standing::Same, Standing::Same]);
        assert_eq!(
            [at(15.1, Better::Higher), at(15.1, Better::Lower), at(15.1, Better::Neither)],
            [Standing::Better, Standing::Worse, Standing::More]
        );
        assert_eq!(
            [at(4.9, Better::Higher), at(4.9, Better::Lower), at(4.9, Better::Neither)],
            [Standing::Worse, Standing::Better, Standing::Less]
        );
        let unknown = Valued { value: 1.0, error: None };
        assert_eq!(standing(unknown, valued(2.0, 0.1), Better::Lower), Standing::NotCertain);
    }
}
