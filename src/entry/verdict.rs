//! The problems that a change to a file introduces; only new problems count against the change.

use chrono::NaiveDate;

use super::book::Trial;
use crate::check;
use crate::patient::Patient;
use crate::problem::{Level, Problem, Rule};
use crate::program::Program;
use crate::text::visible;

/// The problems that a change introduces.
#[derive(Debug, Clone, Default)]
pub struct Verdict {
    /// Problems that refuse it.
    pub refused: Vec<Problem>,
    /// Problems that need a yes.
    pub asked: Vec<Problem>,
    /// Problems that are only shown.
    pub noted: Vec<Problem>,
}

impl Verdict {
    /// The problems after a change that did not exist before; `is_refused` selects those that prevent the write.
    pub fn of(before: Vec<Problem>, after: Vec<Problem>, is_refused: impl Fn(Rule) -> bool) -> Verdict {
        let mut known = before;
        let mut verdict = Verdict::default();
        for problem in after {
            if let Some(at) = known.iter().position(|other| other.fault() == problem.fault()) {
                known.swap_remove(at);
            } else if is_refused(problem.rule) {
                verdict.refused.push(problem);
            } else if problem.rule.level() == Level::Note {
                verdict.noted.push(problem);
            } else {
                verdict.asked.push(problem);
            }
        }
        verdict
    }

    /// The problems that a corrected text of a record introduces.
    ///
    /// A record that becomes usable is compared with the others for the first time; unlikely values in it are asked
    /// about.
    pub(crate) fn of_trials(before: Trial, after: Trial, is_refused: impl Fn(Rule) -> bool) -> Verdict {
        let is_mended = before.event.is_none() && after.event.is_some();
        let is_refused = |rule: Rule| if is_mended { rule.level() == Level::Error } else { is_refused(rule) };
        // A stamp has the current time. If it is older than the event, the event's time is wrong.
        let counts = |problem: &Problem| problem.rule != Rule::OlderThanItsEvent || !is_of_a_stamp(problem);
        let all = |trial: Trial| trial.refused.into_iter().chain(trial.asked).chain(trial.noted).collect::<Vec<_>>();
        Verdict::of(all(before), all(after).into_iter().filter(counts).collect(), is_refused)
    }
}

fn is_of_a_stamp(problem: &Problem) -> bool {
    problem.key.as_deref().is_some_and(|key| ["amended", "void"].contains(&key))
}

/// Checks that a code may write to these records: staff, or one of the patient's caregivers. Without a staff list every
/// code may.
///
/// # Errors
/// One sentence with the correct form.
pub fn is_writer(program: &Program, patient: Option<&Patient>, code: &str, day: NaiveDate) -> Result<(), String> {
    if !crate::event::is_person_code(code) {
        return Err(format!(
            "\"{}\" is not a staff or caregiver code: 2 to 24 letters, digits and hyphens, such as rn-07, never a name.",
            visible(code)
        ));
    }
    // Without a staff list, every code is accepted.
    let is_known = program.people.as_ref().is_some_and(|people| people.source.is_some());
    let fault = || {
        let unknown = check::unknown_code(program, patient, "", code);
        unknown.or_else(|| check::inactive_code(program, patient, code, day))
    };
    match is_known.then(fault).flatten() {
        Some(sentences) => Err(sentences),
        None => Ok(()),
    }
}
