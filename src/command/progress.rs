//! Long work shows itself: a bar on the terminal once it takes half a second, and none in a pipe.

use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

use super::Context;
use crate::program::Program;

/// The interval at which the bar is drawn.
const EVERY: Duration = Duration::from_millis(100);

/// Does the work, and shows on the terminal how many of the patients have been read; `patients` is 0 if that is not known.
pub(super) fn while_reading<R>(
    context: &Context,
    program: &Program,
    what: &str,
    patients: usize,
    work: impl FnOnce() -> R,
) -> R {
    let Some(terminal) = context.surroundings.terminal else { return work() };
    let folder = &program.folder;
    let before = folder.patients_read();
    let result = std::thread::scope(|scope| {
        let (working, waits) = channel::<()>();
        scope.spawn(move || {
            while waits.recv_timeout(EVERY) == Err(RecvTimeoutError::Timeout) {
                terminal.progress(what, folder.patients_read() - before, patients);
            }
        });
        let result = work();
        drop(working);
        result
    });
    terminal.end_progress();
    result
}
