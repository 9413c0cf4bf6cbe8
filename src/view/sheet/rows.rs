//! A household's log as CSV with the columns that `import` reads: one row per day to fill in, and some spare rows.

use chrono::NaiveDate;

use crate::entry::paper::COLUMNS;
use crate::report::sheet::MonthLog;
use crate::view::sheet::words;

/// The number of spare rows without a date per exit site, since a day can have both a shower and a change.
const SPARE: usize = 10;

/// Renders the rows: only days on which a change can be expected, with the exit site if there are several.
pub(crate) fn rows(log: &MonthLog) -> String {
    let names_exit = log.exits.len() > 1;
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut write = |[patient, date, exit]: [&str; 3], cells: Vec<&str>| {
        let first = [patient, date].into_iter().chain(names_exit.then_some(exit));
        // Writing to memory does not fail.
        _ = writer.write_record(first.chain(cells));
    };
    write(["patient", "date", "exit"], COLUMNS.iter().map(|column| column.key).collect());
    for exit in &log.exits {
        let days = exit.days.iter().filter(|day| !words::is_out(day)).map(|day| Some(day.day));
        for day in days.chain(std::iter::repeat_n(None, SPARE)) {
            let date = day.map(|day: NaiveDate| day.to_string()).unwrap_or_default();
            write([&log.patient, &date, &exit.exit], vec![""; COLUMNS.len()]);
        }
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}
