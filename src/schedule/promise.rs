//! A promised change or visit: its deadline, and whether it was kept.

use chrono::Duration;
use schemars::JsonSchema;
use serde::Serialize;

use super::requirement::Unanswered;
use super::{LOOK_AHEAD_DAYS, Schedule};
use crate::day::{Instant, WallTime, after};
use crate::event::{At, ContactOutcome};
use crate::timeline::Timeline;

/// A promised change or visit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Promise {
    /// Time of the promise.
    pub at: At,
    /// Time by which the change or visit is expected.
    pub expect_by: WallTime,
    /// True if that time passed without a change.
    pub broken: bool,
    /// True if the time was agreed; false if it is the deadline that was running at the call.
    #[serde(rename = "agreed")]
    pub is_agreed: bool,
    /// The file of the contact.
    pub file: String,
    /// The earliest time at which the contact can have happened: the start of its care day if only the day is known.
    pub earliest: WallTime,
}

impl Promise {
    /// Returns the last promise of a change or visit, while its time lasts or if it was broken; `None` once it was kept
    /// and its time is over, or if support or a stay elsewhere ended it.
    ///
    /// ```
    /// # use exitsite::story::Story;
    /// let home = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-11-22T08:00", "change", "");
    /// let promise = |by: &str| format!("with = 'patient'\nabout = ['overdue']\noutcome = 'will-change'\n{by}");
    /// // until the agreed time
    /// let agreed = home.event("2026-11-25T07:30", "contact", &promise("expect_by = 2026-11-25T12:00:00"));
    /// assert_eq!(agreed.promise("2026-11-25T12:00"), "by 2026-11-25T12:00");
    /// assert_eq!(agreed.promise("2026-11-25T12:01"), "by 2026-11-25T12:00, broken");
    /// // kept: returned until its time, not after
    /// let kept = agreed.event("2026-11-25T10:00", "change", "");
    /// assert_eq!(kept.promise("2026-11-25T12:00"), "by 2026-11-25T12:00");
    /// assert_eq!(kept.promise("2026-11-25T12:01"), "none");
    /// // a stay elsewhere ends it, a night in an emergency room does not
    /// let away = |back: &str| agreed.elsewhere_from("2026-11-26").home_from(back).promise("2026-11-28T09:00");
    /// assert_eq!(away("2026-11-27"), "by 2026-11-25T12:00, broken");
    /// assert_eq!(away("2026-11-28"), "none");
    /// assert_eq!(agreed.ended("2026-11-26").promise("2026-11-26T09:00"), "none");
    /// ```
    pub fn of(schedule: &Schedule, timeline: &Timeline) -> Option<Promise> {
        let is_promise = |outcome| matches!(outcome, ContactOutcome::WillChange | ContactOutcome::ComingIn);
        let (event, contact) = timeline.contacts().rfind(|(_, contact)| is_promise(contact.outcome))?;
        let day = event.when.care_day;
        if schedule.patient.has_ended(timeline.today) || schedule.is_stay_between(after(day), timeline.today) {
            return None;
        }
        let expect_by =
            contact.expect_by_instant.unwrap_or_else(|| default_until(schedule, timeline, event.when.instant));
        let is_past = timeline.as_of > expect_by;
        let is_kept = timeline.changes(schedule.exit).any(|change| change.order() > event.order());
        // The due list looks back for a kept promise as far as the schedule looks ahead.
        let is_old = timeline.as_of > event.when.instant + Duration::days(LOOK_AHEAD_DAYS);
        let calendar = &schedule.patient.calendar;
        (!is_kept || !is_past && !is_old).then(|| Promise {
            at: At::of(&event.when, calendar),
            expect_by: calendar.local(expect_by, timeline.today),
            broken: is_past,
            is_agreed: contact.expect_by_instant.is_some(),
            file: event.file().to_owned(),
            earliest: calendar.local(event.earliest(calendar), day),
        })
    }
}

/// Returns the default `expect_by` of a call: the earliest deadline among the showers and damage without a change at the
/// time, counted from the call if it had already passed; without any, the end of the care day of the call.
///
/// ```
/// # use exitsite::story::Story;
/// let home = Story::implanted("2026-08-03").home_from("2026-08-27").event("2026-11-22T08:00", "change", "");
/// // no deadline in hours: the end of today
/// assert_eq!(home.default_until("2026-11-24T07:30"), "2026-11-25T03:00");
/// assert_eq!(home.default_until("2026-11-25T01:30"), "2026-11-25T03:00");
/// // two hours after the shower at 07:00
/// let showered = home.event("2026-11-24T07:00", "shower", "");
/// assert_eq!(showered.default_until("2026-11-24T07:30"), "2026-11-24T09:00");
/// assert_eq!(showered.default_until("2026-11-24T09:00"), "2026-11-24T11:00");
/// // wet since last night: its deadline has passed, so two hours from the call
/// let wet = home.event("2026-11-23T21:30", "inspection", "dressing = 'wet'");
/// assert_eq!(wet.default_until("2026-11-24T07:15"), "2026-11-24T09:15");
/// // changed before the call
/// assert_eq!(wet.event("2026-11-24T07:00", "change", "").default_until("2026-11-24T07:15"), "2026-11-25T03:00");
/// // only the day of the shower is known: no deadline in hours
/// assert_eq!(home.event("2026-11-24", "shower", "").default_until("2026-11-24T07:15"), "2026-11-25T03:00");
/// ```
pub fn default_until(schedule: &Schedule, timeline: &Timeline, call: Instant) -> Instant {
    default_promise(schedule, timeline, call).0
}

/// The origin of a default `expect_by`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum DefaultFrom {
    /// The clock of a shower or damage, which still runs.
    Clock,
    /// The call, since that clock had run out.
    Call,
    /// No clock: the end of the care day of the call.
    EndOfDay,
}

/// Returns the default `expect_by` of a call as [`default_until`] does, with its origin.
pub(crate) fn default_promise(schedule: &Schedule, timeline: &Timeline, call: Instant) -> (Instant, DefaultFrom) {
    let windows = schedule.plan.windows;
    let until = |one: &super::Requirement| {
        let hours = match one.because {
            super::Because::AfterShower => windows.after_shower_hours,
            _ => windows.after_damage_hours,
        };
        match one.deadline.instant() {
            deadline if deadline <= call => (call + Duration::hours(hours), DefaultFrom::Call),
            deadline => (deadline, DefaultFrom::Clock),
        }
    };
    let unanswered = Unanswered::at(schedule, timeline, call).requirements;
    let in_hours = unanswered.iter().filter(|one| !one.is_end_of_day);
    let calendar = &schedule.patient.calendar;
    in_hours.map(until).min().unwrap_or_else(|| (calendar.end(calendar.today(call)), DefaultFrom::EndOfDay))
}
