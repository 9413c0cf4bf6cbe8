//! The checkoff of a curriculum: each step, to be ticked by whoever watches a learner do it.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::event::is_person_code;
use crate::policy::{Curriculum, CurriculumRole};
use crate::problem::Failure;
use crate::rules::Rules;
use crate::text::{self, visible};

/// The learner and the curriculum of a checkoff.
#[derive(Debug, Clone, Copy, Default)]
pub struct Wanted<'a> {
    /// The name of the curriculum.
    pub curriculum: &'a str,
    /// Its version; the newest where none is given.
    pub version: Option<i64>,
    /// The patient whose household learns.
    pub patient: Option<&'a str>,
    /// The learner: a code, or `patient`.
    pub learner: Option<&'a str>,
    /// The day, on which somebody is of the staff or not.
    pub today: Option<NaiveDate>,
}

/// A checkoff, to be filled in.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Checkoff {
    /// The name of the program.
    pub program: String,
    /// The patient whose household learns; null where nobody was named.
    pub patient: Option<String>,
    /// The learner; null if none was named.
    pub learner: Option<String>,
    /// The name of the curriculum.
    pub curriculum: String,
    /// The role that it teaches.
    pub role: CurriculumRole,
    /// Its version.
    pub version: i64,
    /// Qualifying checkoffs on different days until somebody is signed off; null where the policy's part cannot be used.
    pub sign_off_after: Option<i64>,
    /// For so many days; null likewise.
    pub valid_days: Option<i64>,
    /// The steps, in order.
    pub steps: Vec<StepRow>,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct StepRow {
    /// Its id.
    pub id: String,
    /// The step.
    pub text: String,
    /// True if a miss can infect.
    pub critical: bool,
}

/// The checkoffs of a curriculum: that of the learner's role, or, where nobody is named, one for each role.
///
/// Staff learn what is for nurses; caregivers and patients what is for caregivers.
///
/// # Errors
/// There is no such curriculum, version or code, with what there is.
pub fn checkoffs(rules: Rules, wanted: Wanted) -> Result<Vec<Checkoff>, Failure> {
    let curricula = rules
        .policy
        .and_then(|policy| policy.curricula.as_deref())
        .ok_or_else(|| Failure::new("the curricula of policy.toml cannot be used; `exitsite check` says why"))?;
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
    Ok(found.into_iter().map(|curriculum| Checkoff::of(rules, &wanted, curriculum)).collect())
}

/// The role that is taught; none where it is not said who learns.
fn role(rules: Rules, wanted: &Wanted) -> Result<Option<CurriculumRole>, Failure> {
    match (wanted.learner, wanted.patient) {
        (None, None) => Ok(None),
        (None | Some("patient"), _) => Ok(Some(CurriculumRole::Caregiver)),
        (Some(code), _) => match (rules.people, wanted.today) {
            (Some(people), Some(today)) if people.is_staff(code, today) => Ok(Some(CurriculumRole::Nurse)),
            (Some(_), _) => Ok(Some(CurriculumRole::Caregiver)),
            (None, _) => Err(Failure::new(format!(
                "people.toml cannot be used, so it cannot be said if {code} is of the staff; `exitsite check` says why"
            ))),
        },
    }
}

fn no_such_curriculum(curricula: &[Curriculum], wanted: &Wanted, role: Option<CurriculumRole>) -> Failure {
    let named = |curriculum: &&Curriculum| curriculum.name == wanted.curriculum;
    let of_role = |curriculum: &&Curriculum| role.is_none_or(|role| role == curriculum.role);
    let versions: Vec<String> =
        curricula.iter().filter(named).filter(of_role).map(|curriculum| curriculum.version.to_string()).collect();
    let name = visible(wanted.curriculum);
    Failure::new(if let (Some(version), false) = (wanted.version, versions.is_empty()) {
        let versions = text::either(&versions.iter().map(String::as_str).collect::<Vec<_>>());
        format!("there is no version {version} of the curriculum {name}; write --version {versions}, or leave it out")
    } else if let (Some(role), Some(other)) = (role, curricula.iter().find(named)) {
        format!("the curriculum {name} is for a {}, not for a {role}; name another learner", other.role)
    } else {
        let mut known: Vec<&str> = curricula.iter().map(|curriculum| curriculum.name.as_str()).collect();
        known.dedup();
        format!("the policy has no curriculum {name}; it has {}", visible(&known.join(", ")))
    })
}

impl Checkoff {
    fn of(rules: Rules, wanted: &Wanted, curriculum: &Curriculum) -> Checkoff {
        let policy = rules.policy;
        let teaching = policy.and_then(|policy| policy.teaching);
        let step = |step: &crate::policy::CurriculumStep| StepRow {
            id: step.id.clone(),
            text: step.text.clone(),
            critical: step.critical,
        };
        Checkoff {
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
