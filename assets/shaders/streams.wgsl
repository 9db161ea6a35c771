// Streamlines: ribbons that face the viewer, as broad on every picture, with a rim that stands out from water and ground.
#import bevy_pbr::mesh_view_bindings::view

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> rim: vec4<f32>;

struct Out { @builtin(position) clip: vec4<f32>, @location(0) side: f32, @location(1) colour: vec4<f32> }

// way: along the line; side.x: -1 on its right, 1 on its left.
@vertex
fn vertex(@location(0) place: vec3<f32>, @location(1) way: vec3<f32>, @location(2) side: vec2<f32>, @location(5) colour: vec4<f32>) -> Out {
    let here = view.clip_from_world * vec4(place, 1.0);
    let ahead = view.clip_from_world * vec4(place + way * 0.01, 1.0);
    let size = view.viewport.zw;
    let along = (ahead.xy / ahead.w - here.xy / here.w) * size;
    let far = length(along);
    let across = select(vec2(0.0, 1.0), vec2(-along.y, along.x) / max(far, 1e-6), far > 1e-6);
    let breadth = max(4.0, size.y / 260.0);
    var out: Out;
    out.clip = vec4(here.xy + across * side.x * breadth / size * here.w, here.z, here.w);
    out.side = side.x;
    out.colour = colour;
    return out;
}

@fragment
fn fragment(in: Out) -> @location(0) vec4<f32> {
    return vec4(select(rim.rgb, in.colour.rgb, abs(in.side) < 0.55), 1.0);
}
