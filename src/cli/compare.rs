//! `slackwater compare`: several layouts, what-ifs, sequences or saved studies on one scale.

use super::{Exit, check::WIDTH, input, output, progress::Watcher, study as one, typed};
use crate::catalog::Catalog;
use crate::finding::Grade;
use crate::layout::{self, Layout, Loaded, what_if};
use crate::report::folder::Folder;
use crate::report::{self, compare as shown, json, vtk};
use crate::safety;
use crate::study::compare::{Case, compare, letter};
use crate::study::{self, Record, Settings, Study};
use std::path::{Path, PathBuf};

/// One thing to compare, as far as it is known before any water moves.
enum Source {
    /// A layout to be studied.
    Layout(Box<Loaded>),
    /// A study that was saved.
    Saved(Box<Case>),
}

/// Run what was typed.
pub fn run(typed: &typed::Compare) -> Exit {
    let settings = match one::settings(&typed.run) {
        Ok(settings) => settings,
        Err(why) => return unusable(&why),
    };
    let mut sources = Vec::new();
    for name in &typed.cases {
        match source(name, &settings) {
            Ok(source) => sources.push((name.clone(), source)),
            Err(why) => return if why.is_empty() { Exit::Unusable } else { unusable(&why) },
        }
    }
    let out = typed.out.clone().unwrap_or_else(|| beside(&typed.cases[0]));
    let folder = match Folder::new(&out) {
        Ok(folder) => folder,
        Err(error) => return one::cannot_write(&out, &error),
    };
    match studies(sources, &settings, typed.quiet) {
        Ok(cases) if cases.len() < 2 => unusable("stopped before two studies were there to compare"),
        Ok(cases) => finish(typed, &cases, &folder),
        Err(exit) => exit,
    }
}

fn unusable(why: &str) -> Exit {
    output::complain(why);
    Exit::Unusable
}

/// `layouts/lagoon.ron#windows shut` is compared into `lagoon-compared`.
fn beside(first: &str) -> PathBuf {
    let file = if Path::new(first).exists() { first } else { first.rsplit_once('#').map_or(first, |(file, _)| file) };
    let stem = Path::new(file).file_stem().map_or_else(|| "layout".into(), |stem| stem.to_string_lossy().into_owned());
    PathBuf::from(format!("{stem}-compared"))
}

/// What a name stands for. The message is empty when everything was told already.
fn source(name: &str, settings: &Settings) -> Result<Source, String> {
    let path = Path::new(name);
    if path.is_dir() {
        return saved(name, path).map(|case| Source::Saved(Box::new(case)));
    }
    let (file, variant) = match name.rsplit_once('#') {
        Some((file, variant)) if !path.exists() => (Path::new(file), Some(variant)),
        _ => (path, None),
    };
    let mut loaded = input::layout(file).ok_or_else(String::new)?;
    if let Some(variant) = variant {
        loaded.layout = varied(&loaded.layout, variant).map_err(|why| format!("{}: {why}", file.display()))?;
    }
    one::fits(&loaded.layout, settings.cell)?;
    Ok(Source::Layout(Box::new(loaded)))
}

/// The layout with a what-if made or another sequence in use.
fn varied(layout: &Layout, variant: &str) -> Result<Layout, String> {
    let what_ifs: Vec<_> = layout.what_ifs.iter().cloned().chain(safety::single_failures(layout)).collect();
    let with_sequence =
        |id: &str| layout.sequences.iter().any(|s| s.id == id).then(|| Layout { sequence: id.to_owned(), ..layout.clone() });
    let with_what_if = |id: &str| what_ifs.iter().find(|w| w.id == id).map(|w| what_if::apply(layout, w));
    let (sequence, changed) = match variant.split_once(':') {
        Some(("sequence", id)) => (with_sequence(id), None),
        Some(("what-if", id)) => (None, with_what_if(id)),
        _ => (with_sequence(variant), with_what_if(variant)),
    };
    match (sequence, changed) {
        (Some(_), Some(_)) => Err(format!("`{variant}` is a sequence and a what-if: write `#sequence:{variant}` or `#what-if:{variant}`")),
        (Some(found), None) | (None, Some(found)) => Ok(found),
        (None, None) => Err(unknown(layout, variant, what_ifs.iter().map(|w| w.id.as_str()))),
    }
}

fn unknown<'a>(layout: &'a Layout, variant: &str, what_ifs: impl Iterator<Item = &'a str>) -> String {
    let known: Vec<&str> = layout.sequences.iter().map(|s| s.id.as_str()).chain(what_ifs).collect();
    let list = known.iter().map(|id| format!("`{id}`")).collect::<Vec<_>>().join(", ");
    let near = known.iter().max_by(|a, b| strsim::jaro(a, variant).total_cmp(&strsim::jaro(b, variant)));
    let hint = near.filter(|id| strsim::jaro(id, variant) > 0.7).map_or_else(String::new, |id| format!("; did you mean `{id}`?"));
    format!("no sequence, what-if or single failure is named `{variant}`{hint} Known: {}", if list.is_empty() { "none" } else { &list })
}

/// A folder that `slackwater study` or `slackwater compare` wrote.
fn saved(name: &str, folder: &Path) -> Result<Case, String> {
    let record = folder.join("study.json");
    let bytes = std::fs::read(&record).map_err(|e| format!("{}: {e}; give a folder that `slackwater study` wrote", record.display()))?;
    let record: Record = serde_json::from_slice(&bytes)
        .map_err(|e| format!("{}: not a study of this version: {e}; run `slackwater study` again", record.display()))?;
    let fields = std::fs::read(folder.join("fields.vti")).map_err(|e| e.to_string()).and_then(|bytes| vtk::read(&bytes));
    let fields = fields.unwrap_or_else(|why| {
        output::complain(&format!("{name}: without its fields ({why}) there are no pictures of it"));
        study::Fields::default()
    });
    let layout = layout::load(&folder.join("layout.ron")).ok().map(|loaded| loaded.layout);
    Ok(Case { name: name.to_owned(), layout, study: Study { record, fields } })
}

/// Every source studied in turn; after Ctrl-C those that there are, the last of them marked as interrupted.
fn studies(sources: Vec<(String, Source)>, settings: &Settings, quiet: bool) -> Result<Vec<Case>, Exit> {
    let (mut cases, total) = (Vec::new(), sources.len());
    for (index, (name, source)) in sources.into_iter().enumerate() {
        let case = match source {
            Source::Saved(case) => *case,
            Source::Layout(loaded) => {
                if !quiet {
                    output::complain(&format!("{} ({} of {total}): {name}", letter(index), index + 1));
                }
                studied(name, &loaded, settings, quiet)?
            }
        };
        let stopped = case.study.record.run.interrupted;
        if !stopped || case.study.record.run.averaged_s > 0.0 {
            cases.push(case);
        }
        if stopped && index + 1 < total {
            output::complain("Stopped early: the studies after this one are left out.");
            break;
        }
    }
    Ok(cases)
}

fn studied(name: String, loaded: &Loaded, settings: &Settings, quiet: bool) -> Result<Case, Exit> {
    let mut watcher = Watcher::new(quiet);
    let result = study::run(&loaded.layout, Catalog::builtin(), settings, &mut |progress| watcher.see(progress));
    watcher.finish();
    let study = result.map_err(|findings| one::not_computed(loaded, findings))?;
    Ok(Case { name, layout: Some(loaded.layout.clone()), study })
}

fn finish(typed: &typed::Compare, cases: &[Case], folder: &Folder) -> Exit {
    let comparison = compare(cases);
    let written = shown::write_all(&comparison, cases, folder).and_then(|()| keep_studies(cases, folder));
    if let Err(error) = written {
        return one::cannot_write(folder.path(), &error);
    }
    let printed = match (typed.json, typed.quiet) {
        (true, _) => json::text(&comparison).map_or_else(|error| unusable(&error), |text| output::answer(&text)),
        (false, true) => Exit::Fine,
        (false, false) => {
            let text = shown::summary(&comparison, cases, WIDTH);
            output::answer(&format!("{text}\nPage, pictures and the studies: {}\n", folder.path().join("compare.html").display()))
        }
    };
    let has_fault = |case: &Case| case.study.record.findings.iter().any(|finding| finding.grade == Grade::Fault);
    if printed == Exit::Fine && cases.iter().any(has_fault) { Exit::Faults } else { printed }
}

/// Each study into a folder of its letter, so that it can be compared again without being run again.
fn keep_studies(cases: &[Case], folder: &Folder) -> std::io::Result<()> {
    for (index, case) in cases.iter().enumerate() {
        if let Some(layout) = case.layout.as_ref().filter(|_| !case.study.fields.is_empty()) {
            report::write_all(&case.study, layout, &Folder::new(&folder.path().join(letter(index).to_lowercase()))?)?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_are_named_after_the_first() {
        assert_eq!(beside("layouts/lagoon.ron#one pump off"), Path::new("lagoon-compared"));
        assert_eq!(beside("layouts/lagoon.ron"), Path::new("lagoon-compared"));
    }

    #[test]
    fn variants_are_found_by_name() {
        let layout = layout::demo();
        let failure = safety::single_failures(&layout)[0].id.clone();
        assert_ne!(varied(&layout, &failure).unwrap(), layout);
        assert_eq!(varied(&layout, &format!("what-if:{failure}")).unwrap(), varied(&layout, &failure).unwrap());
        let sequence = layout.sequences.last().unwrap().id.clone();
        assert_eq!(varied(&layout, &sequence).unwrap().sequence, sequence);
        let why = varied(&layout, &format!("{sequence}x")).unwrap_err();
        assert!(why.contains(&format!("did you mean `{sequence}`?")) && why.contains(&failure), "{why}");
    }
}
