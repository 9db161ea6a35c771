//! How a tracer looks, worked out here once for each rather than by the graphics at each of its corners. No drawing here.

use super::drift::{Tracer, trail};
use super::scale::{Span, length};
use crate::app::palette;
use bevy::prelude::{Color, ColorToComponents};

/// Length of a trail, s of tank time.
const TRAIL: f32 = 0.22;
/// Half the breadth of a dart over the tank's longest size.
const BREADTH: f32 = 0.0011;
/// The shader draws those far away so much broader at most.
const WIDEST: f32 = 2.2;
/// Steps of the colour map.
const SHADES: usize = 256;
/// Bytes of a tracer for the shader.
pub const ROW: usize = size_of::<[u32; 8]>();

/// What tracers are drawn with.
#[derive(PartialEq, Clone, Copy)]
pub struct Style {
    /// Speeds at the ends of the colours, m/s.
    pub span: Span,
    /// The tank's longest size, m.
    pub length: f32,
    /// One colour for all.
    pub plain: Option<Color>,
    /// The water's length, width and depth, m.
    pub room: [f32; 3],
}

/// A style with its colours mixed.
pub struct Pen {
    style: Style,
    colours: [u32; SHADES],
}

impl Pen {
    /// Of a style.
    pub fn new(style: Style) -> Self {
        let shade = |i: usize| {
            let [r, g, b] = palette::colour(i as f32 / (SHADES - 1) as f32);
            packed(style.plain.unwrap_or(Color::srgb_u8(r, g, b)))
        };
        Self { style, colours: std::array::from_fn(shade) }
    }

    /// For the shader: place, half breadth, trail, colour.
    pub fn row(&self, tracer: &Tracer) -> [u32; 8] {
        let (p, v, style) = (tracer.at, tracer.velocity, &self.style);
        let share = ((length(v) - style.span.low) / (style.span.top - style.span.low)).clamp(0.0, 1.0);
        // Specks shrink away in their last half second. Slow ones are small, so that still water doesn't look dirty.
        let half = style.length * BREADTH * (tracer.life * 2.0).clamp(0.05, 1.0) * (0.6 + 0.5 * share);
        // Round their middle they are as broad as the shader may draw them: none sticks out of the glass.
        let edge = half * WIDEST;
        let inner = style.room.map(|size| (size - 2.0 * edge).max(0.0));
        let within: [f32; 3] = std::array::from_fn(|a| (p[a] - edge).clamp(0.0, inner[a]));
        let back = v.map(|u| u * TRAIL);
        let [x, y, z] = back.map(|d| d * trail(within, back, inner));
        let p = within.map(|x| x + edge);
        let [a, b, c, d, e, f, g] = [p[0], p[2], -p[1], half, x, z, -y].map(f32::to_bits);
        [a, b, c, d, e, f, g, self.colours[(share * (SHADES - 1) as f32) as usize]]
    }
}

/// Linear red and green in 11 bits each, blue in 10.
fn packed(colour: Color) -> u32 {
    let [r, g, b] = colour.to_linear().to_f32_array_no_alpha();
    let bits = |c: f32, most: f32| (c.clamp(0.0, 1.0) * most).round() as u32;
    bits(r, 2047.0) | bits(g, 2047.0) << 11 | bits(b, 1023.0) << 22
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: &[f32], b: [f32; 3]) -> bool {
        a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-6)
    }

    #[test]
    fn a_dart_tells_place_way_and_speed() {
        let style = Style { span: Span { low: 0.0, top: 0.4 }, length: 2.0, plain: None, room: [2.0, 1.0, 0.6] };
        let pen = Pen::new(style);
        let fast = pen.row(&Tracer { at: [1.0, 0.5, 0.3], velocity: [0.4, 0.0, 0.0], life: 5.0 });
        let place: Vec<f32> = fast[..7].iter().map(|bits| f32::from_bits(*bits)).collect();
        assert!(near(&place[..3], [1.0, 0.3, -0.5]));
        assert!((place[3] - 2.0 * BREADTH * 1.1).abs() < 1e-7 && (place[4] - 0.4 * TRAIL).abs() < 1e-7 && place[5] == 0.0);
        // In the corner: head and tail stay inside by what the shader adds to them.
        let corner = pen.row(&Tracer { at: [0.0, 1.0, 0.6], velocity: [-0.4, 0.0, 0.0], life: 5.0 });
        let corner: Vec<f32> = corner[..7].iter().map(|bits| f32::from_bits(*bits)).collect();
        let edge = corner[3] * WIDEST;
        assert!(near(&corner[..3], [edge, 0.6 - edge, edge - 1.0]) && (corner[4] + 0.4 * TRAIL).abs() < 1e-6);
        assert_eq!((fast[7], pen.row(&Tracer { life: 5.0, ..Tracer::default() })[7]), (pen.colours[SHADES - 1], pen.colours[0]));
        assert_eq!((packed(Color::WHITE), packed(Color::BLACK)), (u32::MAX, 0));
    }
}
