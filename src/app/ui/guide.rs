//! What to do next: the steps that a new layout still lacks, and three things to try with the demo.

use super::{Seen, theme};
use crate::app::action::Action;
use crate::app::fresh::Fresh;
use crate::app::part::{List, Part};
use bevy_egui::egui::{RichText, Ui};

/// A step: what it says on its button, what it is good for, what it does.
pub type Step = (&'static str, &'static str, Action);

/// Under the list of parts, while none is selected.
pub fn panel(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    ui.add_space(theme::GAP);
    let (title, steps) = if is_demo(seen) { ("Three things to try", tries()) } else { ("Next", missing(seen)) };
    if !steps.is_empty() {
        ui.label(RichText::new(title).small().strong().color(seen.theme().accent));
    }
    for (word, help, action) in steps {
        if ui.button(word).on_hover_text(help).clicked() {
            out.push(action);
        }
    }
    let text = "Pick a part to see and change its numbers. Every change can be undone.";
    ui.label(RichText::new(text).small().color(seen.theme().muted));
}

/// The first step that a new layout still lacks and that isn't being taken just now.
pub fn next(seen: &Seen) -> Option<Step> {
    let taken = seen.model.desk.selected.map(|part| Action::Select(Some(part)));
    let steps = if is_demo(seen) { Vec::new() } else { missing(seen) };
    steps.into_iter().find(|(_, _, action)| taken.as_ref() != Some(action))
}

/// That step in one line, while the fields of a part take the room.
pub fn line(ui: &mut Ui, (word, help, action): Step, seen: &Seen, out: &mut Vec<Action>) {
    ui.horizontal(|ui| {
        ui.label(RichText::new("Next").small().strong().color(seen.theme().accent));
        if ui.small_button(word).on_hover_text(help).clicked() {
            out.push(action);
        }
    });
}

/// The demo as it came, in no file and unchanged.
fn is_demo(seen: &Seen) -> bool {
    let document = &seen.model.document;
    document.path.is_none() && !document.unsaved() && !document.layout().nozzles.is_empty()
}

fn tries() -> Vec<Step> {
    vec![
        ("See the worst finding", "The camera goes there; the card tells the cause and the mend (V takes the next)", Action::NextFinding),
        (
            "Aim a jet",
            "Selects the first nozzle: drag the round tip of its jet, and the water follows",
            Action::Select(Some(first(List::Nozzles))),
        ),
        ("Start with an empty tank", "Set its sizes, then add a closed loop and rock", Action::New),
    ]
}

fn first(list: List) -> Part {
    Part { list, index: 0 }
}

/// Steps of a design that are not taken yet, in their order.
fn missing(seen: &Seen) -> Vec<Step> {
    let layout = seen.model.document.layout();
    let moves = seen.model.live.moved;
    let steps: [(bool, Step); 5] = [
        (!moves, ("Set the tank's sizes", "Length, width, height, water level, panels", Action::Select(Some(first(List::Tank))))),
        (
            !moves,
            (
                "Add a closed loop",
                "Pump, drum unit with four outlets, two intakes, four nozzles, pipes sized to the tank",
                Action::Add(Fresh::Loop),
            ),
        ),
        (layout.sand.is_none(), ("Add a sand bed", "Sand under fast water is blown about; the verdict tells", Action::Add(Fresh::Sand))),
        (
            layout.rocks.is_empty(),
            ("Build rockwork", "A pile of boulders to begin with; more kinds under Add a part", Action::Add(Fresh::Pile)),
        ),
        (
            layout.colonies.is_empty(),
            ("Mark a colony", "Where a coral will live and how much flow it wants; the verdict judges it", Action::Add(Fresh::Colony)),
        ),
    ];
    steps.into_iter().filter(|(lacks, _)| *lacks).map(|(_, step)| step).collect()
}
