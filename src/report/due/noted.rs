//! Findings that only the notes of recent contacts mention. They raise no signal; the list names them, so that no patient with
//! one looks clear.

use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::Chart;
use crate::day::before;
use crate::event::{At, Contact, Event, Fact, Kind, NotedFinding, noted};
use crate::signal::SignalInputs;

/// A finding that only the note of a contact mentions.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FindingInNote {
    /// The word of the note.
    pub word: String,
    /// The kind of finding.
    pub finding: NotedFinding,
    /// The time of the contact.
    pub at: At,
    /// The record of the contact.
    pub file: String,
}

/// Returns the findings that the notes of contacts since the start of the previous care day mention, and that no record made
/// after the note holds. A look at the site holds a finding of the site, of the dressing, or of a pull; only a temperature
/// holds a fever; and an alarm of the pump is held by a contact with a clinician.
pub(super) fn findings_in_notes(chart: &Chart, watch: Option<&SignalInputs>) -> Vec<FindingInNote> {
    let (calendar, timeline) = (&chart.patient.calendar, chart.timeline());
    let from = before(timeline.today);
    let recent: Vec<&Event> = timeline.events().iter().filter(|event| event.when.care_day >= from).collect();
    let is_told = |contact: &Contact| watch.is_some_and(|watch| watch.tells_a_clinician(contact));
    let mut found: Vec<FindingInNote> = Vec::new();
    for event in &recent {
        let (Fact::Contact(contact), Some(note)) = (&event.fact, &event.note) else { continue };
        let later: Vec<&&Event> = recent.iter().filter(|other| is_recorded_after(other, event, chart)).collect();
        let is_held = |finding: NotedFinding| match finding {
            NotedFinding::Alarm => is_told(contact) || later.iter().any(|other| tells(other, is_told)),
            NotedFinding::Temperature => {
                contact.temperature_c.is_some() || later.iter().any(|other| has_temperature(other))
            }
            finding => later.iter().any(|other| holds(other, finding)),
        };
        found.extend(noted(note).into_iter().filter(|(_, finding)| !is_held(*finding)).map(|(word, finding)| {
            let (word, at, file) = (word.to_owned(), At::of(&event.when, calendar), event.file().to_owned());
            FindingInNote { word, finding, at, file }
        }));
    }
    found
}

/// Returns true if a record is of the day of a contact or later, and was made after it: by its own time, or by that of its
/// entry.
fn is_recorded_after(other: &Event, contact: &Event, chart: &Chart) -> bool {
    let calendar = &chart.patient.calendar;
    let is_later = other.when.instant > contact.when.instant;
    let is_written_later = other.known_at(calendar) > contact.known_at(calendar);
    other.when.care_day >= contact.when.care_day && other.name != contact.name && (is_later || is_written_later)
}

fn tells(event: &Event, is_told: impl Fn(&Contact) -> bool) -> bool {
    matches!(&event.fact, Fact::Contact(contact) if is_told(contact))
}

fn has_temperature(event: &Event) -> bool {
    let told = match &event.fact {
        Fact::Contact(contact) => contact.temperature_c,
        _ => None,
    };
    told.or(event.site().and_then(|site| site.temperature_c)).is_some()
}

/// Returns true if a record holds a finding other than a temperature or an alarm: a look at the site, the state of the dressing,
/// or a pull.
fn holds(event: &Event, finding: NotedFinding) -> bool {
    let is_look = matches!(event.name.kind, Kind::Assessment | Kind::Change);
    is_look && event.site().is_some_and(|site| !site.is_empty())
        || finding == NotedFinding::Dressing && event.dressing().is_some()
        || finding == NotedFinding::Pull && event.name.kind == Kind::Trauma
}
