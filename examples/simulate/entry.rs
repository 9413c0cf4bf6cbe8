//! Single events of a patient's diary: who did it, the source, the findings, and the dressing afterward.
//!
//! Left out on purpose: the time of an event. That is the diary's.

use chrono::{NaiveDate, TimeDelta};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use crate::course::{Course, Place, shift};
use crate::ending::Kind;
use crate::record::{Event, Fields, Value, When, text, word, words};
use crate::site::Site;
use crate::staff::{COORDINATOR, Staff};

/// The dressing and the anchor as found at the changes of an exit site, newest last.
#[derive(Default)]
pub(crate) struct Found {
    was_open: Vec<bool>,
    was_loose: Vec<bool>,
}

/// The faults planted for the tool to find.
#[derive(Default)]
pub(crate) struct Planted {
    /// Exit site and due day of each change not made until the next one was due.
    pub(crate) missed: Vec<(usize, NaiveDate)>,
    /// Exit site, due day and actual day of each late change.
    pub(crate) late: Vec<(usize, NaiveDate, NaiveDate)>,
    /// Files of showers without a change in time.
    pub(crate) showers_without_change: Vec<String>,
    /// Exit site and file of each wet or open dressing without a change in time.
    pub(crate) wet_without_change: Vec<(usize, String)>,
}

/// A patient's records so far, and the state that the next ones depend on.
pub(crate) struct Diary<'a> {
    pub(crate) course: &'a Course,
    pub(crate) staff: &'a Staff,
    pub(crate) rng: ChaCha8Rng,
    pub(crate) events: Vec<Event>,
    pub(crate) planted: Planted,
    /// The care day of the last change, by exit site.
    pub(crate) last: Vec<NaiveDate>,
    pub(crate) found: Vec<Found>,
    /// The first day on which changes are made again after a planted slip.
    pub(crate) resume: Option<NaiveDate>,
    /// By caregiver: the day of the sign-off, and true if one demonstration toward the next is on file.
    pub(crate) signed_off: Vec<(Option<NaiveDate>, bool)>,
    pub(crate) kits: i64,
}

impl Found {
    /// True if one more dressing found open would not yet raise a signal.
    fn may_be_open(&self) -> bool {
        self.was_open.iter().rev().take(9).filter(|was_open| **was_open).count() < 2
    }

    fn may_be_loose(&self) -> bool {
        !self.was_loose.iter().rev().take(4).any(|was_loose| *was_loose)
    }
}

impl<'a> Diary<'a> {
    /// An empty diary.
    pub(crate) fn new(course: &'a Course, staff: &'a Staff, rng: ChaCha8Rng) -> Diary<'a> {
        Diary {
            course,
            staff,
            rng,
            events: Vec::new(),
            planted: Planted::default(),
            last: course.exits.iter().map(|exit| exit.from).collect(),
            found: course.exits.iter().map(|_| Found::default()).collect(),
            resume: None,
            signed_off: vec![(None, false); course.caregivers.len()],
            kits: 0,
        }
    }

    /// A random time of day from `from` until before `to`, in minutes after midnight.
    pub(crate) fn minutes(&mut self, from: i64, to: i64) -> i64 {
        self.rng.random_range(from..to)
    }

    /// The code of a random caregiver.
    pub(crate) fn caregiver(&mut self) -> String {
        let caregivers = &self.course.caregivers;
        caregivers[self.rng.random_range(0..caregivers.len())].code.clone()
    }

    /// True with the probability of the kind of program: `mixed` in a mixed one, otherwise `stable`.
    pub(crate) fn happens(&mut self, stable: f64, mixed: f64) -> bool {
        let chance = if self.course.kind != Kind::Mixed { stable } else { mixed };
        self.rng.random_bool(chance)
    }

    /// An event seen and entered by a staff member.
    pub(crate) fn by_staff(&mut self, kind: &'static str, by: &str, day: NaiveDate, minutes: i64) -> Event {
        let at = self.course.moment(day, minutes);
        let mut event = Event::new(kind, When::At(at), by, "seen");
        event.entered = Some((at + TimeDelta::minutes(self.minutes(4, 12)), by.to_owned()));
        event
    }

    /// An event seen and entered by one of the nurses.
    pub(crate) fn by_nurse(&mut self, kind: &'static str, day: NaiveDate, minutes: i64) -> Event {
        let nurse = self.staff.nurse(&mut self.rng).to_owned();
        self.by_staff(kind, &nurse, day, minutes)
    }

    /// An event that the household reported to the coordinator by telephone at once.
    pub(crate) fn by_telephone(&mut self, kind: &'static str, by: &str, day: NaiveDate, minutes: i64) -> Event {
        let at = self.course.moment(day, minutes);
        let mut event = Event::new(kind, When::At(at), by, "told");
        event.entered = Some((at + TimeDelta::minutes(self.minutes(8, 30)), COORDINATOR.to_owned()));
        event
    }

    /// An event of the household: reported at once, or taken from the log, where the time may be missing.
    pub(crate) fn by_household(&mut self, kind: &'static str, by: &str, day: NaiveDate, minutes: i64) -> Event {
        let Some(log) = self.course.log_of(day).filter(|_| self.course.is_by_log(day)) else {
            return self.by_telephone(kind, by, day, minutes);
        };
        let when = match self.course.habits.writes_times {
            true => When::At(self.course.moment(day, minutes)),
            false => When::On(day),
        };
        let mut event = Event::new(kind, when, by, "log");
        event.entered = Some((self.course.moment(log.read_on, 575), COORDINATOR.to_owned()));
        event
    }

    /// The name of an exit site; `None` if the patient has only ever had one.
    pub(crate) fn exit_id(&self, exit: usize) -> Option<&'static str> {
        (self.course.exits.len() > 1).then(|| self.course.exits[exit].id)
    }

    /// Turns an event into a change, with all its tables.
    pub(crate) fn as_change(
        &mut self,
        mut event: Event,
        exit: usize,
        reason: &'static str,
        dressing: &'static str,
    ) -> Event {
        let is_by_staff = event.source == "seen";
        let site = Site::on(self.course, exit, event.care_day(), &mut self.rng);
        let is_loose = self.happens(0.01, 0.03) && (self.course.kind == Kind::Mixed || self.found[exit].may_be_loose());
        event.exit = self.exit_id(exit);
        event.fields = vec![("reason", word(reason))];
        let anchor = if is_loose { "loose" } else { "in-place" };
        event.tables.push(("found", covering(dressing, anchor)));
        if is_by_staff || self.course.habits.notes_materials {
            event.tables.push(("materials", self.materials(site.is_dry())));
        }
        event.tables.push(("left", covering("intact", "in-place")));
        event.tables.push(("site", site.fields(is_by_staff || self.course.habits.looks_at_all)));
        self.found[exit].was_open.push(dressing != "intact");
        self.found[exit].was_loose.push(is_loose);
        event
    }

    fn materials(&self, is_dry: bool) -> Fields {
        let tolerates_chlorhexidine = self.course.intolerances.is_empty();
        let cleanser = if tolerates_chlorhexidine { "chlorhexidine" } else { "povidone-iodine" };
        let mut fields = vec![("cleanser", word(cleanser)), ("driveline_cleansed", Value::Flag(false))];
        if tolerates_chlorhexidine {
            fields.push(("disc", word(if is_dry { "moistened" } else { "dry" })));
        }
        fields.push(("skin_protectant", Value::Flag(true)));
        fields.push(("gauze", Value::Flag(!is_dry)));
        fields
    }

    /// Records a change. The dressing counts from its care day.
    pub(crate) fn change(&mut self, event: Event, exit: usize, reason: &'static str, dressing: &'static str) {
        let day = event.care_day();
        let change = self.as_change(event, exit, reason, dressing);
        self.events.push(change);
        self.last[exit] = day;
        if self.course.place(day) == Place::Home {
            self.kits -= 1;
        }
    }

    /// The state of the dressing at a regular change, nearly always intact.
    pub(crate) fn dressing_found(&mut self, exit: usize) -> &'static str {
        if !self.happens(0.02, 0.05) || !self.may_be_open(exit) {
            return "intact";
        }
        if self.rng.random_bool(0.7) { "lifting" } else { "soiled" }
    }

    /// True if the dressing may be found open once more. In a stable program it never happens often enough for a
    /// signal.
    pub(crate) fn may_be_open(&self, exit: usize) -> bool {
        self.course.kind == Kind::Mixed || self.found[exit].may_be_open()
    }

    /// Records a look at dressing and anchor.
    pub(crate) fn inspection(&mut self, mut event: Event, exit: usize, dressing: &'static str) {
        event.exit = self.exit_id(exit);
        event.fields = covering(dressing, "in-place");
        self.events.push(event);
    }

    /// Records a look at the site without a change.
    pub(crate) fn assessment(&mut self, mut event: Event, exit: usize, is_full: bool) {
        event.exit = self.exit_id(exit);
        event.tables = vec![("site", Site::on(self.course, exit, event.care_day(), &mut self.rng).fields(is_full))];
        self.events.push(event);
    }

    /// Records a shower, with the dressing looked at before and after.
    pub(crate) fn shower(&mut self, mut event: Event, dressing_after: &'static str) {
        let water = if self.rng.random_bool(0.95) { "shower" } else { "other" };
        event.fields = vec![
            ("water", word(water)),
            ("dressing_before", word("intact")),
            ("dressing_after", word(dressing_after)),
            ("anchor", word("in-place")),
        ];
        self.events.push(event);
    }

    /// Records a call with the household, with the time by which a promised change or visit is expected.
    pub(crate) fn contact(
        &mut self,
        (day, minutes): (NaiveDate, i64),
        about: &'static str,
        outcome: &'static str,
        expect_by: Option<(NaiveDate, i64)>,
    ) {
        let with = self.course.caregivers[0].code.clone();
        self.contact_with(&with, (day, minutes), about, outcome, expect_by);
    }

    /// Records a call with another person.
    pub(crate) fn contact_with(
        &mut self,
        with: &str,
        (day, minutes): (NaiveDate, i64),
        about: &'static str,
        outcome: &'static str,
        expect_by: Option<(NaiveDate, i64)>,
    ) {
        let mut event = self.by_staff("contact", COORDINATOR, day, minutes);
        event.fields = vec![("with", text(with)), ("about", words(&[about])), ("outcome", word(outcome))];
        if let Some((day, minutes)) = expect_by {
            event.fields.push(("expect_by", Value::Moment(self.course.moment(day, minutes))));
        }
        if outcome == "advised" && self.rng.random_bool(0.3) {
            event.fields.push(("temperature_c", Value::Tenths(self.rng.random_range(362..=372))));
        }
        self.events.push(event);
    }

    /// Records kits received or counted.
    pub(crate) fn kits(&mut self, mut event: Event, tally: &'static str, number: i64) {
        event.fields = vec![("item", word("dressing-kit")), (tally, Value::Whole(number))];
        self.events.push(event);
    }

    /// Voids an event. It stays on file, but no longer counts.
    pub(crate) fn void(&self, event: &mut Event, day: NaiveDate, why: &'static str, replaced_by: Option<String>) {
        let at = Value::Moment(self.course.moment(day, 600));
        let mut fields = vec![("at", at), ("by", word(COORDINATOR)), ("why", word(why))];
        fields.extend(replaced_by.map(|file| ("replaced_by", text(file))));
        event.void = Some(fields);
    }

    /// Notes in the truth that a wet or open dressing, or a shower, was left until the next change.
    pub(crate) fn plant_unanswered(&mut self, exit: Option<usize>) {
        if let Some(event) = self.events.last() {
            let file = event.file(1);
            match exit {
                Some(exit) => self.planted.wet_without_change.push((exit, file)),
                None => self.planted.showers_without_change.push(file),
            }
        }
    }

    /// Notes in the truth that the change due on `day` was missed at these exit sites.
    pub(crate) fn plant_missed(&mut self, exits: &[usize], day: NaiveDate) {
        self.planted.missed.extend(exits.iter().map(|exit| (*exit, day)));
    }

    /// Notes in the truth that the change due on `day` was made a day late at these exit sites.
    pub(crate) fn plant_late(&mut self, exits: &[usize], day: NaiveDate) {
        self.planted.late.extend(exits.iter().map(|exit| (*exit, day, shift(day, 1))));
    }
}

fn covering(dressing: &'static str, anchor: &'static str) -> Fields {
    vec![("dressing", word(dressing)), ("anchor", word(anchor))]
}
