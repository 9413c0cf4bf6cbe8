//! What asks for a change of a dressing: the interval, a shower, damage; each with its deadline.

use chrono::{Duration, NaiveDate};

use super::due::Because;
use super::{Beginning, Report, Schedule, Trouble};
use crate::day::{Instant, after};
use crate::event::Event;
use crate::timeline::Timeline;

/// A change that is required by a deadline.
#[derive(Debug, Clone, Copy)]
pub struct Requirement<'t> {
    /// The care day in which it falls due.
    pub due_on: NaiveDate,
    /// The moment at which it becomes overdue.
    pub deadline: Instant,
    /// Whether the deadline is the end of a care day, rather than a number of hours.
    pub is_end_of_day: bool,
    /// Why.
    pub because: Because,
    /// Whether the order of the report and a change of the same day is unknown.
    pub order_unknown: bool,
    /// The shower or damage behind it.
    pub report: Option<Report<'t>>,
}

/// The showers and damage that no change answers.
#[derive(Debug)]
pub(super) struct Unanswered<'t> {
    /// Each as a requirement, in the order of the reports.
    pub requirements: Vec<Requirement<'t>>,
    /// Those that a stay elsewhere ended.
    pub ended_by_move: Vec<Report<'t>>,
}

impl<'t> Requirement<'t> {
    /// The regular requirement: the interval since the last change, or the first change.
    pub(super) fn regular(schedule: &Schedule, timeline: &Timeline, last_change: Option<&Event>) -> Option<Self> {
        let today = timeline.today;
        let beginning = schedule.beginning();
        let (mut base, first) = match last_change {
            Some(change) => (change.when.care_day, schedule.next_due(change.when.care_day, today)),
            None => (beginning.day(), schedule.first_due(today)),
        };
        let mut due_on = first?;
        // A stay ends what was due before it.
        while schedule.is_stay_between(after(due_on), today) {
            base = due_on;
            due_on = schedule.next_due(due_on, today)?;
        }
        let because = match beginning {
            _ if schedule.is_stay_between(base, due_on) => Because::Return,
            Beginning::Implant(_) if last_change.is_none() => Because::FirstChange,
            Beginning::Unknown(_) if last_change.is_none() => Because::UnknownBefore,
            _ => Because::Interval,
        };
        let deadline = schedule.patient.calendar.end(due_on);
        Some(Requirement { due_on, deadline, is_end_of_day: true, because, order_unknown: false, report: None })
    }

    fn of_report(schedule: &Schedule, report: Report<'t>, order_unknown: bool) -> Self {
        let windows = schedule.plan.windows;
        let (because, hours) = match report.trouble {
            Trouble::Shower => (Because::AfterShower, windows.after_shower_hours),
            Trouble::Damage(_) | Trouble::LeftDamaged(_) => (Because::Damage, windows.after_damage_hours),
        };
        let when = report.event.when;
        let is_end_of_day = !report.event.is_timed();
        let deadline = match is_end_of_day {
            true => schedule.patient.calendar.end(when.care_day),
            false => when.instant + Duration::hours(hours),
        };
        Requirement { due_on: when.care_day, deadline, is_end_of_day, because, order_unknown, report: Some(report) }
    }

    /// Whether the deadline has passed: a number of hours when the moment is later, the end of a care day when it has come.
    pub fn is_overdue(&self, as_of: Instant) -> bool {
        if self.is_end_of_day { as_of >= self.deadline } else { as_of > self.deadline }
    }

    /// Whether the dressing got wet or no longer seals.
    pub fn is_reported(&self) -> bool {
        self.report.is_some()
    }

    /// The order of precedence: by deadline; on a tie the shower, the damage, then the regular one.
    pub(super) fn precedence(&self) -> (Instant, u8) {
        let rank = match self.because {
            Because::AfterShower => 0,
            Because::Damage => 1,
            _ => 2,
        };
        (self.deadline, rank)
    }
}

impl<'t> Unanswered<'t> {
    /// The showers and damage of an exit site that no change had answered at a moment, by what had happened by then.
    pub(super) fn at(schedule: &Schedule<'t>, timeline: &'t Timeline, moment: Instant) -> Unanswered<'t> {
        let calendar = &schedule.patient.calendar;
        let today = calendar.today(moment);
        let changes: Vec<&Event> =
            timeline.changes(schedule.exit).filter(|change| change.exists(calendar, moment)).collect();
        let stands = |report: &Report| {
            report.event.exists(calendar, moment) && !changes.iter().any(|change| report.is_answered_by(change))
        };
        let has_moved = |report: &Report| schedule.is_stay_between(after(report.event.when.care_day), today);
        let standing = Report::all(schedule, timeline).into_iter().filter(stands);
        let (ended_by_move, standing): (Vec<Report>, Vec<Report>) = standing.partition(has_moved);
        let requirement = |report: Report<'t>| {
            let order_unknown = changes.iter().any(|change| report.has_unknown_order(change));
            Requirement::of_report(schedule, report, order_unknown)
        };
        Unanswered { requirements: standing.into_iter().map(requirement).collect(), ended_by_move }
    }

    /// The shower requirement and the damage requirement: of each kind the one with the earliest deadline.
    pub(super) fn earliest(&self) -> Vec<Requirement<'t>> {
        let of = |because| {
            self.requirements.iter().filter(|one| one.because == because).min_by_key(|one| one.deadline).copied()
        };
        [of(Because::AfterShower), of(Because::Damage)].into_iter().flatten().collect()
    }
}
