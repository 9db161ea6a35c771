// Tracers: a dart for each, as broad as the speck and narrowing back along its way.
#import bevy_pbr::mesh_view_bindings::view

struct Tracer { place: vec3<f32>, half: f32, trail: vec3<f32>, colour: u32 }
struct Look { count: u32 }

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<storage, read> tracers: array<Tracer>;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var<uniform> look: Look;

struct Out { @builtin(position) clip: vec4<f32>, @location(0) @interpolate(flat) colour: vec4<f32> }

// vertex.x: 0 tail, 1 head; vertex.y: across; vertex.z: which tracer.
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
    let trail = (view.view_from_world * vec4(tracer.trail, 0.0)).xy;
    let far = length(trail);
    let along = select(vec2(1.0, 0.0), trail / max(far, 1e-6), far > 1e-6);
    let across = vec2(-along.y, along.x);
    let radius = tracer.half * clamp(-head.z * 0.35, 0.25, 2.2);
    let s = mix(-far - radius, radius, vertex.x);
    out.clip = view.clip_from_view * vec4(head.xy + along * s + across * (vertex.y * radius), head.z, 1.0);
    let c = tracer.colour;
    out.colour = vec4(vec3(f32(c & 2047u), f32((c >> 11u) & 2047u), f32(c >> 22u)) / vec3(2047.0, 2047.0, 1023.0), 1.0);
    return out;
}

@fragment
fn fragment(in: Out) -> @location(0) vec4<f32> {
    return in.colour;
}
