//! The days in the hospital: a change by staff every day, and the household's teaching before discharge.
//!
//! Left out on purpose: a discharge without a sign-off.

use chrono::NaiveDate;
use rand::RngExt;

use crate::course::{Place, days_between, shift};
use crate::entry::Diary;
use crate::staff::{EDUCATOR, checkoff};

impl Diary<'_> {
    pub(crate) fn ward_day(&mut self, day: NaiveDate) {
        let exits = self.course.open_exits(day);
        if self.skips_on_ward(day) {
            self.plant_missed(&exits, day);
        } else {
            self.ward_change(day, &exits);
        }
        if self.rng.random_bool(0.25)
            && let Some(exit) = exits.first()
        {
            let minutes = self.minutes(960, 1200);
            let look = self.by_nurse("inspection", day, minutes);
            self.inspection(look, *exit, "intact");
        }
        self.teach_before_discharge(day);
    }

    /// True if today's change is missed: never twice in a row, never shortly before the end, never at the edge of a
    /// stay.
    fn skips_on_ward(&mut self, day: NaiveDate) -> bool {
        let is_inside = (-2..=2).all(|n| self.course.place(shift(day, n)) == Place::Inpatient);
        let was_yesterday = self.planted.missed.last().is_some_and(|(_, missed)| days_between(*missed, day) < 3);
        let is_settled = days_between(self.course.implanted, day) > 30 || shift(day, 20) < self.course.morning;
        self.happens(0.001, 0.01) && is_inside && !was_yesterday && is_settled && self.exits_are_daily(day)
    }

    fn exits_are_daily(&self, day: NaiveDate) -> bool {
        let exits = &self.course.exits;
        let is_new = |n| exits.iter().any(|exit| exit.from == shift(day, n) || exit.until == Some(shift(day, n)));
        !(-1..=2).any(is_new)
    }

    /// Records the day's change: usually in the morning, sometimes by the night shift after midnight, still of this
    /// care day.
    fn ward_change(&mut self, day: NaiveDate, exits: &[usize]) {
        let is_at_night = self.rng.random_bool(0.08) && self.course.place(shift(day, 1)) == Place::Inpatient;
        let minutes = if is_at_night { self.minutes(1440 + 30, 1440 + 110) } else { self.minutes(540, 640) };
        self.staff_change(day, minutes, exits, "scheduled");
    }

    pub(crate) fn staff_change(&mut self, day: NaiveDate, minutes: i64, exits: &[usize], reason: &'static str) {
        for (n, exit) in (0..).zip(exits) {
            let dressing = self.dressing_found(*exit);
            let event = self.by_nurse("change", day, minutes + 12 * n);
            self.change(event, *exit, reason, dressing);
        }
    }

    /// Records a caregiver's teaching before the first discharge: shown, assisted, then unaided on two days.
    fn teach_before_discharge(&mut self, day: NaiveDate) {
        let pod = days_between(self.course.implanted, day);
        for caregiver in 0..self.course.caregivers.len() {
            let mode = match pod - 10 - caregiver as i64 {
                0 => "shown",
                2 => "assisted",
                4 | 6 => "return-demonstration",
                _ => continue,
            };
            let minutes = self.minutes(840, 900);
            self.teach(day, minutes, caregiver, mode);
        }
    }

    pub(crate) fn teach(&mut self, day: NaiveDate, minutes: i64, caregiver: usize, mode: &'static str) {
        let learner = &self.course.caregivers[caregiver].code;
        self.events.push(checkoff(self.course.moment(day, minutes), learner, EDUCATOR, mode));
        let (signed_off, has_one) = &mut self.signed_off[caregiver];
        match (mode, *has_one) {
            ("return-demonstration", false) => *has_one = true,
            ("return-demonstration", true) => (*signed_off, *has_one) = (Some(day), false),
            _ => {}
        }
    }
}
