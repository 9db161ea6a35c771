//! `slackwater study` from end to end on a coarse grid: files, JSON against the schema, repeatability, Ctrl-C, folders that can't be written.

use crate::schema;
use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output, Stdio};

fn study(folder: &Path, more: &[&str]) -> Command {
    let alcove = Path::new(env!("CARGO_MANIFEST_DIR")).join("layouts/alcove.ron");
    let mut command = Command::new(env!("CARGO_BIN_EXE_slackwater"));
    command.arg("study").arg(alcove).args(["--cell", "60mm", "--spin-up", "1s"]).args(more).current_dir(folder);
    command
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

#[test]
fn writes_everything_and_prints_json_alone() {
    let place = tempfile::tempdir().unwrap();
    let output = study(place.path(), &["--time", "2s", "--json", "--quiet", "--probe", "0.3,0.2,20cm"]).output().unwrap();
    assert!(code(&output) <= 1 && output.stderr.is_empty(), "{}", text(&output.stderr));
    let value: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(schema::problems("study", &value), Vec::<String>::new());
    let probes = value["probes"].as_array().unwrap();
    assert!(probes.iter().any(|probe| probe["at_m"] == serde_json::json!([0.3, 0.2, 0.2])), "{probes:?}");
    let folder = place.path().join("alcove-study");
    for name in ["study.html", "study.txt", "study.json", "fields.vti", "plan-mean.png", "plan-mean.svg", "sequence.png", "runs.csv"] {
        assert!(folder.join(name).metadata().unwrap().len() > 100, "{name}");
    }
    assert_eq!(std::fs::read(folder.join("study.json")).unwrap(), output.stdout);
    let report = std::fs::read_to_string(folder.join("study.txt")).unwrap();
    assert!(report.lines().all(|line| line.chars().count() <= 80), "{report}");
    assert!(vtkio::Vtk::import(folder.join("fields.vti")).is_ok());
}

#[test]
fn same_settings_and_seed_give_the_same_numbers_for_any_threads() {
    let place = tempfile::tempdir().unwrap();
    let record = |out: &str, threads: &str| {
        let output = study(place.path(), &["--time", "2s", "--json", "--quiet", "--out", out, "--threads", threads]).output().unwrap();
        let mut value: Value = serde_json::from_slice(&output.stdout).unwrap();
        for key in ["threads", "wall_s", "cell_steps_per_s", "peak_memory_bytes"] {
            value["run"][key] = Value::Null;
        }
        value
    };
    assert_eq!(record("a", "1"), record("b", "3"));
    assert_eq!(std::fs::read(place.path().join("a/fields.vti")).unwrap(), std::fs::read(place.path().join("b/fields.vti")).unwrap());
}

#[test]
fn a_folder_that_cannot_be_made_ends_with_2() {
    let place = tempfile::tempdir().unwrap();
    std::fs::write(place.path().join("taken"), "x").unwrap();
    let output = study(place.path(), &["--time", "1s", "--out", "taken/inside"]).output().unwrap();
    assert_eq!(code(&output), 2);
    assert!(text(&output.stderr).contains("--out") && output.stdout.is_empty(), "{}", text(&output.stderr));
}

#[cfg(unix)]
#[test]
fn ctrl_c_ends_cleanly_with_what_there_is() {
    let place = tempfile::tempdir().unwrap();
    let child = study(place.path(), &["--time", "600000s", "--json"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1500));
    assert!(Command::new("sh").args(["-c", &format!("kill -INT {}", child.id())]).status().unwrap().success());
    let output = child.wait_with_output().unwrap();
    assert!(code(&output) <= 1, "{}", text(&output.stderr));
    let value: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(value["run"]["interrupted"], true);
    assert!(std::fs::read_to_string(place.path().join("alcove-study/study.txt")).unwrap().contains("Stopped early"));
}

/// What Ctrl-C left goes on with `--resume`, and is gone when the study is whole.
#[cfg(unix)]
#[test]
fn a_stopped_study_resumes_from_its_folder() {
    let place = tempfile::tempdir().unwrap();
    let left = place.path().join("alcove-study/stopped.study");
    let nothing = study(place.path(), &["--time", "20s", "--resume"]).output().unwrap();
    assert_eq!(code(&nothing), 2);
    assert!(text(&nothing.stderr).contains("no stopped study in"), "{}", text(&nothing.stderr));

    let long = ["--time", "400s", "--json"];
    let child = study(place.path(), &long).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    std::thread::sleep(std::time::Duration::from_millis(700));
    assert!(Command::new("sh").args(["-c", &format!("kill -INT {}", child.id())]).status().unwrap().success());
    let output = child.wait_with_output().unwrap();
    assert!(text(&output.stderr).contains("--resume goes on from here"), "{}", text(&output.stderr));
    assert!(left.exists());

    let other = study(place.path(), &["--time", "300s", "--resume"]).output().unwrap();
    assert_eq!(code(&other), 2);
    assert!(text(&other.stderr).contains("other settings") && left.exists(), "{}", text(&other.stderr));

    let output = study(place.path(), &[&long[..], &["--resume"]].concat()).output().unwrap();
    let value: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(value["run"]["interrupted"], false);
    assert!(!left.exists());
}
