//! No two systems of ours depend on chance: where one writes what another reads or writes, it is said which of them comes first.

use super::document;
use bevy::ecs::schedule::{Schedule, Schedules, SystemKey};
use slackwater::app::{machine, off_screen};
use std::collections::HashMap;

/// Systems of Bevy's and its egui's whose order to one of ours makes no difference, and why.
const ANY_ORDER: [(&str, &str, &str); 2] = [
    ("", "bevy_ecs::apply_deferred", "commands of other plug-ins are carried out; what ours touch in this schedule is only ours"),
    ("slackwater::app::files::closing", "TerminalCtrlCHandlerPlugin::exit_on_flag", "both ask for the same end"),
];

/// Bevy's own analysis of who reads and writes what, of every schedule: every pair with a system of ours in it.
#[test]
fn no_system_of_ours_depends_on_chance() {
    if let Err(why) = machine::adapter() {
        eprintln!("SKIPPED, no program was built: {why}");
        return;
    }
    let (mut app, _) = off_screen(document(), [64, 64]);
    app.update();
    let world = app.world();
    let (mut found, mut ours) = (Vec::new(), 0);
    for (label, schedule) in world.resource::<Schedules>().iter() {
        let names = names(schedule);
        ours += names.values().filter(|name| is_ours(name)).count();
        for (a, b, on) in schedule.graph().conflicting_systems().iter() {
            // Systems that run once are taken out of their schedule afterwards.
            let (Some(a), Some(b)) = (names.get(a), names.get(b)) else { continue };
            if (is_ours(a) || is_ours(b)) && !makes_no_difference(a, b) {
                let on: Vec<_> = on.iter().filter_map(|id| world.components().get_name(*id)).collect();
                found.push(format!("{label:?}: {a} and {b} on {on:?}"));
            }
        }
    }
    assert!(ours > 20, "only {ours} systems of ours were seen");
    found.sort();
    assert!(found.is_empty(), "{} pairs:\n{}", found.len(), found.join("\n"));
}

fn names(schedule: &Schedule) -> HashMap<SystemKey, String> {
    let systems = schedule.systems().into_iter().flatten();
    systems.map(|(key, system)| (key, system.name().to_string())).collect()
}

fn makes_no_difference(a: &str, b: &str) -> bool {
    let (ours, other) = if is_ours(a) { (a, b) } else { (b, a) };
    ANY_ORDER.iter().any(|(one, another, _)| ours.contains(one) && other.ends_with(another) && !is_ours(other))
}

fn is_ours(name: &str) -> bool {
    name.starts_with("slackwater::")
}
