//! Curves beside published points, drawn as SVG; shared by the benches.

use std::{fmt::Write, fs, path::Path};

/// Frame of a chart, in points: left, top, width, height.
const FRAME: [f64; 4] = [60.0, 20.0, 460.0, 300.0];
/// Colours of the curves (Okabe and Ito 2008: told apart by colour-blind people).
const COLOURS: [&str; 6] = ["#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9"];

/// A computed curve.
pub struct Curve {
    pub name: String,
    pub points: Vec<[f64; 2]>,
}

/// What is drawn in one frame; the published points as circles.
pub struct Chart {
    pub name: String,
    pub axes: [&'static str; 2],
    pub curves: Vec<Curve>,
    pub published: Vec<[f64; 2]>,
}

impl Chart {
    /// Writes it into a folder, as a file of its name.
    pub fn write(&self, folder: &Path) {
        fs::create_dir_all(folder).expect("a folder for the plots");
        fs::write(folder.join(format!("{}.svg", self.name.replace(' ', "-"))), self.svg()).expect("a plot can be written");
    }

    fn ranges(&self) -> [[f64; 2]; 2] {
        let all = || self.curves.iter().flat_map(|curve| &curve.points).chain(&self.published);
        [0, 1].map(|d| all().fold([f64::MAX, f64::MIN], |[low, high], point| [low.min(point[d]), high.max(point[d])]))
    }

    fn svg(&self) -> String {
        let ranges = self.ranges();
        let part = |point: &[f64; 2], d: usize| (point[d] - ranges[d][0]) / (ranges[d][1] - ranges[d][0]).max(1e-12);
        let place = |point: &[f64; 2]| (FRAME[0] + FRAME[2] * part(point, 0), FRAME[1] + FRAME[3] * (1.0 - part(point, 1)));
        let mut out =
            String::from("<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 640 380' font-family='sans-serif' font-size='12'>\n");
        let [x, y, w, h] = FRAME;
        let _ = writeln!(
            out,
            "<rect width='640' height='380' fill='white'/><rect x='{x}' y='{y}' width='{w}' height='{h}' fill='none' stroke='black'/>"
        );
        for (n, (curve, colour)) in self.curves.iter().zip(COLOURS.iter().cycle()).enumerate() {
            let line: String = curve.points.iter().map(place).map(|(x, y)| format!("{x:.1},{y:.1} ")).collect();
            let _ = writeln!(out, "<polyline points='{line}' fill='none' stroke='{colour}' stroke-width='1.5'/>");
            let _ = writeln!(out, "<text x='{}' y='{}' fill='{colour}'>{}</text>", x + w + 8.0, y + 18.0 + 15.0 * n as f64, curve.name);
        }
        for (x, y) in self.published.iter().map(place) {
            let _ = writeln!(out, "<circle cx='{x:.1}' cy='{y:.1}' r='3.5' fill='none' stroke='black' stroke-width='1.5'/>");
        }
        self.label(&mut out, ranges);
        out.push_str("</svg>\n");
        out
    }

    fn label(&self, out: &mut String, [[x_low, x_high], [y_low, y_high]]: [[f64; 2]; 2]) {
        let [x, y, w, h] = FRAME;
        let bottom = y + h;
        let mut text = |x: f64, y: f64, anchor: &str, text: &str| {
            let _ = writeln!(out, "<text x='{x}' y='{y}' text-anchor='{anchor}'>{text}</text>");
        };
        text(x, bottom + 16.0, "start", &format!("{x_low:.3}"));
        text(x + w, bottom + 16.0, "end", &format!("{x_high:.3}"));
        text(x - 4.0, bottom, "end", &format!("{y_low:.3}"));
        text(x - 4.0, y + 10.0, "end", &format!("{y_high:.3}"));
        text(x + 0.5 * w, bottom + 16.0, "middle", self.axes[0]);
        text(x, bottom + 40.0, "start", &format!("{}: lines computed, circles published", self.name));
        let middle = y + 0.5 * h;
        let _ = writeln!(out, "<text x='16' y='{middle}' transform='rotate(-90 16 {middle})' text-anchor='middle'>{}</text>", self.axes[1]);
    }
}
