//! The user's terminal: lines, single keys, an editor and a progress bar, all on standard error; and the pager (`PAGER`)
//! for a list longer than the terminal.

use std::env;
use std::io::{self, BufRead, IsTerminal, Write, stderr, stdin, stdout};
use std::process::{Command, Stdio, exit};
use std::sync::{Mutex, Once};
use std::time::Duration;

use console::{Key, Term};
use exitsite::command::Terminal;
use exitsite::day::Instant;
use exitsite::problem::Failure;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rustix::process::{Signal, getpid, kill_process};
use rustix::termios::{QueueSelector, tcflush};
use signal_hook::consts::SIGINT;
use signal_hook::iterator::Signals;

/// A progress bar appears only if the work takes longer than this.
const BAR_AFTER: Duration = Duration::from_millis(500);

/// Standard input and standard error, if both are a terminal.
#[derive(Debug, Default)]
pub(crate) struct Seat {
    bar: Mutex<Option<(std::time::Instant, ProgressBar)>>,
}

impl Seat {
    /// Returns the terminal, if there is one for questions.
    pub(crate) fn taken() -> Option<Seat> {
        (stdin().is_terminal() && stderr().is_terminal()).then(Seat::default)
    }
}

/// The text displayed when the user stops the program.
static LAST_WORDS: Mutex<String> = Mutex::new(String::new());

/// The exit status after Ctrl-C, as in a shell.
const INTERRUPTED: i32 = 130;

/// Exits as Ctrl-C does while a line is typed.
fn interrupt() -> ! {
    _ = kill_process(getpid(), Signal::INT);
    loop {
        std::thread::park();
    }
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
        show(question)?;
        let mut line = String::new();
        match stdin().lock().read_line(&mut line) {
            Ok(1..) => Some(line.trim_end_matches(['\r', '\n']).to_owned()),
            _ => {
                // Further output starts on its own line.
                _ = writeln!(stderr());
                None
            }
        }
    }

    fn drop_typed_ahead(&self) {
        _ = tcflush(stdin(), QueueSelector::IFlush);
    }

    fn key(&self, question: &str) -> Option<char> {
        // A key answers the question displayed before it was typed, never a later one.
        self.drop_typed_ahead();
        show(question)?;
        let key = Term::stderr().read_key_raw().ok()?;
        if key == Key::CtrlC {
            interrupt();
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
        static WATCHED: Once = Once::new();
        if let Ok(mut last) = LAST_WORDS.lock() {
            text.clone_into(&mut last);
        }
        WATCHED.call_once(|| {
            let Ok(mut signals) = Signals::new([SIGINT]) else { return };
            std::thread::spawn(move || {
                if signals.forever().next().is_some() {
                    let last = LAST_WORDS.lock().map(|text| text.clone()).unwrap_or_default();
                    _ = writeln!(stderr(), "\n{last}");
                    exit(INTERRUPTED);
                }
            });
        });
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
            Ok(_) => Err(Failure::new("the editor exited without saving; nothing was written")),
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
