//! The phases of care, which give each day its interval.

use chrono::NaiveDate;

use super::Interval;
use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::word::words;

words! {
    /// A place of care.
    pub enum CarePlace {
        /// In the program's hospital.
        Inpatient = "inpatient",
        /// At home.
        Home = "home",
        /// In another hospital or a rehabilitation facility: no records are expected.
        Elsewhere = "elsewhere",
    }
}

/// The default of `look_days`: about every three months. Common practice, no source.
pub(super) const LOOK_DAYS: i64 = 92;

fields! {
    /// A phase of care.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Phase {
        /// Its name.
        pub name: String,
        /// Applies through this post-operative day.
        pub through_pod: Option<i64> = maybe whole((0, 3650)),
        /// Applies in this place.
        pub place: Option<CarePlace>,
        /// Applies from this day on.
        pub from: Option<NaiveDate>,
        /// Applies through this day.
        pub until: Option<NaiveDate>,
        /// Interval of changes.
        pub interval: Interval = with(interval),
        /// Maximum number of days between looks at the site by staff.
        pub look_days: i64 = or(LOOK_DAYS) whole((1, 3650)),
    }
    then check
}

fn interval(table: &mut Table) -> Option<Interval> {
    let interval = Interval::read(table);
    if !table.has("every_days") && !table.has("on_weekdays") && !table.is_description() {
        table.add(Rule::Interval, "name", "the phase has no interval", "write every_days or on_weekdays");
    }
    interval
}

impl Table<'_> {
    /// Reads the phases; the last one must apply to every day.
    pub(super) fn phases(&mut self, name: &'static str, about: &'static str) -> Option<Vec<Phase>> {
        let known = self.problems().len();
        let mut names: Vec<String> = Vec::new();
        let phases = self.rows(name, about, |table| {
            let phase = Phase::read(table)?;
            if phase.name == "order" || names.contains(&phase.name) {
                table.add(
                    Rule::TwiceInPolicy,
                    "name",
                    format!("the phase name \"{}\" is already used", crate::text::visible(&phase.name)),
                    "choose another name; \"order\" is reserved for a clinician's order",
                );
            }
            names.push(phase.name.clone());
            Some(phase)
        })?;
        let is_read = self.problems().len() == known && !self.is_description();
        if is_read && phases.last().is_none_or(Phase::has_condition) {
            self.add(
                Rule::PhaseGap,
                name,
                "the phases leave days without an interval",
                "remove through_pod, place, from and until from the last [[phase]]",
            );
        }
        Some(phases)
    }
}

impl Phase {
    fn check(&self, table: &mut Table) {
        if let (Some(from), Some(until)) = (self.from, self.until)
            && until < from
        {
            table.add(
                Rule::EndsBeforeItBegins,
                "until",
                format!("the phase ends on {until}, before it begins on {from}"),
                "correct the wrong date",
            );
        }
    }

    /// Returns true if a day with this post-operative day and place meets every condition.
    pub(crate) fn holds_on(&self, day: NaiveDate, pod: i64, place: CarePlace) -> bool {
        self.through_pod.is_none_or(|through| pod <= through)
            && self.place.is_none_or(|its| its == place)
            && self.from.is_none_or(|from| from <= day)
            && self.until.is_none_or(|until| day <= until)
    }

    fn has_condition(&self) -> bool {
        self.through_pod.is_some() || self.place.is_some() || self.from.is_some() || self.until.is_some()
    }
}
