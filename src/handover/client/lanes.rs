//! The sequence as one lane for each nozzle: how far it is open over the recorded time.

use super::scene::JetMark;
use crate::report::pictures::escaped;
use crate::report::shown::duration;
use std::fmt::Write;

/// Width and height of a lane in its own units.
const LANE: (f64, f64) = (1000.0, 100.0);
/// A nozzle with more than this share of its largest flow runs.
pub const RUNS: f64 = 0.5;

/// All lanes, in HTML.
pub fn lanes(jets: &[JetMark], times: &[f64]) -> String {
    jets.iter().map(|jet| lane(jet, times)).collect()
}

fn lane(jet: &JetMark, times: &[f64]) -> String {
    let (name, said) = (escaped(&jet.id), escaped(&spoken(jet, times)));
    format!(
        "<div class=\"lane\"><span class=\"name\">{name}</span><span class=\"track\"><svg viewBox=\"0 0 {} {}\" preserveAspectRatio=\"none\" role=\"img\" \
         aria-label=\"{name}: {said}\"><path d=\"{}\"/></svg></span></div>\n",
        LANE.0,
        LANE.1,
        area(jet, times)
    )
}

fn area(jet: &JetMark, times: &[f64]) -> String {
    let length = times.last().copied().unwrap_or(0.0).max(1e-9);
    let mut path = format!("M0 {}", LANE.1);
    for (time, share) in times.iter().zip(&jet.share) {
        let _ = write!(path, "L{:.0} {:.0}", LANE.0 * time / length, LANE.1 * (1.0 - 0.92 * share));
    }
    path + &format!("L{} {}Z", LANE.0, LANE.1)
}

/// "runs all the time", "runs from 3 s to 15 s and from 20 s to 31 s".
fn spoken(jet: &JetMark, times: &[f64]) -> String {
    let runs = runs(jet, times);
    match (runs.first(), runs.len()) {
        (None, _) => "does not run".to_owned(),
        (Some(run), 1) if run.0 <= times[0] && run.1 >= times[times.len() - 1] => "runs all the time".to_owned(),
        _ => {
            let said: Vec<String> =
                runs.iter().map(|(from, to)| format!("from {} to {}", duration(from.round()), duration(to.round()))).collect();
            format!("runs {}", said.join(", "))
        }
    }
}

/// From when to when it runs, s.
pub fn runs(jet: &JetMark, times: &[f64]) -> Vec<(f64, f64)> {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    let mut running = false;
    for (time, share) in times.iter().zip(&jet.share) {
        let is_on = *share > RUNS;
        match (running, runs.last_mut()) {
            (true, Some(run)) if is_on => run.1 = *time,
            _ if is_on => runs.push((*time, *time)),
            _ => {}
        }
        running = is_on;
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    fn jet(share: &[f64]) -> JetMark {
        JetMark::named("A1", share.to_vec())
    }

    #[test]
    fn lanes_say_when_a_nozzle_runs() {
        let times = [0.0, 1.0, 2.0, 3.0, 4.0];
        assert_eq!(runs(&jet(&[0.0, 1.0, 1.0, 0.2, 0.9]), &times), vec![(1.0, 2.0), (4.0, 4.0)]);
        assert_eq!(spoken(&jet(&[1.0; 5]), &times), "runs all the time");
        assert_eq!(spoken(&jet(&[0.0; 5]), &times), "does not run");
        assert_eq!(spoken(&jet(&[0.0, 1.0, 1.0, 0.2, 0.1]), &times), "runs from 1 s to 2 s");
    }
}
