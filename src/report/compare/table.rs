//! The tables of a comparison.

use super::said;
use crate::report::shown::{NOTHING, scale, tank_speed, unit};
use crate::report::tables::Table;
use crate::study::compare::measures::{Measure, Quantity, Standing, Valued};
use crate::study::compare::{Against, Comparison};
use crate::units::{AreaKind, Display, FlowKind, HeadKind, SpeedKind, TankSpeedKind, VolumeKind};

/// Every measure: one column a case, and for each but the first how it stands.
pub fn measures(comparison: &Comparison, display: Display) -> Table {
    let mut headings = vec!["Measure".to_owned()];
    for (index, case) in comparison.cases.iter().enumerate() {
        headings.push(case.letter.clone());
        if index > 0 {
            headings.push(format!("{} is", case.letter));
        }
    }
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut group = "";
    let is_shared = |measure: &&Measure| measure.values.iter().flatten().count() > 1;
    for measure in comparison.measures.iter().filter(is_shared) {
        if measure.group != group {
            group = &measure.group;
            rows.push(std::iter::once(group.to_owned()).chain(std::iter::repeat_n(String::new(), headings.len() - 1)).collect());
        }
        rows.push(row(measure, display));
    }
    let lean = if comparison.cases.len() > LEAN.len() / 2 { "" } else { LEAN };
    let alone = comparison.measures.len() - comparison.measures.iter().filter(is_shared).count();
    let note = if alone == 0 {
        said::BARS.into()
    } else {
        format!(
            "{} {} that only one of the studies has stand in its own report.",
            said::BARS,
            crate::report::shown::count(alone, "measure")
        )
    };
    Table { title: "Every measure on one scale".into(), headings, lean, rows, note }
}

/// Measure, A, then value and word for each other.
const LEAN: &str = "lrrlrlrlrlrlrlrlrlrlrlrlrl";

/// Name with unit, A, then value and word for each other.
pub fn row(measure: &Measure, display: Display) -> Vec<String> {
    let (unit, _) = unit_of(measure.quantity, display);
    let name = name(measure, display);
    let mut cells = vec![if unit.is_empty() { name } else { format!("{name}, {unit}") }];
    for (index, value) in measure.values.iter().enumerate() {
        cells.push(value.map_or(NOTHING.to_owned(), |valued| shown(valued, measure.quantity, display)));
        if index > 0 {
            cells.push(measure.standings[index].map_or(NOTHING, Standing::word).to_owned());
        }
    }
    cells
}

fn name(measure: &Measure, display: Display) -> String {
    let limit = measure.id.strip_prefix("share_under/").and_then(|limit| limit.parse().ok());
    limit.map_or_else(|| measure.name.clone(), |limit| format!("Slower than {}", tank_speed(limit, display)))
}

/// "3.10 ± 0.42": as many digits as the error bar deserves.
fn shown(valued: Valued, quantity: Quantity, display: Display) -> String {
    let (_, scale) = unit_of(quantity, display);
    let (value, error) = (valued.value / scale, valued.error.map(|error| error / scale));
    let of_interest = error.filter(|error| *error > 0.0).unwrap_or(0.01 * value.abs());
    let digits =
        if quantity == Quantity::Count || of_interest <= 0.0 { 0 } else { (1.0 - of_interest.log10().floor()).clamp(0.0, 4.0) as usize };
    match error {
        Some(error) if error > 0.0 => format!("{value:.digits$} ± {error:.digits$}"),
        Some(_) => format!("{value:.digits$}"),
        None => format!("{value:.digits$} ± ?"),
    }
}

fn unit_of(quantity: Quantity, display: Display) -> (&'static str, f64) {
    match quantity {
        Quantity::Count | Quantity::Ratio => ("", 1.0),
        Quantity::Share => ("%", 0.01),
        Quantity::TankSpeed => (unit::<TankSpeedKind>(display), scale::<TankSpeedKind>(display)),
        Quantity::PipeSpeed => (unit::<SpeedKind>(display), scale::<SpeedKind>(display)),
        Quantity::Flow => (unit::<FlowKind>(display), scale::<FlowKind>(display)),
        Quantity::Head => (unit::<HeadKind>(display), scale::<HeadKind>(display)),
        Quantity::Volume => (unit::<VolumeKind>(display), scale::<VolumeKind>(display)),
        Quantity::Area => (unit::<AreaKind>(display), scale::<AreaKind>(display)),
        Quantity::Time => ("s", 1.0),
        Quantity::PerHour => ("times an hour", 1.0),
        Quantity::Energy => ("cm²/s²", 1e-4),
    }
}

/// Findings gained, lost and regraded.
pub fn findings(against: &Against) -> Table {
    let headings = ["Change", "Grade", "Finding"].map(String::from).to_vec();
    let rows = against.findings.iter().map(|change| said::finding(change).to_vec()).collect();
    Table {
        title: format!("Findings of {} that A has not, or has otherwise", against.letter),
        headings,
        lean: "lll",
        rows,
        note: String::new(),
    }
}

/// Dead spots matched by the water they share.
pub fn spots(against: &Against, display: Display) -> Table {
    let headings = vec!["What became of it".to_owned(), "In A".to_owned(), format!("In {}", against.letter), "Where".to_owned()];
    let rows = against.dead_spots.iter().map(|spot| said::spot(spot, &against.letter, display).to_vec()).collect();
    let note = "Number and volume. Two are the same spot when at least a tenth of the smaller lies in the other.".to_owned();
    Table { title: format!("Dead spots of A and {}", against.letter), headings, lean: "lrrl", rows, note }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_follow_the_error_bar() {
        let of = |value, error| shown(Valued { value, error }, Quantity::TankSpeed, Display::Metric);
        assert_eq!([of(0.0512, Some(0.004)), of(0.0512, Some(0.02)), of(0.05, None)], ["5.12 ± 0.40", "5.1 ± 2.0", "5.000 ± ?"]);
        assert_eq!(shown(Valued { value: 3.0, error: Some(0.0) }, Quantity::Count, Display::Us), "3");
    }
}
