//! The history as text: time, person, action, record, and delay.

use super::{TextStyle, paragraph, table, unusable};
use crate::report::Report;
use crate::report::history::{Action, HistoryReport, HistoryRow};
use crate::text::{count, visible};

/// Renders the history: violations first, then the totals, then each entry.
pub(crate) fn history(report: &Report<HistoryReport>, look: TextStyle) -> String {
    let mut out = unusable(look, &report.unusable);
    let body = &report.body;
    out.push_str(&paragraph(look, &sum(body)));
    if !body.kept_by_git {
        out.push_str(&paragraph(look, "Not in git: the history shows only what the records state."));
    }
    if body.rows.is_empty() {
        return out;
    }
    out.push('\n');
    let rows = body.rows.iter().map(|row| vec![when(row), who(row), what(row, body.kept_by_git)]).collect();
    out.push_str(&table(look, &["when", "by", "what"], rows));
    out
}

/// Counts the entries by action: violations, then the others, then late ones.
fn sum(body: &HistoryReport) -> String {
    let days = body.period.map(|days| format!(" from {} to {}", days.from, days.to)).unwrap_or_default();
    if body.rows.is_empty() {
        return format!("No entries{days}.");
    }
    let counted = |action: Action| body.rows.iter().filter(|row| row.action == action).count() as i64;
    let words = |actions: &[Action]| {
        let counted = actions.iter().map(|action| (counted(*action), *action)).filter(|(count, _)| *count > 0);
        counted.map(|(count, action)| format!("{count} {}", named(action))).collect::<Vec<_>>().join(", ")
    };
    let against = words(&[Action::Edited, Action::Deleted]);
    let against = if against.is_empty() { against } else { format!("Check these first: {against}. ") };
    let usual =
        words(&[Action::Recorded, Action::Amended, Action::Voided, Action::Filled, Action::Mended, Action::Renamed]);
    let usual = if usual.is_empty() { usual } else { format!(": {usual}") };
    let is_late =
        |row: &&HistoryRow| row.late_minutes.is_some_and(|minutes| minutes >= 1440) || row.late_days >= Some(1);
    let late = body.rows.iter().filter(is_late).count() as i64;
    let late = if late > 0 { format!("; {late} a day or more after the event") } else { String::new() };
    let entries = match body.rows.len() {
        1 => "1 entry".to_owned(),
        n => format!("{n} entries"),
    };
    format!("{against}{entries}{days}{usual}{late}.")
}

/// Names an action in a nurse's words.
fn named(action: Action) -> String {
    match action {
        Action::Edited => "edited without an amendment".to_owned(),
        Action::Deleted => "deleted instead of voided".to_owned(),
        Action::Filled => "completed".to_owned(),
        action => action.to_string(),
    }
}

fn when(row: &HistoryRow) -> String {
    row.at.map_or("-".to_owned(), |at| at.minute())
}

fn who(row: &HistoryRow) -> String {
    row.by.as_ref().map_or("-".to_owned(), |by| visible(by))
}

fn what(row: &HistoryRow, kept_by_git: bool) -> String {
    let mut words = vec![named(row.action)];
    words.extend(late(row));
    if !row.keys.is_empty() {
        words.push(visible(&row.keys.join(", ")));
    }
    let new_name = row.renamed_to.as_ref().and_then(|path| path.rsplit('/').next());
    words.extend(new_name.map(|name| format!("to {}", visible(name))));
    words.extend(row.why.as_ref().map(|why| visible(why)));
    if kept_by_git {
        words.push(row.commit.clone().unwrap_or_else(|| "not committed".to_owned()));
    }
    format!("{}\n{}", words.join(" · "), visible(&row.file))
}

/// Formats the delay of an entry; `None` within the hour, or on the same day if the event has no time.
fn late(row: &HistoryRow) -> Option<String> {
    match (row.late_minutes, row.late_days) {
        (Some(minutes @ 2880..), _) => Some(format!("{} late", count(minutes / 1440, "day"))),
        (Some(minutes @ 60..), _) => Some(format!("{} h late", minutes / 60)),
        (_, Some(days @ 1..)) => Some(format!("{} late", count(days, "day"))),
        _ => None,
    }
}
