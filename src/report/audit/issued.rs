//! Changes since a report was issued: infections that were determined or corrected afterwards.

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

/// A report that was issued before.
#[derive(Debug, Clone)]
pub struct Issued {
    as_of: DateTime<FixedOffset>,
    program: String,
    version: String,
    case_definition: Option<String>,
    months: Vec<Counted>,
    /// The infections of its period, by patient and onset.
    named: Vec<(String, NaiveDate)>,
    /// The days of its period that were counted.
    period: Period,
}

/// One month of an issued report.
#[derive(Debug, Clone)]
struct Counted {
    month: Month,
    events: u64,
    device_days: i64,
}

/// Changes since a report was issued.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Restatement {
    /// The moment that the issued report was asked about.
    pub issued_as_of: At,
    /// The version that made it.
    pub issued_version: String,
    /// True if the case definition is another one now: then the counts are not of the same thing.
    pub case_definition_changed: bool,
    /// How many of its months are compared.
    pub compared: u64,
    /// The months whose infections are not as they were: in number, or, in the issued report's own period, others.
    pub months: Vec<Restated>,
    /// The months whose device-days are not as they were, through the day through which the issued report counted them.
    pub device_days: Vec<RestatedDays>,
    /// Months that this report does not reach as far as the issued one, which are not compared.
    pub not_compared: Vec<Month>,
}

/// One month whose infections are not as they were.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Restated {
    /// The month, as 2026-10.
    pub month: Month,
    /// Infections in the issued report.
    pub issued: u64,
    /// Infections now.
    pub now: u64,
    /// Why, as far as the records say.
    pub why: String,
}

/// One month whose device-days are not as they were.
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
    /// Refuses a report of another program, and one that is as of a later moment than what it is compared with.
    ///
    /// # Errors
    /// It is one.
    pub fn check(&self, program: &str, as_of: Instant) -> Result<(), Failure> {
        match self.program == program {
            true if as_of < self.as_of.to_utc() => Err(Failure::new(format!(
                "the issued report is as of {}, which is later than what this one is asked about; leave --as-of out, or name a later one",
                self.as_of.format("%Y-%m-%d %H:%M")
            ))),
            true => Ok(()),
            false => Err(Failure::new(format!(
                "the issued report is of \"{}\", and these records are of \"{}\"; name a report of this program",
                visible(&self.program),
                visible(program)
            ))),
        }
    }

    /// Reads the JSON of an audit.
    ///
    /// # Errors
    /// It is none.
    pub fn read(file: &str, text: &str) -> Result<Issued, Failure> {
        let other = |what: &str| {
            Failure::new(format!(
                "{file} {what}; name a file that `exitsite audit … --json` wrote when the report was issued"
            ))
        };
        let json: Value = serde_json::from_str(text).map_err(|_| other("is no JSON"))?;
        let text = |key: &str| json.get(key).and_then(Value::as_str).map(str::to_owned);
        if text("command").as_deref() != Some("audit") {
            return Err(other("is no audit"));
        }
        let day = |text: &Value| text.as_str()?.parse::<NaiveDate>().ok();
        let month = |point: &Value| {
            Some(Counted {
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
            as_of: as_of.ok_or_else(|| other("does not say as of when it is"))?,
            program: text("program").unwrap_or_default(),
            version: text("version").unwrap_or_default(),
            case_definition: text("case_definition"),
            named: rows.into_iter().flatten().filter_map(named).collect(),
            months: months
                .ok_or_else(|| other("holds no infections by month, as one for outside of the house does not"))?,
            period: from
                .zip(to)
                .map(|(from, to)| Period { from, to })
                .ok_or_else(|| other("does not say of which days it is"))?,
        })
    }

    /// Compares it with what is on file now, each month through the day through which the issued report counted it; months
    /// that this report does not reach as far as that are not compared.
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
    fn counted(&self, month: &Counted) -> Period {
        let days = month.month.days();
        Period { to: days.to.min(self.period.to), ..days }
    }

    fn restated(&self, month: &Counted, days: Period, cohort: &Cohort) -> Option<Restated> {
        let now = events(&cohort.all, days).count() as u64;
        let is_named = self.period.contains(days.from) && self.period.contains(days.to);
        let why = match self.others(cohort, days, now <= month.events) {
            Some(others) => others,
            None if now == month.events => return None,
            None if now > month.events => self.why_more(&cohort.all, days, month.events, now),
            None if !is_named && !cohort.is_complete() => {
                "voided, corrected or not on file any more, or in a file that cannot be used".to_owned()
            }
            None => "voided, corrected or not on file any more".to_owned(),
        };
        Some(Restated { month: month.month, issued: month.events, now, why })
    }

    /// Infections of a month that the issued report named and that no longer count, and the new ones:
    /// "P-003 of 2026-10-12 is not counted any more, P-007 of 2026-10-20 is new". None where the named are all there, unless
    /// `tells_new` asks for others beside them; and of days outside of its period.
    fn others(&self, cohort: &Cohort, days: Period, tells_new: bool) -> Option<String> {
        let both = Period { from: days.from.max(self.period.from), to: days.to };
        let now = events(&cohort.all, both).map(|(one, infection)| (one.patient.clone(), infection.onset));
        let mut added: Vec<(String, NaiveDate)> = now.collect();
        let mut gone: Vec<&(String, NaiveDate)> =
            self.named.iter().filter(|(_, onset)| both.contains(*onset)).collect();
        // Two of one patient and day are two.
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

/// The fate of an infection of a patient that is not counted any more.
fn fate(cohort: &Cohort, patient: &str) -> &'static str {
    let one = cohort.all.iter().find(|one| one.patient == patient);
    match one {
        Some(one) if one.problems.is_empty() => "not counted any more",
        None if !cohort.not_counted.iter().any(|(code, _)| code == patient) => "gone with the patient's folder",
        _ => "not counted any more, or in a file that cannot be used",
    }
}
