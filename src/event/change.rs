//! A dressing change.

use super::dressing::{Anchor, DressingAndAnchor};
use super::site::{Drainage, Site};
use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::word::{Word, words};

words! {
    /// Reason for the change.
    pub enum ChangeReason {
        /// Scheduled change.
        Scheduled = "scheduled",
        /// After a shower or other water.
        AfterShower = "after-shower",
        /// The dressing was wet.
        Wet = "wet",
        /// The dressing was soiled.
        Soiled = "soiled",
        /// The dressing was lifting.
        Lifting = "lifting",
        /// To look at the site.
        SiteConcern = "site-concern",
        /// For teaching.
        Teaching = "teaching",
        /// Another reason.
        Other = "other",
    }
}

words! {
    /// Skin cleanser.
    pub enum Cleanser {
        /// Chlorhexidine.
        Chlorhexidine = "chlorhexidine",
        /// Povidone-iodine.
        PovidoneIodine = "povidone-iodine",
        /// Saline.
        Saline = "saline",
        /// Something else.
        Other = "other",
    }
}

impl Cleanser {
    /// Returns true if the text of an intolerance names this cleanser, in any case: by a beginning that its names share,
    /// or by an abbreviation of the trade. Common practice, no source.
    pub(crate) fn is_named_in(self, intolerance: &str) -> bool {
        let text = intolerance.trim().to_lowercase();
        let (names, abbreviations): (&[&str], &[&str]) = match self {
            Cleanser::Chlorhexidine => (&["chlorhex", "chlorohex", "clorhex"], &["chg", "chx"]),
            Cleanser::PovidoneIodine => (&["povidon", "iodine", "iodophor"], &["pvp", "pvpi", "pvi"]),
            Cleanser::Saline => (&["saline", "sodium chloride"], &["nacl"]),
            Cleanser::Other => return text == self.word(),
        };
        let mut words = text.split(|letter: char| !letter.is_alphabetic());
        names.iter().any(|name| text.contains(name)) || words.any(|word| abbreviations.contains(&word))
    }
}

words! {
    /// Antimicrobial disc.
    pub enum Disc {
        /// Moistened.
        Moistened = "moistened",
        /// Dry.
        Dry = "dry",
        /// None used.
        None = "none",
    }
}

fields! {
    /// Materials.
    #[derive(Debug, Clone, Default, PartialEq, Eq)]
    pub struct Materials {
        /// Skin cleanser.
        pub cleanser: Option<Cleanser>,
        /// Antiseptic on the line itself.
        pub driveline_cleansed: Option<bool>,
        /// Antimicrobial disc.
        pub disc: Option<Disc>,
        /// Skin protectant under the adhesive.
        pub skin_protectant: Option<bool>,
        /// Gauze over the site.
        pub gauze: Option<bool>,
    }
}

fields! {
    /// A dressing change.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Change {
        /// Reason for the change.
        pub reason: Option<ChangeReason>,
        /// Steps of the curriculum that were missed, by id.
        pub steps_missed: Vec<String> = default ids(),
        /// Dressing and anchor as found.
        pub found: DressingAndAnchor = default,
        /// Materials.
        pub materials: Materials = default,
        /// Dressing and anchor as left.
        pub left: DressingAndAnchor = default,
        /// Exit site.
        pub site: Site = default,
    }
    then check
}

impl Change {
    fn check(&self, table: &mut Table) {
        if matches!(self.left.anchor, Some(Anchor::Loose | Anchor::Absent)) {
            let span = table.span_inside("left", "anchor");
            table.add_at(
                Rule::AnchorNotLeftInPlace,
                &span,
                "the change left the line without a secure anchor",
                "have the anchor secured before the patient gets up, and record it as an inspection",
            );
        }
        self.materials.compare_with(&self.site, table);
    }
}

impl Materials {
    /// Checks the materials against the findings.
    fn compare_with(&self, site: &Site, table: &mut Table) {
        let mut practice = |rule, key, message: &str| {
            let span = table.span_inside("materials", key);
            let help = "correct the record if that did not happen; otherwise review the step with the person who changed the dressing";
            table.add_at(rule, &span, message, help);
        };
        if self.driveline_cleansed == Some(true) && site.drainage == Some(Drainage::None) {
            let message = "antiseptic was used on the line itself, but there was no drainage";
            practice(Rule::DrivelineCleansedWithoutDrainage, "driveline_cleansed", message);
        }
        if self.gauze == Some(true) && site.is_dry() {
            practice(Rule::GauzeOverDrySite, "gauze", "gauze was placed over a site without drainage or bleeding");
        }
        if self.disc == Some(Disc::Dry) && site.is_dry() {
            practice(Rule::DiscNotMoistened, "disc", "the disc was not moistened, but the site was dry");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Cleanser;

    #[track_caller]
    fn check(intolerance: &str, named: &[Cleanser]) {
        let found: Vec<Cleanser> =
            Cleanser::ALL.iter().copied().filter(|cleanser| cleanser.is_named_in(intolerance)).collect();
        assert_eq!(found, named, "{intolerance}");
    }

    #[test]
    fn an_intolerance_names_a_cleanser_in_any_case_and_by_its_abbreviation() {
        for text in ["chlorhexidine", "Chlorhexidine", "CHLORHEXIDINE GLUCONATE", "CHG", "chg 2%", "2%CHG wipes", "CHX"]
        {
            check(text, &[Cleanser::Chlorhexidine]);
        }
        for text in ["povidone-iodine", "Povidone iodine", "PVP-I", "PVPI", "pvp i", "Iodine", "allergic to iodine"] {
            check(text, &[Cleanser::PovidoneIodine]);
        }
        check("CHG and iodine", &[Cleanser::Chlorhexidine, Cleanser::PovidoneIodine]);
        check("Normal saline", &[Cleanser::Saline]);
        check("other", &[Cleanser::Other]);
    }

    #[test]
    fn another_material_names_no_cleanser() {
        for text in ["", "tape", "silicone adhesive", "latex", "other tapes", "branch ginger", "archgate"] {
            check(text, &[]);
        }
    }
}
