//! The questions of `patient`, `staff`, `init` and `import`.

use crate::asks::Asks::{
    Caregivers, Choice, Count, Day, DayBefore, Days, NewCode, NewExit, OpenDay, PastDay, Text, Words, YesNo,
};
use crate::asks::{Case, End};

pub(crate) const CASES: [Case; 12] = [
    Case::of(
        &["patient", "move", "P-014", "--why", "discharged", "--from", "today"],
        &[("Where is the patient moving to?", Choice, "inpatient")],
    )
    .then(End::GoesOn),
    Case::of(
        &["patient", "end", "P-014", "--ends-signals"],
        &[("What day did support end?", Day, "today"), ("Why did support end?", Choice, "transplant")],
    )
    .then(End::GoesOn),
    Case::of(
        &["patient", "add", "P-022"],
        &[
            ("What day was the implant?", PastDay, "2020-01-15"),
            ("Where does the driveline leave", Choice, "1"),
            ("Where does the patient live now?", Choice, "home"),
            ("What day do your records", PastDay, "2021-02-01"),
            ("Since what day at home?", PastDay, "2022-03-01"),
            ("Where was the patient from", Choice, "1"),
            ("How many driveline infections", Count, "0"),
            ("What day was the last", DayBefore, "2021-01-31"),
            ("Who changes the dressing", Caregivers, "p022-son:son"),
            ("How does the household report?", Choice, "1"),
            ("Any known intolerances", Text, "none"),
            ("Who is writing this entry?", Choice, "rn-07"),
            ("Write it?", YesNo, "y"),
        ],
    )
    .without_writer(),
    Case::of(
        &["patient", "order", "P-014"],
        &[
            ("What is the order?", Choice, "1"),
            ("A change is due every", Days, "2"),
            ("Which clinician gave the", Choice, "md-3"),
            ("What is the reason for", Words, "skin irritation"),
            ("Write it?", YesNo, "y"),
        ],
    ),
    Case::of(
        &["patient", "order", "P-014", "--from", "today"],
        &[("What is the order?", Choice, "on weekdays"), ("On which weekdays", Choice, "mon,wed,fri")],
    )
    .then(End::GoesOn),
    Case::of(
        &["patient", "exit", "P-014"],
        &[
            ("What is the id of the new exit", NewExit, "b"),
            ("Where does the driveline leave", Choice, "1"),
            ("Why is there a new exit site?", Choice, "relocation"),
            ("What day was it created?", Day, "yesterday"),
            ("Who is writing this entry?", Choice, "rn-07"),
            ("Write it?", YesNo, "y"),
        ],
    )
    .without_writer(),
    Case::of(
        &["patient", "exit", "P-014", "--until", "today", "--ends-signals"],
        &[("Which exit site is closing?", Choice, "a")],
    )
    .then(End::GoesOn),
    Case::of(
        &["patient", "caregiver", "P-014"],
        &[
            ("What is the caregiver's code", NewCode, "p014-son"),
            ("What is the caregiver's", Text, "son"),
            ("Who is writing this entry?", Choice, "rn-07"),
            ("Write it?", YesNo, "y"),
        ],
    )
    .without_writer(),
    Case::of(
        &["staff", "add", "rn-09"],
        &[
            ("What is this person's role", Choice, "nurse"),
            ("May this person sign", YesNo, "y"),
            ("What day did this", OpenDay, "today"),
            ("Write it?", YesNo, "y"),
        ],
    ),
    Case::of(
        &["staff", "retire", "md-3"],
        &[
            ("What is this person's last", Day, "today"),
            ("no physician is on the staff", YesNo, "y"),
            ("Write it?", YesNo, "y"),
        ],
    ),
    Case::of(
        &["init", "new"],
        &[("Name of the program", Text, "Invented"), ("Time zone, such as", Choice, "America/Denver")],
    ),
    Case::of(&["import", "log.csv"], &[("Import it?", YesNo, "y")]),
];
