//! Standing texts of the commissioning sheet. Common practice of the trade, without a source, where none is named.

use crate::layout::Layout;
use crate::setup::Schedule;

/// To do before the first water.
pub(super) const BEFORE_WATER: [&str; 6] = [
    "Every cable has a drip loop, every socket near the tank a residual-current device (RCD, GFCI), tested with its own button.",
    "Solvent-welded joints have cured for the full time that the cement's maker gives for this size and temperature.",
    "Every intake wears its screen, screwed or clipped so that it can't be lifted off by a hand or an animal; no pump hangs on a single intake.",
    "All valves set as listed below; unions hand-tight with their seals in place; check valves the right way round.",
    "Floor load, level and support of the tank checked by someone who may sign for it.",
    "Fresh-water leak test first: fill by a third, wait an hour, look and feel every joint; then fill and run for a day.",
];

/// How far to trust the numbers.
pub(super) const HOW_SURE: &str = "Design estimates from the pump's published curve and loss coefficients that are good to 10 to 30 %. A pump may differ from its curve by about 9 % in flow and 7 % in head \
    (ISO 9906 grade 3, value from memory). Within 15 % of a number here is agreement; beyond 25 % look for a cause: a half-open valve, air in the pump, a clogged screen, a nozzle of another bore. \
    Outlet numbers are those on the drum unit; a shut outlet leaks a little.";

/// Bucket and float.
pub(super) const HOW_TO_MEASURE: [&str; 2] = [
    "Bucket and stopwatch: hold the drum at the position that opens the outlet, lead the nozzle's water over the rim by a short wide hose with no rise, and time the bucket three times. \
     A hose costs some flow: the bucket then takes longer than listed.",
    "Float: trim a small float so that it just hovers, let it go at the nozzle and time it between two marks on its way, five times, and take the middle one; times under 2 s are best read off a film. The listed time is for the axis of a free round jet \
     (centreline speed 6 x nozzle speed x bore / distance); a float wanders off the axis, so it takes up to half as long again. Walls, rock and other jets near it change it too.",
];

/// What becomes of the measurements.
pub(super) const TYPE_BACK: &str = "Type what was measured into the layout's `measured` part, each with how far repeats lay apart and with the outlets that stood open; `slackwater calibrate` then fits the \
    losses, says which measurements disagree, and what the verdict becomes. A head or a pressure at each pump tells more than another bucket.";

/// The test.
pub(super) const POWER_CUT: [&str; 5] = [
    "Pumps running, water level at its mark in the tank: mark the sump's water line.",
    "Someone stands at the sump with a hand on the return's valve. Switch off ALL power at once.",
    "Watch until nothing runs any more (10 minutes or so). The sump must not spill. Mark the line.",
    "Do it again with the check valves held open or their flaps taken out: they fail one day.",
    "Switch on again: every pump primes itself, no air stays in the loops, the level comes back to its mark.",
];

/// The test where no water can run back into a sump.
pub(super) const POWER_CUT_WITHOUT_SUMP: [&str; 4] = [
    "Pumps running: mark the water level in the tank. Switch off ALL power at once.",
    "Watch for ten minutes: nothing drips, no joint weeps, the level stays where it was; a level that falls means a leak or a siphon out of the tank.",
    "Shut the valves on both sides of the pump, open its unions over a tray: only what is in the pump comes out.",
    "Close up, open the valves, switch on again: the pump primes itself, no air stays in the loop, the level comes back to its mark.",
];

/// After the first start, for what there is in the layout.
pub(super) fn first_week(layout: &Layout, schedule: Option<&Schedule>) -> Vec<String> {
    let cycle = schedule.map_or_else(|| "________".to_owned(), |schedule| format!("{:.0}", schedule.period));
    let all = [
        (true, "Day 1 and 2: feel every joint and union, dry paper under each; tighten unions by hand only.".to_owned()),
        (true, "Every day: screens clean, water level at its mark, no vortex at any intake, no air from any nozzle.".to_owned()),
        (true, "Noise and warmth of each pump noted: ________________  A change is the first sign of trouble.".to_owned()),
        (
            !layout.drums.is_empty(),
            format!("Drum units turn as the sequence says: all stand again as at the start after {cycle} s; timed: ________ s."),
        ),
        (
            layout.sand.is_some(),
            "Sand where it was? Holes blown or drifts heaped: turn the nozzle up by 5 deg and note it here: ________________".to_owned(),
        ),
        (!layout.overflows.is_empty(), "Surface film runs to the overflow everywhere; dust or fine food shows it.".to_owned()),
        (true, "Animals keep off the screens; nothing is held against them when one intake is covered for a moment.".to_owned()),
        (
            true,
            "End of the week: power-cut test once more; valve positions marked with a pen; this sheet filed with the layout.".to_owned(),
        ),
    ];
    all.into_iter().filter(|(is_there, _)| *is_there).map(|(_, words)| words).collect()
}
