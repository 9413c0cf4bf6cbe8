//! A patient's days simulated in order, and the records that the program would have on file of them.
//!
//! Left out on purpose: deadlines. A day asks only whether a change is due; the meaning of the records is the truth's.

use chrono::{NaiveDate, TimeDelta};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use crate::course::{Course, Place, shift};
use crate::ending::{Ending, Kind};
use crate::entry::{Diary, Planted};
use crate::record::{Event, Value, When, word};
use crate::staff::{COORDINATOR, Staff};

/// Returns a patient's records on the morning in question, and the faults planted in them.
pub(crate) fn live(course: &Course, staff: &Staff, rng: ChaCha8Rng) -> (Vec<Event>, Planted) {
    let mut diary = Diary::new(course, staff, rng);
    if !course.plan.ending.is_new() {
        let days = course.implanted.iter_days().skip(1);
        for day in days.take_while(|day| *day < course.morning && course.is_followed(*day)) {
            diary.day(day);
        }
    }
    diary.end();
    if course.kind == Kind::Mixed {
        diary.correct();
    }
    diary.events.sort_by_cached_key(|event| event.file(1));
    (diary.events, diary.planted)
}

impl Diary<'_> {
    fn day(&mut self, day: NaiveDate) {
        match self.course.place(day) {
            Place::Inpatient => self.ward_day(day),
            Place::Home => self.home_day(day),
            Place::Elsewhere => {}
        }
        if let Some(log) = self.course.logs.iter().find(|log| log.read_on == day) {
            let mut event = Event::new("log", When::At(self.course.moment(day, 570)), COORDINATOR, "log");
            event.fields = vec![
                ("from", Value::Date(log.from)),
                ("through", Value::Date(log.through)),
                ("complete", Value::Flag(true)),
            ];
            event.entered = Some((self.course.moment(day, 572), COORDINATOR.to_owned()));
            self.events.push(event);
        }
    }

    fn end(&mut self) {
        let (yesterday, today) = (shift(self.course.morning, -1), self.course.morning);
        let exits: Vec<usize> = self.course.open_exits(yesterday);
        match self.course.plan.ending {
            Ending::WardChangedEarly => {
                let minutes = self.minutes(305, 340);
                self.staff_change(today, minutes, &exits, "scheduled");
            }
            Ending::ShowerOpen => {
                let minutes = self.minutes(1110, 1200);
                self.open_shower(yesterday, minutes);
            }
            Ending::ShowerThisMorning => self.open_shower(today, 390),
            Ending::ShowerOrderUnknown => {
                self.open_shower(yesterday, 1200);
                if let Some(shower) = self.events.last_mut() {
                    shower.when = When::On(yesterday);
                }
                self.planted.showers_without_change.pop();
                self.plant_unanswered(None);
            }
            Ending::DamageOpen => {
                let by = self.caregiver();
                let look = self.by_telephone("inspection", &by, yesterday, 1300);
                self.inspection(look, 0, "wet");
                self.plant_unanswered(Some(0));
            }
            Ending::MissedTwice => {
                self.plant_missed(&exits, shift(today, -5));
                self.plant_missed(&exits, shift(today, -3));
            }
            Ending::BrokenPromise => {
                self.plant_missed(&exits, shift(today, -2));
                self.contact((yesterday, 600), "overdue", "will-change", Some((yesterday, 1200)));
            }
            Ending::VoidedLast => {
                self.plant_missed(&exits, shift(today, -2));
                self.voided_change(shift(today, -2));
            }
            _ => {}
        }
    }

    fn open_shower(&mut self, day: NaiveDate, minutes: i64) {
        let shower = self.by_telephone("shower", "patient", day, minutes);
        self.shower(shower, "intact");
        self.plant_unanswered(None);
    }

    fn voided_change(&mut self, day: NaiveDate) {
        let by = self.caregiver();
        let event = self.by_telephone("change", &by, day, 1140);
        let mut change = self.as_change(event, 0, "scheduled", "intact");
        self.void(&mut change, shift(day, 1), "entered for the wrong patient", None);
        self.events.push(change);
    }

    /// Adds clerical corrections: changes entered at a wrong hour and voided, and a few amended records.
    fn correct(&mut self) {
        let is_old = |event: &Event| shift(event.care_day(), 70) < self.course.morning && event.kind == "change";
        let old: Vec<usize> = (0..self.events.len()).filter(|n| is_old(&self.events[*n])).collect();
        for n in old {
            let Some(at) = self.events[n].when.moment() else { continue };
            let day = self.events[n].care_day();
            match self.rng.random_range(0..400) {
                0 => {
                    let mut wrong = self.events[n].clone();
                    wrong.when = When::At(at - TimeDelta::hours(4));
                    let file = self.events[n].file(1);
                    let right = file.rsplit('/').next().map(str::to_owned);
                    self.void(&mut wrong, shift(day, 40), "wrong hour; written anew", right);
                    if wrong.care_day() == day {
                        self.events.push(wrong);
                    }
                }
                1 => {
                    self.events[n].amended = Some(vec![
                        ("at", Value::Moment(self.course.moment(shift(day, 40), 660))),
                        ("by", word(COORDINATOR)),
                        ("why", word("read again from the paper")),
                        ("was", word("redness_mm = 12")),
                    ]);
                }
                _ => {}
            }
        }
    }
}
