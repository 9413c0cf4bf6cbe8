//! The phases of care: which interval a day has.

use chrono::NaiveDate;

use super::Interval;
use crate::problem::Rule;
use crate::record::Table;
use crate::word::words;

words! {
    /// Where a patient is.
    pub enum CarePlace {
        /// In this hospital.
        Inpatient = "inpatient",
        /// At home.
        Home = "home",
        /// In another hospital or a rehabilitation clinic: no records are expected.
        Elsewhere = "elsewhere",
    }
}

/// A phase of care.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Phase {
    /// Its name.
    pub name: String,
    /// Holds through this post-operative day.
    pub through_pod: Option<i64>,
    /// Holds in this place.
    pub place: Option<CarePlace>,
    /// Holds from this day on.
    pub from: Option<NaiveDate>,
    /// Holds until this day, included.
    pub until: Option<NaiveDate>,
    /// How often the dressing is changed.
    pub interval: Interval,
    /// Staff see the site at least this often, in days.
    pub look_days: i64,
}

/// How often staff see the site where a phase does not say: about every three months. Common practice, no source.
const LOOK_DAYS: i64 = 92;

impl Phase {
    pub(super) fn read_all(table: &mut Table) -> Option<Vec<Phase>> {
        let mut names: Vec<String> = Vec::new();
        let known = table.problems().len();
        let phases = table.rows(
            "phase",
            "phases of care; the first whose conditions a day meets gives its interval",
            |table| {
                let phase = Phase::read(table);
                if let Some(phase) = &phase {
                    if phase.name == "order" || names.contains(&phase.name) {
                        table.add(
                            Rule::TwiceInPolicy,
                            "name",
                            format!("the phase name \"{}\" is taken", crate::text::visible(&phase.name)),
                            "choose another; \"order\" stands for a clinician's order",
                        );
                    }
                    names.push(phase.name.clone());
                }
                phase
            },
        )?;
        let is_read = table.problems().len() == known && !table.is_description();
        if is_read && phases.last().is_none_or(Phase::has_condition) {
            table.add(
                Rule::PhaseGap,
                "phase",
                "the phases leave days without an interval",
                "let the last [[phase]] have no through_pod, place, from or until",
            );
        }
        Some(phases)
    }

    fn read(table: &mut Table) -> Option<Phase> {
        let name = table.needed().text("name", "its name");
        let through_pod = table.whole("through_pod", (0, 3650), "holds through this post-operative day");
        let place = table.word("place", "holds in this place");
        let from = table.date("from", "holds from this day on");
        let until = table.date("until", "holds until this day, included");
        let interval = Interval::read(table);
        let look_days = table.whole("look_days", (1, 3650), "staff see the site at least this often, in days");
        if !table.has("every_days") && !table.has("on_weekdays") && !table.is_description() {
            table.add(Rule::Interval, "name", "the phase has no interval", "write every_days or on_weekdays");
        }
        if let (Some(from), Some(until)) = (from, until)
            && until < from
        {
            table.add(
                Rule::EndsBeforeItBegins,
                "until",
                format!("the phase ends on {until}, before it begins on {from}"),
                "correct the one that is wrong",
            );
        }
        Some(Phase {
            name: name?,
            through_pod,
            place,
            from,
            until,
            interval: interval?,
            look_days: look_days.unwrap_or(LOOK_DAYS),
        })
    }

    /// Whether a day with this post-operative day and place meets every condition.
    pub fn holds_on(&self, day: NaiveDate, pod: i64, place: CarePlace) -> bool {
        self.through_pod.is_none_or(|through| pod <= through)
            && self.place.is_none_or(|its| its == place)
            && self.from.is_none_or(|from| from <= day)
            && self.until.is_none_or(|until| day <= until)
    }

    fn has_condition(&self) -> bool {
        self.through_pod.is_some() || self.place.is_some() || self.from.is_some() || self.until.is_some()
    }
}
