//! Two policies, applied to the same records.

use super::Answer;
use crate::chart::Looks;
use crate::day::{AsOf, Period};
use crate::policy::changes;
use crate::problem::Failure;
use crate::program::Program;
use crate::report::policy::{self, PolicyReport};

/// Returns the effects of replacing the policy of `was` with that of `now`, over the same records. Rows follow the order of
/// the patient list.
///
/// # Errors
/// The schedule section of either policy is invalid.
pub fn policy(
    was: &Program,
    now: &Program,
    since_commit: Option<String>,
    as_of: AsOf,
    period: Period,
) -> Result<Answer<PolicyReport>, Failure> {
    let codes = now.codes(&[])?;
    let (old_plan, new_plan) = (was.usable_plan()?, now.usable_plan()?);
    let text = |program: &Program| program.policy_source.as_ref().map(|source| source.text.clone()).unwrap_or_default();
    let (mut old_due, _) = super::due(was, &codes, as_of, false);
    let (mut new_due, mut unusable) = super::due(now, &codes, as_of, true);
    let by_code = |one: &crate::report::due::Row| (one.patient().to_owned(), one.exit().map(str::to_owned));
    old_due.rows.sort_by_key(by_code);
    new_due.rows.sort_by_key(by_code);
    let (exit_sites, next_changes) = policy::next_changes(&old_due, &new_due);
    let (old_missed, _) = super::missed(was, old_plan, &codes, as_of, period);
    let (new_missed, files) = super::missed(now, new_plan, &codes, as_of, period);
    unusable.extend(files);
    let (old_signals, new_signals) =
        (super::signals(was, &codes, as_of, true).0, super::signals(now, &codes, as_of, true).0);
    // An unchanged rubric need not be applied to every site record.
    let scores = match was.rules().scoring().zip(now.rules().scoring()) {
        Some((was, now)) if was == now => Some(Vec::new()),
        Some((old, new)) => {
            let looks = Looks::Each(None);
            let (old, _) = super::grade(was, old, &codes, as_of, looks);
            let (new, files) = super::grade(now, new, &codes, as_of, looks);
            unusable.extend(files);
            Some(policy::scores(&old, &new))
        }
        None => None,
    };
    let report = PolicyReport {
        since_commit,
        changes: changes(&text(was), &text(now)),
        exit_sites,
        next_changes,
        period,
        missed: policy::missed(&old_missed, &new_missed),
        signals: policy::signals(&old_signals, &new_signals),
        scores,
    };
    Ok((report, unusable))
}
