//! The part of `slackwater handover` that the client is shown: a study with its motion, a page, a clip.

use super::{Exit, input, output, progress::Watcher, study, typed};
use crate::catalog::Catalog;
use crate::handover::client::{self, Beside, CLIP, PAGE, Shown};
use crate::handover::{self, Options, Sheet};
use crate::layout::{Layout, what_if};
use crate::report::shown::duration;
use crate::study::{Settings, case::Case, with_motion};
use std::path::PathBuf;

/// The other layout, before it is studied.
struct Other {
    heading: &'static str,
    caption: String,
    own_caption: &'static str,
    layout: Layout,
}

/// What the client's page needs, checked before anything is written or computed.
pub struct Wanted {
    settings: Settings,
    other: Option<Other>,
    quiet: bool,
}

/// Checks what was typed.
pub fn wanted(layout: &Layout, typed: &typed::Handover) -> Result<Wanted, Exit> {
    let cell = study::cell(&typed.cell, layout).map_err(|why| unusable(&why))?;
    Ok(Wanted { settings: Settings { cell, ..Settings::default() }, other: other(layout, typed)?, quiet: typed.quiet })
}

/// Computes the motion and writes the page and the clip; returns them with their paths, or how to end.
pub fn write(layout: &Layout, wanted: Wanted, catalog: &Catalog, options: &Options) -> Result<Vec<(Sheet, PathBuf)>, Exit> {
    let Wanted { settings, other, quiet } = wanted;
    let case = case(layout, catalog)?;
    tell_how_long(&case, &settings, other.is_some());
    let (study, motion) =
        watched(quiet, |watcher| with_motion(&case, &settings, &mut |progress| watcher.see(progress))).map_err(|_| not_computed(""))?;
    let beside = other.map(|other| beside(other, catalog, &settings, quiet)).transpose()?;
    let shown = Shown { case: &case, study: &study, motion: &motion, date: &options.date, beside };
    let sheets = drawn(&shown, quiet).map_err(|error| unusable(&format!("{PAGE} and {CLIP} can't be made: {error}")))?;
    let paths = handover::write_sheets(&options.folder, &sheets);
    let paths = paths.map_err(|error| unusable(&format!("the client's page can't be written: {error}")))?;
    Ok(sheets.into_iter().zip(paths).collect())
}

fn other(layout: &Layout, typed: &typed::Handover) -> Result<Option<Other>, Exit> {
    if let Some(file) = &typed.before {
        let layout = input::layout(file).ok_or(Exit::Unusable)?.layout;
        let caption = if layout.name.trim().is_empty() { "Before".to_owned() } else { format!("Before: {}", layout.name.trim()) };
        return Ok(Some(Other { heading: "Before and after", caption, own_caption: "After: this design", layout }));
    }
    let Some(name) = &typed.what_if else { return Ok(None) };
    let Some(change) = layout.what_ifs.iter().find(|what_if| what_if.id == *name) else {
        let known: Vec<&str> = layout.what_ifs.iter().map(|what_if| what_if.id.as_str()).collect();
        let known = if known.is_empty() { "the layout has none".to_owned() } else { format!("it has: {}", known.join(", ")) };
        return Err(unusable(&format!("--what-if {name}: the layout has no what-if of that name; {known}")));
    };
    let layout = what_if::apply(layout, change);
    Ok(Some(Other { heading: "What if", caption: format!("What if: {name}"), own_caption: "As designed", layout }))
}

fn beside(other: Other, catalog: &Catalog, settings: &Settings, quiet: bool) -> Result<Beside, Exit> {
    output::complain(&format!("Now the other layout, {}:", other.caption));
    let case = case(&other.layout, catalog)?;
    let run = |watcher: &mut Watcher| crate::study::run(&other.layout, catalog, settings, &mut |progress| watcher.see(progress));
    let study = watched(quiet, run).map_err(|_| not_computed(" of the other layout"))?;
    Ok(Beside {
        heading: other.heading.to_owned(),
        caption: other.caption,
        own_caption: other.own_caption.to_owned(),
        layout: case.layout,
        study,
    })
}

fn case(layout: &Layout, catalog: &Catalog) -> Result<Case, Exit> {
    Case::new(layout, catalog).map_err(|_| not_computed(&format!(" of {}", layout.name)))
}

fn tell_how_long(case: &Case, settings: &Settings, twice: bool) {
    let seconds = settings.spin_up + settings.span.seconds(case.cycle());
    let both = if twice { ", and again for the other layout" } else { "" };
    output::complain(&format!(
        "For the client's page {} of the water's motion are computed now{both}: some minutes on an ordinary machine. Ctrl-C stops early and uses what there is.",
        duration(seconds.round())
    ));
}

fn drawn(shown: &Shown, quiet: bool) -> Result<Vec<Sheet>, String> {
    let mut sheets = vec![client::page(shown)?];
    match watched(quiet, |watcher| client::clip(shown, &mut |share| watcher.see_share(share, "drawing the clip")))? {
        Some(clip) => sheets.push(clip),
        None => output::complain(&format!("stopped: {CLIP} was not made")),
    }
    Ok(sheets)
}

fn watched<T>(quiet: bool, work: impl FnOnce(&mut Watcher) -> T) -> T {
    let mut watcher = Watcher::new(quiet);
    let done = work(&mut watcher);
    watcher.finish();
    done
}

fn not_computed(of: &str) -> Exit {
    unusable(&format!("the water's motion{of} can't be computed; `slackwater check` says why"))
}

fn unusable(why: &str) -> Exit {
    output::complain(why);
    Exit::Unusable
}
