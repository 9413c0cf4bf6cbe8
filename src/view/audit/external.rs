//! The external report as text and as a page: one table, and the rules for its figures.

use maud::html;

use crate::report::audit::{Count, Events, ExternalFigures, ExternalReport, FEWEST, RELEASE};
use crate::text::visible;
use crate::view::html;
use crate::view::table::{Cell, CellTable};
use crate::view::{TextStyle, paragraph};

/// The kind of page in its mark, so that an external page never overwrites an internal one.
const KIND: &str = "external audit";

/// Returns the mark that only such a page begins with.
pub(crate) fn external_mark() -> String {
    html::mark(KIND)
}

/// Renders the external report as text.
pub(crate) fn audit_external(report: &ExternalReport, look: TextStyle) -> String {
    let body = &report.figures;
    let mut out = format!("{RELEASE}\n\n");
    heading(body).iter().for_each(|words| out.push_str(&paragraph(look, words)));
    out.push('\n');
    out.push_str(&figures(body).text_or_lines(look));
    out.push('\n');
    method(body).iter().for_each(|words| out.push_str(&paragraph(look, words)));
    out.push('\n');
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// Renders the external report as a self-contained HTML page.
pub(crate) fn external_page(report: &ExternalReport) -> String {
    let body = &report.figures;
    let page = html! {
        main {
            p class="release" { (RELEASE) } "\n"
            h1 { (title(body)) } "\n"
            @for words in heading(body).iter().skip(1) { p { (words) } "\n" }
            (figures(body).scrolling("figures of the year")) "\n"
            @for words in method(body) { p { (words) } "\n" }
            p class="caution" { (report.caution) } "\n"
        }
    };
    let style = html::running_head(&format!("{} · {RELEASE}", title(body)));
    html::page(KIND, &title(body), &(include_str!("page.css").to_owned() + &style), page)
}

fn title(body: &ExternalFigures) -> String {
    format!("Exit-site audit {}, {}", body.year, visible(&body.program))
}

fn heading(body: &ExternalFigures) -> Vec<String> {
    let mut words = vec![title(body)];
    if !body.is_complete {
        words
            .push("Incomplete: a file of the records cannot be read, so patients or events may be missing.".to_owned());
    }
    words
}

fn figures(body: &ExternalFigures) -> CellTable {
    let plain = |name: &str, value: Option<Cell>| {
        vec![Cell::text(name), value.unwrap_or_else(|| Cell::text("suppressed")), Cell::Empty]
    };
    let rate = |name: &str, events: &Events| {
        let known = events.per_1000_device_days;
        let mut row = plain(&format!("{name} per 1,000 device-days"), known.map(|rate| Cell::Number(rate.rate, 2)));
        row[2] = known.map_or(Cell::Empty, |rate| Cell::Limits(Some(rate.low), Some(rate.high), 2));
        row
    };
    let percent =
        |name: &str, share: Option<u8>| plain(name, share.map(|share| Cell::Share(f64::from(share) / 100.0, 0)));
    let shares = &body.percent;
    // The bounds are of use only where they are given.
    let bound = |name: &str, share: Option<u8>| share.map(|_| percent(name, share));
    let rows = [
        Some(plain("patients under support", Some(count(body.patients)))),
        Some(plain("device-days", body.device_days.map(Cell::Count))),
        Some(plain("infections", body.infections.count.map(count))),
        Some(rate("infections", &body.infections)),
        Some(plain("line pulls", body.pulls.count.map(count))),
        Some(rate("line pulls", &body.pulls)),
        Some(percent("exit-site-days with dressing current", shares.days_in_date)),
        Some(percent("changes on time", shares.changes_on_time)),
        Some(percent("showers followed by a timely change", shares.showers_followed)),
        bound("  if none of the unknown were", shares.showers_followed_at_least),
        bound("  if all of the unknown were", shares.showers_followed_at_most),
        Some(percent("anchor found in place", shares.anchor_in_place)),
        Some(percent("dressing found intact", shares.dressing_intact)),
    ];
    CellTable::of(&["figure", "value", "95 % limits"], rows.into_iter().flatten())
}

fn count(count: Count) -> Cell {
    match count {
        Count::Exact(count) => Cell::count(count),
        Count::Few(few) => Cell::Figure(few.to_string()),
    }
}

fn method(body: &ExternalFigures) -> Vec<String> {
    let definition = body.case_definition.as_deref().map_or("not known".to_owned(), visible);
    vec![
        format!(
            "Infections: proven or probable, by onset, excluding recurrences. Case definition: {definition}. Rates: exact Poisson limits."
        ),
        format!(
            "Counts of 1 to 4 are suppressed; with 1 to 4 patients all other figures are suppressed. Device-days are rounded to three significant figures, and rates use the rounded number. A rate requires at least {FEWEST} events. A proportion requires at least {FEWEST} patients, {FEWEST} in the numerator and {FEWEST} outside it."
        ),
        "Release only one report per year: two reports of the same year, before and after a correction, reveal the correction."
            .to_owned(),
    ]
}
