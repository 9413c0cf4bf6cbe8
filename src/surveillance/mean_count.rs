//! The mean cumulative count: infections per patient by a day since the implant, counting every infection, with death and
//! the other ends of support as competing events.
//!
//! Source: Ghosh D & Lin DY, Biometrics 2000;56:554, the estimator; Dong H et al., Am J Epidemiol 2015;181:532, its name
//! (both from memory). The variance is the infinitesimal jackknife over patients, so infections of one patient may be
//! correlated. Left out on purpose: a model of how one infection leads to the next.

use schemars::JsonSchema;
use serde::Serialize;

use super::follow_up::{AtRisk, FollowUp, FollowUpEnd, RiskSet};

/// The 0.975 quantile of the normal distribution.
const Z: f64 = 1.959963984540054;
/// A variance that is 0 except for rounding: of a single patient, or of identical patients.
const NO_VARIANCE: f64 = 1e-20;

/// One patient's follow-up, with every infection in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecurrentEvents {
    /// Follow-up; its end is not an infection. [`FollowUpEnd::Censored`] ends observation only, any other end ends
    /// support.
    pub follow_up: FollowUp,
    /// Days of the infections, since the implant. An infection outside the follow-up is not counted.
    pub onsets: Vec<i64>,
}

/// The count on a day with an infection.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct MeanCountStep {
    /// Day since the implant.
    pub day: i64,
    /// Patients at risk on that day.
    pub at_risk: u64,
    /// Infections on that day.
    pub events: u64,
    /// Infections per patient by the end of that day.
    pub value: f64,
    /// Standard error between patients; null if the patients are identical, such as a single patient.
    pub std_error: Option<f64>,
    /// Lower 95 % limit, on the log scale; null without a standard error.
    pub low: Option<f64>,
    /// Upper 95 % limit.
    pub high: Option<f64>,
}

/// One day with an infection or an end of support, with the cumulative sums.
struct EventDay {
    day: i64,
    at_risk: u64,
    events: u64,
    /// The contribution of one infection on this day to the count.
    weight: f64,
    value: f64,
    /// The weight of an end on this day: 1 ÷ the number remaining; 0 if none remain.
    end_weight: f64,
    /// Cumulative sums: of the reduction of the count per patient at risk, of the same for ends, and of the ends × the
    /// count.
    of_events: f64,
    of_ends: f64,
    of_ends_counted: f64,
}

/// Estimates the mean cumulative count, one step per day with an infection.
///
/// A patient is at risk from the day of entry to that of the end, both included, as in [`FollowUp`]; an infection on the
/// day of an end comes before it.
///
/// ```
/// # use exitsite::surveillance::follow_up::{FollowUpEnd, FollowUp};
/// # use exitsite::surveillance::mean_count::{RecurrentEvents, mean_count};
/// let course = |to, end, onsets: &[i64]| RecurrentEvents { follow_up: FollowUp { from: 0, to, end }, onsets: onsets.to_vec() };
/// let all = [
///     course(100, FollowUpEnd::Censored, &[10, 40]), course(100, FollowUpEnd::Censored, &[]),
///     course(20, FollowUpEnd::Death, &[]), course(100, FollowUpEnd::Censored, &[40]),
/// ];
/// let steps: Vec<(i64, u64, f64)> = mean_count(&all).iter().map(|step| (step.day, step.at_risk, step.value)).collect();
/// // one of four; then two infections among the three alive, who represent 3 of 4
/// assert_eq!(steps, [(10, 4, 0.25), (40, 3, 0.75)]);
/// assert_eq!(mean_count(&[]), []);
/// ```
pub fn mean_count(courses: &[RecurrentEvents]) -> Vec<MeanCountStep> {
    let courses: Vec<RecurrentEvents> =
        courses.iter().filter(|course| course.follow_up.is_observed()).map(inside).collect();
    let days = days(&courses);
    let places: Vec<Places> = courses.iter().map(|course| Places::of(course, &days)).collect();
    let step = |(n, day): (usize, &EventDay)| {
        let variance: f64 = places.iter().map(|places| places.influence(&days, n).powi(2)).sum();
        let std_error = (variance > NO_VARIANCE).then(|| variance.sqrt());
        let width = std_error.map(|std_error| (Z * std_error / day.value).exp());
        MeanCountStep {
            day: day.day,
            at_risk: day.at_risk,
            events: day.events,
            value: day.value,
            std_error,
            low: width.map(|width| day.value / width),
            high: width.map(|width| day.value * width).filter(|high| high.is_finite()),
        }
    };
    days.iter().enumerate().filter(|(_, day)| day.events > 0).map(step).collect()
}

/// The number at risk, as one step per day on which it changes.
pub fn at_risk(courses: &[RecurrentEvents]) -> Vec<AtRisk> {
    RiskSet::of(&follow_ups(courses)).steps()
}

fn follow_ups(courses: &[RecurrentEvents]) -> Vec<FollowUp> {
    courses.iter().map(|course| course.follow_up).collect()
}

/// Returns the events with only the infections within the follow-up, in order.
fn inside(course: &RecurrentEvents) -> RecurrentEvents {
    let FollowUp { from, to, .. } = course.follow_up;
    let mut onsets: Vec<i64> = course.onsets.iter().copied().filter(|day| (from..=to).contains(day)).collect();
    onsets.sort_unstable();
    RecurrentEvents { onsets, ..course.clone() }
}

/// Returns true if an end competes with the next infection.
fn competes(end: FollowUpEnd) -> bool {
    !matches!(end, FollowUpEnd::Censored | FollowUpEnd::Infection)
}

fn days(courses: &[RecurrentEvents]) -> Vec<EventDay> {
    let cohort = RiskSet::of(&follow_ups(courses));
    let mut onsets: Vec<i64> = courses.iter().flat_map(|course| course.onsets.iter().copied()).collect();
    onsets.sort_unstable();
    let ends = courses.iter().filter(|course| competes(course.follow_up.end)).map(|course| course.follow_up.to);
    let mut all: Vec<i64> = onsets.iter().copied().chain(ends).collect();
    all.sort_unstable();
    all.dedup();
    // proportion still under support, count, and cumulative sums
    let (mut under_support, mut value) = (1.0, 0.0);
    let (mut of_events, mut of_ends, mut of_ends_counted) = (0.0, 0.0, 0.0);
    let day = |day| {
        let at_risk = cohort.at_risk(day);
        let events =
            (onsets.partition_point(|onset| *onset <= day) - onsets.partition_point(|onset| *onset < day)) as u64;
        let ended: u64 =
            FollowUpEnd::ALL.into_iter().filter(|end| competes(*end)).map(|end| cohort.ended(day, end)).sum();
        let (of, remain) = (at_risk as f64, (at_risk - ended) as f64);
        let weight = under_support / of;
        value += weight * events as f64;
        of_events += weight * events as f64 / of;
        let end_weight = if remain > 0.0 { 1.0 / remain } else { 0.0 };
        of_ends += ended as f64 / of * end_weight;
        of_ends_counted += value * ended as f64 / of * end_weight;
        under_support *= remain / of;
        EventDay { day, at_risk, events, weight, value, end_weight, of_events, of_ends, of_ends_counted }
    };
    all.into_iter().map(day).collect()
}

/// One patient's positions among the days.
struct Places {
    /// Number of days before the entry, and through the end.
    before: usize,
    through: usize,
    /// Days of the infections.
    onsets: Vec<usize>,
    /// Day of a competing end.
    end: Option<usize>,
}

impl Places {
    fn of(course: &RecurrentEvents, days: &[EventDay]) -> Places {
        let FollowUp { from, to, end } = course.follow_up;
        let before = |day: i64| days.partition_point(|one| one.day < day);
        Places {
            before: before(from),
            through: before(to + 1),
            onsets: course.onsets.iter().map(|day| before(*day)).collect(),
            end: competes(end).then(|| before(to)),
        }
    }

    /// The derivative of the count on day `n` with respect to this patient's weight.
    fn influence(&self, days: &[EventDay], n: usize) -> f64 {
        let through = self.through.min(n + 1);
        let count = days[n].value;
        let over = |sum: fn(&EventDay) -> f64| {
            let upto = |places: usize| places.checked_sub(1).map_or(0.0, |last| sum(&days[last]));
            if through > self.before { upto(through) - upto(self.before) } else { 0.0 }
        };
        let own: f64 = self.onsets.iter().filter(|at| **at <= n).map(|at| days[*at].weight).sum();
        let end = self.end.filter(|at| *at <= n).map_or(0.0, |at| (count - days[at].value) * days[at].end_weight);
        let at_risk = over(|day| day.of_events);
        let others = count * over(|day| day.of_ends) - over(|day| day.of_ends_counted);
        own - at_risk - end + others
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::follow_up::invented::follow_ups;
    use super::super::incidence::cumulative_incidence;
    use super::*;

    fn courses() -> impl Strategy<Value = Vec<RecurrentEvents>> {
        let onsets = prop::collection::vec(prop::collection::vec(0..30i64, 0..4), 60);
        (follow_ups(), onsets).prop_map(|(follow_ups, onsets)| {
            let course = |(follow_up, onsets): (FollowUp, Vec<i64>)| {
                let end = if follow_up.end == FollowUpEnd::Infection { FollowUpEnd::Censored } else { follow_up.end };
                RecurrentEvents { follow_up: FollowUp { end, ..follow_up }, onsets }
            };
            follow_ups.into_iter().zip(onsets).map(course).collect()
        })
    }

    /// The count if patient `n` has `weight` times the weight of each other patient, by definition.
    fn weighted(courses: &[RecurrentEvents], n: usize, weight: f64, through: i64) -> f64 {
        let weight = |at: usize| if at == n { weight } else { 1.0 };
        let (mut under_support, mut value) = (1.0, 0.0);
        for day in 0..=through {
            let of = |is_so: &dyn Fn(&RecurrentEvents) -> u64| -> f64 {
                courses.iter().enumerate().map(|(at, course)| weight(at) * is_so(course) as f64).sum()
            };
            let is_at_risk = |course: &RecurrentEvents| course.follow_up.from <= day && day <= course.follow_up.to;
            let at_risk = of(&|course| u64::from(is_at_risk(course)));
            if at_risk == 0.0 {
                continue;
            }
            let events = |course: &RecurrentEvents| course.onsets.iter().filter(|onset| **onset == day).count() as u64;
            value += under_support * of(&|course| if is_at_risk(course) { events(course) } else { 0 }) / at_risk;
            let ended = |course: &RecurrentEvents| {
                is_at_risk(course) && course.follow_up.to == day && competes(course.follow_up.end)
            };
            under_support *= 1.0 - of(&|course| u64::from(ended(course))) / at_risk;
        }
        value
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn it_never_falls_and_its_limits_hold_it(courses in courses()) {
            let mut before = 0.0;
            for step in mean_count(&courses) {
                prop_assert!(step.value >= before && step.value.is_finite(), "{:?}", step);
                before = step.value;
                for limits in [step.low.zip(step.high)].into_iter().flatten() {
                    prop_assert!(limits.0 < step.value && step.value < limits.1, "{:?}", step);
                }
            }
        }

        /// The variance is that of the derivatives with respect to each patient's weight, here by finite differences.
        #[test]
        fn the_variance_is_the_infinitesimal_jackknife(courses in courses()) {
            const NEAR: f64 = 1e-6;
            for step in mean_count(&courses).iter().step_by(3) {
                let derivative = |n| {
                    (weighted(&courses, n, 1.0 + NEAR, step.day) - weighted(&courses, n, 1.0 - NEAR, step.day)) / (2.0 * NEAR)
                };
                let variance: f64 = (0..courses.len()).map(|n| derivative(n).powi(2)).sum();
                prop_assert!((step.value - weighted(&courses, courses.len(), 1.0, step.day)).abs() < 1e-12);
                prop_assert!((step.std_error.unwrap_or(0.0).powi(2) - variance).abs() < 1e-6 * (1.0 + variance), "{:?} {}", step, variance);
            }
        }

        /// If each patient has at most one infection, and leaves with it, the count is the cumulative incidence.
        #[test]
        fn of_first_infections_it_is_the_cumulative_incidence(follow_ups in follow_ups()) {
            let course = |follow_up: &FollowUp| match follow_up.end {
                FollowUpEnd::Infection => RecurrentEvents { follow_up: FollowUp { end: FollowUpEnd::Recovery, ..*follow_up }, onsets: vec![follow_up.to] },
                _ => RecurrentEvents { follow_up: *follow_up, onsets: Vec::new() },
            };
            let courses: Vec<RecurrentEvents> = follow_ups.iter().map(course).collect();
            let incidence = cumulative_incidence(&follow_ups, FollowUpEnd::Infection);
            for step in mean_count(&courses) {
                let same = incidence.iter().find(|one| one.day == step.day).unwrap();
                prop_assert!((same.value - step.value).abs() < 1e-12);
            }
        }
    }
}
