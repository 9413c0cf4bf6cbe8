//! The source of a record: what its author and its writer imply, and what needs a person to say.

use super::entering::{Entering, Ready};
use crate::entry::{Book, Draft};
use crate::event::{Kind, Source};
use crate::policy::CarePlace;
use crate::problem::Failure;
use crate::record::Value;
use crate::text::visible;
use crate::word::Word;

/// The default source in a script: an act of the household was reported to the staff member who writes it, and so was
/// everything in a call with the household.
fn source(book: &Book, draft: &Draft, writer: Option<&str>) -> Source {
    let is_household = |code: &str| book.patient.iter().any(|patient| patient.household().any(|known| known == code));
    let is_of_household = |key| draft.values.text(key).is_some_and(is_household);
    let is_by_household = is_of_household("by") || (draft.kind == Kind::Contact && is_of_household("with"));
    if is_by_household && !writer.is_some_and(is_household) { Source::Told } else { Source::Seen }
}

/// The refusal of a call or a log as seen by staff that names no staff: only the household did it, and staff saw nothing. `None`
/// if the source is another one, or the household itself writes.
pub(super) fn not_seen_by(book: &Book, draft: &Draft, writer: Option<&str>) -> Option<String> {
    let is_household = |code: &str| book.patient.iter().any(|patient| patient.household().any(|known| known == code));
    let by = draft.values.text("by").filter(|by| is_household(by))?;
    let is_seen = draft.values.text("source") == Some(Source::Seen.word());
    let is_meant = matches!(draft.kind, Kind::Contact | Kind::Log) && !writer.is_some_and(is_household);
    (is_seen && is_meant).then(|| {
        format!(
            "{} is not on the staff. Who saw it? Give the code of the staff member who did, or reported as the source.",
            visible(by)
        )
    })
}

impl Entering<'_> {
    /// Refuses a script's change at a patient at home, by staff and without a source, that settles a shower or damage.
    pub(super) fn source_is_typed(&self, ready: &Ready) -> Result<(), Failure> {
        let Some((patient, consequence)) = self.book.patient.as_ref().zip(ready.consequence.as_ref()) else {
            return Ok(());
        };
        let is_typed = self.typed.edit || self.typed.given.iter().any(|(key, _)| key == "source");
        let is_seen = ready.draft.values.text("source") == Some(Source::Seen.word());
        let day = ready.draft.instant(self.clock).unwrap_or(self.clock.now);
        let is_at_home = patient.place(self.book.calendar.today(day)) == CarePlace::Home;
        if is_typed || !is_seen || !is_at_home || consequence.settled.is_empty() {
            return Ok(());
        }
        let settled = crate::view::consequence::settled(consequence);
        Err(Failure::unwritten(format!(
            "{settled} Required: --source: seen if staff saw it, told if it was reported, else log or image"
        )))
    }

    /// Sets the source implied by the record's author and writer, if none was typed.
    pub(super) fn set_source(&self, draft: &mut Draft, writer: Option<&str>) {
        if draft.values.get("source").is_none() {
            let source = source(self.book, draft, writer);
            draft.values.set("source", Value::Text(source.word().to_owned()));
        }
    }
}
