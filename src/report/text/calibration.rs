//! A calibration for a terminal: what was fitted, which readings disagree, what it changes.

use super::page::Page;
use crate::calibrate::{Calibration, Compared, Fitted, Measure, Number, NumberKind, Shift};
use crate::finding::{Finding, Grade};
use crate::report::shown;
use crate::report::tables::Table;
use crate::units::{Display, FlowKind, HeadKind, PressureKind, SpeedKind, show};

/// The whole calibration as text, `width` columns wide.
pub fn calibration(calibration: &Calibration, display: Display, width: usize) -> String {
    let mut page = Page::new(width);
    page.title(&calibration.layout);
    page.line("");
    page.paragraph("Fitted  ", &verdict(calibration));
    factors(&mut page, calibration);
    readings(&mut page, calibration, display);
    changes(&mut page, calibration, display);
    how_sure(&mut page);
    page.finish()
}

fn verdict(calibration: &Calibration) -> String {
    let fit = &calibration.agreement;
    let what = match calibration.factors.len() {
        0 => format!("nothing: {} tell no factor.", shown::count(calibration.readings.len(), "reading")),
        n => format!("{} from {}.", shown::count(n, "factor"), shown::count(calibration.readings.len(), "reading")),
    };
    let agree = if !fit.converged {
        " The search did not end at a minimum: do not use these factors.".to_owned()
    } else if fit.degrees_of_freedom == 0 {
        " There are as many factors as readings: nothing checks the fit. Measure something more.".to_owned()
    } else if fit.probability < 0.05 {
        format!(
            " The readings scatter more than their uncertainties allow (chi-square {:.1} with {} to spare): intervals are widened where they do.",
            fit.chi_square,
            shown::count(fit.degrees_of_freedom, "reading"),
        )
    } else {
        format!(" The readings agree (chi-square {:.1} with {} to spare).", fit.chi_square, shown::count(fit.degrees_of_freedom, "reading"))
    };
    what + &agree
}

fn factors(page: &mut Page, calibration: &Calibration) {
    page.heading("Factors");
    let rows = calibration.factors.iter().map(factor_row).collect();
    page.table(&table(&["Factor", "Now", "Fitted", "95 % interval", ""], "lrrll", rows));
    if !calibration.left.is_empty() {
        page.line("");
        page.line("Left as they are:");
        calibration
            .left
            .iter()
            .for_each(|left| page.paragraph("- ", &format!("{} ({:.3}): {}.", left.factor.words(), left.value, left.why)));
    }
}

fn factor_row(fitted: &Fitted) -> Vec<String> {
    let [low, high] = fitted.interval_95;
    let words = if fitted.at_limit {
        "at the end of what is believed: look for another cause"
    } else if (low..=high).contains(&fitted.before) {
        "no different from now"
    } else {
        ""
    };
    vec![
        fitted.factor.words(),
        format!("{:.3}", fitted.before),
        format!("{:.3}", fitted.value),
        if fitted.at_limit { shown::NOTHING.to_owned() } else { format!("{low:.3} to {high:.3}") },
        words.to_owned(),
    ]
}

fn readings(page: &mut Page, calibration: &Calibration, display: Display) {
    page.heading("Readings");
    let row = |reading: &Compared| {
        let value = |si: f64| measure(reading.kind, si, display);
        vec![
            reading.id.clone(),
            value(reading.measured),
            format!("± {}", value(reading.within)),
            value(reading.before),
            value(reading.after),
            format!("{:+.1}", reading.off),
        ]
    };
    let mut table =
        table(&["Reading", "Measured", "Within", "Layout now", "Fitted", "Off"], "lrrrrr", calibration.readings.iter().map(row).collect());
    table.note = "Off: measured less fitted, in units of the uncertainty (19 of 20 honest readings lie within 1). A float's time carries the 30 % of its law.".into();
    page.table(&table);
    let worst_first = calibration.readings.iter().filter(|reading| reading.disagrees());
    for reading in worst_first {
        page.line("");
        page.paragraph("", &disagreement(reading, display));
    }
    if let Some(shift) = &calibration.without_worst {
        page.paragraph("", &without(shift));
    }
    for finding in &calibration.unused {
        page.line("");
        page.paragraph("Not used: ", &shown::sentence(&format!("{}: {}; {}", shown::part(&finding.part), finding.what, finding.mend)));
    }
}

fn disagreement(reading: &Compared, display: Display) -> String {
    format!(
        "DISAGREES: {} says {}, the fitted layout {}: {:.0} % {}, {:.1} times its uncertainty. Measure it again before you believe either.",
        reading.id,
        measure(reading.kind, reading.measured, display),
        measure(reading.kind, reading.after, display),
        100.0 * (reading.measured / reading.after - 1.0).abs(),
        if reading.measured > reading.after { "more" } else { "less" },
        reading.off.abs()
    )
}

fn without(shift: &Shift) -> String {
    let factors: Vec<String> = shift.factors.iter().map(|(words, value)| format!("{words} {value:.3}")).collect();
    let agree = if shift.agreement.probability < 0.05 { "the others still don't agree" } else { "the others agree" };
    format!(
        "Without {}: {}; {agree} (chi-square {:.1} instead of {:.1}).",
        shift.reading,
        factors.join(", "),
        shift.agreement.chi_square,
        shift.before
    )
}

fn changes(page: &mut Page, calibration: &Calibration, display: Display) {
    page.heading("What it changes");
    let change = &calibration.change;
    let rows = change.numbers.iter().filter(|number| moves(number)).map(|number| {
        let value = |si: f64| match number.kind {
            NumberKind::Flow => show::<FlowKind>(si, display),
            NumberKind::Head => show::<HeadKind>(si, display),
            NumberKind::Speed => show::<SpeedKind>(si, display),
        };
        let share =
            if number.before.abs() > 1e-12 { format!("{:+.0} %", 100.0 * (number.after / number.before - 1.0)) } else { String::new() };
        vec![format!("{}, {}", number.part, number.what), value(number.before), value(number.after), share]
    });
    page.table(&table(&["", "Layout now", "Fitted", ""], "lrrr", rows.collect()));
    if change.numbers.iter().any(|number| !moves(number)) {
        page.line("Everything else stays within half a per cent.");
    }
    let list = |page: &mut Page, words: &str, findings: &[Finding]| {
        for finding in findings.iter().filter(|finding| finding.grade > Grade::Note) {
            let text = format!("{}, {}: {}.", finding.grade.word(), shown::part(&finding.part), finding.what);
            page.paragraph(&format!("{words:<9}"), &text);
        }
    };
    page.line("");
    if change.new.iter().chain(&change.gone).all(|finding| finding.grade == Grade::Note) {
        page.line("No fault or caution of the wet-side checks comes up or goes away.");
    }
    list(page, "New", &change.new);
    list(page, "Gone", &change.gone);
    for (then, now) in change.changed.iter().filter(|(_, now)| now.grade > Grade::Note) {
        page.paragraph("Now      ", &format!("{}, {}: {} (was: {}).", now.grade.word(), shown::part(&now.part), now.what, then.what));
    }
    page.paragraph("", "How the water moves in the tank is not computed here: after --write, run `slackwater study`.");
}

fn moves(number: &Number) -> bool {
    (number.after - number.before).abs() > 0.005 * number.before.abs()
}

fn how_sure(page: &mut Page) {
    page.heading("How sure");
    for words in [
        "Intervals are from the stated uncertainties alone, linearised; what a factor stands for (a clogged screen, a half-open valve, worn impeller) is not told by it.",
        "Flows alone tell losses and pump heads poorly apart: measure a head or a pressure at the pump as well.",
        "A bucket's hose costs some flow, so bucket times read a little long; keep the hose short and wide, or give a wider uncertainty.",
    ] {
        page.paragraph("- ", words);
    }
}

fn measure(kind: Measure, si: f64, display: Display) -> String {
    match kind {
        Measure::BucketSeconds | Measure::FloatSeconds if si.is_finite() && si < 1e5 => format!("{si:.1} s"),
        Measure::BucketSeconds | Measure::FloatSeconds => "no flow".to_owned(),
        Measure::Flow => show::<FlowKind>(si, display),
        Measure::Head => show::<HeadKind>(si, display),
        Measure::Pressure => show::<PressureKind>(si, display),
    }
}

fn table(headings: &[&str], lean: &'static str, rows: Vec<Vec<String>>) -> Table {
    Table { headings: headings.iter().map(|h| (*h).to_owned()).collect(), lean, rows, ..Table::default() }
}
