//! The pool as text and as a page: the same sections in both, and the funnel plot on the page.

use maud::{Markup, html};

use super::page::funnel::{self, label, place};
use super::section::p_words;
use crate::report::pool::{Member, PoolReport};
use crate::surveillance::funnel::{Beyond, FunnelLimits};
use crate::text::{count, thousands, visible};
use crate::view::html;
use crate::view::table::{Cell, CellTable};
use crate::view::{TextStyle, hanging, paragraph};

/// The kind of page in its mark.
const KIND: &str = "pool";

/// One part: its title, table and sentences, the main finding first.
struct PoolPart {
    title: &'static str,
    table: Option<CellTable>,
    words: Vec<String>,
}

/// Returns the mark that only such a page begins with.
pub(crate) fn pool_mark() -> String {
    html::mark(KIND)
}

/// Renders the pool as text.
pub(crate) fn pool(report: &PoolReport, look: TextStyle) -> String {
    let mut out = paragraph(look, &report.release) + "\n";
    for (n, words) in not_complete(report).iter().enumerate() {
        out.push_str(&hanging(look, words, if n == 0 { "" } else { "    " }));
    }
    heading(report).iter().for_each(|words| out.push_str(&paragraph(look, words)));
    for part in parts(report) {
        out.push_str(&format!("\n{}\n", part.title.to_uppercase()));
        let (meaning, rest) = part.words.split_at(part.words.len().min(1));
        meaning.iter().for_each(|words| out.push_str(&paragraph(look, words)));
        if let Some(table) = &part.table {
            out.push_str(&format!("\n{}\n", table.text_or_lines(look)));
        }
        rest.iter().for_each(|words| out.push_str(&paragraph(look, words)));
    }
    out.push('\n');
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// Renders the pool as a self-contained HTML page.
pub(crate) fn pool_page(report: &PoolReport) -> String {
    let title = title(report);
    let picture = funnel::picture(report);
    let part = |part: &PoolPart| {
        let is_funnel = part.title == FUNNEL;
        html! {
            section {
                h2 { (part.title) } "\n"
                @for words in part.words.iter().take(1) { p class="meaning" { (words) } "\n" }
                @match (&picture, is_funnel) {
                    (Some(picture), true) => div class="sides" { div { (picture) } div { (figures(part)) } },
                    _ => (figures(part)),
                } "\n"
                @for words in part.words.iter().skip(1) { p { (words) } "\n" }
            }
        }
    };
    let page = html! {
        main {
            p class="release" { (report.release) } "\n"
            h1 { (title) } "\n"
            (warning(report))
            @for words in heading(report).iter().skip(1) { p { (words) } "\n" }
            @for one in parts(report) { (part(&one)) "\n" }
            p class="caution" { (report.caution) } "\n"
        }
    };
    let style = html::running_head(&format!("{title} · {}", report.release));
    html::page(KIND, &title, &(include_str!("page.css").to_owned() + &style), page)
}

const FUNNEL: &str = "Funnel";

fn figures(part: &PoolPart) -> Markup {
    html! { @if let Some(table) = &part.table { (table.scrolling(&part.title.to_lowercase())) "\n" } }
}

fn warning(report: &PoolReport) -> Markup {
    let words = not_complete(report);
    html! {
        @if let Some((first, rest)) = words.split_first() {
            div class="warn" { b { (first) } ul { @for one in rest { li { (one.trim()) } } } } "\n"
        }
    }
}

/// Returns "group" for the groups of one program, else "program".
fn kind(report: &PoolReport) -> &'static str {
    if report.groups_of.is_some() { "group" } else { "program" }
}

fn title(report: &PoolReport) -> String {
    let members = count(report.members.len() as i64, kind(report));
    match (&report.groups_of, &report.by) {
        (Some(program), Some(by)) => {
            format!("{} in {}: {members}, by {}", visible(program), report.year, visible(by))
        }
        _ => format!("Exit-site infections in {}: comparison of {members}", report.year),
    }
}

/// Lists the reports that were incomplete when issued.
fn not_complete(report: &PoolReport) -> Vec<String> {
    if report.unusable.is_empty() {
        return Vec::new();
    }
    let first = "Incomplete: these reports were issued without all of their records, so infections may be missing.";
    let each = report.unusable.iter().map(|one| format!("  {}: {}", visible(&one.file), visible(&one.message)));
    [first.to_owned()].into_iter().chain(each).collect()
}

fn heading(report: &PoolReport) -> Vec<String> {
    let (pooled, rate) = (&report.pooled, &report.pooled.per_1000_device_days);
    let mut words = vec![title(report)];
    words.push(format!(
        "{} in {} device-days: {:.2} per 1,000 (95 % limits {} if all share one rate).{}",
        count(pooled.events as i64, "infection"),
        thousands(pooled.device_days),
        rate.rate.unwrap_or_default(),
        Cell::Limits(rate.low, rate.high, 2),
        if report.spread.low.is_some_and(|low| low > 0.0) {
            " They differ by more than chance (see Variation), so these limits around one shared rate are too narrow."
        } else {
            ""
        }
    ));
    let definitions = distinct(report, |one| one.source.case_definition.clone().unwrap_or("not known".into()));
    if definitions.len() > 1 {
        words.push(format!(
            "The case definitions differ, so part of a difference may be due to the definition: {}.",
            definitions.join("; ")
        ));
    }
    let versions = distinct(report, |one| one.source.made_by.clone());
    if versions.len() > 1 {
        words.push(format!("Issued by different versions of exitsite: {}.", versions.join(", ")));
    }
    let rounded: Vec<String> = numbered(report, |one| one.source.is_external);
    if !rounded.is_empty() {
        words.push(format!(
            "External reports, with device-days rounded to three significant figures and rates to match: {}.",
            rounded.join(", ")
        ));
    }
    words
}

/// Returns the distinct values of the members, in order, each with the members that have it.
fn distinct(report: &PoolReport, value: impl Fn(&Member) -> String) -> Vec<String> {
    let mut values: Vec<String> = Vec::new();
    for value in report.members.iter().map(value).map(|value| visible(&value)) {
        if !values.contains(&value) {
            values.push(value);
        }
    }
    values
}

/// Lists the members that satisfy a condition, by number and name.
fn numbered(report: &PoolReport, holds: impl Fn(&Member) -> bool) -> Vec<String> {
    let each = report.members.iter().enumerate().filter(|(_, one)| holds(one));
    each.map(|(n, one)| label(n, one)).collect()
}

fn parts(report: &PoolReport) -> Vec<PoolPart> {
    match report.pooled.events {
        0 => vec![rates(report)],
        _ => vec![rates(report), funnel_part(report), spread(report)],
    }
}

fn table(report: &PoolReport, headings: &[&str], cells: impl Fn(&Member) -> Vec<Cell>) -> CellTable {
    let headings = [&[kind(report)], headings].concat();
    let row = |(n, one): (usize, &Member)| [vec![Cell::text(label(n, one))], cells(one)].concat();
    CellTable::of(&headings, report.members.iter().enumerate().map(row))
}

fn rates(report: &PoolReport) -> PoolPart {
    let cells = |one: &Member| {
        let rate = &one.per_1000_device_days;
        vec![
            one.patients.map_or(Cell::text("1 to 4"), Cell::count),
            Cell::count(one.events),
            Cell::Count(one.device_days),
            Cell::number(rate.rate, 2),
            Cell::Limits(rate.low, rate.high, 2),
        ]
    };
    let mut words = vec![format!(
        "The reported rate of each {}, in alphabetical order: a ranking would be mostly chance.",
        kind(report)
    )];
    if report.pooled.events == 0 {
        words.push(format!(
            "No infection in any of them, so there is no funnel plot, no between-member variation and no shrunken rate. The limits above show how high each rate may still be; the upper limit of the pooled rate is {:.2} per 1,000.",
            report.pooled.per_1000_device_days.high.unwrap_or_default()
        ));
    }
    words.push(
        "Infections: proven or probable, by onset, excluding recurrences. Limits: exact Poisson, 95 %.".to_owned(),
    );
    let headings = ["patients", "infections", "device-days", "per 1,000", "95 % exact"];
    PoolPart { title: "Rates", table: Some(table(report, &headings, cells)), words }
}

fn funnel_part(report: &PoolReport) -> PoolPart {
    let limits = |limits: &FunnelLimits| Cell::Limits(limits.low, limits.high, 2);
    let cells = |one: &Member| {
        vec![
            Cell::number(one.per_1000_device_days.rate, 2),
            Cell::Number(one.expected, 1),
            limits(&one.funnel.inner),
            limits(&one.funnel.outer),
            Cell::text(place(one)),
        ]
    };
    let named = |side: fn(&Member) -> Option<Beyond>| -> Vec<String> {
        let each = report.members.iter().enumerate();
        each.filter_map(|(n, one)| Some(format!("{} ({})", label(n, one), side(one)?))).collect()
    };
    let (outer, inner) = (named(|one| one.beyond), named(|one| one.beyond_95));
    let (all, kind) = (report.members.len(), kind(report));
    let outer = match outer.is_empty() {
        true => format!("None of the {all} {kind}s is beyond the 99.8 % limits around the pooled rate."),
        false => format!("Beyond the 99.8 % limits around the pooled rate: {}.", outer.join(", ")),
    };
    let inner = match inner.is_empty() {
        true => String::new(),
        false => format!(": {}", inner.join(", ")),
    };
    let meaning = format!(
        "{outer} Beyond the 95 % limits: {} of {all} (up to {:.1} expected by chance){inner}.",
        report.beyond_95, report.beyond_95_by_chance
    );
    let headings = ["per 1,000", "expected", "95 % around pooled", "99.8 %", "place"];
    PoolPart {
        title: FUNNEL,
        table: Some(table(report, &headings, cells)),
        words: vec![
            meaning,
            format!(
                "If all had the pooled rate, a {kind} would be beyond the 99.8 % limits in at most 2 of 1,000 years, and up to {:.1} of these {all} would be beyond the 95 % limits each year. A {kind} beyond the limits is a reason to compare case finding, patients and records first; it is not a finding about care.",
                report.beyond_95_by_chance
            ),
            "Limits: exact Poisson tails around the pooled rate, which includes each one's own infections (Spiegelhalter DJ, Stat Med 2005;24:1185). Expected: infections at the pooled rate.".to_owned(),
        ],
    }
}

/// The test of one shared rate.
fn one_rate(report: &PoolReport) -> String {
    let test = &report.heterogeneity;
    let (Some(chi), Some(df)) = (test.chi_square, test.df) else { return String::new() };
    let p = test.p.map_or_else(|| format!("no p, since a {} expects under 5 infections", kind(report)), p_words);
    format!("Test of one shared rate: chi-square {chi:.2}, {df} df, {p}.")
}

fn spread(report: &PoolReport) -> PoolPart {
    let (spread, kind) = (&report.spread, kind(report));
    let cells = |one: &Member| {
        let drawn = &one.shrunken;
        vec![
            Cell::number(one.per_1000_device_days.rate, 2),
            Cell::number(drawn.rate, 2),
            Cell::Limits(drawn.low, drawn.high, 2),
            Cell::share(drawn.own_weight, 0),
        ]
    };
    let value = spread.coefficient_of_variation.unwrap_or_default();
    let limits = match spread.high {
        Some(high) => format!("95 % limits {:.2} to {high:.2}", spread.low.unwrap_or_default()),
        None => format!("95 % limits {:.2} to more than 5", spread.low.unwrap_or_default()),
    };
    let meaning = match value > 0.0 {
        true => format!(
            "The between-{kind} standard deviation of the rate is {value:.2} of its mean ({limits}){}.",
            match spread.programs_low.zip(spread.programs_high) {
                Some((low, high)) =>
                    format!("; 95 of 100 such {kind}s would have a rate between {low:.2} and {high:.2} per 1,000"),
                None => String::new(),
            }
        ),
        false => format!(
            "No variation beyond chance was found: the estimated between-{kind} standard deviation is 0.00 of the mean rate ({limits}). Variation within these limits is not excluded."
        ),
    };
    let also = match spread.low {
        Some(low) if low == 0.0 && value > 0.0 => {
            "0 is within these limits: chance alone may explain the variation.".to_owned()
        }
        Some(low) if low > 0.0 => "0 is outside these limits: limits around one shared rate are too narrow.".to_owned(),
        _ => String::new(),
    };
    let method = "Shrunken rate (empirical Bayes): each rate is shrunken toward the overall mean, more so the fewer its infections; own weight is the weight of its own rate (gamma–Poisson, marginal maximum likelihood). Limits of the standard deviation: profile likelihood. 95 % credible limits of shrunken rates: all means, and all standard deviations up to twice the mean, weighted by likelihood; they are wide if there are few to compare.";
    let words = [meaning, also, one_rate(report), method.to_owned()];
    PoolPart {
        title: "Variation",
        table: Some(table(report, &["own rate", "shrunken rate", "95 % credible", "own weight"], cells)),
        words: words.into_iter().filter(|words| !words.is_empty()).collect(),
    }
}
