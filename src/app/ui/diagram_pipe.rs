//! A run in the drawing of a circuit: its line, what flows in it, and the fields that a click opens.

use super::{Seen, edit_pipes, pop, words};
use crate::app::action::Action;
use crate::app::document::Edit;
use crate::app::part::Item;
use crate::layout::{Layout, Run};
use crate::setup::plumbing::RunDuty;
use bevy_egui::egui::{
    Align2, Color32, FontId, Grid, Id, Painter, Pos2, Rect, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

/// Speed over which a run on the suction and on the discharge side is called fast, m/s: good practice.
const FAST: [f64; 2] = [1.5, 2.4];

/// The line of a run, and its level piece that carries the words.
pub struct Way {
    line: Vec<Pos2>,
    level: Rect,
}

impl Way {
    /// Down or up close to where runs part or meet, so that the words of several don't meet. `gathers`: several runs end there.
    pub fn new([from, to]: [Pos2; 2], gathers: bool) -> Self {
        let corner = if gathers { to.x - 14.0 } else { from.x + 14.0 };
        let (left, right, y) = if gathers { (from.x + 4.0, corner - 4.0, from.y) } else { (corner + 4.0, to.x - 2.0, to.y) };
        let level = Rect::from_min_max(pos2(left, y - 15.0), pos2(right, y + 15.0));
        Self { line: vec![from, pos2(corner, from.y), pos2(corner, to.y), to], level }
    }
}

/// A run that is drawn.
pub struct Pipe<'a> {
    /// Which circuit.
    pub circuit: usize,
    /// Which run of it.
    pub index: usize,
    /// The run.
    pub run: &'a Run,
    /// It lies before the pump.
    pub suction: bool,
    /// What the plumbing says of it.
    pub duty: Option<RunDuty>,
}

impl Pipe<'_> {
    /// Its line, its words, and what a click on it opens.
    pub fn draw(&self, ui: &mut Ui, way: &Way, seen: &Seen, out: &mut Vec<Action>) {
        let theme = seen.theme();
        let level = way.level;
        let response = ui.interact(level, Id::new(("run", self.circuit, self.index)), Sense::click());
        let layout = seen.model.document.layout();
        let name = format!("{} {}", layout.circuits.get(self.circuit).map_or("", |c| c.id.as_str()), self.run.id);
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &name));
        let bore = layout.pipes.bore;
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
        pop::fields(response, |ui| {
            ui.set_min_width(250.0);
            let mut run = self.run.clone();
            let changed = Grid::new(("run", self.circuit, self.index)).num_columns(2).show(ui, |ui| edit_pipes::run(ui, &mut run, seen));
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
