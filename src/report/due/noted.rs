//! Findings that only the notes of recent records mention. They raise no signal; the list names them, so that no patient with
//! one looks clear.

use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::Chart;
use crate::day::before;
use crate::event::{At, Event, Fact, Kind, NotedFinding, NotedSign, SiteField, only_in_note};
use crate::signal::SignalInputs;

/// A finding that only the note of a record mentions.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FindingInNote {
    /// The word of the note.
    pub word: String,
    /// The kind of finding.
    pub finding: NotedFinding,
    /// The time of the record.
    pub at: At,
    /// The record.
    pub file: String,
}

/// Returns the findings that the notes of records since the start of the previous care day mention, and that neither the record
/// itself, one of its day written with it, nor one made after it holds. A later look at the site holds a finding of the site, of the dressing, or of a pull; only
/// a temperature holds a fever; and an alarm of the pump is held by a contact with a clinician.
pub(super) fn findings_in_notes(chart: &Chart, watch: Option<&SignalInputs>) -> Vec<FindingInNote> {
    let (calendar, timeline) = (&chart.patient.calendar, chart.timeline());
    let from = before(timeline.today);
    let recent: Vec<&Event> = timeline.events().iter().filter(|event| event.when.care_day >= from).collect();
    let tells = |event: &Event| matches!(&event.fact, Fact::Contact(contact) if watch.is_some_and(|watch| watch.tells_a_clinician(contact)));
    let mut found: Vec<FindingInNote> = Vec::new();
    for event in &recent {
        let is_held = |said: NotedSign| {
            let later = || recent.iter().filter(|other| is_recorded_after(other, event, chart));
            let is_one_write = |other: &&&Event| {
                let is_of_day = other.when.care_day == event.when.care_day;
                is_of_day && event.entered_at.is_some() && other.entered_at == event.entered_at
            };
            recent.iter().filter(is_one_write).any(|other| said.is_answered_by(other))
                || match said.finding() {
                    finding if finding.is_for_a_clinician() => tells(event) || later().any(|other| tells(other)),
                    NotedFinding::Temperature => later().any(|other| other.temperature_c().is_some()),
                    finding => later().any(|other| holds(other, finding)),
                }
        };
        found.extend(only_in_note(event).into_iter().filter(|(_, said)| !is_held(*said)).map(|(word, said)| {
            let (word, at, file) = (word.to_owned(), At::of(&event.when, calendar), event.file().to_owned());
            FindingInNote { word, finding: said.finding(), at, file }
        }));
    }
    found
}

/// Returns true if a record is of the day of another or later, and was made after it: by its own time, or by that of its
/// entry.
fn is_recorded_after(other: &Event, event: &Event, chart: &Chart) -> bool {
    let calendar = &chart.patient.calendar;
    let is_later = other.when.instant > event.when.instant;
    let is_written_later = other.known_at(calendar) > event.known_at(calendar);
    other.when.care_day >= event.when.care_day && other.name != event.name && (is_later || is_written_later)
}

/// Returns true if a record holds a finding other than a temperature or an alarm: a look at the site, the state of the dressing
/// or the anchor, or a pull.
fn holds(event: &Event, finding: NotedFinding) -> bool {
    let is_look = matches!(event.name.kind, Kind::Assessment | Kind::Change);
    let is_seen = |field: &SiteField| {
        *field != SiteField::TemperatureC && event.site().is_some_and(|site| site.finding(*field).is_some())
    };
    is_look && SiteField::ALL.iter().any(is_seen)
        || finding == NotedFinding::Dressing && event.dressing().is_some()
        || finding == NotedFinding::Anchor && event.anchor().is_some()
        || finding == NotedFinding::Pull && event.name.kind == Kind::Trauma
}
