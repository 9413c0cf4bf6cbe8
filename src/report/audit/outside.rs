//! The audit for outside of the house: no codes, dates, notes or file names; no count of one to four patients, and none
//! from which such a one could be worked out.
//!
//! What is told are counts ([`Told`]), and figures made of counts that are told. The records behind them are
//! pseudonymous, and the program decides what leaves it.
//!
//! Left out on purpose: charts and curves with their days, comparisons and medians of days, since they tell of single
//! patients.

mod gather;

use chrono::Datelike;
use schemars::JsonSchema;
use serde::Serialize;

use self::gather::Counts;
use super::section::{limits, percent, percents, whole};
use super::{Rates, Section};
use crate::audit::{Contribution, Span};
use crate::day::after;
use crate::problem::Failure;
use crate::report::Unusable;
use crate::score::CAUTION;
use crate::surveillance::disclosure::{FEW, left_out};

/// Days between two points of the curve.
const GRID_DAYS: i64 = 30;

/// The audit for outside of the house.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OutsideReport {
    /// `audit`.
    pub command: String,
    /// Always null: no dates.
    pub as_of: Option<String>,
    /// The version of exitsite.
    pub version: String,
    /// What a figure can not say.
    pub caution: String,
    /// The files that could not be used, without their names.
    pub unusable: Vec<Unusable>,
    /// Always true: codes, dates and texts are left out, and people could still be found again.
    pub pseudonymous: bool,
    /// Whole months of the period.
    pub months: u64,
    /// Every count; null where it is left out.
    pub counts: Vec<Told>,
    /// Figures made of counts that are told.
    pub figures: Vec<Figure>,
    /// Freedom from a first infection by some days since the implant.
    pub freedom: Vec<FreeBy>,
}

/// A count.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Told {
    /// What is counted.
    pub name: String,
    /// How many; null where it is left out.
    pub value: Option<u64>,
}

/// A rate or a share with its 95 % limits.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Figure {
    /// What it is.
    pub name: String,
    /// Its value; null where a count that it is made of is left out.
    pub value: Option<f64>,
    /// Lower limit.
    pub low: Option<f64>,
    /// Upper limit.
    pub high: Option<f64>,
}

/// Freedom from a first infection by a day.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FreeBy {
    /// Days since the implant.
    pub day: i64,
    /// The share still free, to two decimals.
    pub survival: f64,
}

impl OutsideReport {
    pub(super) fn of(
        all: &[Contribution],
        span: &Span,
        phases: &[&str],
        unusable: usize,
    ) -> Result<OutsideReport, Failure> {
        // Two periods that nearly overlap could be taken from each other, down to a day; whole years cannot.
        let Some(months) = whole_years(span).map(|years| 12 * years) else {
            return Err(Failure::new(
                "a report for outside of the house is over whole calendar years that are over, so that no two reports tell of less than 12 months; name one with --year",
            ));
        };
        let mut counts = Counts::default();
        let supported = |one: &Contribution| one.stay.days(span.period);
        let patients = counts.add("patients", all.iter().map(|one| u64::from(supported(one) > 0)));
        if counts.cells[patients].patients <= FEW {
            return Err(Failure::new(
                "fewer than 5 patients were under support in this period, so nothing of them may leave the house",
            ));
        }
        let days = counts.add("device-days", all.iter().map(|one| supported(one) as u64));
        let elsewhere =
            counts.add("device-days elsewhere", all.iter().map(|one| one.stay.days_elsewhere(span.period) as u64));
        let not_elsewhere = |one: &Contribution| (supported(one) - one.stay.days_elsewhere(span.period)) as u64;
        counts.rest(days, &[elsewhere], all.iter().map(not_elsewhere));
        let events = gather::infections(&mut counts, all, span.period);
        let firsts = gather::first_infections(&mut counts, all, span.period, patients);
        let shares =
            [gather::changes(&mut counts, all, span.period, phases), gather::found(&mut counts, all, span.period)]
                .concat();
        let traumas = counts.add("pulls", all.iter().map(|one| one.traumas));
        gather::signals(&mut counts, all);
        gather::quality(&mut counts, all);
        let left_out = left_out(&counts.cells, &counts.sums);
        let told = |n: usize| !left_out[n];
        let rate = |name: &str, n: usize| {
            let rate = Rates::of(counts.cells[n].value, counts.cells[days].value as i64).per_1000_device_days;
            let known = told(n) && told(days);
            let figure = Figure { name: name.to_owned(), value: rate.rate, low: rate.low, high: rate.high };
            if known { figure } else { Figure { value: None, low: None, high: None, ..figure } }
        };
        let mut figures =
            vec![rate("infections per 1,000 device-days", events), rate("pulls per 1,000 device-days", traumas)];
        figures.extend(shares.iter().map(|share| share.figure(told(share.part) && told(share.whole))));
        let printed = (0..counts.cells.len()).filter(|n| counts.is_printed[*n]);
        let count = |n: usize| Told { name: counts.names[n].clone(), value: told(n).then_some(counts.cells[n].value) };
        Ok(OutsideReport {
            command: "audit".into(),
            as_of: None,
            version: env!("CARGO_PKG_VERSION").into(),
            caution: CAUTION.into(),
            unusable: vec![nameless(); unusable],
            pseudonymous: true,
            months,
            counts: printed.map(count).collect(),
            figures,
            freedom: if told(firsts) { gather::curve(all, span.period) } else { Vec::new() },
        })
    }
}

/// How many whole calendar years a period is that is over; None if it is none.
fn whole_years(span: &Span) -> Option<u64> {
    let (from, to) = (span.asked.from, span.asked.to);
    let is_whole = span.is_over && from.ordinal() == 1 && after(to).ordinal() == 1;
    is_whole.then(|| (to.year() - from.year() + 1).unsigned_abs().into())
}

fn nameless() -> Unusable {
    Unusable { file: "a file of the records".into(), line: None, message: "cannot be used".into() }
}

fn rounded(value: f64, by: f64) -> f64 {
    (value * by).round() / by
}

/// The same in sections for people.
pub fn outside_sections(report: &OutsideReport) -> Vec<Section> {
    let left_out = report.counts.iter().filter(|count| count.value.is_none()).count();
    let shown =
        |count: &Told| vec![count.name.clone(), count.value.map_or("left out".to_owned(), |value| whole(value as i64))];
    let figure = |figure: &Figure| match figure.name.contains("per 1,000") {
        true => vec![
            figure.name.clone(),
            figure.value.map_or("left out".to_owned(), |value| format!("{value:.2}")),
            limits(figure.low, figure.high, 2),
        ],
        false => vec![
            figure.name.clone(),
            figure.value.map_or("left out".to_owned(), |_| percent(figure.value)),
            percents(figure.low, figure.high),
        ],
    };
    let free = |free: &FreeBy| vec![free.day.to_string(), format!("{:.0} %", free.survival * 100.0)];
    let (counts, figures) = (report.counts.iter().map(shown).collect(), report.figures.iter().map(figure).collect());
    let section = Section::new("Audit for outside of the house");
    let incomplete = match report.unusable.len() {
        0 => section,
        n => section.say(format!(
            "Not complete: {} could not be used, so patients, or what happened to them, may be missing.",
            crate::text::count(n as i64, "file")
        )),
    };
    vec![
        incomplete
            .say(format!(
                "{} months. Codes, dates, notes and file names are left out, and every count of 1 to {FEW} patients with whatever it could be worked out from: {left_out} of {} counts.",
                report.months,
                report.counts.len()
            ))
            .say("The records behind these figures are pseudonymous, not de-identified: who knows a patient may know one again. What leaves the house is the program's decision.")
            .show(&["figure", "value", "95 %"], figures),
        Section::new("Counts").show(&["count", "how many"], counts),
        Section::new("Freedom from a first infection")
            .say(match report.freedom.is_empty() {
                true => "Left out.",
                false => "By days since the implant, where five further patients or more had one.",
            })
            .show(&["day", "free"], report.freedom.iter().map(free).collect()),
    ]
}
