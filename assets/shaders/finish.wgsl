// Solids in one colour, shaded by how they face the light, or not at all.
#import bevy_pbr::forward_io::VertexOutput

struct Coat { colour: vec4<f32>, shade: f32, light: f32 }

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> coat: Coat;

@fragment
fn fragment(in: VertexOutput) -> @location(0) vec4<f32> {
    var colour = coat.colour;
#ifdef VERTEX_COLORS
    colour *= in.color;
#endif
    // From over the viewer's left shoulder.
    if coat.light > 0.0 {
        let facing = saturate(dot(normalize(in.world_normal), vec3(-0.254, 0.848, 0.466)));
        colour = vec4(colour.rgb * (coat.shade + coat.light * facing), colour.a);
    }
    return colour;
}
