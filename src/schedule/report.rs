//! A shower or a damaged dressing, and the change that follows it.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::Schedule;
use crate::day::{Calendar, Instant};
use crate::event::{At, ChangeReason, Dressing, Event, EventName, Fact, InOrder, Kind, Water, When};
use crate::timeline::Timeline;

/// A reason for an unscheduled change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Trouble {
    /// A shower or other water.
    Shower,
    /// The dressing was wet, soiled, lifting or off.
    Damage(Dressing),
    /// A change left the dressing damaged.
    LeftDamaged(Dressing),
}

/// An event that requires an unscheduled change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ChangeTrigger {
    /// Time.
    pub at: At,
    /// Kind of the record.
    pub kind: Kind,
    /// Reason to change the dressing.
    pub trouble: Trouble,
    /// Kind of water, in a shower record.
    pub water: Option<Water>,
    /// The name of the event.
    #[serde(skip)]
    pub name: EventName,
    /// The time of the event in the timeline.
    #[serde(skip)]
    pub when: When,
    /// The instant from which it could be known.
    #[serde(skip)]
    pub known_at: Instant,
}

impl ChangeTrigger {
    /// The trigger that an event is, for one reason.
    pub fn of(event: &Event, trouble: Trouble, calendar: &Calendar) -> ChangeTrigger {
        let water = match &event.fact {
            Fact::Shower(shower) => shower.water,
            _ => None,
        };
        ChangeTrigger {
            at: At::of(&event.when, calendar),
            kind: event.name.kind,
            trouble,
            water,
            name: event.name,
            when: event.when,
            known_at: event.known_at(calendar),
        }
    }

    /// The triggers of an exit site, in order, on days that count and are not part of a stay elsewhere.
    pub fn all(schedule: &Schedule, timeline: &Timeline) -> Vec<ChangeTrigger> {
        let (patient, exit) = (schedule.patient, schedule.exit);
        let counts = |day: NaiveDate| patient.counts(exit, day) && !schedule.is_stay_between(day, day);
        let of_event = |event| {
            troubles(event).into_iter().map(move |trouble| ChangeTrigger::of(event, trouble, &patient.calendar))
        };
        timeline.of_exit(exit).filter(|event| counts(event.when.care_day)).flat_map(of_event).collect()
    }

    /// Returns true if a change resolves this trigger.
    ///
    /// A change resolves every shower and damage before it, including those at the same instant. On one care day where
    /// either has no time, the reason of the change must match or be missing. Damage that a change left is resolved only
    /// by a later change.
    pub fn is_answered_by(&self, change: &Event) -> bool {
        if change.name == self.name {
            return false;
        }
        let is_after = change.order() > self.order();
        let reason_says_so = self.is_reason_of(change);
        match (self.has_unknown_order(change), self.trouble) {
            (false, _) => is_after,
            (true, Trouble::LeftDamaged(_)) => is_after && reason_says_so,
            (true, _) => reason_says_so,
        }
    }

    /// Returns true if their order is unknown: both on one care day, and one without a time.
    pub fn has_unknown_order(&self, change: &Event) -> bool {
        change.name != self.name
            && change.when.care_day == self.when.care_day
            && !(change.is_timed() && self.when.wall.is_some())
    }

    /// The sort key in the timeline, as [`Event::order`].
    pub fn order(&self) -> InOrder {
        self.when.order(self.name)
    }

    fn is_reason_of(&self, change: &Event) -> bool {
        let Fact::Change(fact) = &change.fact else { return false };
        let after_shower = matches!(fact.reason, None | Some(ChangeReason::AfterShower));
        let for_damage = matches!(
            fact.reason,
            None | Some(ChangeReason::Wet | ChangeReason::Soiled | ChangeReason::Lifting | ChangeReason::SiteConcern)
        );
        match self.trouble {
            Trouble::Shower => after_shower,
            // A change that resolves a shower also resolves the damage reported with that shower.
            Trouble::Damage(_) => for_damage || after_shower && self.kind == Kind::Shower,
            Trouble::LeftDamaged(_) => for_damage,
        }
    }
}

/// Returns the reasons for an unscheduled change in an event.
fn troubles(event: &Event) -> Vec<Trouble> {
    let damaged = |dressing: Option<Dressing>| dressing.filter(|dressing| dressing.is_damaged());
    match &event.fact {
        Fact::Shower(shower) => {
            let damage = damaged(shower.dressing_after).or(damaged(shower.dressing_before));
            [Some(Trouble::Shower), damage.map(Trouble::Damage)].into_iter().flatten().collect()
        }
        Fact::Inspection(inspection) => {
            damaged(inspection.covering.dressing).map(Trouble::Damage).into_iter().collect()
        }
        Fact::Trauma(trauma) => damaged(trauma.covering.dressing).map(Trouble::Damage).into_iter().collect(),
        Fact::Change(change) => damaged(change.left.dressing).map(Trouble::LeftDamaged).into_iter().collect(),
        _ => Vec::new(),
    }
}
