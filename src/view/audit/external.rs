//! The external report as text and as a page: one table, and how its figures are made.

use super::figures;
use super::page::tables;
use crate::report::audit::{Count, Events, ExternalFigures, ExternalReport, FEWEST, RELEASE, Sheet};
use crate::text::visible;
use crate::view::html::{self, Markup};
use crate::view::{Look, paragraph};

/// The kind of page, by which one of ours is known again: a page that stays inside is never replaced by one.
const KIND: &str = "external audit";

/// The beginning of such a page and of no other file.
pub fn external_mark() -> String {
    html::mark(KIND)
}

/// The external report as text.
pub fn audit_external(report: &ExternalReport, look: Look) -> String {
    let body = &report.figures;
    let mut out = format!("{RELEASE}\n\n");
    heading(body).iter().for_each(|words| out.push_str(&paragraph(look, words)));
    out.push('\n');
    out.push_str(&figures(&sheet(body), look));
    out.push('\n');
    method(body).iter().for_each(|words| out.push_str(&paragraph(look, words)));
    out.push('\n');
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// The external report as a page: one file, its style inside, nothing fetched from anywhere.
pub fn external_page(report: &ExternalReport) -> String {
    let body = &report.figures;
    let said = |words: Vec<String>| words.into_iter().map(|words| Markup::of("p", "", words));
    let mut parts = vec![Markup::of("p", "release", RELEASE), Markup::of("h1", "", title(body))];
    parts.extend(said(heading(body).split_off(1)));
    parts.extend(tables::tables(&[sheet(body)]).0);
    parts.extend(said(method(body)));
    parts.push(Markup::of("p", "caution", &report.caution));
    html::page(
        KIND,
        &title(body),
        include_str!("page.css"),
        [Markup::element("main", &[], parts.into_iter().map(Markup::on_a_line)).on_a_line()],
    )
}

fn title(body: &ExternalFigures) -> String {
    format!("Exit-site audit {}, {}", body.year, visible(&body.program))
}

fn heading(body: &ExternalFigures) -> Vec<String> {
    let mut words = vec![title(body)];
    if !body.is_complete {
        words.push(
            "Not complete: a file of the records cannot be read, so patients or events may be missing.".to_owned(),
        );
    }
    words
}

fn sheet(body: &ExternalFigures) -> Sheet {
    let row = |name: &str, value: Option<String>, limits: String| {
        vec![name.to_owned(), value.unwrap_or_else(|| "not given".to_owned()), limits]
    };
    let plain = |name: &str, value: Option<String>| row(name, value, String::new());
    let rate = |name: &str, events: &Events| {
        let told = events.per_1000_device_days;
        let limits = told.map_or(String::new(), |rate| format!("{:.2} to {:.2}", rate.low, rate.high));
        row(&format!("{name} per 1,000 device-days"), told.map(|rate| format!("{:.2}", rate.rate)), limits)
    };
    let percent = |name: &str, share: Option<u8>| plain(name, share.map(|share| format!("{share} %")));
    let shares = &body.percent;
    Sheet {
        heads: ["figure", "value", "95 % limits"].map(str::to_owned).to_vec(),
        rows: vec![
            plain("patients under support", Some(count(body.patients))),
            plain("device-days", body.device_days.map(crate::text::thousands)),
            plain("infections", body.infections.count.map(count)),
            rate("infections", &body.infections),
            plain("pulls on the line", body.pulls.count.map(count)),
            rate("pulls", &body.pulls),
            percent("days in date", shares.days_in_date),
            percent("changes on time", shares.changes_on_time),
            percent("showers followed by a change in time", shares.showers_followed),
            percent("anchor found in place", shares.anchor_in_place),
            percent("dressing found intact", shares.dressing_intact),
        ],
    }
}

fn count(count: Count) -> String {
    match count {
        Count::Exact(count) => crate::text::thousands(count as i64),
        Count::Few(few) => few.to_string(),
    }
}

fn method(body: &ExternalFigures) -> Vec<String> {
    let definition = body.case_definition.as_deref().map_or("not known".to_owned(), visible);
    vec![
        format!(
            "Infections: proven or probable, by onset, recurrences apart. Case definition: {definition}. Rates: exact Poisson limits."
        ),
        format!(
            "1 to 4 is any count from 1 to 4; with 1 to 4 patients nothing else is given. Device-days are rounded to three figures, and rates use the rounded number. A rate is given from {FEWEST} events. A share is given if {FEWEST} patients, {FEWEST} counted and {FEWEST} others or more are behind it."
        ),
        "Give out one report of a year: two reports of one year, before and after a correction, show what was corrected."
            .to_owned(),
    ]
}
