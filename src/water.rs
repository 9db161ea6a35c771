//! Sea and fresh water: density, viscosity, vapour pressure and the speed of sound from temperature and salinity.
//!
//! At one atmosphere, 0 to 40 °C and 0 to 42 g/kg; values outside are computed at the nearest end of the range.

/// Standard acceleration of gravity, m/s² (ISO 80000-3).
pub const GRAVITY: f64 = 9.80665;

/// What the solvers need to know of the water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterProperties {
    /// kg/m³.
    pub density: f64,
    /// Pa s.
    pub dynamic_viscosity: f64,
    /// Pa, absolute.
    pub vapour_pressure: f64,
    /// m/s.
    pub sound_speed: f64,
    /// Isentropic, Pa.
    pub bulk_modulus: f64,
}

impl WaterProperties {
    /// At this temperature (K) and practical salinity (g/kg, taken as PSU).
    pub fn new(temperature_k: f64, salinity_g_kg: f64) -> Self {
        let celsius = (temperature_k - 273.15).clamp(0.0, 40.0);
        let practical = salinity_g_kg.clamp(0.0, 42.0);
        // Salt by mass for the reference composition: Millero et al. 2008, Deep-Sea Res. I 55:50.
        let absolute = practical * 35.16504 / 35.0;
        let density = density(celsius, practical);
        let sound_speed = sound_speed(celsius, practical);
        Self {
            density,
            dynamic_viscosity: dynamic_viscosity(celsius, absolute),
            vapour_pressure: vapour_pressure(celsius + 273.15, absolute),
            sound_speed,
            bulk_modulus: density * sound_speed * sound_speed,
        }
    }

    /// m²/s.
    pub fn kinematic_viscosity(&self) -> f64 {
        self.dynamic_viscosity / self.density
    }
}

/// kg/m³ at one atmosphere: EOS-80, UNESCO Technical Papers in Marine Science 36 (1981) and 44 (Fofonoff and Millard 1983).
fn density(celsius: f64, practical_salinity: f64) -> f64 {
    let t = celsius * 1.00024; // the formula is on the temperature scale of 1968
    let s = practical_salinity;
    let fresh = polynomial(t, &[999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9]);
    let linear = polynomial(t, &[8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9]);
    let root = polynomial(t, &[-5.72466e-3, 1.0227e-4, -1.6546e-6]);
    fresh + linear * s + root * s.powf(1.5) + 4.8314e-4 * s * s
}

/// Pa s: Sharqawy, Lienhard and Zubair 2010, Desalination and Water Treatment 16:354, Eqs 22 and 23; stated accuracy 1.5 %.
fn dynamic_viscosity(t: f64, absolute_salinity: f64) -> f64 {
    let s = absolute_salinity * 1e-3;
    let fresh = 4.2844e-5 + 1.0 / (0.157 * (t + 64.993).powi(2) - 91.296);
    let linear = polynomial(t, &[1.541, 1.998e-2, -9.52e-5]);
    let square = polynomial(t, &[7.974, -7.561e-2, 4.724e-4]);
    fresh * (1.0 + linear * s + square * s * s)
}

/// Pa: Wagner and Pruss 1993, J. Phys. Chem. Ref. Data 22:783 (IAPWS), lowered by salt as in Nayar et al. 2016, Desalination 390:1.
fn vapour_pressure(kelvin: f64, absolute_salinity: f64) -> f64 {
    const CRITICAL_K: f64 = 647.096;
    const CRITICAL_PA: f64 = 22.064e6;
    const TERMS: [(f64, f64); 6] =
        [(-7.85951783, 1.0), (1.84408259, 1.5), (-11.7866497, 3.0), (22.6807411, 3.5), (-15.9618719, 4.0), (1.80122502, 7.5)];
    let tau = 1.0 - kelvin / CRITICAL_K;
    let sum: f64 = TERMS.iter().map(|(factor, power)| factor * tau.powf(*power)).sum();
    let salt = -4.5818e-4 * absolute_salinity - 2.0443e-6 * absolute_salinity.powi(2);
    CRITICAL_PA * (sum * CRITICAL_K / kelvin + salt).exp()
}

/// m/s at the surface: Mackenzie 1981, J. Acoust. Soc. Am. 70:807. Made for 25 to 40 PSU; within 1 m/s of TEOS-10 in fresh water too.
fn sound_speed(t: f64, practical_salinity: f64) -> f64 {
    let salt = practical_salinity - 35.0;
    polynomial(t, &[1448.96, 4.591, -5.304e-2, 2.374e-4]) + (1.340 - 1.025e-2 * t) * salt
}

/// Coefficients from the constant term up.
fn polynomial(x: f64, coefficients: &[f64]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}
