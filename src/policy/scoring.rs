//! Scoring of an exit site: the rubric, and the days over which a trend compares.

use super::rubric::{BUILT_IN, Rubric};
use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::text;

/// Scoring of an exit site.
#[derive(Debug, Clone, PartialEq)]
pub struct Scoring {
    /// The rubric.
    pub rubric: Rubric,
    /// Maximum age in days of the record with which a trend compares.
    pub trend_days: i64,
}

fields! {
    /// The table `[score]`.
    struct ScorePolicy {
        /// Rubric: exit-site, or one defined in this file.
        rubric: String = preset,
        /// Maximum age in days of the record with which a trend compares.
        trend_days: i64 = preset whole((1, 3650)),
    }
}

impl Scoring {
    pub(super) fn read(table: &mut Table) -> Option<Scoring> {
        let own = Rubric::read_all(table);
        let read = table.table("score", "scoring of an exit site", |table| {
            let score = ScorePolicy::read(table)?;
            let names = || own.iter().map(|rubric| rubric.name.as_str()).chain([BUILT_IN]);
            if !names().any(|name| name == score.rubric) {
                let help = format!("write {}", text::either(&names().collect::<Vec<_>>()));
                let message = format!("unknown rubric \"{}\"", text::visible(&score.rubric));
                table.add(Rule::Rubric, "rubric", message, help);
            }
            Some(score)
        });
        let ScorePolicy { rubric: name, trend_days } = read.flatten()?;
        let rubric = own.into_iter().find(|rubric| rubric.name == name).or_else(Rubric::built_in)?;
        Some(Scoring { rubric, trend_days })
    }
}
