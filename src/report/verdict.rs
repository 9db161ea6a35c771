//! The verdict in sentences that a client understands, said the same way in the terminal and in the HTML report.

use super::shown::{count, part, percent, tank_speed, volume};
use crate::finding::{Finding, Grade};
use crate::study::record::Record;
use crate::units::Display;

/// What to do, in one sentence.
pub fn sentence<'a>(findings: impl IntoIterator<Item = &'a Finding>) -> String {
    let grades: Vec<Grade> = findings.into_iter().map(|finding| finding.grade).collect();
    let of = |grade| grades.iter().filter(|g| **g == grade).count();
    let (faults, cautions) = (of(Grade::Fault), of(Grade::Caution));
    match (faults, cautions) {
        (0, 0) => "Nothing found that should hold you back, as far as these checks reach.".to_owned(),
        (0, c) => format!("No fault found; {} to look at before you drill.", count(c, "caution")),
        (f, 0) => format!("Do not drill, buy or glue yet: {} to mend.", count(f, "fault")),
        (f, c) => format!("Do not drill, buy or glue yet: {} to mend, {} to look at.", count(f, "fault"), count(c, "caution")),
    }
}

/// What the water does, in a few sentences.
pub fn paragraph(record: &Record, display: Display) -> String {
    let mut sentences = vec![format!(
        "The tank holds {} of open water, turned over {:.0} times an hour through its nozzles, and the water moves at {} on average.",
        volume(record.water_m3, display),
        record.turnover_per_hour,
        tank_speed(record.mean_speed_m_s, display)
    )];
    sentences.push(dead_spots(record, display));
    sentences.extend(colonies(record));
    sentences.extend(first_fault(record));
    if record.run.interrupted {
        sentences.push("The study was stopped early: treat it as a first look.".to_owned());
    }
    sentences.join(" ")
}

/// The fault that stands first.
fn first_fault(record: &Record) -> Option<String> {
    let faults: Vec<&Finding> = record.findings.iter().filter(|finding| finding.grade == Grade::Fault).collect();
    let first = faults.first()?;
    let lead = if faults.len() == 1 { "What must be mended" } else { "First to be mended" };
    let part = part(&first.part);
    let is_named = first.part.is_empty() || first.what.to_lowercase().starts_with(&part.to_lowercase());
    let lead = if is_named { lead.to_owned() } else { format!("{lead} ({part})") };
    Some(format!("{lead}: {}.", first.what.trim_end_matches('.')))
}

fn dead_spots(record: &Record, display: Display) -> String {
    let Some(first) = record.dead_spots.first() else { return "No dead spot was found.".to_owned() };
    let share: f64 = record.dead_spots.iter().map(|d| d.share).sum();
    let place = lead_in(&first.place);
    match record.dead_spots.len() {
        1 => format!("There is one dead spot of {} ({} of the water), {place}.", volume(first.volume_m3, display), percent(share)),
        n => {
            format!(
                "{} dead spots hold {} of the water; the largest, {}, lies {place}.",
                number_word(n),
                percent(share),
                volume(first.volume_m3, display)
            )
        }
    }
}

/// A number at the head of a sentence: "Three", "14".
fn number_word(n: usize) -> String {
    const WORDS: [&str; 13] = ["No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven", "Twelve"];
    WORDS.get(n).map_or_else(|| n.to_string(), |word| (*word).to_owned())
}

fn lead_in(place: &str) -> String {
    if place.is_empty() { "where the pictures show it".to_owned() } else { place.trim_end_matches('.').to_owned() }
}

fn colonies(record: &Record) -> Option<String> {
    let all = record.colonies.len();
    let outside: Vec<&str> = record.colonies.iter().filter(|c| c.verdict != "in band").map(|c| c.id.as_str()).collect();
    match (all, outside.len()) {
        (0, _) => None,
        (_, 0) => Some("Every colony and zone gets the flow it wants.".to_owned()),
        (1, _) => Some(format!("The one {}, {}, doesn't get the flow it wants.", record.colonies[0].kind, outside[0])),
        (_, 1) => Some(format!("One of {all} colonies and zones doesn't get the flow it wants: {}.", outside[0])),
        (_, n) => Some(format!("{} of {all} colonies and zones don't get the flow they want: {}.", number_word(n), listed(&outside, 4))),
    }
}

fn listed(names: &[&str], most: usize) -> String {
    let shown = names.iter().take(most).copied().collect::<Vec<_>>().join(", ");
    if names.len() > most { format!("{shown} and {} more", names.len() - most) } else { shown }
}

/// How sure the numbers are, one statement each.
pub fn certainty(record: &Record, display: Display) -> Vec<String> {
    use super::shown::{duration, grouped};
    use crate::units::{LengthKind, show};
    let run = &record.run;
    let mut said = vec![
        format!(
            "Averaged over {} ({:.1} joint cycles of {}) after {} of spin-up.",
            duration(run.averaged_s),
            run.cycles,
            duration(record.cycle_s),
            duration(run.spin_up_s)
        ),
        format!(
            "Cells of {}: {} × {} × {}, {} of them with water in them; {} time steps; seed {}.",
            show::<LengthKind>(run.cell_m, display),
            run.cells[0],
            run.cells[1],
            run.cells[2],
            grouped(run.water_cells),
            grouped(usize::try_from(run.steps).unwrap_or(usize::MAX)),
            run.seed
        ),
        format!(
            "From the first half of the averaging to the second the mean speed changed by {}: {}.",
            percent(run.half_to_half),
            settled(run.half_to_half)
        ),
    ];
    if run.interrupted {
        said.push("Stopped early by the user: fewer cycles than asked for.".to_owned());
    }
    said.extend(by_batches(record));
    said.push(by_grid(record));
    said
}

/// Chance, by batch means.
fn by_batches(record: &Record) -> Option<String> {
    let run = &record.run;
    let error = run.standard_error_m_s.filter(|_| record.mean_speed_m_s > 0.0)? / record.mean_speed_m_s;
    Some(format!(
        "By {} batches of {} the mean speed of the water is known to {} (two standard errors).",
        run.batches,
        super::shown::duration(run.batch_s),
        percent(2.0 * error)
    ))
}

/// The cells' size, if it was asked for.
fn by_grid(record: &Record) -> String {
    let error = |quantity: &str| record.grid_errors.iter().find(|error| error.quantity == quantity);
    let Some((speed, dead)) = error("mean speed").zip(error("share in dead spots")) else {
        return "Not checked here: how the figures change with the size of the cells. `--grid-error` runs two coarser grids to see."
            .to_owned();
    };
    format!(
        "By the size of the cells the mean speed is good to {}, the share in dead spots to {} of the water; the table below has the rest.",
        percent(speed.error / record.mean_speed_m_s.max(1e-9)),
        percent(dead.error)
    )
}

fn settled(change: f64) -> &'static str {
    match change.abs() {
        c if !c.is_finite() => "too short to tell",
        c if c < 0.05 => "settled",
        c if c < 0.15 => "nearly settled; a longer run would firm it up",
        _ => "not settled; run it longer before you trust small differences",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sentence_follows_the_worst_grade() {
        let finding = |grade| Finding::new(grade, "r", "p", "w", "y", "m");
        assert!(sentence(&[]).starts_with("Nothing found"));
        assert!(sentence(&[finding(Grade::Note), finding(Grade::Caution)]).starts_with("No fault found; 1 caution"));
        assert!(sentence(&[finding(Grade::Fault), finding(Grade::Fault)]).contains("2 faults to mend."));
    }

    #[test]
    fn long_lists_are_cut() {
        assert_eq!(listed(&["a", "b", "c"], 2), "a, b and 1 more");
    }
}
