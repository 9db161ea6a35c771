//! Whole studies and sessions on a tank small enough for a test: same bits on any number of threads, stops when told, mass closed.

use slackwater::{
    catalog::Catalog,
    layout::Layout,
    session::{Command, Session, Snapshot},
    study::{self, Control, Extra, Progress, Record, Saves, Settings, Span, Study},
};
use std::{
    sync::Arc,
    time::{Duration, Instant},
};

/// 60 × 40 × 36 cm of water, one jet, one intake, a rock in the lee of which the water is slow.
fn small_tank() -> Layout {
    let panel = r#"(material: glass, thickness: "10 mm")"#;
    ron::from_str(&format!(
        r#"(version: 1, name: "Small",
            tank: (length: "600 mm", width: "400 mm", height: "400 mm", water_level: "360 mm",
                panels: (front: {panel}, back: {panel}, left: {panel}, right: {panel}, bottom: {panel})),
            rocks: [(id: "block", shape: box(size: ("160 mm", "160 mm", "200 mm")), at: ("360 mm", "200 mm", "0 mm"))],
            nozzles: [(id: "N1", mount: hole(panel: left, along: "200 mm", up: "240 mm"),
                aim: angles(azimuth: "20 deg", elevation: "0 deg"), bore: "25 mm", supply: fixed("1500 L/h"))],
            intakes: [(id: "I1", mount: hole(panel: right, along: "320 mm", up: "80 mm"), bore: "40 mm",
                screen: Some((face: round("80 mm"), open: 0.5)), supply: fixed("1500 L/h"))],
            colonies: [(id: "stand", at: ("360 mm", "200 mm", "240 mm"), size: "80 mm", want: moderate)],
            probes: [(id: "before the rock", at: ("240 mm", "240 mm", "240 mm")), (id: "in the rock", at: ("360 mm", "200 mm", "100 mm"))],
        )"#
    ))
    .unwrap()
}

fn settings(threads: usize) -> Settings {
    Settings { cell: 0.03, spin_up: 4.0, span: Span::Seconds(10.0), threads, ..Settings::default() }
}

fn run(settings: &Settings) -> Study {
    study::run(&small_tank(), Catalog::builtin(), settings, &mut |_| Control::Go).unwrap()
}

/// Without what depends on the machine and its mood.
fn reproducible(mut record: Record) -> Record {
    record.run.wall_s = 0.0;
    record.run.threads = 0;
    record.run.cell_steps_per_s = 0.0;
    record.run.peak_memory_bytes = 0;
    record
}

#[test]
fn same_bits_on_one_and_two_threads_and_mass_closed() {
    let (one, two) = (run(&settings(1)), run(&settings(2)));
    assert_eq!(two.record.run.threads, 2);
    assert!(one.fields == two.fields, "the fields differ");
    assert_eq!(reproducible(one.record.clone()), reproducible(two.record));

    let record = one.record;
    assert!(record.run.worst_mass_error <= 1e-5, "{:?}", record.run);
    assert!((record.run.averaged_s - 10.0).abs() < 1e-3 && (record.run.spin_up_s - 4.0).abs() < 1e-3, "{:?}", record.run);
    assert!(!record.run.interrupted && record.run.steps > 50);
    assert!(record.mean_speed_m_s > 0.001 && record.mean_speed_m_s < 0.85, "{}", record.mean_speed_m_s);
    assert!(record.probes[0].mean_speed_m_s.unwrap() > 0.0);
    assert_eq!(record.probes[1].mean_speed_m_s, None);
    // 1500 L/h through 86.4 L less a rock of 5.1 L, with whole cells: 1500 / 81.3.
    assert!((record.turnover_per_hour / (1500.0 / 81.3) - 1.0).abs() < 0.05, "{}", record.turnover_per_hour);
    let grades: Vec<_> = record.findings.iter().map(|finding| finding.grade).collect();
    assert!(grades.is_sorted_by(|a, b| a >= b), "findings are not worst first: {grades:?}");
}

#[test]
fn a_study_with_few_cells_along_a_side_says_so() {
    let says_so = |cell: f64| {
        let findings = run(&Settings { cell, spin_up: 0.1, span: Span::Seconds(0.2), ..settings(2) }).record.findings;
        findings.into_iter().find(|finding| finding.rule == "few-cells-across").map(|finding| finding.what)
    };
    // The water is 360 mm deep.
    assert!(says_so(0.03).is_some_and(|what| what.contains("12 cells")));
    assert_eq!(says_so(0.017), None);
}

#[test]
fn another_seed_starts_another_flow() {
    let short = Settings { spin_up: 0.5, span: Span::Seconds(1.0), ..settings(1) };
    let other = Settings { seed: 2, ..short.clone() };
    assert!(run(&short).fields != run(&other).fields);
}

#[test]
fn a_study_stops_when_told() {
    for (stop_at, expect_averages) in [("spin-up", false), ("averaging", true)] {
        let long = Settings { spin_up: if expect_averages { 0.5 } else { 1e5 }, span: Span::Seconds(1e5), ..settings(1) };
        let mut looks = 0;
        let mut watch = |progress: &Progress| {
            looks += usize::from(progress.phase == stop_at);
            if looks > 3 { Control::Stop } else { Control::Go }
        };
        let study = study::run(&small_tank(), Catalog::builtin(), &long, &mut watch).unwrap();
        assert!(study.record.run.interrupted);
        assert!(study.record.findings.iter().any(|finding| finding.rule == "interrupted"));
        assert!(study.fields.mean_speed.iter().any(|&speed| speed > 0.0));
        assert_eq!(study.record.run.averaged_s > 0.1, expect_averages, "{:?}", study.record.run);
    }
}

/// Runs until the watcher has been asked so often in this phase, then goes on from what was kept, on other threads.
fn stopped_and_resumed(settings: &Settings, phase: &str, looks: usize) -> Study {
    let (mut seen, mut state) = (0, Vec::new());
    let mut watch = |progress: &Progress| {
        seen += usize::from(progress.phase == phase);
        if seen > looks { Control::Stop } else { Control::Go }
    };
    let mut keep = |kept: &[u8]| state = kept.to_vec();
    let first = study::resumable(&small_tank(), Catalog::builtin(), settings, &mut watch, Saves { from: None, keep: &mut keep }).unwrap();
    assert!(first.record.run.interrupted && !state.is_empty(), "in {phase}");
    let saves = Saves { from: Some(&state), keep: &mut |_| {} };
    let other = Settings { threads: 2, ..settings.clone() };
    study::resumable(&small_tank(), Catalog::builtin(), &other, &mut |_| Control::Go, saves).unwrap()
}

/// Stopped in spin-up, averages and recording, a study goes on to the same bits as without the stop.
#[test]
fn a_stopped_study_goes_on_as_if_it_had_not_been() {
    let extra = Extra { age: true, ..Extra::default() };
    let settings = Settings { spin_up: 12.0, span: Span::Seconds(70.0), extra, ..settings(1) };
    let whole = run(&settings);
    let pure = |record: Record| {
        let mut record = reproducible(record);
        record.run.costs.iter_mut().for_each(|cost| cost.seconds = 0.0);
        record
    };
    let places = [("spin-up", 0), ("averaging", 0), ("averaging", 2), ("water age", 0)];
    for (phase, looks) in places {
        let resumed = stopped_and_resumed(&settings, phase, looks);
        assert!(whole.fields == resumed.fields, "stopped in {phase}, look {looks}: the fields differ");
        assert_eq!(pure(whole.record.clone()), pure(resumed.record), "stopped in {phase}, look {looks}");
    }
    let alone = Settings { until_settled: true, span: Span::Seconds(120.0), extra: Extra::default(), ..settings };
    let (whole, resumed) = (run(&alone), stopped_and_resumed(&alone, "averaging until settled", 1));
    assert!(whole.fields == resumed.fields);
    assert_eq!(pure(whole.record), pure(resumed.record));
}

/// What doesn't belong to this study, or is damaged, is refused in words.
#[test]
fn a_stopped_study_of_something_else_is_refused() {
    let settings = settings(1);
    let mut state = Vec::new();
    let mut keep = |kept: &[u8]| state = kept.to_vec();
    study::resumable(&small_tank(), Catalog::builtin(), &settings, &mut |_| Control::Stop, Saves { from: None, keep: &mut keep }).unwrap();
    let refused = |layout: &Layout, settings: &Settings, state: &[u8]| {
        let saves = Saves { from: Some(state), keep: &mut |_| {} };
        let findings = study::resumable(layout, Catalog::builtin(), settings, &mut |_| Control::Go, saves).unwrap_err();
        assert_eq!(findings[0].rule, "resume");
        findings[0].what.clone()
    };
    let mut moved = small_tank();
    moved.rocks.clear();
    assert!(refused(&moved, &settings, &state).contains("the layout"));
    assert!(refused(&small_tank(), &Settings { seed: 9, ..settings.clone() }, &state).contains("other settings"));
    let mut damaged = state.clone();
    damaged[state.len() / 2] ^= 1;
    assert!(refused(&small_tank(), &settings, &damaged).contains("damaged"));
    assert!(refused(&small_tank(), &settings, &state[..state.len() / 3]).contains("damaged"));
    assert!(refused(&small_tank(), &settings, b"PK").contains("no stopped study"));
}

#[test]
fn a_session_shows_pauses_changes_and_stops() {
    let session = Session::start(small_tank(), Catalog::builtin(), 0.04, 1);
    let first = until(&session, |s| s.time > 0.0);
    assert_eq!((first.generation, first.velocity.len()), (1, first.water.len()));
    assert!(first.problem.is_empty());
    let judged = until(&session, |s| s.record.is_some());
    assert!(judged.fields.as_ref().unwrap().len() == judged.water.len() && judged.averaged > 0.0);

    session.send(Command::Pause);
    let paused = until(&session, |s| s.paused);
    std::thread::sleep(Duration::from_millis(150));
    assert_eq!(session.latest().unwrap().time, paused.time);

    let mut questions = small_tank();
    questions.colonies.clear();
    session.send(Command::SetLayout(Box::new(questions.clone())));
    session.send(Command::Play);
    let asked = until(&session, |s| s.time > paused.time && s.record.as_ref().is_some_and(|record| record.colonies.is_empty()));
    assert_eq!(asked.generation, 1);

    session.send(Command::SetThreads(2));
    let shared = until(&session, |s| s.record.as_ref().is_some_and(|record| record.run.threads == 2));
    assert!(shared.generation == 1 && shared.time >= asked.time);

    // Without its rock the water has the same cells and goes on as it moves.
    questions.rocks.clear();
    session.send(Command::SetLayout(Box::new(questions)));
    let cleared = until(&session, |s| s.water.iter().all(|&water| water > 0.99));
    assert!(cleared.generation == 1 && cleared.time >= asked.time && swing(&cleared) > 0.7 * swing(&asked), "{}", swing(&cleared));
    session.send(Command::SetCell(0.05));
    let rebuilt = until(&session, |s| s.generation == 2 && s.time > 0.0);
    assert!(rebuilt.time < asked.time && rebuilt.n != asked.n);

    session.send(Command::Stop);
    let started = Instant::now();
    while !session.is_over() {
        assert!(started.elapsed() < Duration::from_secs(20), "the session doesn't stop");
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// A second session goes on from the first's moment: the same motion when nothing is changed, another one when its sequence is.
#[test]
fn a_forked_session_goes_on_in_the_same_water() {
    let session = Session::start(small_tank(), Catalog::builtin(), 0.05, 1);
    session.send(Command::SetPace(8.0));
    until(&session, |s| s.time > 2.0 && s.record.is_some());
    session.send(Command::Pause);
    let before = until(&session, |s| s.paused);
    let twin = session.fork();
    let same = until(&twin, |s| !s.velocity.is_empty());
    assert_eq!((same.time, same.averaged, same.generation), (before.time, before.averaged, before.generation));
    assert!(same.velocity == before.velocity && same.paused);
    assert!(same.record.is_some(), "the verdict comes along");

    // Steps have their natural length, so that both come to the same moments; the slower one's are looked up among the faster one's.
    twin.send(Command::Play);
    let on = until(&twin, |s| s.time > before.time + 0.5);
    assert_eq!(session.latest().unwrap().time, before.time, "each obeys its own commands");
    assert_ne!(on.velocity, before.velocity);
    drop(session);
    until(&twin, |s| s.time > on.time);
}

/// Sum of the squares of all velocities.
fn swing(snapshot: &Snapshot) -> f32 {
    snapshot.velocity.iter().flatten().map(|u| u * u).sum()
}

#[test]
fn a_moved_nozzle_keeps_the_water_moving() {
    let session = Session::start(small_tank(), Catalog::builtin(), 0.05, 1);
    session.send(Command::SetPace(8.0));
    let before = until(&session, |s| s.time > 6.0);
    let mut moved = small_tank();
    moved.nozzles[0].aim = slackwater::layout::Aim::Toward(slackwater::layout::Point(metre(0.5), metre(0.2), metre(0.1)));
    session.send(Command::SetLayout(Box::new(moved.clone())));
    // The averages begin anew, so that the first snapshot after the change is known by them.
    let after = until(&session, |s| s.averaged < before.averaged && s.time > before.time);
    assert_eq!(after.generation, before.generation);
    assert!(swing(&after) > 0.5 * swing(&before), "{} after {}", swing(&after), swing(&before));
    let mut broken = moved;
    broken.tank.water_level = metre(-1.0);
    session.send(Command::SetLayout(Box::new(broken)));
    let stopped = until(&session, |s| !s.problem.is_empty());
    assert!(!stopped.velocity.is_empty(), "the water stays in sight");
}

fn metre(m: f64) -> slackwater::units::Length {
    slackwater::units::Length::new(m, "m")
}

#[test]
fn simulated_time_does_not_outrun_the_clock() {
    let session = Session::start(small_tank(), Catalog::builtin(), 0.06, 1);
    session.send(Command::SetPace(0.5));
    let from = until(&session, |s| s.time > 0.05);
    let started = Instant::now();
    std::thread::sleep(Duration::from_millis(900));
    let to = session.latest().unwrap();
    // One longest step and one burst ahead at most.
    assert!(to.time - from.time <= 0.5 * started.elapsed().as_secs_f64() + 0.25, "{} to {}", from.time, to.time);
}

/// Waits for a snapshot of a kind.
fn until(session: &Session, wanted: impl Fn(&Snapshot) -> bool) -> Arc<Snapshot> {
    let started = Instant::now();
    loop {
        if let Some(snapshot) = session.latest().filter(|snapshot| wanted(snapshot)) {
            return snapshot;
        }
        assert!(
            started.elapsed() < Duration::from_secs(60),
            "no such snapshot; the last one: {:?}",
            session.latest().map(|s| (s.time, s.problem.clone()))
        );
        std::thread::sleep(Duration::from_millis(5));
    }
}
