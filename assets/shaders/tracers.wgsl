// Tracers: a quad for each, stretched from where the speck is back along its way, narrowing to a point.
#import bevy_pbr::mesh_view_bindings::view

struct Tracer { place: vec3<f32>, speed: f32, trail: vec3<f32>, life: f32 }
struct Look { colours: array<vec4<f32>, 32>, plain: vec4<f32>, size: f32, count: u32, low: f32, top: f32, is_plain: u32 }

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<storage, read> tracers: array<Tracer>;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var<uniform> look: Look;

struct Out {
    @builtin(position) clip: vec4<f32>,
    @location(0) corner: vec2<f32>,
    @location(1) share: f32,
    @location(2) shape: vec2<f32>, // trail and head, in units of the head's radius
}

@vertex
fn vertex(@location(0) vertex: vec3<f32>) -> Out {
    var out: Out;
    let id = u32(vertex.z);
    if id >= look.count {
        out.clip = vec4(0.0, 0.0, 2.0, 1.0);
        return out;
    }
    let tracer = tracers[id];
    let head = (view.view_from_world * vec4(tracer.place, 1.0)).xyz;
    let tail = (view.view_from_world * vec4(tracer.place - tracer.trail, 1.0)).xyz;
    let way = head.xy - tail.xy;
    let far = length(way);
    let along = select(vec2(1.0, 0.0), way / max(far, 1e-6), far > 1e-6);
    let across = vec2(-along.y, along.x);
    // Specks shrink away in their last half second.
    out.share = saturate((tracer.speed - look.low) / (look.top - look.low));
    // Slow specks are small, so that still water doesn't look dirty.
    let radius = look.size * clamp(-head.z * 0.35, 0.25, 2.2) * clamp(tracer.life * 2.0, 0.05, 1.0) * mix(0.6, 1.1, out.share);
    let back = -far - radius;
    let s = mix(back, radius, vertex.x * 0.5 + 0.5);
    let at = head.xy + along * s + across * (vertex.y * radius);
    out.clip = view.clip_from_view * vec4(at, head.z, 1.0);
    out.corner = vec2(s / radius, vertex.y);
    out.shape = vec2(far / radius, 1.0);
    return out;
}

@fragment
fn fragment(in: Out) -> @location(0) vec4<f32> {
    // Head: a disc. Trail: a wedge.
    let x = in.corner.x;
    let y = abs(in.corner.y);
    let trail = max(in.shape.x, 1e-3);
    let width = select(sqrt(max(1.0 - x * x, 0.0)), 1.0 + x / trail, x < 0.0);
    if y > max(width, 0.0) && dot(in.corner, in.corner) > 1.0 {
        discard;
    }
    if look.is_plain == 1u {
        return look.plain;
    }
    let t = in.share * 31.0;
    let i = u32(floor(t));
    return vec4(mix(look.colours[i], look.colours[min(i + 1u, 31u)], fract(t)).rgb, 1.0);
}
