//! What the page says, in plain words: what moves, what it does to the animals, what is still to settle, what is estimated.

use super::lanes::runs;
use super::scene::JetMark;
use super::{Shown, rough, speed};
use crate::finding::Grade;
use crate::layout::{End, Layout, Mount, PanelName};
use crate::report::pictures::escaped;
use crate::report::shown::{count, duration, percent, sentence, volume};
use crate::study::record::{ColonyRecord, DeadSpot, Record};
use crate::units::{Display, FlowKind, LengthKind, show};

/// Most findings and dead spots that are told.
const MOST: usize = 6;

/// The first lines: how much moves, how fast, in how long.
pub fn lead(shown: &Shown) -> String {
    let record = shown.record();
    let nozzles: f64 = record.nozzles.iter().map(|nozzle| nozzle.flow_m3_s.mean).sum();
    let display = shown.layout().display;
    let mut said = vec![format!("The tank holds about {} of water.", volume(record.water_m3, display))];
    if nozzles > 0.0 {
        said.push(format!(
            "Its pumps push about {} through {}, so that as much water as the whole tank holds goes through them about {:.0} times an hour.",
            rough(&show::<FlowKind>(nozzles, display)),
            count(record.nozzles.len(), "nozzle"),
            record.turnover_per_hour
        ));
    }
    said.push(format!("On average the water moves at {}{}.", speed(record.mean_speed_m_s, display), hand(record.mean_speed_m_s, display)));
    said.join(" ")
}

/// A speed that a hand can follow.
fn hand(speed: f64, display: Display) -> String {
    let (breadth, words) = match display {
        Display::Us => (0.1016, "4 in"),
        Display::Metric => (0.1, "10 cm"),
    };
    if speed < 0.005 {
        String::new()
    } else {
        format!(": a hand's breadth, {words}, in {}", duration((10.0 * breadth / speed).round() / 10.0))
    }
}

/// How the nozzles take turns.
pub fn turns(shown: &Shown, jets: &[JetMark]) -> String {
    let (times, period) = (&shown.motion.times, shown.case.cycle());
    let (jets, propellers) = jets.split_at(shown.layout().nozzles.len().min(jets.len()));
    let propellers = propellers.len();
    let besides = if propellers == 0 { String::new() } else { format!(" Besides, {} all the time.", pushes(propellers)) };
    let takes_turns = jets.iter().filter(|jet| jet.most > 0.0 && jet.share.iter().any(|s| *s < 0.5)).count();
    let still = jets.iter().filter(|jet| jet.most > 0.0).count() - takes_turns;
    let length = shown.motion.length();
    if takes_turns == 0 {
        return format!("Every nozzle runs all the time.{besides} The picture shows {} of it.", duration(length.round()));
    }
    let steady = if still == 0 { String::new() } else { format!(" {} without a pause.", runs_verb(still)) };
    let most = (0..times.len()).map(|i| jets.iter().filter(|j| j.most > 0.0 && j.share[i] >= 0.5).count());
    let (least, most) = (most.clone().min().unwrap_or(0), most.max().unwrap_or(0));
    let together = if least == most { least.to_string() } else { format!("{least} to {most}") };
    let cut = if length + 1.0 < period { format!(" The picture shows its first {}.", duration(length.round())) } else { String::new() };
    format!(
        "{takes_turns} of the {} take turns, so that the current keeps changing direction. One round takes {}; at any moment {together} of all run.{steady}{besides}{cut}",
        count(jets.len(), "nozzle"),
        duration(period.round())
    )
}

fn runs_verb(n: usize) -> String {
    if n == 1 { "One runs".to_owned() } else { format!("{n} run") }
}

fn pushes(propellers: usize) -> String {
    if propellers == 1 { "a propeller pump pushes the water".to_owned() } else { format!("{propellers} propeller pumps push the water") }
}

/// Rows of the table of nozzles: name, where, toward, when.
pub fn nozzles(shown: &Shown, jets: &[JetMark]) -> String {
    let layout = shown.layout();
    let times = &shown.motion.times;
    let row = |(index, jet): (usize, &JetMark)| {
        let cells = [escaped(&jet.id), escaped(&place(layout, index, jet)), toward(jet.aim()).to_owned(), share_words(jet, times)];
        format!("<tr>{}</tr>\n", cells.iter().map(|cell| format!("<td>{cell}</td>")).collect::<String>())
    };
    jets.iter().enumerate().map(row).collect()
}

fn place(layout: &Layout, index: usize, jet: &JetMark) -> String {
    let Some(nozzle) = layout.nozzles.get(index) else { return "in the water, a propeller pump".to_owned() };
    let drum = layout.circuits.iter().flat_map(|c| &c.discharge).find_map(|run| match (&run.from, &run.to) {
        (End::Outlet(drum, number), End::Nozzle(id)) if *id == jet.id => Some(format!("; {drum}, outlet {number}")),
        _ => None,
    });
    let mount = match &nozzle.mount {
        Mount::PipeEnd(_) => "on a pipe in the tank".to_owned(),
        Mount::Hole { panel: PanelName::Bottom, .. } => "in the floor".to_owned(),
        Mount::Hole { panel, .. } => format!("in the {} panel", panel.word()),
    };
    mount + &drum.unwrap_or_default()
}

/// Where a unit vector points, as someone at the front says it.
fn toward([x, y, z]: [f64; 3]) -> &'static str {
    let level = x.abs().max(y.abs());
    match () {
        () if z > 1.2 * level => "up",
        () if -z > 1.2 * level => "down",
        () if x > 2.0 * y.abs() => "the right end",
        () if -x > 2.0 * y.abs() => "the left end",
        () if y > 2.0 * x.abs() => "the back",
        () if -y > 2.0 * x.abs() => "the front",
        () if x > 0.0 && y > 0.0 => "the back right corner",
        () if x > 0.0 => "the front right corner",
        () if y > 0.0 => "the back left corner",
        () => "the front left corner",
    }
}

fn share_words(jet: &JetMark, times: &[f64]) -> String {
    let length = times.last().copied().unwrap_or(0.0);
    let runs = runs(jet, times);
    let on: f64 = runs.iter().map(|(from, to)| to - from).sum();
    match () {
        () if runs.is_empty() => "not at all".to_owned(),
        () if on >= 0.98 * length => "all the time".to_owned(),
        () => format!("{} of the time", percent(on / length)),
    }
}

/// What it means for what lives there.
pub fn animals(shown: &Shown) -> String {
    items(shown.record().colonies.iter().map(|c| colony(c, shown.layout().display)))
}

fn colony(colony: &ColonyRecord, display: Display) -> String {
    let gets = speed(colony.mean_speed_m_s, display);
    let wanted = format!("{} to {}", speed(colony.want_low_m_s, display), speed(colony.want_high_m_s, display));
    let said = match colony.verdict.as_str() {
        "in band" => format!("gets {gets} on average, which suits it ({wanted} wanted)"),
        "too slow" => format!("gets only {gets} on average; {wanted} wanted"),
        "too fast" => format!("gets {gets} on average, more than the {wanted} wanted"),
        other => other.to_owned(),
    };
    format!("<strong>{}</strong>: {}", escaped(&colony.id), escaped(&sentence(&said)))
}

/// Where the water stands.
pub fn slow(shown: &Shown) -> String {
    let (spots, display) = (&shown.record().dead_spots, shown.layout().display);
    if spots.is_empty() {
        return "<p>No place was found where the water stands almost all of the time.</p>\n".to_owned();
    }
    let spot = |s: &DeadSpot| format!("{}: {}", volume(s.volume_m3, display), escaped(&without_capital(&sentence(&s.place))));
    let told = list_items(spots.iter().take(MOST).map(spot));
    let more = spots.len().saturating_sub(MOST);
    let rest = if more == 0 { String::new() } else { format!("<p>And {more} smaller ones.</p>\n") };
    let places = if spots.len() == 1 { "one place".to_owned() } else { format!("{} places", spots.len()) };
    format!(
        "<p>In {places} the water stays slow almost all of the time; dirt settles there. The view marks them with the same numbers.</p>\n<ol>\n{told}</ol>\n{rest}"
    )
}

/// A sentence that goes on behind a colon.
fn without_capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

/// What the designer has to mend before anything is drilled; nothing when nothing is.
pub fn unsettled(record: &Record) -> String {
    let faults: Vec<_> = record.findings.iter().filter(|finding| finding.grade == Grade::Fault).collect();
    if faults.is_empty() {
        return String::new();
    }
    let part = |path: &str| sentence(&crate::report::shown::part(path)).trim_end_matches('.').to_owned();
    let told =
        items(faults.iter().take(MOST).map(|f| format!("<strong>{}</strong>: {}", escaped(&part(&f.part)), escaped(&sentence(&f.what)))));
    format!(
        "<section id=\"unsettled\"><h2>Still to settle before anything is drilled</h2>\n<p>The design was checked and {} found. Your designer is to mend {} first; the motion \
         may change with it.</p>\n{told}</section>\n",
        if faults.len() == 1 { "one fault was".to_owned() } else { format!("{} faults were", faults.len()) },
        if faults.len() == 1 { "it" } else { "them" }
    )
}

/// What is estimated, how sure, what the model leaves out.
pub fn estimated(shown: &Shown) -> String {
    let record = shown.record();
    let run = &record.run;
    let finer = format!(
        "Jets and gaps smaller than about {} are drawn broader and slower than they are.",
        rough(&show::<LengthKind>(3.0 * f64::from(shown.motion.h), shown.layout().display))
    );
    let mut said = vec![
        format!(
            "The motion was computed, not filmed: {} of it, after {} for the water to get going. The marks that drift are a help to the eye; nothing of that kind will be in the tank.",
            duration(run.averaged_s.round()),
            duration(run.spin_up_s.round())
        ),
        format!("From the first half of that time to the second the mean speed changed by {}.", percent(run.half_to_half.abs())),
        finer,
        "When the round is over the picture starts again; water never repeats itself so exactly.".to_owned(),
    ];
    if run.interrupted {
        said.push("The computation was stopped early: take it as a first look.".to_owned());
    }
    said.extend(crate::report::cautions::MODEL_LIMITS.iter().map(|text| (*text).to_owned()));
    items(said.iter().map(|text| escaped(text)))
}

fn items(items: impl Iterator<Item = String>) -> String {
    format!("<ul>\n{}</ul>\n", list_items(items))
}

fn list_items(items: impl Iterator<Item = String>) -> String {
    items.map(|item| format!("<li>{item}</li>\n")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn aims_are_said_as_seen_from_the_front() {
        for (aim, words) in [
            ([1.0, 0.1, 0.0], "the right end"),
            ([-1.0, 0.1, 0.0], "the left end"),
            ([0.0, 1.0, 0.2], "the back"),
            ([0.1, -1.0, 0.0], "the front"),
            ([-0.7, -0.7, 0.0], "the front left corner"),
            ([0.7, 0.7, 0.0], "the back right corner"),
            ([0.1, 0.0, 0.9], "up"),
            ([0.1, 0.0, -0.9], "down"),
        ] {
            assert_eq!(toward(aim), words, "{aim:?}");
        }
    }
}
