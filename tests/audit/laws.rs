//! Laws of the audit over invented programs: months add up, an added month changes no earlier point, and equal
//! questions have equal answers.
//! question has the same answer.

use std::sync::LazyLock;

use exitsite::command::{Outcome, Surroundings, run};
use serde_json::Value;

use super::{Simulated, simulate};

/// Ten patients over three years, with a baseline.
static PROGRAM: LazyLock<Simulated> = LazyLock::new(|| simulate(10, 3, 11));

fn said(arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: PROGRAM.records.clone(),
        ..Surroundings::default()
    };
    run(["exitsite", "audit"].iter().chain(arguments).map(Into::into), &surroundings)
}

fn audit(arguments: &[&str]) -> Value {
    let outcome = said(&[arguments, &["--json"]].concat());
    assert_eq!((outcome.status, outcome.stderr.as_str()), (0, ""), "{arguments:?}");
    serde_json::from_str(&outcome.stdout).unwrap()
}

fn count(report: &Value, path: &str) -> i64 {
    report.pointer(path).and_then(Value::as_i64).unwrap_or_else(|| panic!("{path}"))
}

#[test]
fn months_add_up_to_their_year() {
    let year = audit(&["--year", "2025"]);
    let months: Vec<Value> = (1..=12).map(|month| audit(&["--month", &format!("2025-{month:02}")])).collect();
    assert!(count(&year, "/census/device_days") > 1000);
    for path in [
        "/census/device_days",
        "/census/days_elsewhere",
        "/infections/events",
        "/infections/possible",
        "/changes/expected",
        "/changes/on_time",
        "/changes/missed",
        "/changes/unreported",
        "/changes/days_in_date/days",
        "/changes/days_in_date/in_date",
        "/after_shower/showers",
        "/after_shower/in_time",
        "/anchor_in_place/known",
        "/signals/episodes",
        "/trauma/events",
        "/data_quality/events",
        "/data_quality/days_not_covered",
        "/teaching/changes_by_untaught",
    ] {
        let sum: i64 = months.iter().map(|month| count(month, path)).sum();
        assert_eq!(count(&year, path), sum, "{path}");
    }
}

#[test]
fn an_added_month_changes_no_earlier_point_of_a_chart() {
    let (before, after) = (audit(&["--month", "2026-08"]), audit(&["--month", "2026-09"]));
    let points = |report: &Value, chart: &str| report["charts"][chart]["points"].as_array().unwrap().clone();
    for chart in ["infections", "days_between", "alarm"] {
        let (before, after) = (points(&before, chart), points(&after, chart));
        assert_eq!(before[..], after[..before.len()], "{chart}");
    }
    assert!(points(&after, "infections").len() == points(&before, "infections").len() + 1);
    let shares = |report: &Value| -> Vec<(String, Value, Value)> {
        points(report, "on_time")
            .iter()
            .map(|point| (point["month"].to_string(), point["days"].clone(), point["in_date"].clone()))
            .collect()
    };
    let (before, after) = (shares(&before), shares(&after));
    assert_eq!(before[1..], after[..before.len() - 1]);
}

#[test]
fn the_same_question_has_the_same_bytes() {
    let ask = || said(&["--year", "2025", "--json"]).stdout;
    assert_eq!(ask(), ask());
    assert_eq!(said(&["--month", "2026-10"]).stdout, said(&["--month", "2026-10"]).stdout);
}

#[test]
fn the_parts_of_a_share_add_up_to_the_whole() {
    let year = audit(&["--year", "2025"]);
    let phases = year["changes"]["by_phase"].as_array().unwrap();
    for key in ["expected", "on_time", "late", "missed", "unreported"] {
        assert_eq!(
            count(&year["changes"], &format!("/{key}")),
            phases.iter().map(|one| one[key].as_i64().unwrap()).sum::<i64>(),
            "{key}"
        );
    }
    let value = year["changes"]["days_in_date"]["share"]["value"].as_f64().unwrap();
    let weighed: f64 = phases
        .iter()
        .map(|one| &one["days_in_date"])
        .map(|dated| dated["share"]["value"].as_f64().unwrap_or(0.0) * dated["days"].as_f64().unwrap())
        .sum::<f64>()
        / year["changes"]["days_in_date"]["days"].as_f64().unwrap();
    assert!((value - weighed).abs() < 1e-12, "{value} {weighed}");
}

#[test]
fn every_figure_is_a_number_or_not_known() {
    for arguments in [&["--year", "2025", "--by", "caregivers"][..], &["--month", "2023-11"], &["--month", "2026-11"]] {
        let text = said(arguments).stdout;
        let is_none = |word: &&str| ["NaN", "-NaN", "inf", "-inf"].contains(word);
        assert_eq!(text.split(|c: char| !c.is_alphanumeric() && c != '-').find(is_none), None);
    }
}

#[test]
fn every_width_shows_every_figure() {
    let wide = said(&["--year", "2025"]).stdout;
    assert!(wide.lines().all(|line| line.chars().count() <= 80), "{wide}");
}
