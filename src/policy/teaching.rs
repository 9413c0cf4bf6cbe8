//! Curricula, sign-off rules, and a household's supplies.

use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::text;
use crate::word::words;

fields! {
    /// Sign-off rules.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct TeachingPolicy {
        /// Passed checkoffs on different days required for a sign-off.
        pub sign_off_after: i64 = preset whole((1, 20)),
        /// Days that a sign-off remains valid.
        pub valid_days: i64 = preset whole((1, 3650)),
        /// Number of caregivers who must be signed off before discharge.
        pub caregivers_required: i64 = preset whole((0, 20)),
        /// True if a failed return demonstration suspends the sign-off.
        pub failed_suspends: bool = preset,
    }
}

words! {
    /// Learners of a curriculum.
    pub enum CurriculumRole {
        /// Caregivers and patients.
        Caregiver = "caregiver",
        /// Nurses.
        Nurse = "nurse",
    }
}

fields! {
    /// One version of a curriculum.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Curriculum {
        /// Its name.
        pub name: String,
        /// Learners: caregivers or nurses.
        pub role: CurriculumRole,
        /// Its version.
        pub version: i64 = needed whole((1, 3650)),
        /// Its steps.
        pub steps as "step": Vec<CurriculumStep> = needed steps(),
    }
}

fields! {
    /// One step of a curriculum.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct CurriculumStep {
        /// Its id.
        pub id: String,
        /// Text of the step.
        pub text: String,
        /// True if missing the step can cause an infection.
        pub critical: bool = default,
    }
}

fields! {
    /// A supply item of a household.
    #[derive(Debug, Clone, PartialEq)]
    pub struct SupplyItem {
        /// Item.
        pub item: String,
        /// Number used per change.
        pub per_change: i64 = or(1) whole((0, 99)),
        /// Lead time in days, from order to arrival.
        pub lead_days: i64 = or(7) whole((0, 366)),
        /// Days of supply required at discharge.
        pub discharge_days: i64 = or(14) whole((0, 366)),
    }
}

impl Curriculum {
    pub(super) fn read_all(table: &mut Table) -> Option<Vec<Curriculum>> {
        let mut known: Vec<Curriculum> = Vec::new();
        table.rows("curriculum", "curricula; old versions stay in the file", |table| {
            let curriculum = Curriculum::read(table)?;
            let is_same = |other: &Curriculum| {
                (&other.name, other.role, other.version) == (&curriculum.name, curriculum.role, curriculum.version)
            };
            if known.iter().any(is_same) {
                table.add(
                    Rule::TwiceInPolicy,
                    "version",
                    "this version of the curriculum already exists",
                    "increase `version` when the steps change",
                );
            }
            known.push(curriculum.clone());
            Some(curriculum)
        })
    }
}

impl Table<'_> {
    /// Reads the steps of a curriculum: at least one, each with a unique id.
    fn steps(&mut self, name: &'static str, about: &'static str) -> Option<Vec<CurriculumStep>> {
        let mut ids: Vec<String> = Vec::new();
        let steps = self.rows(name, about, |table| {
            let step = CurriculumStep::read(table)?;
            if ids.contains(&step.id) {
                table.add(
                    Rule::Curriculum,
                    "id",
                    format!("the step \"{}\" is listed twice", text::visible(&step.id)),
                    "give each step a unique id",
                );
            }
            ids.push(step.id.clone());
            Some(step)
        })?;
        if steps.is_empty() && !self.is_description() {
            let help = "list the steps";
            self.add(Rule::Curriculum, name, "the curriculum has no steps", help);
        }
        Some(steps)
    }
}

impl SupplyItem {
    pub(super) fn read_all(table: &mut Table) -> Option<Vec<SupplyItem>> {
        let mut known: Vec<String> = Vec::new();
        table.rows("supply", "supplies of a household", |table| {
            let item = SupplyItem::read(table)?;
            if known.contains(&item.item) {
                table.add(
                    Rule::TwiceInPolicy,
                    "item",
                    format!("the supply item \"{}\" is listed twice", text::visible(&item.item)),
                    "list each item once",
                );
            }
            known.push(item.item.clone());
            Some(item)
        })
    }
}
