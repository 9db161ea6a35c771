//! How much memory the process has used.

/// Largest resident memory of this process so far, bytes; 0 where the system doesn't say.
#[cfg(unix)]
pub fn peak_bytes() -> u64 {
    use nix::sys::resource::{UsageWho, getrusage};
    /// `ru_maxrss` counts bytes on macOS and kibibytes elsewhere (getrusage(2)).
    const UNIT: u64 = if cfg!(target_os = "macos") { 1 } else { 1024 };
    getrusage(UsageWho::RUSAGE_SELF).map_or(0, |usage| u64::try_from(usage.max_rss()).unwrap_or(0) * UNIT)
}

/// Largest resident memory of this process so far, bytes; 0 where the system doesn't say.
#[cfg(not(unix))]
pub fn peak_bytes() -> u64 {
    0
}
