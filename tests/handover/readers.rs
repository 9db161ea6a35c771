//! Other people's readers: the DXF by `ezdxf`, the PDF drawn by `pdftoppm` at 300 dpi, the SVG drawn by `resvg` at 300 dpi. A reader that this machine
//! lacks is named, and its test ends there. `SLACKWATER_PYTHON` names a Python that has `ezdxf` (`pip install ezdxf`); without it, `python3` is asked.

use super::{drilled, named};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};
use slackwater::handover::Stamp;
use slackwater::handover::drilling::{SeenHole, View, outline_corner, whole_sheet};
use std::process::Command;

/// The issue's figure, mm.
const TOLERANCE: f64 = 0.1;
const PIXELS_PER_MM: f64 = 300.0 / 25.4;
/// Half the side of the picture round a hole, mm beyond its crosshair.
const ROUND: f64 = 4.0;

const READ_DXF: &str = r#"
import ezdxf, sys
document = ezdxf.readfile(sys.argv[1])
assert not document.audit().errors, document.audit().errors
print("units", document.header["$INSUNITS"])
for circle in document.modelspace().query("CIRCLE"):
    print("circle", circle.dxf.layer.replace(" ", "_"), repr(circle.dxf.center.x), repr(circle.dxf.center.y), repr(circle.dxf.radius))
"#;

fn python() -> Option<String> {
    let python = std::env::var("SLACKWATER_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python).args(["-c", "import ezdxf"]).output().is_ok_and(|out| out.status.success());
    has.then_some(python)
}

#[test]
fn ezdxf_finds_the_same_holes() {
    let Some(python) = python() else {
        return println!("not tried: no Python with ezdxf here (pip install ezdxf; SLACKWATER_PYTHON names it)");
    };
    let folder = tempfile::tempdir().unwrap();
    for (at, (layout, sheets, view)) in drilled().enumerate() {
        let path = folder.path().join(format!("{at}.dxf"));
        std::fs::write(&path, named(sheets, &format!("drilling {} panel.dxf", view.panel.word())).bytes().unwrap()).unwrap();
        let out = Command::new(&python).args(["-c", READ_DXF]).arg(&path).output().unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        let said = String::from_utf8(out.stdout).unwrap();
        assert!(said.contains("units 4"), "millimetres: {said}");
        let circles: Vec<Vec<f64>> = said.lines().filter_map(|line| line.strip_prefix("circle holes ")).map(numbers).collect();
        let wanted: Vec<[f64; 3]> = view.holes.iter().filter_map(|hole| Some([hole.x, hole.y, hole.drill? / 2.0])).collect();
        assert_eq!(circles.len(), wanted.len(), "{} {}", layout.name, view.panel.word());
        for (circle, wanted) in circles.iter().zip(&wanted) {
            assert!(circle.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-6), "{circle:?}, not {wanted:?}");
        }
    }
}

fn numbers(line: &str) -> Vec<f64> {
    line.split_whitespace().map(|word| word.parse().unwrap()).collect()
}

/// A grey picture of part of a sheet.
struct Picture {
    /// Upper left corner on the sheet, whole pixels.
    corner: [usize; 2],
    width: usize,
    /// 0 white, 1 black, row by row.
    ink: Vec<f64>,
}

/// Part of the sheet round a hole: upper left corner and side, pixels.
fn part(hole: &SeenHole, centre: [f64; 2]) -> ([usize; 2], usize) {
    let reach = hole.drill.unwrap_or(18.0) / 2.0 + 6.0 + ROUND;
    (centre.map(|c| ((c - reach).max(0.0) * PIXELS_PER_MM) as usize), (2.0 * reach * PIXELS_PER_MM) as usize)
}

impl Picture {
    /// Where the crosshair's ends cross, mm on the sheet: the middle of the ink in the last millimetre of its upper and left arm.
    fn crosshair(&self, hole: &SeenHole, centre: [f64; 2]) -> [f64; 2] {
        let arm = hole.drill.map_or(15.0, |diameter| diameter / 2.0 + 6.0);
        let [x, y] = centre;
        let upper = self.middle([x - 1.0, x + 1.0], [y - arm + 0.3, y - arm + 1.3]);
        let left = self.middle([x - arm + 0.3, x - arm + 1.3], [y - 1.0, y + 1.0]);
        [upper[0], left[1]]
    }

    /// Middle of the ink in a box, mm on the sheet.
    fn middle(&self, [left, right]: [f64; 2], [top, bottom]: [f64; 2]) -> [f64; 2] {
        let pixel = |mm: f64, axis: usize| (mm * PIXELS_PER_MM) as usize - self.corner[axis];
        let mut sum = [0.0; 3];
        for row in pixel(top, 1)..=pixel(bottom, 1) {
            for column in pixel(left, 0)..=pixel(right, 0) {
                let ink = self.ink[row * self.width + column];
                sum = [sum[0] + ink, sum[1] + ink * (column as f64 + 0.5), sum[2] + ink * (row as f64 + 0.5)];
            }
        }
        assert!(sum[0] > 1.0, "no ink where the crosshair should be");
        [(sum[1] / sum[0] + self.corner[0] as f64) / PIXELS_PER_MM, (sum[2] / sum[0] + self.corner[1] as f64) / PIXELS_PER_MM]
    }
}

/// Crosshair centres found in pictures against the layout; distances between holes as well.
fn compare(name: &str, view: &View, picture: impl Fn(&SeenHole, [f64; 2]) -> Picture) {
    let [left, top] = outline_corner();
    let holes: Vec<&SeenHole> = view.holes.iter().filter(|hole| view.holds(hole)).collect();
    let wanted: Vec<[f64; 2]> = holes.iter().map(|hole| [left + hole.x, top + view.height - hole.y]).collect();
    let found: Vec<[f64; 2]> = holes.iter().zip(&wanted).map(|(hole, at)| picture(hole, *at).crosshair(hole, *at)).collect();
    let apart = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    for (i, hole) in holes.iter().enumerate() {
        assert!(apart(found[i], wanted[i]) < TOLERANCE, "{name} {}: {:?}, not {:?}", hole.tag, found[i], wanted[i]);
        for j in 0..i {
            let off = apart(found[i], found[j]) - apart(wanted[i], wanted[j]);
            assert!(off.abs() < TOLERANCE, "{name} {} to {}: off by {off} mm", hole.tag, holes[j].tag);
        }
    }
}

#[test]
fn the_pdf_drawn_at_300_dpi_is_true_to_scale() {
    if Command::new("pdftoppm").arg("-v").output().is_err() {
        return println!("not tried: no pdftoppm here (package poppler-utils)");
    }
    let folder = tempfile::tempdir().unwrap();
    for (layout, sheets, view) in drilled() {
        let path = folder.path().join("sheet.pdf");
        std::fs::write(&path, named(sheets, &format!("drilling {} panel.pdf", view.panel.word())).bytes().unwrap()).unwrap();
        compare(&layout.name, view, |hole, centre| {
            let (corner, side) = part(hole, centre);
            let [x, y, side_text] = [corner[0], corner[1], side].map(|n| n.to_string());
            let asked = ["-r", "300", "-gray", "-x", &x, "-y", &y, "-W", &side_text, "-H", &side_text];
            let out = Command::new("pdftoppm").args(asked).arg(&path).output().unwrap();
            pgm(&out.stdout, corner)
        });
    }
}

/// A portable grey map (netpbm P5, 8 bit).
fn pgm(bytes: &[u8], corner: [usize; 2]) -> Picture {
    let head: Vec<&[u8]> = bytes.splitn(4, |b| *b == b'\n').collect();
    assert_eq!(head[0], b"P5");
    let size = numbers(std::str::from_utf8(head[1]).unwrap());
    Picture { corner, width: size[0] as usize, ink: head[3].iter().map(|grey| 1.0 - f64::from(*grey) / 255.0).collect() }
}

#[test]
fn the_svg_drawn_at_300_dpi_is_true_to_scale() {
    for (layout, sheets, view) in drilled() {
        let svg = &named(sheets, &format!("drilling {} panel.svg", view.panel.word())).bytes().unwrap();
        let tree = Tree::from_data(svg, &Options::default()).unwrap();
        let sheet = whole_sheet(layout, view, &Stamp::new(layout, "2026-03-01"));
        let scale = sheet.width * PIXELS_PER_MM / f64::from(tree.size().width());
        compare(&layout.name, view, |hole, centre| {
            let (corner, side) = part(hole, centre);
            let mut pixels = Pixmap::new(side as u32, side as u32).unwrap();
            pixels.fill(resvg::tiny_skia::Color::WHITE);
            let [x, y] = corner.map(|c| -(c as f32));
            resvg::render(&tree, Transform::from_scale(scale as f32, scale as f32).post_translate(x, y), &mut pixels.as_mut());
            let ink = pixels.pixels().iter().map(|p| 1.0 - f64::from(p.green()) / 255.0).collect();
            Picture { corner, width: side, ink }
        });
    }
}
