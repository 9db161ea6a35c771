//! Pictures of several studies: the same maps on one scale, and what changed from the first to each of the others.

use super::Picture;
use super::map::{self, Sheet, Wanted};
use super::scale::{Scale, round_top};
use super::view::{Plane, View};
use crate::layout::Layout;
use crate::report::shown::shortened;
use crate::study::Study;
use crate::study::compare::{Case, is_same_grid, letter};

/// Of the maps of a study, those that a comparison shows.
const SHOWN: [&str; 2] = ["plan-mean", "front-section"];

/// The maps of every case that has fields and a layout, all on one scale and cut at the same places, then the differences to the first of
/// those on the same grid. View by view: A, B, C, B less A, C less A.
///
/// # Errors
/// When a picture can't be encoded.
pub fn all(cases: &[Case]) -> Result<Vec<Picture>, String> {
    let drawable: Vec<(usize, &Study, &Layout)> = cases.iter().enumerate().filter_map(|(i, case)| drawable(i, case)).collect();
    let Some((_, first, layout)) = drawable.first().copied() else { return Ok(Vec::new()) };
    let top = round_top(drawable.iter().map(|(_, study, _)| map::high_speed(&study.fields)).fold(0.0, f64::max), layout.display);
    let mut pictures = Vec::new();
    for wanted in map::views(first, layout).into_iter().filter(|(name, _)| SHOWN.contains(name)) {
        for (index, study, layout) in &drawable {
            pictures.push(lettered(*index, study, layout, wanted, top)?);
        }
        pictures.extend(differences(&drawable, wanted)?);
    }
    Ok(pictures)
}

fn drawable(index: usize, case: &Case) -> Option<(usize, &Study, &Layout)> {
    let layout = case.layout.as_ref().filter(|_| !case.study.fields.is_empty())?;
    Some((index, &case.study, layout))
}

/// A map of one study, its letter before the title.
fn lettered(index: usize, study: &Study, layout: &Layout, wanted: Wanted, top: f64) -> Result<Picture, String> {
    let letter = letter(index);
    let picture = map::titled(&format!("{letter}: "), study, layout, wanted, top)?;
    Ok(Picture { name: format!("{}-{}", picture.name, letter.to_lowercase()), ..picture })
}

/// One difference for each case but the first, all of a view on one scale.
fn differences(drawable: &[(usize, &Study, &Layout)], wanted: Wanted) -> Result<Vec<Picture>, String> {
    let Some((base, rest)) = drawable.split_first() else { return Ok(Vec::new()) };
    let alike: Vec<_> = rest.iter().filter(|(_, study, _)| is_same_grid(&base.1.fields, &study.fields)).collect();
    let planes: Vec<Plane> = alike.iter().map(|(_, study, _)| difference(base.1, study, wanted.1)).collect();
    let top = round_top(planes.iter().map(high_change).fold(0.0, f64::max), base.2.display);
    let pairs = alike.into_iter().zip(planes);
    pairs.map(|(other, plane)| picture(*base, *other, wanted, plane, top)).collect()
}

/// The second's time-mean speed less the first's where both have water. Dead spots: the second's hatched, the first's as those behind.
fn difference(first: &Study, second: &Study, view: View) -> Plane {
    let (a, mut b) = (Plane::new(&first.fields, view), Plane::new(&second.fields, view));
    for i in 0..b.water.len() {
        b.water[i] = b.water[i].min(a.water[i]);
        b.speed[i] -= a.speed[i];
    }
    b.dead = b.dead_anywhere;
    b.dead_anywhere = a.dead_anywhere;
    b
}

/// The change that one cell in twenty exceeds, m/s.
fn high_change(plane: &Plane) -> f64 {
    let wet = (0..plane.water.len()).filter(|i| plane.water[*i] > 0.5);
    let mut changes: Vec<f32> = wet.map(|i| plane.speed[i].abs()).collect();
    changes.sort_by(f32::total_cmp);
    changes.get(changes.len() * 19 / 20).map_or(0.01, |change| f64::from(*change))
}

type Drawable<'a> = (usize, &'a Study, &'a Layout);

fn picture(first: Drawable, other: Drawable, (name, view): Wanted, plane: Plane, top: f64) -> Result<Picture, String> {
    let (a, b) = (letter(first.0), letter(other.0));
    let what = if name == "plan-mean" { "plan, mean over the depth" } else { "front elevation" };
    let heading = format!("{b} less {a}: {what}");
    let mean = |slower: bool| {
        let wet: Vec<f32> = (0..plane.water.len()).filter(|i| plane.water[*i] > 0.5).map(|i| plane.speed[i]).collect();
        100.0 * wet.iter().filter(|v| (**v < 0.0) == slower).count() as f64 / wet.len().max(1) as f64
    };
    let alt = format!(
        "{heading}: change of the time-mean speed, {}. {:.0} % of the area shown is slower in {b}, {:.0} % is not. Hatched: dead spots of {b}; dashed: of {a}.",
        view.side.words(),
        mean(true),
        mean(false)
    );
    let sheet = Sheet {
        layout: other.2,
        view,
        scale: Scale::Difference(top),
        under: format!(
            "Change of the time-mean speed, {}. Blue: faster in {b}; red: slower. {}",
            view.side.words(),
            shortened(&other.2.name, 40)
        ),
        heading: heading.clone(),
        plane,
        spots: &[],
        dead_words: "dead spot (dashed: in the first)",
    };
    Ok(Picture { name: format!("{name}-{}-less-{}", b.to_lowercase(), a.to_lowercase()), title: heading, alt, svg: sheet.draw()? })
}
