// A plane through the water, coloured by a number sampled from a 3D texture: red holds number times water, green holds water.
#import bevy_pbr::forward_io::VertexOutput

struct Look { colours: array<vec4<f32>, 32>, size: vec3<f32>, top: f32 }

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var field: texture_3d<f32>;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var field_sampler: sampler;
@group(#{MATERIAL_BIND_GROUP}) @binding(2) var<uniform> look: Look;

@fragment
fn fragment(in: VertexOutput) -> @location(0) vec4<f32> {
    let w = in.world_position.xyz;
    let at = vec3(w.x, -w.z, w.y) / look.size;
    let value = textureSampleLevel(field, field_sampler, at, 0.0);
    if value.g < 0.3 {
        discard;
    }
    let t = saturate(value.r / value.g / look.top) * 31.0;
    let i = u32(floor(t));
    return vec4(mix(look.colours[i], look.colours[min(i + 1u, 31u)], fract(t)).rgb, 0.93);
}
