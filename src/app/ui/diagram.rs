//! The pipework of every circuit from left to right with the water: pump, runs, valves, drum unit, outlets; flows, speeds and heads at the
//! playhead. A click on a run opens its size, length, fittings and valves; a click on an end selects the part.

use super::diagram_end::end;
use super::diagram_pipe::{Pipe, Way};
use super::net::{Net, Node};
use super::{Seen, theme};
use crate::app::action::Action;
use crate::layout::{Circuit, CircuitKind};
use crate::setup::plumbing::RunDuty;
use bevy_egui::egui::{RichText, ScrollArea, Sense, Ui, Vec2, vec2};

/// Room for a column and a row, points.
const CELL: Vec2 = vec2(196.0, 34.0);
/// Size of an end's box.
pub const BOX: Vec2 = vec2(92.0, 28.0);

/// Height that the drawing of all circuits wants, points.
pub fn height(seen: &Seen) -> f32 {
    let circuits = &seen.model.document.layout().circuits;
    62.0 + circuits.iter().map(|c| 40.0 + Net::new(c).size.1 * CELL.y).sum::<f32>().max(60.0)
}

/// The panel.
pub fn panel(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let layout = seen.model.document.layout();
    if layout.circuits.is_empty() {
        ui.label(RichText::new("No pipework yet: every nozzle and intake runs at the flow written into it.").color(seen.theme().muted));
        if ui.button("Add a closed loop").clicked() {
            out.push(Action::Add(crate::app::fresh::Fresh::Loop));
        }
        return;
    }
    ScrollArea::both().auto_shrink(false).id_salt("plumbing").show(ui, |ui| {
        let mut first = 0;
        for (index, circuit) in layout.circuits.iter().enumerate() {
            heading(ui, circuit, seen);
            draw(ui, index, first, circuit, seen, out);
            first += circuit.suction.len() + circuit.discharge.len();
            ui.add_space(theme::GAP);
        }
    });
}

fn heading(ui: &mut Ui, circuit: &Circuit, seen: &Seen) {
    let kind = if circuit.kind == CircuitKind::Closed { "closed loop" } else { "return loop" };
    ui.horizontal(|ui| {
        ui.label(RichText::new(&circuit.id).strong());
        ui.label(
            RichText::new(format!("{kind}; click a pipe to change its size, length, fittings and valves"))
                .small()
                .color(seen.theme().muted),
        );
    });
}

fn draw(ui: &mut Ui, index: usize, first: usize, circuit: &Circuit, seen: &Seen, out: &mut Vec<Action>) {
    let net = Net::new(circuit);
    let step = vec2(CELL.x.max((ui.available_width() - BOX.x - 8.0) / net.size.0.saturating_sub(1).max(1) as f32).min(300.0), CELL.y);
    let size = vec2(step.x * net.size.0.saturating_sub(1) as f32 + BOX.x + 8.0, step.y * net.size.1 + 4.0);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let at = |node: &Node| rect.min + vec2(4.0 + BOX.x / 2.0 + node.column as f32 * step.x, 17.0 + node.row * step.y);
    let runs = circuit.suction.iter().chain(&circuit.discharge);
    for (i, (run, edge)) in runs.enumerate().zip(&net.edges).map(|((i, run), edge)| (i, (run, edge))) {
        let pipe = Pipe { circuit: index, index: i, run, suction: i < circuit.suction.len(), duty: duty(seen, first + i) };
        let ends = [at(&net.nodes[edge.0]) + vec2(BOX.x / 2.0, 0.0), at(&net.nodes[edge.1]) - vec2(BOX.x / 2.0, 0.0)];
        let gathers = net.edges.iter().filter(|e| e.1 == edge.1).count() > 1;
        pipe.draw(ui, &Way::new(ends, gathers), seen, out);
    }
    net.nodes.iter().for_each(|node| end(ui, at(node), &node.end, index, seen, out));
}

/// What the plumbing says of a run at the playhead.
fn duty(seen: &Seen, run: usize) -> Option<RunDuty> {
    let schedule = seen.model.live.schedule.as_ref()?;
    let now = seen.model.desk.playhead;
    let of = |value: fn(&RunDuty) -> f64| schedule.at(now, |d| d.runs.get(run).map_or(0.0, value));
    Some(RunDuty { flow: of(|r| r.flow), velocity: of(|r| r.velocity), head_loss: of(|r| r.head_loss) })
}
