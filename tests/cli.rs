//! The command line as a user or a script meets it: exit codes, what goes where, messages for bad input.

use assert_cmd::Command;
use serde_json::Value;
use std::path::{Path, PathBuf};

use crate::schema;

fn slackwater(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_slackwater"));
    command.args(args);
    command
}

struct Ran {
    code: i32,
    out: String,
    err: String,
}

fn run(command: &mut Command) -> Ran {
    let output = command.output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    Ran { code: output.status.code().unwrap(), out: text(&output.stdout), err: text(&output.stderr) }
}

fn layout(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("layouts").join(name).display().to_string()
}

fn file(folder: &Path, name: &str, bytes: &[u8]) -> String {
    let path: PathBuf = folder.join(name);
    std::fs::write(&path, bytes).unwrap();
    path.display().to_string()
}

#[test]
fn every_command_has_help_with_an_example() {
    for command in [
        &["--help"][..],
        &["open", "--help"],
        &["new", "--help"],
        &["check", "--help"],
        &["study", "--help"],
        &["compare", "--help"],
        &["handover", "--help"],
        &["calibrate", "--help"],
        &["completions", "--help"],
    ] {
        let ran = run(&mut slackwater(command));
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{command:?}");
        assert!(ran.out.contains("Example") && ran.out.lines().all(|line| line.chars().count() <= 140), "{}", ran.out);
    }
    assert!(run(&mut slackwater(&["study", "--help"])).out.contains("Exit codes: 0 fine; 1"));
}

#[test]
fn an_own_catalogue_and_a_time_of_day() {
    let folder = tempfile::tempdir().unwrap();
    let own = file(folder.path(), "own.ron", br#"(fittings: [(name: "union", law: fixed(k: 40), source: "measured", range: "that one")])"#);
    let flow = |more: &[&str], tank: &str| {
        let ran = run(slackwater(&["check", tank, "--json"]).args(more));
        let json: Value = serde_json::from_str(&ran.out).unwrap_or_else(|e| panic!("{e}: {}", ran.err));
        json["files"][0]["plumbing"]["pumps"][0]["flow_m3_s"]["mean"].as_f64().unwrap()
    };
    let lagoon = layout("lagoon.ron");
    assert!(flow(&["--catalog", &own], &lagoon) < 0.98 * flow(&[], &lagoon));
    let text = std::fs::read_to_string(&lagoon).unwrap();
    let by_day =
        text.replacen(r#"power: "560 W""#, r#"power: "560 W", programme: [(from: "8 h", speed: 1), (from: "22 h", speed: 0.5)]"#, 1);
    let tank = file(folder.path(), "tank.ron", by_day.as_bytes());
    let (day, night) = (flow(&[], &tank), flow(&["--at", "23h"], &tank));
    assert!((0.45..0.52).contains(&(night / day)), "{night} {day}");
    let told = run(&mut slackwater(&["check", &tank])).out;
    assert!(told.contains("Speeds over the day") && told.contains("22:00"), "{told}");
    let bad = file(folder.path(), "bad.ron", b"(pipes: [(name: \"x\")])");
    for wrong in [bad.as_str(), "no/such.ron"] {
        let ran = run(&mut slackwater(&["check", &lagoon, "--catalog", wrong]));
        assert!(ran.code == 2 && ran.err.contains(wrong), "{}", ran.err);
    }
}

#[test]
fn slips_of_the_pen_end_with_2_and_a_reason() {
    let lagoon = layout("lagoon.ron");
    let cases: [(&[&str], &str); 9] = [
        (&["chek"], "chek"),
        (&["check"], "FILE"),
        (&["study", &lagoon, "--cell", "25"], "unit is missing"),
        (&["study", &lagoon, "--cell", "1mm"], "between 2 mm and 250 mm"),
        (&["study", &lagoon, "--cell", "2mm"], "million cells"),
        (&["study", &lagoon, "--time=-5s"], "between 0.1 s"),
        (&["study", &lagoon, "--time", "5s", "--cycles", "2"], "cannot be used with"),
        (&["study", &lagoon, "--probe", "1,2"], "three numbers"),
        (&["study", &lagoon, "--cycles", "NaN"], "--cycles"),
    ];
    for (args, reason) in cases {
        let ran = run(&mut slackwater(args));
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{args:?}: {}", ran.err);
        assert!(ran.err.contains(reason), "{args:?}: {}", ran.err);
    }
}

#[test]
fn files_that_are_no_layout_end_with_2_and_one_message() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().display().to_string();
    let cases = [
        format!("{folder}/nowhere.ron"),
        folder.clone(),
        file(place.path(), "empty.ron", b""),
        file(place.path(), "binary.ron", &[0, 159, 146, 150, 255, 0, 1]),
        file(place.path(), "half.ron", b"(version: 1, name: \"x\", tank: ("),
        file(place.path(), "text.ron", b"Dear sir or madam"),
    ];
    for path in &cases {
        for args in [&["check", path][..], &["study", path], &["open", path]] {
            let ran = run(slackwater(args).current_dir(place.path()));
            assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{args:?}: {}", ran.err);
            let name = Path::new(path).file_name().unwrap().to_str().unwrap();
            assert!(ran.err.contains(name) && !ran.err.contains("panicked") && ran.err.lines().count() < 40, "{args:?}: {}", ran.err);
        }
    }
}

#[test]
fn new_writes_a_layout_that_checks_and_never_overwrites() {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("mine.ron").display().to_string();
    assert_eq!(run(&mut slackwater(&["new", &path])).code, 0);
    let first = std::fs::read(&path).unwrap();
    let again = run(&mut slackwater(&["new", &path]));
    assert!(again.code == 2 && again.err.contains("left alone"), "{}", again.err);
    assert_eq!(std::fs::read(&path).unwrap(), first);
    let checked = run(&mut slackwater(&["check", &path]));
    assert!(checked.code <= 1 && checked.out.contains("PLUMBING"), "{}{}", checked.out, checked.err);
    let nowhere = run(&mut slackwater(&["new", &place.path().join("no/such/folder.ron").display().to_string()]));
    assert!(nowhere.code == 2 && nowhere.err.contains("folder does not exist"), "{}", nowhere.err);
}

#[test]
fn check_as_json_keeps_its_form_and_goes_on_after_a_bad_file() {
    let place = tempfile::tempdir().unwrap();
    let bad = file(place.path(), "bad.ron", b"(");
    let ran = run(&mut slackwater(&["check", &layout("alcove.ron"), &bad, &layout("lagoon.ron"), "--json"]));
    assert_eq!(ran.code, 2);
    let value: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(schema::problems("check", &value), Vec::<String>::new());
    let usable: Vec<bool> = value["files"].as_array().unwrap().iter().map(|f| f["usable"].as_bool().unwrap()).collect();
    assert_eq!(usable, [true, false, true]);
    assert!(value["files"][0]["plumbing"]["pumps"].as_array().is_some_and(|pumps| !pumps.is_empty()));
    assert_eq!(value["files"][1]["findings"][0]["line"], 1);
}

#[test]
fn a_what_if_is_compared_with_the_layout_as_drawn() {
    let all = run(&mut slackwater(&["check", &layout("peninsula.ron"), "--what-if", "all", "--json"]));
    let value: Value = serde_json::from_str(&all.out).unwrap();
    assert_eq!(schema::problems("check", &value), Vec::<String>::new());
    let tried = value["files"][0]["what_ifs"].as_array().unwrap();
    let find = |id: &str| tried.iter().find(|w| w["id"] == id).unwrap_or_else(|| panic!("{id} was not tried"));
    let ratio = |id: &str| find(id)["nozzle_flow_m3_s"].as_f64().unwrap() / find(id)["base_nozzle_flow_m3_s"].as_f64().unwrap();
    assert!(ratio("night") < 0.75 && ratio("loop A pump off") < 0.7 && ratio("second drain blocked") == 1.0);
    // Cover one of two intakes and the other one draws nearly all: the rule that a fault must follow from.
    assert!(find("intake B1 blocked")["findings"].to_string().contains("intake B2") && find("intake B1 blocked")["worst"] == "fault");
    let unknown = run(&mut slackwater(&["check", &layout("peninsula.ron"), "--what-if", "flood"]));
    assert_eq!(unknown.code, 2);
    assert!(unknown.err.contains("`flood`") && unknown.err.contains("`night`"), "{}", unknown.err);
}

#[test]
fn check_fits_80_columns() {
    for name in ["alcove.ron", "peninsula.ron", "lagoon.ron"] {
        let ran = run(&mut slackwater(&["check", &layout(name)]));
        let wide: Vec<&str> = ran.out.lines().filter(|line| line.chars().count() > 80).collect();
        assert!(wide.is_empty(), "{name}: {wide:#?}");
    }
}

#[test]
fn completions_name_the_commands() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let ran = run(&mut slackwater(&["completions", shell]));
        assert!(ran.code == 0 && ran.out.contains("study"), "{shell}");
    }
}

#[cfg(unix)]
#[test]
fn a_closed_pipe_is_no_error() {
    let command = format!("'{}' check '{}' | head -1", env!("CARGO_BIN_EXE_slackwater"), layout("peninsula.ron"));
    let ran = run(Command::new("sh").args(["-c", &command]));
    assert_eq!((ran.code, ran.out.as_str(), ran.err.as_str()), (0, "Peninsula\n", ""));
}

#[test]
fn handover_says_what_it_wrote_as_json() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheets").display().to_string();
    let ran = run(&mut slackwater(&["handover", &layout("alcove.ron"), "--out", &out, "--date", "2026-03-01", "--json"]));
    let told: Value = serde_json::from_str(&ran.out).unwrap();
    let files = told["files"].as_array().unwrap();
    assert!(files.iter().all(|f| Path::new(f["path"].as_str().unwrap()).metadata().unwrap().len() > 0 && f["purpose"] != ""), "{told}");
    assert_eq!(files.len(), std::fs::read_dir(&out).unwrap().count());
    assert_eq!((told["date"].as_str(), told["faults"].as_u64().map(|n| i32::from(n > 0))), (Some("2026-03-01"), Some(ran.code)));
    assert!(ran.err.contains("100 %"), "no progress: {}", ran.err);
    let quiet = run(&mut slackwater(&["handover", &layout("alcove.ron"), "--out", &out, "--quiet"]));
    assert!(!quiet.err.contains('%') || !quiet.err.contains("commissioning.pdf"), "{}", quiet.err);
}
