//! The pipework of every circuit from left to right with the water: pump, runs, valves, drum unit, outlets; flows, speeds and heads at the
//! playhead. A click on a run opens its size, length, fittings and valves; a click on an end selects the part.

use super::net::{Net, Node};
use super::{Seen, edit_pipes, theme, words};
use crate::app::action::Action;
use crate::app::document::Edit;
use crate::app::part::{Item, List, Part, ids};
use crate::layout::{Circuit, CircuitKind, End, Layout, Run};
use crate::setup::plumbing::RunDuty;
use bevy_egui::egui::{
    Align2, Color32, FontId, Grid, Id, Painter, Popup, PopupCloseBehavior, Pos2, Rect, RichText, ScrollArea, Sense, Shape, Stroke,
    StrokeKind, Ui, Vec2, pos2, vec2,
};

/// Room for a column and a row, points.
const CELL: Vec2 = vec2(196.0, 34.0);
/// Size of an end's box.
const BOX: Vec2 = vec2(92.0, 28.0);
/// Speed over which a run on the suction and on the discharge side is called fast, m/s: good practice.
const FAST: [f64; 2] = [1.5, 2.4];

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

/// The line of a run, and its level piece that carries the words.
struct Way {
    line: Vec<Pos2>,
    level: Rect,
}

impl Way {
    /// Down or up close to where runs part or meet, so that the words of several don't meet. `gathers`: several runs end there.
    fn new([from, to]: [Pos2; 2], gathers: bool) -> Self {
        let corner = if gathers { to.x - 14.0 } else { from.x + 14.0 };
        let (left, right, y) = if gathers { (from.x + 4.0, corner - 4.0, from.y) } else { (corner + 4.0, to.x - 2.0, to.y) };
        let level = Rect::from_min_max(pos2(left, y - 15.0), pos2(right, y + 15.0));
        Self { line: vec![from, pos2(corner, from.y), pos2(corner, to.y), to], level }
    }
}

/// A run that is drawn.
struct Pipe<'a> {
    circuit: usize,
    index: usize,
    run: &'a Run,
    suction: bool,
    duty: Option<RunDuty>,
}

impl Pipe<'_> {
    fn draw(&self, ui: &mut Ui, way: &Way, seen: &Seen, out: &mut Vec<Action>) {
        let theme = seen.theme();
        let level = way.level;
        let response = ui.interact(level, Id::new(("run", self.circuit, self.index)), Sense::click());
        let bore = seen.model.document.layout().pipes.bore;
        let wide = seen.model.document.catalog.pipe(&self.run.pipe).map_or(2.0, |p| (p.bore(bore) * 80.0) as f32).clamp(1.5, 7.0);
        let runs = self.duty.is_some_and(|d| d.flow.abs() > 1e-6 && d.velocity.abs() > 0.1);
        let ink = if response.hovered() {
            theme.text
        } else if runs {
            theme.jet
        } else {
            theme.idle
        };
        ui.painter().add(Shape::line(way.line.clone(), Stroke::new(wide, ink)));
        self.valves(ui.painter(), level, ink, seen);
        self.words(ui.painter(), level, seen);
        let response = response.on_hover_text(self.help(seen));
        self.popup(&response, seen, out);
    }

    fn fast(&self) -> bool {
        self.duty.is_some_and(|d| d.velocity.abs() > FAST[usize::from(!self.suction)])
    }

    fn words(&self, painter: &Painter, level: Rect, seen: &Seen) {
        let theme = seen.theme();
        let display = seen.model.desk.display;
        let font = FontId::proportional(10.5);
        let clip = painter.with_clip_rect(level.expand2(vec2(2.0, 6.0)).intersect(painter.clip_rect()));
        let above = format!("{}  {}", self.run.id, self.run.pipe);
        clip.text(level.left_center() - vec2(0.0, 4.0), Align2::LEFT_BOTTOM, above, font.clone(), theme.muted);
        let Some(duty) = self.duty else { return };
        let under = format!("{}  {}", words::flow(duty.flow, display), words::speed(duty.velocity, display));
        let (text, ink) = if self.fast() { (format!("{under} fast"), theme.caution) } else { (under, theme.text) };
        let left = level.left_center() + vec2(if self.fast() { 13.0 } else { 0.0 }, 4.0);
        if self.fast() {
            words::mark(&clip, level.left_center() + vec2(5.0, 11.0), crate::finding::Grade::Caution, theme.caution);
        }
        clip.text(left, Align2::LEFT_TOP, text, font, ink);
    }

    /// Two triangles point to point for each valve, filled as far as it is open (ISO 14617-8).
    fn valves(&self, painter: &Painter, level: Rect, ink: Color32, seen: &Seen) {
        let valves = self.run.fittings.iter().filter(|f| f.part.contains("valve"));
        for (i, valve) in valves.enumerate() {
            let c = pos2(level.right() - 12.0 - 16.0 * i as f32, level.center().y);
            let wings = [-6.0, 6.0].map(|dx| vec![c, c + vec2(dx, -5.0), c + vec2(dx, 5.0)]);
            let fill = if valve.opening >= 0.999 { ink } else { seen.theme().panel };
            painter.extend(wings.map(|w| Shape::convex_polygon(w, fill, Stroke::new(1.3, ink))));
            if valve.opening < 0.999 {
                let text = format!("{:.0} %", valve.opening * 100.0);
                painter.text(c - vec2(0.0, 6.0), Align2::CENTER_BOTTOM, text, FontId::proportional(9.5), seen.theme().text);
            }
        }
    }

    fn help(&self, seen: &Seen) -> String {
        let display = seen.model.desk.display;
        let fittings: Vec<String> = self.run.fittings.iter().map(|f| format!("{} x {}", f.count, f.part)).collect();
        let loss = self.duty.map_or(String::new(), |d| format!("; loses {} now, all told", words::head(d.head_loss, display)));
        let limit = FAST[usize::from(!self.suction)];
        format!(
            "{}: {} of {}; {}{loss}.\nKept under {} here: faster water costs head and noise, and on the suction side air comes out of it.",
            self.run.id,
            self.run.length.show(display),
            self.run.pipe,
            if fittings.is_empty() { "no fittings".to_owned() } else { fittings.join(", ") },
            words::speed(limit, display)
        )
    }

    fn popup(&self, response: &bevy_egui::egui::Response, seen: &Seen, out: &mut Vec<Action>) {
        Popup::menu(response).close_behavior(PopupCloseBehavior::CloseOnClickOutside).show(|ui| {
            ui.set_min_width(250.0);
            let mut run = self.run.clone();
            let changed = Grid::new(("run", self.circuit, self.index))
                .num_columns(2)
                .show(ui, |ui| edit_pipes::run(ui, &mut run, seen.model.desk.display));
            if changed.inner {
                out.extend(self.put(run, seen.model.document.layout()));
            }
        });
    }

    fn put(&self, run: Run, layout: &Layout) -> Option<Action> {
        let mut circuit = layout.circuits.get(self.circuit)?.clone();
        let place = circuit.suction.iter_mut().chain(&mut circuit.discharge).nth(self.index)?;
        *place = run;
        Some(Action::Edit(Edit::Put(self.circuit, Box::new(Item::Circuit(circuit)))))
    }
}

/// An end: a box with its name and what it does now. A click selects the part.
fn end(ui: &mut Ui, at: Pos2, end: &End, circuit: usize, seen: &Seen, out: &mut Vec<Action>) {
    let theme = seen.theme();
    if let End::Joint(name) = end {
        let response = ui.interact(Rect::from_center_size(at, vec2(BOX.x, 14.0)), Id::new(("joint", circuit, name)), Sense::hover());
        ui.painter().line_segment([at - vec2(BOX.x / 2.0, 0.0), at + vec2(BOX.x / 2.0, 0.0)], Stroke::new(2.5, theme.jet));
        ui.painter().circle(at, 4.0, theme.jet, Stroke::new(1.0, theme.panel));
        let clip = ui.painter().with_clip_rect(Rect::from_center_size(at - vec2(0.0, 10.0), vec2(BOX.x, 14.0)).intersect(ui.clip_rect()));
        clip.text(at - vec2(0.0, 5.0), Align2::CENTER_BOTTOM, name, FontId::proportional(10.0), theme.muted);
        response.on_hover_text(format!("Joint: {name}"));
        return;
    }
    let part = part_of(end, seen.model.document.layout());
    let rect = Rect::from_center_size(at, BOX);
    let response = ui.interact(rect, Id::new(("end", circuit, end)), Sense::click());
    let selected = part.is_some_and(|p| seen.model.desk.is_selected(p));
    let edge = if selected || response.hovered() { theme.accent } else { theme.muted };
    ui.painter().rect(rect, 4.0, theme.raised, Stroke::new(if selected { 2.0 } else { 1.0 }, edge), StrokeKind::Inside);
    let (name, now) = said(end, part, seen);
    let clip = ui.painter().with_clip_rect(rect.shrink(2.0).intersect(ui.clip_rect()));
    clip.text(at - vec2(0.0, 0.5), Align2::CENTER_BOTTOM, name, FontId::proportional(11.0), theme.text);
    clip.text(at + vec2(0.0, 0.5), Align2::CENTER_TOP, now, FontId::proportional(9.5), theme.muted);
    if response.on_hover_text("Click to select it").clicked() {
        out.extend(part.map(|p| Action::Select(Some(p))));
    }
}

fn part_of(end: &End, layout: &Layout) -> Option<Part> {
    let (list, id) = match end {
        End::Intake(id) => (List::Intakes, id),
        End::Nozzle(id) => (List::Nozzles, id),
        End::Pump(id) => (List::Pumps, id),
        End::Drum(id) | End::Outlet(id, _) => (List::Drums, id),
        End::Sump => return layout.sump.is_some().then_some(Part { list: List::Sump, index: 0 }),
        End::Joint(_) => return None,
    };
    ids(layout, list).iter().position(|known| known == id).map(|index| Part { list, index })
}

/// Its name, and what it does at the playhead.
fn said(end: &End, part: Option<Part>, seen: &Seen) -> (String, String) {
    let layout = seen.model.document.layout();
    let name = part.map_or_else(|| "missing".to_owned(), |p| p.label(layout));
    let (Some(schedule), Some(part)) = (&seen.model.live.schedule, part) else { return (name, String::new()) };
    let (now, display) = (seen.model.desk.playhead, seen.model.desk.display);
    let does = match end {
        End::Pump(_) => {
            let of = |value: fn(&crate::setup::plumbing::PumpDuty) -> f64| schedule.at(now, |d| d.pumps.get(part.index).map_or(0.0, value));
            format!("{}, {}", words::flow(of(|p| p.flow), display), words::head(of(|p| p.head), display))
        }
        End::Nozzle(_) => {
            format!("jet {}", words::speed(schedule.at(now, |d| d.nozzles.get(part.index).map_or(0.0, |n| n.speed)), display))
        }
        End::Intake(_) => words::flow(schedule.intake_at(part.index, now), display),
        End::Drum(_) | End::Outlet(..) => {
            let outlets = layout.drums.get(part.index).map_or(0, |d| d.outlets as usize);
            let open: Vec<String> = (0..outlets).filter(|o| open_share(seen, part.index, *o) > 0.5).map(|o| (o + 1).to_string()).collect();
            if open.is_empty() { "changing over".into() } else { format!("open: {}", open.join(", ")) }
        }
        End::Joint(_) | End::Sump => String::new(),
    };
    (name, does)
}

/// Open share of an outlet at the last sample before the playhead.
fn open_share(seen: &Seen, drum: usize, outlet: usize) -> f64 {
    let Some(schedule) = &seen.model.live.schedule else { return 0.0 };
    let t = seen.model.desk.playhead.rem_euclid(schedule.period);
    let sample = schedule.times.partition_point(|s| *s <= t).saturating_sub(1);
    schedule.open.get(sample).and_then(|o| o.get(drum)?.get(outlet)).copied().unwrap_or(0.0)
}
