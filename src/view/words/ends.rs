//! The end of a signal in words.

use super::temperature;
use crate::report::signals::FeverEnds;
use crate::signal::{EndedBy, FullLook};
use crate::text::count;

/// Describes the record that ends a signal.
pub(crate) fn ends_when(ended_by: EndedBy, fever: Option<FeverEnds>) -> String {
    let words = match ended_by {
        EndedBy::FullLook(look) => match look {
            FullLook::Any => "Ends with a full look by staff.",
            FullLook::WithoutIt => "Ends when staff do a full look and it is gone.",
            FullLook::WithoutDrainage => "Ends when staff do a full look and find no drainage.",
            FullLook::OnLaterDay => "Ends with a full look by staff on a later day.",
            FullLook::NoWorse => {
                "Ends when staff do a full look, days after the pull, and the site is no worse than before it."
            }
            FullLook::ScoreBack => {
                "Ends when staff do a full look and the score is within one point of its earlier low."
            }
            FullLook::RednessBack => "Ends when staff do a full look and the redness is back to its earlier size.",
        },
        EndedBy::Temperature => return fever_ends(fever),
        EndedBy::SignOffs => "Ends when enough caregivers, or the patient, are signed off, or when the patient moves.",
        EndedBy::SignOff => "Ends with a sign-off.",
        EndedBy::ClinicianOrLook => "Ends with a contact with a clinician about it, or a look by staff.",
        EndedBy::Anchor => "Ends when the anchor is recorded in place.",
        EndedBy::Change => "Ends with the next change.",
        EndedBy::Determination => "Ends with a clinician's determination, or a contact with a physician about it.",
        EndedBy::Log => "Ends when the log is recorded.",
        EndedBy::Result => "Ends when the result is recorded.",
        EndedBy::FewerChanges => "Ends when recent changes find it less often.",
        EndedBy::Action => "Ends when it is acted on.",
        EndedBy::Move => "Ends when the patient moves.",
    };
    words.to_owned()
}

/// Describes the end of a fever, with the hours and days of the policy; anyone may take the temperature.
fn fever_ends(fever: Option<FeverEnds>) -> String {
    let Some(FeverEnds { below_celsius, after_hours, after_days }) = fever else {
        return "Ends with a normal temperature hours later, or a full look by staff days later.".to_owned();
    };
    format!(
        "Ends with a temperature below {}, taken by staff or at home, {after_hours} h or more after the last fever, or with a full look by staff {} or more after it.",
        temperature(below_celsius),
        count(after_days, "day"),
    )
}

/// Describes a later record that does not show a signal and does not end it.
pub(crate) fn improved(ended_by: EndedBy) -> &'static str {
    match ended_by {
        EndedBy::Temperature => "reported improved, not ended yet",
        _ => "reported improved, staff look still needed",
    }
}
