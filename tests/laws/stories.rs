//! Invented records, as text and as parsed by the library.

use std::sync::Arc;
use std::sync::LazyLock;

use chrono::{Duration, NaiveDate, NaiveTime};
use exitsite::day::{Instant, Period};
use exitsite::event::{Event, EventName, Kind};
use exitsite::patient::Patient;
use exitsite::place::RecordText;
use exitsite::policy::{CarePlan, Policy};
use exitsite::schedule::{ChangeTrigger, Due, Missed, Schedule};
use exitsite::timeline::Timeline;
use proptest::prelude::*;
use proptest::sample::{select, subsequence};
use proptest::test_runner::RngSeed;

/// A record file's name and text.
pub(crate) type Written = (EventName, String);

/// Records as text, readable in the output of a failing case.
#[derive(Debug, Clone)]
pub(crate) struct Story {
    pub(crate) patient: String,
    pub(crate) events: Vec<Written>,
}

/// A story's records, parsed.
#[derive(Debug)]
pub(crate) struct Records {
    pub(crate) plan: CarePlan,
    pub(crate) patient: Patient,
    pub(crate) events: Vec<Event>,
}

pub(crate) static PLAN: LazyLock<CarePlan> = LazyLock::new(|| {
    let text = "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n".to_owned();
    Policy::read(&RecordText { file: "policy.toml".into(), text }, &mut Vec::new()).unwrap().unwrap().plan.unwrap()
});

/// A day of the story, counted from 2026-02-16.
pub(crate) fn day(n: i64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 2, 16).unwrap() + Duration::days(n)
}

/// The instant of a day of the story and a number of minutes after midnight UTC.
pub(crate) fn moment((days, minutes): (i64, i64)) -> Instant {
    day(days).and_time(NaiveTime::MIN).and_utc() + Duration::minutes(minutes)
}

pub(crate) fn moments() -> impl Strategy<Value = (i64, i64)> {
    (-5..120_i64, 0..1440_i64)
}

/// The period between two days of the story, both included.
pub(crate) fn period(from: i64, to: i64) -> Period {
    Period { from: day(from), to: day(to) }
}

/// A period longer than any story, with the expectations after its end.
pub(crate) fn everything() -> Period {
    period(-60, 700)
}

impl Story {
    /// Parses the records and drops impossible events: at a skipped time, or out of order.
    pub(crate) fn read(&self) -> Records {
        let source = Arc::new(RecordText { file: "patient.toml".into(), text: self.patient.clone() });
        let mut problems = Vec::new();
        let patient = Patient::read(&source, "P-001", &PLAN.calendar, &mut problems);
        let patient = patient.unwrap_or_else(|| panic!("{problems:?}"));
        let mut events: Vec<Event> = self.events.iter().filter_map(|written| event(&patient, written)).collect();
        events.sort_by_cached_key(Event::order);
        let mut last = NaiveDate::MIN;
        events.retain(|event| {
            let in_order = last <= event.when.care_day;
            last = last.max(event.when.care_day);
            in_order
        });
        Records { plan: PLAN.clone(), patient, events }
    }
}

pub(crate) fn event(patient: &Patient, (name, text): &Written) -> Option<Event> {
    let source = Arc::new(RecordText { file: name.to_string(), text: text.clone() });
    Event::read(&source, *name, &patient.calendar, &mut Vec::new())
}

/// Returns the file of an event at a minute of a day or, if `minute` is `None`, on the day.
pub(crate) fn written(n: u16, on: i64, minute: Option<u32>, kind: Kind, says: &str) -> Written {
    let time = minute.map(|minute| NaiveTime::from_hms_opt(minute / 60, minute % 60, 0).unwrap());
    let when = match time {
        Some(time) => format!("at = {}", day(on).and_time(time).format("%Y-%m-%dT%H:%M:%S")),
        None => format!("on = {}", day(on)),
    };
    (EventName { date: day(on), time, kind, n }, format!("kind = '{kind}'\n{when}\nby = 'rn-07'\n{says}\n"))
}

impl Records {
    /// Passes the schedule and the timeline of each exit site at an instant to `question`.
    pub(crate) fn ask(&self, as_of: Instant, mut question: impl FnMut(&Schedule, &Timeline)) {
        self.ask_with(self.events.clone(), as_of, &mut question);
    }

    pub(crate) fn ask_with(&self, events: Vec<Event>, as_of: Instant, mut question: impl FnMut(&Schedule, &Timeline)) {
        let timeline = Timeline::of(&self.patient, events, as_of);
        for exit in &self.patient.exits {
            question(&Schedule { plan: &self.plan, patient: &self.patient, exit }, &timeline);
        }
    }

    /// All answers about every exit site at an instant, as text.
    pub(crate) fn answers(&self, events: Vec<Event>, as_of: Instant) -> Vec<String> {
        let mut answers = Vec::new();
        self.ask_with(events, as_of, |schedule, timeline| {
            let (due, missed) = (Due::of(schedule, timeline), Missed::of(schedule, timeline, everything()));
            answers.push(format!("{}\n{missed:?}", said(&due)));
        });
        answers
    }
}

/// A [`Due`] as text, without the contents of its events.
pub(crate) fn said(due: &Due) -> String {
    let event = |report: &ChangeTrigger| (report.at, report.kind, report.trouble);
    let report = due.report.as_ref().map(event);
    let ended: Vec<_> = due.ended_by_move.iter().map(event).collect();
    let promise = due.promise.as_ref().map(|promise| (promise.at, &promise.file, promise.expect_by, promise.broken));
    let last = due.last_change.as_ref().map(|change| (change.at, &change.file));
    format!(
        "{:?} {:?}",
        (due.state, due.due_on, due.deadline, due.because, due.order_unknown, due.interval_days, &due.phase),
        (due.hours_overdue, due.heard_through, due.log_expected, due.missed_in_a_row, report, ended, last, promise),
    )
}

pub(crate) fn intervals() -> impl Strategy<Value = String> {
    prop_oneof![
        (1..8).prop_map(|days| format!("every_days = {days}")),
        (subsequence(vec!["mon", "tue", "wed", "thu", "fri", "sat", "sun"], 1..5), 1..4)
            .prop_map(|(days, least)| format!("on_weekdays = {days:?}\nmin_days = {least}")),
    ]
}

pub(crate) fn places() -> impl Strategy<Value = &'static str> {
    select(vec![
        "'inpatient'",
        "'home'",
        "'home'",
        "'home'\nreports = 'log'",
        "'home'\ntime_zone = 'America/Denver'",
        "'home'\ntime_zone = 'America/New_York'",
        "'home'\ntime_zone = 'Australia/Lord_Howe'",
        "'elsewhere'",
    ])
}

pub(crate) fn patients() -> impl Strategy<Value = String> {
    let late = prop::option::weighted(0.3, (0..25_i64, prop::option::of(1..20_i64)));
    let care = (places(), prop::collection::vec((1..16_i64, places()), 0..6));
    let orders = prop::collection::vec((-5..60_i64, prop::option::of(0..20_i64), intervals()), 0..3);
    let until = prop::option::weighted(0.2, 25..70_i64);
    let second = prop::option::weighted(0.2, (5..50_i64, prop::option::of(0..20_i64)));
    let ended = prop::option::weighted(0.2, 30..80_i64);
    (0..14_i64, late, care, orders, until, second, ended).prop_map(
        |(implanted, late, (first, moves), orders, until, second, ended)| {
            let mut text = format!("code = 'P-001'\nimplanted = {}\n", day(implanted));
            if let Some((after, last_before)) = late {
                let from = implanted + after;
                text += &format!("records_from = {}\ninfections_before = 'unknown'\n", day(from));
                text += &last_before
                    .map(|before| format!("last_change_before = {}\n", day(from - before)))
                    .unwrap_or_default();
            }
            let mut exit = |id: char, from: i64, until: Option<i64>| {
                let until = until.map(|until| format!("until = {}\n", day(until))).unwrap_or_default();
                text +=
                    &format!("[[exit]]\nid = '{id}'\nwhere = 'other'\nwhy = 'implant'\nfrom = {}\n{until}", day(from));
            };
            exit('a', implanted, until);
            if let Some((after, lasts)) = second {
                exit('b', implanted + after, lasts.map(|lasts| implanted + after + lasts));
            }
            let mut from = implanted;
            text += &format!("[[care]]\nfrom = {}\nplace = {first}\n", day(from));
            for (gap, place) in moves {
                from += gap;
                text += &format!("[[care]]\nfrom = {}\nplace = {place}\n", day(from));
            }
            for (from, lasts, interval) in orders {
                let until = lasts.map(|lasts| format!("until = {}\n", day(from + lasts))).unwrap_or_default();
                text += &format!("[[order]]\nby = 'md-3'\nfrom = {}\n{until}{interval}\n", day(from));
            }
            text + &ended.map(|on| format!("[ended]\nwhy = 'transplant'\non = {}\n", day(on))).unwrap_or_default()
        },
    )
}

/// The contents of an event: its kind, and the rest of its text.
pub(crate) fn facts() -> impl Strategy<Value = (Kind, String)> {
    let dressing = || select(vec!["intact", "lifting", "wet", "soiled", "off"]);
    let exit = || select(vec!["", "", "exit = 'a'\n", "exit = 'b'\n"]);
    let told = || select(vec!["", "", "source = 'told'\n"]);
    let reasons =
        vec!["", "scheduled", "after-shower", "wet", "soiled", "lifting", "site-concern", "teaching", "other"];
    let reason =
        select(reasons).prop_map(|word| if word.is_empty() { String::new() } else { format!("reason = '{word}'\n") });
    let left = prop::option::weighted(0.2, dressing())
        .prop_map(|word| word.map(|word| format!("[left]\ndressing = '{word}'\n")).unwrap_or_default());
    let change = (exit(), told(), reason, left)
        .prop_map(|(exit, told, reason, left)| (Kind::Change, format!("{exit}{told}{reason}{left}")));
    let dressing_after = prop::option::weighted(0.3, dressing())
        .prop_map(|word| word.map(|word| format!("dressing_after = '{word}'\n")).unwrap_or_default());
    let shower = (told(), dressing_after).prop_map(|(told, after)| (Kind::Shower, format!("{told}{after}")));
    let damage = (exit(), dressing(), any::<bool>()).prop_map(|(exit, dressing, pulled)| {
        (if pulled { Kind::Trauma } else { Kind::Inspection }, format!("{exit}dressing = '{dressing}'\n"))
    });
    // The days count back from the care day of the log, which can be the day before its date.
    let log = (1..10_i64, 0..40_i64, any::<bool>())
        .prop_map(|(ago, days, complete)| (Kind::Log, format!("{ago} {days} {complete}")));
    let outcome = select(vec!["will-change", "coming-in", "advised", "no-answer", "other"]);
    let contact = (outcome, prop::option::of(-5..100_i64)).prop_map(|(outcome, by)| {
        let by = by.map(|by| format!("expect_by = {}T12:00:00\n", day(by))).unwrap_or_default();
        (Kind::Contact, format!("with = 'patient'\nabout = ['overdue']\noutcome = '{outcome}'\n{by}"))
    });
    prop_oneof![8 => change, 3 => shower, 2 => damage, 1 => log, 1 => contact]
}

/// The days of a log with a given date: days from the last to that date, days from the first to the last, complete.
pub(crate) fn days_of_log(on: i64, says: &str) -> String {
    let words: Vec<&str> = says.split(' ').collect();
    let (ago, days): (i64, i64) = (words[0].parse().unwrap(), words[1].parse().unwrap());
    let through = on - ago;
    format!("from = {}\nthrough = {}\ncomplete = {}\n", day(through - days), day(through), words[2])
}

/// An event as drawn: day and minute, kind and contents, and true if voided.
pub(crate) type Drawn = (i64, Option<u32>, (Kind, String), bool);

pub(crate) fn events() -> impl Strategy<Value = Vec<Written>> {
    let void = prop::bool::weighted(0.05);
    let one = (-3..85_i64, prop::option::weighted(0.7, 0..1440_u32), facts(), void);
    prop::collection::vec(one, 0..30).prop_map(|events| {
        let write = |(n, one): (usize, Drawn)| {
            let (on, minute, (kind, says), void) = one;
            let void = if void { "[void]\nat = 2026-12-01T12:00:00\nby = 'rn-07'\nwhy = 'twice'\n" } else { "" };
            let says = if kind == Kind::Log { days_of_log(on, &says) } else { says };
            written(n as u16 + 1, on, minute, kind, &format!("{says}{void}"))
        };
        events.into_iter().enumerate().map(write).collect()
    })
}

pub(crate) fn stories() -> impl Strategy<Value = Story> {
    (patients(), events()).prop_map(|(patient, events)| Story { patient, events })
}

/// The settings of a law: the number of cases, no file for failing ones, and a fixed seed, so that only a change of the
/// code can make a law fail. `PROPTEST_RNG_SEED` tries other stories.
pub(crate) fn cases(cases: u32) -> ProptestConfig {
    let default = ProptestConfig::default();
    let rng_seed = match default.rng_seed {
        RngSeed::Random => RngSeed::Fixed(20_261_124),
        chosen => chosen,
    };
    ProptestConfig { cases, failure_persistence: None, rng_seed, ..default }
}
