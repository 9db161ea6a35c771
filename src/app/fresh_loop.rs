//! A whole closed loop to start from: pump, pipes, drum unit, two intakes, four nozzles, sized to the tank.

use super::document::{Edit, free_id};
use super::part::{Item, List, ids};
use crate::catalog::Catalog;
use crate::layout::{
    Aim, CheckState, Circuit, CircuitKind, CurvePoint, Direction, Drive, Drum, End, Face, Fitting, Intake, Layout, Motion, Mount, Nozzle,
    NozzleKind, PanelName, Pump, Run, Screen, Sequence, Supply, Window,
};
use crate::units::{Angle, Display, Head, Length, Time, VolumeFlow};
use std::f64::consts::PI;

/// Most that the pump moves for each litre of tank, L/h: as in the template. Own choice.
const TURNOVER: f64 = 18.0;
/// Share of that which such a loop delivers at most. Found by trying; own choice.
const DUTY: f64 = 0.72;
/// Share of it that goes through one outlet when it is widest open. Found by trying; own choice.
const ARM: f64 = 0.75;
/// Speed under which suction pipes are kept, m/s: good practice.
const SUCTION_SPEED: f64 = 1.5;
/// Speed under which discharge pipes are kept, m/s: under good practice (2.4), so that a sudden stop stays within the rating of thin pipe.
const DISCHARGE_SPEED: f64 = 2.0;
/// Exit speed of nozzles with two outlets open, m/s. Own choice.
const EXIT_SPEED: f64 = 3.0;

/// Pump with a usual curve: no flow at 5.5 m, `most` (L/h) at 1 m.
pub fn pump(id: &str, most: f64) -> Pump {
    let shape = [(0.0, 5.5), (0.36, 4.8), (0.73, 3.2), (1.0, 1.0)];
    let point = |(share, head): (f64, f64)| CurvePoint {
        flow: VolumeFlow::new((share * most / 100.0).round() * 100.0, "L/h"),
        head: Head::new(head, "m"),
    };
    Pump {
        id: id.into(),
        curve: shape.map(point).into(),
        speed: 1.0,
        power: None,
        npsh_required: None,
        head_factor: None,
        programme: Vec::new(),
    }
}

/// Drum unit with four outlets that is never shut.
pub fn drum(id: &str, bore: Length) -> Drum {
    let windows = vec![Window { centre: Angle::new(0.0, "deg"), arc: Angle::new(120.0, "deg") }];
    Drum { id: id.into(), outlets: 4, bore, port_arc: Angle::new(60.0, "deg"), windows, body_k: 1.5, leakage: 0.02 }
}

/// The edits that add the loop, and a drive for its drum unit to every sequence.
pub fn edits(layout: &Layout) -> Vec<Edit> {
    let plan = Plan::new(layout);
    let mut items = vec![Item::Pump(pump(&plan.pump, plan.most)), Item::Drum(drum(&plan.drum, plan.bore.clone()))];
    items.extend((0..2).map(|i| Item::Intake(plan.intake(i))));
    items.extend((0..4).map(|i| Item::Nozzle(plan.nozzle(i))));
    items.push(Item::Circuit(plan.circuit()));
    let drive = Drive {
        drum: plan.drum.clone(),
        motion: Motion::Turning { period: Time::new(60.0, "s") },
        phase: Time::new(0.0, "s"),
        direction: Direction::Forward,
        slip: 0.0,
    };
    if layout.sequences.is_empty() {
        items.push(Item::Sequence(Sequence { id: "slow turn".into(), drives: vec![drive.clone()] }));
    }
    let driven = layout.sequences.iter().enumerate().map(|(index, sequence)| {
        let mut sequence = sequence.clone();
        sequence.drives.push(drive.clone());
        Edit::Put(index, Box::new(Item::Sequence(sequence)))
    });
    items.into_iter().map(|item| Edit::Add(Box::new(item))).chain(driven).collect()
}

struct Plan<'a> {
    layout: &'a Layout,
    most: f64,
    duty: f64,
    bore: Length,
    pump: String,
    drum: String,
    intakes: Vec<String>,
    nozzles: Vec<String>,
}

impl<'a> Plan<'a> {
    fn new(layout: &'a Layout) -> Self {
        let size = layout.tank.size();
        let litres = size.x * size.y * layout.tank.water_level.si() * 1e3;
        let most = (litres * TURNOVER).clamp(2000.0, 60_000.0);
        let duty = most * DUTY / 3.6e6;
        let bore = Length::new((4.0 * duty / 2.0 / (PI * EXIT_SPEED)).sqrt().mul_add(1e3, 0.0).round(), "mm");
        Self {
            layout,
            most,
            duty,
            bore,
            pump: free_id(&ids(layout, List::Pumps), "loop pump 1"),
            drum: free_id(&ids(layout, List::Drums), "unit 1"),
            intakes: free_ids(layout, List::Intakes, "intake", 2),
            nozzles: free_ids(layout, List::Nozzles, "N", 4),
        }
    }

    /// The smallest pipe of the display's kind that carries `flow` (m³/s) no faster than `speed` (m/s), or the widest.
    fn pipe(&self, flow: f64, speed: f64) -> String {
        let kind = if self.layout.display == Display::Us { "schedule 40" } else { "PN10" };
        let catalog = Catalog::builtin();
        let mut sizes: Vec<(&str, f64)> = catalog
            .pipe_names()
            .filter(|name| name.ends_with(kind))
            .filter_map(|name| Some((name, catalog.pipe(name)?.bore(self.layout.pipes.bore))))
            .collect();
        sizes.sort_by(|a, b| a.1.total_cmp(&b.1));
        let slow = |bore: f64| flow / (PI / 4.0 * bore * bore) <= speed;
        sizes.iter().find(|(_, bore)| slow(*bore)).or(sizes.last()).map_or_else(String::new, |(name, _)| (*name).to_owned())
    }

    /// Low in the back panel, near its ends.
    fn intake(&self, i: usize) -> Intake {
        let share = [0.12, 0.88][i];
        let side = (self.duty / (0.12 * 0.5)).sqrt();
        let face = Face::Rectangle(mm(side), mm(side));
        let bore = Length::new((4.0 * self.duty / 2.0 / (PI * 1.2)).sqrt().mul_add(1e3, 0.0).round(), "mm");
        let id = self.intakes[i].clone();
        Intake {
            id,
            mount: self.hole(share, 0.3),
            facing: None,
            bore,
            screen: Some(Screen { face, open: 0.5, hidden: 0.0, blocked: 0.0 }),
            supply: Supply::Plumbed,
        }
    }

    /// High in the back panel, evenly spaced, fanned out.
    fn nozzle(&self, i: usize) -> Nozzle {
        let azimuth = [-60.0, -80.0, -100.0, -120.0][i];
        let aim = Aim::Angles { azimuth: Angle::new(azimuth, "deg"), elevation: Angle::new(0.0, "deg") };
        let mount = self.hole(0.2 + 0.2 * i as f64, 0.72);
        Nozzle {
            id: self.nozzles[i].clone(),
            mount,
            aim,
            bore: self.bore.clone(),
            kind: NozzleKind::Plain,
            k: None,
            supply: Supply::Plumbed,
        }
    }

    fn hole(&self, along: f64, up: f64) -> Mount {
        let tank = &self.layout.tank;
        Mount::Hole { panel: PanelName::Back, along: mm(tank.length.si() * along), up: mm(tank.water_level.si() * up), drill: None }
    }

    fn circuit(&self) -> Circuit {
        let joint = || End::Joint(format!("{} suction tee", self.pump));
        let (wide, half) = (self.pipe(self.duty, SUCTION_SPEED), self.pipe(self.duty / 2.0, SUCTION_SPEED));
        let length = self.layout.tank.length.si();
        let ball = [("bulkhead entrance", 1), ("elbow 90", 2), ("ball valve", 1)];
        let suction =
            (0..2).map(|i| run(&format!("S{}", i + 1), End::Intake(self.intakes[i].clone()), joint(), &half, length * 0.6, &ball));
        let last = run("S3", joint(), End::Pump(self.pump.clone()), &wide, 0.5, &[("tee branch", 1), ("union", 1)]);
        let main = self.pipe(self.duty, DISCHARGE_SPEED);
        let arm = self.pipe(self.duty * ARM, DISCHARGE_SPEED);
        let first = [("union", 1), ("ball valve", 1), ("elbow 90", 3)];
        let rise = run("D0", End::Pump(self.pump.clone()), End::Drum(self.drum.clone()), &main, 1.5, &first);
        let arms = (0..4).map(|i| {
            let from = End::Outlet(self.drum.clone(), i as u32 + 1);
            run(&format!("D{}", i + 1), from, End::Nozzle(self.nozzles[i].clone()), &arm, length * 0.5, &[("elbow 90", 2)])
        });
        Circuit {
            id: free_id(&ids(self.layout, List::Circuits), "loop 1"),
            kind: CircuitKind::Closed,
            loss_factor: None,
            suction: suction.chain([last]).collect(),
            discharge: [rise].into_iter().chain(arms).collect(),
        }
    }
}

fn run(id: &str, from: End, to: End, pipe: &str, length: f64, fittings: &[(&str, u32)]) -> Run {
    let fittings = fittings.iter().map(|(part, count)| fitting(part, *count));
    Run { id: id.into(), from, to, pipe: pipe.into(), length: mm(length), fittings: fittings.collect() }
}

/// A fitting of the catalogue; valves open.
pub fn fitting(part: &str, count: u32) -> Fitting {
    Fitting { part: part.into(), count, opening: 1.0, k: None, curve: Vec::new(), other: None, check: CheckState::default() }
}

/// So many ids that nothing in the list has, and that differ from each other.
fn free_ids(layout: &Layout, list: List, stem: &str, count: usize) -> Vec<String> {
    let mut taken: Vec<String> = ids(layout, list).into_iter().map(str::to_owned).collect();
    let space = if stem.len() > 1 { " " } else { "" };
    (0..count)
        .map(|_| {
            let id = free_id(&taken.iter().map(String::as_str).collect::<Vec<_>>(), &format!("{stem}{space}1"));
            taken.push(id.clone());
            id
        })
        .collect()
}

fn mm(metres: f64) -> Length {
    Length::new((metres * 1e3).round(), "mm")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::document::Document;

    /// Whoever adds a loop to an empty tank has done nothing wrong yet.
    #[test]
    fn a_loop_in_an_empty_tank_breaks_no_rule() {
        for display in [Display::Metric, Display::Us] {
            let text = crate::app::template::Template::Empty.text();
            let layout = Layout { display, ..crate::layout::read("start", text.as_bytes()).unwrap().layout };
            let mut document = Document::new(layout.clone(), None, None);
            document.apply(Edit::All(edits(&layout)), 0.0);
            let (layout, catalog) = (document.layout(), Catalog::builtin());
            let schedule = crate::setup::Schedule::new(layout, catalog).unwrap();
            let mut found = crate::layout::check(layout, catalog);
            found.extend(crate::safety::check(layout, catalog, &schedule));
            found.retain(|f| f.grade > crate::finding::Grade::Note);
            assert!(found.is_empty(), "{found:#?}");
        }
    }

    #[test]
    fn a_loop_can_be_computed_at_once() {
        for text in [crate::layout::template(), crate::layout::DEMO] {
            let mut layout = crate::layout::read("start", text.as_bytes()).unwrap().layout;
            layout.circuits.clear();
            layout.joints.clear();
            layout.drums.clear();
            layout.pumps.clear();
            layout.sequences.clear();
            layout.sequence.clear();
            layout.nozzles.clear();
            layout.intakes.clear();
            let mut document = Document::new(layout, None, None);
            for _ in 0..2 {
                let added = edits(document.layout());
                document.apply(Edit::All(added), 0.0);
            }
            let layout = document.layout();
            assert_eq!((layout.nozzles.len(), layout.intakes.len(), layout.drums.len()), (8, 4, 2));
            assert!(!crate::layout::check(layout, Catalog::builtin()).iter().any(|f| f.blocks));
            let schedule = crate::setup::Schedule::new(layout, Catalog::builtin()).unwrap();
            let all: f64 = (0..8).map(|i| schedule.nozzle_at(i, 1.0).0).sum();
            assert!(all > 0.3 * 2.0 * Plan::new(layout).duty, "{all}");
        }
    }
}
