//! A patient's incidents at home, each from its first day to the look that confirms that it is over.
//!
//! Left out on purpose: trouble that lasts. A stable program has nothing open at the end; in a mixed one the plan
//! leaves something open.

use chrono::NaiveDate;
use rand::RngExt;

use crate::course::{What, shift};
use crate::entry::Diary;
use crate::record::{Value, word, words};
use crate::staff::PHYSICIAN;

impl Diary<'_> {
    /// Records the incident of this day, if there is one. True if it leaves the household no dressing to change.
    pub(crate) fn befall(&mut self, day: NaiveDate) -> bool {
        let exits = self.course.open_exits(day);
        let Some(exit) = exits.first().copied() else { return false };
        match self.course.happening(day) {
            Some((What::Pull, days)) => return self.pull(day, days, exit),
            Some((What::Infection, days)) => return self.infection(day, days, &exits),
            Some((What::Drainage, days)) => self.drainage(day, days, exit),
            _ => {}
        }
        false
    }

    fn pull(&mut self, day: NaiveDate, days: i64, exit: usize) -> bool {
        match days {
            0 => {
                let opens = self.course.is_told(day) && self.happens(0.0, 0.5);
                let minutes = self.minutes(780, 900);
                let mechanism = ["dropped-equipment", "snag", "snag", "fall", "twist"][self.rng.random_range(0..5)];
                let mut trauma = self.by_telephone("trauma", "patient", day, minutes);
                trauma.exit = self.exit_id(exit);
                trauma.fields = vec![
                    ("mechanism", word(mechanism)),
                    ("anchor", word(if opens { "loose" } else { "in-place" })),
                    ("dressing", word(if opens { "lifting" } else { "intact" })),
                    ("site_bleeding", Value::Flag(false)),
                ];
                self.events.push(trauma);
                self.contact((day, 990), "line-pulled", "advised", None);
                if opens {
                    self.change_after_pull(day, minutes + 40, exit);
                    return true;
                }
            }
            1 | 8 => {
                let look = self.by_nurse("assessment", day, 615);
                self.assessment(look, exit, true);
            }
            _ => {}
        }
        false
    }

    /// Records the household's immediate change of the pulled site, and of the other sites with it.
    fn change_after_pull(&mut self, day: NaiveDate, minutes: i64, pulled: usize) {
        let by = self.caregiver();
        for (n, exit) in (0..).zip(self.course.open_exits(day)) {
            let (reason, dressing) = if exit == pulled { ("lifting", "lifting") } else { ("scheduled", "intact") };
            let change = self.by_household("change", &by, day, minutes + 10 * n);
            self.change(change, exit, reason, dressing);
        }
    }

    /// Records an infection, from the first call to the look that confirms that it has cleared.
    fn infection(&mut self, day: NaiveDate, days: i64, exits: &[usize]) -> bool {
        match days {
            0 => self.contact((day, 990), "other", "coming-in", Some((shift(day, 1), 720))),
            1 => {
                self.staff_change(day, 630, exits, "site-concern");
                self.culture(day, Some("Staphylococcus aureus"), 3);
                let mut treatment = self.by_staff("treatment", PHYSICIAN, day, 690);
                let until = Value::Date(shift(day, 14));
                treatment.fields = vec![("what", word("oral-antibiotic")), ("until", until)];
                self.events.push(treatment);
            }
            5 => {
                self.contact_with(PHYSICIAN, (day, 930), "culture-growth", "advised", None);
                let mut infection = self.by_staff("infection", PHYSICIAN, day, 960);
                infection.fields = vec![
                    ("part", word("driveline-superficial")),
                    ("certainty", word(["proven", "proven", "probable"][self.rng.random_range(0..3)])),
                    ("onset", Value::Date(shift(day, -5))),
                    ("resolved", Value::Date(shift(day, 12))),
                    ("readmission", Value::Flag(false)),
                    ("organisms", words(&["Staphylococcus aureus"])),
                ];
                self.events.push(infection);
            }
            7 | 14 => self.staff_change(day, 630, exits, "site-concern"),
            _ => {}
        }
        matches!(days, 1 | 7 | 14)
    }

    fn drainage(&mut self, day: NaiveDate, days: i64, exit: usize) {
        match days {
            1 => self.contact((day, 990), "drainage-more", "advised", None),
            2 => self.culture(day, None, 4),
            _ => {}
        }
        if matches!(days, 2 | 6) {
            let look = self.by_nurse("assessment", day, 615);
            self.assessment(look, exit, true);
        }
    }

    fn culture(&mut self, day: NaiveDate, organism: Option<&'static str>, days_to_result: i64) {
        let mut culture = self.by_nurse("culture", day, 645);
        let on = Value::Date(shift(day, days_to_result));
        let mut result = vec![("on", on), ("growth", Value::Flag(organism.is_some()))];
        result.extend(organism.map(|name| ("organisms", words(&[name]))));
        culture.fields = vec![("specimen", word("exit-site"))];
        culture.tables = vec![("result", result)];
        self.events.push(culture);
    }
}
