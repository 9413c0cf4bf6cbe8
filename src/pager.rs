//! The user's pager (`PAGER`), for a list that is longer than the terminal.

use std::env;
use std::io::{self, IsTerminal, Write, stdout};
use std::process::{Command, Stdio};

/// Shows a text through the pager. `None` where it is printed as it is: standard output is no terminal, there is no pager,
/// or the terminal is high enough.
pub(crate) fn show(text: &str) -> Option<io::Result<()>> {
    let pager = env::var("PAGER").ok().filter(|pager| !pager.trim().is_empty())?;
    let size = stdout().is_terminal().then(|| terminal_size::terminal_size_of(stdout())).flatten();
    let (_, height) = size?;
    if text.lines().count() < usize::from(height.0) {
        return None;
    }
    let mut command = Command::new("sh");
    command.arg("-c").arg(&pager).stdin(Stdio::piped());
    // `less` shows bold as bold, and ends by itself where the list fits after all.
    if env::var_os("LESS").is_none() {
        command.env("LESS", "FRX");
    }
    let mut child = command.spawn().ok()?;
    let written = child.stdin.take().map_or(Ok(()), |mut stdin| stdin.write_all(text.as_bytes()));
    Some(child.wait().and(written))
}
