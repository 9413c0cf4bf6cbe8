//! An issued yearly report, parsed from its JSON.

use chrono::{DateTime, Datelike, FixedOffset, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::Compared;
use crate::problem::Failure;
use crate::report::At;
use crate::surveillance::gamma_poisson::MOST_EVENTS;
use crate::text::visible;

/// The maximum plausible device-days of a report; a larger number is an error.
const MOST_DAYS: i64 = 100_000_000;

/// A pooled report.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ReportSource {
    /// The file, as given.
    pub file: String,
    /// True if it is an external report, whose device-days are rounded.
    pub is_external: bool,
    /// The version of exitsite that issued it.
    pub made_by: String,
    /// The `as_of` of the report; null for an external report.
    pub as_of: Option<At>,
    /// The program's case definition of an infection; null if its policy could not be read.
    pub case_definition: Option<String>,
}

/// A parsed report.
#[derive(Debug, Clone)]
pub struct GivenReport {
    pub(super) name: String,
    pub(super) year: i32,
    pub(super) source: ReportSource,
    /// The number of its record files that could not be read; `None` if the report states only that there were some.
    pub(super) not_read: Option<usize>,
    pub(super) by: Option<String>,
    patients: Option<u64>,
    events: u64,
    device_days: i64,
    groups: Vec<GivenGroup>,
}

#[derive(Debug, Clone)]
struct GivenGroup {
    name: String,
    patients: u64,
    events: u64,
    device_days: i64,
}

impl GivenReport {
    /// Parses the JSON of a yearly report; `file` is the name for messages.
    ///
    /// # Errors
    /// The text is not a yearly report, or not one that can be pooled. The message names the file and the remedy.
    pub fn read(file: &str, bytes: &[u8]) -> Result<GivenReport, Failure> {
        let text =
            std::str::from_utf8(bytes).map_err(|_| other(file, "is not UTF-8 text. Save the report as UTF-8"))?;
        let text = text.trim_start_matches('\u{feff}');
        if text.trim().is_empty() {
            return Err(other(file, &format!("is empty. {NAME_ONE}")));
        }
        let json: Value = serde_json::from_str(text).map_err(|error| not_json(file, &error))?;
        match json.get("command").and_then(Value::as_str) {
            Some("audit") => {}
            Some("pool") => return Err(other(file, "is already a pool. Use the reports from which it was made")),
            Some(command) => {
                return Err(other(file, &format!("is a report of `{}`. {NAME_ONE}", visible(command))));
            }
            None => return Err(other(file, &format!("is not a report. {NAME_ONE}"))),
        }
        let read = Reading { file, json: &json };
        let made_by = read.version()?;
        if json.get("release").is_some() { read.external(made_by) } else { read.yearly(made_by) }
    }

    /// Returns the entire program, for comparison with others.
    pub(super) fn whole(&self) -> Compared {
        Compared {
            name: self.name.clone(),
            source: self.source.clone(),
            patients: self.patients,
            events: self.events,
            device_days: self.device_days,
        }
    }

    /// Returns the groups, omitting those without device-days.
    pub(super) fn groups(&self) -> Result<Vec<Compared>, Failure> {
        let file = &self.source.file;
        let counted: Vec<&GivenGroup> = self.groups.iter().filter(|group| group.device_days > 0).collect();
        if let Some(group) = self.groups.iter().find(|group| group.device_days == 0 && group.events > 0) {
            return Err(other(
                file,
                &format!(
                    "has infections but no device-days in the group \"{}\". Issue the report without --by",
                    visible(&group.name)
                ),
            ));
        }
        if counted.len() < 2 {
            return Err(other(
                file,
                &format!(
                    "is the only report, and a single program cannot be compared. Add reports of other programs, or compare its own groups: issue the report with `exitsite audit --year {} --by where --json`",
                    self.year
                ),
            ));
        }
        let compared = |group: &GivenGroup| Compared {
            name: group.name.clone(),
            source: self.source.clone(),
            patients: Some(group.patients),
            events: group.events,
            device_days: group.device_days,
        };
        Ok(counted.into_iter().map(compared).collect())
    }
}

const NAME_ONE: &str = "Use a file that `exitsite audit --year 2025 --json` wrote";

fn other(file: &str, what: &str) -> Failure {
    Failure::new(format!("{file} {what}"))
}

fn not_json(file: &str, error: &serde_json::Error) -> Failure {
    match error.is_eof() {
        true => other(file, "is cut off. Copy the file again from the program that issued it"),
        false => other(file, &format!("is not JSON (line {}). {NAME_ONE}", error.line())),
    }
}

/// A report being parsed.
struct Reading<'a> {
    file: &'a str,
    json: &'a Value,
}

impl Reading<'_> {
    fn fault(&self, what: &str) -> Failure {
        other(self.file, what)
    }

    fn text(&self, key: &str) -> Option<String> {
        self.json.get(key).and_then(Value::as_str).map(|text| text.trim().to_owned()).filter(|text| !text.is_empty())
    }

    /// Returns the version that issued it. Keys keep their meaning only within a major version.
    fn version(&self) -> Result<String, Failure> {
        let own = env!("CARGO_PKG_VERSION");
        let major = |version: &str| version.split('.').next().map(str::to_owned);
        match self.text("version") {
            Some(version) if major(&version) == major(own) => Ok(version),
            Some(version) => Err(self.fault(&format!(
                "was issued by exitsite {}, whose reports exitsite {own} cannot read. Ask for the report from exitsite {own}",
                visible(&version)
            ))),
            None => Err(self.fault(&format!("has no exitsite version. {NAME_ONE}"))),
        }
    }

    fn name(&self) -> Result<String, Failure> {
        let unnamed = "has no program name. Ask the program to correct its policy.toml and issue the report again";
        self.text("program").ok_or_else(|| self.fault(unnamed))
    }

    fn source(&self, made_by: String, is_external: bool) -> ReportSource {
        let as_of = self.text("as_of").and_then(|text| text.parse::<DateTime<FixedOffset>>().ok());
        ReportSource {
            file: self.file.to_owned(),
            is_external,
            made_by,
            as_of: as_of.filter(|_| !is_external).map(At::Time),
            case_definition: self.text("case_definition"),
        }
    }

    /// Parses an internal report, whose counts are exact.
    fn yearly(&self, made_by: String) -> Result<GivenReport, Failure> {
        let day = |path: &str| self.json.pointer(path)?.as_str()?.parse::<NaiveDate>().ok();
        let days = day("/period/from").zip(day("/period/to")).zip(day("/counted_through"));
        let ((from, to), through) = days.ok_or_else(|| self.fault(&format!("has no valid period. {NAME_ONE}")))?;
        let year = from.year();
        let is_year =
            NaiveDate::from_ymd_opt(year, 1, 1) == Some(from) && NaiveDate::from_ymd_opt(year, 12, 31) == Some(to);
        if !is_year {
            return Err(self.fault(&format!(
                "covers {from} to {to}, not a calendar year. Ask for `exitsite audit --year {year} --json`"
            )));
        }
        if through < to {
            return Err(self.fault(&format!(
                "was issued before {year} was over and covers days through {through} only. Ask for a report of the full year"
            )));
        }
        let groups = self.json.get("groups").and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
        let group = |group: &Value| {
            Some(GivenGroup {
                name: group.get("value")?.as_str()?.to_owned(),
                patients: group.get("patients")?.as_u64()?,
                events: group.get("events")?.as_u64().filter(|events| *events <= MOST_EVENTS)?,
                device_days: group.get("device_days")?.as_i64().filter(|days| (0..=MOST_DAYS).contains(days))?,
            })
        };
        let not_read = self.json.get("unusable").and_then(Value::as_array).map(|files| {
            let files = files.iter().filter_map(|one| one.get("file")?.as_str());
            files.collect::<std::collections::BTreeSet<_>>().len()
        });
        Ok(GivenReport {
            name: self.name()?,
            year,
            source: self.source(made_by, false),
            not_read: Some(not_read.unwrap_or(0)),
            by: self.json.pointer("/first_infection/by").and_then(Value::as_str).map(str::to_owned),
            patients: self.json.pointer("/census/patients").and_then(Value::as_u64),
            events: self.events("/infections/events")?,
            device_days: self.device_days("/census/device_days")?,
            groups: groups.iter().map(group).collect::<Option<_>>().unwrap_or_default(),
        })
    }

    /// Parses an external report. A suppressed count of 1 to 4 infections rules out pooling.
    fn external(&self, made_by: String) -> Result<GivenReport, Failure> {
        let year = self.json.get("year").and_then(Value::as_i64).and_then(|year| i32::try_from(year).ok());
        let year = year.ok_or_else(|| self.fault(&format!("has no valid year. {NAME_ONE}")))?;
        let count = self.json.pointer("/infections/count");
        if !count.is_some_and(Value::is_u64) {
            let told = count.and_then(Value::as_str).map_or("no number".to_owned(), visible);
            return Err(self.fault(&format!(
                "is an external report and gives {told} for infections, so it cannot be pooled, and leaving it out would overstate the rate. Ask the program for `exitsite audit --year {year} --json`"
            )));
        }
        let is_complete = self.json.get("is_complete").and_then(Value::as_bool) == Some(true);
        Ok(GivenReport {
            name: self.name()?,
            year,
            source: self.source(made_by, true),
            not_read: is_complete.then_some(0),
            by: None,
            patients: self.json.get("patients").and_then(Value::as_u64),
            events: self.events("/infections/count")?,
            device_days: self.device_days("/device_days")?,
            groups: Vec::new(),
        })
    }

    fn events(&self, path: &str) -> Result<u64, Failure> {
        let events = self.json.pointer(path).and_then(Value::as_u64).filter(|events| *events <= MOST_EVENTS);
        events.ok_or_else(|| self.fault(&format!("has no valid number of infections (0 to {MOST_EVENTS}). {NAME_ONE}")))
    }

    fn device_days(&self, path: &str) -> Result<i64, Failure> {
        match self.json.pointer(path).and_then(Value::as_i64) {
            Some(days) if (1..=MOST_DAYS).contains(&days) => Ok(days),
            Some(0) => Err(self.fault("has no device-days, so it has no rate. Leave it out")),
            _ => Err(self.fault(&format!("has no valid number of device-days. {NAME_ONE}"))),
        }
    }
}
