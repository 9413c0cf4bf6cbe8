//! Days past due by patient.

use super::Section;
use crate::report::audit::{Concentration, PastDue};
use crate::surveillance::concentration::Holders;
use crate::text::{count, thousands};
use crate::view::table::Cell;

/// The maximum number of patients in the table; the JSON has all.
const MOST: usize = 5;

pub(super) fn concentration(found: &Concentration) -> Section {
    let row = |one: &PastDue| {
        vec![
            Cell::text(&one.patient),
            Cell::count(one.days_past_due),
            Cell::count(one.days),
            Cell::Share(one.cumulative_share, 1),
        ]
    };
    Section::new("Days past due by patient")
        .say(meaning(found))
        .say("A day counts once per exit site if the records cover it and it ended with a change past due; days before today only. The table lists the patients with the most days; proportions are cumulative.")
        .show(
            &["patient", "days past due", "covered days", "cumulative"],
            found.by_patient.iter().take(MOST).map(row),
        )
}

fn meaning(found: &Concentration) -> String {
    let Some((half, most)) = found.half.zip(found.four_fifths) else {
        return match found.days {
            0 => "No covered day of the period expects a change.".to_owned(),
            days => format!("No change was past due on any of {} covered days.", thousands(days as i64)),
        };
    };
    let past_due = count(found.days_past_due as i64, "day");
    if found.patients == 1 {
        return format!("{past_due} past due, all in one patient: the only one with covered days.");
    }
    let patients = count(found.patients as i64, "patient");
    let have = |one: &Holders| if one.holders == 1 { "has" } else { "have" };
    let whole = |one: &Holders| format!("who {} {:.1} % of the covered days", have(one), one.share_of_whole * 100.0);
    if half.holders == most.holders {
        let share = most.share * 100.0;
        return format!(
            "{past_due} past due: {share:.0} % of them in {} of {patients}, {}.",
            most.holders,
            whole(&most)
        );
    }
    format!(
        "{past_due} past due: half of them in {} of {patients}, {}; four fifths in {}, {}.",
        half.holders,
        whole(&half),
        most.holders,
        whole(&most)
    )
}
