//! What stands where runs meet: what the layout says of the joint, else what the entries on its runs say, else an open question.

use super::part::{Item, add};
use crate::handover::numbering::{Numbered, Numbering};
use crate::layout::{End, JointForm, Layout};

/// Adds a part for each joint of the layout.
pub(super) fn joints(layout: &Layout, numbering: &Numbering, items: &mut Vec<Item>) {
    for circuit in 0..layout.circuits.len() {
        let mut seen: Vec<&str> = Vec::new();
        for (_, numbered) in numbering.runs_of(circuit) {
            for end in [&numbered.run.from, &numbered.run.to] {
                let End::Joint(name) = end else { continue };
                if !seen.contains(&name.as_str()) {
                    seen.push(name);
                    joint(layout, numbering, circuit, name, items);
                }
            }
        }
    }
}

fn joint(layout: &Layout, numbering: &Numbering, circuit: usize, name: &str, items: &mut Vec<Item>) {
    let here = End::Joint(name.to_owned());
    let runs: Vec<&Numbered> = numbering.runs_of(circuit).map(|(_, n)| n).filter(|n| n.run.from == here || n.run.to == here).collect();
    let form = layout.joints.iter().find(|joint| joint.id == name).map(|joint| &joint.form);
    let Some((part, note)) = part(form, &runs) else { return };
    let place = format!("{name} ({})", runs.iter().map(|n| n.tag.as_str()).collect::<Vec<_>>().join(", "));
    add(items, &part, &sizes(&runs.iter().map(|n| n.run.pipe.as_str()).collect::<Vec<_>>()), 1, &place, note);
}

const SIZES: &str = "sizes of its ends; or the largest size with reducing bushes";
const UNSAID: &str = "the layout doesn't say which: list the joint in `joints`";

/// What to ask for, and what to mind; `None` where the runs' own entries are counted already.
fn part(form: Option<&JointForm>, runs: &[&Numbered]) -> Option<(String, &'static str)> {
    if let Some(form) = form {
        return Some((form_words(form), SIZES));
    }
    let lists = |word: &str| runs.iter().any(|n| n.run.fittings.iter().any(|f| f.part.trim().to_lowercase().starts_with(word)));
    let (part, note) = match runs.len() {
        0 | 1 => ("cap", "one run ends at this joint and no other goes on"),
        2 if ["union", "coupling", "reducer", "enlarger"].into_iter().any(lists) => return None,
        2 if runs[0].run.pipe == runs[1].run.pipe => ("coupling", ""),
        2 => ("reducer", "sizes of its ends"),
        3 if lists("wye") => ("wye", SIZES),
        3 if lists("tee") => ("tee", SIZES),
        3 => ("tee or wye", UNSAID),
        4 if lists("cross") => ("cross", SIZES),
        4 if lists("tee") => ("cross, or two tees", SIZES),
        4 => ("cross, or two tees or wyes", UNSAID),
        _ => ("manifold", "one end a run; sizes of its ends"),
    };
    Some((part.to_owned(), note))
}

fn form_words(form: &JointForm) -> String {
    match form {
        JointForm::Tee { .. } => "tee".to_owned(),
        JointForm::Wye { angle, .. } => format!("wye, {angle}"),
        JointForm::Cross { .. } => "cross".to_owned(),
        JointForm::Manifold { branches, spacing } => format!("manifold, {} branches {spacing} apart", branches.len()),
    }
}

/// "3 in x 2 in x 2 in, schedule 40", or each in full where they are of several kinds.
fn sizes(pipes: &[&str]) -> String {
    let split: Vec<(&str, &str)> = pipes.iter().map(|pipe| pipe.split_once(", ").unwrap_or((pipe, ""))).collect();
    let kind = split.first().map_or("", |first| first.1);
    if split.iter().any(|(_, own)| *own != kind) {
        return pipes.join("  x  ");
    }
    let sizes = split.iter().map(|(size, _)| *size).collect::<Vec<_>>().join(" x ");
    if kind.is_empty() { sizes } else { format!("{sizes}, {kind}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Run;

    fn asked(form: Option<&JointForm>, runs: &[(&str, &[&str])]) -> Option<String> {
        let run = |(at, (pipe, fittings)): (usize, &(&str, &[&str]))| -> Run {
            let parts: String = fittings.iter().map(|part| format!("(part: \"{part}\"),")).collect();
            let text =
                format!("(id: \"r{at}\", from: pump(\"p\"), to: joint(\"j\"), pipe: \"{pipe}\", length: \"1 m\", fittings: [{parts}])");
            ron::from_str(&text).unwrap()
        };
        let runs: Vec<Run> = runs.iter().enumerate().map(run).collect();
        let numbered: Vec<Numbered> = runs.iter().map(|run| Numbered { tag: run.id.clone(), circuit: 0, run }).collect();
        part(form, &numbered.iter().collect::<Vec<_>>()).map(|(part, _)| part)
    }

    /// Only what is a tee is called one.
    #[test]
    fn joints_are_called_what_they_are() {
        let wye: JointForm = ron::from_str("wye(branch: \"r0\")").unwrap();
        let two: [(&str, &[&str]); 2] = [("2 in", &[]), ("2 in", &[])];
        let with = |fittings: &'static [&'static str]| -> [(&str, &[&str]); 3] { [("2 in", fittings), ("2 in", &[]), ("2 in", &[])] };
        assert_eq!(asked(Some(&wye), &with(&["tee run"])).unwrap(), "wye, 45 deg");
        assert_eq!(asked(None, &with(&["wye branch"])).unwrap(), "wye");
        assert_eq!(asked(None, &with(&["elbow 90", "tee branch"])).unwrap(), "tee");
        assert_eq!(asked(None, &with(&["union"])).unwrap(), "tee or wye");
        assert_eq!(asked(None, &two).unwrap(), "coupling");
        assert_eq!(asked(None, &[("2 in", &["union"]), ("2 in", &[])]), None);
        assert_eq!(asked(None, &[("2 in", &[]), ("1 in", &[])]).unwrap(), "reducer");
    }
}
