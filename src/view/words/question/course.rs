//! The questions of `init`, `patient` and `staff`.

use super::Question;

pub(crate) const PROGRAM: Question = Question::new(
    "Name of the program",
    "The name at the head of each report. Enter leaves it to policy.toml.",
    "Riverside VAD program",
);
pub(crate) const TIME_ZONE: Question = Question::new(
    "Time zone, such as America/New_York or America/Denver",
    "The time zone of the program: every due time depends on it.",
    "America/Denver",
);
pub(crate) const WRITER: Question =
    Question::new("Who is writing this entry? Your code", "The code of the person at this keyboard.", "rn-07");

pub(crate) const IMPLANTED: Question = Question::new(
    "What day was the implant?",
    "The day of the implant; the days after it are counted from there.",
    "2026-08-03",
);
pub(crate) const WHERE: Question =
    Question::new("Where does the driveline leave the skin?", "The place on the abdomen as the patient sees it.", "1");
pub(crate) const PLACE: Question =
    Question::new("Where does the patient live now?", "The place today: it decides which interval applies.", "home");
pub(crate) const RECORDS_FROM: Question = Question::new(
    "What day do your records of this patient begin? The day you took over care, {}, or `implant` if you have recorded since then",
    "The first day for which this program answers: nothing before it counts as missed.",
    "2026-09-01, or implant",
);
pub(crate) const PLACE_SINCE: Question = Question::new(
    "Since what day {}? {} or earlier if that was already the case when your records began",
    "The first day at the present place.",
    "2026-09-15",
);
pub(crate) const PLACE_BEFORE: Question =
    Question::new("Where was the patient from {} until then?", "The place before that day.", "1");
pub(crate) const INFECTIONS_BEFORE: Question = Question::new(
    "How many driveline infections were there before {}?",
    "Infections before your records begin: a first one later is then not counted as the first.",
    "0, or unknown",
);
pub(crate) const LAST_CHANGE_BEFORE: Question = Question::new(
    "What day was the last dressing change before {}?",
    "The last change before your records: the next due day follows from it.",
    "yesterday",
);
pub(crate) const CAREGIVERS: Question = Question::new(
    "Who changes the dressing at home? Caregiver codes with relation, such as p014-son:son; separate them with commas",
    "Codes for the caregivers, never names, each with the relation to the patient.",
    "p014-son:son",
);
pub(crate) const REPORTS: Question = Question::new(
    "How does the household report?",
    "each: every change is reported as it happens; log: a paper log comes in from time to time.",
    "1",
);
pub(crate) const INTOLERANCES: Question = Question::new(
    "Any known intolerances? Separate them with commas, or type none",
    "Materials to avoid; they are shown with every change.",
    "chlorhexidine",
);
pub(crate) const OWN_TIME_ZONE: Question = Question::new(
    "In which time zone does the patient live?",
    "The time zone of the home, if it is not that of the program.",
    "America/Denver",
);

pub(crate) const CAREGIVER_CODE: Question = Question::new(
    "What is the caregiver's code, such as p014-son? Never use a name",
    "A code for the caregiver that is not yet in use. Never use a name.",
    "p014-son",
);
pub(crate) const RELATION: Question = Question::new(
    "What is the caregiver's relation to the patient, such as son or neighbor?",
    "The relation to the patient, in a word. Enter leaves it open.",
    "neighbor",
);
pub(crate) const MOVED_TO: Question = Question::new(
    "Where is the patient moving to?",
    "The new place: it decides which interval applies from then on.",
    "home",
);
pub(crate) const MOVED_ON: Question = Question::new(
    "What is the first day there?",
    "The first day at the new place. The interval of that place applies from then on.",
    "today",
);
pub(crate) const MOVED_BECAUSE: Question =
    Question::new("Why is the patient moving?", "The reason, in a few words. Never use a name.", "discharged");
pub(crate) const MOVED_EARLIER_BECAUSE: Question = Question::new(
    "A move there is already planned. Why is the day changing?",
    "The reason, in a few words. Never use a name.",
    "bed needed",
);
pub(crate) const ENDED_ON: Question = Question::new(
    "What day did support end?",
    "The day on which support ended: nothing is due from that day on.",
    "2026-11-24",
);
pub(crate) const ENDED_BECAUSE: Question = Question::new("Why did support end?", "The reason, by number or word.", "1");

pub(crate) const NEW_EXIT: Question = Question::new(
    "What is the id of the new exit site, such as b?",
    "A letter that no exit site of this patient has yet.",
    "b",
);
pub(crate) const NEW_EXIT_BECAUSE: Question =
    Question::new("Why is there a new exit site?", "The reason, by number or word.", "2");
pub(crate) const NEW_EXIT_DAY: Question = Question::new(
    "What day was it created?",
    "The day of the operation. Changes at this site are due from then on.",
    "2026-11-24",
);
pub(crate) const CLOSED_EXIT: Question = Question::new(
    "Which exit site is closing? Type its id",
    "The letter of the exit site that is no longer in use. Nothing is due there afterward.",
    "a",
);
pub(crate) const CLOSED_EXIT_DAY: Question =
    Question::new("What is its last day?", "The last day, included.", "2026-11-24");

pub(crate) const EVERY_DAYS: Question = Question::new(
    "A change is due every how many days?",
    "The number of days from one change to the next, as ordered.",
    "2",
);
pub(crate) const ON_WEEKDAYS: Question = Question::new(
    "On which weekdays is the dressing changed, such as mon,wed,fri?",
    "The weekdays of the order, separated by commas.",
    "mon,wed,fri",
);
pub(crate) const MIN_DAYS: Question = Question::new(
    "What is the minimum number of days from one change to the next?",
    "With weekdays: a weekday sooner than this after a change is skipped.",
    "2",
);
pub(crate) const ORDERED: Question = Question::new(
    "What is the order?",
    "The subject of the order: an interval in days, fixed weekdays, or no showers.",
    "1",
);
pub(crate) const ORDERED_FROM: Question =
    Question::new("What is the first day of the order?", "The first day on which the order is in force.", "today");
pub(crate) const ORDERED_UNTIL: Question =
    Question::new("What is the last day of the order?", "The last day, included.", "2026-12-01");
pub(crate) const ORDERED_AT: Question = Question::new(
    "Which exit site is the order for?",
    "The letter of the exit site. Without it the order is for all of them.",
    "a",
);
pub(crate) const ORDERED_BY: Question = Question::new(
    "Which clinician gave the order? Type the code",
    "The code of the clinician who gave the order.",
    "md-3",
);
pub(crate) const ORDERED_BECAUSE: Question = Question::new(
    "What is the reason for the order?",
    "The reason as the clinician gave it, in a few words. Never use a name.",
    "skin irritation",
);

pub(crate) const ROLE: Question =
    Question::new("What is this person's role?", "The role decides who may determine, order and sign.", "2, or nurse");
pub(crate) const MAY_SIGN: Question = Question::new(
    "May this person sign return demonstrations?",
    "Only a person who may sign can sign off a caregiver.",
    "",
);
pub(crate) const STAFF_FROM: Question = Question::new(
    "What day did this person start?",
    "The first day on which the code is valid. Enter if it does not matter.",
    "2026-11-01",
);
pub(crate) const STAFF_UNTIL: Question = Question::new(
    "What is this person's last day with the program?",
    "The last day, included; the sign-offs by the code stay valid.",
    "today",
);
