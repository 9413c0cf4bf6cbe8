//! The features on file around each infection, for the working definitions; a list without a conclusion.

use crate::report::show::{Criteria, Feature, FeatureRecord, ShowReport};
use crate::text::visible;
use crate::view::{TextStyle, hanging};

/// Renders the features on file around each infection as text.
pub(super) fn text(body: &ShowReport, look: TextStyle) -> String {
    let mut out = String::new();
    for criteria in &body.infection_criteria {
        out.push_str(&hanging(look, &heading(criteria), "  "));
        for (name, words) in rows(criteria) {
            out.push_str(&hanging(look, &format!("  {name}: {words}"), "      "));
        }
        out.push_str(&hanging(look, &format!("  {CONCLUDES_NOTHING}"), "  "));
        out.push('\n');
    }
    out
}

/// The limitations of such a list.
pub(super) const CONCLUDES_NOTHING: &str = "Records on file for the working definitions of Hannan MM et al., J Heart Lung Transplant 2011;30:375-384. Only a clinician decides if a definition is met.";

/// Returns the heading: the infection, and the days searched.
pub(super) fn heading(criteria: &Criteria) -> String {
    format!(
        "On file around the infection of {} ({} {}, as determined), from {} to {}",
        criteria.onset,
        criteria.certainty,
        criteria.part.to_string().replace('-', " "),
        criteria.from,
        criteria.to
    )
}

/// Returns each feature with its records.
pub(super) fn rows(criteria: &Criteria) -> Vec<(String, String)> {
    criteria.features.iter().map(|feature| (feature.feature.to_string(), feature_words(feature))).collect()
}

fn feature_words(feature: &Feature) -> String {
    let on_file = |all: &[FeatureRecord]| {
        let one = |one: &FeatureRecord| format!("{} {}", one.at.date(), visible(&one.says));
        all.iter().map(one).collect::<Vec<_>>().join(", ")
    };
    match (feature.shown.is_empty(), feature.not_there.is_empty()) {
        (true, true) => "nothing on file".to_owned(),
        (true, false) => format!("assessed, not present: {}", on_file(&feature.not_there)),
        (false, true) => on_file(&feature.shown),
        (false, false) => format!("{}; not present: {}", on_file(&feature.shown), on_file(&feature.not_there)),
    }
}
