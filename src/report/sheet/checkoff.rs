//! The checkoff of a curriculum: the steps, to be marked by the observer of a learner.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::event::is_person_code;
use crate::policy::{Curriculum, CurriculumRole};
use crate::problem::Failure;
use crate::rules::Rules;
use crate::text::{self, visible};

/// The requested checkoff.
#[derive(Debug, Clone, Copy, Default)]
pub struct Wanted<'a> {
    /// The name of the curriculum.
    pub curriculum: &'a str,
    /// The version; the newest if `None`.
    pub version: Option<i64>,
    /// The patient of the household that learns.
    pub patient: Option<&'a str>,
    /// The learner: a code, or `patient`.
    pub learner: Option<&'a str>,
    /// The day for which staff membership is determined.
    pub today: Option<NaiveDate>,
}

/// A blank checkoff.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BlankCheckoff {
    /// The name of the program.
    pub program: String,
    /// The patient of the household that learns; null if none was named.
    pub patient: Option<String>,
    /// The learner; null if none was named.
    pub learner: Option<String>,
    /// The name of the curriculum.
    pub curriculum: String,
    /// The role that the curriculum is for.
    pub role: CurriculumRole,
    /// The version.
    pub version: i64,
    /// Passed checkoffs on different days needed for a sign-off; null if that part of the policy is invalid.
    pub sign_off_after: Option<i64>,
    /// Days for which a sign-off is valid; null if that part of the policy is invalid.
    pub valid_days: Option<i64>,
    /// The steps, in order.
    pub steps: Vec<StepRow>,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct StepRow {
    /// The id of the step.
    pub id: String,
    /// The text of the step.
    pub text: String,
    /// True if missing the step can cause infection.
    pub critical: bool,
}

/// Returns the checkoffs of a curriculum: the one for the learner's role, or one per role if no learner is named.
/// Staff use the curriculum for nurses; caregivers and patients the one for caregivers.
///
/// # Errors
/// Unknown curriculum, version or code; the message lists the known ones.
pub fn checkoffs(rules: Rules, wanted: Wanted) -> Result<Vec<BlankCheckoff>, Failure> {
    let curricula = rules
        .policy
        .and_then(|policy| policy.curricula.as_deref())
        .ok_or_else(|| Failure::new("the curricula in policy.toml are invalid; `exitsite check` shows why"))?;
    if let Some(code) = wanted.learner.filter(|code| *code != "patient" && !is_person_code(code)) {
        let code = visible(code);
        return Err(Failure::new(format!(
            "--for \"{code}\" is not a code. Write one such as p014-spouse or rn-07, or patient."
        )));
    }
    let role = role(rules, &wanted)?;
    let fits = |curriculum: &&Curriculum| {
        curriculum.name == wanted.curriculum && role.is_none_or(|role| role == curriculum.role)
    };
    let mut found: Vec<&Curriculum> = Vec::new();
    for curriculum in curricula.iter().filter(fits) {
        let is_wanted = wanted.version.is_none_or(|version| version == curriculum.version);
        match found.iter_mut().find(|known| known.role == curriculum.role) {
            Some(known) if is_wanted && known.version < curriculum.version => *known = curriculum,
            None if is_wanted => found.push(curriculum),
            _ => {}
        }
    }
    if found.is_empty() {
        return Err(no_such_curriculum(curricula, &wanted, role));
    }
    Ok(found.into_iter().map(|curriculum| BlankCheckoff::of(rules, &wanted, curriculum)).collect())
}

/// Returns the learner's role; `None` if no learner is named.
fn role(rules: Rules, wanted: &Wanted) -> Result<Option<CurriculumRole>, Failure> {
    match (wanted.learner, wanted.patient) {
        (None, None) => Ok(None),
        (None | Some("patient"), _) => Ok(Some(CurriculumRole::Caregiver)),
        (Some(code), _) => match (rules.people, wanted.today) {
            (Some(people), Some(today)) if people.is_staff(code, today) => Ok(Some(CurriculumRole::Nurse)),
            (Some(_), _) => Ok(Some(CurriculumRole::Caregiver)),
            (None, _) => Err(Failure::new(format!(
                "people.toml cannot be used, so it is not known if {code} is a staff member; `exitsite check` shows why"
            ))),
        },
    }
}

fn no_such_curriculum(curricula: &[Curriculum], wanted: &Wanted, role: Option<CurriculumRole>) -> Failure {
    let named = |curriculum: &&Curriculum| curriculum.name == wanted.curriculum;
    let of_role = |curriculum: &&Curriculum| role.is_none_or(|role| role == curriculum.role);
    let mut versions: Vec<i64> =
        curricula.iter().filter(named).filter(of_role).map(|curriculum| curriculum.version).collect();
    versions.sort_unstable();
    versions.dedup();
    let versions: Vec<String> = versions.iter().map(i64::to_string).collect();
    let name = visible(wanted.curriculum);
    Failure::new(if let (Some(version), false) = (wanted.version, versions.is_empty()) {
        let versions = text::either(&versions.iter().map(String::as_str).collect::<Vec<_>>());
        format!("the curriculum {name} has no version {version}. Use --version {versions}, or omit it")
    } else if let (Some(role), Some(other)) = (role, curricula.iter().find(named)) {
        format!("the curriculum {name} is for a {}, not for a {role}. Choose another learner", other.role)
    } else {
        let mut known: Vec<&str> = curricula.iter().map(|curriculum| curriculum.name.as_str()).collect();
        known.dedup();
        format!("unknown curriculum {name}. The policy has {}", visible(&known.join(", ")))
    })
}

impl BlankCheckoff {
    fn of(rules: Rules, wanted: &Wanted, curriculum: &Curriculum) -> BlankCheckoff {
        let policy = rules.policy;
        let teaching = policy.and_then(|policy| policy.teaching);
        let step = |step: &crate::policy::CurriculumStep| StepRow {
            id: step.id.clone(),
            text: step.text.clone(),
            critical: step.critical,
        };
        BlankCheckoff {
            program: policy.map(|policy| policy.program.clone()).unwrap_or_default(),
            patient: wanted.patient.map(str::to_owned),
            learner: wanted.learner.map(str::to_owned),
            curriculum: curriculum.name.clone(),
            role: curriculum.role,
            version: curriculum.version,
            sign_off_after: teaching.map(|teaching| teaching.sign_off_after),
            valid_days: teaching.map(|teaching| teaching.valid_days),
            steps: curriculum.steps.iter().map(step).collect(),
        }
    }
}
