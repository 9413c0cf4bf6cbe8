//! The counts of a report for outside, with the patients behind each and what adds up to what.

use super::{FreeBy, GRID_DAYS, rounded};
use crate::audit::{Care, Contribution, Expected, Infection, Quality};
use crate::day::Period;
use crate::event::{About, Certainty, Part};
use crate::report::audit::changes::sum;
use crate::report::audit::outside::Figure;
use crate::schedule::Outcome;
use crate::signal::Episode;
use crate::surveillance::disclosure::{Cell, FEW, Sum};
use crate::surveillance::freedom::freedom;
use crate::surveillance::share::{Counted, Share};
use crate::surveillance::spell::{End, Spell};
use crate::word::Word;

/// The counts while they are gathered, with what adds up to what.
#[derive(Default)]
pub(super) struct Counts {
    pub(super) names: Vec<String>,
    pub(super) is_printed: Vec<bool>,
    pub(super) cells: Vec<Cell>,
    pub(super) sums: Vec<Sum>,
}

impl Counts {
    /// A count over patients; its place.
    pub(super) fn add(&mut self, name: impl Into<String>, of_each: impl Iterator<Item = u64>) -> usize {
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
    pub(super) fn rest(&mut self, total: usize, parts: &[usize], of_each: impl Iterator<Item = u64>) {
        let rest = self.add("", of_each);
        self.is_printed[rest] = false;
        self.adds_up(total, [parts, &[rest]].concat());
    }

    pub(super) fn adds_up(&mut self, total: usize, parts: Vec<usize>) {
        self.sums.push(Sum { total, parts });
    }
}

/// Determinations; the place of the events.
pub(super) fn infections(counts: &mut Counts, all: &[Contribution], period: Period) -> usize {
    let count = |one: &Contribution, is_so: &dyn Fn(&Infection) -> bool| {
        let inside = |infection: &&Infection| period.contains(infection.onset) && one.stay.holds(infection.onset);
        one.infections.iter().filter(inside).filter(|infection| is_so(infection)).count() as u64
    };
    let events = counts.add("infections", all.iter().map(|one| count(one, &Infection::is_event)));
    let infected =
        counts.add("patients infected", all.iter().map(|one| u64::from(count(one, &Infection::is_event) > 0)));
    counts.rest(events, &[infected], all.iter().map(|one| count(one, &Infection::is_event).saturating_sub(1)));
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
pub(super) fn first_infections(counts: &mut Counts, all: &[Contribution], period: Period, patients: usize) -> usize {
    let spell = |one: &Contribution| one.spell(period.to);
    let is_followed = |one: &Contribution| spell(one).is_some();
    let is_supported = |one: &Contribution| one.stay.days(period) > 0;
    let n = counts.add("followed to a first infection", all.iter().map(|one| u64::from(is_followed(one))));
    // Who is followed and who was under support in the period differ by few: what one count tells of the other.
    let both = counts.add("", all.iter().map(|one| u64::from(is_followed(one) && is_supported(one))));
    counts.is_printed[both] = false;
    counts.rest(patients, &[both], all.iter().map(|one| u64::from(!is_followed(one) && is_supported(one))));
    counts.rest(n, &[both], all.iter().map(|one| u64::from(is_followed(one) && !is_supported(one))));
    let ends = [
        ("first infection", End::Infection),
        ("death without one", End::Death),
        ("transplant without one", End::Transplant),
        ("recovery without one", End::Recovery),
        ("left otherwise, or none of these yet", End::Censored),
    ];
    let ended = |one: &Contribution, end| u64::from(spell(one).is_some_and(|spell| spell.end == end));
    let parts = ends.map(|(name, end)| counts.add(name, all.iter().map(|one| ended(one, end))));
    counts.adds_up(n, parts.to_vec());
    parts[0]
}

/// Freedom on days of a grid, each with five further infections or more since the one before, and five or none behind
/// the last.
pub(super) fn curve(all: &[Contribution], period: Period) -> Vec<FreeBy> {
    let spells: Vec<Spell> = all.iter().filter_map(|one| one.spell(period.to)).collect();
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
pub(super) struct Shared {
    name: String,
    pub(super) part: usize,
    pub(super) whole: usize,
    share: Share,
}

impl Shared {
    pub(super) fn figure(&self, is_told: bool) -> Figure {
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

/// Expected changes and days in date, in all and by phase.
pub(super) fn changes(counts: &mut Counts, all: &[Contribution], period: Period, phases: &[&str]) -> Vec<Shared> {
    let of_care = |count: &dyn Fn(&Care) -> u64| -> Vec<u64> {
        all.iter().map(|one| one.care.as_ref().map_or(0, count)).collect()
    };
    let outcomes = [Outcome::OnTime, Outcome::Late, Outcome::Missed, Outcome::Unreported];
    let count = |outcome: Outcome, is_in: &dyn Fn(&str) -> bool| {
        of_care(&|care| {
            let is_counted = |one: &&Expected| period.contains(one.day) && is_in(&one.phase) && one.outcome == outcome;
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
        let is_counted = |one: &&Expected| {
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
pub(super) fn found(counts: &mut Counts, all: &[Contribution], period: Period) -> Vec<Shared> {
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
pub(super) fn signals(counts: &mut Counts, all: &[Contribution]) {
    let of = |is_so: &dyn Fn(&Episode) -> bool| -> Vec<u64> {
        let count = |one: &Contribution| one.episodes.iter().flatten().filter(|episode| is_so(episode)).count() as u64;
        all.iter().map(count).collect()
    };
    let episodes = counts.add("signals", of(&|_| true).into_iter());
    let unanswered = counts.add("signals without an answer", of(&|episode| episode.answer.is_none()).into_iter());
    counts.rest(episodes, &[unanswered], of(&|episode| episode.answer.is_some()).into_iter());
    let mut parts = Vec::new();
    for signal in About::ALL {
        let named = of(&|episode| episode.signal == *signal);
        if named.iter().any(|count| *count > 0) {
            parts.push(counts.add(format!("signals: {signal}"), named.into_iter()));
        }
    }
    counts.adds_up(episodes, parts);
}

/// How well the records are kept.
pub(super) fn quality(counts: &mut Counts, all: &[Contribution]) {
    let events = counts.add("records", all.iter().map(|one| one.quality.events));
    let mut subset = |name: &str, count: fn(&Quality) -> u64| {
        let part = counts.add(name, all.iter().map(|one| count(&one.quality)));
        counts.rest(events, &[part], all.iter().map(|one| one.quality.events - count(&one.quality)));
    };
    subset("records entered late", |quality| quality.late_entries);
    subset("records amended", |quality| quality.amended);
    subset("records with only the day known", |quality| quality.times_unknown);
    subset("scores with an item not looked at", |quality| quality.incomplete_scores);
    counts.add("records voided", all.iter().map(|one| one.quality.voided));
    counts.add("patient-days nobody has told of", all.iter().map(|one| one.quality.days_not_covered));
}
