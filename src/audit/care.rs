//! Care at a patient's exit sites: expected changes, days with dressing current, showers followed by a change, findings at changes.

use std::collections::BTreeMap;

use chrono::{Duration, NaiveDate};

use super::AuditSpan;
use crate::day::{Period, after};
use crate::event::{Anchor, Dressing, Event, Fact};
use crate::policy::CarePlan;
use crate::schedule::{ChangeOutcome, Missed, Schedule, TriggerEvent, Trouble};
use crate::surveillance::share::ClusterCount;
use crate::timeline::Timeline;

/// Care at all exit sites of a patient over the days of the charts.
#[derive(Debug, Clone, Default)]
pub struct ExitCare {
    /// The expected changes, each in the period to which it belongs.
    pub expected: Vec<Expected>,
    /// The covered expected days before today.
    pub days: Vec<DayInDate>,
    /// The showers whose change window has closed.
    pub showers: Vec<SiteShower>,
    /// The days of showers whose change window was cut short by a stay elsewhere.
    pub ended_by_move: Vec<NaiveDate>,
    /// The findings of each change.
    pub found: Vec<ChangeFindings>,
}

/// One expected change.
#[derive(Debug, Clone)]
pub struct Expected {
    /// The day that assigns it to a period.
    pub day: NaiveDate,
    /// The day on which it was due.
    pub due_on: NaiveDate,
    /// The phase of that day.
    pub phase: String,
    /// Its outcome.
    pub outcome: ChangeOutcome,
}

/// One covered expected day.
#[derive(Debug, Clone)]
pub struct DayInDate {
    /// The care day.
    pub day: NaiveDate,
    /// Its phase.
    pub phase: String,
    /// True if no regular change was past due at its end.
    pub is_in_date: bool,
}

/// One shower at one exit site.
#[derive(Debug, Clone)]
pub struct SiteShower {
    /// Its care day.
    pub day: NaiveDate,
    /// The phase of that day.
    pub phase: String,
    /// True if a change followed in time; `None` if a time is unknown or the time after it is not covered.
    pub in_time: Option<bool>,
    /// True if it was before the first allowed day, or against an order.
    pub is_too_early: bool,
}

/// The findings of one change.
#[derive(Debug, Clone)]
pub struct ChangeFindings {
    /// Its care day.
    pub day: NaiveDate,
    /// The phase of that day.
    pub phase: String,
    /// True if the anchor was in place; `None` if not recorded.
    pub anchor: Option<bool>,
    /// True if the dressing was intact; `None` if not recorded.
    pub dressing: Option<bool>,
}

/// Counts by phase.
pub type CountsByPhase = BTreeMap<String, ClusterCount>;

impl ExitCare {
    pub(super) fn of(plan: &CarePlan, timeline: &Timeline, span: &AuditSpan) -> ExitCare {
        let mut care = ExitCare::default();
        let patient = timeline.patient;
        for exit in patient.exits_open_between(span.charts.from, span.charts.to) {
            care.add(&Schedule { plan, patient, exit }, timeline, span.charts);
        }
        care
    }

    fn add(&mut self, schedule: &Schedule, timeline: &Timeline, days: Period) {
        let phase = |day| schedule.interval(day).map(|(_, phase)| phase.to_owned()).unwrap_or_default();
        let missed = Missed::of(schedule, timeline, days);
        self.days.extend(missed.days.into_iter().map(|dated| DayInDate {
            day: dated.day,
            phase: phase(dated.day),
            is_in_date: dated.is_in_date,
        }));
        self.expected.extend(missed.expectations.into_iter().map(|one| Expected {
            day: one.belongs_to(),
            due_on: one.due_on,
            outcome: one.outcome,
            phase: one.phase,
        }));
        let changes: Vec<&Event> = timeline.changes(schedule.exit).collect();
        let reports = TriggerEvent::all(schedule, timeline).into_iter();
        for report in reports.filter(|report| report.trouble == Trouble::Shower) {
            let day = report.event.when.care_day;
            let followed =
                if days.contains(day) { followed(schedule, timeline, &changes, &report) } else { Followed::Open };
            let in_time = match followed {
                Followed::Open => continue,
                Followed::Moved => {
                    self.ended_by_move.push(day);
                    continue;
                }
                Followed::InTime => Some(true),
                Followed::Late => Some(false),
                Followed::NotKnown => None,
            };
            let is_too_early = schedule.no_shower(day).is_some();
            self.showers.push(SiteShower { day, phase: phase(day), in_time, is_too_early });
        }
        for event in changes.into_iter().filter(|event| days.contains(event.when.care_day)) {
            let Fact::Change(change) = &event.fact else { continue };
            let day = event.when.care_day;
            self.found.push(ChangeFindings {
                day,
                phase: phase(day),
                anchor: change.found.anchor.map(|anchor| anchor == Anchor::InPlace),
                dressing: change.found.dressing.map(|dressing| dressing == Dressing::Intact),
            });
        }
    }

    /// Counts the days with dressing current in a period, by phase.
    pub fn days_in_date(&self, period: Period) -> CountsByPhase {
        tally(self.days.iter().filter(|one| period.contains(one.day)).map(|one| (&one.phase, one.is_in_date)))
    }

    /// Counts the showers of a period followed by a change in time, by phase; those with an unknown outcome separately.
    pub(crate) fn showers_followed(&self, period: Period) -> (CountsByPhase, u64) {
        let showers = || self.showers.iter().filter(|one| period.contains(one.day));
        let known = showers().filter_map(|one| Some((&one.phase, one.in_time?)));
        (tally(known), showers().filter(|one| one.in_time.is_none()).count() as u64)
    }

    /// Counts the changes of a period with a good finding, by phase, and the number without a record of it.
    pub fn found(&self, period: Period, what: impl Fn(&ChangeFindings) -> Option<bool>) -> (CountsByPhase, u64) {
        let changes = || self.found.iter().filter(|one| period.contains(one.day));
        let known = changes().filter_map(|one| Some((&one.phase, what(one)?)));
        (tally(known), changes().filter(|one| what(one).is_none()).count() as u64)
    }
}

fn tally<'a>(all: impl Iterator<Item = (&'a String, bool)>) -> CountsByPhase {
    let mut tally = CountsByPhase::new();
    for (phase, is_so) in all {
        let counted = tally.entry(phase.clone()).or_default();
        counted.whole += 1;
        counted.part += u64::from(is_so);
    }
    tally
}

/// The change after a shower: in time, late, or unknown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Followed {
    /// The window is still open.
    Open,
    /// The patient went elsewhere before a change, while the window was open.
    Moved,
    InTime,
    Late,
    /// A time is unknown, or the days are not covered.
    NotKnown,
}

fn followed(schedule: &Schedule, timeline: &Timeline, changes: &[&Event], shower: &TriggerEvent) -> Followed {
    let (calendar, when) = (&timeline.patient.calendar, shower.event.when);
    let deadline = match shower.event.when.wall.is_some() {
        true => when.instant + Duration::hours(schedule.plan.windows.after_shower_hours),
        false => calendar.end(when.care_day),
    };
    let last_day = calendar.today(deadline);
    let is_elsewhere = |until: NaiveDate| schedule.is_stay_between(after(when.care_day), until);
    // If only the day of the shower is known, the deadline is the end of that care day.
    let in_time = |change: &Event| match shower.event.when.wall.is_some() {
        true => is_in_time(change, deadline, calendar),
        false => Some(change.when.care_day <= when.care_day),
    };
    // The changes are in order. One of an earlier day answers nothing, and care days in two time zones are less than two
    // days apart.
    let first = changes.partition_point(|change| change.when.instant < when.instant - Duration::days(3));
    let answer = changes[first..].iter().copied().find(|change| shower.is_answered_by(change));
    match answer {
        Some(change) if shower.has_unknown_order(change) => Followed::NotKnown,
        Some(change) if in_time(change) == Some(true) => Followed::InTime,
        Some(change) if in_time(change).is_none() => Followed::NotKnown,
        None if timeline.as_of <= deadline => Followed::Open,
        _ if is_elsewhere(last_day) => Followed::Moved,
        _ if !timeline.is_covered_between(when.care_day, last_day.min(timeline.today)) => Followed::NotKnown,
        _ => Followed::Late,
    }
}

/// Returns true if a change was made by a deadline; `None` if its time is unknown and could be either.
fn is_in_time(change: &Event, deadline: crate::day::Instant, calendar: &crate::day::Calendar) -> Option<bool> {
    let day = change.when.care_day;
    match () {
        () if change.is_timed() => Some(change.when.instant <= deadline),
        () if calendar.end(day) <= deadline => Some(true),
        () if calendar.start(day) > deadline => Some(false),
        () => None,
    }
}
