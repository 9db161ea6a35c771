//! Numbers as a report shows them: in the reader's units, short enough for a table.

use crate::study::record::Range;
use crate::units::{AreaKind, Display, Kind, TankSpeedKind};

pub use crate::finding::part;

/// What stands where there is no number.
pub const NOTHING: &str = "—";

/// Name of the unit that a kind of quantity is shown in.
pub fn unit<K: Kind>(display: Display) -> &'static str {
    form::<K>(display).0
}

/// How many SI units are in one of the units that a kind of quantity is shown in.
pub fn scale<K: Kind>(display: Display) -> f64 {
    let name = unit::<K>(display);
    K::UNITS.iter().find(|u| u.name == name).map_or(1.0, |u| u.scale)
}

/// An SI number of kind `K` without its unit, for a column whose heading names it.
pub fn number<K: Kind>(si: f64, display: Display) -> String {
    let (name, digits) = form::<K>(display);
    let unit = K::UNITS.iter().find(|u| u.name == name).unwrap_or(&K::UNITS[0]);
    plain((si - unit.offset) / unit.scale, digits)
}

/// Least to most without the unit; one number when they would read the same.
pub fn span<K: Kind>(range: &Range, display: Display) -> String {
    let (least, most) = (number::<K>(range.min, display), number::<K>(range.max, display));
    let steady = (range.max - range.min).abs() <= 0.005 * range.max.abs();
    if steady || least == most { most } else { format!("{least}–{most}") }
}

/// Today's date by this machine's clock and time zone.
pub fn today() -> String {
    chrono::Local::now().format("%Y-%m-%d").to_string()
}

fn form<K: Kind>(display: Display) -> (&'static str, usize) {
    match display {
        Display::Us => K::US,
        Display::Metric => K::METRIC,
    }
}

fn plain(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return NOTHING.to_owned();
    }
    let text = format!("{value:.digits$}");
    let is_zero = text.trim_start_matches('-').chars().all(|c| matches!(c, '0' | '.'));
    if is_zero { text.trim_start_matches('-').to_owned() } else { text }
}

/// Unit for the slow water in a tank: inches per second or centimetres per second; pipes and screens have their own.
pub fn tank_speed_unit(display: Display) -> &'static str {
    unit::<TankSpeedKind>(display)
}

/// A speed of water in the tank without its unit.
pub fn tank_speed_number(metres_per_second: f64, display: Display) -> String {
    number::<TankSpeedKind>(metres_per_second, display)
}

/// A speed of water in the tank: "2.0 cm/s", "0.79 in/s".
pub fn tank_speed(metres_per_second: f64, display: Display) -> String {
    format!("{} {}", tank_speed_number(metres_per_second, display), tank_speed_unit(display))
}

/// An area: "340 cm²", "52.7 in²".
pub fn area(square_metres: f64, display: Display) -> String {
    format!("{} {}", number::<AreaKind>(square_metres, display), unit::<AreaKind>(display))
}

/// There is something to do: not only "nothing to mend".
pub fn is_mend(text: &str) -> bool {
    !text.is_empty() && !text.trim_end_matches('.').eq_ignore_ascii_case("nothing to mend")
}

/// A text as a sentence: a capital first letter and a full stop.
pub fn sentence(text: &str) -> String {
    let text = text.trim();
    let mut letters = text.chars();
    let start = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    let stop = if text.is_empty() || text.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{start}{}{stop}", letters.as_str())
}

/// Volumes of open water: "3.2 L", "1850 L", "0.8 gal", "488 gal".
pub fn volume(cubic_metres: f64, display: Display) -> String {
    let (name, scale) = match display {
        Display::Us => ("gal", 3.785_411_784e-3),
        Display::Metric => ("L", 1e-3),
    };
    let value = cubic_metres / scale;
    if 0.0 < value && value < 0.05 {
        return format!("under 0.1 {name}");
    }
    format!("{} {name}", plain(value, if value.abs() < 100.0 { 1 } else { 0 }))
}

/// A share as a percentage.
pub fn percent(share: f64) -> String {
    let value = 100.0 * share;
    if 0.0 < value && value < 0.05 {
        return "under 0.1 %".to_owned();
    }
    format!("{} %", plain(value, if value.abs() < 10.0 { 1 } else { 0 }))
}

/// A length of time: "45 s", "2 min 30 s", "1 h 5 min".
pub fn duration(seconds: f64) -> String {
    if !seconds.is_finite() {
        return NOTHING.to_owned();
    }
    if seconds < 60.0 {
        return format!("{} s", if seconds < 10.0 { trimmed(seconds, 2) } else { trimmed(seconds, 1) });
    }
    let whole = seconds.round() as u64;
    let (hours, minutes, rest) = (whole / 3600, whole / 60 % 60, whole % 60);
    match (hours, minutes, rest) {
        (0, m, 0) => format!("{m} min"),
        (0, m, s) => format!("{m} min {s} s"),
        (h, 0, _) => format!("{h} h"),
        (h, m, _) => format!("{h} h {m} min"),
    }
}

/// A number with up to `digits` digits after the point, without trailing zeros.
pub fn trimmed(value: f64, digits: usize) -> String {
    let text = plain(value, digits);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// "1 fault", "3 faults".
pub fn count(n: usize, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
}

/// A big whole number in groups of three: "1 234 567".
pub fn grouped(n: usize) -> String {
    let digits = n.to_string();
    let groups: Vec<&str> = digits.as_bytes().rchunks(3).rev().map(|g| std::str::from_utf8(g).unwrap_or_default()).collect();
    groups.join(" ")
}

/// A name cut to at most `most` characters, with an ellipsis in the middle: names often differ at their end.
pub fn shortened(name: &str, most: usize) -> String {
    if name.chars().count() <= most {
        return name.to_owned();
    }
    let letters: Vec<char> = name.chars().collect();
    let tail = most.saturating_sub(1) / 2;
    let head: String = letters[..most.saturating_sub(1) - tail].iter().collect();
    let tail: String = letters[letters.len() - tail..].iter().collect();
    format!("{}…{}", head.trim_end(), tail.trim_start())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{FlowKind, SpeedKind};

    #[test]
    fn spans_collapse_when_steady() {
        let flow = |min, max| Range { min, mean: 0.5 * (min + max), max };
        assert_eq!(span::<FlowKind>(&flow(1e-3, 1e-3), Display::Metric), "3600");
        assert_eq!(span::<FlowKind>(&flow(1e-3, 2e-3), Display::Metric), "3600–7200");
        assert_eq!(span::<SpeedKind>(&flow(-0.0001, 0.3048), Display::Us), "0.00–1.00");
    }

    /// An inch is 2.54 cm.
    #[test]
    fn speeds_and_areas_follow_the_reader() {
        assert_eq!([tank_speed(0.0254, Display::Us), tank_speed(0.0254, Display::Metric)], ["1.00 in/s", "2.5 cm/s"]);
        assert_eq!([area(0.064516, Display::Us), area(0.034, Display::Metric)], ["100.0 in²", "340 cm²"]);
    }

    #[test]
    fn long_names_keep_both_ends() {
        assert_eq!([shortened("west front intake 2", 15), shortened("R1", 15), shortened("ab", 1)], ["west fr…ntake 2", "R1", "…"]);
    }

    #[test]
    fn shows_times_volumes_and_parts() {
        assert_eq!([duration(7.5), duration(90.0), duration(3600.0), duration(3900.0)], ["7.5 s", "1 min 30 s", "1 h", "1 h 5 min"]);
        assert_eq!([volume(0.0032, Display::Metric), volume(1.85, Display::Metric)], ["3.2 L", "1850 L"]);
        assert_eq!([volume(0.0, Display::Us), volume(1e-5, Display::Us)], ["0.0 gal", "under 0.1 gal"]);
        assert_eq!(
            [part("intakes/I2"), part("intakes/Intake 2"), part(""), part("drums/D1/outlets/2"), part("circuits/loop A/DA1")],
            ["intake I2", "Intake 2", "the layout", "drum unit D1, outlet 2", "circuit loop A, DA1"]
        );
        assert_eq!([percent(0.0), percent(0.0001), percent(0.031), percent(0.5)], ["0.0 %", "under 0.1 %", "3.1 %", "50 %"]);
        assert_eq!([grouped(5), grouped(1234), grouped(1234567)], ["5", "1 234", "1 234 567"]);
    }
}
