//! The audit for outside of the house: no codes, dates, notes or file names; no count of one to four patients, and none
//! from which such a one could be worked out.
//!
//! What is told are counts ([`Told`]), and figures made of counts that are told. The records behind them are
//! pseudonymous, and the program decides what leaves it.
//!
//! Left out on purpose: charts and curves with their days, comparisons and medians of days, since they tell of single
//! patients.

use chrono::Months;
use schemars::JsonSchema;
use serde::Serialize;

use super::changes::sum;
use super::section::{percent, percents, whole};
use super::{Rates, Section};
use crate::audit::{Care, Contribution, Infection, Span};
use crate::day::{Period, after};
use crate::event::{Certainty, Part};
use crate::problem::Failure;
use crate::report::Unusable;
use crate::schedule::Outcome;
use crate::score::CAUTION;
use crate::surveillance::disclosure::{Cell, FEW, Sum, left_out};
use crate::surveillance::freedom::freedom;
use crate::surveillance::share::{Counted, Share};
use crate::surveillance::spell::{End, Spell};
use crate::word::Word;

/// Days between two points of the curve.
const GRID_DAYS: i64 = 30;
/// The least months of a report for outside.
const LEAST_MONTHS: u32 = 12;

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

/// The counts while they are gathered, with what adds up to what.
#[derive(Default)]
struct Counts {
    names: Vec<String>,
    is_printed: Vec<bool>,
    cells: Vec<Cell>,
    sums: Vec<Sum>,
}

impl Counts {
    /// A count over patients; its place.
    fn add(&mut self, name: impl Into<String>, of_each: impl Iterator<Item = u64>) -> usize {
        let cell = of_each.fold(Cell { value: 0, patients: 0 }, |cell, one| Cell {
            value: cell.value + one,
            patients: cell.patients + u64::from(one > 0),
        });
        self.names.push(name.into());
        self.is_printed.push(true);
        self.cells.push(cell);
        self.cells.len() - 1
    }

    /// What a total holds beside these parts: not printed, since everybody could take it away.
    fn rest(&mut self, total: usize, parts: &[usize], of_each: impl Iterator<Item = u64>) {
        let rest = self.add("", of_each);
        self.is_printed[rest] = false;
        self.adds_up(total, [parts, &[rest]].concat());
    }

    fn adds_up(&mut self, total: usize, parts: Vec<usize>) {
        self.sums.push(Sum { total, parts });
    }
}

impl OutsideReport {
    pub(super) fn of(
        all: &[Contribution],
        span: &Span,
        phases: &[&str],
        unusable: usize,
    ) -> Result<OutsideReport, Failure> {
        let months = whole_months(span.period);
        if months < LEAST_MONTHS {
            return Err(Failure::new(
                "a report for outside of the house is over 12 months or more that are over; name a longer period, such as --year",
            ));
        }
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
        let events = infections(&mut counts, all, span.period);
        let firsts = first_infections(&mut counts, all, span.period);
        let shares = [changes(&mut counts, all, span.period, phases), found(&mut counts, all, span.period)].concat();
        let traumas = counts.add("pulls", all.iter().map(|one| one.traumas));
        signals(&mut counts, all);
        quality(&mut counts, all);
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
            months: u64::from(months),
            counts: printed.map(count).collect(),
            figures,
            freedom: if told(firsts) { curve(all, span.period) } else { Vec::new() },
        })
    }
}

/// Whole months of a period.
fn whole_months(period: Period) -> u32 {
    let end = after(period.to);
    (1..)
        .take_while(|n| period.from.checked_add_months(Months::new(*n)).is_some_and(|day| day <= end))
        .last()
        .unwrap_or(0)
}

fn nameless() -> Unusable {
    Unusable { file: "a file of the records".into(), line: None, message: "cannot be used".into() }
}

/// Determinations; the place of the events.
fn infections(counts: &mut Counts, all: &[Contribution], period: Period) -> usize {
    let count = |one: &Contribution, is_so: &dyn Fn(&Infection) -> bool| {
        let inside = |infection: &&Infection| period.contains(infection.onset) && one.stay.holds(infection.onset);
        one.infections.iter().filter(inside).filter(|infection| is_so(infection)).count() as u64
    };
    let events = counts.add("infections", all.iter().map(|one| count(one, &Infection::is_event)));
    counts.add("patients infected", all.iter().map(|one| u64::from(count(one, &Infection::is_event) > 0)));
    let mut parts = Vec::new();
    for part in Part::ALL {
        let is_so = |infection: &Infection| infection.is_event() && infection.part == *part;
        parts.push(counts.add(format!("infections: {}", part.word()), all.iter().map(|one| count(one, &is_so))));
    }
    counts.adds_up(events, parts);
    let certainties = [Certainty::Proven, Certainty::Probable].map(|certainty| {
        let is_so = move |infection: &Infection| infection.is_event() && infection.certainty == certainty;
        counts.add(format!("infections: {certainty}"), all.iter().map(|one| count(one, &is_so)))
    });
    counts.adds_up(events, certainties.to_vec());
    counts.add("possible infections", all.iter().map(|one| count(one, &|infection| !infection.is_certain())));
    let came_back = |infection: &Infection| infection.is_certain() && infection.is_recurrence;
    counts.add("recurrences", all.iter().map(|one| count(one, &came_back)));
    events
}

/// How the time to a first infection ended; the place of the infections.
fn first_infections(counts: &mut Counts, all: &[Contribution], period: Period) -> usize {
    let spell = |one: &Contribution| one.stay.spell(one.first_onset(), period.to);
    let n = counts.add("followed to a first infection", all.iter().map(|one| u64::from(spell(one).is_some())));
    let ends = [
        ("first infection", End::Infection),
        ("death without one", End::Death),
        ("transplant without one", End::Transplant),
        ("recovery without one", End::Recovery),
        ("none of these yet", End::Censored),
    ];
    let ended = |one: &Contribution, end| u64::from(spell(one).is_some_and(|spell| spell.end == end));
    let parts = ends.map(|(name, end)| counts.add(name, all.iter().map(|one| ended(one, end))));
    counts.adds_up(n, parts.to_vec());
    parts[0]
}

/// Freedom on days of a grid, each with five further infections or more since the one before, and five or none behind
/// the last.
fn curve(all: &[Contribution], period: Period) -> Vec<FreeBy> {
    let spells: Vec<Spell> = all.iter().filter_map(|one| one.stay.spell(one.first_onset(), period.to)).collect();
    let steps = freedom(&spells).steps;
    let total: u64 = steps.iter().map(|step| step.events).sum();
    let last = steps.last().map_or(0, |step| step.day);
    let (mut told, mut by_then) = (Vec::new(), 0);
    for day in (1..=last / GRID_DAYS).map(|n| n * GRID_DAYS) {
        let events: u64 = steps.iter().filter(|step| step.day <= day).map(|step| step.events).sum();
        let is_few = |n: u64| n <= FEW;
        if !is_few(events - by_then) && (total == events || !is_few(total - events)) {
            by_then = events;
            let survival = steps.iter().rev().find(|step| step.day <= day).map_or(1.0, |step| step.survival);
            told.push(FreeBy { day, survival: rounded(survival, 100.0) });
        }
    }
    told
}

/// A share whose counts are told or left out.
#[derive(Debug, Clone)]
struct Shared {
    name: String,
    part: usize,
    whole: usize,
    share: Share,
}

impl Shared {
    fn figure(&self, is_told: bool) -> Figure {
        let known = |value: Option<f64>| value.filter(|_| is_told).map(|value| rounded(value, 1000.0));
        let share = &self.share;
        Figure {
            name: self.name.clone(),
            value: known(share.value),
            low: known(share.clustered_low),
            high: known(share.clustered_high),
        }
    }
}

fn rounded(value: f64, by: f64) -> f64 {
    (value * by).round() / by
}

/// Expected changes and days in date, in all and by phase.
fn changes(counts: &mut Counts, all: &[Contribution], period: Period, phases: &[&str]) -> Vec<Shared> {
    let of_care = |count: &dyn Fn(&Care) -> u64| -> Vec<u64> {
        all.iter().map(|one| one.care.as_ref().map_or(0, count)).collect()
    };
    let outcomes = [Outcome::OnTime, Outcome::Late, Outcome::Missed, Outcome::Unreported];
    let count = |outcome: Outcome, is_in: &dyn Fn(&str) -> bool| {
        of_care(&|care| {
            let is_counted =
                |one: &&crate::audit::Expected| period.contains(one.day) && is_in(&one.phase) && one.outcome == outcome;
            care.expected.iter().filter(is_counted).count() as u64
        })
    };
    let mut phases: Vec<&str> = phases.to_vec();
    phases.sort();
    phases.dedup();
    let mut names = phases.clone();
    names.extend((!phases.contains(&"order")).then_some("order"));
    let mut totals = Vec::new();
    for outcome in outcomes {
        let total = counts.add(format!("changes {outcome}"), count(outcome, &|_| true).into_iter());
        let add = |name: &&str| {
            counts.add(format!("changes {outcome}, phase {name}"), count(outcome, &|phase| phase == *name).into_iter())
        };
        let parts = names.iter().map(add).collect();
        counts.adds_up(total, parts);
        totals.push(total);
    }
    let expected = of_care(&|care| {
        let is_counted = |one: &&crate::audit::Expected| {
            period.contains(one.day) && matches!(one.outcome, Outcome::OnTime | Outcome::Late | Outcome::Missed)
        };
        care.expected.iter().filter(is_counted).count() as u64
    });
    let expected = counts.add("changes expected", expected.into_iter());
    counts.adds_up(expected, totals[..3].to_vec());
    let mut shares = vec![dated(counts, all, period, "days in date".to_owned(), &|_| true)];
    for name in &names {
        shares.push(dated(counts, all, period, format!("days in date, phase {name}"), &|phase| phase == *name));
    }
    for n in [0, 1] {
        let place = |share: &Shared| if n == 0 { share.whole } else { share.part };
        let parts = shares[1..].iter().map(place).collect();
        counts.adds_up(place(&shares[0]), parts);
    }
    shares
}

/// Days in date of some phases.
fn dated(
    counts: &mut Counts,
    all: &[Contribution],
    period: Period,
    name: String,
    is_in: &dyn Fn(&str) -> bool,
) -> Shared {
    let counted = |one: &Contribution| {
        one.care.as_ref().map_or(Counted::default(), |care| sum(&care.days_in_date(period), is_in))
    };
    shared(counts, name, "covered days", all.iter().map(counted).collect())
}

/// A share with its two counts, and what is left of the whole.
fn shared(counts: &mut Counts, name: String, of: &str, patients: Vec<Counted>) -> Shared {
    let whole = counts.add(format!("{name}: {of}"), patients.iter().map(|one| one.whole));
    let part = counts.add(name.clone(), patients.iter().map(|one| one.part));
    counts.rest(whole, &[part], patients.iter().map(|one| one.whole - one.part));
    Shared { name, part, whole, share: Share::of(&patients) }
}

/// Showers followed, and what changes found.
fn found(counts: &mut Counts, all: &[Contribution], period: Period) -> Vec<Shared> {
    let of = |count: &dyn Fn(&Care) -> Counted| -> Vec<Counted> {
        all.iter().map(|one| one.care.as_ref().map_or(Counted::default(), count)).collect()
    };
    let showers = of(&|care| sum(&care.showers_followed(period).0, |_| true));
    let anchors = of(&|care| sum(&care.found(period, |found| found.anchor).0, |_| true));
    let dressings = of(&|care| sum(&care.found(period, |found| found.dressing).0, |_| true));
    vec![
        shared(counts, "showers followed in time".to_owned(), "known", showers),
        shared(counts, "anchor found in place".to_owned(), "known", anchors),
        shared(counts, "dressing found intact".to_owned(), "known", dressings),
    ]
}

/// Signals, and those without an answer.
fn signals(counts: &mut Counts, all: &[Contribution]) {
    let of = |is_so: &dyn Fn(&crate::signal::Episode) -> bool| -> Vec<u64> {
        let count = |one: &Contribution| one.episodes.iter().flatten().filter(|episode| is_so(episode)).count() as u64;
        all.iter().map(count).collect()
    };
    let episodes = counts.add("signals", of(&|_| true).into_iter());
    let unanswered = counts.add("signals without an answer", of(&|episode| episode.answer.is_none()).into_iter());
    counts.rest(episodes, &[unanswered], of(&|episode| episode.answer.is_some()).into_iter());
    let mut parts = Vec::new();
    for signal in crate::event::About::ALL {
        let named = of(&|episode| episode.signal == *signal);
        if named.iter().any(|count| *count > 0) {
            parts.push(counts.add(format!("signals: {signal}"), named.into_iter()));
        }
    }
    counts.adds_up(episodes, parts);
}

/// How well the records are kept.
fn quality(counts: &mut Counts, all: &[Contribution]) {
    let events = counts.add("records", all.iter().map(|one| one.quality.events));
    let subsets: [(&str, fn(&crate::audit::Quality) -> u64); 4] = [
        ("records entered late", |quality| quality.late_entries),
        ("records amended", |quality| quality.amended),
        ("records with only the day known", |quality| quality.times_unknown),
        ("scores with an item not looked at", |quality| quality.incomplete_scores),
    ];
    for (name, count) in subsets {
        let part = counts.add(name, all.iter().map(|one| count(&one.quality)));
        counts.rest(events, &[part], all.iter().map(|one| one.quality.events - count(&one.quality)));
    }
    counts.add("records voided", all.iter().map(|one| one.quality.voided));
    counts.add("patient-days nobody has told of", all.iter().map(|one| one.quality.days_not_covered));
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
            super::section::limits(figure.low, figure.high, 2),
        ],
        false => vec![
            figure.name.clone(),
            figure.value.map_or("left out".to_owned(), |_| percent(figure.value)),
            percents(figure.low, figure.high),
        ],
    };
    let free = |free: &FreeBy| vec![free.day.to_string(), format!("{:.0} %", free.survival * 100.0)];
    let (counts, figures) = (report.counts.iter().map(shown).collect(), report.figures.iter().map(figure).collect());
    vec![
        Section::new("Audit for outside of the house")
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
