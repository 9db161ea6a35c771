//! From the tank to the screen and back, for panels that know no camera.

use glam::{DMat4, DVec3, DVec4};

/// How the tank is seen just now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    clip_from_tank: DMat4,
    tank_from_clip: DMat4,
    /// Least corner of the picture on the screen, points.
    from: [f32; 2],
    /// Its size, points.
    size: [f32; 2],
}

/// A line of sight in the tank, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ray {
    /// Where it starts.
    pub from: DVec3,
    /// Unit vector.
    pub along: DVec3,
}

impl Sight {
    /// `clip_from_tank` takes tank co-ordinates (m) to clip space; the picture stands at `from` and is `size` large, points.
    pub fn new(clip_from_tank: DMat4, from: [f32; 2], size: [f32; 2]) -> Self {
        Self { clip_from_tank, tank_from_clip: clip_from_tank.inverse(), from, size }
    }

    /// Where a place in the tank stands on the screen; `None` behind the eye.
    pub fn project(&self, place: DVec3) -> Option<[f32; 2]> {
        let clip = self.clip_from_tank * place.extend(1.0);
        let (x, y) = (clip.x / clip.w, clip.y / clip.w);
        let screen = [self.from[0] + self.size[0] * (0.5 + 0.5 * x as f32), self.from[1] + self.size[1] * (0.5 - 0.5 * y as f32)];
        (clip.w > 1e-6).then_some(screen)
    }

    /// The line of sight through a place on the screen.
    pub fn ray(&self, at: [f32; 2]) -> Ray {
        let x = 2.0 * f64::from((at[0] - self.from[0]) / self.size[0]) - 1.0;
        let y = 1.0 - 2.0 * f64::from((at[1] - self.from[1]) / self.size[1]);
        // Depth runs from 1 at the near plane to 0 far away.
        let tank = |depth: f64| {
            let p = self.tank_from_clip * DVec4::new(x, y, depth, 1.0);
            p.truncate() / p.w
        };
        let (near, far) = (tank(1.0), tank(0.1));
        Ray { from: near, along: (far - near).normalize_or(DVec3::Y) }
    }
}

impl Ray {
    /// Where it meets the plane through `on` with this normal; `None` when it runs along the plane or away from it.
    pub fn meets(&self, on: DVec3, normal: DVec3) -> Option<DVec3> {
        let slant = self.along.dot(normal);
        let distance = (on - self.from).dot(normal) / slant;
        (slant.abs() > 1e-3 && distance > 0.0).then(|| self.from + self.along * distance)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back() {
        let eye = DMat4::look_at_rh(DVec3::new(1.0, -4.0, 2.0), DVec3::new(1.0, 0.5, 0.4), DVec3::Z);
        let sight = Sight::new(DMat4::perspective_infinite_reverse_rh(0.6, 1.5, 0.02) * eye, [240.0, 30.0], [760.0, 500.0]);
        let place = DVec3::new(1.7, 0.2, 0.6);
        let ray = sight.ray(sight.project(place).unwrap());
        let met = ray.meets(DVec3::new(0.0, 0.2, 0.0), DVec3::Y).unwrap();
        assert!(met.distance(place) < 1e-3, "{met}");
        assert!(sight.project(DVec3::new(1.0, -8.0, 2.0)).is_none());
    }
}
