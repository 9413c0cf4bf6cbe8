//! An exclusive lock on a file, which ends with the run.

use std::fs::{File, TryLockError};
use std::thread::sleep;
use std::time::Duration;

/// The pause between attempts to lock.
const PAUSE: Duration = Duration::from_millis(20);

/// The outcome of locking a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lock {
    /// The file is locked for this run.
    Held,
    /// Another run holds the lock.
    Busy,
    /// The file system, such as a network folder, does not lock files of this type.
    Unsupported,
}

/// Locks a file, waiting at most `longest` for another run.
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
