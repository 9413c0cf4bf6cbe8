//! The questions of `round`: a call, and the change reported in it.

use super::Question;

pub(crate) const REACHED: Question =
    Question::new("Who was reached", "The person who answered the call, by number or code.", "2");
pub(crate) const CLINICIAN: Question =
    Question::new("Which clinician", "The code of the clinician who was reached.", "1");
pub(crate) const OUTCOME: Question =
    Question::new("Outcome", "What came of the call. If it was a promise, its time is asked next.", "3, or advised");
pub(crate) const ESCALATED_TO: Question = Question::new("Escalated to", "The clinician to whom it was passed on.", "1");
pub(crate) const EXPECTED_BY: Question = Question::new(
    "By when{}, such as 18:00 or \"tomorrow 12:00\"",
    "The time the household promised. Enter writes no time, since none was given.",
    "18:00 or \"tomorrow 12:00\"",
);
pub(crate) const ABOUT: Question = Question::new(
    "Which open signals was the call about? Numbers with spaces, or all",
    "The findings that were discussed in this call; a signal that was not discussed stays as it is.",
    "1 3, or all",
);
pub(crate) const ABOUT_TYPED: Question = Question::new(
    "Which open signals was the call about? Numbers with spaces, all, or none",
    "The findings that were passed on or discussed. An escalation or a fever needs an answer: type none if it was about none of them.",
    "1 3, all, or none",
);
pub(crate) const NOTE: Question = Question::new(
    "Note, one line",
    "Anything the next caller needs. No names and no telephone numbers.",
    "mother is back at noon",
);
pub(crate) const TEMPERATURE: Question = Question::new(
    "The note mentions a temperature. Which one was told? With its unit, such as 98.6F or 37.0C",
    "A note raises no signal; the temperature recorded here does.",
    "101.5F",
);
pub(crate) const FEVER_PASSED_ON: Question = Question::new(
    "Was this fever passed on in the call?",
    "Yes only if the clinician heard of the fever, or it is why the patient comes in. Without it the fever still needs review today.",
    "",
);
pub(crate) const CHANGED_BY: Question = Question::new(
    "Who changed it",
    "The person who changed the dressing, by number or code.",
    "1 for the first of the list",
);
pub(crate) const CHANGED_EXITS: Question =
    Question::new("Which exit site, or all", "The exit sites whose dressing was changed.", "1, or all");
pub(crate) const CHANGED_AT: Question = Question::new(
    "When was it changed{}? 1 this morning, 2 today, 3 yesterday, or a time such as 18:40 or \"yesterday 20:00\"",
    "The time of the reported change, or only its day.",
    "18:40, \"yesterday 20:00\", or 2",
);
pub(crate) const CHANGED_BECAUSE: Question = Question::new(
    "Why was it changed?",
    "The reason as reported. Enter means that it was not asked.",
    "1 for a scheduled change",
);
pub(crate) const CHANGED_AFTER: Question = Question::new(
    "{}. Was the change after that?",
    "Only a change after the shower or the damage settles it. Choose not known unless the household knows the order.",
    "1, or yes",
);
