//! How deep pipe goes into solvent-weld sockets.

const INCH: f64 = 0.0254;

/// Least socket depths of PVC fittings by nominal size, in: schedule 40 (ASTM D2466) and schedule 80 (ASTM D2467). Values from
/// memory; measure the fitting in hand.
const BY_NOMINAL_SIZE: [(&str, f64, f64); 10] = [
    ("1/2", 0.688, 0.875),
    ("3/4", 0.719, 1.000),
    ("1", 0.875, 1.125),
    ("1-1/4", 0.938, 1.250),
    ("1-1/2", 1.094, 1.375),
    ("2", 1.156, 1.500),
    ("2-1/2", 1.750, 1.750),
    ("3", 1.875, 1.875),
    ("4", 2.000, 2.250),
    ("6", 3.000, 3.000),
];

/// A socket depth and where it comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Socket {
    /// m.
    pub depth: f64,
    /// For the sheet.
    pub source: &'static str,
}

/// The socket depth for a pipe of this name and outside diameter (m).
pub fn socket(pipe: &str, outside: f64) -> Socket {
    let name = pipe.to_lowercase();
    let inch_size = name.split(" in").next().unwrap_or("").trim().to_owned();
    if let Some((_, forty, eighty)) = BY_NOMINAL_SIZE.iter().find(|(size, ..)| *size == inch_size) {
        if name.contains("schedule 80") {
            return Socket { depth: eighty * INCH, source: "ASTM D2467, value from memory" };
        }
        if name.contains("schedule 40") {
            return Socket { depth: forty * INCH, source: "ASTM D2466, value from memory" };
        }
    }
    // ISO 727-1: depth 0.5 d + 6 mm, 12 mm at least.
    let depth = (0.5 * outside + 0.006).max(0.012);
    Socket { depth, source: "0.5 x outside diameter + 6 mm (ISO 727-1), rule from memory" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn by_schedule_and_by_rule() {
        assert!((socket("2 in, schedule 40", 0.060325).depth / INCH - 1.156).abs() < 1e-9);
        assert!((socket("2 in, schedule 80", 0.060325).depth / INCH - 1.5).abs() < 1e-9);
        for (outside, depth) in [(0.02, 0.016), (0.032, 0.022), (0.05, 0.031), (0.11, 0.061)] {
            assert!((socket("50 mm, PN10", outside).depth - depth).abs() < 1e-9, "{outside}");
        }
    }
}
