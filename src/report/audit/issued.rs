//! What has changed since a report was issued: infections that were determined, or corrected, afterwards.

use chrono::{DateTime, NaiveDate, Utc};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::{Charts, events};
use crate::audit::Contribution;
use crate::day::Period;
use crate::problem::Failure;
use crate::text::visible;

/// A report that was issued before.
#[derive(Debug, Clone)]
pub struct Issued {
    as_of: String,
    program: String,
    version: String,
    case_definition: Option<String>,
    months: Vec<(String, u64)>,
    /// The infections of its period, by patient and onset.
    named: Vec<(String, NaiveDate)>,
    /// The days of its period that were counted.
    period: Option<Period>,
}

/// What has changed since a report was issued.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Restatement {
    /// The moment that the issued report was asked about.
    pub issued_as_of: String,
    /// The version that made it.
    pub issued_version: String,
    /// Whether the case definition is another one now: then the counts are not of the same thing.
    pub case_definition_changed: bool,
    /// The months whose infections are not as they were: in number, or, in the issued report's own period, others.
    pub months: Vec<Restated>,
    /// Months of the issued report behind the end of this one, which are not compared.
    pub not_compared: Vec<String>,
}

/// One month whose infections are not as they were.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Restated {
    /// The month, as 2026-10.
    pub month: String,
    /// Infections in the issued report.
    pub issued: u64,
    /// Infections now.
    pub now: u64,
    /// Why, as far as the records say.
    pub why: String,
}

impl Issued {
    /// Refuses a report of another program.
    ///
    /// # Errors
    /// It is one.
    pub fn check(&self, program: &str) -> Result<(), Failure> {
        match self.program == program {
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
        let month = |point: &Value| Some((point.get("month")?.as_str()?.to_owned(), point.get("events")?.as_u64()?));
        let day = |text: &Value| text.as_str()?.parse::<NaiveDate>().ok();
        let named = |row: &Value| Some((row.get("patient")?.as_str()?.to_owned(), day(row.get("onset")?)?));
        let rows = json.get("before_infection").and_then(Value::as_array);
        let (from, to) = (json.pointer("/period/from").and_then(day), json.get("counted_through").and_then(day));
        let points = json.pointer("/charts/infections/points").and_then(Value::as_array);
        let months = points.and_then(|points| points.iter().map(month).collect::<Option<Vec<_>>>());
        Ok(Issued {
            as_of: text("as_of").ok_or_else(|| other("does not say as of when it is"))?,
            program: text("program").unwrap_or_default(),
            version: text("version").unwrap_or_default(),
            case_definition: text("case_definition"),
            named: rows.into_iter().flatten().filter_map(named).collect(),
            period: from.zip(to).map(|(from, to)| Period { from, to }),
            months: months
                .ok_or_else(|| other("holds no infections by month, as one for outside of the house does not"))?,
        })
    }

    /// Compares it with what is on file now, for the months of both.
    /// `has_hidden` says that a patient could not be read at all.
    pub(super) fn compare(
        &self,
        all: &[Contribution],
        charts: &Charts,
        case_definition: Option<&str>,
        has_hidden: bool,
    ) -> Restatement {
        let now = |month: &str| charts.infections.points.iter().find(|point| point.month == month);
        let is_whole = all.iter().all(|one| one.problems.is_empty()) && !has_hidden;
        let restated = |(month, issued): &(String, u64)| {
            let now = now(month)?.events;
            let others = self.others(all, month);
            let why = match (now != *issued, others) {
                (false, None) => return None,
                (false, Some(others)) => others,
                (true, _) if now < *issued && !is_whole => "perhaps in a file that cannot be used".to_owned(),
                (true, others) => {
                    let why = self.why(all, month, *issued, now);
                    [Some(why), others].into_iter().flatten().collect::<Vec<_>>().join("; ")
                }
            };
            Some(Restated { month: month.clone(), issued: *issued, now, why })
        };
        Restatement {
            issued_as_of: self.as_of.clone(),
            issued_version: self.version.clone(),
            case_definition_changed: self.case_definition.as_deref() != case_definition,
            months: self.months.iter().filter_map(restated).collect(),
            not_compared: self
                .months
                .iter()
                .map(|(month, _)| month)
                .filter(|month| now(month).is_none())
                .cloned()
                .collect(),
        }
    }

    /// Which infections of a month are gone although the issued report named them, and which others are there: "P-003 of
    /// 2026-10-12 is gone, P-007 of 2026-10-20 is new". None where none is gone, and of months outside of its period.
    fn others(&self, all: &[Contribution], month: &str) -> Option<String> {
        let period = self.period?;
        let is_of_month = |(_, onset): &(String, NaiveDate)| onset.format("%Y-%m").to_string() == month;
        let now = events(all, period).map(|(one, infection)| (one.patient.clone(), infection.onset));
        let mut added: Vec<(String, NaiveDate)> = now.filter(is_of_month).collect();
        let mut gone: Vec<&(String, NaiveDate)> = self.named.iter().filter(|one| is_of_month(one)).collect();
        // Two of one patient and day are two.
        gone.retain(|one| match added.iter().position(|other| other == *one) {
            Some(n) => {
                added.remove(n);
                false
            }
            None => true,
        });
        let says = |(patient, onset): &(String, NaiveDate), what| format!("{} of {onset} is {what}", visible(patient));
        let gone_now = gone.iter().map(|one| says(one, "gone"));
        (!gone.is_empty())
            .then(|| gone_now.chain(added.iter().map(|one| says(one, "new"))).collect::<Vec<_>>().join(", "))
    }

    fn why(&self, all: &[Contribution], month: &str, issued: u64, now: u64) -> String {
        let then = self.as_of.parse::<DateTime<Utc>>().ok();
        let infections = all.iter().flat_map(|one| &one.infections);
        let mut later: Vec<NaiveDate> = infections
            .filter(|one| one.is_event() && one.onset.format("%Y-%m").to_string() == month)
            .filter(|one| then.is_some_and(|then| one.known_at > then))
            .map(|one| one.determined)
            .collect();
        later.sort();
        let days = later.iter().map(NaiveDate::to_string).collect::<Vec<_>>().join(", ");
        match () {
            () if now < issued => "a record was voided or corrected since".to_owned(),
            () if later.len() as u64 == now - issued => format!("determined {days}"),
            () if later.is_empty() => "recorded or corrected since".to_owned(),
            () => format!("determined {days}; others recorded or corrected since"),
        }
    }
}
