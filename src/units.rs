//! Quantities as people write them, SI inside.
//!
//! A [`Quantity`] keeps both: the SI number for the solvers and the text for the file, so that saving a
//! layout gives back what its author wrote. Parsing happens here and nowhere else; solvers see `f64` in SI.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::{cell::RefCell, fmt, marker::PhantomData, str::FromStr};

/// Which units a person wants to read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Display {
    /// Inches, feet, US gallons per hour, feet of head, °F.
    #[default]
    Us,
    /// Millimetres, metres, litres per hour, metres of head, °C.
    Metric,
}

/// One way to write a kind of quantity: SI = `scale` × number + `offset`.
#[derive(Debug, Clone, Copy)]
pub struct Unit {
    /// As written after the number.
    pub name: &'static str,
    /// SI units in one of these.
    pub scale: f64,
    /// Added after scaling (temperatures only).
    pub offset: f64,
}

const fn unit(name: &'static str, scale: f64) -> Unit {
    Unit { name, scale, offset: 0.0 }
}

/// A kind of quantity: its name for messages and the units it accepts.
pub trait Kind: 'static {
    /// For messages: "a length".
    const NAME: &'static str;
    /// Accepted units; the first is the SI one.
    const UNITS: &'static [Unit];
    /// Unit shown in US display, digits after the point.
    const US: (&'static str, usize);
    /// Unit shown in metric display, digits after the point.
    const METRIC: (&'static str, usize);
}

macro_rules! kind {
    ($(#[$doc:meta])* $kind:ident, $alias:ident, $name:literal, us $us:expr, metric $metric:expr, [$($unit:expr),+ $(,)?]) => {
        #[doc = concat!("Marker: ", $name, ".")]
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd)]
        pub enum $kind {}
        impl Kind for $kind {
            const NAME: &'static str = $name;
            const UNITS: &'static [Unit] = &[$($unit),+];
            const US: (&'static str, usize) = $us;
            const METRIC: (&'static str, usize) = $metric;
        }
        $(#[$doc])*
        pub type $alias = Quantity<$kind>;
    };
}

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const US_GALLON: f64 = 3.785_411_784e-3;
const POUND_FORCE_PER_SQUARE_INCH: f64 = 6_894.757_293_168;

kind!(/** A length; SI metres. */ LengthKind, Length, "a length", us ("in", 2), metric ("mm", 0),
    [unit("m", 1.0), unit("mm", 1e-3), unit("um", 1e-6), unit("µm", 1e-6), unit("cm", 1e-2), unit("in", INCH), unit("inch", INCH), unit("\"", INCH), unit("ft", FOOT), unit("'", FOOT)]);
kind!(/** A volume flow; SI cubic metres per second. */ FlowKind, VolumeFlow, "a flow", us ("gph", 0), metric ("L/h", 0),
    [unit("m3/s", 1.0), unit("m3/h", 1.0 / 3600.0), unit("L/s", 1e-3), unit("L/min", 1e-3 / 60.0), unit("lpm", 1e-3 / 60.0), unit("L/h", 1e-3 / 3600.0),
     unit("lph", 1e-3 / 3600.0), unit("gph", US_GALLON / 3600.0), unit("gal/h", US_GALLON / 3600.0), unit("gpm", US_GALLON / 60.0)]);
kind!(/** A head of the tank's own water; SI metres. */ HeadKind, Head, "a head", us ("ft", 1), metric ("m", 2),
    [unit("m", 1.0), unit("cm", 1e-2), unit("ft", FOOT), unit("in", INCH)]);
kind!(/** A speed; SI metres per second. */ SpeedKind, Speed, "a speed", us ("ft/s", 2), metric ("cm/s", 1),
    [unit("m/s", 1.0), unit("cm/s", 1e-2), unit("mm/s", 1e-3), unit("ft/s", FOOT), unit("in/s", INCH)]);
kind!(/** A speed of water in the tank, far slower than in pipes and screens; SI metres per second. */ TankSpeedKind, TankSpeed, "a speed", us ("in/s", 2), metric ("cm/s", 1),
    [unit("m/s", 1.0), unit("cm/s", 1e-2), unit("mm/s", 1e-3), unit("ft/s", FOOT), unit("in/s", INCH)]);
kind!(/** A length of time; SI seconds. */ TimeKind, Time, "a time", us ("s", 1), metric ("s", 1),
    [unit("s", 1.0), unit("ms", 1e-3), unit("min", 60.0), unit("h", 3600.0)]);
kind!(/** An angle; SI radians. */ AngleKind, Angle, "an angle", us ("deg", 0), metric ("deg", 0),
    [unit("rad", 1.0), unit("deg", std::f64::consts::PI / 180.0), unit("°", std::f64::consts::PI / 180.0)]);
kind!(/** A volume; SI cubic metres. */ VolumeKind, Volume, "a volume", us ("gal", 1), metric ("L", 1),
    [unit("m3", 1.0), unit("L", 1e-3), unit("mL", 1e-6), unit("gal", US_GALLON)]);
kind!(/** An area; SI square metres. */ AreaKind, Area, "an area", us ("in²", 1), metric ("cm²", 0),
    [unit("m2", 1.0), unit("cm²", 1e-4), unit("cm2", 1e-4), unit("in²", INCH * INCH), unit("in2", INCH * INCH)]);
kind!(/** A temperature; kelvins inside. */ TemperatureKind, Temperature, "a temperature", us ("F", 1), metric ("C", 1),
    [unit("K", 1.0), Unit { name: "C", scale: 1.0, offset: 273.15 }, Unit { name: "°C", scale: 1.0, offset: 273.15 },
     Unit { name: "F", scale: 5.0 / 9.0, offset: 273.15 - 32.0 * 5.0 / 9.0 }, Unit { name: "°F", scale: 5.0 / 9.0, offset: 273.15 - 32.0 * 5.0 / 9.0 }]);
kind!(/** A practical salinity; g of salt per kg of water. */ SalinityKind, Salinity, "a salinity", us ("ppt", 1), metric ("ppt", 1),
    [unit("g/kg", 1.0), unit("ppt", 1.0), unit("PSU", 1.0)]);
kind!(/** A force; SI newtons. */ ForceKind, Force, "a force", us ("lbf", 2), metric ("N", 1),
    [unit("N", 1.0), unit("lbf", 4.448_221_615_260_5), unit("gf", 9.80665e-3)]);
kind!(/** A pressure; SI pascals. */ PressureKind, Pressure, "a pressure", us ("psi", 1), metric ("kPa", 1),
    [unit("Pa", 1.0), unit("kPa", 1e3), unit("bar", 1e5), unit("psi", POUND_FORCE_PER_SQUARE_INCH)]);
kind!(/** An electric power; SI watts. */ PowerKind, Power, "a power", us ("W", 0), metric ("W", 0), [unit("W", 1.0), unit("kW", 1e3), unit("hp", 745.699_871_582_270_2)]);

/// A number with its unit as written, and the same in SI.
pub struct Quantity<K> {
    si: f64,
    text: String,
    kind: PhantomData<K>,
}

/// Why a text is not a quantity.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("`{text}` is not {kind}: {why}; write for instance {example}")]
pub struct UnitError {
    /// What stood there.
    pub text: String,
    /// What should stand there.
    pub kind: &'static str,
    /// What is wrong with it.
    pub why: String,
    /// One that would do.
    pub example: String,
}

impl<K: Kind> Quantity<K> {
    /// From a number and one of the kind's units, as a person would write it.
    ///
    /// # Panics
    /// When the kind has no such unit (a slip in our own code, not in a file).
    pub fn new(number: f64, unit: &str) -> Self {
        Self::checked(number, unit).unwrap_or_else(|| panic!("{} has no unit {unit}", K::NAME))
    }

    fn checked(number: f64, name: &str) -> Option<Self> {
        let unit = K::UNITS.iter().find(|u| u.name == name)?;
        Some(Self { si: number * unit.scale + unit.offset, text: format!("{} {name}", trim(number, 6)), kind: PhantomData })
    }

    /// From SI, written in the display's usual unit to five significant digits; what is written is also the value, so that a
    /// saved file gives it back.
    pub fn from_si(si: f64, display: Display) -> Self {
        let unit = shown_unit::<K>(display);
        let number = (si - unit.offset) / unit.scale;
        let digits = if number == 0.0 || !number.is_finite() { 0 } else { (4 - number.abs().log10().floor() as i32).clamp(0, 12) };
        let text = format!("{} {}", trim(number, digits as usize), unit.name);
        text.parse().unwrap_or(Self { si, text, kind: PhantomData })
    }

    /// The value in SI.
    pub fn si(&self) -> f64 {
        self.si
    }

    /// As written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The value in another of the kind's units.
    ///
    /// # Panics
    /// When the kind has no such unit.
    pub fn in_unit(&self, name: &str) -> f64 {
        let unit = K::UNITS.iter().find(|u| u.name == name).unwrap_or_else(|| panic!("{} has no unit {name}", K::NAME));
        (self.si - unit.offset) / unit.scale
    }

    /// For reading: "12.5 in" or "318 mm".
    pub fn show(&self, display: Display) -> String {
        show::<K>(self.si, display)
    }
}

/// An SI number of kind `K`, for reading.
pub fn show<K: Kind>(si: f64, display: Display) -> String {
    let unit = shown_unit::<K>(display);
    let digits = usual::<K>(display).1;
    let number = format!("{:.digits$}", (si - unit.offset) / unit.scale);
    let is_zero = number.trim_start_matches('-').chars().all(|c| matches!(c, '0' | '.'));
    format!("{} {}", if is_zero { number.trim_start_matches('-') } else { &number }, unit.name)
}

fn usual<K: Kind>(display: Display) -> (&'static str, usize) {
    match display {
        Display::Us => K::US,
        Display::Metric => K::METRIC,
    }
}

fn shown_unit<K: Kind>(display: Display) -> &'static Unit {
    let (name, _) = usual::<K>(display);
    K::UNITS.iter().find(|u| u.name == name).unwrap_or(&K::UNITS[0])
}

fn trim(number: f64, digits: usize) -> String {
    let text = format!("{number:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

impl<K: Kind> FromStr for Quantity<K> {
    type Err = UnitError;

    /// "38 mm", "1.5in", "1-1/2 in", "3/4 in".
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let fail = |why: String| UnitError { text: text.to_owned(), kind: K::NAME, why, example: format!("\"12 {}\"", K::METRIC.0) };
        let trimmed = text.trim();
        let split = trimmed.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | '/' | ' ')));
        let Some(split) = split else {
            return Err(fail(if trimmed.is_empty() { "it is empty".into() } else { "the unit is missing".into() }));
        };
        let (number_text, unit_text) = trimmed.split_at(split);
        let number = parse_number(number_text.trim()).ok_or_else(|| fail(format!("`{}` is not a number", number_text.trim())))?;
        let unit_text = unit_text.trim();
        let unit =
            K::UNITS.iter().find(|u| u.name == unit_text).or_else(|| K::UNITS.iter().find(|u| u.name.eq_ignore_ascii_case(unit_text)));
        let unit = unit.ok_or_else(|| {
            let known: Vec<_> = K::UNITS.iter().map(|u| u.name).collect();
            fail(format!("unit `{unit_text}` is not one of {}", known.join(", ")))
        })?;
        Ok(Self { si: number * unit.scale + unit.offset, text: text.to_owned(), kind: PhantomData })
    }
}

/// Plain, fraction or mixed: "1.5", "3/4", "1-1/2", "1 1/2".
fn parse_number(text: &str) -> Option<f64> {
    let finite = |x: f64| x.is_finite().then_some(x);
    let Some((before, denominator)) = text.split_once('/') else { return text.parse().ok().and_then(finite) };
    let denominator: f64 = denominator.trim().parse().ok()?;
    let (whole, numerator) = match before.trim().rsplit_once(['-', ' ']) {
        Some((whole, numerator)) if !whole.trim().is_empty() => (whole.trim().parse::<f64>().ok()?, numerator),
        _ => (0.0, before.trim()),
    };
    let fraction = numerator.trim().parse::<f64>().ok()? / denominator;
    finite(if whole < 0.0 { whole - fraction } else { whole + fraction })
}

thread_local! {
    /// Bad quantities met while a file is read, in order: reading goes on, so that one pass reports them all.
    static REJECTED: RefCell<Option<Vec<UnitError>>> = const { RefCell::new(None) };
}

/// Run `read` so that bad quantities become NaN and are listed, rather than stopping at the first.
pub fn collecting_rejects<T>(read: impl FnOnce() -> T) -> (T, Vec<UnitError>) {
    REJECTED.with(|r| *r.borrow_mut() = Some(Vec::new()));
    let value = read();
    (value, REJECTED.with(|r| r.borrow_mut().take()).unwrap_or_default())
}

impl<'de, K: Kind> Deserialize<'de> for Quantity<K> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().or_else(|error: UnitError| {
            let message = error.to_string();
            let collected = REJECTED.with(|r| r.borrow_mut().as_mut().map(|list| list.push(error)).is_some());
            if collected { Ok(Self { si: f64::NAN, text, kind: PhantomData }) } else { Err(serde::de::Error::custom(message)) }
        })
    }
}

impl<K> Serialize for Quantity<K> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

impl<K> Clone for Quantity<K> {
    fn clone(&self) -> Self {
        Self { si: self.si, text: self.text.clone(), kind: PhantomData }
    }
}

impl<K> PartialEq for Quantity<K> {
    fn eq(&self, other: &Self) -> bool {
        self.si == other.si && self.text == other.text
    }
}

impl<K> fmt::Debug for Quantity<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.text)
    }
}

impl<K> fmt::Display for Quantity<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_people_write() {
        let cases = [("38 mm", 0.038), ("1.5in", 0.0381), ("1-1/2 in", 0.0381), ("3/4 in", 0.01905), ("-80 cm", -0.8), ("2 ft", 0.6096)];
        for (text, metres) in cases {
            assert!((text.parse::<Length>().unwrap().si() - metres).abs() < 1e-12, "{text}");
        }
        assert!(("2100 gph".parse::<VolumeFlow>().unwrap().si() - 2100.0 * 3.785411784e-3 / 3600.0).abs() < 1e-15);
        assert!(("77 F".parse::<Temperature>().unwrap().si() - 298.15).abs() < 1e-9);
    }

    #[test]
    fn says_what_is_wrong() {
        for text in ["", "12", "mm", "1..2 mm", "12 parsec", "1/0 in", "--3 mm"] {
            assert!(text.parse::<Length>().is_err(), "{text}");
        }
    }

    #[test]
    fn what_is_written_is_the_value() {
        for (metres, text) in [(0.317_541_9, "317.54 mm"), (0.0005, "0.5 mm"), (0.0, "0 mm"), (-12.3456789, "-12346 mm")] {
            let length = Length::from_si(metres, Display::Metric);
            assert_eq!((length.text(), length.si()), (text, text.parse::<Length>().unwrap().si()));
        }
        assert_eq!(Temperature::from_si(298.15, Display::Us).text(), "77 F");
    }

    #[test]
    fn keeps_the_text() {
        let written: Length = "1-1/2 in".parse().unwrap();
        assert_eq!(ron::to_string(&written).unwrap(), "\"1-1/2 in\"");
    }
}
