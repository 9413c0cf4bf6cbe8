//! A household's monthly log: the plan for each day, and the notes needed to fill it in.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::Chart;
use crate::day::{Period, is_date_of_care, plus};
use crate::patient::{self, Patient, Where};
use crate::policy::{CarePlan, Interval, Weekday};
use crate::problem::{Failure, Problem};
use crate::schedule::{Because, DayPlan, Due, Outlook, PlannedDay, Schedule};

/// A household's monthly log.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MonthLog {
    /// The patient's code.
    pub patient: String,
    /// The name of the program.
    pub program: String,
    /// The first day of the month.
    pub from: NaiveDate,
    /// The last day of the month.
    pub to: NaiveDate,
    /// The day on which the log is made.
    pub made_on: NaiveDate,
    /// Materials that the patient does not tolerate.
    pub intolerances: Vec<String>,
    /// The codes of the caregivers who may have changed the dressing.
    pub caregivers: Vec<String>,
    /// Hours allowed from a shower to the next change.
    pub after_shower_hours: i64,
    /// Hours allowed from a damaged dressing to the next change.
    pub after_damage_hours: i64,
    /// True if the due days are known.
    pub is_planned: bool,
    /// The program's own lines for the box "Call us now if"; empty to use those of the language.
    pub call_now: Vec<String>,
    /// The program's phone numbers.
    pub numbers: Vec<String>,
    /// The exit sites with an expected change in the month.
    pub exits: Vec<Exit>,
}

/// One exit site's days.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Exit {
    /// The exit site's id.
    pub exit: String,
    /// The location on the abdomen.
    #[serde(rename = "where")]
    pub at: Where,
    /// The care day of the last change on file.
    pub last_change: Option<NaiveDate>,
    /// The change intervals in the month.
    pub intervals: Vec<DaySpan>,
    /// Days on which an order forbids showers.
    pub no_showers: Vec<DaySpan>,
    /// The first day on which showers are allowed by the policy, if in the month or later.
    pub showers_from: Option<NaiveDate>,
    /// Every day of the month.
    pub days: Vec<LogDay>,
}

/// A range of days of the month.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct DaySpan {
    /// The first day.
    pub from: NaiveDate,
    /// The last day.
    pub to: NaiveDate,
    /// The interval in words.
    pub says: String,
    /// Days between changes; null if weekdays are ordered, or if the range is not an interval.
    pub every_days: Option<i64>,
    /// The weekdays on which a change is due, if weekdays are ordered.
    pub weekdays: Vec<Weekday>,
    /// The minimum days between two changes, if weekdays are ordered; otherwise null.
    pub min_days: Option<i64>,
}

/// One day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LogDay {
    /// The date.
    pub day: NaiveDate,
    /// The plan; null if not known.
    pub plan: Option<DayPlan>,
    /// The reason a change is due.
    pub because: Option<Because>,
    /// True if an order forbids showers.
    pub no_showers: bool,
}

/// Builds a patient's monthly log from charts with the windows `State` and `Changes`.
///
/// # Errors
/// The patient's course is invalid, or no change is expected in that month.
pub fn log(plan: &CarePlan, recent: &Chart, around: &Chart, month: Period) -> Result<MonthLog, Failure> {
    let (now, month_around) = (recent.timeline(), around.timeline());
    let (patient, today) = (&recent.patient, now.today);
    // Future days depend only on the last change; a past month depends on all its files.
    let is_planned = recent.unread.state().is_none() && (today <= month.to || around.unread.is_empty());
    let exit = |exit| {
        let schedule = Schedule { plan, patient, exit };
        let due = Due::of(&schedule, &now);
        let outlook = Outlook::of(&schedule, &month_around, &due, month);
        Exit::of(&schedule, &due, &outlook, is_planned)
    };
    let exits: Vec<Exit> = patient.exits_open_between(month.from, month.to).filter_map(exit).collect();
    if exits.is_empty() {
        return Err(nothing_expected(patient, month));
    }
    let setting = recent.rules.policy.and_then(|policy| policy.sheet.clone()).unwrap_or_default();
    Ok(MonthLog {
        patient: patient.code.clone(),
        program: recent.rules.policy.map(|policy| policy.program.clone()).unwrap_or_default(),
        from: month.from,
        to: month.to,
        made_on: today,
        intolerances: patient.intolerances.clone(),
        caregivers: patient.caregivers.iter().map(|caregiver| caregiver.code.clone()).collect(),
        after_shower_hours: plan.windows.after_shower_hours,
        after_damage_hours: plan.windows.after_damage_hours,
        is_planned,
        call_now: setting.call_now,
        numbers: setting.numbers,
        exits,
    })
}

impl Exit {
    /// Returns `None` if no change is expected on any day of the month.
    fn of(schedule: &Schedule, due: &Due, outlook: &Outlook, is_planned: bool) -> Option<Exit> {
        let is_inside = |planned: &PlannedDay| !matches!(planned.plan, DayPlan::NotBegun | DayPlan::Ended);
        if !outlook.days.iter().any(is_inside) {
            return None;
        }
        let first = outlook.days.first()?.day;
        let forbids = |day| schedule.patient.orders.iter().any(|o| o.no_showers && o.runs_on(day, &schedule.exit.id));
        let day = |planned: &PlannedDay| LogDay {
            day: planned.day,
            // If a file is unreadable, only facts that do not depend on it are shown.
            plan: Some(planned.plan).filter(|plan| is_planned || !is_inside(planned) || *plan == DayPlan::Elsewhere),
            because: planned.because.filter(|_| is_planned),
            no_showers: forbids(planned.day),
        };
        let interval = |planned: &PlannedDay| {
            let is_asked = is_inside(planned) && planned.plan != DayPlan::Elsewhere;
            schedule
                .interval(planned.day)
                .filter(|_| is_asked)
                .map(|(interval, _)| DaySpan::every(planned.day, interval))
        };
        let no_showers =
            |planned: &PlannedDay| forbids(planned.day).then(|| DaySpan::of(planned.day, "no showers".to_owned()));
        let first_shower = plus(schedule.exit.from, schedule.plan.windows.first_shower_pod);
        Some(Exit {
            exit: schedule.exit.id.clone(),
            at: schedule.exit.at,
            last_change: due.last_change.as_ref().map(|change| change.day).filter(|_| is_planned),
            intervals: spans(outlook, interval),
            no_showers: spans(outlook, no_showers),
            showers_from: (first_shower > first).then_some(first_shower),
            days: outlook.days.iter().map(day).collect(),
        })
    }
}

impl DaySpan {
    fn of(day: NaiveDate, says: String) -> DaySpan {
        DaySpan { from: day, to: day, says, every_days: None, weekdays: Vec::new(), min_days: None }
    }

    fn every(day: NaiveDate, interval: &Interval) -> DaySpan {
        let span = DaySpan::of(day, interval.to_string());
        match interval {
            Interval::EveryDays(days) => DaySpan { every_days: Some(*days), ..span },
            Interval::OnWeekdays { weekdays, min_days } => {
                DaySpan { weekdays: weekdays.clone(), min_days: Some(*min_days), ..span }
            }
        }
    }
}

/// Merges consecutive days with the same value into spans.
fn spans(outlook: &Outlook, of_day: impl Fn(&PlannedDay) -> Option<DaySpan>) -> Vec<DaySpan> {
    let mut spans: Vec<DaySpan> = Vec::new();
    for one in outlook.days.iter().filter_map(of_day) {
        match spans.last_mut().filter(|span| span.says == one.says && plus(span.to, 1) == one.from) {
            Some(span) => span.to = one.to,
            None => spans.push(one),
        }
    }
    spans
}

/// Parses a month such as `2026-11`.
///
/// # Errors
/// The text is not a month; the message shows the format.
pub fn month(text: &str) -> Result<Period, String> {
    let is_plain = text.len() == 7 && text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
    let first = format!("{text}-01").parse::<NaiveDate>().ok().filter(|first| is_plain && is_date_of_care(*first));
    first.map(month_of).ok_or_else(|| format!("\"{text}\" is not a month. Write 2026-11."))
}

/// Returns the month of a day.
pub fn month_of(day: NaiveDate) -> Period {
    use chrono::{Datelike, Months};
    let from = day.with_day(1).unwrap_or(day);
    let to = from.checked_add_months(Months::new(1)).and_then(|next| next.pred_opt()).unwrap_or(day);
    Period { from, to }
}

/// Creates the failure for a patient whose records cannot be read, with the first problem.
pub fn cannot_be_judged(code: &str, problems: &[Problem]) -> Failure {
    let unknown = || format!("cannot read {code}; `exitsite check` shows why");
    Failure::new(problems.iter().find(|problem| problem.makes_unusable()).map_or_else(unknown, |problem| {
        format!("cannot read {code}: {}: {}. `exitsite check` shows how to correct it", problem.place, problem.message)
    }))
}

fn nothing_expected(patient: &Patient, month: Period) -> Failure {
    let name = month.from.format("%Y-%m");
    let begins = patient.exits.iter().map(|exit| patient.start(exit)).min();
    Failure::new(match (begins, patient.ended.as_ref()) {
        (Some(begins), _) if month.to < begins => {
            format!(
                "no change is expected for {} in {name}: the records begin on {begins}. Choose that month or a later one",
                patient.code
            )
        }
        (_, Some(patient::SupportEnd { on, .. })) if *on <= month.from => {
            format!(
                "no change is expected for {} in {name}: support ended on {on}. Choose an earlier month",
                patient.code
            )
        }
        _ => format!(
            "no change is expected for {} in {name}: no exit site is open then. Choose another month, or check {}",
            patient.code, patient.source.file
        ),
    })
}
