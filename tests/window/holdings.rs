//! What the program holds, and where its memory lies: printed by the half hour of random input.

use bevy::prelude::*;
use bevy::render::mesh::allocator::MeshAllocator;
use bevy::render::renderer::RenderDevice;
use bevy::render::storage::ShaderBuffer;
use bevy::render::{RenderApp, render_asset::RenderAssets, texture::GpuImage};
use slackwater::app::document::{Document, Edit};
use slackwater::app::part::Item;
use slackwater::layout::demo;
use slackwater::units::Length;
use std::fmt::Write;

const MB: f64 = 1048576.0;

/// One line each: memory by kind of mapping, the allocator's own count, and the things in both worlds.
pub fn holdings(app: &App) -> String {
    format!("    {}\n    {}\n    {}", mappings(), heap(), things(app))
}

/// Resident memory by kind of mapping.
fn mappings() -> String {
    let text = std::fs::read_to_string("/proc/self/smaps").unwrap_or_default();
    let (mut kinds, mut kind, mut size) = (std::collections::BTreeMap::<String, [f64; 2]>::new(), String::new(), 0.0);
    for line in text.lines() {
        let words: Vec<&str> = line.split_whitespace().collect();
        match words[..] {
            [range, ..] if range.contains('-') && !range.ends_with(':') => (kind, size) = kind_of(&words),
            ["Rss:", kb, _] => {
                let held = kinds.entry(std::mem::take(&mut kind)).or_default();
                *held = [held[0] + kb.parse::<f64>().unwrap_or(0.0) / 1024.0, held[1] + size];
            }
            _ => {}
        }
    }
    let threads = std::fs::read_dir("/proc/self/task").map_or(0, Iterator::count);
    let rows: Vec<String> =
        kinds.iter().filter(|(_, m)| m[0] > 0.5).map(|(kind, [rss, size])| format!("{kind} {rss:.0} of {size:.0}")).collect();
    format!("resident MB: {}; {threads} threads", rows.join(", "))
}

fn kind_of(words: &[&str]) -> (String, f64) {
    let ends: Vec<u64> = words[0].split('-').filter_map(|end| u64::from_str_radix(end, 16).ok()).collect();
    let (from, size) = (ends[0], (ends[1] - ends[0]) as f64 / MB);
    let kind = match words.get(5) {
        Some(name) if name.starts_with('[') => (*name).to_owned(),
        Some(name) if name.contains("memfd") || name.contains("shm") => name.split(':').next().unwrap_or_default().to_owned(),
        Some(_) => "files".to_owned(),
        // glibc's further arenas lie in heaps at whole 64 MB.
        None if from % (64 << 20) == 0 && size <= 64.0 => "arenas".to_owned(),
        None if size > 64.0 => "mmap > 64".to_owned(),
        None if size > 16.0 => "mmap > 16".to_owned(),
        None if size > 4.0 => "mmap > 4".to_owned(),
        None => "mmap".to_owned(),
    };
    (kind, size)
}

fn heap() -> String {
    #[allow(unsafe_code, reason = "a call into the C library that returns numbers")]
    // SAFETY: it only reads the allocator's state, under the allocator's own lock.
    let info = unsafe { nix::libc::mallinfo2() };
    let mb = |bytes: usize| bytes as f64 / MB;
    format!(
        "malloc MB: {:.1} in use, {:.1} free inside, {:.1} of it at the top; {:.1} in {} mappings of its own",
        mb(info.uordblks),
        mb(info.fordblks),
        mb(info.keepcost),
        mb(info.hblkhd),
        info.hblks
    )
}

fn things(app: &App) -> String {
    let (world, mut text) = (app.world(), String::new());
    let images = world.resource::<Assets<Image>>();
    let image_mb: f64 = images.iter().map(|(_, image)| image.data.as_ref().map_or(0, Vec::len) as f64 / MB).sum();
    let meshes = world.resource::<Assets<Mesh>>();
    let buffers = world.resource::<Assets<ShaderBuffer>>();
    let _ = write!(
        text,
        "{} entities, {} images ({image_mb:.1} MB), {} meshes, {} buffers",
        world.entities().count_spawned(),
        images.len(),
        meshes.len(),
        buffers.len()
    );
    let render = app.sub_app(RenderApp).world();
    let allocator = render.resource::<MeshAllocator>();
    let gpu_images = render.resource::<RenderAssets<GpuImage>>().iter().count();
    let _ = write!(
        text,
        "; render world: {} entities, {gpu_images} images, meshes {:.1} MB in {} slabs",
        render.entities().count_spawned(),
        allocator.slabs_size() as f64 / MB,
        allocator.slab_count()
    );
    let device = world.resource::<RenderDevice>().wgpu_device();
    if let Some(report) = device.generate_allocator_report() {
        let _ = write!(
            text,
            "; graphics {:.1} of {:.1} MB in {} blocks",
            report.total_allocated_bytes as f64 / MB,
            report.total_reserved_bytes as f64 / MB,
            report.blocks.len()
        );
        let mut largest: Vec<_> = report.allocations.iter().map(|a| (a.size, a.name.clone())).collect();
        largest.sort_by_key(|largest| std::cmp::Reverse(largest.0));
        for (size, name) in largest.iter().take(6) {
            let _ = write!(text, ", {name} {:.1}", *size as f64 / MB);
        }
    }
    text
}

/// Undo goes back without limit, so a step of the history must be small: the part that was changed, not the layout.
#[test]
fn a_step_of_the_history_is_small() {
    let mut document = Document::new(demo(), None, None);
    let steps = 400;
    let held = allocation_counter::measure(|| {
        for step in 0..steps {
            let mut nozzle = document.layout().nozzles[step % 2].clone();
            nozzle.bore = Length::new(20.0 + step as f64, "mm");
            assert!(document.apply(Edit::Put(step % 2, Box::new(Item::Nozzle(nozzle))), step as f64));
        }
    });
    let each = held.bytes_current / steps as i64;
    println!("{each} bytes a step");
    assert!(each < 4096, "{each} bytes a step");
}
