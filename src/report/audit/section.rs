//! The report in sections for people: what each figure is, over what it is counted, what is not known, what it means.
//!
//! Text and page show the same sections, so that they cannot say different things.

mod care;
mod rates;
mod rest;
mod survival;

use super::AuditReport;
use crate::text::{count, thousands};

/// One section.
#[derive(Debug, Clone, Default)]
pub struct Section {
    /// What it is about.
    pub title: &'static str,
    /// In plain sentences: what it means first, then what it is and what is not known.
    pub words: Vec<String>,
    /// The figures.
    pub sheets: Vec<Sheet>,
    /// What a page draws of it.
    pub pictures: Vec<Picture>,
}

/// A table of figures.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// The heads of the columns.
    pub heads: Vec<String>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
}

/// What a page draws.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Picture {
    /// Device-days between infections.
    DaysBetween,
    /// Infections a month.
    Infections,
    /// The alarm for a doubled rate.
    Alarm,
    /// Days in date a month.
    OnTime,
    /// The cumulative incidence of each end.
    Incidence,
    /// Freedom from a first infection.
    Freedom,
}

/// The sections of an audit, in the order in which one reads it.
pub fn sections(report: &AuditReport) -> Vec<Section> {
    let all = [
        Some(rates::infections(report)),
        report.restatement.as_ref().map(rates::restatement),
        Some(rates::alarm(&report.charts.alarm)),
        Some(survival::first_infection(&report.first_infection)),
        Some(care::changes(report)),
        Some(care::showers_and_dressings(report)),
        Some(rest::signals(&report.signals)),
        rest::before_infection(&report.before_infection),
        Some(rest::pulls_and_organisms(report)),
        Some(rest::households(report)),
        Some(rest::data_quality(report)),
        Some(rest::sources(report)),
    ];
    all.into_iter().flatten().collect()
}

/// The heading: what the report is about, whose, over how long.
pub fn heading(report: &AuditReport) -> Vec<String> {
    let (census, days) = (&report.census, &report.period);
    let mut words = vec![format!(
        "{} from {} to {}, both included: {}, {} device-days ({} patient-months), of which {} elsewhere.",
        crate::text::visible(&report.program),
        days.from,
        days.to,
        count(census.patients as i64, "patient"),
        thousands(census.device_days),
        decimal(census.patient_months, 1),
        thousands(census.days_elsewhere)
    )];
    if report.counted_through < days.to {
        words.push(format!("The period is not over: it is counted through {}.", report.counted_through));
    }
    if census.device_days == 0 {
        words.push("Nobody on file was under support in this period, so there is nothing to count over.".to_owned());
    } else if report.small {
        words.push(
            "These figures are small: under 20 patient-months. One event more or less changes them much.".to_owned(),
        );
    }
    words
}

impl Section {
    fn new(title: &'static str) -> Section {
        Section { title, ..Section::default() }
    }

    fn say(mut self, words: impl Into<String>) -> Section {
        self.words.push(words.into());
        self
    }

    fn show(mut self, heads: &[&str], rows: Vec<Vec<String>>) -> Section {
        if !rows.is_empty() {
            self.sheets.push(Sheet { heads: heads.iter().map(|head| (*head).to_owned()).collect(), rows });
        }
        self
    }

    fn draw(mut self, picture: Picture) -> Section {
        self.pictures.push(picture);
        self
    }
}

/// A number to so many decimals.
fn decimal(number: f64, decimals: usize) -> String {
    format!("{number:.decimals$}")
}

/// The same where it is known, or a hyphen.
fn known(number: Option<f64>, decimals: usize) -> String {
    number.map_or("-".to_owned(), |number| decimal(number, decimals))
}

/// Two limits: "0.29 to 4.10"; an end that is not known is open.
fn limits(low: Option<f64>, high: Option<f64>, decimals: usize) -> String {
    match (low, high) {
        (None, None) => "-".to_owned(),
        (Some(low), None) => format!("{} or more", decimal(low, decimals)),
        (low, Some(high)) => format!("{} to {}", decimal(low.unwrap_or(0.0), decimals), decimal(high, decimals)),
    }
}

/// A share in percent, or a hyphen.
fn percent(share: Option<f64>) -> String {
    share.map_or("-".to_owned(), |share| format!("{} %", decimal(share * 100.0, 1)))
}

/// Two limits in percent.
fn percents(low: Option<f64>, high: Option<f64>) -> String {
    match (low, high) {
        (Some(low), Some(high)) => format!("{} to {} %", decimal(low * 100.0, 1), decimal(high * 100.0, 1)),
        _ => "-".to_owned(),
    }
}

/// A p as one reads it.
fn p_words(p: f64) -> String {
    if p < 0.001 { "p under 0.001".to_owned() } else { format!("p {p:.3}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_as_people_read_them() {
        assert_eq!(limits(Some(0.289), Some(4.1), 2), "0.29 to 4.10");
        assert_eq!(limits(None, Some(4.1), 2), "0.00 to 4.10");
        assert_eq!(limits(Some(0.289), None, 2), "0.29 or more");
        assert_eq!(limits(None, None, 2), "-");
        assert_eq!(percents(Some(0.25), Some(1.0)), "25.0 to 100.0 %");
        assert_eq!(p_words(0.0004), "p under 0.001");
    }
}
