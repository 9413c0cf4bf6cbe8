//! Days past due by patient.

use super::Section;
use crate::report::audit::{Concentration, PastDue};
use crate::surveillance::concentration::Holders;
use crate::text::{count, thousands};
use crate::view::table::Cell;

/// The maximum number of patients in the table; the JSON has all.
const MOST: usize = 5;
/// Fewer exit-site-days past due than these say nothing of where they gather. Source: common practice.
const FEWEST: u64 = 20;

pub(super) fn concentration(found: &Concentration) -> Section {
    let row = |one: &PastDue| {
        vec![
            Cell::text(&one.patient),
            Cell::count(one.days_past_due),
            Cell::count(one.days),
            Cell::Share(one.cumulative_share, 1),
        ]
    };
    let section = Section::new("Days past due by patient").say(meaning(found));
    if found.days_past_due < FEWEST {
        return section;
    }
    section
        .say("Exit-site-days: a day counts once per exit site if the records cover it and it ended with a change past due; days before today only. The table lists the patients with the most days; proportions are cumulative. By chance: if each exit-site-day were past due with the same probability, independently of the others; days past due come in runs, so some concentration is expected.")
        .show(
            &["patient", "exit-site-days past due", "covered exit-site-days", "cumulative"],
            found.by_patient.iter().take(MOST).map(row),
        )
}

fn meaning(found: &Concentration) -> String {
    let Some((half, most)) = found.half.zip(found.four_fifths) else {
        return match found.days {
            0 => "No covered day of the period expects a change.".to_owned(),
            days => format!("No change was past due on any of {} covered exit-site-days.", thousands(days as i64)),
        };
    };
    let past_due = count(found.days_past_due as i64, "exit-site-day");
    if found.days_past_due < FEWEST {
        return format!("{past_due} past due: under {FEWEST}, too few to say in how few patients they gather.");
    }
    if found.patients == 1 {
        return format!("{past_due} past due, all in one patient: the only one with covered exit-site-days.");
    }
    let patients = count(found.patients as i64, "patient");
    let have = |one: &Holders| if one.holders == 1 { "has" } else { "have" };
    let whole =
        |one: &Holders| format!("who {} {:.1} % of the covered exit-site-days", have(one), one.share_of_whole * 100.0);
    let chance = |holders: Option<f64>| holders.map_or(String::new(), |n| format!(" (by chance in about {n:.0})"));
    if half.holders == most.holders {
        let share = most.share * 100.0;
        return format!(
            "{past_due} past due: {share:.0} % of them in {} of {patients}{}, {}.",
            most.holders,
            chance(found.four_fifths_by_chance),
            whole(&most)
        );
    }
    format!(
        "{past_due} past due: half of them in {} of {patients}{}, {}; four fifths in {}{}, {}.",
        half.holders,
        chance(found.half_by_chance),
        whole(&half),
        most.holders,
        chance(found.four_fifths_by_chance),
        whole(&most)
    )
}
