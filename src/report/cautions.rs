//! What every report and sheet says about safety and limits.

/// Cautions in the order in which they matter on site: subject, text.
pub const CAUTIONS: [(&str, &str); 6] = [
    (
        "Water and mains electricity",
        "Protect every circuit near the tank with a residual-current device (RCD, GFCI) and give every cable a drip loop.",
    ),
    (
        "Suction",
        "An intake can hold an animal or a hand. Screen every one, and never let a pump depend on a single intake that one thing can cover.",
    ),
    (
        "Drilling",
        "Toughened (tempered) glass shatters when drilled. For other glass use a water-cooled bit, support, and eye and hand protection. \
         The panel maker's limits for holes decide.",
    ),
    ("Floor and flooding", "Have the floor's load checked, and test a power cut with the sump watched before you leave the tank alone."),
    ("Pressure", "Keep solvent-welded pipe within its rated pressure and temperature; let joints cure fully before the first start."),
    ("Standing of these numbers", "They are design estimates. Local codes and licensed trades decide."),
];

/// What the flow model leaves out; said wherever its results are shown.
pub const MODEL_LIMITS: [&str; 6] = [
    "Water moves on a grid of cubic cells; anything smaller than about three cells (a nozzle's bore, a gap in the rock) is represented, not resolved.",
    "The surface is a flat lid without waves, splash or air; a film is taken to drift with the water just under it.",
    "Rock is solid with a rough skin unless the layout calls it porous; corals hold no water back unless the layout says that they are grown.",
    "Turbulence below the cell size is modelled, not computed; single gusts differ from run to run, averages should not.",
    "Temperature and salt are the same everywhere; nothing rises or sinks by itself.",
    "The layout is taken as drawn: an aim that is off by a few degrees, or rock a few centimetres away, changes the result.",
];
