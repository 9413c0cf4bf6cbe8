//! The results of independent libraries for the same counts: `reference/counts.json`, written by `reference/counts.py`.

use std::sync::LazyLock;

use serde_json::Value;

static FIGURES: LazyLock<Value> =
    LazyLock::new(|| serde_json::from_str(include_str!("reference/counts.json")).expect("counts.json is JSON"));

/// The figures under a name.
pub(crate) fn figures(name: &str) -> &'static Value {
    let figures = &FIGURES[name];
    assert!(!figures.is_null(), "counts.json has no {name}");
    figures
}

/// The rows under a name, at least one.
pub(crate) fn rows(name: &str) -> &'static [Value] {
    let rows = figures(name).as_array().unwrap();
    assert!(!rows.is_empty(), "{name}");
    rows
}

/// A number of a row.
pub(crate) fn number(row: &Value, name: &str) -> f64 {
    row[name].as_f64().unwrap_or_else(|| panic!("{name} of {row}"))
}

/// A count of a row.
pub(crate) fn count(row: &Value, name: &str) -> u64 {
    row[name].as_u64().unwrap_or_else(|| panic!("{name} of {row}"))
}

/// A number of a row, or `None` if it is null. A missing key fails.
pub(crate) fn number_or_null(row: &Value, name: &str) -> Option<f64> {
    let value = row.get(name).unwrap_or_else(|| panic!("{name} of {row}"));
    if value.is_null() { None } else { Some(number(row, name)) }
}

/// Asserts that two numbers differ by at most `part` of the second.
#[track_caller]
pub(crate) fn same(found: f64, expected: f64, part: f64, what: &dyn std::fmt::Display) {
    assert!((found - expected).abs() <= part * expected.abs(), "{what}: {found:e} is not {expected:e}");
}

/// Asserts the same of two numbers of which either may be `None`; both must be then.
#[track_caller]
pub(crate) fn same_or_null(found: Option<f64>, expected: Option<f64>, part: f64, what: &dyn std::fmt::Display) {
    match (found, expected) {
        (Some(found), Some(expected)) => same(found, expected, part, what),
        _ => assert_eq!(found, expected, "{what}"),
    }
}

/// A figure as a publication prints it.
pub(crate) fn printed(figure: Option<f64>, decimals: usize) -> String {
    figure.map_or("null".to_owned(), |figure| format!("{figure:.decimals$}"))
}
