//! Recurrent infections: the mean cumulative count, and the between-patient variation.

use super::{Picture, Section};
use crate::report::audit::{BetweenPatients, FirstInfection, Recurrent, ShownCount, WithInfections};
use crate::surveillance::follow_up::at_risk;
use crate::surveillance::mean_count::MeanCountStep;
use crate::text::{count, thousands};
use crate::view::table::Cell;

/// The days of the table, as for the time to first infection.
const DAYS: [i64; 8] = [30, 90, 180, 365, 730, 1095, 1461, 1826];
/// The minimum number of infections for limits of the variation. Source: as for the alarm.
const FEW: u64 = 10;

pub(super) fn recurrent(recurrent: &Recurrent, first: &FirstInfection) -> Option<Section> {
    if recurrent.patients == 0 {
        return None;
    }
    let section = Section::new("Recurrent infections").say(meaning(recurrent));
    if recurrent.events == 0 {
        return Some(section);
    }
    let section = match &recurrent.shown {
        None => {
            let most = recurrent.at_risk.iter().map(|step| step.patients).max().unwrap_or(0);
            section.say(format!(
                "Too few patients at risk for a mean count: it needs {} on one day; the maximum was {most}.",
                first.curve_at_risk
            ))
        }
        Some(shown) => section
            .say(how(shown, first.curve_at_risk))
            .show(
                &["day", "at risk", "infections per 100 patients", "95 %"],
                DAYS.into_iter()
                    .filter(|day| shown.from < *day && *day <= shown.to)
                    .map(|day| row(recurrent, shown, day)),
            )
            .draw(Picture::MeanCount),
    };
    let spread = [("of the period", &recurrent.of_period), ("on file", &recurrent.on_file)];
    Some(
        section
            .show(
                &["rate", "infections", "per 1,000", "95 % Poisson", "95 % robust", "ratio"],
                spread.iter().map(|(name, one)| spread_row(name, one)),
            )
            .say(between_patients(recurrent)),
    )
}

/// Describes the infections and the number of patients with them.
fn meaning(recurrent: &Recurrent) -> String {
    let patients = |is_so: &dyn Fn(&WithInfections) -> bool| -> u64 {
        recurrent.by_infections.iter().filter(|one| is_so(one)).map(|one| one.patients).sum()
    };
    let all = count(recurrent.patients as i64, "patient");
    if recurrent.events == 0 {
        return format!("No infection on file in {all}, so there is no mean count.");
    }
    let each: Vec<String> = recurrent
        .by_infections
        .iter()
        .filter(|one| one.infections > 1)
        .map(|one| format!("{} with {}", one.patients, one.infections))
        .collect();
    let several = match patients(&|one| one.infections > 1) {
        0 => "none has more than one".to_owned(),
        several => {
            format!("{several} {} more than one ({})", if several == 1 { "has" } else { "have" }, each.join(", "))
        }
    };
    format!(
        "{} on file in {} of {all}; {several}.",
        count(recurrent.events as i64, "infection"),
        patients(&|one| one.infections > 0)
    )
}

fn how(shown: &ShownCount, least: u64) -> String {
    let condition = match shown.from {
        ..=0 => String::new(),
        day => format!(" It starts on day {day} and includes only patients on support that day."),
    };
    format!(
        "Mean cumulative count: all infections per 100 patients by days since implant, excluding recurrences of the same infection; death, transplant and recovery end the count, a transfer is censored. It is shown from day {} to day {}, the first and last with at least {least} at risk.{condition}",
        shown.from, shown.to
    )
}

fn row(recurrent: &Recurrent, shown: &ShownCount, day: i64) -> Vec<Cell> {
    let at_risk = at_risk(&recurrent.at_risk, day);
    let step: Option<&MeanCountStep> = shown.mean_count.iter().rev().find(|step| step.day <= day);
    let hundred = |value: f64| value * 100.0;
    let (value, limits) = match step {
        _ if at_risk == 0 => (Cell::Missing, Cell::Missing),
        None => (Cell::Number(0.0, 1), Cell::Missing),
        Some(step) => {
            (Cell::Number(hundred(step.value), 1), Cell::Limits(step.low.map(hundred), step.high.map(hundred), 1))
        }
    };
    vec![Cell::Figure(day.to_string()), Cell::count(at_risk), value, limits]
}

/// Builds the row of a rate with both limits. The robust limits need enough infections, and a variance not below the Poisson
/// one; otherwise they would be too narrow.
fn spread_row(name: &str, one: &BetweenPatients) -> Vec<Cell> {
    let robust = match one.events {
        ..FEW => Cell::Missing,
        _ if is_below_poisson(one) => Cell::Missing,
        _ => Cell::Limits(one.spread.robust_low, one.spread.robust_high, 2),
    };
    vec![
        Cell::text(name),
        Cell::count(one.events),
        Cell::number(one.rate.rate, 2),
        Cell::Limits(one.rate.low, one.rate.high, 2),
        robust,
        Cell::number(one.spread.variance_ratio, 2),
    ]
}

/// Returns true if the robust variance is below the Poisson variance: mostly chance, since infections hardly space out.
fn is_below_poisson(one: &BetweenPatients) -> bool {
    one.spread.variance_ratio.is_some_and(|ratio| ratio < 1.0)
}

/// Describes the between-patient variation in all data on file.
fn between_patients(recurrent: &Recurrent) -> String {
    let on_file = &recurrent.on_file;
    let (Some(ratio), Some(low), Some(high)) =
        (on_file.spread.variance_ratio, on_file.spread.robust_low, on_file.spread.robust_high)
    else {
        return "Between-patient variation needs at least two patients.".to_owned();
    };
    let with_it = match on_file.events {
        ..FEW => format!("With fewer than {FEW} infections the ratio is too imprecise for limits."),
        _ if is_below_poisson(on_file) => {
            "A ratio under 1 is mostly chance, and its limits would be too narrow: use the Poisson limits.".to_owned()
        }
        _ => format!("95 % limits of the rate with it: {}.", Cell::Limits(Some(low), Some(high), 2)),
    };
    format!(
        "Ratio: robust variance between patients over the Poisson variance; 1 if infections strike patients at random, more if they cluster in few. In all data on file it is {ratio:.2}, in {} and {} device-days. {with_it}",
        count(on_file.patients as i64, "patient"),
        thousands(on_file.device_days)
    )
}
