// Arrows: flat, turned to the viewer, from where the velocity is taken along it.
#import bevy_pbr::mesh_view_bindings::view

struct Arrow { place: vec3<f32>, share: f32, reach: vec3<f32>, spare: f32 }
struct Look { colours: array<vec4<f32>, 32>, plain: vec4<f32>, width: f32, count: u32, is_plain: u32, spare: u32 }

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<storage, read> arrows: array<Arrow>;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var<uniform> look: Look;

struct Out { @builtin(position) clip: vec4<f32>, @location(0) share: f32 }

// vertex.x: 0 tail, 1 neck, 2 tip; vertex.y: across, in half widths of the shaft; vertex.z: which arrow.
@vertex
fn vertex(@location(0) vertex: vec3<f32>) -> Out {
    var out: Out;
    let id = u32(vertex.z);
    if id >= look.count {
        out.clip = vec4(0.0, 0.0, 2.0, 1.0);
        return out;
    }
    let arrow = arrows[id];
    let tail = (view.view_from_world * vec4(arrow.place - arrow.reach * 0.5, 1.0)).xyz;
    let tip = (view.view_from_world * vec4(arrow.place + arrow.reach * 0.5, 1.0)).xyz;
    let way = tip.xy - tail.xy;
    let far = length(way);
    let along = select(vec2(1.0, 0.0), way / max(far, 1e-6), far > 1e-6);
    let across = vec2(-along.y, along.x);
    let head = min(look.width * 4.5, 0.55 * max(far, look.width));
    let whole = max(far, look.width);
    let s = select(select(whole - head, whole, vertex.x > 1.5), 0.0, vertex.x < 0.5);
    let at = tail.xy + along * s + across * (vertex.y * look.width * 0.5);
    // A little toward the viewer, so that arrows on a slice lie over it.
    out.clip = view.clip_from_view * vec4(at, mix(tail.z, tip.z, s / whole) + 0.012, 1.0);
    out.share = arrow.share;
    return out;
}

@fragment
fn fragment(in: Out) -> @location(0) vec4<f32> {
    if look.is_plain == 1u {
        return look.plain;
    }
    let t = saturate(in.share) * 31.0;
    let i = u32(floor(t));
    return vec4(mix(look.colours[i], look.colours[min(i + 1u, 31u)], fract(t)).rgb, 1.0);
}
