//! One patient's follow-up since the implant, its end, and the risk set of a day.
//!
//! Left out on purpose: dates and records. A day is an integer, counted from the implant.

use schemars::JsonSchema;
use serde::Serialize;

/// The end of a patient's follow-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FollowUpEnd {
    /// A first infection.
    Infection,
    /// Death.
    Death,
    /// A transplant.
    Transplant,
    /// Recovery.
    Recovery,
    /// Censoring: still under observation, or an end of observation only.
    Censored,
}

impl FollowUpEnd {
    /// The competing ends: each precludes the others. Censoring is not among them.
    pub(crate) const COMPETING: [FollowUpEnd; 4] =
        [FollowUpEnd::Infection, FollowUpEnd::Death, FollowUpEnd::Transplant, FollowUpEnd::Recovery];

    /// Every end, including censoring.
    pub const ALL: [FollowUpEnd; 5] = [
        FollowUpEnd::Infection,
        FollowUpEnd::Death,
        FollowUpEnd::Transplant,
        FollowUpEnd::Recovery,
        FollowUpEnd::Censored,
    ];
}

/// Whole days since the implant, under observation from the start of day `from` to the end on day `to`.
///
/// A patient is at risk on day t if `from` ≤ t ≤ `to`: a patient who enters on a day can have an infection on it, and on
/// ties the infection comes before leaving. `from` is 0 for observation from the implant on; a later value is delayed
/// entry. A follow-up with `to` before `from` is empty and ignored everywhere.
///
/// Different ends of different patients on one day are simultaneous, as in Aalen & Johansen (Scand J Stat 1978;5:141) and
/// R's `survival`: each is counted over the same risk set, which includes those who leave on that day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct FollowUp {
    /// First day under observation.
    pub from: i64,
    /// Last day, on which it ended.
    pub to: i64,
    /// End.
    pub end: FollowUpEnd,
}

impl FollowUp {
    /// Returns true if the follow-up is not empty: `from` is not after `to`.
    pub(crate) fn is_observed(&self) -> bool {
        self.from <= self.to
    }
}

/// Follow-ups in sorted order, for the number at risk on a day and the ends on it.
///
/// Sorting takes O(n log n) once, a query O(log n). The order of the input does not matter.
///
/// ```
/// # use exitsite::surveillance::follow_up::{RiskSet, FollowUpEnd, FollowUp};
/// let follow_up = |from, to, end| FollowUp { from, to, end };
/// let cohort = RiskSet::of(&[follow_up(0, 10, FollowUpEnd::Infection), follow_up(4, 10, FollowUpEnd::Censored), follow_up(11, 30, FollowUpEnd::Death)]);
/// let at_risk = |day| cohort.at_risk(day);
/// assert_eq!((at_risk(3), at_risk(4)), (1, 2)); // from the day of entry on
/// assert_eq!((at_risk(10), at_risk(11)), (2, 1)); // through the day of the end
/// assert_eq!((cohort.ended(10, FollowUpEnd::Infection), cohort.ended(10, FollowUpEnd::Death)), (1, 0));
/// assert_eq!(cohort.days(), [10, 30]);
/// // a follow-up from day 5 to day 4 is empty
/// assert_eq!(RiskSet::of(&[follow_up(5, 4, FollowUpEnd::Infection)]).at_risk(5), 0);
/// ```
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RiskSet {
    entries: Vec<i64>,
    exits: Vec<(i64, FollowUpEnd)>,
}

impl RiskSet {
    /// Builds the risk set from the nonempty follow-ups.
    pub fn of(follow_ups: &[FollowUp]) -> RiskSet {
        let observed = || follow_ups.iter().filter(|follow_up| follow_up.is_observed());
        let mut entries: Vec<i64> = observed().map(|follow_up| follow_up.from).collect();
        let mut exits: Vec<(i64, FollowUpEnd)> = observed().map(|follow_up| (follow_up.to, follow_up.end)).collect();
        entries.sort_unstable();
        exits.sort_unstable();
        RiskSet { entries, exits }
    }

    /// The days on which a follow-up ended, without duplicates, in order.
    pub fn days(&self) -> Vec<i64> {
        let mut days: Vec<i64> = self.exits.iter().map(|(day, _)| *day).collect();
        days.dedup();
        days
    }

    /// The number at risk on a day, including those who entered or left on it.
    pub fn at_risk(&self, day: i64) -> u64 {
        let entered = self.entries.partition_point(|from| *from <= day);
        let gone = self.exits.partition_point(|(to, _)| *to < day);
        (entered - gone) as u64
    }

    /// The number at risk, as one step per day on which it changes.
    pub fn steps(&self) -> Vec<AtRisk> {
        let gone = self.exits.iter().map(|(to, _)| to.saturating_add(1));
        let mut days: Vec<i64> = self.entries.iter().copied().chain(gone).collect();
        days.sort_unstable();
        days.dedup();
        days.into_iter().map(|day| AtRisk { day, patients: self.at_risk(day) }).collect()
    }

    /// The number with a given end on a day.
    pub fn ended(&self, day: i64, end: FollowUpEnd) -> u64 {
        let before = self.exits.partition_point(|exit| *exit < (day, end));
        let through = self.exits.partition_point(|exit| *exit <= (day, end));
        (through - before) as u64
    }

    /// The number who left on a day, with any end.
    pub fn left(&self, day: i64) -> u64 {
        FollowUpEnd::ALL.iter().map(|end| self.ended(day, *end)).sum()
    }
}

/// The number at risk from a day on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct AtRisk {
    /// Day since the implant.
    pub day: i64,
    /// Number at risk from that day until the next step.
    pub patients: u64,
}

/// The number at risk on a day, from its steps.
pub fn at_risk(steps: &[AtRisk], day: i64) -> u64 {
    steps[..steps.partition_point(|step| step.day <= day)].last().map_or(0, |step| step.patients)
}

#[cfg(test)]
pub(super) mod invented {
    //! Follow-ups for the laws of the figures: few days, so that ties, delayed entry and empty risk sets are frequent.

    use proptest::prelude::*;
    use proptest::sample::select;

    use super::{FollowUp, FollowUpEnd};

    /// One follow-up over at most `days` days; about one in ten is empty.
    fn follow_up(days: i64) -> impl Strategy<Value = FollowUp> {
        let from = prop_oneof![3 => Just(0), 2 => 0..days];
        let length = prop_oneof![1 => -3..0i64, 9 => 0..days];
        (from, length, select(FollowUpEnd::ALL.to_vec())).prop_map(|(from, length, end)| FollowUp {
            from,
            to: from + length,
            end,
        })
    }

    /// Up to 40 follow-ups, on few days or on many.
    pub(in super::super) fn follow_ups() -> impl Strategy<Value = Vec<FollowUp>> {
        select(vec![1, 5, 30, 1000]).prop_flat_map(|days| prop::collection::vec(follow_up(days), 0..40))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::invented::follow_ups;
    use super::*;

    proptest! {
        /// Compares with counting one by one, as the definition is written.
        #[test]
        fn each_day_is_answered_as_by_counting(follow_ups in follow_ups(), day in -5..1100i64) {
            let cohort = RiskSet::of(&follow_ups);
            let count = |is: &dyn Fn(&FollowUp) -> bool| follow_ups.iter().filter(|follow_up| is(follow_up)).count() as u64;
            prop_assert_eq!(cohort.at_risk(day), count(&|follow_up| follow_up.from <= day && day <= follow_up.to));
            let ended = |follow_up: &FollowUp| follow_up.from <= follow_up.to && follow_up.to == day;
            for end in FollowUpEnd::ALL {
                prop_assert_eq!(cohort.ended(day, end), count(&|follow_up| ended(follow_up) && follow_up.end == end));
            }
            prop_assert_eq!(at_risk(&cohort.steps(), day), cohort.at_risk(day));
            prop_assert_eq!(cohort.left(day), count(&ended));
            prop_assert_eq!(cohort.days().contains(&day), cohort.left(day) > 0);
        }
    }

    #[test]
    fn the_first_and_the_last_day_that_can_be_written_are_days() {
        let forever = FollowUp { from: i64::MIN, to: i64::MAX, end: FollowUpEnd::Death };
        let cohort = RiskSet::of(&[forever, FollowUp { from: i64::MAX, to: i64::MIN, end: FollowUpEnd::Death }]);
        assert_eq!([i64::MIN, 0, i64::MAX].map(|day| cohort.at_risk(day)), [1, 1, 1]);
        assert_eq!(cohort.days(), [i64::MAX]);
    }
}
