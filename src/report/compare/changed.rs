//! What was changed from one layout to another, in a reader's words and units: one line a part.

use crate::finding;
use crate::layout::changes::{FieldChange, changes};
use crate::layout::{Aim, Layout, Mount, Point};
use crate::study::compare::Case;
use crate::units::{AngleKind, Display, FlowKind, ForceKind, HeadKind, Kind, LengthKind, PressureKind, Quantity, SpeedKind, show};
use glam::DVec3;

/// Shorter ways than this are no move, m; smaller turns than this no turn, radians.
const STILL: (f64, f64) = (0.5e-3, 0.5 / 180.0 * std::f64::consts::PI);
/// Lengths under this are told with all their digits, m: grains of sand.
const SMALL: f64 = 0.01;
/// Fields inside fields that say nothing to a reader.
const UNSAID: [&str; 7] = ["hole", "motion", "turning", "drives", "angles", "suction", "discharge"];

/// What was changed from the first case to another, or why that isn't known.
pub fn of_case(cases: &[Case], index: usize) -> Vec<String> {
    let layout = |index: usize| cases.get(index).and_then(|case| case.layout.as_ref());
    let Some((before, after)) = layout(0).zip(layout(index)) else {
        return vec!["The layout of one of the two was not saved with it: what was changed can't be told.".to_owned()];
    };
    let told = lines(before, after, before.display);
    if told.is_empty() { vec!["Nothing: the layouts are the same.".to_owned()] } else { told }
}

/// A line for each part that differs; none when nothing does.
pub fn lines(before: &Layout, after: &Layout, display: Display) -> Vec<String> {
    let found = changes(before, after);
    let told = Told { before, after, display };
    found.chunk_by(|a, b| a.part == b.part && !a.part.is_empty()).map(|of_part| told.line(of_part)).collect()
}

#[derive(Clone, Copy)]
struct Told<'a> {
    before: &'a Layout,
    after: &'a Layout,
    display: Display,
}

/// Where a part is, how it is held and where it points.
struct Stand {
    at: DVec3,
    mount: Option<Mount>,
    aim: Option<DVec3>,
    yaw: Option<f64>,
}

impl Told<'_> {
    fn line(self, fields: &[FieldChange]) -> String {
        let path: Vec<&str> = fields[0].part.split('/').filter(|word| !UNSAID.contains(word)).collect();
        let who = if path == [""] { String::new() } else { format!("{}: ", finding::part(&path.join("/"))) };
        match (&fields[0].before, &fields[0].after, fields[0].field.is_empty()) {
            (None, _, true) => return format!("{who}added"),
            (_, None, true) => return format!("{who}taken away"),
            _ => {}
        }
        let (mut said, mut left) = (Vec::new(), fields.to_vec());
        if let (Some(was), Some(is)) = (stand(self.before, &fields[0].part), stand(self.after, &fields[0].part)) {
            self.place(&was, &is, &mut left, &mut said);
            aim(&was, &is, &mut left, &mut said);
        }
        said.extend(left.iter().map(|change| self.field(change)));
        format!("{who}{}", said.join("; "))
    }

    /// How far it was moved, or what it goes through now.
    fn place(self, was: &Stand, is: &Stand, left: &mut Vec<FieldChange>, said: &mut Vec<String>) {
        let of_place =
            |change: &FieldChange| change.field == "at" || change.field.starts_with("mount") && !change.field.ends_with("/drill");
        if !take(left, of_place) {
            return;
        }
        let held = |stand: &Stand| stand.mount.as_ref().map(|mount| mount.panel());
        if held(was) != held(is) {
            said.push(match held(is).flatten() {
                Some(panel) => format!("now through the {} panel", panel.word()),
                None => "now on a pipe's end".to_owned(),
            });
        } else {
            said.push(self.way(is.at - was.at));
        }
    }

    fn way(self, by: DVec3) -> String {
        let axes = [(by.x, ["left", "right"]), (by.y, ["toward the front", "toward the back"]), (by.z, ["down", "up"])];
        let ways: Vec<String> = axes
            .into_iter()
            .filter(|(by, _)| by.abs() >= STILL.0)
            .map(|(by, ways)| format!("{} {}", show::<LengthKind>(by.abs(), self.display), ways[usize::from(by > 0.0)]))
            .collect();
        if ways.is_empty() { "moved by a hair".to_owned() } else { format!("moved {}", ways.join(", ")) }
    }

    fn field(self, change: &FieldChange) -> String {
        let (mut words, mut after) = (Vec::new(), "");
        for word in change.field.split('/') {
            match (word.parse::<usize>(), after) {
                (Ok(number), "drives") => words.push(self.drum(&change.part, number)),
                (Ok(number), many) => words.push(format!("{} {number}", words_of(many.trim_end_matches('s')))),
                (Err(_), "shape") => {}
                _ if UNSAID.contains(&word) || is_list(&change.field, word) || word == "shape" => {}
                _ => words.push(words_of(word)),
            }
            after = word;
        }
        let name = words.join(", ");
        let [before, after] = self.values(&name, &change.before, &change.after);
        format!("{name} {before} → {after}")
    }

    /// The unit that a sequence's drive of this number turns.
    fn drum(self, part: &str, number: usize) -> String {
        let sequence = part.rsplit('/').next().and_then(|id| self.after.sequences.iter().find(|s| s.id == id));
        sequence.and_then(|s| s.drives.get(number - 1)).map_or_else(|| format!("drum unit {number}"), |drive| drive.drum.clone())
    }

    fn values(self, name: &str, before: &Option<String>, after: &Option<String>) -> [String; 2] {
        let of = |exact: bool| {
            [before, after].map(|text| text.as_deref().map_or_else(|| "none".to_owned(), |text| value(name, text, self.display, exact)))
        };
        let rounded = of(false);
        if rounded[0] == rounded[1] { of(true) } else { rounded }
    }
}

/// Takes out what is told otherwise; whether there was any.
fn take(left: &mut Vec<FieldChange>, is_told: impl Fn(&FieldChange) -> bool) -> bool {
    let before = left.len();
    left.retain(|change| !is_told(change));
    left.len() < before
}

/// How a jet or a rock was turned, as seen from the front of the tank and from above.
fn aim(was: &Stand, is: &Stand, left: &mut Vec<FieldChange>, said: &mut Vec<String>) {
    if let (Some(was), Some(is)) = (was.aim, is.aim)
        && take(left, |change| change.field.starts_with("aim"))
    {
        said.push(turned(was, is));
    }
    if let (Some(was), Some(is)) = (was.yaw, is.yaw)
        && take(left, |change| change.field == "turn/yaw")
    {
        let by = within_half_a_turn(is - was);
        let way = if by > 0.0 { "anticlockwise" } else { "clockwise" };
        said.push(format!("turned {} {way}, seen from above", degrees(by)));
    }
}

fn turned(was: DVec3, is: DVec3) -> String {
    let round = within_half_a_turn(is.y.atan2(is.x) - was.y.atan2(was.x));
    let side = is.truncate().normalize_or_zero() - was.truncate().normalize_or_zero();
    let ways = if side.x.abs() >= side.y.abs() { ["to the left", "to the right"] } else { ["toward the front", "toward the back"] };
    let to = ways[usize::from(if side.x.abs() >= side.y.abs() { side.x > 0.0 } else { side.y > 0.0 })];
    let lift = is.z.clamp(-1.0, 1.0).asin() - was.z.clamp(-1.0, 1.0).asin();
    let turns = [(round, to), (lift, if lift > 0.0 { "up" } else { "down" })];
    let said: Vec<String> = turns.iter().filter(|(by, _)| by.abs() >= STILL.1).map(|(by, to)| format!("{} {to}", degrees(*by))).collect();
    if said.is_empty() { "aim turned by less than 1°".to_owned() } else { format!("aim turned {}", said.join(", ")) }
}

fn within_half_a_turn(angle: f64) -> f64 {
    let whole = std::f64::consts::TAU;
    (angle + whole / 2.0).rem_euclid(whole) - whole / 2.0
}

fn degrees(angle: f64) -> String {
    format!("{:.0}°", angle.to_degrees().abs())
}

fn stand(layout: &Layout, part: &str) -> Option<Stand> {
    let (list, id) = part.split_once('/')?;
    let size = layout.tank.size();
    let held = |mount: &Mount, aim: Option<&Aim>| {
        let at = mount.centre(size);
        Stand { at, mount: Some(mount.clone()), aim: aim.map(|aim| aim.direction(at)), yaw: None }
    };
    let free = |at: &Point, aim: Option<&Aim>, yaw: Option<f64>| {
        let at = at.metres();
        Stand { at, mount: None, aim: aim.map(|aim| aim.direction(at)), yaw }
    };
    match list {
        "nozzles" => layout.nozzles.iter().find(|part| part.id == id).map(|part| held(&part.mount, Some(&part.aim))),
        "intakes" => layout.intakes.iter().find(|part| part.id == id).map(|part| held(&part.mount, None)),
        "propellers" => layout.propellers.iter().find(|part| part.id == id).map(|part| free(&part.at, Some(&part.aim), None)),
        "rocks" => layout.rocks.iter().find(|part| part.id == id).map(|part| free(&part.at, None, Some(part.turn.yaw.si()))),
        "colonies" => layout.colonies.iter().find(|part| part.id == id).map(|part| free(&part.at, None, None)),
        _ => None,
    }
}

fn words_of(field: &str) -> String {
    field.replace('_', " ")
}

/// A number follows, which is said with it.
fn is_list(field: &str, word: &str) -> bool {
    let mut words = field.split('/').skip_while(|w| *w != word);
    words.nth(1).is_some_and(|next| next.parse::<usize>().is_ok())
}

/// As written in the file, in the reader's units; `exact`: with all its digits.
fn value(name: &str, text: &str, display: Display, exact: bool) -> String {
    if let Some(inner) = text.strip_prefix('(').and_then(|text| text.strip_suffix(')')) {
        let each: Vec<String> = inner.split(", ").map(|text| value(name, text, display, exact)).collect();
        return each.join(if name.contains("size") { " × " } else { ", " });
    }
    match text {
        "true" => return "yes".to_owned(),
        "false" => return "no".to_owned(),
        _ => {}
    }
    if let (Ok(share), "speed" | "open") = (text.parse::<f64>(), name.rsplit(", ").next().unwrap_or(name)) {
        return format!("{:.0} %", 100.0 * share);
    }
    let is_head = name.ends_with("head");
    quantity(text, display, exact, is_head).unwrap_or_else(|| words_of(text))
}

fn quantity(text: &str, display: Display, exact: bool, is_head: bool) -> Option<String> {
    fn of<K: Kind>(text: &str, display: Display, exact: bool) -> Option<String> {
        let quantity: Quantity<K> = text.parse().ok()?;
        let exact = exact || K::NAME == LengthKind::NAME && quantity.si().abs() < SMALL;
        Some(if exact { Quantity::<K>::from_si(quantity.si(), display).text().to_owned() } else { quantity.show(display) })
    }
    let kinds = [of::<HeadKind>, of::<LengthKind>, of::<FlowKind>, of::<SpeedKind>, of::<AngleKind>, of::<ForceKind>, of::<PressureKind>];
    // A pipe's name begins like a length.
    let is_plain = text.split(' ').count() <= 2 && !text.contains(',');
    kinds
        .iter()
        .skip(usize::from(!is_head))
        .filter(|_| is_plain)
        .find_map(|read| read(text, display, exact))
        .map(|text| text.replace(" deg", "°"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{PanelName, demo};
    use crate::units::{Angle, Length};

    fn told(display: Display, change: impl FnOnce(&mut Layout)) -> Vec<String> {
        let mut after = demo();
        change(&mut after);
        lines(&demo(), &after, display)
    }

    fn angles(azimuth: f64, elevation: f64) -> Aim {
        Aim::Angles { azimuth: Angle::new(azimuth, "deg"), elevation: Angle::new(elevation, "deg") }
    }

    #[test]
    fn turns_are_told_as_seen_from_the_front() {
        let direction = |azimuth, elevation| angles(azimuth, elevation).direction(DVec3::ZERO);
        let cases = [
            // From the back panel toward the viewer, then to the viewer's right, and the short way round past half a turn.
            ((-90.0, 0.0), (-66.0, -10.0), "aim turned 24° to the right, 10° down"),
            ((-170.0, 5.0), (170.0, 5.0), "aim turned 20° toward the back"),
            ((0.0, 0.0), (-30.0, 12.0), "aim turned 30° toward the front, 12° up"),
            ((0.0, 0.0), (0.3, 0.0), "aim turned by less than 1°"),
        ];
        for ((a, e), (b, f), wanted) in cases {
            assert_eq!(turned(direction(a, e), direction(b, f)), wanted);
        }
    }

    #[test]
    fn a_part_has_one_line_in_the_readers_units() {
        let hole = |along: &str, up: &str| Mount::Hole {
            panel: PanelName::Right,
            along: along.parse().unwrap(),
            up: up.parse().unwrap(),
            drill: None,
        };
        let (mut before, mut after) = (demo(), demo());
        (before.nozzles[0].mount, before.nozzles[0].aim) = (hole("180 mm", "600 mm"), angles(180.0, 0.0));
        (after.nozzles[0].mount, after.nozzles[0].aim) = (hole("300 mm", "560 mm"), angles(150.0, 0.0));
        after.nozzles[0].bore = Length::new(2.0, "in");
        before.nozzles[0].bore = Length::new(1.5, "in");
        let id = &before.nozzles[0].id;
        let told = |display| lines(&before, &after, display);
        let metric = format!("nozzle {id}: moved 120 mm toward the back, 40 mm down; aim turned 30° toward the back; bore 38 mm → 51 mm");
        assert_eq!(told(Display::Metric), [metric]);
        assert!(told(Display::Us)[0].contains("moved 4.72 in toward the back, 1.57 in down"));
    }

    #[test]
    fn the_rest_reads_without_the_files_words() {
        let metric = |change: &dyn Fn(&mut Layout)| told(Display::Metric, |layout| change(layout));
        let pump = demo().pumps[0].id.clone();
        let [level, id] = [demo().tank.water_level.show(Display::Metric), demo().nozzles[1].id.clone()];
        assert_eq!(metric(&|l| l.tank.water_level = Length::new(20.0, "in")), [format!("tank, water level {level} → 508 mm")]);
        assert_eq!(metric(&|l| drop(l.nozzles.remove(1))), [format!("nozzle {id}: taken away")]);
        assert_eq!(metric(&|l| l.pumps[0].speed = 0.5), [format!("{}: speed 100 % → 50 %", finding::part(&format!("pumps/{pump}")))]);
        let turned = metric(&|l| l.rocks[0].turn.yaw = Angle::from_si(l.rocks[0].turn.yaw.si() - 0.5, Display::Metric));
        assert!(turned[0].ends_with("turned 29° clockwise, seen from above"), "{turned:?}");
        assert_eq!(metric(&|_| {}), Vec::<String>::new());
    }

    #[test]
    fn a_sequence_names_its_units() {
        let (mut after, mut drive) = (demo(), 0);
        for (index, each) in after.sequences[0].drives.iter_mut().enumerate() {
            if let crate::layout::Motion::Turning { period } = &mut each.motion {
                (*period, drive) = ("90 s".parse().unwrap(), index);
            }
        }
        let told = lines(&demo(), &after, Display::Metric);
        let unit = &after.sequences[0].drives[drive].drum;
        assert!(told[0].contains(&format!("{unit}, period")) && told[0].ends_with("→ 90 s"), "{told:?}");
    }
}
