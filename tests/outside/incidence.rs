//! The cumulative incidence among competing ends against R's `survival`.

use exitsite::surveillance::incidence::cumulative_incidence;

use crate::follow_ups::{REFERENCE, are_same, end, is_same};

#[test]
fn every_set_has_the_incidence_of_each_end_that_r_finds() {
    for set in &REFERENCE.sets {
        for (word, curve) in &set.incidence {
            let steps = cumulative_incidence(&set.follow_ups(), end(word));
            assert_eq!(steps.len(), curve.len(), "{} {word}", set.name);
            for (ours, theirs) in steps.iter().zip(curve) {
                let (day, at_risk, value, std_error, low, high) = *theirs;
                assert_eq!((ours.day, ours.at_risk), (day, at_risk), "{} {word}", set.name);
                assert!(is_same(ours.value, value), "{} {word}: {ours:?} {theirs:?}", set.name);
                assert!(is_same(ours.std_error, std_error), "{} {word}: {ours:?} {theirs:?}", set.name);
                let limits_agree = are_same(ours.low, low) && are_same(ours.high, high);
                assert!(limits_agree, "{} {word}: {ours:?} {theirs:?}", set.name);
            }
        }
    }
}

/// R gives a curve for each end that occurs; the others are 0 on the same days.
#[test]
fn an_end_that_never_occurs_stays_at_0() {
    let mut looked_at = 0;
    for set in &REFERENCE.sets {
        let days: Vec<i64> =
            set.incidence.values().next().map_or(vec![], |curve| curve.iter().map(|row| row.0).collect());
        let words = ["infection", "death", "transplant", "recovery"];
        for word in words.into_iter().filter(|word| !set.incidence.contains_key(*word)) {
            let curve = cumulative_incidence(&set.follow_ups(), end(word));
            assert_eq!(curve.iter().map(|step| step.day).collect::<Vec<i64>>(), days, "{} {word}", set.name);
            assert!(curve.iter().all(|step| step.value == 0.0 && step.std_error == 0.0 && step.high.is_none()));
            looked_at += curve.len();
        }
    }
    assert!(looked_at > 20, "{looked_at}");
}
