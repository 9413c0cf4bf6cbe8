//! Time from onset to determination, and the likely counts of recent months.

use super::Section;
use crate::report::audit::{Delays, MonthSoFar};
use crate::surveillance::delay::Quantiles;
use crate::text::count;
use crate::view::table::Cell;

/// The maximum number of months in the table, most recent last; the JSON has all.
const MOST: usize = 3;

pub(super) fn delays(delays: &Delays) -> Section {
    let section = Section::new("Time to determination").say(meaning(delays));
    let section = match delays.months.last() {
        None => section.say(format!(
            "The period ended at least {} days before this report, so no further infections are expected to be determined.",
            delays.longest_days
        )),
        Some(last) if last.likely.low.is_none() => section.say(format!(
            "Likely totals need {} earlier infections; on file: {}.",
            delays.least,
            last.earlier
        )),
        Some(_) => section.say(format!(
            "Likely total: 95 % prediction limits (mid-P) from past delays, that is, the proportion of infections with onset at least {} days ago that were on file equally soon (its limits: 95 % Wilson). Rates, charts and alarm use the counts so far.",
            delays.longest_days
        )),
    };
    let section = match delays.longer {
        0 => section,
        n => section.say(format!(
            "Excluded from past delays because they were entered after more than {} days: {}.",
            delays.longest_days,
            count(n as i64, "infection")
        )),
    };
    let (period, earlier) = (&delays.period, &delays.earlier);
    let rows = [
        row("onset to determination", &period.to_determination),
        row("determination to entry", &period.to_entry),
        row("onset to entry", &period.total),
        row("onset to entry, earlier", &earlier.total),
    ];
    section.show(&["days", "infections", "median", "90th percentile", "longest"], rows.into_iter().flatten()).show(
        &["month of onset", "so far", "likely total", "earlier: on file by then", "95 %"],
        delays.months.iter().rev().take(MOST).rev().filter(|month| month.likely.low.is_some()).map(month),
    )
}

fn meaning(delays: &Delays) -> String {
    let (determined, total) = (&delays.period.to_determination, &delays.period.total);
    let days = |days: Option<i64>| count(days.unwrap_or(0), "day");
    let period = match total.n {
        0 => "No infection with onset in the period is on file.".to_owned(),
        1 => format!(
            "The one infection of the period was determined {} after onset and entered after {}.",
            days(determined.longest),
            days(total.longest)
        ),
        n => format!(
            "Of {n} infections of the period, half were determined within {} of onset and entered within {}; the longest took {}.",
            days(determined.median),
            days(total.median),
            days(total.longest)
        ),
    };
    let last = delays.months.last().filter(|month| month.likely.low.is_some());
    let last =
        last.map(|month| format!(" {}: {} so far; {} by past delays.", month.month, month.so_far, likely(month)));
    period + &last.unwrap_or_default()
}

fn likely(month: &MonthSoFar) -> Cell {
    let limit = |total: Option<u64>| total.map(|total| total as f64);
    Cell::Limits(limit(month.likely.low), limit(month.likely.high), 0)
}

fn row(name: &str, delays: &Quantiles) -> Option<Vec<Cell>> {
    let day = |day: Option<i64>| day.map_or(Cell::Missing, Cell::Count);
    // The one delay of one infection is in the sentence.
    (delays.n > 1).then(|| {
        vec![Cell::text(name), Cell::count(delays.n), day(delays.median), day(delays.ninetieth), day(delays.longest)]
    })
}

fn month(month: &MonthSoFar) -> Vec<Cell> {
    vec![
        Cell::text(month.month.to_string()),
        Cell::count(month.so_far),
        likely(month),
        Cell::Figure(format!("{} of {}", month.earlier_known, month.earlier)),
        Cell::share_limits(month.earlier_known_low, month.earlier_known_high, 0),
    ]
}
