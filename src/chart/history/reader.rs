//! The event files of a patient or a staff member, read one by one within a common size limit.

use std::collections::VecDeque;
use std::sync::Arc;

use crate::day::Calendar;
use crate::event::{Event, EventName};
use crate::folder::{CodeFolder, Folder};
use crate::place::RecordText;
use crate::problem::{Problem, Rule, count_repeats};

/// The maximum total size of one owner's files. Ten years of ten records a day need half of it.
const MOST_BYTES: usize = 32 * 1024 * 1024;

/// The text of a file, or the problem that makes it unreadable.
type FileRead = Result<Arc<RecordText>, Box<Problem>>;

/// A reader of one owner's files.
#[derive(Debug)]
pub(in crate::chart) struct Reader<'a> {
    pub(super) folder: &'a Folder,
    /// The bytes read so far.
    bytes: usize,
    /// Files that were read ahead and not used yet, in the order in which they will be.
    fetched: VecDeque<(EventName, FileRead)>,
}

/// The maximum number of files read in parallel.
const MOST_TOGETHER: usize = 64;

impl<'a> Reader<'a> {
    /// A reader that has not read anything yet.
    pub(in crate::chart) fn of(folder: &'a Folder) -> Self {
        Reader { folder, bytes: 0, fetched: VecDeque::new() }
    }

    /// Reads the first of an owner's files in parallel, since all of them will be needed; returns how many.
    pub(in crate::chart) fn fetch(&mut self, own: &CodeFolder, names: &[EventName]) -> usize {
        let names = &names[..names.len().min(MOST_TOGETHER)];
        if self.bytes <= MOST_BYTES {
            let read = self.folder.read_all(names.iter().map(|name| name.path(&own.path)).collect());
            self.fetched = names.iter().copied().zip(read).collect();
        }
        names.len()
    }

    /// The event of a name in an owner's folder; `None` if unreadable.
    pub(in crate::chart) fn read(
        &mut self,
        own: &CodeFolder,
        name: EventName,
        calendar: &Calendar,
        problems: &mut Vec<Problem>,
    ) -> Option<Event> {
        if self.bytes > MOST_BYTES {
            problems.push(too_much(&name.path(&own.path)));
            return None;
        }
        let begun = problems.len();
        let place = self.fetched.iter().position(|(fetched, _)| *fetched == name);
        let source = match place.and_then(|place| self.fetched.remove(place)) {
            Some((_, Ok(source))) => source,
            Some((_, Err(problem))) => {
                problems.push(*problem);
                return None;
            }
            None => self.folder.read(&name.path(&own.path), problems)?,
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
