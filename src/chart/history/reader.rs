//! The event files of one patient or of one of the staff, read one by one within a limit for all of them together.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::day::Calendar;
use crate::event::{Event, EventName};
use crate::folder::{CodeFolder, Folder};
use crate::place::RecordText;
use crate::problem::{Problem, Rule, count_repeats};

/// The most bytes of one owner's files that are read. Ten years of ten records a day take half of it.
const MOST_BYTES: usize = 32 * 1024 * 1024;

/// A reader of one owner's files.
#[derive(Debug)]
pub(in crate::chart) struct Reader<'a> {
    pub(super) folder: &'a Folder,
    /// The bytes read so far.
    bytes: usize,
    /// Files that were read together, and not yet asked for.
    fetched: BTreeMap<String, Result<Arc<RecordText>, Box<Problem>>>,
}

/// The most files that are read together.
const MOST_TOGETHER: usize = 64;

impl<'a> Reader<'a> {
    /// A reader that has read nothing.
    pub(in crate::chart) fn of(folder: &'a Folder) -> Self {
        Reader { folder, bytes: 0, fetched: BTreeMap::new() }
    }

    /// Reads the first of some files of an owner side by side, since they will all be asked for; returns how many.
    pub(in crate::chart) fn fetch(&mut self, own: &CodeFolder, names: &[EventName]) -> usize {
        let file = |name: &EventName| format!("{}/{}/{name}", own.path, name.year());
        let files: Vec<String> = names.iter().take(MOST_TOGETHER).map(file).collect();
        if self.bytes <= MOST_BYTES {
            let read = self.folder.read_all(&files);
            self.fetched = files.iter().cloned().zip(read).collect();
        }
        files.len()
    }

    /// The event of a name in an owner's folder; `None` if it cannot be used.
    pub(in crate::chart) fn read(
        &mut self,
        own: &CodeFolder,
        name: EventName,
        calendar: &Calendar,
        problems: &mut Vec<Problem>,
    ) -> Option<Event> {
        let file = format!("{}/{}/{name}", own.path, name.year());
        if self.bytes > MOST_BYTES {
            problems.push(too_much(&file));
            return None;
        }
        let begun = problems.len();
        let source = match self.fetched.remove(&file) {
            Some(Ok(source)) => source,
            Some(Err(problem)) => {
                problems.push(*problem);
                return None;
            }
            None => self.folder.read(&file, problems)?,
        };
        self.bytes += source.text.len();
        let event = Event::read(&source, name, calendar, problems);
        count_repeats(problems, begun);
        event
    }
}

fn too_much(file: &str) -> Problem {
    let message = format!("the records of this folder are larger than {} MiB together", MOST_BYTES / (1024 * 1024));
    Problem::of_file(Rule::TooLarge, file, message, "a record is a few lines; look for large files in this folder")
}
