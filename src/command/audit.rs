//! `exitsite audit`

mod external;

use std::path::PathBuf;

use chrono::NaiveDate;
use clap::builder::PossibleValuesParser;

use super::progress::while_reading;
use super::{Context, Outcome, ReadingFlags};
use crate::ask::unusable_of;
use crate::audit::{AuditSpan, Cohort, Month};
use crate::day::{Period, before, is_date_of_care};
use crate::folder::{read_outside, write_outside};
use crate::problem::Failure;
use crate::program::Program;
use crate::report::audit::{self, AuditOptions, GroupBy, Issued, Provenance};
use crate::report::{Report, Unusable};
use crate::text;
use crate::view;
use crate::word::Word;

/// The largest report that is read, in bytes.
const LARGEST: u64 = 64_000_000;

/// Report a period: infections per device-day, changes, signals
///
/// Without a period it reports the last complete month. Every figure comes with its denominator and confidence limits.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    period: PeriodArgs,

    /// Compare with the period from this first to this last day; default: compare the 12 months to the period's end
    /// with the 12 months before
    #[arg(long, value_names = ["FROM", "TO"], num_args = 2)]
    compare: Option<Vec<String>>,

    /// Compare the time to a first infection between groups of patients with the same value of this field
    #[arg(long, value_name = "FIELD", value_parser = PossibleValuesParser::new(GroupBy::WORDS))]
    by: Option<String>,

    /// List what has changed since a report was issued; FILE is the JSON of that report
    #[arg(long, value_name = "FILE")]
    issued: Option<PathBuf>,

    /// Print figures that may leave the program, for one complete calendar year (with --year): counts of 5 or more, no
    /// codes, no dates, no breakdown of any count
    #[arg(long)]
    external: bool,

    /// Write a page with charts, to read or print, to this file; replaces only a page written by this command
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    html: Option<PathBuf>,

    #[command(flatten)]
    asking: ReadingFlags,
}

/// The period, as one of these.
#[derive(Debug, clap::Args)]
struct PeriodArgs {
    /// A month
    #[arg(long, value_name = "YYYY-MM", conflicts_with_all = ["quarter", "year", "from", "to"])]
    month: Option<String>,

    /// A quarter
    #[arg(long, value_name = "YYYY-Qn", conflicts_with_all = ["year", "from", "to"])]
    quarter: Option<String>,

    /// A year
    #[arg(long, value_name = "YYYY", conflicts_with_all = ["from", "to"])]
    year: Option<String>,

    /// The first day
    #[arg(long, value_name = "DATE", requires = "to")]
    from: Option<String>,

    /// The last day
    #[arg(long, value_name = "DATE", requires = "from")]
    to: Option<String>,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    if args.external {
        return external::run(args, context);
    }
    let program = context.program(&args.asking)?;
    let as_of = context.as_of(&program, &args.asking)?;
    let Some((policy, plan)) = program.policy.as_ref().zip(program.plan()) else {
        return Err(no_policy());
    };
    let today = plan.calendar.today(as_of.instant);
    let asked = args.period.days(today)?;
    let span = AuditSpan::of(asked, today, look_back_days(&program)).ok_or_else(|| not_begun(asked, today))?;
    let question = AuditOptions {
        compare: args.compare.as_deref().map(|both| compared(both, span.period, today)).transpose()?,
        by: args.by.as_deref().and_then(GroupBy::from_word),
        issued: args.issued.as_ref().map(|file| issued(file, context)).transpose()?,
    };
    if let Some(issued) = &question.issued {
        issued.check(&policy.program, as_of.instant)?;
    }
    let patients = program.patients.codes.len();
    let read = || Cohort::read(&program, as_of, &span);
    let cohort = while_reading(context, &program, "Reading patients", patients, read);
    let body = audit::report(&cohort, program.rules(), provenance(&program), &span, &question);
    let report = Report::of("audit", as_of, &plan.calendar, unusable(&program, &cohort), body);
    if let Some(file) = &args.html {
        write_outside(&context.surroundings.here.join(file), &view::audit_page(&report), Some(&view::audit_mark()))?;
        let said = format!("Wrote {}: the report with its charts.\n", text::path(file));
        return Ok(Outcome::report(said, &report.unusable));
    }
    let text = if args.asking.json { view::json(&report) } else { view::audit(&report, context.look) };
    Ok(Outcome::report(text, &report.unusable))
}

/// The unreadable files.
fn unusable(program: &Program, cohort: &Cohort) -> Vec<Unusable> {
    unusable_of(program, true).into_iter().chain(cohort.problems().map(Unusable::from)).collect()
}

fn provenance(program: &Program) -> Provenance {
    let kept = program.folder.kept();
    let (policy_commit, policy_changed_on) = kept.policy.unzip();
    Provenance { records_commit: kept.commit, uncommitted_changes: kept.has_changes, policy_commit, policy_changed_on }
}

/// The number of days that signals look back; 0 if that part of the policy is unreadable.
fn look_back_days(program: &Program) -> i64 {
    let signals = program.policy.as_ref().and_then(|policy| policy.signals.as_ref());
    signals.map_or(0, |signals| signals.look_back_days)
}

impl PeriodArgs {
    /// The days of the audit.
    fn days(&self, today: NaiveDate) -> Result<Period, Failure> {
        match (&self.month, &self.quarter, &self.year, &self.from, &self.to) {
            (Some(text), ..) => month(text).ok_or_else(|| wrong("--month", text, "2026-10")),
            (_, Some(text), ..) => quarter(text).ok_or_else(|| wrong("--quarter", text, "2026-Q3")),
            (_, _, Some(text), ..) => year(text).ok_or_else(|| wrong("--year", text, "2026")),
            (.., Some(from), Some(to)) => days(("--from", from), ("--to", to), today),
            _ => Ok(last_month(today)),
        }
    }
}

/// The last month that is complete on a day.
fn last_month(today: NaiveDate) -> Period {
    Month::of(before(Month::of(today).days().from)).days()
}

fn month(text: &str) -> Option<Period> {
    let days = Month::read(text)?.days();
    (text.len() == 7 && is_date_of_care(days.from)).then_some(days)
}

fn quarter(text: &str) -> Option<Period> {
    let (year, n) = text.split_once("-Q").or_else(|| text.split_once("-q"))?;
    let n: u32 = n.parse().ok().filter(|n| (1..=4).contains(n))?;
    let [first, last] = [3 * n - 2, 3 * n].map(|n| month(&format!("{year}-{n:02}")));
    Some(Period { from: first?.from, to: last?.to })
}

fn year(text: &str) -> Option<Period> {
    let [first, last] = ["01", "12"].map(|n| month(&format!("{text}-{n}")));
    Some(Period { from: first?.from, to: last?.to })
}

fn days(from: (&str, &str), to: (&str, &str), today: NaiveDate) -> Result<Period, Failure> {
    let read = |(flag, text): (&str, &str)| {
        let day = text.parse::<NaiveDate>().ok().filter(|day| is_date_of_care(*day));
        day.ok_or_else(|| wrong(flag, text, "2026-10-31"))
    };
    Period::asked(read(from)?, read(to)?, today).map_err(Failure::new)
}

/// The comparison period: it ends before the period begins, so that nothing is counted twice, and has no future day.
fn compared(both: &[String], period: Period, today: NaiveDate) -> Result<Period, Failure> {
    let [from, to] = both else {
        return Err(Failure::new("--compare needs two days, the first and the last"));
    };
    let compared = days(("--compare", from), ("--compare", to), today)?;
    if compared.to >= period.from {
        return Err(Failure::new(format!(
            "--compare {} {} does not end before the period begins on {}; choose an earlier time",
            compared.from, compared.to, period.from
        )));
    }
    Ok(compared)
}

fn issued(file: &PathBuf, context: &Context) -> Result<Issued, Failure> {
    let bytes = read_outside(&context.surroundings.here.join(file), LARGEST)?;
    Issued::read(&text::path(file), &String::from_utf8_lossy(&bytes))
}

fn wrong(flag: &str, text: &str, example: &str) -> Failure {
    Failure::new(format!("{flag} \"{}\" is not understood. Write it as {example}.", crate::text::visible(text)))
}

fn no_policy() -> Failure {
    Failure::new("policy.toml cannot be read, so an audit is not possible; run `exitsite check` for the reason")
}

fn not_begun(asked: Period, today: NaiveDate) -> Failure {
    Failure::new(format!("{} to {} has not started: today is {today}; choose a period that has", asked.from, asked.to))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn periods_are_whole_months_quarters_and_years() {
        let check = |period: Option<Period>, expected: &str| {
            let shown = period.map_or("none".to_owned(), |period| format!("{} {}", period.from, period.to));
            assert_eq!(shown, expected);
        };
        check(month("2028-02"), "2028-02-01 2028-02-29");
        check(month("2026-12"), "2026-12-01 2026-12-31");
        check(month("2026-13"), "none");
        check(month("2026-1"), "none");
        check(month("1066-01"), "none");
        check(quarter("2026-Q1"), "2026-01-01 2026-03-31");
        check(quarter("2026-Q4"), "2026-10-01 2026-12-31");
        check(quarter("2026-Q5"), "none");
        check(year("2026"), "2026-01-01 2026-12-31");
        check(year("26"), "none");
        check(Some(last_month("2026-03-15".parse().unwrap())), "2026-02-01 2026-02-28");
        check(Some(last_month("2026-01-01".parse().unwrap())), "2025-12-01 2025-12-31");
    }
}
