//! Doubts about a call: a finding that only its note mentions, and a promise for a distant day.

use chrono::{Duration, NaiveDate};

use crate::event::{Event, Fact};
use crate::view::doubt::{Doubt, NotedFinding, doubt};

/// The number of days ahead beyond which a promise is doubted. Common practice, no source.
const FAR_OFF_DAYS: i64 = 3;

/// Words of a note that name a finding, with the record that holds it. Common practice, no source.
const FINDINGS: [(&str, NotedFinding); 20] = [
    ("fever", NotedFinding::Temperature),
    ("febrile", NotedFinding::Temperature),
    ("chills", NotedFinding::Temperature),
    ("pus", NotedFinding::Site),
    ("purulent", NotedFinding::Site),
    ("drainage", NotedFinding::Site),
    ("draining", NotedFinding::Site),
    ("bleeding", NotedFinding::Site),
    ("blood", NotedFinding::Site),
    ("bloody", NotedFinding::Site),
    ("red", NotedFinding::Site),
    ("redness", NotedFinding::Site),
    ("swelling", NotedFinding::Site),
    ("swollen", NotedFinding::Site),
    ("odor", NotedFinding::Site),
    ("wet", NotedFinding::Dressing),
    ("soiled", NotedFinding::Dressing),
    ("pulled", NotedFinding::Pull),
    ("yanked", NotedFinding::Pull),
    ("snagged", NotedFinding::Pull),
];

/// Words before a finding that deny it.
const DENIALS: [&str; 6] = ["no", "not", "without", "denies", "denied", "never"];

/// The doubts about a record that is a call; none for other records.
pub(in crate::command) fn of_call(event: &Event, date: NaiveDate) -> Vec<String> {
    let Fact::Contact(contact) = &event.fact else { return Vec::new() };
    let is_far = |until| until - event.when.instant > Duration::days(FAR_OFF_DAYS);
    let far_off = contact.expect_by.filter(|_| contact.expect_by_instant.is_some_and(is_far));
    let far_off = far_off.map(|until| Doubt::FarOff { until: until.wall, days: FAR_OFF_DAYS });
    let has_temperature = contact.temperature_c.is_some();
    let noted = event.note.as_deref().and_then(noted);
    let noted = noted.filter(|(_, finding)| !(has_temperature && *finding == NotedFinding::Temperature));
    let noted = noted.map(|(word, finding)| Doubt::FindingInNote { word, finding });
    far_off.into_iter().chain(noted).map(|one| doubt(&one, date)).collect()
}

/// The first finding that a note mentions without denying it.
fn noted(note: &str) -> Option<(&'static str, NotedFinding)> {
    let words: Vec<String> = note.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase).collect();
    let words: Vec<&String> = words.iter().filter(|word| !word.is_empty()).collect();
    let is_denied = |at: usize| words[at.saturating_sub(2)..at].iter().any(|word| DENIALS.contains(&word.as_str()));
    words.iter().enumerate().find_map(|(at, word)| {
        let known = FINDINGS.iter().find(|(known, _)| known == word)?;
        (!is_denied(at)).then_some(*known)
    })
}

#[cfg(test)]
mod tests {
    use super::noted;

    #[test]
    fn a_note_names_a_finding_unless_it_denies_it() {
        for (note, word) in [
            ("She has fever 102 and chills, pus at site", Some("fever")),
            ("Pus at the site.", Some("pus")),
            ("dressing is WET", Some("wet")),
            ("no fever, no new drainage", None),
            ("denies any redness", None),
            ("no fever but the line was pulled", Some("pulled")),
            ("mother is back at noon", None),
            ("wetness alarm, redder than", None),
            ("", None),
        ] {
            assert_eq!(noted(note).map(|(word, _)| word), word, "{note}");
        }
    }
}
