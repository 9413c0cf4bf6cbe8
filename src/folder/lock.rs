//! An exclusive lock on a file, which ends with the run.

use std::fs::{File, TryLockError};
use std::thread::sleep;
use std::time::Duration;

/// The pause before a lock is tried again.
const PAUSE: Duration = Duration::from_millis(20);

/// The outcome of locking a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lock {
    /// The file is locked for this run.
    Held,
    /// Another run keeps it locked.
    Busy,
    /// The disk, such as a network folder, locks no file of this kind.
    Unsupported,
}

/// Locks a file, and waits at most `longest` for another run.
pub(super) fn lock(file: &File, longest: Duration) -> Lock {
    let tries = longest.as_millis() / PAUSE.as_millis();
    for n in 0..=tries {
        match file.try_lock() {
            Ok(()) => return Lock::Held,
            Err(TryLockError::Error(_)) => return Lock::Unsupported,
            Err(TryLockError::WouldBlock) if n < tries => sleep(PAUSE),
            Err(TryLockError::WouldBlock) => {}
        }
    }
    Lock::Busy
}
