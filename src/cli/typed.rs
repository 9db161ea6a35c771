//! What can be typed.

use crate::units::{Length, Speed, Time};
use clap::{Args, Parser, Subcommand};
use clap_complete::Shell;
use std::path::PathBuf;

const EXIT_CODES: &str = "Exit codes: 0 fine; 1 at least one fault found (the worst grade); 2 input that can't be used.";

const EXAMPLES: &str = "Examples:
  slackwater                            the window on a demo layout
  slackwater new my-tank.ron            a commented layout to start from
  slackwater check my-tank.ron          layout, plumbing and safety, in a moment
  slackwater study my-tank.ron          the water's motion and the verdict
  slackwater compare a.ron b.ron        two designs on one scale
  slackwater open my-tank.ron           the window on your layout
  slackwater handover my-tank.ron       the sheets to drill, buy, glue and set by
  slackwater calibrate my-tank.ron      the plumbing fitted to what was measured

Exit codes: 0 fine; 1 at least one fault found (the worst grade); 2 input that can't be used.
With no display or graphics driver, `slackwater` alone studies the demo layout into slackwater-study/ instead.";

/// Design the circulation of a large reef aquarium before a hole is drilled.
#[derive(Debug, Parser)]
#[command(name = "slackwater", version, after_help = EXAMPLES, max_term_width = 100)]
pub struct Typed {
    /// What to do; the window on the demo layout when left out
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Open the window on a layout
    Open(Open),
    /// Write a commented layout to start from
    New(New),
    /// Check layouts: geometry, plumbing, wet-side safety; no flow in the tank
    Check(Check),
    /// Compute the water's motion over whole cycles and judge it
    Study(Box<Study>),
    /// Compare layouts, sequences, what-ifs or saved studies on one scale
    Compare(Box<Compare>),
    /// Write the sheets to drill, buy, glue and set by
    Handover(Handover),
    /// Fit a few factors of the plumbing to what was measured on the finished system
    Calibrate(Calibrate),
    /// Print a completion script for a shell
    Completions(Completions),
}

/// `slackwater open`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  slackwater open layouts/lagoon.ron")]
pub struct Open {
    /// The layout
    pub file: PathBuf,
}

/// `slackwater new`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  slackwater new my-tank.ron\n\nA file that is there already is left alone (exit code 2).")]
pub struct New {
    /// Where to write it; must not exist yet
    pub file: PathBuf,
}

/// `slackwater check`.
#[derive(Debug, Args)]
#[command(after_help = format!(
    "Examples:\n  slackwater check my-tank.ron\n  slackwater check variants/*.ron --json > checks.json\n  slackwater check my-tank.ron --what-if all\n\nThe JSON is described in assets/study-schema.json.\n{EXIT_CODES}"
))]
pub struct Check {
    /// One layout or several
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
    /// Also try changes and failures: one of the layout's `what_ifs` by name, or `all` for those and every single failure in turn
    #[arg(long, value_name = "NAME")]
    pub what_if: Option<String>,
    /// A catalogue file of your own sizes and fittings, entries as in assets/catalog, laid over the builtin one
    #[arg(long, value_name = "FILE")]
    pub catalog: Option<PathBuf>,
    /// Run pumps that have a speed programme at their speeds of this time of day, for instance 22h
    #[arg(long, value_name = "TIME")]
    pub at: Option<Time>,
}

/// `slackwater study`.
#[derive(Debug, Args)]
#[command(after_help = format!(
    "Examples:\n  slackwater study my-tank.ron\n  slackwater study my-tank.ron --cell 40mm --time 120s --out first-look\n  \
     slackwater study my-tank.ron --cycles 5 --json --quiet > result.json\n  slackwater study my-tank.ron --probe 0.6,0.3,0.2 --probe 24in,12in,8in\n  \
     slackwater study my-tank.ron --until-settled --age --dye N1 --detritus 2 --grid-error\n  \
     slackwater study my-tank.ron --cell 15mm --resume       (after Ctrl-C or a power cut)\n\n\
     Written into the folder: study.html, study.txt, study.json, tables (.csv), pictures (.png, .svg), fields.vti for general viewers.\n\
     The same file, settings and seed give the same numbers for any number of threads. Ctrl-C ends early and writes what there is;\n\
     the state is kept beside it, also every minute, and --resume goes on from there to the same numbers.\n{EXIT_CODES}"
))]
pub struct Study {
    /// The layout
    pub file: PathBuf,
    /// How to run it
    #[command(flatten)]
    pub run: Run,
    /// Folder for the results [default: the file's name with -study]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print the record as JSON instead of the text report
    #[arg(long)]
    pub json: bool,
    /// No progress, no text report
    #[arg(long)]
    pub quiet: bool,
    /// Report velocity at a point: along the length, along the width, above the floor; metres unless a unit is given
    #[arg(long, value_name = "X,Y,Z", value_parser = point)]
    pub probe: Vec<[f64; 3]>,
    /// A catalogue file of your own sizes and fittings, entries as in assets/catalog, laid over the builtin one
    #[arg(long, value_name = "FILE")]
    pub catalog: Option<PathBuf>,
    /// Run pumps that have a speed programme at their speeds of this time of day, for instance 22h
    #[arg(long, value_name = "TIME")]
    pub at: Option<Time>,
    /// Stop by itself when the averages are sure; --cycles or --time is then the longest averaging [default: an hour]
    #[arg(long)]
    pub until_settled: bool,
    /// Also follow the age of the water
    #[arg(long)]
    pub age: bool,
    /// Also follow a shot of dye at this nozzle until it is mixed
    #[arg(long, value_name = "NOZZLE")]
    pub dye: Option<String>,
    /// Also follow detritus for so many hours
    #[arg(long, value_name = "HOURS", num_args = 0..=1, default_missing_value = "2")]
    pub detritus: Option<f64>,
    /// Also run two coarser grids and tell the error of the cells' size
    #[arg(long)]
    pub grid_error: bool,
    /// Speed that small fish hold for long
    #[arg(long, value_name = "SPEED", default_value = "15cm/s")]
    pub fish_speed: Speed,
    /// Go on from where this study was stopped (Ctrl-C, power cut): same file, same settings, same folder
    #[arg(long)]
    pub resume: bool,
}

/// How a study is run; the same for every study of a comparison.
#[derive(Debug, Args)]
pub struct Run {
    /// Edge of the cubic cells: smaller is finer and slower
    #[arg(long, value_name = "LENGTH", default_value = "25mm")]
    pub cell: Length,
    /// Average over this many joint cycles of the drum units [default: as many as make 3 minutes]
    #[arg(long, value_name = "N", conflicts_with = "time")]
    pub cycles: Option<f64>,
    /// Average over about this time, rounded to whole joint cycles where one fits
    #[arg(long, value_name = "TIME")]
    pub time: Option<Time>,
    /// Let the flow develop for this long before averaging
    #[arg(long, value_name = "TIME", default_value = "90s")]
    pub spin_up: Time,
    /// Threads; 0 for every core
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = clap::value_parser!(u32).range(0..=1024))]
    pub threads: u32,
    /// Seed of the small noise that the flow starts from
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
}

/// `slackwater compare`.
#[derive(Debug, Args)]
#[command(after_help = format!(
    "Examples:\n  slackwater compare first.ron second.ron\n  slackwater compare my-tank.ron \"my-tank.ron#loop pump off\" --cell 40mm\n  \
     slackwater compare my-tank.ron#sweep my-tank.ron#pulse --cycles 5 --out sequences\n  slackwater compare before-study after-study --json\n\n\
     A name is a layout file; a layout file with #NAME of one of its sequences, what-ifs or single failures (as `check --what-if all`\n\
     names them; #sequence:NAME or #what-if:NAME when both have it); or a folder that `slackwater study` wrote, which is not run again.\n\
     The first is the one that the others are held against. Written: compare.html, .txt, .json, pictures, and each study in a folder of its letter.\n\
     The JSON is described in assets/study-schema.json. Ctrl-C ends early and compares what there is.\n\
     Exit codes: 0 fine; 1 at least one of the studies found a fault; 2 input that can't be used."
))]
pub struct Compare {
    /// Two or more layouts, layouts with #NAME, or folders of studies
    #[arg(required = true, num_args = 2.., value_name = "WHAT")]
    pub cases: Vec<String>,
    /// How to run those that aren't saved studies
    #[command(flatten)]
    pub run: Run,
    /// Folder for the results [default: the first file's name with -compared]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print the comparison as JSON instead of text
    #[arg(long)]
    pub json: bool,
    /// No progress, no text report
    #[arg(long)]
    pub quiet: bool,
}

/// `slackwater handover`.
#[derive(Debug, Args)]
#[command(after_help = format!(
    "Examples:\n  slackwater handover my-tank.ron\n  slackwater handover my-tank.ron --out to-the-shop --date 2026-03-01\n  slackwater handover my-tank.ron --client\n  slackwater handover my-tank.ron --json > written.json\n\n\
     Written into the folder: drilling sheets at true scale (.pdf, .svg, .dxf, tiles on A4 and Letter),\n\
     cut list and fittings, drawings of the circuits, the commissioning sheet. All of them or none. Every\n\
     sheet carries the layout's revision: sheets of two revisions must not be mixed.\n{EXIT_CODES}"
))]
pub struct Handover {
    /// The layout
    pub file: PathBuf,
    /// Folder for the sheets [default: the file's name with -handover]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Date to print on the sheets [default: today]
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = date)]
    pub date: Option<String>,
    /// Print what was written as JSON: folder, revision, date, files, faults
    #[arg(long)]
    pub json: bool,
    /// No progress
    #[arg(long)]
    pub quiet: bool,
    /// A catalogue file of your own sizes and fittings, entries as in assets/catalog, laid over the builtin one
    #[arg(long, value_name = "FILE")]
    pub catalog: Option<PathBuf>,
    /// Also make a page and a short clip for the client: computes the water's motion first, which takes some minutes
    #[arg(long)]
    pub client: bool,
    /// Edge of the cubic cells for that: smaller is finer and slower
    #[arg(long, value_name = "LENGTH", default_value = "25mm", requires = "client")]
    pub cell: Length,
    /// Show the client another layout beside this one as "before": computes that one as well
    #[arg(long, value_name = "FILE", requires = "client")]
    pub before: Option<PathBuf>,
    /// Show the client one of the layout's `what_ifs` beside it: computes that one as well
    #[arg(long, value_name = "NAME", requires = "client", conflicts_with = "before")]
    pub what_if: Option<String>,
}

/// `slackwater calibrate`.
#[derive(Debug, Args)]
#[command(after_help = format!(
    "Examples:\n  slackwater calibrate my-tank.ron\n  slackwater calibrate my-tank.ron --json > factors.json\n  slackwater calibrate my-tank.ron --write\n\n\
     The readings stand in the layout's `measured` part: buckets, flows, heads, pressures, floats, each with its uncertainty; the commissioning\n\
     sheet has the blanks. Told: the factors with 95 % intervals, what the readings can't tell, which readings disagree, what the verdict becomes.\n{EXIT_CODES}"
))]
pub struct Calibrate {
    /// The layout with its readings
    pub file: PathBuf,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
    /// Put the fitted factors into the layout; everything else in the file stays as it is
    #[arg(long)]
    pub write: bool,
    /// A catalogue file of your own sizes and fittings, entries as in assets/catalog, laid over the builtin one
    #[arg(long, value_name = "FILE")]
    pub catalog: Option<PathBuf>,
}

/// `slackwater completions`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  slackwater completions bash > ~/.local/share/bash-completion/completions/slackwater")]
pub struct Completions {
    /// Which shell
    pub shell: Shell,
}

/// "0.6,0.3,0.2" or "24in, 30 cm, 0.2", in metres.
fn point(text: &str) -> Result<[f64; 3], String> {
    let parts: Vec<f64> = text.split(',').map(|part| metres(part.trim())).collect::<Result<_, _>>()?;
    parts.try_into().map_err(|_| "write three numbers with commas, for instance 0.6,0.3,0.2 or 24in,12in,8in".to_owned())
}

/// "2026-03-01".
fn date(text: &str) -> Result<String, String> {
    let written = chrono::NaiveDate::parse_from_str(text, "%Y-%m-%d").ok().map(|date| date.to_string());
    written.filter(|written| written == text).ok_or_else(|| "write year, month and day as 2026-03-01".to_owned())
}

fn metres(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(plain) if plain.is_finite() => Ok(plain),
        _ => text.parse::<Length>().map(|length| length.si()).map_err(|e| e.to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definition_is_sound() {
        Typed::command().debug_assert();
    }

    #[test]
    fn dates_are_written_one_way() {
        assert_eq!(date("2026-03-01").unwrap(), "2026-03-01");
        for wrong in ["", "2026-3-1", "01-03-2026", "2026-13-01", "2026-02-29", "today"] {
            assert!(date(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn points_are_metres_or_carry_units() {
        assert_eq!(point("0.6,0.3, 20 cm").unwrap(), [0.6, 0.3, 0.2]);
        for wrong in ["", "1,2", "1,2,3,4", "a,b,c", "1,2,NaN", "1,2,3 parsec"] {
            assert!(point(wrong).is_err(), "{wrong}");
        }
    }
}
