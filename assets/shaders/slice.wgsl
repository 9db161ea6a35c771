// A surface in or against the water, coloured by a number sampled from a 3D texture: red holds number times water, green holds water.
#import bevy_pbr::forward_io::VertexOutput

struct Look { colours: array<vec4<f32>, 32>, bare: vec4<f32>, size: vec3<f32>, low: f32, top: f32, lift: f32 }

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var field: texture_3d<f32>;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var field_sampler: sampler;
@group(#{MATERIAL_BIND_GROUP}) @binding(2) var<uniform> look: Look;

// The skin of a solid takes the number a little off it; forms are shaded slightly, so that colours stay those of the legend.
@fragment
fn fragment(in: VertexOutput) -> @location(0) vec4<f32> {
    let is_skin = look.lift > 0.0;
    let normal = normalize(in.world_normal);
    let w = in.world_position.xyz + normal * look.lift;
    let at = vec3(w.x, -w.z, w.y) / look.size;
    let value = textureSampleLevel(field, field_sampler, at, 0.0);
    let shade = select(1.0, 0.7 + 0.3 * saturate(dot(normal, vec3(-0.25, 0.78, 0.57))), is_skin);
    if value.g < 0.3 || any(at < vec3(0.0)) || any(at > vec3(1.0)) {
        if is_skin {
            return vec4(look.bare.rgb * shade, 1.0);
        }
        discard;
    }
    let t = saturate((value.r / value.g - look.low) / (look.top - look.low)) * 31.0;
    let i = u32(floor(t));
    let colour = mix(look.colours[i], look.colours[min(i + 1u, 31u)], fract(t)).rgb;
    return vec4(colour * shade, select(0.93, 1.0, is_skin));
}
