//! Pipe sizes.

use crate::units::Length;
use serde::{Deserialize, Serialize};

/// Which inside diameter of a nominal size is computed with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bore {
    /// What pipe usually measures.
    #[default]
    Average,
    /// Outside diameter less twice the least wall that the standard allows: the widest that the pipe may be.
    MinimumWall,
}

/// What a nominal pipe size really measures.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "Entry")]
pub struct PipeSize {
    /// As layouts name it: "2 in, schedule 40".
    pub name: String,
    /// Outside diameter, m.
    pub outside_m: f64,
    /// Least wall, m.
    pub wall_min_m: f64,
    /// Inside diameter with the least wall, m.
    pub bore_min_wall_m: f64,
    /// Usual inside diameter, m.
    pub bore_average_m: f64,
    /// Roughness of the wall when new, m; `None`: that of drawn plastic pipe.
    pub roughness_m: Option<f64>,
    /// Where the sizes come from.
    pub source: String,
}

impl PipeSize {
    /// The inside diameter to compute with, m.
    pub fn bore(&self, which: Bore) -> f64 {
        match which {
            Bore::Average => self.bore_average_m,
            Bore::MinimumWall => self.bore_min_wall_m,
        }
    }

    /// Area of that bore, m².
    pub fn area(&self, which: Bore) -> f64 {
        std::f64::consts::FRAC_PI_4 * self.bore(which).powi(2)
    }
}

/// As a catalogue file writes it; without a usual bore the least wall decides.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    name: String,
    outside: Length,
    wall: Length,
    #[serde(default)]
    bore: Option<Length>,
    #[serde(default)]
    roughness: Option<Length>,
    source: String,
}

impl TryFrom<Entry> for PipeSize {
    type Error = String;

    fn try_from(entry: Entry) -> Result<Self, String> {
        let (outside_m, wall_min_m) = (entry.outside.si(), entry.wall.si());
        let bore_min_wall_m = outside_m - 2.0 * wall_min_m;
        let bore_average_m = entry.bore.as_ref().map_or(bore_min_wall_m, Length::si);
        let sound = wall_min_m > 0.0 && bore_average_m > 0.0 && bore_average_m < outside_m && bore_min_wall_m > 0.0;
        let roughness_m = entry.roughness.as_ref().map(Length::si);
        if roughness_m.is_some_and(|grain| !(0.0..0.1 * bore_average_m).contains(&grain)) {
            return Err(format!("pipe `{}`: a roughness lies between nothing and a tenth of the bore", entry.name));
        }
        if !sound {
            return Err(format!("pipe `{}`: wall and bore must be more than nothing and fit inside the outside diameter", entry.name));
        }
        Ok(Self { name: entry.name, outside_m, wall_min_m, bore_min_wall_m, bore_average_m, roughness_m, source: entry.source })
    }
}

#[cfg(test)]
mod tests {
    use crate::catalog::{Bore, Catalog};

    #[test]
    fn real_bores() {
        // ASTM D1785 with the least wall, and makers' printed averages, in.
        let cases = [("1-1/2 in, schedule 40", 1.610, 1.592), ("2 in, schedule 80", 1.939, 1.913), ("3/4 in, schedule 40", 0.824, 0.810)];
        for (name, least_wall, average) in cases {
            let pipe = Catalog::builtin().pipe(name).unwrap();
            assert!((pipe.bore_min_wall_m / 0.0254 - least_wall).abs() < 0.0005, "{name}");
            assert!((pipe.bore(Bore::Average) / 0.0254 - average).abs() < 0.0005, "{name}");
        }
    }

    #[test]
    fn nonsense_is_refused() {
        let own = br#"(pipes: [(name: "x", outside: "10 mm", wall: "6 mm", source: "")])"#;
        assert!(Catalog::with_file("own.ron", own).is_err());
    }
}
