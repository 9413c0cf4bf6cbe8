//! The event files of one patient or of one of the staff, read one by one within a limit for all of them together.

use crate::day::Calendar;
use crate::event::{Event, EventName};
use crate::folder::{CodeFolder, Folder};
use crate::problem::{Problem, Rule, count_repeats};

/// The most bytes of one owner's files that are read. Ten years of ten records a day take half of it.
const MOST_BYTES: usize = 32 * 1024 * 1024;

/// A reader of one owner's files.
#[derive(Debug)]
pub(in crate::chart) struct Reader<'a> {
    pub(super) folder: &'a Folder,
    /// The bytes read so far.
    bytes: usize,
}

impl<'a> Reader<'a> {
    /// A reader that has read nothing.
    pub(in crate::chart) fn of(folder: &'a Folder) -> Self {
        Reader { folder, bytes: 0 }
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
        let source = self.folder.read(&file, problems)?;
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
