//! Supplies as text: items to order now, later ones, and households without a count.

use chrono::NaiveDate;

use super::day::short_day;
use super::table::{Cell, CellTable};
use super::{TextStyle, hanging, paragraph, unusable};
use crate::policy::CarePlace;
use crate::report::Report;
use crate::report::supplies::{SuppliesReport, SupplyRow};
use crate::supply::Stock;
use crate::text::{count, visible};

/// Renders the supplies as text.
pub(crate) fn supplies(report: &Report<SuppliesReport>, today: NaiveDate, look: TextStyle) -> String {
    let body = &report.body;
    let mut out = unusable(look, &report.unusable);
    let lines: Vec<(&SupplyRow, &Stock)> =
        body.rows.iter().flat_map(|row| row.items.iter().flatten().map(move |item| (row, item))).collect();
    let counted: Vec<&(&SupplyRow, &Stock)> = lines.iter().filter(|(_, item)| item.on_hand.is_some()).collect();
    let is_short = |(_, item): &&&(&SupplyRow, &Stock)| item.short == Some(true);
    let short: Vec<String> = counted
        .iter()
        .filter(is_short)
        .map(|(row, item)| format!("{} {}", visible(&row.patient), visible(&item.item)))
        .collect();
    if !short.is_empty() {
        out.push_str(&hanging(look, &format!("Order now: {}", short.join(", ")), "  "));
        out.push('\n');
    }
    let (table, is_whole) = list(&counted, today, look);
    out.push_str(&table);
    for (row, item) in &counted {
        let counted_on = (!is_whole).then(|| counted_words(item, today));
        for note in counted_on.into_iter().chain(notes(item)) {
            out.push_str(&hanging(look, &format!("{} {}: {note}", row.patient, visible(&item.item)), "  "));
        }
    }
    let codes = |is_in: &dyn Fn(&SupplyRow) -> bool| {
        let codes: Vec<&str> = body.rows.iter().filter(|row| is_in(row)).map(|row| row.patient.as_str()).collect();
        codes.join(" ")
    };
    let is_uncounted = |row: &SupplyRow| row.items.iter().flatten().any(|item| item.on_hand.is_none());
    let not_known = body.rows.iter().filter(|row| row.items.is_none()).map(|row| visible(&row.patient));
    let sentences = [
        ("Not known", not_known.collect::<Vec<_>>().join(" ")),
        ("Never counted, at home", codes(&|row| is_uncounted(row) && row.place == Some(CarePlace::Home))),
        ("Never counted, not at home", codes(&|row| is_uncounted(row) && row.place != Some(CarePlace::Home))),
        ("Support ended, not listed", body.ended.join(" ")),
    ];
    for (what, codes) in sentences.iter().filter(|(_, codes)| !codes.is_empty()) {
        out.push_str(&hanging(look, &format!("{what}: {codes}"), "  "));
    }
    for row in body.rows.iter().filter(|row| !row.not_in_policy.is_empty()) {
        let items = visible(&row.not_in_policy.join(", "));
        out.push_str(&hanging(look, &format!("{}: not in the policy: {items}", row.patient), "  "));
    }
    if body.rows.is_empty() && body.ended.is_empty() {
        out.push_str("No patients on file.\n");
    }
    out.push_str(&paragraph(
        look,
        "On hand: last count plus deliveries since, less losses and use at home. Runs out: by the schedule or by the \
         use of the last 28 days, whichever is sooner.",
    ));
    out
}

/// Renders the counted items as a table, and returns true if all columns fit; the omitted ones follow below it.
fn list(counted: &[&(&SupplyRow, &Stock)], today: NaiveDate, look: TextStyle) -> (String, bool) {
    if counted.is_empty() {
        return (String::new(), true);
    }
    let heads = ["patient", "on hand", "used", "counted", "runs out", "order by", "item"];
    let mut table = CellTable::of(&heads, counted.iter().map(|(row, item)| cells(row, item, today)));
    let is_whole = table.fits(look);
    if !is_whole {
        table.headings.drain(2..4);
        table.rows.iter_mut().for_each(|row| drop(row.drain(2..4)));
    }
    (table.text(look) + "\n", is_whole)
}

/// Formats the two columns that a narrow terminal omits.
fn counted_words(item: &Stock, today: NaiveDate) -> String {
    let on = item.counted_on.map_or("never counted".to_owned(), |on| format!("counted {}", short_day(on, today)));
    match item.used {
        Some(used) => format!("{on}, used since: {used}"),
        None => on,
    }
}

fn cells(row: &SupplyRow, item: &Stock, today: NaiveDate) -> Vec<Cell> {
    let day = |day: Option<NaiveDate>| day.map_or("-".to_owned(), |day| short_day(day, today));
    let order_by = match item.short {
        Some(true) => format!("{} now", day(item.order_by)),
        _ => day(item.order_by),
    };
    vec![
        Cell::text(&row.patient),
        item.on_hand.map_or(Cell::Missing, Cell::Count),
        item.used.map_or(Cell::Missing, Cell::Count),
        Cell::Text(day(item.counted_on)),
        Cell::Text(day(item.runs_out_on)),
        Cell::Text(order_by),
        Cell::Text(visible(&item.item)),
    ]
}

/// Returns the cautions about an item's numbers.
pub(super) fn notes(item: &Stock) -> Vec<String> {
    let negative =
        item.on_hand.filter(|left| *left < 0).map(|left| format!("{left} on hand according to the records: recount"));
    let not_told = item
        .changes_not_told
        .filter(|n| *n > 0)
        .map(|n| format!("{} not reported since the count, assumed done in the dates", count(n, "scheduled change")));
    let never = (item.runs_out_on.is_none() && item.on_hand.is_some()).then(|| "lasts more than 400 days".to_owned());
    [negative, not_told, never].into_iter().flatten().collect()
}

/// Formats one item in a line, for a patient's story.
pub(super) fn item_words(item: &Stock) -> String {
    let Some((left, on)) = item.on_hand.zip(item.counted_on) else {
        return format!("{}: never counted", visible(&item.item));
    };
    let runs_out = item.runs_out_on.map(|day| format!(", runs out {day}")).unwrap_or_default();
    let order = match (item.short, item.order_by) {
        (Some(true), Some(day)) => format!(", order now (by {day})"),
        (_, Some(day)) => format!(", order by {day}"),
        _ => String::new(),
    };
    let notes: Vec<String> = notes(item).into_iter().map(|note| format!("; {note}")).collect();
    format!("{}: {left} on hand, counted {on}{runs_out}{order}{}", visible(&item.item), notes.concat())
}
