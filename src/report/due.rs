//! Who needs a change or a call, worst first, and why.

use chrono::{Duration, NaiveDate};
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

use super::{At, Unusable, rfc3339, short_day};
use crate::day::{AsOf, Instant};
use crate::event::{Anchor, Dressing, Event, Fact, Outcome};
use crate::history::{History, Recent};
use crate::patient::{Exit, Patient};
use crate::policy::{CarePlace, Interval, Plan};
use crate::problem::Problem;
use crate::program::Program;
use crate::schedule::{Because, Due, Report as Reported, Schedule, State, Trouble};
use crate::score::{self};
use crate::text;
use crate::timeline::Timeline;
use crate::word::Word;

/// The due list.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DueReport {
    /// A row for each exit site that is followed, and for each name that is no patient's, worst first.
    pub rows: Vec<Row>,
    /// Everybody on file, counted once.
    pub census: Census,
}

/// One exit site's row.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Row {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id; null where the patient cannot be judged.
    pub exit: Option<String>,
    /// unusable, overdue, due, upcoming, awaiting-log, none.
    pub state: State,
    /// The care day in which it falls due.
    pub due_on: Option<NaiveDate>,
    /// When it becomes overdue.
    pub deadline: Option<String>,
    /// Why.
    pub because: Option<Because>,
    /// Whether it could not be said if a change came before or after what it answers.
    pub order_unknown: Option<bool>,
    /// The interval in days; null for weekdays.
    pub interval_days: Option<i64>,
    /// The phase's name, or `order`.
    pub phase: Option<String>,
    /// Where the patient is today.
    pub place: Option<CarePlace>,
    /// The post-operative day today.
    pub pod: Option<i64>,
    /// The last change.
    pub last_change: Option<LastChange>,
    /// Whole hours since the deadline, where overdue.
    pub hours_overdue: Option<i64>,
    /// Changes missed in a row.
    pub missed_in_a_row: Option<i64>,
    /// Until when a household that is not covered today has been heard.
    pub heard_through: Option<NaiveDate>,
    /// When its log is expected.
    pub log_expected: Option<NaiveDate>,
    /// The anchor as last said.
    pub anchor: Option<AnchorSaid>,
    /// What the patient does not tolerate.
    pub intolerances: Option<Vec<String>>,
    /// The last score.
    pub score: Option<LastScore>,
    /// Signals that are open; null where they are not known.
    pub signals: Option<Vec<OpenSignal>>,
    /// The last contact.
    pub last_contact: Option<LastContact>,
    /// A promised change or visit.
    pub promise: Option<Promised>,
    /// Who is signed off; null where that is not known.
    pub signed_off: Option<Vec<String>>,
    /// Files of events that have not happened yet; null where a moment was asked about.
    pub ahead: Option<Vec<String>>,
    /// Why, in words.
    #[serde(skip)]
    pub reason: String,
    /// What else to know before a call.
    #[serde(skip)]
    pub beside: Vec<Aside>,
    /// For the order of the list.
    #[serde(skip)]
    group: u8,
    #[serde(skip)]
    deadline_instant: Option<Instant>,
    #[serde(skip)]
    due_day_starts: Option<Instant>,
    #[serde(skip)]
    standing: Standing,
}

/// Something to know before a call.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aside {
    /// In words.
    pub words: String,
    /// Whether it is worth a place on the morning list; the rest is said where a patient is named.
    pub is_brief: bool,
}

/// What the census says of a patient of whom nothing is due.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
enum Standing {
    #[default]
    Followed,
    ElsewhereFor(i64),
    EndedThisMonth,
    EndedBefore,
}

/// The last change.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastChange {
    /// When.
    pub at: At,
    /// Its file.
    pub file: String,
    /// Care days since then.
    pub days_ago: i64,
}

/// The anchor as last said.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AnchorSaid {
    /// in-place, loose or absent.
    pub state: Anchor,
    /// When that was said.
    pub at: At,
}

/// The last score.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastScore {
    /// The total; null where an item was not looked at.
    pub total: Option<i64>,
    /// The least it can be.
    pub total_min: i64,
    /// The most it can be.
    pub total_max: i64,
    /// The band.
    pub band: String,
    /// When.
    pub at: At,
}

/// A signal that is open.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OpenSignal {
    /// Its name.
    pub name: String,
    /// today or this-week.
    pub urgency: String,
}

/// The last contact.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastContact {
    /// When.
    pub at: At,
    /// How it ended.
    pub outcome: Outcome,
}

/// A promised change or visit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Promised {
    /// When it was promised.
    pub at: At,
    /// Until when it is expected.
    pub expect_by: String,
    /// Whether that has passed without a change.
    pub broken: bool,
}

/// Everybody on file, each counted by the first of their rows.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Census {
    /// Everybody.
    pub on_file: usize,
    /// How many in each state.
    pub by_state: BTreeMap<String, usize>,
    /// Of those of whom nothing is due: elsewhere.
    pub elsewhere: usize,
    /// Of those of whom nothing is due: support ended in this month.
    pub ended_this_month: usize,
    /// The census in words.
    #[serde(skip)]
    pub words: String,
}

/// Reads what the due list needs of `codes`, and makes their rows, worst first.
///
/// Names in the folder of patients that are no patient's are rows, too, unless patients were named.
pub fn report(program: &Program, codes: &[&str], as_of: AsOf, with_strays: bool) -> (DueReport, Vec<Unusable>) {
    let read: Vec<(Vec<Row>, Vec<Unusable>)> =
        codes.par_iter().map(|code| patient_rows(program, code, as_of)).collect();
    let mut unusable: Vec<Unusable> =
        program.problems.iter().filter(|problem| problem.rule.makes_unusable()).map(Unusable::from).collect();
    let mut rows = Vec::new();
    for (patient_rows, files) in read {
        rows.extend(patient_rows);
        unusable.extend(files);
    }
    if with_strays {
        for (name, problem) in &program.patients.strays {
            rows.push(Row::unusable(name, problem));
            unusable.push(Unusable::from(problem));
        }
    }
    rows.sort_by_cached_key(Row::rank);
    let census = Census::of(&rows);
    (DueReport { rows, census }, unusable)
}

fn patient_rows(program: &Program, code: &str, as_of: AsOf) -> (Vec<Row>, Vec<Unusable>) {
    let Some(plan) = program.plan() else {
        let problem = program
            .problems
            .iter()
            .find(|problem| problem.rule.makes_unusable() && problem.place.file == crate::policy::FILE);
        return (problem.map(|problem| Row::unusable(code, problem)).into_iter().collect(), Vec::new());
    };
    let mut problems = Vec::new();
    let patient = program.patient(code, &mut problems);
    let own = program.folder.patient(code);
    problems.extend(own.problems.clone());
    problems.retain(|problem| problem.rule.makes_unusable());
    let Some(patient) = patient.filter(|_| problems.is_empty()) else {
        let row = problems.first().map(|problem| Row::unusable(code, problem));
        return (row.into_iter().collect(), problems.iter().map(Unusable::from).collect());
    };
    let history = History::of(&program.folder, &patient, own);
    let recent = Recent::of(history, &patient, as_of);
    let files = recent.unusable.iter().chain(&recent.others).map(Unusable::from).collect();
    if let Some(problem) = recent.unusable.first() {
        return (vec![Row::unusable(code, problem)], files);
    }
    let timeline = Timeline::of(&patient, recent.events, as_of.instant);
    let ahead = (!as_of.is_given).then_some(recent.ahead);
    let exits = patient.exits_followed(timeline.today);
    let row = |exit: &&Exit| Row::of(program, plan, &timeline, exit, exits.len() > 1, ahead.clone());
    (exits.iter().map(row).collect(), files)
}

impl LastChange {
    fn of(event: &Event, patient: &Patient, today: NaiveDate) -> LastChange {
        let at = At::of(&event.when, &patient.calendar);
        LastChange { at, file: event.file().to_owned(), days_ago: (today - event.when.care_day).num_days() }
    }
}

impl Row {
    fn of(
        program: &Program,
        plan: &Plan,
        timeline: &Timeline,
        exit: &Exit,
        is_one_of_several: bool,
        ahead: Option<Vec<String>>,
    ) -> Row {
        let patient = timeline.patient;
        let today = timeline.today;
        let calendar = &patient.calendar;
        let at = |event: &Event| At::of(&event.when, calendar);
        let schedule = Schedule { plan, patient, exit };
        let due = Due::of(&schedule, timeline);
        let people = program.people.as_ref();
        let scoring = program.policy.as_ref().and_then(|policy| policy.scoring.as_ref());
        let graded = scoring.and_then(|scoring| score::grade(timeline, exit, scoring, people, false).pop());
        let place = patient.place(today);
        let mut row = Row {
            patient: patient.code.clone(),
            exit: Some(exit.id.clone()),
            state: due.state,
            due_on: due.due_on,
            deadline: due.deadline.zip(due.due_on).map(|(deadline, day)| rfc3339(&calendar.on_the_wall(deadline, day))),
            because: due.because,
            order_unknown: Some(due.order_unknown),
            interval_days: due.interval_days,
            phase: due.phase.clone(),
            place: Some(place),
            pod: Some(schedule.pod(today)),
            last_change: due.last_change.map(|event| LastChange::of(event, patient, today)),
            hours_overdue: due.hours_overdue,
            missed_in_a_row: Some(due.missed_in_a_row),
            heard_through: due.heard_through,
            log_expected: due.log_expected,
            anchor: timeline.anchor(exit).map(|(event, state)| AnchorSaid { state, at: at(event) }),
            intolerances: Some(patient.intolerances.clone()),
            score: graded.map(|graded| LastScore {
                total: graded.score.total(),
                total_min: graded.score.total_min,
                total_max: graded.score.total_max,
                band: graded.score.band.clone(),
                at: at(graded.event),
            }),
            signals: None,
            last_contact: timeline
                .contacts()
                .next_back()
                .map(|(event, contact)| LastContact { at: at(event), outcome: contact.outcome }),
            promise: due.promise.map(|promise| Promised {
                at: at(promise.event),
                expect_by: rfc3339(&calendar.on_the_wall(promise.expect_by, today)),
                broken: promise.broken,
            }),
            signed_off: None,
            ahead,
            reason: reason(&schedule, timeline, &due),
            beside: Vec::new(),
            group: group(&due),
            deadline_instant: due.deadline,
            due_day_starts: due.due_on.map(|day| calendar.start(day)),
            standing: Standing::of(patient, today),
        };
        row.beside = beside(&row, &due, today, is_one_of_several.then_some(exit));
        row
    }

    fn unusable(patient: &str, problem: &Problem) -> Row {
        let place =
            problem.place.line.map_or(problem.place.file.clone(), |line| format!("{}:{line}", problem.place.file));
        Row {
            patient: patient.to_owned(),
            exit: None,
            state: State::Unusable,
            due_on: None,
            deadline: None,
            because: None,
            order_unknown: None,
            interval_days: None,
            phase: None,
            place: None,
            pod: None,
            last_change: None,
            hours_overdue: None,
            missed_in_a_row: None,
            heard_through: None,
            log_expected: None,
            anchor: None,
            intolerances: None,
            score: None,
            signals: None,
            last_contact: None,
            promise: None,
            signed_off: None,
            ahead: None,
            reason: format!("cannot be judged: {}", problem.message),
            beside: [place, problem.help.clone()].map(|words| Aside { words, is_brief: true }).into(),
            group: 1,
            deadline_instant: None,
            due_day_starts: None,
            standing: Standing::Followed,
        }
    }

    /// Group, a broken promise first among the overdue, deadline, patient, exit.
    fn rank(&self) -> impl Ord + use<> {
        let is_kept = !(self.group == 4 && self.promise.as_ref().is_some_and(|promise| promise.broken));
        // Nothing due sorts behind every deadline.
        let deadline = self.deadline_instant.map_or((1, Instant::default()), |deadline| (0, deadline));
        (self.group, is_kept, deadline, self.patient.clone().into_bytes(), self.exit.clone())
    }

    /// Whether the row is on the list that is shown by default, or becomes due within some hours.
    pub fn is_shown(&self, as_of: AsOf, within_hours: Option<i64>) -> bool {
        let until = within_hours.map(|hours| as_of.instant + Duration::hours(hours));
        let becomes_due = || self.due_day_starts.zip(until).is_some_and(|(starts, until)| starts <= until);
        self.group <= 6 || self.group == 7 && becomes_due()
    }

    /// Whether a script that asked is told of it: overdue, or it cannot be said.
    pub fn is_overdue(&self) -> bool {
        matches!(self.state, State::Overdue | State::Unusable)
    }
}

/// The group of the list: 1 unusable, 3 overdue after shower or damage, 4 other overdue, 5 due, 6 a broken promise,
/// 7 upcoming, 8 awaiting a log, 9 none. Group 2 is for signals of today.
fn group(due: &Due) -> u8 {
    let is_broken = due.promise.is_some_and(|promise| promise.broken);
    match (due.state, due.because) {
        (State::Unusable, _) => 1,
        (State::Overdue, Some(Because::AfterShower | Because::Damage)) => 3,
        (State::Overdue, _) => 4,
        (State::Due, _) => 5,
        (State::Upcoming | State::AwaitingLog, _) if is_broken => 6,
        (State::Upcoming, _) => 7,
        (State::AwaitingLog, _) => 8,
        (State::None, _) => 9,
    }
}

/// Why, as one says it on the telephone.
fn reason(schedule: &Schedule, timeline: &Timeline, due: &Due) -> String {
    let (patient, today) = (schedule.patient, timeline.today);
    let when = |event: &Event| At::of(&event.when, &patient.calendar).short(today);
    let changed = match due.last_change {
        Some(change) => format!("changed {}", ago(&LastChange::of(change, patient, today), today)),
        None => "no change on file".to_owned(),
    };
    let since = match due.order_unknown {
        true => "changed that day for another reason, order unknown",
        false => "not changed since",
    };
    match (due.because, due.report) {
        (Some(Because::AfterShower), Some(report)) => format!("showered {}, {since}", when(report.event)),
        (Some(Because::Damage), Some(report)) => format!("{} {}, {since}", damage(&report), when(report.event)),
        (Some(Because::FirstChange), _) => format!("first change after {}", short_day(schedule.start(), today)),
        (Some(Because::UnknownBefore), _) => {
            format!("records begin {}, nothing known before", short_day(schedule.start(), today))
        }
        (Some(Because::Return), _) => {
            let back = due.due_on.map(|day| short_day(day, today)).unwrap_or_default();
            let ended: Vec<String> = due
                .ended_by_move
                .iter()
                .map(|report| format!("; before that: {} {}, not changed", trouble(report), when(report.event)))
                .collect();
            format!("back from elsewhere {back}, dressing not looked at yet{}", ended.concat())
        }
        (Some(Because::LogLate), _) => format!(
            "log expected {}, heard through {}",
            shown(due.log_expected, today),
            shown(due.heard_through, today)
        ),
        (Some(Because::Interval), _) if due.state == State::AwaitingLog => format!(
            "heard through {}, log expected {}",
            shown(due.heard_through, today),
            shown(due.log_expected, today)
        ),
        (Some(_), _) => {
            let interval = due.due_on.and_then(|day| schedule.interval(day));
            let interval = interval.map(|(interval, phase)| interval_words(interval, phase)).unwrap_or_default();
            format!("{changed}, {interval}")
        }
        (None, _) => nothing_due(patient, schedule.exit, today),
    }
}

fn interval_words(interval: &Interval, phase: &str) -> String {
    if phase == "order" { format!("{interval} by order") } else { interval.to_string() }
}

fn trouble(report: &Reported) -> String {
    match report.trouble {
        Trouble::Shower => "showered".to_owned(),
        _ => damage(report),
    }
}

fn damage(report: &Reported) -> String {
    let state = |dressing: Dressing| dressing.word();
    match (report.trouble, &report.event.fact) {
        (Trouble::LeftDamaged(dressing), _) => format!("dressing left {}", state(dressing)),
        (Trouble::Damage(dressing), Fact::Shower(_)) => format!("dressing {} at a shower", state(dressing)),
        (Trouble::Damage(dressing), Fact::Trauma(_)) => format!("dressing {} at a pull", state(dressing)),
        (Trouble::Damage(dressing), _) => format!("dressing {}", state(dressing)),
        (Trouble::Shower, _) => "shower".to_owned(),
    }
}

fn nothing_due(patient: &Patient, exit: &Exit, today: NaiveDate) -> String {
    if let Some(ended) = patient.ended.as_ref().filter(|ended| ended.on <= today) {
        return format!("support ended {}, {}", short_day(ended.on, today), ended.why);
    }
    if let Some(until) = exit.until.filter(|until| *until <= today) {
        return format!("exit site closed {}", short_day(until, today));
    }
    if today < patient.start(exit) {
        return format!("begins {}", short_day(patient.start(exit), today));
    }
    match patient.days_elsewhere(today) {
        Some(days) => format!("elsewhere for {}", text::count(days, "day")),
        None => "nothing is due".to_owned(),
    }
}

/// What else to know before a call. Old contacts and what was said long ago are left to `show` and to a named patient.
fn beside(row: &Row, due: &Due, today: NaiveDate, exit: Option<&Exit>) -> Vec<Aside> {
    let mut asides = Vec::new();
    let mut say = |words: String, is_brief: bool| asides.push(Aside { words, is_brief });
    if let Some(exit) = exit {
        say(exit.at.word().to_owned(), true);
    }
    if let Some(change) =
        row.last_change.as_ref().filter(|_| due.because != Some(Because::Interval) || due.state == State::AwaitingLog)
    {
        say(format!("changed {}", day_ago(change, today)), true);
    }
    if due.missed_in_a_row > 0 {
        say(format!("{} missed in a row", due.missed_in_a_row), true);
    }
    if let Some(anchor) = &row.anchor {
        say(format!("anchor {} {}", anchor.state, anchor.at.day_words(today)), true);
    }
    if let Some(score) = &row.score {
        let total = match score.total {
            Some(total) => total.to_string(),
            None => format!("{}-{}", score.total_min, score.total_max),
        };
        say(format!("score {total} {} {}", score.band, score.at.day_words(today)), true);
    }
    for what in row.intolerances.iter().flatten() {
        say(format!("does not tolerate {}", text::visible(what)), true);
    }
    match (&row.promise, &row.last_contact) {
        (Some(promise), _) => {
            let by = promise.expect_by.parse().map(|by| At::Time(by).short(today)).unwrap_or_default();
            say(if promise.broken { format!("promised by {by}, not done") } else { format!("promised by {by}") }, true);
        }
        (None, Some(contact)) => {
            say(format!("contact {}: {}", contact.at.short(today), contact.outcome), contact.at.is_this_week(today))
        }
        _ => {}
    }
    if let Some(ahead) = row.ahead.as_ref().filter(|ahead| !ahead.is_empty()) {
        say(format!("in the future: {}", ahead.join(", ")), true);
    }
    asides
}

/// The day of the last change; from a week on also how many days ago.
fn day_ago(change: &LastChange, today: NaiveDate) -> String {
    let when = change.at.day_words(today);
    if change.days_ago < 7 { when } else { format!("{when}, {} days ago", change.days_ago) }
}

/// When the last change was; from a week on also how many days ago.
fn ago(change: &LastChange, today: NaiveDate) -> String {
    let when = change.at.short(today);
    if change.days_ago < 7 { when } else { format!("{when}, {} days ago", change.days_ago) }
}

fn shown(day: Option<NaiveDate>, today: NaiveDate) -> String {
    day.map_or("never".to_owned(), |day| short_day(day, today))
}

impl Standing {
    fn of(patient: &Patient, today: NaiveDate) -> Standing {
        use chrono::Datelike;
        match (&patient.ended, patient.days_elsewhere(today)) {
            (Some(ended), _)
                if ended.on <= today && (ended.on.year(), ended.on.month()) == (today.year(), today.month()) =>
            {
                Standing::EndedThisMonth
            }
            (Some(ended), _) if ended.on <= today => Standing::EndedBefore,
            (_, Some(days)) => Standing::ElsewhereFor(days),
            _ => Standing::Followed,
        }
    }
}

impl Census {
    fn of(rows: &[Row]) -> Census {
        let mut first: Vec<&Row> = Vec::new();
        let mut seen = std::collections::BTreeSet::new();
        for row in rows {
            if seen.insert(&row.patient) {
                first.push(row);
            }
        }
        let mut by_state: BTreeMap<String, usize> = State::WORDS.iter().map(|state| ((*state).to_owned(), 0)).collect();
        for row in &first {
            *by_state.entry(row.state.word().to_owned()).or_default() += 1;
        }
        let none: Vec<&&Row> = first.iter().filter(|row| row.state == State::None).collect();
        let away: Vec<(&str, i64)> = none
            .iter()
            .filter_map(|row| match row.standing {
                Standing::ElsewhereFor(days) => Some((row.patient.as_str(), days)),
                _ => None,
            })
            .collect();
        let ended = none.iter().filter(|row| row.standing == Standing::EndedThisMonth).count();
        let before = none.iter().filter(|row| row.standing == Standing::EndedBefore).count();
        let mut parts: Vec<String> = State::WORDS
            .iter()
            .filter(|state| **state != "none")
            .filter_map(|state| {
                let count = by_state.get(*state).copied().filter(|count| *count > 0)?;
                Some(format!("{count} {}", state.replace("awaiting-log", "awaiting a log")))
            })
            .collect();
        if !away.is_empty() {
            let who: Vec<String> =
                away.iter().map(|(code, days)| format!("{code} for {}", text::count(*days, "day"))).collect();
            parts.push(format!("{} elsewhere ({})", away.len(), who.join(", ")));
        }
        let other = none.len() - away.len() - ended - before;
        for (count, what) in [(ended, "ended this month"), (before, "ended before"), (other, "with nothing due")] {
            if count > 0 {
                parts.push(format!("{count} {what}"));
            }
        }
        let words = format!(
            "{} on file: {}",
            first.len(),
            if parts.is_empty() { "nobody".to_owned() } else { parts.join(", ") }
        );
        Census { on_file: first.len(), by_state, elsewhere: away.len(), ended_this_month: ended, words }
    }
}
