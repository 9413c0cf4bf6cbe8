//! The rows of patient.toml.

use chrono::NaiveDate;
use chrono_tz::Tz;

use crate::event::person;
use crate::place::Span;
use crate::policy::{CarePlace, Interval, time_zone};
use crate::problem::Rule;
use crate::record::Table;
use crate::word::words;

/// Driveline infections before the records begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InfectionsBefore {
    /// Not said; none, where the records begin at the implant.
    NotGiven,
    /// Not known.
    Unknown,
    /// So many.
    Count(i64),
}

words! {
    /// Where on the abdomen the line leaves.
    pub enum Where {
        /// Right upper.
        RightUpper = "right-upper",
        /// Left upper.
        LeftUpper = "left-upper",
        /// Right lower.
        RightLower = "right-lower",
        /// Left lower.
        LeftLower = "left-lower",
        /// In the midline.
        Midline = "midline",
        /// Elsewhere.
        Other = "other",
    }
}

words! {
    /// Why there is an exit site.
    pub enum ExitReason {
        /// The first implant.
        Implant = "implant",
        /// The pump was exchanged.
        Exchange = "exchange",
        /// The line was given a new way out.
        Relocation = "relocation",
        /// There is a second pump.
        SecondPump = "second-pump",
    }
}

/// An exit site. Its `from` is its post-operative day 0.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exit {
    /// Its id, unique for the patient.
    pub id: String,
    /// Where.
    pub at: Where,
    /// Its first day.
    pub from: NaiveDate,
    /// Its last day, included.
    pub until: Option<NaiveDate>,
    /// Why there is one.
    pub why: ExitReason,
    /// Where its id stands in the file.
    pub span: Span,
    /// Where its first day stands in the file.
    pub from_span: Span,
}

impl Exit {
    pub(super) fn read(table: &mut Table) -> Option<Exit> {
        let id = table.needed().text("id", "its id, such as \"a\"");
        let at = table.needed().word("where", "where on the abdomen the line leaves");
        let from = table.needed().date("from", "its first day, POD 0");
        let until = table.date("until", "its last day, included");
        let why = table.needed().word("why", "why there is one");
        let (span, from_span) = (table.span("id"), table.span("from"));
        check_until(table, from, until);
        table.text("by", "who said so");
        Some(Exit { id: id?, at: at?, from: from?, until, why: why?, span, from_span })
    }

    /// Whether the exit is open on `day`.
    pub fn is_open(&self, day: NaiveDate) -> bool {
        self.from <= day && self.until.is_none_or(|until| day <= until)
    }
}

words! {
    /// How a household tells what happened.
    pub enum Reports {
        /// Every change as it happens.
        Each = "each",
        /// By a log now and then.
        Log = "log",
    }
}

/// Where the patient is, from a day on until the next row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CareRow {
    /// The first day.
    pub from: NaiveDate,
    /// Where.
    pub place: CarePlace,
    /// How the household tells what happened.
    pub reports: Reports,
    /// The zone, where it is not the policy's.
    pub time_zone: Option<Tz>,
    /// Why.
    pub why: Option<String>,
    /// Where it stands in the file.
    pub span: Span,
    /// Where its zone stands in the file.
    pub zone_span: Span,
}

impl CareRow {
    pub(super) fn read(table: &mut Table) -> Option<CareRow> {
        let from = table.needed().date("from", "the first day");
        let place = table.needed().word("place", "inpatient, home or elsewhere");
        let reports = table.word("reports", "each (default): every change as it happens; log: by a log now and then");
        let zone = table.text("time_zone", "the zone, where it is not the policy's");
        let time_zone = zone.and_then(|name| time_zone(table, &name));
        let why = by_and_why(table);
        let (span, zone_span) = (table.span("from"), table.span("time_zone"));
        Some(CareRow {
            zone_span,
            from: from?,
            place: place?,
            reports: reports.unwrap_or(Reports::Each),
            time_zone,
            why,
            span,
        })
    }
}

/// A clinician's order; it overrides the policy's phases while it runs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// Its first day.
    pub from: NaiveDate,
    /// Its last day, included; without one it runs on.
    pub until: Option<NaiveDate>,
    /// How often the dressing is changed; none where it is only about showers.
    pub interval: Option<Interval>,
    /// No showers while it runs.
    pub no_showers: bool,
    /// The exit site that it is for; none means all.
    pub exit: Option<String>,
    /// Who gave it.
    pub by: String,
    /// Why.
    pub why: Option<String>,
    /// Where it stands in the file.
    pub span: Span,
    /// Where it sets the interval in days.
    pub interval_span: Span,
    /// Where it says who gave it.
    pub by_span: Span,
}

impl Order {
    pub(super) fn read(table: &mut Table) -> Option<Order> {
        let from = table.needed().date("from", "its first day");
        let until = table.date("until", "its last day, included");
        let interval = Interval::read(table);
        let no_showers = table.flag("no_showers", "no showers while it runs");
        let exit = table.text("exit", "the exit site that it is for; none means all");
        table.needed();
        let by = person(table, "by", &[], "who gave it");
        let why = table.text("why", "why");
        let (span, by_span) = (table.span("from"), table.span("by"));
        let interval_span = table.span("every_days");
        check_until(table, from, until);
        let says = ["every_days", "on_weekdays", "no_showers"].iter().filter(|key| table.has(key)).count();
        if says != 1 && !table.is_description() && !(table.has("every_days") && table.has("on_weekdays")) {
            table.add(
                Rule::Interval,
                "from",
                "an order says exactly one of every_days, on_weekdays, no_showers",
                "write two orders for two things",
            );
        }
        if no_showers == Some(false) {
            table.add(
                Rule::Interval,
                "no_showers",
                "no_showers = false orders nothing",
                "end the order that forbade showers by its `until`",
            );
        }
        Some(Order {
            from: from?,
            until,
            interval,
            no_showers: no_showers.unwrap_or(false),
            exit,
            by: by?,
            why,
            span,
            interval_span,
            by_span,
        })
    }

    /// Whether it runs on `day` for the exit site `id`.
    pub fn runs_on(&self, day: NaiveDate, id: &str) -> bool {
        self.from <= day
            && self.until.is_none_or(|until| day <= until)
            && self.exit.as_ref().is_none_or(|exit| exit == id)
    }

    /// Whether both give an interval, not the same, for some day and exit.
    pub fn disagrees_with(&self, other: &Order) -> bool {
        let runs_together =
            self.until.is_none_or(|until| other.from <= until) && other.until.is_none_or(|until| self.from <= until);
        let is_same_exit = self.exit.is_none() || other.exit.is_none() || self.exit == other.exit;
        runs_together
            && is_same_exit
            && self.interval.is_some()
            && other.interval.is_some()
            && self.interval != other.interval
    }
}

/// A caregiver.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caregiver {
    /// The code, never a name.
    pub code: String,
    /// What the caregiver is to the patient.
    pub relation: Option<String>,
    /// Where it stands in the file.
    pub span: Span,
}

impl Caregiver {
    pub(super) fn read(table: &mut Table) -> Option<Caregiver> {
        table.needed();
        let code = person(table, "code", &[], "a code, never a name");
        let relation = table.text("relation", "what the caregiver is to the patient");
        by_and_why(table);
        let span = table.span("code");
        Some(Caregiver { code: code?, relation, span })
    }
}

words! {
    /// Why support ended.
    pub enum EndReason {
        /// A new heart.
        Transplant = "transplant",
        /// The own heart recovered.
        Recovery = "recovery",
        /// Death.
        Death = "death",
        /// Another program looks after the patient.
        Transferred = "transferred",
        /// Otherwise.
        Other = "other",
    }
}

/// The end of support: nothing is due from this day on.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
pub struct End {
    /// The day.
    pub on: NaiveDate,
    /// Why.
    pub why: EndReason,
    /// Where the day stands in the file.
    #[serde(skip)]
    pub span: Span,
}

impl End {
    pub(super) fn read(table: &mut Table) -> Option<End> {
        let on = table.needed().date("on", "the day");
        let why = table.needed().word("why", "why support ended");
        person(table, "by", &[], "who said so");
        Some(End { on: on?, why: why?, span: table.span("on") })
    }
}

/// Who wrote a row, and why: optional on every row, written by the commands.
fn by_and_why(table: &mut Table) -> Option<String> {
    person(table, "by", &[], "who said so");
    table.text("why", "why")
}

fn check_until(table: &mut Table, from: Option<NaiveDate>, until: Option<NaiveDate>) {
    if let (Some(from), Some(until)) = (from, until)
        && until < from
    {
        table.add(
            Rule::EndsBeforeItBegins,
            "until",
            format!("it ends on {until}, before it begins on {from}"),
            "correct the one that is wrong",
        );
    }
}
