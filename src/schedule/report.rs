//! A shower or a damaged dressing, and the change that follows it.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::Schedule;
use crate::day::{Calendar, WallTime};
use crate::event::{At, ChangeReason, Dressing, Event, Fact, Kind, Water};
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
    /// Time from which it could be known: when its record was written, if later.
    pub known_at: WallTime,
}

/// The event of a change trigger, in its timeline.
#[derive(Debug, Clone, Copy)]
pub struct TriggerEvent<'a> {
    /// The event.
    pub event: &'a Event,
    /// Reason to change the dressing.
    pub trouble: Trouble,
}

impl<'t> TriggerEvent<'t> {
    /// The triggers of an exit site, in order, on days that count and are not part of a stay elsewhere.
    pub fn all(schedule: &Schedule<'t>, timeline: &'t Timeline) -> Vec<TriggerEvent<'t>> {
        let (patient, exit) = (schedule.patient, schedule.exit);
        let counts = |day: NaiveDate| patient.counts(exit, day) && !schedule.is_stay_between(day, day);
        let of_event = |event| troubles(event).into_iter().map(move |trouble| TriggerEvent { event, trouble });
        timeline.of_exit(exit).filter(|event| counts(event.when.care_day)).flat_map(of_event).collect()
    }

    /// The trigger as reports print it.
    pub fn trigger(&self, calendar: &Calendar) -> ChangeTrigger {
        let water = match &self.event.fact {
            Fact::Shower(shower) => shower.water,
            _ => None,
        };
        ChangeTrigger {
            at: At::of(&self.event.when, calendar),
            kind: self.event.name.kind,
            trouble: self.trouble,
            water,
            known_at: calendar.local(self.event.known_at(calendar), self.event.when.care_day),
        }
    }

    /// Returns true if a change resolves this trigger.
    ///
    /// A change resolves every shower and damage before it, including those at the same instant. On one care day where
    /// either has no time, the reason of the change must match or be missing. Damage that a change left is resolved only
    /// by a later change.
    pub(crate) fn is_answered_by(&self, change: &Event) -> bool {
        if change.name == self.event.name {
            return false;
        }
        let is_after = change.order() > self.event.order();
        let reason_says_so = self.is_reason_of(change);
        match (self.has_unknown_order(change), self.trouble) {
            (false, _) => is_after,
            (true, Trouble::LeftDamaged(_)) => is_after && reason_says_so,
            (true, _) => reason_says_so,
        }
    }

    /// Returns true if their order is unknown: both on one care day, and one without a time.
    pub(crate) fn has_unknown_order(&self, change: &Event) -> bool {
        change.name != self.event.name
            && change.when.care_day == self.event.when.care_day
            && !(change.is_timed() && self.event.is_timed())
    }

    /// Returns the triggers of an exit site that only one change resolves, whose order is unknown and whose reason is not
    /// given: it counts as later only by assumption.
    pub fn assumed(schedule: &Schedule<'t>, timeline: &'t Timeline) -> Vec<(TriggerEvent<'t>, &'t Event)> {
        let is_change = |event: &&Event| matches!(event.fact, Fact::Change(_));
        let changes: Vec<&Event> = timeline.of_exit(schedule.exit).filter(is_change).collect();
        let has_reason = |change: &Event| matches!(&change.fact, Fact::Change(change) if change.reason.is_some());
        let assumed = |trigger: TriggerEvent<'t>| {
            let answers = |change: &&&Event| trigger.is_answered_by(change);
            let [change] = changes.iter().filter(answers).collect::<Vec<_>>()[..] else { return None };
            (trigger.has_unknown_order(change) && !has_reason(change)).then_some((trigger, *change))
        };
        TriggerEvent::all(schedule, timeline).into_iter().filter_map(assumed).collect()
    }

    /// Returns the showers and damage of an exit site, each with a change in its minute, that no later change resolves. The
    /// seconds come from the typing, so their order is not known.
    pub(crate) fn in_one_minute(schedule: &Schedule<'t>, timeline: &'t Timeline) -> Vec<(TriggerEvent<'t>, &'t Event)> {
        let minute = |event: &Event| event.is_timed().then(|| event.when.instant.timestamp().div_euclid(60));
        let changes: Vec<&Event> = timeline.changes(schedule.exit).collect();
        let of_trigger = |trigger: TriggerEvent<'t>| {
            let is_with = |change: &&&Event| minute(change).is_some() && minute(change) == minute(trigger.event);
            let (with, others): (Vec<&&Event>, Vec<&&Event>) = changes.iter().partition(is_with);
            let is_resolved = others.iter().any(|change| trigger.is_answered_by(change));
            with.into_iter().filter(|_| !is_resolved).map(|change| (trigger, *change)).collect::<Vec<_>>()
        };
        let is_reported = |trigger: &TriggerEvent| trigger.event.name.kind != Kind::Change;
        TriggerEvent::all(schedule, timeline).into_iter().filter(is_reported).flat_map(of_trigger).collect()
    }

    /// Returns true if the reason of a change says that it was made for this trigger.
    pub(crate) fn is_named_by(&self, change: &Event) -> bool {
        matches!(&change.fact, Fact::Change(fact) if fact.reason.is_some()) && self.is_reason_of(change)
    }

    fn is_reason_of(&self, change: &Event) -> bool {
        let kind = self.event.name.kind;
        matches!(&change.fact, Fact::Change(fact) if is_resolved_for(self.trouble, kind, fact.reason))
    }
}

impl ChangeTrigger {
    /// Returns the reason of a change without a time by which it resolves the triggers it came after and none of the others:
    /// none if there are no others and no reason fits them all, and `other`, which resolves nothing, if no reason does both.
    pub fn reason_after(after: &[ChangeTrigger], others: &[ChangeTrigger]) -> Option<ChangeReason> {
        if others.is_empty() {
            let resolves =
                |reason: &ChangeReason| after.iter().all(|one| is_resolved_for(one.trouble, one.kind, Some(*reason)));
            return after.iter().map(ChangeTrigger::own_reason).find(resolves);
        }
        let spares = |reason: &ChangeReason| ChangeTrigger::spares(*reason, others);
        Some(after.iter().map(ChangeTrigger::own_reason).find(spares).unwrap_or(ChangeReason::Other))
    }

    /// Returns true if a change of this reason without a time resolves none of these triggers.
    pub(crate) fn spares(reason: ChangeReason, triggers: &[ChangeTrigger]) -> bool {
        triggers.iter().all(|one| !is_resolved_for(one.trouble, one.kind, Some(reason)))
    }

    /// The reason of a change made for this trigger.
    pub(crate) fn own_reason(&self) -> ChangeReason {
        match self.trouble {
            Trouble::Shower => ChangeReason::AfterShower,
            Trouble::Damage(Dressing::Wet) | Trouble::LeftDamaged(Dressing::Wet) => ChangeReason::Wet,
            Trouble::Damage(Dressing::Soiled) | Trouble::LeftDamaged(Dressing::Soiled) => ChangeReason::Soiled,
            Trouble::Damage(_) | Trouble::LeftDamaged(_) => ChangeReason::Lifting,
        }
    }
}

/// Returns true if a change of this reason, or of none, resolves a trigger if their order is unknown.
fn is_resolved_for(trouble: Trouble, kind: Kind, reason: Option<ChangeReason>) -> bool {
    let after_shower = matches!(reason, None | Some(ChangeReason::AfterShower));
    let for_damage = matches!(
        reason,
        None | Some(ChangeReason::Wet | ChangeReason::Soiled | ChangeReason::Lifting | ChangeReason::SiteConcern)
    );
    match trouble {
        Trouble::Shower => after_shower,
        // A change that resolves a shower also resolves the damage reported with that shower.
        Trouble::Damage(_) => for_damage || after_shower && kind == Kind::Shower,
        Trouble::LeftDamaged(_) => for_damage,
    }
}

/// Returns the reasons for an unscheduled change in an event.
fn troubles(event: &Event) -> Vec<Trouble> {
    let damaged = |dressing: Option<Dressing>| dressing.filter(|dressing| dressing.is_damaged());
    let [found, left] = event.found_and_left();
    match event.fact {
        Fact::Change(_) => damaged(left.dressing).map(Trouble::LeftDamaged).into_iter().collect(),
        _ => {
            let shower = matches!(event.fact, Fact::Shower(_)).then_some(Trouble::Shower);
            let damage = damaged(left.dressing).or(damaged(found.dressing));
            shower.into_iter().chain(damage.map(Trouble::Damage)).collect()
        }
    }
}
