//! The cumulative incidence of one end in the presence of competing ends.
//!
//! It estimates the proportion with this end by a day, given that patients who died, were transplanted or recovered can
//! no longer have it. Left out on purpose: the proportion without competing ends; see [`super::kaplan_meier`].
//!
//! Sources, *from memory*: Aalen & Johansen, Scand J Stat 1978;5:141; the infinitesimal jackknife: Jaeckel, Bell
//! Laboratories memorandum 72-1215-11, 1972, as R's `survival` applies it to the states of a patient.

use schemars::JsonSchema;
use serde::Serialize;

use super::follow_up::{FollowUp, FollowUpEnd, RiskSet};
use super::kaplan_meier::log_log;

/// The curve on a day with an event.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct IncidenceStep {
    /// Day since the implant.
    pub day: i64,
    /// Number at risk on that day.
    pub at_risk: u64,
    /// Cumulative incidence: the proportion with this end by that day.
    pub value: f64,
    /// Standard error, by the infinitesimal jackknife.
    pub std_error: f64,
    /// Lower 95 % limit; null at 0 and 1.
    pub low: Option<f64>,
    /// Upper 95 % limit; null at 0 and 1.
    pub high: Option<f64>,
}

/// Patients with the same follow-up, and the influence of one of them on the curve.
struct FollowUpPattern {
    follow_up: FollowUp,
    patients: u64,
    /// Derivative of the proportion without any end, with respect to the weight of one patient.
    on_free: f64,
    /// Derivative of the proportion with this end.
    on_met: f64,
}

/// Returns the cumulative incidence of `end`, one step per day with any end other than censoring.
///
/// ```
/// # use exitsite::surveillance::incidence::cumulative_incidence;
/// # use exitsite::surveillance::follow_up::{FollowUpEnd, FollowUp};
/// let follow_up = |from, to, end| FollowUp { from, to, end };
/// let four = [
///     follow_up(0, 10, FollowUpEnd::Infection), follow_up(0, 10, FollowUpEnd::Death), follow_up(0, 20, FollowUpEnd::Censored), follow_up(0, 30, FollowUpEnd::Infection),
/// ];
/// let values = |end| cumulative_incidence(&four, end).iter().map(|step| (step.day, step.value)).collect::<Vec<_>>();
/// // on day 10 both ends occur at once, each in one of four; on day 30 in the last patient, for the half that was free
/// assert_eq!(values(FollowUpEnd::Infection), [(10, 0.25), (30, 0.75)]);
/// assert_eq!(values(FollowUpEnd::Death), [(10, 0.25), (30, 0.25)]);
/// // one of four, none censored before: the standard error is the square root of 1/4 · 3/4 ÷ 4
/// assert!((cumulative_incidence(&four, FollowUpEnd::Death)[0].std_error - f64::sqrt(0.25 * 0.75 / 4.0)).abs() < 1e-15);
/// // censoring is not an end
/// assert!(cumulative_incidence(&four[2..3], FollowUpEnd::Infection).is_empty());
/// assert!(values(FollowUpEnd::Censored).iter().all(|(_, value)| *value == 0.0));
/// ```
pub fn cumulative_incidence(follow_ups: &[FollowUp], end: FollowUpEnd) -> Vec<IncidenceStep> {
    let cohort = RiskSet::of(follow_ups);
    let mut alike = alike(follow_ups);
    let (mut free, mut value) = (1.0, 0.0);
    let mut has_other = false;
    let mut steps = Vec::new();
    for day in cohort.days() {
        let ended: u64 = FollowUpEnd::COMPETING.iter().map(|end| cohort.ended(day, *end)).sum();
        if ended == 0 {
            continue;
        }
        let met = if end == FollowUpEnd::Censored { 0 } else { cohort.ended(day, end) };
        let at_risk = cohort.at_risk(day);
        let share = |patients: u64| patients as f64 / at_risk as f64;
        let moved = IncidenceJump {
            day,
            end,
            met: share(met),
            still_free: share(at_risk - ended),
            weight: free / at_risk as f64,
        };
        let variance = moved.variance(&mut alike);
        has_other |= free > 0.0 && ended > met;
        value = f64::min(1.0, value + free * moved.met);
        free *= moved.still_free;
        // All patients have this end: exactly 1, which the sum of fractions would miss slightly.
        let is_whole = free == 0.0 && !has_other;
        let (value, std_error) = if is_whole { (1.0, 0.0) } else { (value, f64::sqrt(variance)) };
        let (low, high) = log_log(value, std_error).unzip();
        steps.push(IncidenceStep { day, at_risk, value, std_error, low, high });
    }
    steps
}

/// The jump of the curve on a day with events.
struct IncidenceJump {
    day: i64,
    end: FollowUpEnd,
    /// Proportion of those at risk with this end.
    met: f64,
    /// Proportion of those at risk without any end.
    still_free: f64,
    /// Proportion free per patient at risk.
    weight: f64,
}

impl IncidenceJump {
    /// Updates the influence of every patient over the day and returns the sum of its squares.
    ///
    /// The influence is the derivative, with respect to the patient's weight, of: proportion with this end + proportion
    /// free × `met`, and proportion free × `still_free`. A patient not at risk does not affect the two fractions; a
    /// patient who has not entered yet affects nothing.
    fn variance(&self, alike: &mut [FollowUpPattern]) -> f64 {
        let entered = alike.partition_point(|like| like.follow_up.from <= self.day);
        let of = |like: &mut FollowUpPattern| {
            like.on_met += like.on_free * self.met;
            like.on_free *= self.still_free;
            if like.follow_up.to >= self.day {
                let has_ended = like.follow_up.to == self.day && like.follow_up.end != FollowUpEnd::Censored;
                let has_met = has_ended && like.follow_up.end == self.end;
                like.on_met += self.weight * (f64::from(has_met) - self.met);
                like.on_free += self.weight * (f64::from(!has_ended) - self.still_free);
            }
            like.patients as f64 * like.on_met * like.on_met
        };
        alike[..entered].iter_mut().map(of).sum()
    }
}

/// The nonempty follow-ups by day of entry, with equal ones grouped.
fn alike(follow_ups: &[FollowUp]) -> Vec<FollowUpPattern> {
    let mut follow_ups: Vec<FollowUp> = follow_ups.iter().copied().filter(FollowUp::is_observed).collect();
    follow_ups.sort_unstable();
    let of_equals = |equals: &[FollowUp]| FollowUpPattern {
        follow_up: equals[0],
        patients: equals.len() as u64,
        on_free: 0.0,
        on_met: 0.0,
    };
    follow_ups.chunk_by(|one, next| one == next).map(of_equals).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::follow_up::invented::follow_ups;
    use super::super::kaplan_meier::kaplan_meier;
    use super::*;

    fn is_share(value: f64) -> bool {
        (0.0..=1.0).contains(&value)
    }

    proptest! {
        #[test]
        fn incidence_never_falls_and_its_limits_hold_it(follow_ups in follow_ups()) {
            for end in FollowUpEnd::ALL {
                let mut before = 0.0;
                for step in cumulative_incidence(&follow_ups, end) {
                    prop_assert!(step.value >= before && is_share(step.value) && is_share(step.std_error), "{:?}", step);
                    before = step.value;
                    let is_inside = step.value > 0.0 && step.value < 1.0;
                    prop_assert_eq!((step.low.is_some(), step.high.is_some()), (is_inside, is_inside));
                    if let (Some(low), Some(high)) = (step.low, step.high) {
                        prop_assert!(is_share(low) && is_share(high), "{:?}", step);
                        prop_assert!(low <= step.value && step.value <= high, "{:?}", step);
                    }
                }
            }
        }

        /// Freedom from any end equals Kaplan–Meier with all ends merged, which is computed elsewhere.
        #[test]
        fn all_incidences_and_the_freedom_from_any_end_are_one(follow_ups in follow_ups()) {
            let any = |follow_up: &FollowUp| FollowUp {
                end: if follow_up.end == FollowUpEnd::Censored { FollowUpEnd::Censored } else { FollowUpEnd::Infection },
                ..*follow_up
            };
            let freedom = kaplan_meier(&follow_ups.iter().map(any).collect::<Vec<FollowUp>>());
            let free = freedom.steps.iter().filter(|step| step.events > 0);
            let curves = FollowUpEnd::COMPETING.map(|end| cumulative_incidence(&follow_ups, end));
            prop_assert!(curves.iter().all(|curve| curve.len() == free.clone().count()));
            for (at, free) in free.enumerate() {
                let sum: f64 = curves.iter().map(|curve| curve[at].value).sum();
                prop_assert!((sum + free.survival - 1.0).abs() < 1e-10, "{} {:?}", sum, free);
                prop_assert!(curves.iter().all(|curve| (curve[at].day, curve[at].at_risk) == (free.day, free.at_risk)));
            }
        }

        /// Without delayed entry, Greenwood's variance equals the jackknife's if there is only one end.
        #[test]
        fn of_one_end_alone_the_standard_error_is_greenwoods(follow_ups in follow_ups()) {
            let is_alone = |follow_up: &FollowUp| [FollowUpEnd::Infection, FollowUpEnd::Censored].contains(&follow_up.end);
            let alone: Vec<FollowUp> =
                follow_ups.into_iter().filter(is_alone).map(|follow_up| FollowUp { from: 0, ..follow_up }).collect();
            let curve = kaplan_meier(&alone);
            let steps = curve.steps.iter().filter(|step| step.events > 0);
            for (step, incidence) in steps.zip(cumulative_incidence(&alone, FollowUpEnd::Infection)) {
                prop_assert!((1.0 - step.survival - incidence.value).abs() < 1e-13);
                let greenwood = step.std_error.unwrap_or(0.0);
                prop_assert!((greenwood - incidence.std_error).abs() < 1e-13, "{} {:?}", greenwood, incidence);
            }
        }

        #[test]
        fn the_order_of_the_follow_ups_changes_nothing(
            (follow_ups, shuffled) in follow_ups().prop_flat_map(|follow_ups| (Just(follow_ups.clone()), Just(follow_ups).prop_shuffle()))
        ) {
            for end in FollowUpEnd::COMPETING {
                prop_assert_eq!(cumulative_incidence(&follow_ups, end), cumulative_incidence(&shuffled, end));
            }
        }

        #[test]
        fn a_follow_up_that_ends_before_it_begins_changes_nothing(follow_ups in follow_ups()) {
            let observed: Vec<FollowUp> = follow_ups.iter().copied().filter(|follow_up| follow_up.from <= follow_up.to).collect();
            for end in FollowUpEnd::COMPETING {
                prop_assert_eq!(cumulative_incidence(&follow_ups, end), cumulative_incidence(&observed, end));
            }
        }

        #[test]
        fn every_patient_twice_halves_the_variance(follow_ups in follow_ups()) {
            for end in FollowUpEnd::COMPETING {
                let twice = cumulative_incidence(&follow_ups.repeat(2), end);
                for (once, twice) in cumulative_incidence(&follow_ups, end).iter().zip(twice) {
                    prop_assert!((once.value - twice.value).abs() < 1e-14);
                    let (once, twice) = (once.std_error * once.std_error, twice.std_error * twice.std_error);
                    prop_assert!((once / 2.0 - twice).abs() <= 1e-12 * twice + 1e-26, "{} {}", once, twice);
                }
            }
        }

        /// Without delayed entry and censoring, the incidence is the proportion with the end, and its variance is
        /// binomial.
        #[test]
        fn without_censoring_the_incidence_is_a_share(
            ends in prop::collection::vec((0..20i64, prop::sample::select(FollowUpEnd::COMPETING.to_vec())), 1..40)
        ) {
            let follow_ups: Vec<FollowUp> = ends.iter().map(|(to, end)| FollowUp { from: 0, to: *to, end: *end }).collect();
            let of = ends.len() as f64;
            for end in FollowUpEnd::COMPETING {
                for step in cumulative_incidence(&follow_ups, end) {
                    let met = ends.iter().filter(|(to, met)| *to <= step.day && *met == end).count();
                    let share = met as f64 / of;
                    prop_assert!((step.value - share).abs() < 1e-14);
                    prop_assert!((step.std_error - f64::sqrt(share * (1.0 - share) / of)).abs() < 1e-14);
                    // exactly 1, so there are no limits
                    prop_assert_eq!((step.value == 0.0, step.value == 1.0), (met == 0, met == ends.len()));
                }
            }
        }
    }

    #[test]
    fn an_end_after_everybody_was_infected_leaves_the_curve_at_one() {
        let follow_up = |from, to, end| FollowUp { from, to, end };
        let thirds = [1, 2, 3].map(|day| follow_up(0, day, FollowUpEnd::Infection));
        let late = [follow_up(10, 20, FollowUpEnd::Death), follow_up(10, 30, FollowUpEnd::Infection)];
        let curve = cumulative_incidence(&[&thirds[..], &late[..]].concat(), FollowUpEnd::Infection);
        let whole = |day, at_risk| IncidenceStep { day, at_risk, value: 1.0, std_error: 0.0, low: None, high: None };
        assert_eq!(curve[2..], [whole(3, 1), whole(20, 2), whole(30, 1)]);
    }
}
