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
        /// Result, once reported.
        pub result: Option<CultureResult>,
    }
}

impl Culture {
    /// The result, if its date is on or before `day`.
    pub(crate) fn result_by(&self, day: NaiveDate) -> Option<&CultureResult> {
        self.result.as_ref().filter(|result| result.on <= day)
    }
}

fields! {
    /// A culture result. It exists from its own date on.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct CultureResult {
        /// Date of the result.
        pub on: NaiveDate,
        /// True if organisms grew.
        pub growth: bool,
        /// Organisms that grew.
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
                "organisms are named, but growth is false",
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
        /// Deeper along the driveline tunnel.
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
    /// A clinician's determination of an infection. The tool never makes one.
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
        /// True if the patient was readmitted for it.
        pub readmission: Option<bool>,
        /// Organisms.
        pub organisms: Vec<String> = default,
        /// File name of the earlier infection, if this is a recurrence.
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
                format!("resolved on {resolved}, before onset on {}", self.onset),
                "correct the wrong date",
            );
        }
    }
}

words! {
    /// Treatment.
    pub enum Remedy {
        /// Oral antibiotics.
        OralAntibiotic = "oral-antibiotic",
        /// Intravenous antibiotics.
        IntravenousAntibiotic = "intravenous-antibiotic",
        /// Chronic suppressive antibiotics.
        LongTermSuppression = "long-term-suppression",
        /// Surgical debridement.
        Debridement = "debridement",
        /// Driveline relocation.
        Relocation = "relocation",
        /// Something else.
        Other = "other",
    }
}

impl Remedy {
    /// Returns true if the treatment continues over days, as a drug does.
    pub fn lasts(self) -> bool {
        !matches!(self, Remedy::Debridement | Remedy::Relocation)
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
