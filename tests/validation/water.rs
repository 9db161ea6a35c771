//! Properties of water against published tables; tolerances were fixed beforehand (the sources' own accuracy in brackets).

use slackwater::water::WaterProperties;

fn rows(text: &str) -> Vec<Vec<f64>> {
    text.lines().skip(2).map(|line| line.split(',').map(|cell| cell.parse().unwrap_or(f64::NAN)).collect()).collect()
}

#[test]
fn official_density_checks() {
    // UNESCO Technical Papers in Marine Science 44 (Fofonoff and Millard 1983): salinity, temperature (scale of 1968), kg/m³.
    let cases = [(0.0, 5.0, 999.96675), (0.0, 25.0, 997.04796), (35.0, 5.0, 1027.67547), (35.0, 25.0, 1023.34306)];
    for (salinity, t68, expected) in cases {
        let got = WaterProperties::new(273.15 + t68 / 1.00024, salinity).density;
        assert!((got - expected).abs() < 1e-4, "{salinity} {t68}: {got} not {expected}");
    }
}

#[test]
fn the_tables() {
    for row in rows(include_str!("../data/seawater.csv")) {
        let [salinity, celsius, teos, eos, viscosity, sound, modulus] = row[..] else { panic!("{row:?}") };
        let water = WaterProperties::new(celsius + 273.15, salinity);
        let cases = [
            ("EOS-80 density, kg/m³", water.density, eos, 5e-4),
            ("TEOS-10 density, kg/m³", water.density, teos, 0.01),
            ("viscosity, relative", water.dynamic_viscosity / viscosity, 1.0, 1e-3),
            ("speed of sound, m/s", water.sound_speed, sound, 1.0),
            ("bulk modulus, relative", water.bulk_modulus / (modulus * 1e9), 1.0, 2e-3),
        ];
        for (what, got, expected, tolerance) in cases {
            assert!((got - expected).abs() < tolerance, "{what} at {salinity} g/kg, {celsius} C: {got} not {expected}");
        }
    }
}

#[test]
fn vapour_pressure() {
    for row in rows(include_str!("../data/vapour_pressure.csv")) {
        let [celsius, fresh, sea] = row[..] else { panic!("{row:?}") };
        for (salinity, expected, tolerance) in [(0.0, fresh, 1e-3), (35.0, sea, 5e-3)] {
            let got = WaterProperties::new(celsius + 273.15, salinity).vapour_pressure / 1e3;
            assert!((got / expected - 1.0).abs() < tolerance, "{salinity} {celsius}: {got} not {expected} kPa");
        }
    }
}
