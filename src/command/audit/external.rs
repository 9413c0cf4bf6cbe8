//! `exitsite audit --external`: one complete calendar year, and nothing that could be subtracted from it.

use chrono::Datelike;

use super::{Args, Context, Outcome, look_back_days, no_policy, unusable, wrong, year};
use crate::audit::{AuditSpan, Cohort};
use crate::folder::write_outside;
use crate::problem::Failure;
use crate::report::audit;
use crate::text::{count, path};
use crate::view;

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let named = only_a_year(args)?;
    let program = context.program(&args.asking)?;
    let as_of = context.as_of(&program, &args.asking)?;
    let Some(plan) = program.plan() else {
        return Err(no_policy());
    };
    let today = plan.calendar.today(as_of.instant);
    let asked = year(named).ok_or_else(|| wrong("--year", named, "2025"))?;
    let span = AuditSpan::of(asked, today, look_back_days(&program)).filter(|span| span.is_over);
    let span = span.ok_or_else(|| not_over(asked.from.year(), today.year()))?;
    let cohort = Cohort::read(&program, as_of, &span);
    let unusable = unusable(&program, &cohort);
    let report = audit::external(&cohort, program.policy.as_ref(), &span, unusable.is_empty())?;
    let stdout = match &args.html {
        Some(file) => {
            let page = view::external_page(&report);
            write_outside(&context.surroundings.here.join(file), &page, Some(&view::external_mark()))?;
            format!("Wrote {}: the external report.\n", path(file))
        }
        None if args.asking.json => view::json(&report),
        None => view::audit_external(&report, context.look),
    };
    Ok(match unusable.len() {
        0 => Outcome { stdout, ..Outcome::default() },
        // The files are not named, since the message may be copied with the report.
        n => Outcome {
            stdout,
            stderr: format!(
                "exitsite: the report is not complete: {} cannot be read; `exitsite check` names them\n",
                count(n as i64, "file")
            ),
            status: 3,
            ..Outcome::default()
        },
    })
}

/// The year of the report. Rejects every other choice: a part of a year, a group, a difference or another moment could
/// be subtracted from the year.
fn only_a_year(args: &Args) -> Result<&str, Failure> {
    let period = &args.period;
    let others = [
        ("--month", period.month.is_some()),
        ("--quarter", period.quarter.is_some()),
        ("--from", period.from.is_some()),
        ("--to", period.to.is_some()),
        ("--compare", args.compare.is_some()),
        ("--by", args.by.is_some()),
        ("--issued", args.issued.is_some()),
        ("--as-of", args.asking.as_of.is_some()),
        ("--at-commit", args.asking.at_commit.is_some()),
    ];
    if let Some((flag, _)) = others.iter().find(|(_, is_given)| *is_given) {
        return Err(Failure::new(format!(
            "--external is one calendar year of all patients, as on file now, so that no two reports can be subtracted; leave {flag} out and name the year with --year"
        )));
    }
    period.year.as_deref().ok_or_else(|| {
        Failure::new("--external is a report of one calendar year; name it with --year, for example --year 2025")
    })
}

fn not_over(year: i32, this_year: i32) -> Failure {
    Failure::new(format!(
        "{year} is not over, and an external report covers a complete calendar year; choose {} or an earlier year",
        this_year - 1
    ))
}
