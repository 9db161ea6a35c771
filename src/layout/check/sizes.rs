//! Numbers that make no sense. The limits are our own: far outside anything that is built.

use super::{caution, fault};
use crate::finding::{Finding, Grade};
use crate::layout::scan::Scan;
use crate::layout::{CheckState, CurvePoint, DAY, Drive, JointForm, MOST_BOULDERS, Mount};
use crate::layout::{Face, Layout, Limits, Motion, NozzleKind, Point, PropellerOutput, Rock, Roughness, Run, Shape, Supply};
use crate::units::{Kind, Length, Quantity};
use std::ops::RangeInclusive;

/// Sizes of parts, m.
const PART: RangeInclusive<f64> = 1e-3..=30.0;
/// Places, m.
const PLACE: RangeInclusive<f64> = -100.0..=100.0;
/// Bores, m.
const BORE: RangeInclusive<f64> = 1e-3..=1.0;
/// Times, s.
const TIME: RangeInclusive<f64> = 0.0..=1e6;
/// Flows, m³/s.
const FLOW: RangeInclusive<f64> = 0.0..=1.0;

pub(super) fn check(layout: &Layout) -> Vec<Finding> {
    let mut sizes = Sizes::default();
    sizes.tank(layout);
    layout.rocks.iter().for_each(|rock| sizes.rock(rock));
    sizes.boxes(layout);
    layout.limits.iter().for_each(|limits| sizes.limits(limits));
    sizes.machines(layout);
    sizes.ends(layout);
    for circuit in &layout.circuits {
        let runs = circuit.suction.iter().map(|run| ("suction", run)).chain(circuit.discharge.iter().map(|run| ("discharge", run)));
        circuit.loss_factor.iter().for_each(|&factor| sizes.number(&format!("circuits/{}", circuit.id), "loss factor", factor, 0.1..=10.0));
        runs.for_each(|(side, run)| sizes.run(&format!("circuits/{}/{side}/{}", circuit.id, run.id), run));
    }
    for sequence in &layout.sequences {
        sequence.drives.iter().for_each(|drive| sizes.drive(&format!("sequences/{}/drives/{}", sequence.id, drive.drum), drive));
    }
    sizes.joints(layout);
    sizes.wishes(layout);
    sizes.found
}

#[derive(Default)]
struct Sizes {
    found: Vec<Finding>,
}

impl Sizes {
    fn quantity<K: Kind>(&mut self, part: &str, name: &str, quantity: &Quantity<K>, range: RangeInclusive<f64>) {
        if !range.contains(&quantity.si()) {
            let unit = K::UNITS[0].name;
            let why = format!("from {} to {} {unit} can be", range.start(), range.end());
            self.found.push(
                fault("bad-size", part.into(), format!("its {name} is {}", quantity.text()), &why, "correct the number or its unit")
                    .blocking(),
            );
        }
    }

    fn number(&mut self, part: &str, name: &str, number: f64, range: RangeInclusive<f64>) {
        if !range.contains(&number) {
            let why = format!("from {} to {} can be", range.start(), range.end());
            self.found.push(fault("bad-size", part.into(), format!("its {name} is {number}"), &why, "correct the number").blocking());
        }
    }

    fn point(&mut self, part: &str, name: &str, point: &Point, range: RangeInclusive<f64>) {
        for (axis, length) in [("x", &point.0), ("y", &point.1), ("z", &point.2)] {
            self.quantity(part, &format!("{name} along {axis}"), length, range.clone());
        }
    }

    fn lengths(&mut self, part: &str, lengths: &[(&str, &Length)], range: RangeInclusive<f64>) {
        lengths.iter().for_each(|(name, length)| self.quantity(part, name, length, range.clone()));
    }

    fn tank(&mut self, layout: &Layout) {
        let tank = &layout.tank;
        self.lengths("tank", &[("length", &tank.length), ("width", &tank.width), ("height", &tank.height)], 0.05..=30.0);
        self.quantity("tank", "water level", &tank.water_level, 0.01..=30.0);
        for name in crate::layout::PanelName::ALL {
            self.quantity(&format!("tank/panels/{}", name.word()), "thickness", &tank.panels.get(name).thickness, 1e-3..=0.5);
        }
        for bar in &tank.bracing {
            self.point(&format!("tank/bracing/{}", bar.id), "corner", &bar.from, PLACE);
            self.point(&format!("tank/bracing/{}", bar.id), "corner", &bar.to, PLACE);
        }
        self.water(layout);
        if tank.water_level.si() > tank.height.si() {
            let what = format!("the water level {} is over the rim at {}", tank.water_level.text(), tank.height.text());
            self.found.push(fault("over-the-rim", "tank".into(), what, "the tank would spill", "lower the water level").blocking());
        }
    }

    fn water(&mut self, layout: &Layout) {
        let water = &layout.water;
        self.quantity("water", "temperature", &water.temperature, 250.0..=400.0);
        self.quantity("water", "salinity", &water.salinity, 0.0..=300.0);
        if !(273.15..=313.15).contains(&water.temperature.si()) || !(0.0..=42.0).contains(&water.salinity.si()) {
            let what = format!("{} and {} are outside the range of the formulas", water.temperature.text(), water.salinity.text());
            let why = "density and viscosity hold from 0 to 40 C and 0 to 42 ppt; the nearest of those is computed with";
            self.found.push(caution("water-range", "water".into(), what, why, "check the unit"));
        }
        let Some(sand) = &layout.sand else { return };
        self.quantity("sand", "depth", &sand.depth, 0.0..=30.0);
        self.quantity("sand", "grain", &sand.grain, 1e-6..=0.1);
        if sand.depth.si() >= layout.tank.water_level.si() {
            let what = format!("the sand is {} deep, the water {}", sand.depth.text(), layout.tank.water_level.text());
            self.found.push(fault("no-water", "sand".into(), what, "no open water is left", "make the bed thinner").blocking());
        }
    }

    fn rock(&mut self, rock: &Rock) {
        let part = format!("rocks/{}", rock.id);
        self.point(&part, "place", &rock.at, PLACE);
        let turn = &rock.turn;
        [("yaw", &turn.yaw), ("pitch", &turn.pitch), ("roll", &turn.roll)]
            .iter()
            .for_each(|(name, angle)| self.quantity(&part, name, angle, -100.0..=100.0));
        if let Some(porous) = &rock.porous {
            self.number(&part, "porosity", porous.porosity, 0.05..=0.95);
            self.quantity(&part, "grain", &porous.grain, 1e-4..=1.0);
        }
        match &rock.shape {
            Shape::Ellipsoid { size } | Shape::Box { size } => self.point(&part, "size", size, PART),
            Shape::Cylinder { diameter, height } => self.lengths(&part, &[("diameter", diameter), ("height", height)], PART),
            Shape::Arch { span, height, depth, thickness } => {
                self.lengths(&part, &[("span", span), ("height", height), ("depth", depth), ("thickness", thickness)], PART);
                if 2.0 * thickness.si() >= span.si() || thickness.si() >= height.si() {
                    let what = format!("the arch is {} thick over a span of {}", thickness.text(), span.text());
                    self.found.push(caution(
                        "closed-arch",
                        part,
                        what,
                        "no opening is left under it",
                        "make it thinner or wider, or use a box",
                    ));
                }
            }
            Shape::Shelf { length, depth, thickness } => {
                self.lengths(&part, &[("length", length), ("depth", depth), ("thickness", thickness)], PART);
            }
            Shape::Pile { length, depth, height, boulders, count, .. } => {
                let sizes = [
                    ("length", length),
                    ("depth", depth),
                    ("height", height),
                    ("smallest boulder", &boulders.0),
                    ("largest boulder", &boulders.1),
                ];
                self.lengths(&part, &sizes, PART);
                self.number(&part, "count of boulders", f64::from(*count), 0.0..=f64::from(MOST_BOULDERS));
            }
            Shape::Scan { file, unit, scan, .. } => {
                self.quantity(&part, "unit", unit, 1e-6..=10.0);
                self.scan(part, file, unit.si(), scan);
            }
        }
    }

    /// The file was read, is of a size that makes sense, and is whole.
    fn scan(&mut self, part: String, file: &str, unit: f64, scan: &Scan) {
        let Some(field) = &scan.field else {
            let why = scan.problem.as_deref().unwrap_or("it was not looked for: the layout did not come from a file");
            let what = format!("its mesh file `{file}` could not be read: {why}");
            let mend = "put the file there, or take the rock out";
            self.found.push(fault("scan-missing", part, what, "the rock would be missing from the water", mend).blocking());
            return;
        };
        let largest = field.size().max_element() * unit;
        if !(0.01..=20.0).contains(&largest) {
            let what = format!("with this unit of its file it is {largest:.3} m large");
            self.found.push(caution(
                "scan-size",
                part.clone(),
                what,
                "files don't say their unit",
                "set `unit` to what one unit of the file is",
            ));
        }
        if field.open > 0.02 {
            let what = format!("its mesh has holes: about {:.0} % of it is open", field.open * 100.0);
            let why = "inside and outside are told apart by how far the mesh winds round a place; a large hole is closed roughly";
            self.found.push(Finding::new(Grade::Note, "scan-open", part, what, why, "close the mesh where its shape matters"));
        }
    }

    fn boxes(&mut self, layout: &Layout) {
        for overflow in &layout.overflows {
            let part = format!("overflows/{}", overflow.id);
            let corners = [
                ("corner x", &overflow.from.0),
                ("corner y", &overflow.from.1),
                ("corner x", &overflow.to.0),
                ("corner y", &overflow.to.1),
            ];
            self.lengths(&part, &corners, PLACE);
            self.lengths(&part, &[("crest", &overflow.crest), ("lip", &overflow.lip)], PART);
            self.number(&part, "open share of the lip", overflow.open, 0.01..=1.0);
            for drain in &overflow.drains {
                let lengths = [("drop", &drain.drop), ("length", &drain.length)];
                let depth = drain.depth.iter().map(|depth| ("depth over its mouth", depth));
                let lengths: Vec<_> = lengths.into_iter().chain(depth).collect();
                self.lengths(&format!("{part}/drains/{}", drain.id), &lengths, 0.0..=1000.0);
            }
        }
        if let Some(sump) = &layout.sump {
            self.quantity("sump", "level", &sump.level, PLACE);
            self.quantity("sump", "free volume", &sump.free_volume, 0.0..=1000.0);
            sump.suction_depth.iter().for_each(|depth| self.quantity("sump", "suction depth", depth, 0.0..=30.0));
        }
    }

    fn limits(&mut self, own: &Limits) {
        let speeds = [
            ("suction velocity", &own.suction_velocity),
            ("pressure velocity", &own.pressure_velocity),
            ("speed through screens", &own.screen_through),
            ("speed towards screens", &own.screen_approach),
        ];
        for (name, speed) in speeds {
            speed.iter().for_each(|speed| self.quantity("limits", name, speed, 1e-3..=30.0));
        }
        own.weir_head.iter().for_each(|head| self.quantity("limits", "weir head", head, 1e-3..=1.0));
        own.freeboard.iter().for_each(|height| self.quantity("limits", "freeboard", height, 0.0..=1.0));
        own.sump_share.iter().for_each(|share| self.number("limits", "share of the sump", *share, 0.0..=1.0));
    }

    fn machines(&mut self, layout: &Layout) {
        for pump in &layout.pumps {
            let part = format!("pumps/{}", pump.id);
            self.number(&part, "speed", pump.speed, 0.0..=2.0);
            pump.head_factor.iter().for_each(|&factor| self.number(&part, "head factor", factor, 0.1..=10.0));
            for step in &pump.programme {
                self.number(&part, "programmed speed", step.speed, 0.0..=2.0);
                self.quantity(&part, "programme step", &step.from, 0.0..=DAY);
            }
            pump.curve.iter().for_each(|point| self.curve_point(&part, point));
            pump.power.iter().for_each(|power| self.quantity(&part, "power", power, 0.0..=1e6));
            pump.npsh_required.iter().for_each(|head| self.quantity(&part, "NPSH", head, 0.0..=100.0));
        }
        for drum in &layout.drums {
            let part = format!("drums/{}", drum.id);
            self.number(&part, "number of outlets", f64::from(drum.outlets), 1.0..=24.0);
            self.quantity(&part, "bore", &drum.bore, BORE);
            self.quantity(&part, "port arc", &drum.port_arc, 1e-3..=6.3);
            self.number(&part, "body K", drum.body_k, 0.0..=1e4);
            self.number(&part, "leakage", drum.leakage, 0.0..=0.99);
            for window in &drum.windows {
                self.quantity(&part, "window centre", &window.centre, -100.0..=100.0);
                self.quantity(&part, "window arc", &window.arc, 0.0..=6.3);
            }
        }
    }

    fn curve_point(&mut self, part: &str, point: &CurvePoint) {
        self.quantity(part, "curve flow", &point.flow, FLOW);
        self.quantity(part, "curve head", &point.head, 0.0..=1000.0);
    }

    fn ends(&mut self, layout: &Layout) {
        for nozzle in &layout.nozzles {
            let part = format!("nozzles/{}", nozzle.id);
            self.mount(&part, &nozzle.mount);
            self.supply(&part, &nozzle.supply);
            self.quantity(&part, "bore", &nozzle.bore, BORE);
            match &nozzle.kind {
                NozzleKind::FlatFan { width } => self.quantity(&part, "width", width, BORE),
                NozzleKind::TwinWye { spread } => self.quantity(&part, "spread", spread, 0.0..=6.3),
                NozzleKind::Eductor { ratio } => self.number(&part, "ratio", *ratio, 1.0..=20.0),
                NozzleKind::Plain | NozzleKind::Reducing | NozzleKind::BallHose => {}
            }
        }
        for intake in &layout.intakes {
            let part = format!("intakes/{}", intake.id);
            self.mount(&part, &intake.mount);
            self.supply(&part, &intake.supply);
            self.quantity(&part, "bore", &intake.bore, BORE);
            let Some(screen) = &intake.screen else { continue };
            self.number(&part, "hidden share", screen.hidden, 0.0..=0.99);
            self.number(&part, "blocked share", screen.blocked, 0.0..=1.0);
            self.number(&part, "open share of the screen", screen.open, 0.01..=1.0);
            match &screen.face {
                Face::Round(diameter) => self.quantity(&part, "screen diameter", diameter, PART),
                Face::Rectangle(width, height) => self.lengths(&part, &[("screen width", width), ("screen height", height)], PART),
            }
        }
        for propeller in &layout.propellers {
            let part = format!("propellers/{}", propeller.id);
            self.point(&part, "place", &propeller.at, PLACE);
            self.quantity(&part, "bore", &propeller.bore, BORE);
            match &propeller.output {
                PropellerOutput::Flow(flow) => self.quantity(&part, "flow", flow, FLOW),
                PropellerOutput::Thrust(force) => self.quantity(&part, "thrust", force, 0.0..=1e4),
                PropellerOutput::Speed(speed) => self.quantity(&part, "speed", speed, 0.0..=30.0),
            }
        }
    }

    fn mount(&mut self, part: &str, mount: &Mount) {
        match mount {
            Mount::PipeEnd(point) => self.point(part, "place", point, PLACE),
            Mount::Hole { along, up, drill, .. } => {
                self.lengths(part, &[("place along the panel", along), ("place up the panel", up)], PLACE);
                drill.iter().for_each(|drill| self.quantity(part, "drill", drill, BORE));
            }
        }
    }

    fn joints(&mut self, layout: &Layout) {
        for joint in &layout.joints {
            let part = format!("joints/{}", joint.id);
            match &joint.form {
                JointForm::Wye { angle, .. } => self.quantity(&part, "angle", angle, 0.5..=1.1),
                JointForm::Manifold { spacing, .. } => self.quantity(&part, "spacing", spacing, 0.0..=30.0),
                JointForm::Tee { .. } | JointForm::Cross { .. } => {}
            }
        }
        if let Roughness::Grain(grain) = &layout.pipes.roughness {
            self.quantity("pipes", "roughness", grain, 0.0..=5e-3);
        }
    }

    fn supply(&mut self, part: &str, supply: &Supply) {
        if let Supply::Fixed(flow) = supply {
            self.quantity(part, "fixed flow", flow, FLOW);
        }
    }

    fn run(&mut self, part: &str, run: &Run) {
        self.quantity(part, "length", &run.length, 0.0..=1000.0);
        for fitting in &run.fittings {
            self.number(part, &format!("opening of the {}", fitting.part), fitting.opening, 0.0..=1.0);
            self.number(part, &format!("count of {}", fitting.part), f64::from(fitting.count), 0.0..=1000.0);
            fitting.k.iter().for_each(|&k| self.number(part, &format!("k of the {}", fitting.part), k, 0.0..=1e6));
            fitting.curve.iter().for_each(|point| self.curve_point(part, point));
            if let CheckState::Leaks(flow) = &fitting.check {
                self.quantity(part, &format!("leak of the {}", fitting.part), flow, FLOW);
            }
        }
    }

    fn drive(&mut self, part: &str, drive: &Drive) {
        self.quantity(part, "phase", &drive.phase, -1e6..=1e6);
        self.number(part, "slip", drive.slip, 0.0..=1.0);
        match &drive.motion {
            Motion::Turning { period } => self.quantity(part, "period", period, 0.1..=1e6),
            Motion::Held { turn } => self.number(part, "turn", *turn, 0.0..=1.0),
            Motion::Steps(steps) => {
                for step in steps {
                    self.quantity(part, "dwell", &step.dwell, TIME);
                    self.quantity(part, "change-over", &step.change_over, TIME);
                }
                let total: f64 = steps.iter().map(|step| step.dwell.si() + step.change_over.si()).sum();
                self.number(part, "cycle in seconds", total, 0.1..=1e6);
            }
        }
    }

    fn wishes(&mut self, layout: &Layout) {
        for (low, high) in [&layout.bands.gentle, &layout.bands.moderate, &layout.bands.strong] {
            self.band("bands", (low.si(), high.si()));
        }
        for colony in &layout.colonies {
            let part = format!("colonies/{}", colony.id);
            self.point(&part, "place", &colony.at, PLACE);
            self.quantity(&part, "size", &colony.size, PART);
            self.band(&part, colony.want.band(&layout.bands));
            if let Some(grown) = &colony.grown {
                self.quantity(&part, "thickness of branches", &grown.branch, 1e-4..=0.5);
                self.quantity(&part, "spacing of branches", &grown.spacing, grown.branch.si().max(1e-4)..=1.0);
            }
        }
        for zone in &layout.zones {
            let part = format!("zones/{}", zone.id);
            self.point(&part, "corner", &zone.from, PLACE);
            self.point(&part, "corner", &zone.to, PLACE);
            self.band(&part, zone.want.band(&layout.bands));
        }
        layout.probes.iter().for_each(|probe| self.point(&format!("probes/{}", probe.id), "place", &probe.at, PLACE));
    }

    fn band(&mut self, part: &str, (low, high): (f64, f64)) {
        self.number(part, "lowest wanted speed in m/s", low, 0.0..=10.0);
        self.number(part, "highest wanted speed in m/s", high, low.max(0.0)..=10.0);
    }
}
