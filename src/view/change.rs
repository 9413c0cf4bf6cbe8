//! The preview of a changed file: the patient, the differences, and their effect on the schedule.

use chrono::NaiveDate;

use super::day::day_and_time;
use super::round::reported;
use super::{TextStyle, due, grade, hanging, paragraph};
use crate::day::WallTime;
use crate::entry::Changed;
use crate::event::EventName;
use crate::report::due::Row;
use crate::schedule::ChangeTrigger;
use crate::score::{CAUTION, ScoredSite};
use crate::text::{count, visible};

/// Names the patient and the record.
///
/// ```text
/// P-014 · change of 2026-11-23 18:55
/// P-014 · change of 2026-11-23, no. 2
/// ```
pub(crate) fn whom(code: &str, name: EventName) -> String {
    let time = name.time.map(|time| time.format(" %H:%M").to_string()).unwrap_or_default();
    let n = if name.n > 1 { format!(", no. {}", name.n) } else { String::new() };
    format!("{code} · {} of {}{time}{n}", name.kind, name.date)
}

/// Lists the differences, one line per key.
pub(crate) fn changes(changed: &[Changed], look: TextStyle) -> String {
    changed.iter().map(|changed| hanging(look, &format!("  {}", changed.words()), "    ")).collect()
}

/// Describes the effect on the schedule, one line per exit site.
pub(crate) fn schedule(before: &[Row], after: &[Row], look: TextStyle) -> String {
    let line = |row: &Row| {
        if row.site().is_none() {
            return hanging(look, &format!("  {}", visible(&due::schedule_reason(row))), "    ");
        }
        let was = before.iter().find(|was| was.exit() == row.exit()).map(due::state);
        let exit = row.exit().filter(|_| after.len() > 1);
        let exit = exit.map(|exit| format!("exit {}: ", visible(exit))).unwrap_or_default();
        let is = due::state(row);
        let moved = match was {
            Some(was) if was == is => format!("schedule unchanged: {is}"),
            Some(was) => format!("schedule: was {was}, now {is}"),
            None => is,
        };
        hanging(look, &format!("  {exit}{moved} ({})", visible(&due::schedule_reason(row))), "    ")
    };
    let gone = before.iter().filter(|was| !after.iter().any(|row| row.exit() == was.exit()));
    let gone = gone.filter_map(Row::exit);
    let gone = gone.map(|exit| format!("  exit {}: no longer followed\n", visible(exit)));
    after.iter().map(line).chain(gone).collect()
}

/// Describes an overdue change that a change of course takes off the list, now or from a day on.
pub(crate) fn overdue_off(exit: &str, hours: i64, from: Option<NaiveDate>) -> String {
    let late = count(hours, "hour");
    format!("The change at exit {} is overdue by {late}. {}", visible(exit), off_the_list(from))
}

/// Describes a shower or damage without a change that a change of course takes off the list, now or from a day on.
pub(crate) fn clock_off(
    exit: &str,
    report: &ChangeTrigger,
    deadline: WallTime,
    today: NaiveDate,
    from: Option<NaiveDate>,
) -> String {
    let (what, by) = (reported(report, today), day_and_time(&deadline.into(), today));
    format!("{what}: the change at exit {} is due by {by}. {}", visible(exit), off_the_list(from))
}

fn off_the_list(from: Option<NaiveDate>) -> String {
    match from {
        None => "This takes it off the list.".to_owned(),
        Some(day) => format!("If it is not done by then, this takes it off the list on {day}."),
    }
}

/// Renders the score of a corrected record, and the caution about scores.
pub(crate) fn score(score: &ScoredSite, look: TextStyle) -> (String, String) {
    (hanging(look, &format!("  {}", grade::in_a_line(score)), "    "), paragraph(look, CAUTION))
}
