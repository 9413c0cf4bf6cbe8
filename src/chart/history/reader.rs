//! The event files of a patient or a staff member, read one by one within a common size limit.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::day::Calendar;
use crate::event::{Event, EventName};
use crate::folder::{CodeFolder, Folder};
use crate::place::RecordText;
use crate::problem::{Problem, Rule, count_repeats};

/// The maximum total size of one owner's files. Ten years of ten records a day need half of it.
const MOST_BYTES: usize = 32 * 1024 * 1024;

/// A reader of one owner's files.
#[derive(Debug)]
pub(in crate::chart) struct Reader<'a> {
    pub(super) folder: &'a Folder,
    /// The bytes read so far.
    bytes: usize,
    /// Files that were read ahead and not used yet.
    fetched: BTreeMap<String, Result<Arc<RecordText>, Box<Problem>>>,
}

/// The maximum number of files read in parallel.
const MOST_TOGETHER: usize = 64;

impl<'a> Reader<'a> {
    /// A reader that has not read anything yet.
    pub(in crate::chart) fn of(folder: &'a Folder) -> Self {
        Reader { folder, bytes: 0, fetched: BTreeMap::new() }
    }

    /// Reads the first of an owner's files in parallel, since all of them will be needed; returns how many.
    pub(in crate::chart) fn fetch(&mut self, own: &CodeFolder, names: &[EventName]) -> usize {
        let file = |name: &EventName| format!("{}/{}/{name}", own.path, name.year());
        let files: Vec<String> = names.iter().take(MOST_TOGETHER).map(file).collect();
        if self.bytes <= MOST_BYTES {
            let read = self.folder.read_all(&files);
            self.fetched = files.iter().cloned().zip(read).collect();
        }
        files.len()
    }

    /// The event of a name in an owner's folder; `None` if unreadable.
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
    let message = format!("the records in this folder exceed {} MiB in total", MOST_BYTES / (1024 * 1024));
    Problem::of_file(Rule::TooLarge, file, message, "a record is a few lines; look for large files in this folder")
}
