//! Memory goes back to the system when much of it was needed for a while: allocators keep what was let go of between things that stay.

use super::machine::{give_back, resident_mb};
use bevy::prelude::*;
use bevy::tasks::AsyncComputeTaskPool;
use std::sync::{Arc, Mutex, PoisonError};

/// How often that is looked at, s.
const EVERY: f64 = 5.0;
/// After so much more than there was after the last time, MB. Own judgement, no source.
const MORE_MB: f64 = 32.0;

/// Keeps memory small.
pub fn plugin(app: &mut App) {
    app.add_systems(Last, look);
}

/// On a thread beside the window's: it takes some milliseconds.
fn look(time: Res<Time<Real>>, mut looked: Local<f64>, least: Local<Arc<Mutex<f64>>>) {
    let now = time.elapsed_secs_f64();
    if now - *looked < EVERY {
        return;
    }
    *looked = now;
    let least = least.clone();
    let work = async move {
        let mut least = least.lock().unwrap_or_else(PoisonError::into_inner);
        *least = after(*least, resident_mb, give_back);
    };
    AsyncComputeTaskPool::get().spawn(work).detach();
}

/// What there is now, MB, if that is less than at the `least`, or after giving back because it was much more.
fn after(least: f64, there: impl Fn() -> Option<f64>, give_back: impl FnOnce()) -> f64 {
    let Some(now) = there() else { return least };
    if now < least + MORE_MB {
        return now.min(least);
    }
    give_back();
    there().unwrap_or(now)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::Cell;

    #[test]
    fn memory_is_given_back_when_there_is_much_more() {
        let (there, given) = (Cell::new(100.0), Cell::new(0));
        let look = |least| {
            after(
                least,
                || Some(there.get()),
                || {
                    given.set(given.get() + 1);
                    there.set(there.get() - 20.0);
                },
            )
        };
        let least = look(0.0);
        assert_eq!((least, given.get()), (80.0, 1));
        there.set(80.0 + MORE_MB - 1.0);
        assert_eq!((look(least), given.get()), (80.0, 1), "a little more is left alone");
        there.set(60.0);
        assert_eq!((look(least), given.get()), (60.0, 1));
        there.set(60.0 + MORE_MB);
        assert_eq!((look(60.0), given.get()), (40.0 + MORE_MB, 2));
    }
}
