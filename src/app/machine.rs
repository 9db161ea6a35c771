//! What this machine can do: is there a display, and a graphics driver.

/// Why no window can be opened, in one sentence; `None` when one can.
pub fn no_window() -> Option<String> {
    no_display().or_else(|| adapter().err())
}

/// The graphics driver is software: pictures cost processor time.
pub fn draws_in_software() -> bool {
    adapter().is_ok_and(|info| info.device_type == wgpu::DeviceType::Cpu)
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
