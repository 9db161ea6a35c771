//! What this machine can do: is there a display, and a graphics driver.

use bevy::render::settings::{MemoryHints, WgpuSettings};
use std::sync::OnceLock;

/// Why no window can be opened, in one sentence; `None` when one can.
pub fn no_window() -> Option<String> {
    no_display().or_else(|| adapter().err())
}

/// The graphics driver is software: pictures cost processor time.
pub fn draws_in_software() -> bool {
    static KNOWN: OnceLock<bool> = OnceLock::new();
    *KNOWN.get_or_init(|| adapter().is_ok_and(|info| info.device_type == wgpu::DeviceType::Cpu))
}

/// How many threads the flow beside the window gets: a quarter of the cores, one at least, is left to the pictures.
pub fn flow_threads() -> usize {
    threads_of(std::thread::available_parallelism().map_or(1, usize::from))
}

fn threads_of(cores: usize) -> usize {
    cores.saturating_sub((cores / 4).max(1)).max(1)
}

/// How this process keeps memory (glibc's `mallopt`). Left alone, it gives a processor that draws its buffers anew for every picture, page by
/// page, 17 of 148 ms as measured on two cores; and blocks of many megabytes end up between small ones, from where they never go back to the system.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
pub fn keep_memory() {
    use nix::libc::{M_ARENA_MAX, M_MMAP_THRESHOLD, M_TRIM_THRESHOLD, mallopt};
    for (what, value) in [(M_MMAP_THRESHOLD, 4 << 20), (M_TRIM_THRESHOLD, 64 << 20), (M_ARENA_MAX, 4)] {
        #[allow(unsafe_code, reason = "a call into the C library that takes two numbers")]
        // SAFETY: it changes settings of the allocator, under the allocator's own lock.
        unsafe {
            mallopt(what, value);
        }
    }
}

/// Other systems' allocators are left as they are.
#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
pub fn keep_memory() {}

/// Let go of the pages in which the allocator keeps nothing (glibc's `malloc_trim`). By itself it only does so at the end of what it has: after seven
/// minutes of random input 320 MB of 490 held nothing.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
pub fn give_back() {
    #[allow(unsafe_code, reason = "a call into the C library that takes a number")]
    // SAFETY: it touches free memory only, under the allocator's own locks.
    unsafe {
        nix::libc::malloc_trim(0);
    }
}

/// Other systems' allocators give back by themselves, or not at all.
#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
pub fn give_back() {}

/// Memory of this process that is really there, MB, where the system tells.
pub fn resident_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
    line.split_whitespace().next()?.parse::<f64>().ok().map(|kb| kb / 1024.0)
}

/// A block of graphics memory where the processor draws, bytes.
const BLOCK: u64 = 16 << 20;

/// How graphics memory is had. The processor's is taken in small blocks, larger things by themselves: of large blocks, half empty, little goes
/// back to the system.
pub fn graphics() -> WgpuSettings {
    let small = MemoryHints::Manual { suballocated_device_memory_block_size: BLOCK..BLOCK };
    let hints = if draws_in_software() { small } else { MemoryHints::Performance };
    WgpuSettings { memory_hints: hints, ..WgpuSettings::default() }
}

/// The graphics adapter that will be used.
///
/// # Errors
/// One sentence when there is none.
pub fn adapter() -> Result<wgpu::AdapterInfo, String> {
    let mut descriptor = wgpu::InstanceDescriptor::new_without_display_handle();
    descriptor.backends = wgpu::Backends::from_env().unwrap_or(wgpu::Backends::PRIMARY | wgpu::Backends::SECONDARY);
    let request = wgpu::Instance::new(descriptor);
    let found = bevy::tasks::block_on(request.request_adapter(&wgpu::RequestAdapterOptions::default()));
    found
        .map(|a| a.get_info())
        .map_err(|_| "there is no graphics driver that this program can use (Vulkan, Metal or Direct3D 12)".to_owned())
}

#[cfg(all(unix, not(target_os = "macos")))]
fn no_display() -> Option<String> {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    if set("WAYLAND_SOCKET") {
        return None;
    }
    if set("WAYLAND_DISPLAY") {
        return wayland_client::Connection::connect_to_env().err().map(|e| format!("the Wayland display can't be reached ({e})"));
    }
    if set("DISPLAY") {
        return x11rb::connect(None).err().map(|e| format!("the X display can't be reached ({e})"));
    }
    Some("there is no display: neither DISPLAY nor WAYLAND_DISPLAY is set".to_owned())
}

#[cfg(not(all(unix, not(target_os = "macos"))))]
fn no_display() -> Option<String> {
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pictures_keep_a_quarter_of_the_cores() {
        assert_eq!([1, 2, 4, 8, 16].map(threads_of), [1, 1, 3, 6, 12]);
    }
}
