//! Recurrent infections: the mean cumulative count and its standard error by R, the variance between patients by
//! statsmodels.

use std::sync::LazyLock;

use exitsite::surveillance::follow_up::{FollowUp, FollowUpEnd};
use exitsite::surveillance::mean_count::{RecurrentEvents, mean_count};
use exitsite::surveillance::spread::RateVariance;
use serde_json::Value;

use crate::counts::{number, same, same_or_null};

static COUNTS: LazyLock<Value> =
    LazyLock::new(|| serde_json::from_str(include_str!("reference/recurrent.json")).expect("recurrent.json is JSON"));
static SPREADS: LazyLock<Value> =
    LazyLock::new(|| serde_json::from_str(include_str!("reference/spread.json")).expect("spread.json is JSON"));

fn course(patient: &Value) -> RecurrentEvents {
    let day = |at: usize| patient[at].as_i64().unwrap();
    let end = match patient[2].as_str().unwrap() {
        "death" => FollowUpEnd::Death,
        "transplant" => FollowUpEnd::Transplant,
        "recovery" => FollowUpEnd::Recovery,
        "censored" => FollowUpEnd::Censored,
        other => panic!("{other}"),
    };
    let onsets = patient[3].as_array().unwrap().iter().map(|day| day.as_i64().unwrap()).collect();
    RecurrentEvents { follow_up: FollowUp { from: day(0), to: day(1), end }, onsets }
}

/// Source: R `survival::survfit`: Kaplan–Meier × Nelson–Aalen, with the influence of each patient. Without ties, R
/// `mets` gives the same count.
#[test]
fn mean_counts_are_those_of_survival_and_hazard() {
    let sets = COUNTS["sets"].as_array().unwrap();
    assert_eq!(sets.len(), 5);
    for set in sets {
        let courses: Vec<RecurrentEvents> = set["patients"].as_array().unwrap().iter().map(course).collect();
        let (found, steps) = (mean_count(&courses), set["steps"].as_array().unwrap());
        assert_eq!(found.len(), steps.len(), "{}", set["name"]);
        for (found, step) in found.iter().zip(steps) {
            let about = format!("{} on day {}", set["name"], found.day);
            let expected: Vec<Option<f64>> = step.as_array().unwrap().iter().map(Value::as_f64).collect();
            let counts = [found.day as f64, found.at_risk as f64, found.events as f64].map(Some);
            assert_eq!(counts[..], expected[..3], "{about}");
            same(found.value, expected[3].unwrap(), 1e-12, &about);
            for (found, expected) in [found.std_error, found.low, found.high].into_iter().zip(&expected[4..]) {
                same_or_null(found, *expected, 1e-9, &about);
            }
        }
    }
}

/// Source: statsmodels, a Poisson regression with clusters, and generalized estimating equations.
#[test]
fn robust_variances_are_those_of_estimating_equations() {
    let rows = SPREADS["rows"].as_array().unwrap();
    assert_eq!(rows.len(), 6);
    for row in rows {
        let patient = |one: &Value| (one[0].as_u64().unwrap(), one[1].as_f64().unwrap() / 1000.0);
        let found = RateVariance::of(&row["patients"].as_array().unwrap().iter().map(patient).collect::<Vec<_>>());
        for (name, figure) in [
            ("poisson_variance", found.poisson_variance),
            ("robust_variance", found.robust_variance),
            ("variance_ratio", found.variance_ratio),
            ("robust_low", found.robust_low),
            ("robust_high", found.robust_high),
        ] {
            same(figure.unwrap(), number(row, name), 1e-8, &format!("{name} of {row}"));
        }
    }
}

/// Arithmetic: doubling every patient halves the variance, and a patient without exposure changes nothing.
#[test]
fn every_patient_twice_halves_the_variance() {
    let once = [(3, 0.4), (0, 0.2), (1, 0.365), (0, 0.3), (2, 0.1)];
    let (of_once, of_twice) = (RateVariance::of(&once), RateVariance::of(&[once, once].concat()));
    // 5 ÷ 4 and 10 ÷ 9 correct for the number of patients
    let bare = |spread: &RateVariance, patients: f64| spread.robust_variance.unwrap() * (patients - 1.0) / patients;
    same(bare(&of_twice, 10.0), bare(&of_once, 5.0) / 2.0, 1e-12, &"variance");
    let with_nobody = RateVariance::of(&[&once[..], &[(0, 0.0), (4, f64::NAN)]].concat());
    assert_eq!(with_nobody, of_once);
    for few in [&[][..], &[(2, 1.0)], &[(0, 1.0), (0, 2.0)]] {
        assert_eq!(RateVariance::of(few), RateVariance::default());
    }
}
