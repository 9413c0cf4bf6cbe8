//! The user's terminal: lines, single keys, an editor and a progress bar, all on standard error; and the pager (`PAGER`)
//! for a list longer than the terminal.

use std::env;
use std::io::{self, IsTerminal, Read, Write, stderr, stdin, stdout};
use std::os::unix::net::UnixStream;
use std::process::{Command, Stdio, exit};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{LazyLock, Mutex};
use std::time::Duration;

use console::{Key, Term};
use exitsite::command::Terminal;
use exitsite::day::Instant;
use exitsite::problem::Failure;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rustix::event::{PollFd, PollFlags, poll};
use rustix::io::Errno;
use rustix::termios::{QueueSelector, tcflush};
use signal_hook::consts::SIGINT;
use signal_hook::iterator::Signals;

/// A progress bar appears only if the work takes longer than this.
const BAR_AFTER: Duration = Duration::from_millis(500);

/// Standard input and standard error, if both are a terminal.
#[derive(Debug, Default)]
pub(crate) struct Seat {
    bar: Mutex<Option<(std::time::Instant, ProgressBar)>>,
    /// True if the last line was not read because of Ctrl-C.
    interrupted: AtomicBool,
}

impl Seat {
    /// Returns the terminal, if there is one for questions.
    pub(crate) fn taken() -> Option<Seat> {
        (stdin().is_terminal() && stderr().is_terminal()).then(Seat::default)
    }
}

/// The text displayed when the user stops the program; empty during a write, `None` before the first question.
static LAST_WORDS: Mutex<Option<String>> = Mutex::new(None);

/// The text displayed if the command sets none.
const STOPPED: &str = "exitsite: stopped. Nothing was written.";

/// The exit status after Ctrl-C, as in a shell.
const INTERRUPTED: i32 = 130;

/// True while a Ctrl-C waits for the next question.
static IS_INTERRUPTED: AtomicBool = AtomicBool::new(false);

/// The end of the pipe at which a Ctrl-C arrives; `None` if the system refuses it.
///
/// The first Ctrl-C is answered by the question that waits, or by the next one, so that no answer is lost unasked. A
/// second one before that, or one during a write, exits.
static CTRL_C: LazyLock<Option<UnixStream>> = LazyLock::new(|| {
    let mut signals = Signals::new([SIGINT]).ok()?;
    let (heard, mut sent) = UnixStream::pair().ok()?;
    heard.set_nonblocking(true).ok()?;
    std::thread::spawn(move || {
        for _ in signals.forever() {
            let is_writing = LAST_WORDS.lock().is_ok_and(|text| text.as_deref() == Some(""));
            if is_writing || IS_INTERRUPTED.swap(true, Ordering::SeqCst) || sent.write_all(b"c").is_err() {
                leave();
            }
        }
    });
    Some(heard)
});

/// Exits after Ctrl-C, with the text set for it.
fn leave() -> ! {
    let last = LAST_WORDS.lock().ok().and_then(|text| text.clone());
    _ = writeln!(stderr(), "\n{}", last.as_deref().unwrap_or(STOPPED));
    exit(INTERRUPTED);
}

/// Reads a line from the terminal; `None` at the end of input and after Ctrl-C.
fn line() -> Option<String> {
    let (input, ctrl_c) = (stdin(), CTRL_C.as_ref());
    let mut line = Vec::new();
    while !line.ends_with(b"\n") {
        let mut sources = vec![PollFd::new(&input, PollFlags::IN)];
        sources.extend(ctrl_c.map(|heard| PollFd::new(heard, PollFlags::IN)));
        match poll(&mut sources, None) {
            Ok(_) => {}
            Err(Errno::INTR) => continue,
            Err(_) => return None,
        }
        if sources.get(1).is_some_and(|heard| !heard.revents().is_empty()) {
            return None;
        }
        let mut bytes = [0; 4096];
        match rustix::io::read(&input, &mut bytes) {
            Ok(0) | Err(_) => return None,
            Ok(n) => line.extend_from_slice(&bytes[..n]),
        }
    }
    Some(String::from_utf8_lossy(&line).trim_end_matches(['\r', '\n']).to_owned())
}

/// Displays a question; `None` if the terminal is gone, so that no answer can come.
fn show(question: &str) -> Option<()> {
    write!(stderr(), "{question} ").and_then(|()| stderr().flush()).ok()
}

impl Terminal for Seat {
    fn now(&self) -> Instant {
        chrono::Utc::now()
    }

    fn say(&self, text: &str) {
        _ = writeln!(stderr(), "{}", text.trim_end_matches('\n'));
    }

    fn ask(&self, question: &str) -> Option<String> {
        self.interrupted.store(false, Ordering::SeqCst);
        show(question)?;
        let line = line();
        if line.is_none() {
            if let Some(mut heard) = CTRL_C.as_ref().filter(|_| IS_INTERRUPTED.swap(false, Ordering::SeqCst)) {
                self.interrupted.store(true, Ordering::SeqCst);
                _ = heard.read(&mut [0; 16]);
            }
            // Further output starts on its own line.
            _ = writeln!(stderr());
        }
        line
    }

    fn is_interrupted(&self) -> bool {
        self.interrupted.load(Ordering::SeqCst)
    }

    fn interrupt(&self) {
        leave();
    }

    fn drop_typed_ahead(&self) {
        _ = tcflush(stdin(), QueueSelector::IFlush);
    }

    fn key(&self, question: &str) -> Option<char> {
        // A key answers the question displayed before it was typed, never a later one.
        self.drop_typed_ahead();
        show(question)?;
        if IS_INTERRUPTED.load(Ordering::SeqCst) {
            leave();
        }
        let key = Term::stderr().read_key_raw().ok()?;
        if key == Key::CtrlC {
            leave();
        }
        let typed = match key {
            Key::Char(typed) => Some(typed),
            Key::Enter => Some('\n'),
            Key::Escape => Some('\u{1b}'),
            _ => Some('\0'),
        };
        let shown = typed.filter(|typed| !typed.is_control()).map(String::from).unwrap_or_default();
        _ = writeln!(stderr(), "{shown}");
        typed
    }

    fn on_interrupt(&self, text: &str) {
        if let Ok(mut last) = LAST_WORDS.lock() {
            *last = Some(text.to_owned());
        }
        LazyLock::force(&CTRL_C);
    }

    fn edit(&self, text: &str) -> Result<String, Failure> {
        let failed = |error: std::io::Error| Failure::new(format!("the editor could not be run: {error}"));
        let mut file = tempfile::Builder::new().prefix("exitsite-").suffix(".toml").tempfile().map_err(failed)?;
        file.write_all(text.as_bytes()).map_err(failed)?;
        let editor = ["VISUAL", "EDITOR"]
            .iter()
            .find_map(|name| env::var(name).ok().filter(|editor| !editor.trim().is_empty()))
            .unwrap_or_else(|| "vi".to_owned());
        // The variable may contain arguments, split as by a shell.
        let run = Command::new("sh").arg("-c").arg(format!("{editor} \"$1\"")).arg("sh").arg(file.path()).status();
        match run {
            Ok(status) if status.success() => std::fs::read_to_string(file.path()).map_err(failed),
            Ok(_) => Err(Failure::unwritten("the editor exited without saving")),
            Err(error) => Err(failed(error)),
        }
    }

    fn progress(&self, what: &str, done: usize, of: usize) {
        let Ok(mut bar) = self.bar.lock() else { return };
        let (begun, shown) = bar.get_or_insert_with(|| {
            let bar = ProgressBar::with_draw_target(Some(of as u64), ProgressDrawTarget::hidden());
            let form = if of == 0 { "{msg} {elapsed}" } else { "{msg} {bar:30} {pos} of {len}" };
            let style = ProgressStyle::with_template(form);
            (std::time::Instant::now(), style.map_or(bar.clone(), |style| bar.with_style(style)))
        });
        if begun.elapsed() > BAR_AFTER && shown.is_hidden() {
            shown.set_draw_target(ProgressDrawTarget::stderr());
        }
        shown.set_message(what.to_owned());
        shown.set_position(done as u64);
        shown.tick();
    }

    fn end_progress(&self) {
        let Ok(mut bar) = self.bar.lock() else { return };
        if let Some((_, shown)) = bar.take() {
            shown.finish_and_clear();
        }
    }
}

/// Displays a text through the pager. `None` if it should be printed directly: standard output is not a terminal, there
/// is no pager, or the text fits the terminal.
pub(crate) fn paged(text: &str) -> Option<io::Result<()>> {
    let pager = env::var("PAGER").ok().filter(|pager| !pager.trim().is_empty())?;
    let size = stdout().is_terminal().then(|| terminal_size::terminal_size_of(stdout())).flatten();
    let (_, height) = size?;
    if text.lines().count() < usize::from(height.0) {
        return None;
    }
    let mut command = Command::new("sh");
    command.arg("-c").arg(&pager).stdin(Stdio::piped());
    // `less` keeps bold, and exits immediately if the list fits after all.
    if env::var_os("LESS").is_none() {
        command.env("LESS", "FRX");
    }
    let mut child = command.spawn().ok()?;
    let written = child.stdin.take().map_or(Ok(()), |mut stdin| stdin.write_all(text.as_bytes()));
    // A pager that fails may have displayed nothing, or only a part: the list is printed directly.
    match child.wait() {
        Ok(status) if status.success() => Some(written),
        _ => None,
    }
}
