//! `slackwater handover --client` as it is typed: what can't be done is told before anything is written or computed.

use assert_cmd::Command;

fn complaint(more: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheets");
    let mut command = Command::new(env!("CARGO_BIN_EXE_slackwater"));
    command.args(["handover", "layouts/alcove.ron", "--out", &out.display().to_string()]).args(more);
    let output = command.output().unwrap();
    assert_eq!(output.status.code(), Some(2), "{more:?}");
    assert!(!out.exists(), "{more:?} wrote sheets");
    String::from_utf8(output.stderr).unwrap()
}

#[test]
fn slips_are_told_first() {
    for (typed, told) in [
        (&["--client", "--what-if", "no such"][..], "--what-if no such: the layout has no what-if of that name; the layout has none"),
        (&["--client", "--before", "no-such.ron"], "no-such.ron"),
        (&["--client", "--cell", "1mm"], "between 2 mm and 250 mm"),
        (&["--cell", "40mm"], "--client"),
        (&["--client", "--before", "a.ron", "--what-if", "b"], "cannot be used with"),
    ] {
        let said = complaint(typed);
        assert!(said.contains(told), "{typed:?}: {said}");
    }
}
