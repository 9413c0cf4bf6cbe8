//! The alerts of earlier runs, in the `--state` file. If it cannot be read, all alerts are sent again, with a remark.
//!
//! A file that may belong to another program or person is neither moved nor replaced; nothing is saved then.

use std::path::Path;

use crate::alert::Memory;
use crate::day::Instant;
use crate::folder::{Marker, StateFile};
use crate::problem::Failure;

/// The alerts of earlier runs, and their file.
pub(super) struct Remembered {
    /// The alerts sent.
    pub(super) memory: Memory,
    /// The state file; `None` if nothing is saved.
    file: Option<StateFile>,
    /// The file for the time of a run, if the state cannot be saved.
    marker: Option<Marker>,
    /// True if earlier alerts should be known but are not.
    pub(super) is_lost: bool,
    /// The reason that the state of this run is not saved.
    pub(super) unkept: Option<String>,
    /// Failures, for standard error.
    pub(super) said: Vec<String>,
}

impl Remembered {
    /// Reads a state file, and locks it until this run ends.
    ///
    /// # Errors
    /// Another run is sending.
    pub(super) fn open(
        path: Option<&Path>,
        is_dry_run: bool,
        records: Option<&Path>,
        temporary: Option<&Path>,
    ) -> Result<Remembered, Failure> {
        let mut remembered = Remembered {
            memory: Memory::default(),
            file: None,
            marker: None,
            is_lost: false,
            unkept: None,
            said: Vec::new(),
        };
        let Some(path) = path else { return Ok(remembered) };
        remembered.marker = temporary.map(|temporary| Marker::of(path, temporary));
        if let Err(failure) = StateFile::may_be_at(path, records) {
            remembered.is_lost = true;
            remembered.fails(&failure);
            return Ok(remembered);
        }
        if let Err((failure, false)) = read(&StateFile::looked_at(path), path) {
            remembered.is_foreign(&failure);
            return Ok(remembered);
        }
        let file = match is_dry_run {
            true => StateFile::looked_at(path),
            false => match StateFile::locked(path) {
                Ok(Some(file)) => file,
                Ok(None) => {
                    let shown = path.display();
                    return Err(Failure::new(format!(
                        "another run is sending (it holds {shown}.lock); this run sent nothing"
                    )));
                }
                // Without a state the alerts are sent anyway.
                Err(failure) => {
                    remembered.fails(&failure);
                    StateFile::looked_at(path)
                }
            },
        };
        let can_be_kept = !is_dry_run && remembered.unkept.is_none();
        match read(&file, path) {
            Ok(memory) => {
                remembered.memory = memory;
                if remembered.unkept.is_some() {
                    remembered.goes_unkept();
                }
            }
            Err((failure, false)) => remembered.is_foreign(&failure),
            Err((failure, true)) => {
                remembered.is_lost = true;
                let what = format!("earlier alerts are unknown, so all are repeated: {failure}");
                match can_be_kept.then(|| file.set_aside()) {
                    Some(Ok(aside)) => remembered.say(&format!("{what}; it is kept as {}", aside.display())),
                    Some(Err(failure)) => {
                        remembered.say(&what);
                        remembered.fails(&failure);
                    }
                    None => remembered.say(&what),
                }
            }
        }
        remembered.file = Some(file).filter(|_| !is_dry_run && remembered.unkept.is_none());
        Ok(remembered)
    }

    /// Saves the state. A call before the first message detects that nothing can be saved, as on a full disk.
    pub(super) fn save(&mut self, now: Instant) {
        let saved = self.file.as_ref().map_or(Ok(()), |file| file.save(&self.memory.text(now)));
        if let Err(failure) = saved {
            self.fails(&failure);
        }
    }

    /// Repeats all alerts and saves nothing, since the file may belong to someone else.
    fn is_foreign(&mut self, failure: &Failure) {
        self.is_lost = true;
        let what =
            "the file may belong to someone else, so it is unchanged; name another file with --state, or move it";
        self.fails(&Failure::new(format!("{failure}; {what}")));
    }

    fn fails(&mut self, failure: &Failure) {
        if self.unkept.is_none() {
            self.say(&format!("alerts of this run will be repeated: {failure}"));
            self.unkept = Some(failure.to_string());
            self.goes_unkept();
            self.file = None;
        }
    }

    fn goes_unkept(&mut self) {
        let last_run = self.marker.as_ref().and_then(Marker::last_run);
        self.memory.goes_unkept(last_run);
    }

    /// Saves the time of a complete run, if nothing else can be saved.
    pub(super) fn has_told(&self, now: Instant) {
        if let Some(marker) = self.marker.as_ref().filter(|_| self.unkept.is_some()) {
            marker.keep(now);
        }
    }

    fn say(&mut self, what: &str) {
        self.said.push(what.to_owned());
    }

    /// The failures as one line for standard error; empty if the same line was printed recently.
    pub(super) fn line(&mut self, more: Option<String>, repeat_hours: i64, now: Instant) -> String {
        self.said.extend(more);
        if self.said.is_empty() {
            return String::new();
        }
        let line = self.said.join("; ");
        if self.file.is_some() && !self.memory.prints(&line, repeat_hours, now) {
            return String::new();
        }
        format!("exitsite: {line}\n")
    }
}

/// Reads a state file. A failure comes with true if the file is a state file.
fn read(file: &StateFile, path: &Path) -> Result<Memory, (Failure, bool)> {
    let Some(text) = file.read().map_err(|failure| (failure, false))? else { return Ok(Memory::default()) };
    let is_json_by_name = path.extension().is_some_and(|ending| ending == "json");
    let why = |why| (Failure::new(format!("{}: {why}", path.display())), Memory::is_ours(&text, is_json_by_name));
    Memory::read(&text).map_err(why)
}
