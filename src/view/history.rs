//! The history for a person: when, who, what was done to which record, and how late.

use super::{Look, paragraph, table, unusable};
use crate::report::Report;
use crate::report::history::{Action, HistoryReport, Row};
use crate::text::{count, visible};

/// The history.
pub(crate) fn history(report: &Report<HistoryReport>, look: Look) -> String {
    let mut out = unusable(look, &report.unusable);
    let body = &report.body;
    if !body.kept_by_git {
        out.push_str(&paragraph(look, "Without git: what the records say of themselves, and no more."));
        out.push('\n');
    }
    if body.rows.is_empty() {
        out.push_str(&match &body.period {
            Some(period) => format!("Nothing was recorded from {} to {}.\n", period.from, period.to),
            None => "Nothing was recorded.\n".to_owned(),
        });
        return out;
    }
    let rows = body.rows.iter().map(|row| vec![when(row), who(row), what(row, body.kept_by_git)]).collect();
    out.push_str(&table(look, &["when", "by", "what"], rows));
    out
}

fn when(row: &Row) -> String {
    row.at.map_or("-".to_owned(), |at| at.minute())
}

fn who(row: &Row) -> String {
    row.by.as_ref().map_or("-".to_owned(), |by| visible(by))
}

fn what(row: &Row, kept_by_git: bool) -> String {
    let mut words = vec![match row.action {
        Action::Edited => "edited without an amendment".to_owned(),
        Action::Deleted => "deleted instead of voided".to_owned(),
        action => action.to_string(),
    }];
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

/// How late a record was written; nothing within the hour, or for an event of a day on that day.
fn late(row: &Row) -> Option<String> {
    match (row.late_minutes, row.late_days) {
        (Some(minutes @ 2880..), _) => Some(format!("{} late", count(minutes / 1440, "day"))),
        (Some(minutes @ 60..), _) => Some(format!("{} h late", minutes / 60)),
        (_, Some(days @ 1..)) => Some(format!("{} late", count(days, "day"))),
        _ => None,
    }
}
