//! The questions of `result`, `resolve`, `amend`, `void` and `round`.

use crate::asks::Asks::{Choice, Degrees, Key, Millimeters, Note, Open, PastDay, Reason, Text, ToldTime, YesNo};
use crate::asks::{Case, End};

pub(crate) const CASES: [Case; 6] = [
    Case::of(
        &["result", "P-021"],
        &[
            ("Which open culture?", Open, "1"),
            ("Day of the result, such as yesterday:", PastDay, "yesterday"),
            ("Did it grow? 1 yes, 2 no growth", Choice, "1"),
            ("Organisms, separated by commas: [Enter: not known yet]", Text, "S. aureus"),
            ("Write it?", YesNo, "y"),
        ],
    ),
    Case::of(
        &["resolve", "P-021"],
        &[
            ("Which open infection", Open, "1"),
            ("Day of the resolution:", PastDay, "yesterday"),
            ("Clinician who determined it:", Choice, "md-3"),
            ("Write it?", YesNo, "y"),
        ],
    )
    .without_writer(),
    Case::of(
        &["amend", "P-014"],
        &[
            ("Which record?", Open, "1"),
            ("Which field is wrong?", Choice, "source"),
            ("source is told. New value", Choice, "from a log"),
            ("Which field is wrong?", Open, ""),
            ("Your code:", Choice, "rn-07"),
            ("Reason for the correction:", Reason, "typed in the wrong line"),
            ("Write it?", YesNo, "y"),
        ],
    )
    .without_writer(),
    Case::of(
        &["void", "P-014"],
        &[
            ("Which record?", Open, "1"),
            ("Your code:", Choice, "rn-07"),
            ("Reason for voiding:", Reason, "wrong patient"),
            ("Void it?", YesNo, "y"),
        ],
    )
    .without_writer(),
    Case::of(
        &["round"],
        &[
            ("c called", Key, "c"),
            ("Who was reached", Choice, "patient"),
            ("Outcome: ", Choice, "advised"),
            ("Which open signals", Open, "1"),
            ("Note, one line", Note, "well"),
            ("Write it?", YesNo, "y"),
        ],
    )
    .then(End::Next),
    Case::of(
        &["round"],
        &[
            ("c called", Key, "d"),
            ("Who was reached", Choice, "patient"),
            ("Who changed it", Choice, "patient"),
            ("When was it changed", ToldTime, "today"),
            ("Why was it changed", Open, "scheduled"),
            ("Exit site: ", Open, "f"),
            ("What kind of drainage", Open, "serous, scant"),
            ("How far does redness", Millimeters, "2"),
            ("Is there swelling?", Open, "1"),
            ("How far does crust", Millimeters, ""),
            ("Is there pain", Open, "1"),
            ("Which are present?", Open, "none"),
            ("What is the body", Degrees, ""),
            ("Dressing and anchor", Open, "each"),
            ("How were the dressing and the anchor found?", Open, "wet, loose"),
            ("How were the dressing and the anchor left?", Open, "intact, in place"),
            ("Which open signals", Open, ""),
            ("Write it?", YesNo, "y"),
        ],
    )
    .then(End::Next),
];
