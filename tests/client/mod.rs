//! What the client is shown: the recorded motion, the page in a real browser, the clip.

mod command;
mod page;

use slackwater::catalog::Catalog;
use slackwater::handover::client::{self, Shown};
use slackwater::layout::{Layout, load};
use slackwater::study::{self, Control, Settings, Span, Study, case::Case, motion::Motion};
use std::sync::LazyLock;

/// The alcove on coarse cells: quick, and good enough to look at what is made of it.
pub struct Sample {
    pub case: Case,
    pub study: Study,
    pub motion: Motion,
}

pub static SAMPLE: LazyLock<Sample> = LazyLock::new(|| {
    let case = Case::new(&alcove(), Catalog::builtin()).unwrap();
    let (study, motion) = study::with_motion(&case, &settings(), &mut |_| Control::Go).unwrap();
    Sample { case, study, motion }
});

impl Sample {
    pub fn shown(&self) -> Shown<'_> {
        Shown { case: &self.case, study: &self.study, motion: &self.motion, date: "2026-03-01", beside: None }
    }
}

fn alcove() -> Layout {
    load(std::path::Path::new("layouts/alcove.ron")).unwrap().layout
}

fn settings() -> Settings {
    Settings { cell: 0.05, spin_up: 4.0, span: Span::Cycles(1.0), ..Settings::default() }
}

#[test]
fn keeping_the_motion_changes_nothing_in_the_study() {
    let mut plain = study::run(&alcove(), Catalog::builtin(), &settings(), &mut |_| Control::Go).unwrap();
    assert_eq!(plain.fields, SAMPLE.study.fields);
    plain.record.run = SAMPLE.study.record.run.clone();
    assert_eq!(plain.record, SAMPLE.study.record);
}

#[test]
fn a_whole_cycle_is_kept() {
    let motion = &SAMPLE.motion;
    let cycle = SAMPLE.case.cycle();
    assert!((motion.length() - cycle).abs() < 0.2, "{} s kept of a cycle of {cycle} s", motion.length());
    assert!(motion.times.windows(2).all(|pair| pair[0] < pair[1] && pair[1] - pair[0] < 0.75));
    assert_eq!(motion.start, 4.0);
    assert!(motion.top > 0.05 && motion.frames.iter().all(|frame| frame.len() == motion.water.len()));
}

#[test]
fn a_stopped_study_still_has_a_picture() {
    let case = Case::new(&alcove(), Catalog::builtin()).unwrap();
    let (study, motion) = study::with_motion(&case, &settings(), &mut |_| Control::Stop).unwrap();
    assert_eq!(motion.frames.len(), 1);
    let shown = Shown { case: &case, study: &study, motion: &motion, date: "2026-03-01", beside: None };
    assert!(!client::page(&shown).unwrap().bytes().unwrap().is_empty());
    assert!(client::clip(&shown, &mut |_| Control::Go).unwrap().is_some());
}

#[test]
fn the_clip_moves_for_ten_to_twenty_seconds() {
    let clip = client::clip(&SAMPLE.shown(), &mut |_| Control::Go).unwrap().unwrap();
    assert_eq!(clip.name, client::CLIP);
    assert!(clip.bytes().unwrap().len() < 8_000_000, "{} bytes", clip.bytes().unwrap().len());
    let bytes = clip.bytes().unwrap();
    let mut decoder = gif::DecodeOptions::new().read_info(bytes.as_slice()).unwrap();
    let (mut hundredths, mut moving, mut frames) = (0, 0, 0);
    while let Some(frame) = decoder.read_next_frame().unwrap() {
        hundredths += u32::from(frame.delay);
        moving += u32::from(frame.width > 100);
        frames += 1;
    }
    assert!(
        (1000..=2000).contains(&hundredths) && frames > 100 && moving == frames,
        "{frames} frames, {hundredths} hundredths, {moving} move"
    );
    let stopped = client::clip(&SAMPLE.shown(), &mut |share| if share > 0.02 { Control::Stop } else { Control::Go });
    assert_eq!(stopped.unwrap(), None);
    if let Some(folder) = std::env::var_os("SLACKWATER_PICTURES") {
        std::fs::write(std::path::Path::new(&folder).join("clip.gif"), clip.bytes().unwrap()).unwrap();
    }
}
