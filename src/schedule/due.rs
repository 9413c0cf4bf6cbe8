//! What is due of one exit site at one moment, since when, and why.

use chrono::{Duration, NaiveDate};

use super::{Beginning, Missed, Report, Schedule, Trouble};
use crate::day::{Instant, after, before};
use crate::event::{Event, Outcome};
use crate::timeline::Timeline;
use crate::word::words;

words! {
    /// Where an exit site stands.
    #[derive(PartialOrd, Ord)]
    pub enum State {
        /// It cannot be judged.
        Unusable = "unusable",
        /// The deadline has passed.
        Overdue = "overdue",
        /// Today.
        Due = "due",
        /// Later.
        Upcoming = "upcoming",
        /// The household reports by log, and the log is not there yet.
        AwaitingLog = "awaiting-log",
        /// Nothing is due.
        None = "none",
    }
}

words! {
    /// Why something is due.
    pub enum Because {
        /// The interval since the last change.
        Interval = "interval",
        /// The first change after the implant.
        FirstChange = "first-change",
        /// The patient is back from elsewhere.
        Return = "return",
        /// Nothing is known from before the records began.
        UnknownBefore = "unknown-before",
        /// A shower without a change after it.
        AfterShower = "after-shower",
        /// The dressing was reported wet, soiled, lifting or off.
        Damage = "damage",
        /// The household's log is later than expected.
        LogLate = "log-late",
    }
}

/// A promised change or visit.
#[derive(Debug, Clone, Copy)]
pub struct Promise<'t> {
    /// The contact.
    pub event: &'t Event,
    /// Until when it is expected.
    pub expect_by: Instant,
    /// Whether that has passed without a change.
    pub broken: bool,
}

/// What is due of one exit site.
#[derive(Debug, Clone)]
pub struct Due<'t> {
    /// Where it stands.
    pub state: State,
    /// The care day in which it falls due.
    pub due_on: Option<NaiveDate>,
    /// When it becomes overdue.
    pub deadline: Option<Instant>,
    /// Why.
    pub because: Option<Because>,
    /// Whether it could not be said if a change came before or after what it answers.
    pub order_unknown: bool,
    /// The interval of the regular due day, where it is in days.
    pub interval_days: Option<i64>,
    /// The phase of the regular due day.
    pub phase: Option<String>,
    /// Whole hours since the deadline, where overdue.
    pub hours_overdue: Option<i64>,
    /// Until when a household that is not covered today has been heard.
    pub heard_through: Option<NaiveDate>,
    /// When its log is expected.
    pub log_expected: Option<NaiveDate>,
    /// Changes missed in a row.
    pub missed_in_a_row: i64,
    /// The shower or damage that is due to be answered.
    pub report: Option<Report<'t>>,
    /// Showers and damage that a move elsewhere ended unanswered.
    pub ended_by_move: Vec<Report<'t>>,
    /// The last change.
    pub last_change: Option<&'t Event>,
    /// A promised change or visit, while it holds or after it was broken.
    pub promise: Option<Promise<'t>>,
}

/// Something that must be done until a deadline.
#[derive(Clone, Copy)]
struct Requirement<'t> {
    due_on: NaiveDate,
    deadline: Instant,
    /// Whether the deadline is the end of a care day, rather than a number of hours.
    is_end_of_day: bool,
    because: Because,
    report: Option<Report<'t>>,
    order_unknown: bool,
}

impl<'t> Due<'t> {
    /// What is due of the schedule's exit site, as of the timeline's moment.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let home = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-11-22T08:00", "change", "");
    /// assert_eq!(home.due("2026-11-23T07:15"), "upcoming 2026-11-24 interval");
    /// assert_eq!(home.due("2026-11-24T02:59"), "upcoming 2026-11-24 interval"); // still the care day before
    /// assert_eq!(home.due("2026-11-24T03:00"), "due 2026-11-24 interval");
    /// assert_eq!(home.due("2026-11-25T02:59"), "due 2026-11-24 interval");
    /// assert_eq!(home.due("2026-11-25T03:00"), "overdue 2026-11-24 interval, 0 h"); // the end of the care day
    /// assert_eq!(home.due("2026-11-26T07:15"), "overdue 2026-11-24 interval, 28 h");
    ///
    /// // a change at 01:30 by the night shift belongs to the day before
    /// let night = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-11-23T01:30", "change", "");
    /// assert_eq!(night.due("2026-11-24T07:15"), "due 2026-11-24 interval");
    ///
    /// // the first change
    /// assert_eq!(Story::implanted("2026-11-23").due("2026-11-23T20:00"), "upcoming 2026-11-24 first-change");
    /// assert_eq!(Story::implanted("2026-11-23").due("2026-11-24T07:15"), "due 2026-11-24 first-change");
    ///
    /// // a shower: two hours, whatever the interval
    /// let shower = home.event("2026-11-22T18:40", "shower", "");
    /// assert_eq!(shower.due("2026-11-22T20:40"), "due 2026-11-22 after-shower");
    /// assert_eq!(shower.due("2026-11-22T20:41"), "overdue 2026-11-22 after-shower, 0 h");
    /// assert_eq!(shower.event("2026-11-22T19:30", "change", "").due("2026-11-23T07:15"), "upcoming 2026-11-24 interval");
    /// // at the same minute the change counts as after it
    /// assert_eq!(shower.event("2026-11-22T18:40", "change", "").due("2026-11-23T07:15"), "upcoming 2026-11-24 interval");
    ///
    /// // a shower on a known day, before a change without a time that was for another reason: it cannot be said
    /// let unknown = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-11-23", "shower", "");
    /// assert_eq!(unknown.event("2026-11-23", "change", "reason = 'scheduled'").due("2026-11-24T07:15"), "overdue 2026-11-23 after-shower order unknown, 4 h");
    /// assert_eq!(unknown.event("2026-11-23", "change", "reason = 'after-shower'").due("2026-11-24T07:15"), "upcoming 2026-11-25 interval");
    /// assert_eq!(unknown.event("2026-11-23", "change", "").due("2026-11-24T07:15"), "upcoming 2026-11-25 interval");
    ///
    /// // a wet dressing; the earlier deadline comes first
    /// let wet = home.event("2026-11-23T21:30", "inspection", "dressing = 'wet'");
    /// assert_eq!(wet.due("2026-11-23T22:00"), "due 2026-11-23 damage");
    /// assert_eq!(wet.due("2026-11-24T07:15"), "overdue 2026-11-23 damage, 7 h");
    /// // a change that leaves it lifting asks for another
    /// let left = home.event("2026-11-23T09:00", "change", "[left]\ndressing = 'lifting'");
    /// assert_eq!(left.due("2026-11-23T10:00"), "due 2026-11-23 damage");
    /// // a voided change counts for nothing
    /// let void = home.event("2026-11-23T09:00", "change", "[void]\nat = 2026-11-23T12:00:00\nby = 'rn-07'\nwhy = 'wrong patient'");
    /// assert_eq!(void.due("2026-11-24T07:15"), "due 2026-11-24 interval");
    ///
    /// // a move elsewhere ends what was due; back home a look is due
    /// let away = shower.elsewhere_from("2026-11-23").home_from("2026-11-26");
    /// assert_eq!(away.due("2026-11-24T07:15"), "none");
    /// assert_eq!(away.due("2026-11-26T07:15"), "due 2026-11-26 return");
    ///
    /// // a household that reports by log has not missed what nobody has told yet
    /// let log = Story::implanted("2026-06-01").log_household_from("2026-06-30").event("2026-11-01T10:00", "log", "from = 2026-10-01\nthrough = 2026-10-31\ncomplete = true").event("2026-10-31", "change", "");
    /// assert_eq!(log.due("2026-11-01T11:00"), "upcoming 2026-11-02 interval");
    /// assert_eq!(log.due("2026-11-24T07:15"), "awaiting-log 2026-11-02 interval");
    /// assert_eq!(log.due("2026-12-06T02:59"), "awaiting-log 2026-11-02 interval"); // 35 days after 10-31
    /// assert_eq!(log.due("2026-12-06T03:00"), "overdue 2026-12-05 log-late, 0 h");
    /// // but a shower that was told goes first
    /// assert_eq!(log.event("2026-11-20T18:00", "shower", "source = 'told'").due("2026-11-24T07:15"), "overdue 2026-11-20 after-shower, 83 h");
    ///
    /// // a complete log without a change tells that the one due on 11-02 was missed, once it covers that day and the next, on
    /// // which it could still have been made late; that nobody has told of today changes nothing about it
    /// let read_in = |through: &str| log.event("2026-11-25T10:00", "log", &format!("from = 2026-11-01\nthrough = {through}\ncomplete = true"));
    /// assert_eq!(read_in("2026-11-24").due("2026-11-25T11:00"), "overdue 2026-11-02 interval, 536 h");
    /// assert_eq!(read_in("2026-11-03").due("2026-11-25T11:00"), "overdue 2026-11-02 interval, 536 h");
    /// assert_eq!(read_in("2026-11-02").due("2026-11-25T11:00"), "awaiting-log 2026-11-02 interval");
    ///
    /// // over the night the clocks go back the day has 25 hours, and an interval is still two days
    /// let clocks = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-10-30T08:00", "change", "");
    /// assert_eq!(clocks.due("2026-11-02T03:00"), "overdue 2026-11-01 interval, 0 h");
    /// ```
    pub fn of(schedule: &Schedule<'t>, timeline: &'t Timeline) -> Due<'t> {
        let today = timeline.today;
        let patient = schedule.patient;
        let last_change = timeline.changes(schedule.exit).next_back();
        let (standing, ended_by_move) = unanswered(schedule, timeline);
        let regular = regular(schedule, timeline, last_change);
        let mut due = Due {
            state: State::None,
            due_on: None,
            deadline: None,
            because: None,
            order_unknown: false,
            interval_days: None,
            phase: None,
            hours_overdue: None,
            heard_through: None,
            log_expected: None,
            missed_in_a_row: Missed::in_a_row(schedule, timeline, last_change),
            report: None,
            ended_by_move,
            last_change,
            promise: promise(schedule, timeline),
        };
        let is_over = patient.has_ended(today) || schedule.exit.until.is_some_and(|until| until <= today);
        if is_over || today < schedule.start() || patient.place(today) == crate::policy::CarePlace::Elsewhere {
            return due;
        }
        let earliest = |a: Requirement<'t>, b: Requirement<'t>| if b.deadline < a.deadline { b } else { a };
        let reported = standing.into_iter().reduce(earliest);
        let is_covered = timeline.is_covered(today);
        let cannot_be_judged = regular.is_some_and(|regular| {
            let is_past = regular.due_on <= today && regular.because != Because::Return;
            is_past && !is_covered && !is_known_missed(schedule, timeline, regular.due_on)
        });
        let log_expected = timeline.log_expected(schedule.start(), schedule.plan.log_days);
        let chosen = match (reported, regular) {
            (Some(reported), _) if cannot_be_judged => Some(reported),
            (None, Some(regular)) if cannot_be_judged => {
                let end = patient.calendar.end(log_expected);
                if timeline.as_of < end {
                    Some(Requirement { deadline: end, ..regular })
                } else {
                    Some(Requirement { due_on: log_expected, deadline: end, because: Because::LogLate, ..regular })
                }
            }
            (reported, regular) => reported.into_iter().chain(regular).reduce(earliest),
        };
        let Some(chosen) = chosen else { return due };
        let is_overdue =
            if chosen.is_end_of_day { timeline.as_of >= chosen.deadline } else { timeline.as_of > chosen.deadline };
        due.state = match chosen.due_on <= today {
            _ if is_overdue => State::Overdue,
            _ if cannot_be_judged && chosen.report.is_none() => State::AwaitingLog,
            true => State::Due,
            false => State::Upcoming,
        };
        if let Some((interval, phase)) = regular.and_then(|regular| schedule.interval(regular.due_on)) {
            due.interval_days = interval.days();
            due.phase = Some(phase.to_owned());
        }
        if !is_covered {
            let covered = timeline.last_covered_day(schedule.start());
            due.heard_through = covered.into_iter().chain(timeline.last_told_day()).max().or(Some(schedule.start()));
            due.log_expected = Some(log_expected);
        }
        due.due_on = Some(chosen.due_on);
        due.deadline = Some(chosen.deadline);
        due.because = Some(chosen.because);
        due.order_unknown = chosen.order_unknown;
        due.report = chosen.report;
        due.hours_overdue = is_overdue.then(|| (timeline.as_of - chosen.deadline).num_hours());
        due
    }
}

/// The regular requirement: the interval since the last change, or the first one.
fn regular<'t>(schedule: &Schedule, timeline: &Timeline, last_change: Option<&Event>) -> Option<Requirement<'t>> {
    let today = timeline.today;
    let beginning = schedule.beginning();
    let (mut base, first) = match last_change {
        Some(change) => (change.when.care_day, schedule.next_due(change.when.care_day, today)),
        None => (beginning.day(), schedule.first_due(today)),
    };
    let mut due_on = first?;
    // A day elsewhere ends what was due before it.
    while schedule.patient.is_elsewhere_between(after(due_on), today) {
        base = due_on;
        due_on = schedule.next_due(due_on, today)?;
    }
    let because = match beginning {
        _ if schedule.patient.is_elsewhere_between(base, due_on) => Because::Return,
        Beginning::Implant(_) if last_change.is_none() => Because::FirstChange,
        Beginning::Unknown(_) if last_change.is_none() => Because::UnknownBefore,
        _ => Because::Interval,
    };
    let deadline = schedule.patient.calendar.end(due_on);
    Some(Requirement { due_on, deadline, is_end_of_day: true, because, report: None, order_unknown: false })
}

/// Whether what was read in by then says that the change of a due day was missed: that day and all until the next would have
/// been due are over and covered. Then it is overdue, whatever nobody has told yet.
fn is_known_missed(schedule: &Schedule, timeline: &Timeline, due_on: NaiveDate) -> bool {
    let next = schedule.next_due(due_on, timeline.today).filter(|next| *next <= timeline.today);
    next.is_some_and(|next| timeline.is_told_between(due_on, before(next)))
}

/// The showers and damage reports that no change answers, showers first, and those that a move elsewhere ended.
fn unanswered<'t>(schedule: &Schedule<'t>, timeline: &'t Timeline) -> (Vec<Requirement<'t>>, Vec<Report<'t>>) {
    let changes: Vec<&Event> = timeline.changes(schedule.exit).collect();
    let is_unanswered = |report: &Report| !changes.iter().any(|change| report.is_answered_by(change));
    let has_moved =
        |report: &Report| schedule.patient.is_elsewhere_between(after(report.event.when.care_day), timeline.today);
    let unanswered = Report::all(timeline, schedule.exit).into_iter().filter(is_unanswered);
    let (ended, standing): (Vec<Report>, Vec<Report>) = unanswered.partition(has_moved);
    let mut requirements: Vec<Requirement> = standing
        .into_iter()
        .map(|report| {
            let (because, hours) = match report.trouble {
                Trouble::Shower => (Because::AfterShower, schedule.plan.windows.after_shower_hours),
                _ => (Because::Damage, schedule.plan.windows.after_damage_hours),
            };
            let when = report.event.when;
            let is_end_of_day = when.wall.is_none();
            let deadline = if is_end_of_day {
                schedule.patient.calendar.end(when.care_day)
            } else {
                when.instant + Duration::hours(hours)
            };
            let order_unknown = changes.iter().any(|change| report.has_unknown_order(change));
            Requirement { due_on: when.care_day, deadline, is_end_of_day, because, report: Some(report), order_unknown }
        })
        .collect();
    requirements.sort_by_key(|requirement| requirement.because != Because::AfterShower);
    (requirements, ended)
}

/// The last promised change or visit, while it holds or where it was broken.
///
/// It holds until its `expect_by`, or the end of the next care day; it is broken when that has passed and no change came
/// after the contact; it ends with support or a move elsewhere.
fn promise<'t>(schedule: &Schedule<'t>, timeline: &'t Timeline) -> Option<Promise<'t>> {
    let is_promise = |outcome| matches!(outcome, Outcome::WillChange | Outcome::ComingIn);
    let (event, contact) = timeline.contacts().rfind(|(_, contact)| is_promise(contact.outcome))?;
    let day = event.when.care_day;
    if schedule.patient.has_ended(timeline.today) || schedule.patient.is_elsewhere_between(after(day), timeline.today) {
        return None;
    }
    let expect_by = contact.expect_by_instant.unwrap_or_else(|| schedule.patient.calendar.end(after(day)));
    let is_past = timeline.as_of > expect_by;
    let is_kept = timeline.changes(schedule.exit).any(|change| change.order() > event.order());
    (!is_past || !is_kept).then_some(Promise { event, expect_by, broken: is_past })
}
