//! What goes on beside the window: a full study, the sheets of the handover, files that take their time.

use super::{document, window};
use slackwater::app::action::Action;
use slackwater::app::desk::Prompt;
use slackwater::app::document::Edit;
use slackwater::app::full_study::StudyWish;
use slackwater::app::model::Model;
use slackwater::layout::demo;
use std::time::{Duration, Instant};

/// Goes on until `done`, as the window does between its pictures.
pub fn until(model: &mut Model, done: impl Fn(&Model) -> bool) {
    let started = Instant::now();
    while !done(model) {
        assert!(started.elapsed() < Duration::from_secs(240), "it takes too long");
        std::thread::sleep(Duration::from_millis(5));
        model.attend();
    }
}

/// After an action that reads a file.
pub fn read(model: &mut Model) {
    until(model, |model| model.jobs.reading.is_none());
}

const COARSE: StudyWish = StudyWish { cell_mm: 90, until_settled: false, age: false };

#[test]
fn a_full_study_runs_while_the_layout_is_edited() {
    let folder = tempfile::tempdir().unwrap();
    let mut model = Model::new(document());
    model.apply(Action::StartStudy(COARSE));
    model.apply(Action::Edit(Edit::Name("Changed meanwhile".into())));
    until(&mut model, |model| model.jobs.study.is_none());
    assert!(model.fresh_study().is_none(), "it is of the layout before the change");
    let studied = model.jobs.studied.clone().unwrap();
    assert_eq!(studied.layout.name, demo().name);
    assert!(!studied.study.record.run.interrupted && studied.study.record.run.averaged_s >= 180.0);
    model.apply(Action::Undo);
    assert_eq!(**model.document.layout(), demo());
    model.apply(Action::WriteReport(folder.path().join("report")));
    until(&mut model, |model| model.jobs.report.is_none());
    assert!(folder.path().join("report/study.html").exists());
}

#[test]
fn a_full_study_is_stopped() {
    let mut model = Model::new(document());
    model.apply(Action::StartStudy(StudyWish { cell_mm: 20, ..COARSE }));
    until(&mut model, |model| model.jobs.study.as_ref().is_some_and(|job| job.progress().0 > 0.0));
    model.apply(Action::StopStudy);
    until(&mut model, |model| model.jobs.study.is_none());
    assert!(model.jobs.studied.as_ref().is_none_or(|s| s.study.record.run.interrupted));
    assert!(model.desk.notice.is_some(), "it is said");
}

#[test]
fn sheets_are_looked_at_and_written() {
    let folder = tempfile::tempdir().unwrap();
    for size in [[1280.0, 720.0], [480.0, 300.0]] {
        let mut window = window(size);
        window.state_mut().apply(Action::AskSheets);
        until(window.state_mut(), |model| model.jobs.drawing.is_none());
        window.run_steps(3);
        let pages = window.state().jobs.pages.clone();
        assert!(pages.len() > 4 && pages.iter().all(|p| p.pixels.len() == 4 * p.size[0] * p.size[1]));
        window.state_mut().apply(Action::Prompt(Some(Prompt::Sheets(pages.len() - 1))));
        window.run_steps(3);
    }
    let mut model = Model::new(document());
    model.apply(Action::WriteSheets(folder.path().join("a")));
    until(&mut model, |model| model.jobs.writing.is_none());
    assert!(std::fs::read_dir(folder.path().join("a")).unwrap().count() > 6);
    model.apply(Action::WriteSheets(folder.path().join("b")));
    model.apply(Action::StopSheets);
    until(&mut model, |model| model.jobs.writing.is_none());
    let left = std::fs::read_dir(folder.path().join("b")).map_or(0, |entries| entries.count());
    assert!(left == 0 || left > 6, "all sheets or none: {left}");
}

#[test]
fn windows_of_the_study_hold_together_at_every_size() {
    for size in [[1280.0, 720.0], [360.0, 240.0]] {
        let mut window = window(size);
        window.state_mut().apply(Action::StartStudy(COARSE));
        window.run_steps(2);
        until(window.state_mut(), |model| model.jobs.study.is_none());
        for prompt in [Prompt::Study(COARSE), Prompt::Studied] {
            window.state_mut().apply(Action::Prompt(Some(prompt)));
            window.run_steps(3);
        }
    }
}
