//! The questions of `amend`, `void`, `result` and `resolve`.

use super::Question;

pub(crate) const WHICH_RECORD: Question =
    Question::new("Which {}? Type its number", "The record to correct: the number before it. Enter picks none.", "1");
pub(crate) const WHICH_OPEN: Question = Question::new(
    "Which {}? Type its number",
    "The open record to fill in: the number before it. Enter picks none.",
    "1",
);
pub(crate) const FIELD: Question = Question::new(
    "Which field is wrong? Type its number, or the name of a field to add",
    "The field to correct: its number above, or the name of a field to add.",
    "2, or note",
);
pub(crate) const NEW_VALUE: Question = Question::new(
    "{} is {}. New value, or - to remove it",
    "The value that the field should have had. The old value stays on file.",
    "",
);
pub(crate) const YOUR_CODE: Question = Question::new("Your code:", "The code of the person at this keyboard.", "rn-07");
pub(crate) const WHY_CORRECTED: Question = Question::new(
    "Reason for the correction:",
    "The reason that stays on file with the old value, in a few words.",
    "typed in the wrong line",
);
pub(crate) const WHY_VOIDED: Question = Question::new(
    "Reason for voiding:",
    "The reason that stays on file with the voided record, in a few words.",
    "wrong patient",
);
pub(crate) const RESULT_DAY: Question = Question::new(
    "Day of the result, such as yesterday:",
    "The day on which the laboratory reported it.",
    "2026-11-24 or yesterday",
);
pub(crate) const GROWTH: Question = Question::new(
    "Did it grow? 1 yes, 2 no growth",
    "Growth as the laboratory reported it. Type 1 or yes, 2 or no growth.",
    "",
);
pub(crate) const ORGANISMS: Question = Question::new(
    "Organisms, separated by commas:",
    "The organisms as the laboratory named them, several with commas.",
    "S. aureus",
);
pub(crate) const RESOLVED_DAY: Question =
    Question::new("Day of the resolution:", "The day on which the clinician called it resolved.", "yesterday");
pub(crate) const RESOLVED_BY: Question =
    Question::new("Clinician who determined it:", "The code of the clinician who determined it.", "md-3");
pub(crate) const TREATMENT_ENDED: Question =
    Question::new("Last day of the treatment:", "The last day on which it was given.", "yesterday");
