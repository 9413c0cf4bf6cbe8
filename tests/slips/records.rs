//! The questions of `record`.

use crate::asks::Asks::{Choice, Degrees, LastDay, Millimeters, Note, Open, OpenPastDay, PastDay, Text, Time, YesNo};
use crate::asks::{Case, End};

pub(crate) const CASES: [Case; 8] = [
    Case::of(
        &["record", "change", "P-014"],
        &[
            ("When was it", Time, "yesterday 18:40"),
            ("Who did or saw it?", Choice, "p014-spouse"),
            ("How do you know?", Choice, "told"),
            ("Why was the dressing changed?", Open, "1"),
            ("Exit site: ", Open, "f"),
            ("What kind of drainage", Open, "serous, scant"),
            ("How far does redness", Millimeters, ""),
            ("Is there swelling?", Open, "1"),
            ("How far does crust", Millimeters, ""),
            ("Is there pain", Open, "1"),
            ("Which are present?", Open, "none"),
            ("What is the body", Degrees, ""),
            ("Dressing and anchor", Open, "1"),
            ("Write it?", YesNo, "y"),
        ],
    ),
    Case::of(
        &["record", "assessment", "P-014"],
        &[
            ("When was it", Time, "yesterday 18:40"),
            ("Who did or saw it?", Choice, "rn-07"),
            ("Exit site: ", Choice, "f"),
            ("What kind of drainage", Open, "pus, large"),
            ("How far does redness", Millimeters, "12"),
            ("Is there swelling?", Open, "along"),
            ("How far does crust", Millimeters, "2"),
            ("Is there pain", Open, "severe"),
            ("Which are present?", Open, "1 2"),
            ("What is the body", Degrees, "101.5F"),
            ("Any note?", Note, "seen in the clinic"),
            ("Write it?", YesNo, "y"),
        ],
    ),
    Case::of(
        &["record", "inspection", "P-014"],
        &[
            ("When was it", Time, "yesterday 18:40"),
            ("Who did or saw it?", Choice, "rn-07"),
            ("How is the dressing?", Open, "1"),
            ("How is the anchor?", Open, "1"),
            ("Any note?", Note, "seen in the clinic"),
            ("Write it?", YesNo, "y"),
        ],
    ),
    Case::of(
        &["record", "shower", "P-014"],
        &[
            ("When was it", Time, "yesterday 18:40"),
            ("Who did or saw it?", Choice, "patient"),
            ("How do you know?", Choice, "told"),
            ("What kind of water?", Open, "1"),
            ("How was the dressing before", Open, "1"),
            ("How was the dressing after", Open, "1"),
            ("How is the anchor?", Open, "1"),
            ("Any note?", Note, "well"),
            ("Write it?", YesNo, "y"),
        ],
    ),
    Case::of(
        &["record", "culture", "P-014"],
        &[
            ("When was it", Time, "yesterday 18:40"),
            ("Who did or saw it?", Choice, "rn-07"),
            ("Which specimen?", Choice, "1"),
            ("What day did the result", OpenPastDay, "today"),
            ("Did the culture grow?", Open, "yes"),
            ("Which organisms grew?", Text, "S. aureus"),
            ("Any note?", Note, "called in"),
            ("Write it?", YesNo, "y"),
        ],
    ),
    Case::of(
        &["record", "infection", "P-014"],
        &[
            ("When was it", Time, "yesterday 18:40"),
            ("Who did or saw it?", Choice, "md-3"),
            ("How do you know?", Choice, "reported"),
            ("Which part is infected?", Choice, "1"),
            ("How certain is it?", Choice, "probable"),
            ("What day did it start?", PastDay, "yesterday"),
            ("What day did it resolve?", OpenPastDay, ""),
            ("Was the patient readmitted for it?", Open, "no"),
            ("Which organisms?", Text, "S. aureus"),
            ("Is it a recurrence?", Text, ""),
            ("Any note?", Note, "seen in the clinic"),
            ("Write it?", YesNo, "y"),
        ],
    ),
    Case::of(
        &["record", "treatment", "P-014"],
        &[
            ("When was it", Time, "yesterday 18:40"),
            ("Who did or saw it?", Choice, "md-3"),
            ("How do you know?", Choice, "reported"),
            ("What was ordered?", Choice, "1"),
            ("Through what day?", LastDay, "today"),
            ("Any note?", Note, "taken with food"),
            ("Write it?", YesNo, "y"),
        ],
    ),
    Case::of(
        &["record", "contact", "P-014"],
        &[
            ("When was it", Time, "yesterday 18:40"),
            ("Who made the call?", Choice, "rn-07"),
            ("Who was reached?", Choice, "patient"),
            ("Outcome of the call?", Choice, "advised"),
        ],
    )
    .then(End::GoesOn),
];
