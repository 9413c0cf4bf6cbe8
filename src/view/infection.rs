//! An infection under treatment in one line: organism, drug, last day, and pending culture.

use chrono::NaiveDate;

use super::day::short_day;
use crate::report::infection::{OpenInfection, RunningTreatment, UnderTreatment};
use crate::text::visible;

/// Formats the line "Infection under treatment: …".
pub(super) fn under_treatment(open: &UnderTreatment, today: NaiveDate) -> String {
    in_one_line(&open.infections, &open.treatments, &open.cultures_pending, today)
}

/// Open infections, running treatments and pending cultures in one line.
pub(super) fn in_one_line(
    infections: &[OpenInfection],
    treatments: &[RunningTreatment],
    cultures_pending: &[NaiveDate],
    today: NaiveDate,
) -> String {
    let infection = |one: &OpenInfection| {
        let part = one.part.to_string().replace('-', " ");
        let organisms =
            if one.organisms.is_empty() { "no organism on file".to_owned() } else { one.organisms.join(", ") };
        format!("{part}, {}, since {}, {}", one.certainty, short_day(one.onset, today), visible(&organisms))
    };
    let treatment = |one: &RunningTreatment| {
        let until =
            one.until.map_or("no end date on file".to_owned(), |day| format!("through {}", short_day(day, today)));
        format!("{} since {}, {until}", one.what.to_string().replace('-', " "), short_day(one.since, today))
    };
    let title = match (infections.is_empty(), treatments.is_empty()) {
        (true, true) => "No open infection or treatment on file",
        (true, false) => "Under treatment, no open infection on file",
        (false, true) => "Infection, no treatment on file",
        (false, false) => "Infection under treatment",
    };
    let pending: Vec<String> = cultures_pending.iter().map(|day| short_day(*day, today)).collect();
    let culture = match pending.is_empty() {
        true => "no culture pending".to_owned(),
        false => format!("culture of {} pending", pending.join(" and ")),
    };
    let parts = infections.iter().map(infection).chain(treatments.iter().map(treatment)).chain([culture]);
    format!("{title}: {}", parts.collect::<Vec<_>>().join("; "))
}
