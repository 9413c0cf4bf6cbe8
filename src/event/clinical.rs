//! What a clinician or a laboratory said: a culture, an infection determination, a treatment.

use chrono::NaiveDate;

use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::word::words;

words! {
    /// What was cultured.
    pub enum Specimen {
        /// A swab of the exit site.
        ExitSite = "exit-site",
        /// Blood.
        Blood = "blood",
        /// The pump pocket.
        Pocket = "pocket",
        /// Something else.
        Other = "other",
    }
}

fields! {
    /// A swab or blood culture.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Culture {
        /// What was cultured.
        pub specimen: Specimen,
        /// The result, once there is one.
        pub result: Option<CultureResult>,
    }
}

impl Culture {
    /// The result, where there is one on or before a day.
    pub fn result_by(&self, day: NaiveDate) -> Option<&CultureResult> {
        self.result.as_ref().filter(|result| result.on <= day)
    }
}

fields! {
    /// A culture's result, which exists from its own date.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct CultureResult {
        /// The day of the result.
        pub on: NaiveDate,
        /// Whether something grew.
        pub growth: bool,
        /// What grew.
        pub organisms: Vec<String> = default,
    }
    then check
}

impl CultureResult {
    fn check(&self, table: &mut Table) {
        if !self.organisms.is_empty() && !self.growth {
            table.add(
                Rule::OrganismsWithoutGrowth,
                "organisms",
                "organisms are named, although nothing grew",
                "write growth = true, or leave `organisms` out",
            );
        }
    }
}

words! {
    /// Which part is infected.
    pub enum Part {
        /// The skin at the driveline.
        DrivelineSuperficial = "driveline-superficial",
        /// Deeper along the driveline.
        DrivelineDeep = "driveline-deep",
        /// The pump pocket.
        Pocket = "pocket",
        /// The pump.
        Pump = "pump",
        /// The bloodstream.
        Bloodstream = "bloodstream",
    }
}

words! {
    /// How sure the clinician is.
    pub enum Certainty {
        /// Proven.
        Proven = "proven",
        /// Probable.
        Probable = "probable",
        /// Possible.
        Possible = "possible",
    }
}

fields! {
    /// A clinician's determination. The tool never makes one.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Infection {
        /// Which part is infected.
        pub part: Part,
        /// How sure the clinician is.
        pub certainty: Certainty,
        /// Its first day.
        pub onset: NaiveDate,
        /// The day it was over.
        pub resolved: Option<NaiveDate>,
        /// Whether the patient was readmitted for it.
        pub readmission: Option<bool>,
        /// What grew.
        pub organisms: Vec<String> = default,
        /// The file name of the infection that came back.
        pub recurrence_of: Option<String>,
    }
    then check
}

impl Infection {
    fn check(&self, table: &mut Table) {
        if let Some(resolved) = self.resolved.filter(|resolved| *resolved < self.onset) {
            table.add(
                Rule::ResolvedBeforeOnset,
                "resolved",
                format!("resolved on {resolved}, before its onset on {}", self.onset),
                "correct the one that is wrong",
            );
        }
    }
}

words! {
    /// What was ordered.
    pub enum Remedy {
        /// Antibiotics by mouth.
        OralAntibiotic = "oral-antibiotic",
        /// Antibiotics into a vein.
        IntravenousAntibiotic = "intravenous-antibiotic",
        /// Antibiotics for good.
        LongTermSuppression = "long-term-suppression",
        /// Cutting away.
        Debridement = "debridement",
        /// A new way out for the line.
        Relocation = "relocation",
        /// Something else.
        Other = "other",
    }
}

fields! {
    /// What a clinician ordered for an infection.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Treatment {
        /// What was ordered.
        pub what: Remedy,
        /// Its last day.
        pub until: Option<NaiveDate>,
    }
}
