//! Who recorded, amended or voided what, and how late: from git and the records together.
//!
//! What a record says of itself comes first: `[entered]`, `[[amended]]` and `[void]` say who and when. Git adds the commit,
//! and what a record does not say: that it was edited, deleted or renamed.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, NaiveDateTime};
use schemars::JsonSchema;
use serde::Serialize;

use super::At;
use crate::check::{calendar, is_usable, owner, renames};
use crate::day::{AsOf, Calendar, Instant, Period};
use crate::folder::CodeFolder;
use crate::git::{Change, Commit, Repository, Step, Version};
use crate::ledger::{Deed, Facts, deeds, own_deeds};
use crate::program::Program;
use crate::record::facts;
use crate::word::words;

words! {
    /// What somebody did to a record.
    pub enum Action {
        /// Wrote it.
        Recorded = "recorded",
        /// Corrected it and said so.
        Amended = "amended",
        /// Took it back and said so.
        Voided = "voided",
        /// Filled in what came later: a result, a resolution, an end.
        Filled = "filled",
        /// Mended a file that could not be used.
        Mended = "mended",
        /// Gave it another file name.
        Renamed = "renamed",
        /// Changed it and did not say so.
        Edited = "edited",
        /// Deleted it instead of voiding it.
        Deleted = "deleted",
    }
}

/// The history of records.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HistoryReport {
    /// Whether git keeps the records; without it, only what they say of themselves is known.
    pub kept_by_git: bool,
    /// The period; null where everything was asked for.
    pub period: Option<Period>,
    /// What was done, newest first.
    pub rows: Vec<Row>,
}

/// One thing that was done to a record.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Row {
    /// When, as the record says, else when it was committed; null where neither is known.
    pub at: Option<At>,
    /// What.
    pub action: Action,
    /// The path relative to the records folder.
    pub file: String,
    /// The kind of the record.
    pub kind: Option<String>,
    /// Who, by code; null where the record does not say.
    pub by: Option<String>,
    /// When the event was, as the record says.
    pub event_at: Option<String>,
    /// From an event with a time to its record, in minutes.
    pub late_minutes: Option<i64>,
    /// From an event of a day to its record, in care days.
    pub late_days: Option<i64>,
    /// The keys that were filled or edited.
    pub keys: Vec<String>,
    /// The new path of a file that was renamed.
    pub renamed_to: Option<String>,
    /// Why it was amended or voided.
    pub why: Option<String>,
    /// The commit; null for what is not committed.
    pub commit: Option<String>,
    /// The commit's author as git has it; null for what is not committed.
    pub author: Option<String>,
    #[serde(skip)]
    instant: Option<Instant>,
    #[serde(skip)]
    happened: Option<Instant>,
}

/// The history as git and the records tell it.
pub fn of_git(
    program: &Program,
    repository: &Repository,
    steps: &[Step],
    as_of: AsOf,
    period: Option<Period>,
) -> HistoryReport {
    let mut told = Told { program, calendars: BTreeMap::new(), rows: Vec::new() };
    let text = |file: &str, version: &Option<Version>| program.folder.text_of(repository, file, version.as_ref()?);
    for step in steps {
        // In a merge, what differs from every side is its own; the rest was done in the commits that it joins.
        let Some((side, others)) = step.sides.split_first() else { continue };
        let is_own = |change: &&Change| others.iter().all(|other| other.changes.iter().any(|c| c.file == change.file));
        let commit = step.commit.as_ref();
        let state =
            |change: &Change, is_after: bool| text(&change.file, if is_after { &change.after } else { &change.before });
        let renamed = renames(side, state);
        let is_new_name = |change: &&Change| change.before.is_none() && renamed.values().any(|new| *new == change.file);
        for change in side.changes.iter().filter(is_own).filter(|change| !is_new_name(change)) {
            match (state(change, false), state(change, true)) {
                (None, Some(new)) if change.before.is_none() => told.recorded(&change.file, &new, commit),
                (None, Some(new)) => told.deed(&change.file, &new, Deed::Mended, commit),
                (Some(old), None) => told.gone(&change.file, renamed.get(change.file.as_str()), &old, commit),
                (Some(old), Some(new)) => told.changed(&change.file, &old, &new, commit),
                (None, None) => {}
            }
        }
    }
    told.report(true, as_of, period)
}

/// The history as the records alone tell it, of those below `path` or of all.
pub fn of_records(program: &Program, path: Option<&str>, as_of: AsOf, period: Option<Period>) -> HistoryReport {
    let mut told = Told { program, calendars: BTreeMap::new(), rows: Vec::new() };
    let is_wanted = |file: &str| path.is_none_or(|path| file == path || file.starts_with(&format!("{path}/")));
    let patients = program.patients.codes.iter().map(|code| format!("patients/{code}"));
    let staff = program.folder.staff().0.into_iter().map(|(_, folder)| folder.path);
    let is_above = |folder: &String| path.is_none_or(|path| owner(path) == folder);
    for folder in patients.chain(staff).filter(is_above) {
        let CodeFolder { path, years, .. } = program.folder.years(&folder);
        for year in years {
            let names = program.folder.year(&path, &year).events.into_iter();
            for file in names.map(|name| format!("{path}/{year}/{name}")).filter(|file| is_wanted(file)) {
                if let Some(source) = program.folder.read(&file, &mut Vec::new()) {
                    told.recorded(&file, &source.text, None);
                }
            }
        }
    }
    told.report(false, as_of, period)
}

/// What is told so far.
struct Told<'a> {
    program: &'a Program,
    calendars: BTreeMap<String, Calendar>,
    rows: Vec<Row>,
}

impl Told<'_> {
    /// A record that is new, with what it says was done to it since.
    fn recorded(&mut self, file: &str, text: &str, commit: Option<&Commit>) {
        let facts = facts(text).unwrap_or_default();
        let by = value(&facts, "entered.by").or_else(|| value(&facts, "by"));
        let entered = self.instant(file, facts.get("entered.at"));
        let mut row = self.row(Action::Recorded, file, &facts, entered, commit);
        row.by = by;
        let calendar = self.calendar(file);
        match (entered, row.happened, facts.get("on").and_then(|on| on.parse::<NaiveDate>().ok())) {
            (Some(entered), _, Some(on)) => row.late_days = Some((calendar.today(entered) - on).num_days()),
            (Some(entered), Some(happened), None) => row.late_minutes = Some((entered - happened).num_minutes()),
            _ => {}
        }
        self.rows.push(row);
        for deed in own_deeds(&facts) {
            self.deed(file, text, deed, commit);
        }
    }

    fn changed(&mut self, file: &str, old: &str, new: &str, commit: Option<&Commit>) {
        let was_usable = is_usable(file, old, self.calendar(file));
        for deed in deeds(old, was_usable, new) {
            self.deed(file, new, deed, commit);
        }
    }

    fn deed(&mut self, file: &str, text: &str, deed: Deed, commit: Option<&Commit>) {
        let facts = facts(text).unwrap_or_default();
        let (action, correction, keys) = match deed {
            Deed::Amended(row) => (Action::Amended, row, Vec::new()),
            Deed::Voided(void) => (Action::Voided, void, Vec::new()),
            Deed::Filled(keys) => (Action::Filled, Facts::new(), keys),
            Deed::Mended => (Action::Mended, Facts::new(), Vec::new()),
            Deed::Edited(keys) => (Action::Edited, Facts::new(), keys),
        };
        let at = self.instant(file, correction.get("at"));
        let row = self.row(action, file, &facts, at, commit);
        self.rows.push(Row { by: value(&correction, "by"), why: value(&correction, "why"), keys, ..row });
    }

    /// A file that is no longer there, but under another name.
    fn gone(&mut self, file: &str, new_name: Option<&&str>, text: &str, commit: Option<&Commit>) {
        let action = if new_name.is_some() { Action::Renamed } else { Action::Deleted };
        let row = self.row(action, file, &facts(text).unwrap_or_default(), None, commit);
        self.rows.push(Row { renamed_to: new_name.map(|name| (*name).to_owned()), ..row });
    }

    fn row(&mut self, action: Action, file: &str, facts: &Facts, at: Option<Instant>, commit: Option<&Commit>) -> Row {
        let instant = at.or_else(|| commit.map(|commit| commit.when.to_utc()));
        let calendar = self.calendar(file);
        let on = facts.get("on").and_then(|on| on.parse().ok()).map(|on| calendar.start(on));
        Row {
            at: instant.map(|instant| At::Time(calendar.on_the_wall(instant, calendar.today(instant)))),
            action,
            file: file.to_owned(),
            kind: value(facts, "kind"),
            by: None,
            event_at: facts.get("at").or(facts.get("on")).cloned(),
            late_minutes: None,
            late_days: None,
            keys: Vec::new(),
            renamed_to: None,
            why: None,
            commit: commit.map(|commit| commit.short().to_owned()),
            author: commit.map(|commit| commit.author.clone()),
            instant,
            happened: facts.get("at").and_then(|at| self::instant(at, calendar)).or(on),
        }
    }

    fn calendar(&mut self, file: &str) -> &Calendar {
        self.calendars.entry(owner(file).to_owned()).or_insert_with(|| calendar(self.program, file))
    }

    fn instant(&mut self, file: &str, written: Option<&String>) -> Option<Instant> {
        instant(written?, self.calendar(file))
    }

    fn report(mut self, kept_by_git: bool, as_of: AsOf, period: Option<Period>) -> HistoryReport {
        // Where nothing says when, it was not before the event itself.
        let is_by_then = |row: &Row| row.instant.or(row.happened).is_none_or(|instant| instant <= as_of.instant);
        self.rows.retain(|row| !as_of.is_given || is_by_then(row));
        let calendar = self.program.calendar();
        let day = |row: &Row| row.at.map(|at| at.date()).or(row.happened.map(|happened| calendar.today(happened)));
        let is_inside = |row: &Row, period: Period| day(row).is_none_or(|day| period.contains(day));
        self.rows.retain(|row| period.is_none_or(|period| is_inside(row, period)));
        // Newest first; what has no time yet is newest of all, and of one time what was done last.
        self.rows.reverse();
        self.rows.sort_by_key(|row| (row.instant.is_some(), Reverse(row.instant), Reverse(row.happened)));
        HistoryReport { kept_by_git, period, rows: self.rows }
    }
}

/// A word or text among the facts.
fn value(facts: &Facts, key: &str) -> Option<String> {
    serde_json::from_str(facts.get(key)?).ok()
}

/// The instant of a time as it is written.
fn instant(written: &str, calendar: &Calendar) -> Option<Instant> {
    if let Ok(time) = DateTime::parse_from_rfc3339(written) {
        return Some(time.to_utc());
    }
    let wall = NaiveDateTime::parse_from_str(written, "%Y-%m-%dT%H:%M:%S").ok()?;
    calendar.instant(wall).ok()
}
