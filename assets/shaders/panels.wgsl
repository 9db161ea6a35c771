// Panels. In place of the shader that comes with them: colours become linear at the corners, not by six powers at every pixel, which are
// dear on a processor that draws.
struct Transform { scale: vec2<f32>, translation: vec2<f32> }

@group(0) @binding(0) var<uniform> transform: Transform;
@group(1) @binding(0) var image_texture: texture_2d<f32>;
@group(1) @binding(1) var image_sampler: sampler;

struct Out { @builtin(position) clip: vec4<f32>, @location(0) colour: vec4<f32>, @location(1) uv: vec2<f32> }

fn linear(srgb: vec3<f32>) -> vec3<f32> {
    return select(pow((srgb + 0.055) / 1.055, vec3(2.4)), srgb / 12.92, srgb < vec3(0.04045));
}

@vertex
fn vs_main(@location(0) position: vec2<f32>, @location(1) uv: vec2<f32>, @location(2) colour: vec4<f32>) -> Out {
    return Out(vec4(position * transform.scale + transform.translation, 0.0, 1.0), vec4(linear(colour.rgb), colour.a), uv);
}

@fragment
fn fs_main(in: Out) -> @location(0) vec4<f32> {
    return textureSample(image_texture, image_sampler, in.uv) * in.colour;
}
