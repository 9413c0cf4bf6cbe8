//! The days that a report covers, as typed: `--from` and `--to`.

use crate::day::{Period, is_date_of_care};
use crate::problem::Failure;
use crate::text;

/// A range of days, inclusive.
#[derive(Debug, clap::Args)]
pub(super) struct Days {
    /// First day; default: 27 days before the last
    #[arg(long, value_name = "DATE")]
    pub(super) from: Option<String>,

    /// Last day; default: today
    #[arg(long, value_name = "DATE")]
    pub(super) to: Option<String>,
}

impl Days {
    /// The period; default: the 28 days to today.
    pub(super) fn period(&self, today: chrono::NaiveDate) -> Result<Period, Failure> {
        let to = day("--to", &self.to)?.unwrap_or(today);
        let from = day("--from", &self.from)?.unwrap_or(crate::day::plus(to, -27));
        Period::asked(from, to, today).map_err(Failure::new)
    }

    pub(super) fn is_given(&self) -> bool {
        self.from.is_some() || self.to.is_some()
    }
}

/// The day given by a flag, if any.
pub(super) fn day(flag: &str, typed: &Option<String>) -> Result<Option<chrono::NaiveDate>, Failure> {
    let Some(typed) = typed else { return Ok(None) };
    let day = typed.parse().ok().filter(|day| is_date_of_care(*day));
    let shown = text::visible(typed);
    day.map(Some).ok_or_else(|| Failure::new(format!("{flag} \"{shown}\" is not a date. Write 2026-11-24.")))
}
