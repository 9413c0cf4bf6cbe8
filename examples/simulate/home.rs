//! The days at home: the household's changes and showers, visits, calls and kits, and the planted slips.
//!
//! Left out on purpose: random slips. Everything not planted is done in time.

use chrono::{Datelike, NaiveDate, Weekday};
use rand::RngExt;
use rand::seq::IteratorRandom;

use crate::course::{Interval, days_between, shift};
use crate::ending::{Ending, Kind};
use crate::entry::Diary;
use crate::staff::STORES;

impl Diary<'_> {
    pub(crate) fn home_day(&mut self, day: NaiveDate) {
        self.supplies(day);
        let is_done = if self.course.visits.contains(&day) { self.visit(day) } else { self.befall(day) };
        if !is_done && self.course.is_told(day) {
            self.household_day(day);
        }
        self.call(day);
    }

    /// Records a clinic visit: staff change the dressing and look at the site; caregivers due for a checkoff
    /// demonstrate a change.
    fn visit(&mut self, day: NaiveDate) -> bool {
        let minutes = self.minutes(570, 660);
        self.staff_change(day, minutes, &self.course.open_exits(day), "scheduled");
        for caregiver in 0..self.course.caregivers.len() {
            let (signed_off, has_one) = self.signed_off[caregiver];
            if has_one || signed_off.is_none_or(|on| days_between(on, day) >= 150) {
                self.teach(day, 780 + 110 * caregiver as i64, caregiver, "return-demonstration");
            }
        }
        true
    }

    fn household_day(&mut self, day: NaiveDate) {
        let planted = self.course.last_change_planted();
        let exits = self.course.open_exits(day);
        let is_slack = self.course.plan.ending == Ending::ReturnedYesterday && shift(day, 1) == self.course.morning;
        let is_over = planted.is_some_and(|last| last < day) || is_slack;
        let is_waiting = is_over || self.resume.is_some_and(|resume| day < resume);
        if is_waiting {
            return self.look_over(day, &exits);
        }
        let is_resumed = self.resume.take().is_some();
        let is_aligned = planted.is_some_and(|last| days_between(day, last) <= 11 && days_between(day, last) % 2 == 0);
        let is_due = |exit: &usize| self.course.is_due(&self.course.exits[*exit], self.last[*exit], day);
        let due = exits.iter().filter(|exit| is_due(exit)).count();
        if due == 0 && !is_aligned && !is_resumed {
            return self.day_between(day, &exits);
        }
        if due == exits.len() && !is_resumed && self.slips(day, &exits) {
            return self.look_over(day, &exits);
        }
        let showers = self.showers(day, 0.75) && planted != Some(day);
        self.household_change(day, &exits, showers);
    }

    /// Plants a slip now and then: today's change is a day late, or missed once or twice. True if one was planted.
    fn slips(&mut self, day: NaiveDate, exits: &[usize]) -> bool {
        let (is_late, is_missed) = (self.happens(0.004, 0.02), self.happens(0.003, 0.02));
        if !(is_late || is_missed) || !self.is_calm(day) {
            return false;
        }
        if is_late {
            self.plant_late(exits, day);
            self.resume = Some(shift(day, 1));
            return true;
        }
        self.plant_missed(exits, day);
        self.resume = Some(shift(day, 2));
        if self.happens(0.0, 0.3) {
            self.plant_missed(exits, shift(day, 2));
            self.resume = Some(shift(day, 4));
        }
        true
    }

    /// True if nothing in the coming week would alter the effect of a planted slip.
    fn is_calm(&self, day: NaiveDate) -> bool {
        let end = self.course.ended.map_or(self.course.morning, |(on, _)| on);
        let is_plain = |day: NaiveDate| {
            let is_every_other = |exit| self.course.interval(&self.course.exits[exit], day) == Interval::Days(2);
            self.course.is_quiet(day)
                && self.course.is_told(day)
                && !self.course.visits.contains(&day)
                && self.course.open_exits(day).into_iter().all(is_every_other)
        };
        shift(day, 20) < end && (-1..=7).all(|n| is_plain(shift(day, n)))
    }

    fn showers(&mut self, day: NaiveDate, chance: f64) -> bool {
        self.rng.random_bool(chance) && self.course.may_shower(day) && self.course.happening(day).is_none()
    }

    fn usual_minutes(&mut self) -> i64 {
        if self.course.habits.is_evening { self.minutes(1110, 1200) } else { self.minutes(480, 570) }
    }

    /// Records a regular change, or a shower and the change after it.
    fn household_change(&mut self, day: NaiveDate, exits: &[usize], showers: bool) {
        let by = self.caregiver();
        let mut minutes = self.usual_minutes();
        let mut dressing_after = "intact";
        if showers {
            let gets_wet = self.rng.random_bool(0.03) && exits.iter().all(|exit| self.may_be_open(*exit));
            dressing_after = if gets_wet { "wet" } else { "intact" };
            let shower = self.by_household("shower", "patient", day, minutes);
            self.shower(shower, dressing_after);
            minutes += self.minutes(15, 80);
        }
        let step = if self.rng.random_bool(0.1) { 0 } else { 10 };
        for (n, exit) in (0..).zip(exits) {
            let (reason, dressing) = match showers {
                true => ("after-shower", dressing_after),
                false => ("scheduled", self.dressing_found(*exit)),
            };
            let event = self.by_household("change", &by, day, minutes + step * n);
            self.change(event, *exit, reason, dressing);
        }
    }

    /// Records a day between two changes: now and then a shower or an open dressing, usually only a look.
    fn day_between(&mut self, day: NaiveDate, exits: &[usize]) {
        if self.showers(day, 0.12) {
            return self.household_change(day, exits, true);
        }
        if self.happens(0.004, 0.02) && self.course.may_shower(day) && self.is_calm(day) {
            let minutes = self.usual_minutes();
            let shower = self.by_household("shower", "patient", day, minutes);
            self.shower(shower, "intact");
            return self.plant_unanswered(None);
        }
        if self.happens(0.012, 0.03)
            && let Some(exit) = exits.iter().copied().choose(&mut self.rng)
            && self.may_be_open(exit)
        {
            return self.open_dressing(day, exit);
        }
        self.look_over(day, exits);
    }

    /// Records a dressing found open at noon: changed within the hour, or planted as left until the next change.
    fn open_dressing(&mut self, day: NaiveDate, exit: usize) {
        let by = self.caregiver();
        let minutes = self.minutes(720, 780);
        let look = self.by_household("inspection", &by, day, minutes);
        if self.happens(0.05, 0.3) && self.is_calm(day) {
            self.inspection(look, exit, "wet");
            return self.plant_unanswered(Some(exit));
        }
        self.inspection(look, exit, "lifting");
        let after = self.minutes(30, 80);
        let change = self.by_household("change", &by, day, minutes + after);
        self.change(change, exit, "lifting", "lifting");
    }

    /// Records a caregiver's look at dressing and anchor, on nearly all days without other care, and now and then a
    /// nurse's look at a picture.
    fn look_over(&mut self, day: NaiveDate, exits: &[usize]) {
        let Some(exit) = exits.iter().copied().choose(&mut self.rng) else { return };
        if self.rng.random_bool(0.9) {
            let by = self.caregiver();
            let minutes = self.minutes(450, 480);
            let look = self.by_household("inspection", &by, day, minutes);
            self.inspection(look, exit, "intact");
        }
        if self.rng.random_bool(0.01) && self.course.is_quiet(day) {
            let mut look = self.by_nurse("assessment", day, 900);
            look.source = "image";
            self.assessment(look, exit, false);
        }
    }

    /// Records the call before a visit, and about one routine call a month. In a stable program no household is called
    /// while its log is still to come, so that all have the same day of last contact.
    fn call(&mut self, day: NaiveDate) {
        if self.course.kind != Kind::Mixed && !self.course.is_told(day) {
            return;
        }
        let visit = shift(day, 3);
        let minutes = self.minutes(600, 720);
        if self.course.visits.contains(&visit) {
            return self.contact((day, minutes), "other", "coming-in", Some((visit, 1020)));
        }
        let is_workday = !matches!(day.weekday(), Weekday::Sat | Weekday::Sun);
        let is_early = shift(day, if self.course.plan.last_change.is_some() { 12 } else { 2 }) < self.course.morning;
        if self.rng.random_bool(0.06) && is_workday && is_early && self.course.is_quiet(day) {
            let outcome = if self.rng.random_bool(0.85) { "advised" } else { "no-answer" };
            let about = if self.course.is_by_log(day) { "log" } else { "supply" };
            self.contact((day, minutes), about, outcome, None);
        }
    }

    /// Records kits: at discharge, and whenever the count on the first of a month is low.
    fn supplies(&mut self, day: NaiveDate) {
        let low = 45 * self.course.open_exits(day).len() as i64;
        let sent = match day.day() {
            _ if self.course.discharge() == Some(day) => 45,
            4 if self.kits < low => low * 2 / 3,
            _ => 0,
        };
        if sent > 0 {
            let event = self.by_staff("supply", STORES, day, 840);
            self.kits(event, "received", sent);
            self.kits += sent;
        }
        let is_by_log = self.course.is_by_log(day);
        let is_counted = !is_by_log || self.course.logs.iter().any(|log| log.read_on == day);
        if day.day() == 1 && is_counted && self.course.discharge() != Some(day) {
            let by = self.caregiver();
            let mut event = self.by_telephone("supply", &by, day, 560);
            event.source = if is_by_log { "log" } else { "told" };
            self.kits = self.kits.max(0);
            self.kits(event, "counted", self.kits);
        }
    }
}
