//! What a clinician or a laboratory said: a culture, an infection determination, a treatment.

use chrono::NaiveDate;

use crate::problem::Rule;
use crate::record::Table;
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

/// A swab or blood culture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Culture {
    /// What was cultured.
    pub specimen: Specimen,
    /// The result, once there is one.
    pub result: Option<CultureResult>,
}

/// A culture's result, which exists from its own date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CultureResult {
    /// The day of the result.
    pub on: NaiveDate,
    /// Whether something grew.
    pub growth: bool,
    /// What grew.
    pub organisms: Vec<String>,
}

impl Culture {
    pub(super) fn read(table: &mut Table) -> Option<Culture> {
        let specimen = table.needed().word("specimen", "what was cultured");
        let result = table.table("result", "the result, once there is one", CultureResult::read).flatten();
        Some(Culture { specimen: specimen?, result })
    }

    /// The result, where there is one on or before a day.
    pub fn result_by(&self, day: NaiveDate) -> Option<&CultureResult> {
        self.result.as_ref().filter(|result| result.on <= day)
    }
}

impl CultureResult {
    fn read(table: &mut Table) -> Option<CultureResult> {
        let on = table.needed().date("on", "the day of the result");
        let growth = table.needed().flag("growth", "whether something grew");
        let organisms = table.texts("organisms", "what grew").unwrap_or_default();
        if !organisms.is_empty() && growth == Some(false) {
            table.add(
                Rule::OrganismsWithoutGrowth,
                "organisms",
                "organisms are named, although nothing grew",
                "write growth = true, or leave `organisms` out",
            );
        }
        Some(CultureResult { on: on?, growth: growth?, organisms })
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

/// A clinician's determination. The tool never makes one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Infection {
    /// Which part.
    pub part: Part,
    /// How sure.
    pub certainty: Certainty,
    /// Its first day.
    pub onset: NaiveDate,
    /// The day it was over, which exists from its own date.
    pub resolved: Option<NaiveDate>,
    /// Whether the patient was readmitted for it.
    pub readmission: Option<bool>,
    /// What grew.
    pub organisms: Vec<String>,
    /// The file name of the infection that came back.
    pub recurrence_of: Option<String>,
}

impl Infection {
    pub(super) fn read(table: &mut Table) -> Option<Infection> {
        let part = table.needed().word("part", "which part is infected");
        let certainty = table.needed().word("certainty", "how sure the clinician is");
        let onset = table.needed().date("onset", "its first day");
        let resolved = table.date("resolved", "the day it was over");
        let readmission = table.flag("readmission", "whether the patient was readmitted for it");
        let organisms = table.texts("organisms", "what grew").unwrap_or_default();
        let recurrence_of = table.text("recurrence_of", "the file name of the infection that came back");
        if let (Some(onset), Some(resolved)) = (onset, resolved)
            && resolved < onset
        {
            table.add(
                Rule::ResolvedBeforeOnset,
                "resolved",
                format!("resolved on {resolved}, before its onset on {onset}"),
                "correct the one that is wrong",
            );
        }
        Some(Infection {
            part: part?,
            certainty: certainty?,
            onset: onset?,
            resolved,
            readmission,
            organisms,
            recurrence_of,
        })
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

/// What a clinician ordered for an infection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Treatment {
    /// What.
    pub what: Remedy,
    /// Its last day, which exists from its own date.
    pub until: Option<NaiveDate>,
}

impl Treatment {
    pub(super) fn read(table: &mut Table) -> Option<Treatment> {
        let what = table.needed().word("what", "what was ordered");
        let until = table.date("until", "its last day");
        Some(Treatment { what: what?, until })
    }
}
