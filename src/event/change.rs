//! A dressing change.

use super::dressing::{Anchor, Covering};
use super::site::{Drainage, Site};
use crate::problem::Rule;
use crate::record::Table;
use crate::word::words;

words! {
    /// Why the dressing was changed.
    pub enum Reason {
        /// It was due.
        Scheduled = "scheduled",
        /// After a shower or other water.
        AfterShower = "after-shower",
        /// It was wet.
        Wet = "wet",
        /// It was soiled.
        Soiled = "soiled",
        /// It was lifting.
        Lifting = "lifting",
        /// To look at the site.
        SiteConcern = "site-concern",
        /// To teach or to be taught.
        Teaching = "teaching",
        /// Another reason.
        Other = "other",
    }
}

words! {
    /// What the skin was cleansed with.
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

words! {
    /// The antimicrobial disc.
    pub enum Disc {
        /// Moistened.
        Moistened = "moistened",
        /// Dry.
        Dry = "dry",
        /// None used.
        None = "none",
    }
}

/// What was used.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Materials {
    /// What the skin was cleansed with.
    pub cleanser: Option<Cleanser>,
    /// Antiseptic on the line itself.
    pub driveline_cleansed: Option<bool>,
    /// The antimicrobial disc.
    pub disc: Option<Disc>,
    /// Skin protectant where adhesive lies.
    pub skin_protectant: Option<bool>,
    /// Gauze over the site.
    pub gauze: Option<bool>,
}

/// A dressing change.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Why.
    pub reason: Option<Reason>,
    /// What was found.
    pub found: Covering,
    /// What was used.
    pub materials: Materials,
    /// Steps of the curriculum that were missed.
    pub steps_missed: Vec<String>,
    /// What was left.
    pub left: Covering,
    /// The exit site, where it was looked at.
    pub site: Site,
}

impl Change {
    pub(super) fn read(table: &mut Table) -> Option<Change> {
        let reason = table.word("reason", "why the dressing was changed");
        let steps_missed = table.ids("steps_missed", "ids of curriculum steps that were missed").unwrap_or_default();
        let found = table.table("found", "dressing and anchor before", Covering::read).unwrap_or_default();
        let materials = table.table("materials", "what was used", Materials::read).unwrap_or_default();
        let left = table.table("left", "dressing and anchor after", |table| {
            let left = Covering::read(table);
            if matches!(left.anchor, Some(Anchor::Loose | Anchor::Absent)) {
                table.add(
                    Rule::AnchorNotLeftInPlace,
                    "anchor",
                    "the line was left without an anchor that holds",
                    "have the anchor fastened before the patient gets up, and record it as an inspection",
                );
            }
            left
        });
        let site = table.table("site", "the exit site as it was seen", Site::read).unwrap_or_default();
        materials.compare_with(&site, table);
        Some(Change { reason, found, materials, steps_missed, left: left.unwrap_or_default(), site })
    }
}

impl Materials {
    fn read(table: &mut Table) -> Materials {
        Materials {
            cleanser: table.word("cleanser", "what the skin was cleansed with"),
            driveline_cleansed: table.flag("driveline_cleansed", "antiseptic on the line itself"),
            disc: table.word("disc", "the antimicrobial disc"),
            skin_protectant: table.flag("skin_protectant", "skin protectant where adhesive lies"),
            gauze: table.flag("gauze", "gauze over the site"),
        }
    }

    /// What was used beside what was seen.
    fn compare_with(&self, site: &Site, table: &mut Table) {
        let mut practice = |rule, key, message: &str| {
            let span = table.span_inside("materials", key);
            let help = "correct it if that did not happen; otherwise go through the step again with whoever did it";
            table.add_at(rule, &span, message, help);
        };
        if self.driveline_cleansed == Some(true) && site.drainage == Some(Drainage::None) {
            let message = "antiseptic on the line itself, although there was no drainage";
            practice(Rule::DrivelineCleansedWithoutDrainage, "driveline_cleansed", message);
        }
        if self.gauze == Some(true) && site.is_dry() {
            practice(Rule::GauzeOverDrySite, "gauze", "gauze over a site without drainage or bleeding");
        }
        if self.disc == Some(Disc::Dry) && site.is_dry() {
            practice(Rule::DiscNotMoistened, "disc", "the disc was not moistened over a dry site");
        }
    }
}
