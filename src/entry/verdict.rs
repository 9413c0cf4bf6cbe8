//! What a change to a file brings with it: only the problems that were not there before count against it.

use chrono::NaiveDate;

use super::book::Trial;
use crate::patient::Patient;
use crate::problem::{Level, Problem, Rule};
use crate::program::Program;
use crate::text::{same_code, visible};

/// The problems that a change brings.
#[derive(Debug, Clone, Default)]
pub struct Verdict {
    /// What must be put right first.
    pub refused: Vec<Problem>,
    /// What somebody has to say yes to.
    pub asked: Vec<Problem>,
    /// What is only said.
    pub noted: Vec<Problem>,
}

impl Verdict {
    /// What is wrong after a change and was not before; `is_refused` says which of it is never written.
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

    /// What the corrected text of a record brings, beside that which stands there.
    ///
    /// A record that could not be used and now can is compared with the others for the first time: what is only unlikely
    /// in it is asked about.
    pub fn of_trials(before: Trial, after: Trial, is_refused: impl Fn(Rule) -> bool) -> Verdict {
        let is_mended = before.event.is_none() && after.event.is_some();
        let is_refused = |rule: Rule| if is_mended { rule.level() == Level::Error } else { is_refused(rule) };
        // A stamp is of now. If it is older than the event, the event's own time is what is wrong.
        let counts = |problem: &Problem| problem.rule != Rule::OlderThanItsEvent || !is_of_a_stamp(problem);
        let all = |trial: Trial| trial.refused.into_iter().chain(trial.asked).chain(trial.noted).collect::<Vec<_>>();
        Verdict::of(all(before), all(after).into_iter().filter(counts).collect(), is_refused)
    }
}

fn is_of_a_stamp(problem: &Problem) -> bool {
    problem.key.as_deref().is_some_and(|key| ["amended", "void"].contains(&key))
}

/// Whether somebody may write into these records: one of the staff, or one of the patient's caregivers. Where the staff
/// are not known nobody is refused.
///
/// # Errors
/// One sentence that says what to type instead.
pub fn is_writer(program: &Program, patient: Option<&Patient>, code: &str, day: NaiveDate) -> Result<(), String> {
    if !crate::event::is_person_code(code) {
        return Err(format!(
            "\"{}\" is not a person's code: 2 to 24 letters, digits and hyphens, as in rn-07; never a name",
            visible(code)
        ));
    }
    let caregivers = patient.map(|patient| patient.caregivers.as_slice()).unwrap_or_default();
    let Some(people) = program.people.as_ref().filter(|people| people.source.is_some()) else { return Ok(()) };
    if caregivers.iter().any(|caregiver| caregiver.code == code) {
        return Ok(());
    }
    match people.get(code) {
        Some(person) if person.is_active(day) => Ok(()),
        Some(_) => Err(format!("{code} is not with the program any more; look at `from` and `until` in people.toml")),
        None => {
            if let Some(patient) = program.household_of(code) {
                return Err(format!("{code} is a caregiver of {patient}: is this about {patient}?"));
            }
            let staff = people.people.iter().map(|person| person.code.as_str());
            let known = staff.chain(caregivers.iter().map(|caregiver| caregiver.code.as_str()));
            let near =
                same_code(code, known).map(|near| format!("did you mean {near}? Otherwise ")).unwrap_or_default();
            Err(format!("unknown code {code}; {near}add it to people.toml, or to the patient's caregivers"))
        }
    }
}
