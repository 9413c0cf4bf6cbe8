//! What is taught, when somebody is signed off, and what a household needs.

use crate::problem::Rule;
use crate::record::Table;
use crate::text;
use crate::word::words;

/// When somebody is signed off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Teaching {
    /// After so many qualifying checkoffs on different days.
    pub sign_off_after: i64,
    /// For so many days.
    pub valid_days: i64,
    /// So many caregivers before a discharge.
    pub caregivers_required: i64,
    /// Whether a return demonstration that fails suspends a sign-off.
    pub failed_suspends: bool,
}

words! {
    /// Whom a curriculum teaches.
    pub enum CurriculumRole {
        /// Caregivers and patients.
        Caregiver = "caregiver",
        /// Nurses.
        Nurse = "nurse",
    }
}

/// One version of what is taught.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Curriculum {
    /// Its name.
    pub name: String,
    /// Whom it teaches.
    pub role: CurriculumRole,
    /// Its version.
    pub version: i64,
    /// Its steps.
    pub steps: Vec<Step>,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// Its id.
    pub id: String,
    /// What is done.
    pub text: String,
    /// Whether a miss can infect.
    pub critical: bool,
}

/// Something that a household needs.
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyItem {
    /// What.
    pub item: String,
    /// How many a change uses.
    pub per_change: i64,
    /// Days from an order to its arrival.
    pub lead_days: i64,
    /// Days that it lasts for at a discharge.
    pub discharge_days: i64,
}

impl Teaching {
    pub(super) fn read(table: &mut Table, default: Option<&Teaching>) -> Option<Teaching> {
        let read = table.table("teaching", "when somebody is signed off", |table| {
            let sign_off_after =
                table.whole("sign_off_after", (1, 20), "after so many qualifying checkoffs on different days");
            let valid_days = table.whole("valid_days", (1, 3650), "for so many days");
            let caregivers_required =
                table.whole("caregivers_required", (0, 20), "so many caregivers before a discharge");
            let failed_suspends =
                table.flag("failed_suspends", "whether a return demonstration that fails suspends the sign-off");
            Some(Teaching {
                failed_suspends: failed_suspends.or(default.map(|teaching| teaching.failed_suspends))?,
                sign_off_after: sign_off_after.or(default.map(|teaching| teaching.sign_off_after))?,
                valid_days: valid_days.or(default.map(|teaching| teaching.valid_days))?,
                caregivers_required: caregivers_required.or(default.map(|teaching| teaching.caregivers_required))?,
            })
        });
        read.unwrap_or(default.copied())
    }
}

impl Curriculum {
    pub(super) fn read_all(table: &mut Table) -> Option<Vec<Curriculum>> {
        let mut known: Vec<Curriculum> = Vec::new();
        table.rows("curriculum", "what is taught; old versions stay in the file", |table| {
            let curriculum = Curriculum::read(table)?;
            let is_same = |other: &Curriculum| {
                (&other.name, other.role, other.version) == (&curriculum.name, curriculum.role, curriculum.version)
            };
            if known.iter().any(is_same) {
                table.add(
                    Rule::TwiceInPolicy,
                    "version",
                    "this curriculum has this version already",
                    "count `version` up when the steps change",
                );
            }
            known.push(curriculum.clone());
            Some(curriculum)
        })
    }

    fn read(table: &mut Table) -> Option<Curriculum> {
        let name = table.needed().text("name", "its name");
        let role = table.needed().word("role", "whom it teaches");
        let version = table.needed().whole("version", (1, 3650), "its version");
        let mut ids: Vec<String> = Vec::new();
        let steps = table.needed().rows("step", "its steps", |table| {
            let id = table.needed().text("id", "its id");
            let text = table.needed().text("text", "what is done");
            let critical = table.flag("critical", "whether a miss can infect");
            let id = id?;
            if ids.contains(&id) {
                table.add(
                    Rule::Curriculum,
                    "id",
                    format!("the step \"{}\" stands twice", text::visible(&id)),
                    "give each step an id of its own",
                );
            }
            ids.push(id.clone());
            Some(Step { id, text: text?, critical: critical.unwrap_or(false) })
        })?;
        if steps.is_empty() && !table.is_description() {
            table.add(
                Rule::Curriculum,
                "step",
                "the curriculum has no steps",
                "write what is to be done, step by step",
            );
        }
        Some(Curriculum { name: name?, role: role?, version: version?, steps })
    }
}

impl SupplyItem {
    pub(super) fn read_all(table: &mut Table) -> Option<Vec<SupplyItem>> {
        let mut known: Vec<String> = Vec::new();
        table.rows("supply", "what a household needs", |table| {
            let item = table.needed().text("item", "what");
            let per_change = table.whole("per_change", (0, 99), "how many a change uses");
            let lead_days = table.whole("lead_days", (0, 366), "days from an order to its arrival");
            let discharge_days = table.whole("discharge_days", (0, 366), "days that it lasts for at a discharge");
            let item = item?;
            if known.contains(&item) {
                table.add(
                    Rule::TwiceInPolicy,
                    "item",
                    format!("there are two supplies \"{}\"", text::visible(&item)),
                    "give each item once",
                );
            }
            known.push(item.clone());
            Some(SupplyItem {
                item,
                per_change: per_change.unwrap_or(1),
                lead_days: lead_days.unwrap_or(7),
                discharge_days: discharge_days.unwrap_or(14),
            })
        })
    }
}
