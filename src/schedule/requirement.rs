//! Requirements of a dressing change: the interval, a shower, damage; each with its deadline.

use chrono::{Duration, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;

use super::{Beginning, ChangeTrigger, Schedule, TriggerEvent, Trouble};
use crate::day::{Instant, WallTime, after};
use crate::event::Event;
use crate::timeline::Timeline;
use crate::word::words;

words! {
    /// The reason why a change is due.
    pub enum Because {
        /// Interval since the last change.
        Interval = "interval",
        /// First change after the implant.
        FirstChange = "first-change",
        /// Return from elsewhere.
        Return = "return",
        /// No change is known from before the records began.
        UnknownBefore = "unknown-before",
        /// Shower without a change after it.
        AfterShower = "after-shower",
        /// Dressing reported wet, soiled, lifting or off.
        Damage = "damage",
        /// Overdue log of the household.
        LogLate = "log-late",
    }
}

/// A change that is required by a deadline.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct Requirement {
    /// Reason.
    pub because: Because,
    /// Care day on which it is due.
    pub due_on: NaiveDate,
    /// Deadline.
    pub deadline: WallTime,
    /// True if it is unknown whether a change came before or after the event that requires it.
    pub order_unknown: bool,
    /// Whole hours since the deadline; null if not overdue.
    pub hours_overdue: Option<i64>,
    /// True if the deadline is the end of a care day rather than a number of hours.
    #[serde(rename = "end_of_day")]
    pub is_end_of_day: bool,
    /// The shower or damage that requires it.
    pub report: Option<ChangeTrigger>,
}

/// The showers and damage without a change.
#[derive(Debug)]
pub(super) struct Unanswered {
    /// Each as a requirement, in the order of the events.
    pub requirements: Vec<Requirement>,
    /// Those ended by a stay elsewhere.
    pub ended_by_move: Vec<ChangeTrigger>,
}

impl Requirement {
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
        let calendar = &schedule.patient.calendar;
        let deadline = calendar.local(calendar.end(due_on), due_on);
        Some(Requirement {
            due_on,
            deadline,
            hours_overdue: None,
            is_end_of_day: true,
            because,
            order_unknown: false,
            report: None,
        })
    }

    fn of_report(schedule: &Schedule, report: TriggerEvent, order_unknown: bool) -> Self {
        let windows = schedule.plan.windows;
        let (because, hours) = match report.trouble {
            Trouble::Shower => (Because::AfterShower, windows.after_shower_hours),
            Trouble::Damage(_) | Trouble::LeftDamaged(_) => (Because::Damage, windows.after_damage_hours),
        };
        let (when, calendar) = (report.event.when, &schedule.patient.calendar);
        let is_end_of_day = when.wall.is_none();
        let deadline = match is_end_of_day {
            true => calendar.end(when.care_day),
            false => when.instant + Duration::hours(hours),
        };
        let deadline = calendar.local(deadline, when.care_day);
        Requirement {
            due_on: when.care_day,
            deadline,
            hours_overdue: None,
            is_end_of_day,
            because,
            order_unknown,
            report: Some(report.trigger(calendar)),
        }
    }

    /// Returns true if the deadline has passed: later than a deadline in hours, or at or after the end of a care day.
    pub(crate) fn is_overdue(&self, as_of: Instant) -> bool {
        let deadline = self.deadline.instant();
        if self.is_end_of_day { as_of >= deadline } else { as_of > deadline }
    }

    /// Returns the requirement with its hours overdue.
    pub(super) fn as_of(self, as_of: Instant) -> Self {
        let hours = (as_of - self.deadline.instant()).num_hours();
        Requirement { hours_overdue: self.is_overdue(as_of).then_some(hours), ..self }
    }

    /// Returns true if the dressing got wet or no longer seals.
    pub(crate) fn is_reported(&self) -> bool {
        self.report.is_some()
    }

    /// The order of precedence: by deadline; on a tie shower, damage, then the regular requirement.
    pub(super) fn precedence(&self) -> (WallTime, u8) {
        let rank = match self.because {
            Because::AfterShower => 0,
            Because::Damage => 1,
            _ => 2,
        };
        (self.deadline, rank)
    }
}

impl Unanswered {
    /// Returns the showers and damage of an exit site without a change as of an instant.
    pub(super) fn at(schedule: &Schedule, timeline: &Timeline, moment: Instant) -> Unanswered {
        let calendar = &schedule.patient.calendar;
        let today = calendar.today(moment);
        let changes: Vec<&Event> =
            timeline.changes(schedule.exit).filter(|change| change.exists(calendar, moment)).collect();
        let stands = |report: &TriggerEvent| {
            report.event.exists(calendar, moment) && !changes.iter().any(|change| report.is_answered_by(change))
        };
        let has_moved = |report: &TriggerEvent| schedule.is_stay_between(after(report.event.when.care_day), today);
        let standing = TriggerEvent::all(schedule, timeline).into_iter().filter(stands);
        let (ended_by_move, standing): (Vec<TriggerEvent>, Vec<TriggerEvent>) = standing.partition(has_moved);
        let requirement = |report: TriggerEvent| {
            let order_unknown = changes.iter().any(|change| report.has_unknown_order(change));
            Requirement::of_report(schedule, report, order_unknown)
        };
        Unanswered {
            requirements: standing.into_iter().map(requirement).collect(),
            ended_by_move: ended_by_move.iter().map(|report| report.trigger(calendar)).collect(),
        }
    }

    /// Returns the shower requirement and the damage requirement with the earliest deadline.
    pub(super) fn earliest(&self) -> Vec<Requirement> {
        let of = |because| {
            self.requirements.iter().filter(|one| one.because == because).min_by_key(|one| one.deadline).copied()
        };
        [of(Because::AfterShower), of(Because::Damage)].into_iter().flatten().collect()
    }
}
