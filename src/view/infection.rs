//! An infection under treatment: organism, drug, last day; and the pending cultures.

use chrono::NaiveDate;

use super::day::short_day;
use crate::report::infection::{OpenInfection, RunningTreatment, UnderTreatment};
use crate::text::visible;

/// Describes open infections and ongoing treatments in one line, and pending cultures in the next: `Infection under
/// treatment: …`, `Culture of Nov 17 pending`.
pub(super) fn under_treatment(open: &UnderTreatment, today: NaiveDate) -> Vec<String> {
    lines(&open.infections, &open.treatments, &open.cultures_pending, today)
}

/// Describes open infections, running treatments and pending cultures. Nothing is denied while a culture is pending.
pub(super) fn lines(
    infections: &[OpenInfection],
    treatments: &[RunningTreatment],
    cultures_pending: &[NaiveDate],
    today: NaiveDate,
) -> Vec<String> {
    let infection = |one: &OpenInfection| {
        let part = one.part.to_string().replace('-', " ");
        let organisms =
            if one.organisms.is_empty() { "no organism in that record".to_owned() } else { one.organisms.join(", ") };
        format!("{part}, {}, since {}, {}", one.certainty, short_day(one.onset, today), visible(&organisms))
    };
    let treatment = |one: &RunningTreatment| {
        let until =
            one.until.map_or("no end date on file".to_owned(), |day| format!("through {}", short_day(day, today)));
        format!("{} since {}, {until}", one.what.to_string().replace('-', " "), short_day(one.since, today))
    };
    let pending: Vec<String> = cultures_pending.iter().map(|day| short_day(*day, today)).collect();
    let title = match (infections.is_empty(), treatments.is_empty(), pending.is_empty()) {
        (true, true, true) => return vec!["No infection, treatment or pending culture on file".to_owned()],
        (true, true, false) => None,
        (true, false, true) => Some("Under treatment, no open infection on file"),
        (true, false, false) => Some("Under treatment"),
        (false, true, _) => Some("Infection, no treatment on file"),
        (false, false, _) => Some("Infection under treatment"),
    };
    let none_pending = pending.is_empty().then(|| "no culture pending".to_owned());
    let parts = infections.iter().map(infection).chain(treatments.iter().map(treatment)).chain(none_pending);
    let parts: Vec<String> = parts.collect();
    let open = title.map(|title| format!("{title}: {}", parts.join("; ")));
    let cultures = (!pending.is_empty()).then(|| {
        let what = if pending.len() == 1 { "Culture" } else { "Cultures" };
        format!("{what} of {} pending", pending.join(" and "))
    });
    open.into_iter().chain(cultures).collect()
}
