//! Freedom from a first infection against a published trial and against R's `survival`.

use exitsite::surveillance::kaplan_meier::{KaplanMeier, KaplanMeierStep, kaplan_meier};

use crate::follow_ups::{REFERENCE, are_same, is_printed, is_same, treated_and_placebo};
use crate::trial::FREEDOM;

fn at(curve: &KaplanMeier, day: i64) -> KaplanMeierStep {
    *curve.steps.iter().find(|step| step.day == day).unwrap()
}

#[test]
fn the_treated_of_the_trial_stay_free_as_published() {
    let [treated, _] = treated_and_placebo();
    let curve = kaplan_meier(&treated);
    for (week, survival, std_error) in FREEDOM {
        let step = at(&curve, week);
        assert!(is_printed(step.survival, survival, 4), "{week}: {step:?}");
        assert!(is_printed(step.std_error.unwrap(), std_error, 4), "{week}: {step:?}");
    }
}

/// Source: R 4.2.2, survival 3.5-3, run for this project.
#[test]
fn the_limits_of_the_treated_at_week_10_are_those_of_r() {
    let [treated, _] = treated_and_placebo();
    let step = at(&kaplan_meier(&treated), 10);
    assert!(is_printed(step.low.unwrap(), 0.50320, 5), "{step:?}");
    assert!(is_printed(step.high.unwrap(), 0.88936, 5), "{step:?}");
}

/// Source: the same trial, as quoted by several books: 23 and 8 weeks. The limits are R's.
#[test]
fn the_medians_of_the_trial_are_23_and_8_weeks() {
    let [treated, placebo] = treated_and_placebo().map(|follow_ups| kaplan_meier(&follow_ups).median);
    assert_eq!((treated.value, placebo.value), (Some(23.0), Some(8.0)));
    assert_eq!((treated.low, treated.high), (Some(13.0), None));
    assert_eq!((placebo.low, placebo.high), (Some(4.0), Some(11.0)));
}

#[test]
fn every_set_has_the_curve_that_r_finds() {
    for set in &REFERENCE.sets {
        let steps = kaplan_meier(&set.follow_ups()).steps;
        assert_eq!(steps.len(), set.freedom.len(), "{}", set.name);
        for (ours, theirs) in steps.iter().zip(&set.freedom) {
            let (day, at_risk, events, censored, survival, std_error, low, high) = *theirs;
            let counts = (ours.day, ours.at_risk, ours.events, ours.censored);
            assert_eq!(counts, (day, at_risk, events, censored), "{}", set.name);
            assert!(is_same(ours.survival, survival), "{}: {ours:?} {theirs:?}", set.name);
            assert!(are_same(ours.std_error, std_error), "{}: {ours:?} {theirs:?}", set.name);
            assert!(are_same(ours.low, low) && are_same(ours.high, high), "{}: {ours:?} {theirs:?}", set.name);
        }
    }
}

#[test]
fn every_set_has_the_median_that_r_finds() {
    for set in &REFERENCE.sets {
        let median = kaplan_meier(&set.follow_ups()).median;
        assert_eq!((median.value, median.low, median.high), set.median, "{}", set.name);
    }
}
