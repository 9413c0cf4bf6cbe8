//! Hazard ratios against a published trial and against R's `survival`.

use exitsite::surveillance::follow_up::FollowUp;
use exitsite::surveillance::hazard::hazard_ratios;

use crate::follow_ups::{REFERENCE, Set, is_printed, treated_and_placebo};

/// The tolerance. R's own search ends at 1e-13 of the likelihood, so that its coefficients have about eight digits.
const NEAR: f64 = 1e-7;

/// Source: Freireich 1963; the coefficient 1.57 with standard error 0.41 as books print it for Efron's ties.
#[test]
fn the_trial_has_the_published_ratio() {
    let [treated, placebo] = treated_and_placebo();
    let found = hazard_ratios(&[treated, placebo], 0)[1];
    let logs = [found.ratio, found.low, found.high].map(|figure| figure.unwrap().ln());
    assert!(is_printed(logs[0], 1.572, 3), "{found:?}");
    assert!(is_printed((logs[2] - logs[1]) / 2.0 / 1.959_964, 0.412, 3), "{found:?}");
}

#[test]
fn every_comparison_has_the_ratios_and_limits_that_r_finds() {
    let mut counted = (0, 0);
    for compared in &REFERENCE.log_rank {
        let groups: Vec<Vec<FollowUp>> = compared.sets.iter().map(|name| Set::named(name).follow_ups()).collect();
        let found = hazard_ratios(&groups, 0);
        assert_eq!(found.len(), compared.hazard_ratio.len(), "{:?}", compared.sets);
        for (n, one) in found.iter().enumerate() {
            let theirs = [compared.hazard_ratio[n], compared.hazard_low[n], compared.hazard_high[n]];
            for (ours, theirs) in [one.ratio, one.low, one.high].into_iter().zip(theirs) {
                let is_same = match (ours, theirs) {
                    (Some(ours), Some(theirs)) => (ours / theirs - 1.0).abs() <= NEAR,
                    (ours, theirs) => ours.is_none() && theirs.is_none(),
                };
                assert!(is_same, "{:?}: {one:?}, not {theirs:?}", compared.sets);
                if theirs.is_some() { counted.0 += 1 } else { counted.1 += 1 }
            }
        }
    }
    // also a likelihood without a maximum, in addition to the references
    assert!(counted.0 >= 30 && counted.1 > 3 * REFERENCE.log_rank.len(), "{counted:?}");
}
