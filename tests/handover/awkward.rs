//! Layouts that try the sheets: no holes, sixty holes, a hole off the panel, none given a diameter, long and foreign names.

use super::{all, demo, named, view};
use slackwater::catalog::Catalog;
use slackwater::handover::drilling::{remarks, whole_sheet};
use slackwater::handover::{Options, Stamp, sheets, write};
use slackwater::layout::{Layout, Mount, PanelName};
use slackwater::units::Length;

fn with_holes(panel: PanelName, holes: &[(f64, f64, Option<f64>)]) -> Layout {
    let mut layout = demo("peninsula");
    let pattern = layout.nozzles[0].clone();
    let mm = |v: f64| Length::new(v, "mm");
    let mount = |(along, up, drill): &(f64, f64, Option<f64>)| Mount::Hole { panel, along: mm(*along), up: mm(*up), drill: drill.map(mm) };
    layout.intakes.clear();
    layout.circuits.clear();
    layout.nozzles = holes
        .iter()
        .enumerate()
        .map(|(i, hole)| {
            let mut nozzle = pattern.clone();
            nozzle.id = format!("nozzle {i}");
            nozzle.mount = mount(hole);
            nozzle
        })
        .collect();
    layout
}

/// Nothing may stick out of the page.
fn assert_on_page(layout: &Layout, panel: PanelName) {
    let sheet = whole_sheet(layout, &view(layout, panel), &Stamp::new(layout, "2026-03-01"));
    for item in &sheet.items {
        for b in item.mark.bounds() {
            let inside = b[0] >= -0.01 && b[1] >= -0.01 && b[2] <= sheet.width + 0.01 && b[3] <= sheet.height + 0.01;
            assert!(inside, "{:?} on {} x {}", item.mark, sheet.width, sheet.height);
        }
    }
}

#[test]
fn no_holes() {
    let sheets = all(&with_holes(PanelName::Back, &[]));
    assert!(sheets.iter().all(|sheet| !sheet.name.starts_with("drilling")));
    assert!(!named(&sheets, "commissioning.pdf").bytes().unwrap().is_empty());
}

#[test]
fn sixty_holes_are_all_there() {
    let holes: Vec<(f64, f64, Option<f64>)> =
        (0..60).map(|i| (100.0 + 150.0 * f64::from(i % 15), 100.0 + 180.0 * f64::from(i / 15), Some(60.0))).collect();
    let layout = with_holes(PanelName::Back, &holes);
    let sheet = whole_sheet(&layout, &view(&layout, PanelName::Back), &Stamp::new(&layout, "2026-03-01"));
    for n in 1..=60 {
        let tag = format!("H{n}");
        assert!(sheet.texts().any(|text| text == tag || text.starts_with(&format!("{tag} "))), "{tag}");
    }
    assert_on_page(&layout, PanelName::Back);
    all(&layout);
}

#[test]
fn a_hole_off_the_panel_is_not_drawn_and_is_told() {
    let layout = with_holes(
        PanelName::Right,
        &[(200.0, 300.0, Some(60.0)), (1500.0, 300.0, Some(60.0)), (10.0, 500.0, Some(60.0)), (500.0, 500.0, None)],
    );
    let view = view(&layout, PanelName::Right);
    let told: Vec<String> = view.holes.iter().map(|hole| remarks(&view, hole).join(";")).collect();
    assert!(
        told[1].starts_with("OFF THE PANEL") && told[2].starts_with("CUTS THE EDGE") && told[3].contains("measure the bulkhead"),
        "{told:?}"
    );
    let sheet = whole_sheet(&layout, &view, &Stamp::new(&layout, "2026-03-01"));
    assert!(sheet.texts().any(|text| text.contains("WARNING") && text.contains("H2")));
    let svg = sheet.svg();
    assert_eq!(svg.matches("<circle").count(), 2, "two holes with a diameter on the panel");
    assert_on_page(&layout, PanelName::Right);
    let dxf = String::from_utf8(named(&all(&layout), "drilling right panel.dxf").bytes().unwrap()).unwrap();
    assert!(dxf.contains("NOT DRAWN, off the panel: H2"));
}

#[test]
fn long_and_foreign_names_are_not_clipped() {
    let mut layout = with_holes(PanelName::Left, &[(200.0, 300.0, Some(60.0)), (700.0, 300.0, Some(60.0))]);
    for name in [
        "Большой риф в приёмной Ωκεανός ñandú çà øy — and a long tail of words to make it eighty!".to_owned(),
        "n".repeat(300),
        "水族館 مرحبا".into(),
        " <&\"'> \u{7} ".into(),
    ] {
        layout.name = name.clone();
        layout.nozzles[0].id = name.clone();
        assert_on_page(&layout, PanelName::Left);
        all(&layout);
    }
}

#[test]
fn nonsense_sizes_are_told_not_drawn() {
    let mut layout = demo("alcove");
    layout.tank.length = Length::new(1e9, "m");
    let why = sheets(&layout, Catalog::builtin(), "2026-03-01").unwrap_err();
    assert!(why.contains("inside size"), "{why}");
    layout.tank.length = Length::new(f64::NAN, "m");
    assert!(sheets(&layout, Catalog::builtin(), "2026-03-01").is_err());
    let mut layout = demo("alcove");
    let nan = Length::new(f64::NAN, "mm");
    layout.nozzles[0].mount = Mount::Hole { panel: PanelName::Back, along: nan.clone(), up: nan.clone(), drill: Some(nan) };
    all(&layout);
}

#[test]
fn a_toughened_panel_is_not_to_be_drilled() {
    let layout = with_holes(PanelName::Right, &[(200.0, 300.0, Some(60.0))]);
    let mut toughened = layout.clone();
    toughened.tank.panels.right.material = slackwater::layout::Material::ToughenedGlass;
    let says = |layout: &Layout| {
        let sheet = whole_sheet(layout, &view(layout, PanelName::Right), &Stamp::new(layout, "2026-03-01"));
        sheet.texts().any(|text| text.contains("TOUGHENED (TEMPERED) GLASS"))
    };
    assert!(says(&toughened) && !says(&layout));
}

#[test]
fn same_design_same_sheets_and_another_design_another_revision() {
    let layout = demo("alcove");
    let (first, second) = (all(&layout), all(&layout));
    for (a, b) in first.iter().zip(&second) {
        assert!(a == b, "{} changes from run to run", a.name);
    }
    let mut moved = layout.clone();
    moved.notes.push('x');
    assert_ne!(Stamp::new(&layout, "").revision, Stamp::new(&moved, "").revision);
}

#[test]
fn files_are_written_and_named() {
    let folder = tempfile::tempdir().unwrap();
    let options = Options { folder: folder.path().join("sheets"), date: "2026-03-01".into() };
    let paths = write(&demo("alcove"), Catalog::builtin(), &options).unwrap();
    assert!(paths.len() > 8 && paths.iter().all(|path| path.metadata().unwrap().len() > 0));
    let stray = options.folder.join("drilling left panel.pdf");
    std::fs::write(&stray, "old").unwrap();
    assert_eq!(slackwater::handover::strays(&options.folder, &paths), [stray]);
}

#[test]
fn previews_are_the_pages_that_would_be_written() {
    let layout = demo("alcove");
    let previews = slackwater::handover::previews(&layout, Catalog::builtin(), "2026-03-01").unwrap();
    let mut files: Vec<&str> = previews.iter().filter(|p| p.page == 1).map(|p| p.file_name.as_str()).collect();
    assert_eq!(files, ["index.pdf", "drilling back panel.pdf", "cut list and fittings.pdf", "circuits.pdf", "commissioning.pdf"]);
    files.retain(|file| named(&all(&layout), file).bytes().unwrap().is_empty());
    assert!(files.is_empty());
    for preview in &previews {
        let picture = preview.picture(300).unwrap();
        assert_eq!(picture.width().max(picture.height()), 300);
        let (long, short) = (preview.size()[0].max(preview.size()[1]), preview.size()[0].min(preview.size()[1]));
        assert!((f64::from(picture.width().min(picture.height())) - 300.0 * short / long).abs() <= 1.0);
        assert!(picture.pixels().any(|p| p.0[0] < 100) && picture.pixels().all(|p| p.0[3] == 255));
        assert!(preview.svg().unwrap().starts_with("<svg") && preview.page <= preview.pages && !preview.purpose.is_empty());
    }
}
