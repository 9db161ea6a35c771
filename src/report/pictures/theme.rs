//! Colours and sizes of all pictures, in one place.

/// Text and lines.
pub const INK: &str = "#1c2530";
/// Less important text.
pub const SOFT_INK: &str = "#56616d";
/// Nozzles and the way they point; stands out on the whole colour map, also for the colour-blind.
pub const NOZZLE: &str = "#e8590c";
/// Intakes.
pub const INTAKE: &str = "#ffffff";
/// Dead spots.
pub const DEAD: &str = "#ffffff";
/// Bars of an open outlet.
pub const OPEN: &str = "#1f5f8b";
/// Bars of a flow, with whiskers in ink over them.
pub const FLOW: &str = "#8db6d2";
/// Track behind a bar.
pub const TRACK: &str = "#e9edf0";

/// Solid parts as cut or seen: ground, hatch.
pub type Tint = ([u8; 3], [u8; 3]);
/// Rock.
pub const ROCK: Tint = ([233, 227, 218], [150, 139, 126]);
/// Sand.
pub const SAND: Tint = ([226, 209, 171], [201, 180, 134]);
/// Overflow boxes and bracing.
pub const FITTED: Tint = ([222, 228, 233], [176, 187, 196]);
/// Edge of a solid part.
pub const EDGE: [u8; 3] = [58, 52, 46];

/// Width of every picture.
pub const WIDTH: f64 = 1000.0;
/// Room around everything.
pub const MARGIN: f64 = 28.0;

/// The colour of a share 0 to 1 of the scale: cividis (Nuñez, Anderton and Renslow 2018), perceptually uniform and made to
/// read the same with normal and red-green deficient vision.
pub fn colour(share: f64) -> [u8; 3] {
    let c = colorous::CIVIDIS.eval_continuous(share.clamp(0.0, 1.0));
    [c.r, c.g, c.b]
}

/// The colour of a change, -1 (slower) over 0 to 1 (faster): red over white to blue, a diverging scheme of ColorBrewer (Harrower and Brewer
/// 2003) that colour-blind readers can tell apart.
pub fn difference_colour(share: f64) -> [u8; 3] {
    let c = colorous::RED_BLUE.eval_continuous(0.5 + 0.5 * share.clamp(-1.0, 1.0));
    [c.r, c.g, c.b]
}
