//! The history of records, from git and the records combined.
//! The record's own account comes first: `[entered]`, `[[amended]]` and `[void]` name the person and the time. Git adds the
//! commit, and the changes that no record states: edits, deletions and renames.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, NaiveDateTime};

use crate::check::{calendar, is_usable, owner, renames};
use crate::day::{AsOf, Calendar, Instant, Period};
use crate::folder::CodeFolder;
use crate::git::{Commit, CommitDiff, FileChange, Repository, Version};
use crate::ledger::{Deed, Facts, deeds, own_deeds};
use crate::program::Program;
use crate::record::facts;
use crate::report::At;
use crate::report::history::{Action, HistoryReport, HistoryRow};

/// Returns the history from git and the records combined.
pub(crate) fn of_git(
    program: &Program,
    repository: &Repository,
    steps: &[CommitDiff],
    as_of: AsOf,
    period: Option<Period>,
) -> HistoryReport {
    let mut told = CollectedRows { program, calendars: BTreeMap::new(), rows: Vec::new() };
    let text = |file: &str, version: &Option<Version>| program.folder.text_of(repository, file, version.as_ref()?);
    for step in steps {
        // In a merge, only files that differ from every parent were changed by the merge itself.
        let Some((side, others)) = step.sides.split_first() else { continue };
        let is_own =
            |change: &&FileChange| others.iter().all(|other| other.changes.iter().any(|c| c.file == change.file));
        let commit = step.commit.as_ref();
        let state = |change: &FileChange, is_after: bool| {
            text(&change.file, if is_after { &change.after } else { &change.before })
        };
        let renamed = renames(side, state);
        let is_new_name =
            |change: &&FileChange| change.before.is_none() && renamed.values().any(|new| *new == change.file);
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

/// Returns the history from the records alone: those below `path`, or all.
pub(crate) fn of_records(program: &Program, path: Option<&str>, as_of: AsOf, period: Option<Period>) -> HistoryReport {
    let mut told = CollectedRows { program, calendars: BTreeMap::new(), rows: Vec::new() };
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

/// The rows collected so far.
struct CollectedRows<'a> {
    program: &'a Program,
    calendars: BTreeMap<String, Calendar>,
    rows: Vec<Dated>,
}

/// A row with its sort instants.
struct Dated {
    row: HistoryRow,
    instant: Option<Instant>,
    /// The time of the event itself.
    happened: Option<Instant>,
}

impl CollectedRows<'_> {
    /// Adds a new record, with the amendments and the void that it states.
    fn recorded(&mut self, file: &str, text: &str, commit: Option<&Commit>) {
        let facts = facts(text).unwrap_or_default();
        let by = value(&facts, "entered.by").or_else(|| value(&facts, "by"));
        let entered = self.instant(file, facts.get("entered.at"));
        let mut dated = self.row(Action::Recorded, file, &facts, entered, commit);
        let row = &mut dated.row;
        row.by = by;
        let calendar = self.calendar(file);
        match (entered, dated.happened, facts.get("on").and_then(|on| on.parse::<NaiveDate>().ok())) {
            (Some(entered), _, Some(on)) => row.late_days = Some((calendar.today(entered) - on).num_days()),
            (Some(entered), Some(happened), None) => row.late_minutes = Some((entered - happened).num_minutes()),
            _ => {}
        }
        self.rows.push(dated);
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
        let Dated { row, instant, happened } = self.row(action, file, &facts, at, commit);
        let row = HistoryRow { by: value(&correction, "by"), why: value(&correction, "why"), keys, ..row };
        self.rows.push(Dated { row, instant, happened });
    }

    /// Adds a deleted or renamed file.
    fn gone(&mut self, file: &str, new_name: Option<&&str>, text: &str, commit: Option<&Commit>) {
        let action = if new_name.is_some() { Action::Renamed } else { Action::Deleted };
        let mut dated = self.row(action, file, &facts(text).unwrap_or_default(), None, commit);
        dated.row.renamed_to = new_name.map(|name| (*name).to_owned());
        self.rows.push(dated);
    }

    fn row(
        &mut self,
        action: Action,
        file: &str,
        facts: &Facts,
        at: Option<Instant>,
        commit: Option<&Commit>,
    ) -> Dated {
        let instant = at.or_else(|| commit.map(|commit| commit.when.to_utc()));
        let calendar = self.calendar(file);
        let on = facts.get("on").and_then(|on| on.parse().ok()).map(|on| calendar.start(on));
        let row = HistoryRow {
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
        };
        let happened = facts.get("at").and_then(|at| self::instant(at, calendar)).or(on);
        Dated { row, instant, happened }
    }

    fn calendar(&mut self, file: &str) -> &Calendar {
        self.calendars.entry(owner(file).to_owned()).or_insert_with(|| calendar(self.program, file))
    }

    fn instant(&mut self, file: &str, written: Option<&String>) -> Option<Instant> {
        instant(written?, self.calendar(file))
    }

    fn report(mut self, kept_by_git: bool, as_of: AsOf, period: Option<Period>) -> HistoryReport {
        // Without a stated time, the earliest possible one is that of the event.
        let is_by_then =
            |dated: &Dated| dated.instant.or(dated.happened).is_none_or(|instant| instant <= as_of.instant);
        self.rows.retain(|dated| !as_of.is_given || is_by_then(dated));
        let calendar = self.program.calendar();
        let day = |dated: &Dated| {
            dated.row.at.map(|at| at.date()).or(dated.happened.map(|happened| calendar.today(happened)))
        };
        let is_inside = |dated: &Dated, period: Period| day(dated).is_none_or(|day| period.contains(day));
        self.rows.retain(|dated| period.is_none_or(|period| is_inside(dated, period)));
        // Newest first; rows without a time yet come before all others, and ties put the last action first.
        self.rows.reverse();
        self.rows.sort_by_key(|dated| (dated.instant.is_some(), Reverse(dated.instant), Reverse(dated.happened)));
        let rows = self.rows.into_iter().map(|dated| dated.row).collect();
        HistoryReport { kept_by_git, period, rows }
    }
}

/// Returns a word or text among the facts.
fn value(facts: &Facts, key: &str) -> Option<String> {
    serde_json::from_str(facts.get(key)?).ok()
}

/// Parses a time as a record states it.
fn instant(written: &str, calendar: &Calendar) -> Option<Instant> {
    if let Ok(time) = DateTime::parse_from_rfc3339(written) {
        return Some(time.to_utc());
    }
    let wall = NaiveDateTime::parse_from_str(written, "%Y-%m-%dT%H:%M:%S").ok()?;
    calendar.instant(wall).ok()
}
