//! Records of a clinician or a laboratory: a culture, an infection determination, a treatment.

use chrono::NaiveDate;

use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::word::words;

words! {
    /// Specimen.
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
        /// Specimen.
        pub specimen: Specimen,
        /// Result, once there is one.
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
        /// Date of the result.
        pub on: NaiveDate,
        /// Growth.
        pub growth: bool,
        /// Organisms.
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
    /// Infected part.
    pub enum InfectedPart {
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
    /// Certainty of the determination.
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
        /// Infected part.
        pub part: InfectedPart,
        /// Certainty of the determination.
        pub certainty: Certainty,
        /// Date of onset.
        pub onset: NaiveDate,
        /// Date of resolution.
        pub resolved: Option<NaiveDate>,
        /// Readmission for it.
        pub readmission: Option<bool>,
        /// Organisms.
        pub organisms: Vec<String> = default,
        /// File name of the infection that came back.
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
    /// Treatment.
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
    /// A treatment that a clinician ordered for an infection.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Treatment {
        /// Treatment.
        pub what: Remedy,
        /// Last day.
        pub until: Option<NaiveDate>,
    }
}
