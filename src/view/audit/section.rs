//! The audit in sections: each figure, its denominator, what is not known of it, and its meaning.
//!
//! Text and page show the same sections, so that they cannot say different things.

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
use crate::view::table::{Cell, Table};

/// One section.
#[derive(Debug, Clone, Default)]
pub(super) struct Section {
    pub(super) title: &'static str,
    /// Its meaning in one sentence first, then definitions and what is not known.
    pub(super) words: Vec<String>,
    pub(super) tables: Vec<Table>,
    /// The tables in a form for the page, where that differs.
    pub(super) page: Option<Markup>,
    pub(super) pictures: Vec<Picture>,
}

/// A picture of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Picture {
    /// Device-days between infections.
    DaysBetween,
    /// Infections a month.
    Infections,
    /// The alarm for a doubled rate.
    Alarm,
    /// The lower-sided alarm since a change of the program.
    LowerAlarm,
    /// Days in date a month.
    OnTime,
    /// The cumulative incidence of each end.
    Incidence,
    /// Freedom from a first infection.
    Freedom,
    /// The mean cumulative count of infections.
    MeanCount,
}

/// The sections of an audit in reading order.
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

/// The heading: program, period, and the size of what is counted.
pub(super) fn heading(report: &AuditReport) -> Vec<String> {
    let (census, days) = (&report.census, &report.period);
    let mut words = vec![format!(
        "{} from {} to {}, both included: {}, {} device-days ({:.1} patient-months), of which {} elsewhere.",
        visible(&report.program),
        days.from,
        days.to,
        count(census.patients as i64, "patient"),
        thousands(census.device_days),
        census.patient_months,
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

    fn say_all(mut self, words: impl IntoIterator<Item = String>) -> Section {
        self.words.extend(words);
        self
    }

    fn show(mut self, headings: &[&str], rows: impl IntoIterator<Item = Vec<Cell>>) -> Section {
        let table = Table::of(headings, rows);
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

/// Both limits in a sentence: "0.29 and 4.10".
fn between(limits: &Cell) -> String {
    limits.to_string().replace(" to ", " and ")
}

/// p in three decimals.
pub(super) fn p_words(p: f64) -> String {
    if p < 0.001 { "p under 0.001".to_owned() } else { format!("p {p:.3}") }
}
