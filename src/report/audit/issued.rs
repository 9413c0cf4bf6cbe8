//! Restatement of an issued report: infections determined or corrected since.

use chrono::{DateTime, FixedOffset, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::{device_days, events};
use crate::audit::{Cohort, Contribution, Month};
use crate::day::{Instant, Period};
use crate::problem::Failure;
use crate::report::At;
use crate::text::visible;

/// A previously issued report.
#[derive(Debug, Clone)]
pub struct Issued {
    as_of: DateTime<FixedOffset>,
    program: String,
    version: String,
    case_definition: Option<String>,
    months: Vec<IssuedMonth>,
    /// The infections of its period, by patient and onset.
    named: Vec<(String, NaiveDate)>,
    /// The days of its period that it counted.
    period: Period,
}

/// One month of an issued report.
#[derive(Debug, Clone)]
struct IssuedMonth {
    month: Month,
    events: u64,
    device_days: i64,
}

/// Differences from an issued report.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Restatement {
    /// The `as_of` of the issued report.
    pub issued_as_of: At,
    /// The version of exitsite that wrote it.
    pub issued_version: String,
    /// True if the case definition has changed since, so the counts are not comparable.
    pub case_definition_changed: bool,
    /// The number of months compared.
    pub compared: u64,
    /// The months whose infections differ: in number or, within the issued report's own period, in identity.
    pub months: Vec<Restated>,
    /// The months whose device-days differ, through the last day that the issued report counted.
    pub device_days: Vec<RestatedDays>,
    /// Months not compared because this report covers fewer of their days than the issued one.
    pub not_compared: Vec<Month>,
}

/// A month whose infections differ.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Restated {
    /// The month, as 2026-10.
    pub month: Month,
    /// Infections in the issued report.
    pub issued: u64,
    /// Infections now.
    pub now: u64,
    /// The reason, as far as the records show it.
    pub why: String,
}

/// A month whose device-days differ.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct RestatedDays {
    /// The month, as 2026-10.
    pub month: Month,
    /// Device-days in the issued report.
    pub issued: i64,
    /// Device-days now.
    pub now: i64,
}

impl Issued {
    /// Rejects a report of another program, and one with a later `as_of` than this report.
    ///
    /// # Errors
    /// The report is rejected.
    pub fn check(&self, program: &str, as_of: Instant) -> Result<(), Failure> {
        match self.program == program {
            true if as_of < self.as_of.to_utc() => Err(Failure::new(format!(
                "the issued report is as of {}, later than this one. Omit --as-of, or give a later time",
                self.as_of.format("%Y-%m-%d %H:%M")
            ))),
            true => Ok(()),
            false => Err(Failure::new(format!(
                "the issued report is from \"{}\", but these records are from \"{}\". Use a report of this program",
                visible(&self.program),
                visible(program)
            ))),
        }
    }

    /// Parses the JSON of an audit.
    ///
    /// # Errors
    /// The text is not the JSON of an audit.
    pub fn read(file: &str, text: &str) -> Result<Issued, Failure> {
        let other = |what: &str| {
            Failure::new(format!(
                "{file} {what}. Use the file that `exitsite audit … --json` wrote when the report was issued"
            ))
        };
        let json: Value = serde_json::from_str(text).map_err(|_| other("is not JSON"))?;
        let text = |key: &str| json.get(key).and_then(Value::as_str).map(str::to_owned);
        if text("command").as_deref() != Some("audit") {
            return Err(other("is not an audit"));
        }
        let day = |text: &Value| text.as_str()?.parse::<NaiveDate>().ok();
        let month = |point: &Value| {
            Some(IssuedMonth {
                month: Month::read(point.get("month")?.as_str()?)?,
                events: point.get("events")?.as_u64()?,
                device_days: point.get("device_days")?.as_i64()?,
            })
        };
        let named = |row: &Value| Some((row.get("patient")?.as_str()?.to_owned(), day(row.get("onset")?)?));
        let rows = json.get("before_infection").and_then(Value::as_array);
        let points = json.pointer("/charts/infections/points").and_then(Value::as_array);
        let months = points.and_then(|points| points.iter().map(month).collect::<Option<Vec<_>>>());
        let as_of = text("as_of").and_then(|text| text.parse::<DateTime<FixedOffset>>().ok());
        let (from, to) = (json.pointer("/period/from").and_then(day), json.get("counted_through").and_then(day));
        Ok(Issued {
            as_of: as_of.ok_or_else(|| other("has no valid as_of"))?,
            program: text("program").unwrap_or_default(),
            version: text("version").unwrap_or_default(),
            case_definition: text("case_definition"),
            named: rows.into_iter().flatten().filter_map(named).collect(),
            months: months.ok_or_else(|| other("has no infections by month (an external report has none)"))?,
            period: from.zip(to).map(|(from, to)| Period { from, to }).ok_or_else(|| other("has no valid period"))?,
        })
    }

    /// Compares the issued report with the records now, each month through the last day that the issued report counted.
    /// Months of which this report covers fewer days are not compared.
    pub(super) fn compare(&self, cohort: &Cohort, last: NaiveDate, case_definition: Option<&str>) -> Restatement {
        let mut restated = Restatement {
            issued_as_of: At::Time(self.as_of),
            issued_version: self.version.clone(),
            case_definition_changed: self.case_definition.as_deref() != case_definition,
            compared: 0,
            months: Vec::new(),
            device_days: Vec::new(),
            not_compared: Vec::new(),
        };
        for month in &self.months {
            let days = self.counted(month);
            if days.to > last {
                restated.not_compared.push(month.month);
                continue;
            }
            restated.compared += 1;
            let now = device_days(&cohort.all, days);
            if now != month.device_days {
                restated.device_days.push(RestatedDays { month: month.month, issued: month.device_days, now });
            }
            restated.months.extend(self.restated(month, days, cohort));
        }
        restated
    }

    /// The days of a month that the issued report counted.
    fn counted(&self, month: &IssuedMonth) -> Period {
        let days = month.month.days();
        Period { to: days.to.min(self.period.to), ..days }
    }

    fn restated(&self, month: &IssuedMonth, days: Period, cohort: &Cohort) -> Option<Restated> {
        let now = events(&cohort.all, days).count() as u64;
        let is_named = self.period.contains(days.from) && self.period.contains(days.to);
        let why = match self.others(cohort, days, now <= month.events) {
            Some(others) => others,
            None if now == month.events => return None,
            None if now > month.events => self.why_more(&cohort.all, days, month.events, now),
            None if !is_named && !cohort.is_complete() => {
                "voided, corrected or no longer on file, or in a file that cannot be read".to_owned()
            }
            None => "voided, corrected or no longer on file".to_owned(),
        };
        Some(Restated { month: month.month, issued: month.events, now, why })
    }

    /// Returns the infections of a month that the issued report listed and that no longer count, and the new ones: "P-003 of
    /// 2026-10-12 is no longer counted, P-007 of 2026-10-20 is new". `None` if all listed ones still count, unless
    /// `tells_new` requests the new ones as well. Days outside the issued period are ignored.
    fn others(&self, cohort: &Cohort, days: Period, tells_new: bool) -> Option<String> {
        let both = Period { from: days.from.max(self.period.from), to: days.to };
        let now = events(&cohort.all, both).map(|(one, infection)| (one.patient.clone(), infection.onset));
        let mut added: Vec<(String, NaiveDate)> = now.collect();
        let mut gone: Vec<&(String, NaiveDate)> =
            self.named.iter().filter(|(_, onset)| both.contains(*onset)).collect();
        // Two infections of one patient on one day count as two.
        gone.retain(|one| match added.iter().position(|other| other == *one) {
            Some(n) => {
                added.remove(n);
                false
            }
            None => true,
        });
        let says = |(patient, onset): &(String, NaiveDate), what| format!("{} of {onset} is {what}", visible(patient));
        let gone_now = gone.iter().map(|one| says(one, fate(cohort, &one.0)));
        let said: Vec<String> = gone_now.chain(added.iter().map(|one| says(one, "new"))).collect();
        (!gone.is_empty() || tells_new && !added.is_empty()).then(|| said.join(", "))
    }

    fn why_more(&self, all: &[Contribution], days: Period, issued: u64, now: u64) -> String {
        let mut later: Vec<NaiveDate> = events(all, days)
            .filter(|(_, one)| one.known_at > self.as_of.to_utc())
            .map(|(_, one)| one.determined)
            .collect();
        later.sort();
        let said = later.iter().map(NaiveDate::to_string).collect::<Vec<_>>().join(", ");
        match () {
            () if later.len() as u64 == now - issued => format!("determined {said}"),
            () if later.is_empty() => "recorded or corrected since".to_owned(),
            () => format!("determined {said}; others recorded or corrected since"),
        }
    }
}

/// Describes an infection that is no longer counted.
fn fate(cohort: &Cohort, patient: &str) -> &'static str {
    let one = cohort.all.iter().find(|one| one.patient == patient);
    match one {
        Some(one) if one.problems.is_empty() => "no longer counted",
        None if !cohort.not_counted.iter().any(|(code, _)| code == patient) => "gone with the patient's folder",
        _ => "no longer counted, or in a file that cannot be read",
    }
}
