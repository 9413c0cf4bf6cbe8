//! The message after Ctrl-C: the records on file, the call that was dropped, and how to resume.

use super::Walk;
use super::call::Call;
use crate::command::consent::STOPPED;

impl Walk<'_> {
    /// Sets the message while no call is being recorded, and during a write.
    pub(super) fn stops_between_calls(&self) {
        self.terminal.on_interrupt(&stopped(&self.written.borrow(), ""));
    }

    /// Sets the message while a call is being recorded.
    pub(super) fn stops_in_call(&self, call: &Call, code: &str) {
        let dropped = match call.with.as_deref() {
            Some("patient") => format!(" The call with {code} was not written."),
            None | Some("other") => format!(" The call for {code} was not written."),
            Some(with) => format!(" The call with {with} about {code} was not written."),
        };
        self.terminal.on_interrupt(&stopped(&self.written.borrow(), &dropped));
    }
}

/// Without a record on file nothing was written, so the call is not named.
fn stopped(written: &[String], dropped: &str) -> String {
    match written {
        [] => format!("{STOPPED} Run `exitsite round` to start again."),
        files => format!(
            "exitsite: stopped. Written in this round and on file: {}.{dropped} Run `exitsite round` to continue with the patients not called today.",
            files.join(", ")
        ),
    }
}
