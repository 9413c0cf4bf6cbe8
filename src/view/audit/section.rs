//! The audit in sections: each figure with its denominator, its gaps in the data, and its meaning.
//! Text and page render the same sections, so they cannot differ.

mod before;
mod care;
mod charted;
mod concentration;
mod delays;
mod groups;
pub(super) mod interventions;
mod lapses;
mod rates;
mod recurrent;
mod rest;
mod risk;
mod survival;
mod warnings;

use maud::Markup;

use crate::report::audit::AuditReport;
use crate::text::{count, thousands, visible};
use crate::view::table::{Cell, CellTable};

/// One section.
#[derive(Debug, Clone, Default)]
pub(super) struct Section {
    pub(super) title: &'static str,
    /// The sentences: the meaning first, then definitions and gaps in the data.
    pub(super) words: Vec<String>,
    pub(super) tables: Vec<CellTable>,
    /// The tables as rendered on the page, if different.
    pub(super) page: Option<Markup>,
    pub(super) pictures: Vec<Picture>,
}

/// A picture of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Picture {
    /// Device-days between infections.
    DaysBetween,
    /// Infections per month.
    Infections,
    /// The alarm for a doubled rate.
    Alarm,
    /// The lower-sided alarm since an intervention.
    LowerAlarm,
    /// Days with dressing current per month.
    OnTime,
    /// The cumulative incidence of each competing event.
    Incidence,
    /// Freedom from first infection.
    Freedom,
    /// The mean cumulative count of infections.
    MeanCount,
}

/// Returns the sections of an audit in reading order.
pub(super) fn sections(report: &AuditReport) -> Vec<Section> {
    let all = [
        Some(rates::infections(report)),
        Some(risk::by_time(&report.risk_by_time)),
        Some(delays::delays(&report.delays)),
        report.restatement.as_ref().map(rates::restatement),
        Some(rates::alarm(&report.charts.alarm)),
        interventions::interventions(report),
        Some(survival::first_infection(&report.first_infection)),
        recurrent::recurrent(&report.recurrent, &report.first_infection),
        Some(care::changes(report)),
        Some(concentration::concentration(&report.concentration)),
        Some(care::showers_and_dressings(report)),
        Some(rest::signals(&report.signals)),
        before::infections(&report.before_infection),
        lapses::lapses(&report.lapses),
        Some(warnings::warnings(&report.warnings)),
        Some(rest::pulls_and_organisms(report)),
        Some(rest::households(report)),
        Some(rest::data_quality(report)),
        Some(rest::sources(report)),
    ];
    all.into_iter().flatten().collect()
}

/// Returns the heading: program, period, and the time at risk.
pub(super) fn heading(report: &AuditReport) -> Vec<String> {
    let (census, days) = (&report.census, &report.period);
    let mut words = vec![format!(
        "{}, {} through {}: {}, {} ({:.1} patient-months), {} of them away.",
        visible(&report.program),
        days.from,
        days.to,
        count(census.patients as i64, "patient"),
        count(census.device_days, "device-day"),
        census.patient_months,
        thousands(census.days_elsewhere)
    )];
    if report.counted_through < days.to {
        words.push(format!("The period is not over: data are counted through {}.", report.counted_through));
    }
    if census.device_days == 0 {
        words.push("No patient on file was on support in this period, so there are no figures.".to_owned());
    } else if report.small {
        words.push(
            "Small numbers: fewer than 20 patient-months. A single event would change these figures substantially."
                .to_owned(),
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

    fn say_all(mut self, words: impl IntoIterator<Item = String>) -> Section {
        self.words.extend(words);
        self
    }

    fn show(mut self, headings: &[&str], rows: impl IntoIterator<Item = Vec<Cell>>) -> Section {
        let table = CellTable::of(headings, rows);
        if !table.rows.is_empty() {
            self.tables.push(table);
        }
        self
    }

    fn draw(mut self, picture: Picture) -> Section {
        self.pictures.push(picture);
        self
    }
}

/// Formats p to three decimals.
pub(super) fn p_words(p: f64) -> String {
    if p < 0.001 { "p under 0.001".to_owned() } else { format!("p {p:.3}") }
}
