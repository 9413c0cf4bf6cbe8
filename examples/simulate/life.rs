//! The plan of a patient's course: implant, weeks on the ward, years at home, incidents there, and the given ending.
//!
//! Left out on purpose: epidemiology. The frequencies are invented so that every kind of record occurs.

use std::collections::BTreeSet;

use chrono::{Datelike, Months, NaiveDate, Weekday};
use chrono_tz::Tz;
use rand::RngExt;
use rand::seq::IndexedRandom;
use rand_chacha::ChaCha8Rng;

use crate::course::{
    Care, Caregiver, Course, Exit, Habits, Happening, Interval, Log, Order, Ordered, Place, What, days_between, shift,
};
use crate::ending::{Ending, Kind, Plan};

const POSITIONS: [&str; 4] = ["right-upper", "left-upper", "right-lower", "left-lower"];
const RELATIONS: [&str; 6] = ["spouse", "daughter", "son", "sister", "brother", "friend"];
const FAR_ZONES: [Tz; 4] = [Tz::America__Denver, Tz::America__New_York, Tz::America__Los_Angeles, Tz::America__Phoenix];
const WEEKDAYS: &[Weekday] = &[Weekday::Mon, Weekday::Wed, Weekday::Fri];

/// The incidents: events per year in a stable and in a mixed program, and the range of their duration in days.
const RISKS: [(What, f64, f64, (i64, i64)); 5] = [
    (What::Readmission, 0.25, 0.4, (4, 9)),
    (What::Away, 0.05, 0.25, (5, 25)),
    (What::Pull, 0.25, 0.6, (9, 9)),
    (What::Infection, 0.2, 0.4, (18, 18)),
    (What::Drainage, 0.2, 0.5, (7, 7)),
];

/// The settings shared by all patients of a program.
pub(crate) struct Program {
    pub(crate) kind: Kind,
    pub(crate) years: i64,
    pub(crate) morning: NaiveDate,
    pub(crate) zone: Tz,
}

/// Plans the course of one patient.
pub(crate) fn plan_course(program: &Program, number: usize, plan: &'static Plan, rng: &mut ChaCha8Rng) -> Course {
    let (ending, morning) = (plan.ending, program.morning);
    let implanted = implant_day(program, ending, rng);
    let discharge = shift(implanted, rng.random_range(22..=27));
    let ended = end_of_support(ending, morning, rng);
    let last_move = last_move(ending, morning, rng);
    let zone = (ending.may_be_far() && rng.random_bool(0.08)).then(|| FAR_ZONES[rng.random_range(0..FAR_ZONES.len())]);
    let home_until = last_move.map_or(morning, |(from, _)| from).min(ended.map_or(morning, |(on, _)| on));
    let happenings = plan_happenings(program.kind, ending, (discharge, home_until), rng);
    let is_on_ward = ending.is_on_ward();
    let mut course = Course {
        code: format!("P-{number:03}"),
        plan,
        kind: program.kind,
        zone: program.zone,
        morning,
        implanted,
        records_from: match ending {
            Ending::UnknownBefore => morning,
            Ending::KnownBefore => shift(morning, -1),
            _ => implanted,
        },
        last_change_before: (ending == Ending::KnownBefore).then(|| shift(morning, -2)),
        intolerances: if rng.random_bool(0.08) { vec!["chlorhexidine"] } else { Vec::new() },
        exits: plan_exits(ending, implanted, &happenings, rng),
        care: if is_on_ward { vec![ward(implanted)] } else { Vec::new() },
        orders: plan_orders(program.kind, ending, morning, &happenings),
        caregivers: plan_caregivers(number, rng),
        ended,
        happenings,
        visits: BTreeSet::new(),
        logs: Vec::new(),
        habits: plan_habits(ending, rng),
    };
    if !is_on_ward {
        let home = |from| Care { from, place: Place::Home, is_by_log: ending.is_by_log(), zone };
        course.care = plan_care(&course, discharge, last_move, home);
        course.logs = if ending.is_by_log() { plan_logs(ending, discharge, morning) } else { Vec::new() };
        course.visits = plan_visits(&course, discharge, rng);
    }
    course
}

fn ward(from: NaiveDate) -> Care {
    Care { from, place: Place::Inpatient, is_by_log: false, zone: None }
}

/// The day of the implant. Most fall early in the years asked for, so that nearly all patients have long histories.
fn implant_day(program: &Program, ending: Ending, rng: &mut ChaCha8Rng) -> NaiveDate {
    let days = program.years * 365;
    let days_before = match ending {
        Ending::FirstChange => 1,
        Ending::Ward | Ending::WardChangedEarly => rng.random_range(5..=16),
        Ending::UnknownBefore | Ending::KnownBefore => rng.random_range(200..=700),
        Ending::ByLog if rng.random_bool(0.03) => rng.random_range(70..=300),
        _ => days - rng.random_range(0..=days / 16),
    };
    shift(program.morning, -days_before)
}

fn end_of_support(ending: Ending, morning: NaiveDate, rng: &mut ChaCha8Rng) -> Option<(NaiveDate, &'static str)> {
    let days_before = match ending {
        Ending::EndedThisMonth => rng.random_range(0..=i64::from(morning.day0()).min(20)),
        Ending::EndedBefore => rng.random_range(50..=170),
        _ => return None,
    };
    let why = ["transplant", "transplant", "recovery", "death", "transferred"].choose(rng).copied().unwrap_or("other");
    Some((shift(morning, -days_before), why))
}

/// The day on which the patient went elsewhere, and the day of the return, if any.
fn last_move(ending: Ending, morning: NaiveDate, rng: &mut ChaCha8Rng) -> Option<(NaiveDate, Option<NaiveDate>)> {
    let (left, back) = match ending {
        Ending::Away => (rng.random_range(4..=9), None),
        Ending::AwayLong => (rng.random_range(18..=40), None),
        Ending::ReturnedToday => (12, Some(0)),
        Ending::ReturnedYesterday => (13, Some(1)),
        _ => return None,
    };
    Some((shift(morning, -left), back.map(|days| shift(morning, -days))))
}

fn plan_happenings(
    kind: Kind,
    ending: Ending,
    (discharge, home_until): (NaiveDate, NaiveDate),
    rng: &mut ChaCha8Rng,
) -> Vec<Happening> {
    let (first, last) = (shift(discharge, 25), shift(home_until, -32));
    let days = days_between(first, last);
    let mut planned: Vec<Happening> = Vec::new();
    if days < 60 || ending.is_new() {
        return planned;
    }
    if matches!(ending, Ending::TwoExits | Ending::Relocated) {
        let from = shift(first, days * 2 / 5);
        planned.push(Happening { what: What::Surgery, from, through: shift(from, 24) });
    }
    for (what, stable, mixed, (shortest, longest)) in RISKS {
        let a_year = if kind != Kind::Mixed { stable } else { mixed };
        for _ in 0..(days / 91).max(1) {
            let from = shift(first, rng.random_range(0..days));
            let through = shift(from, rng.random_range(shortest..=longest) - 1);
            let is_free = planned.iter().all(|it| it.through < shift(from, -30) || shift(through, 30) < it.from);
            if rng.random_bool(a_year / 4.0) && is_free && through <= last {
                planned.push(Happening { what, from, through });
            }
        }
    }
    planned.sort_by_key(|it| it.from);
    planned
}

fn plan_exits(ending: Ending, implanted: NaiveDate, happenings: &[Happening], rng: &mut ChaCha8Rng) -> Vec<Exit> {
    let position = rng.random_range(0..POSITIONS.len());
    let first = Exit { id: "a", position: POSITIONS[position], from: implanted, why: "implant", until: None };
    let mut exits = vec![first];
    if let Some(surgery) = happenings.iter().find(|it| it.what == What::Surgery) {
        let is_relocation = ending == Ending::Relocated;
        exits[0].until = is_relocation.then_some(surgery.from);
        exits.push(Exit {
            id: "b",
            position: POSITIONS[(position + 1) % POSITIONS.len()],
            from: surgery.from,
            why: if is_relocation { "relocation" } else { "second-pump" },
            until: None,
        });
    }
    exits
}

fn plan_orders(kind: Kind, ending: Ending, morning: NaiveDate, happenings: &[Happening]) -> Vec<Order> {
    let mut orders = Vec::new();
    let infections = happenings.iter().filter(|it| kind == Kind::Mixed && it.what == What::Infection);
    for infection in infections {
        for what in [Ordered::Changes(Interval::Days(1)), Ordered::NoShowers] {
            let (from, until) = (shift(infection.from, 1), Some(shift(infection.from, 14)));
            orders.push(Order { from, until, what, why: "infected exit site" });
        }
    }
    let running = match ending {
        Ending::DailyOrder => Some((9, Interval::Days(1), "serous drainage")),
        Ending::WeekdayOrder => Some((29, Interval::Weekdays(WEEKDAYS), "fragile skin")),
        _ => None,
    };
    orders.extend(running.map(|(days, interval, why)| Order {
        from: shift(morning, -days),
        until: None,
        what: Ordered::Changes(interval),
        why,
    }));
    orders
}

fn plan_caregivers(number: usize, rng: &mut ChaCha8Rng) -> Vec<Caregiver> {
    let mut relations = RELATIONS.to_vec();
    let count = if rng.random_bool(0.3) { 2 } else { 1 };
    (0..count)
        .map(|_| relations.remove(rng.random_range(0..relations.len())))
        .map(|relation| Caregiver { code: format!("p{number:03}-{relation}"), relation })
        .collect()
}

fn plan_habits(ending: Ending, rng: &mut ChaCha8Rng) -> Habits {
    Habits {
        is_evening: rng.random_bool(0.6),
        writes_times: !ending.is_by_log() || rng.random_bool(0.75),
        looks_at_all: !ending.is_by_log() || rng.random_bool(0.6),
        notes_materials: rng.random_bool(0.5),
    }
}

fn plan_care(
    course: &Course,
    discharge: NaiveDate,
    last_move: Option<(NaiveDate, Option<NaiveDate>)>,
    home: impl Fn(NaiveDate) -> Care,
) -> Vec<Care> {
    if course.plan.ending.is_new() {
        return vec![home(course.records_from)];
    }
    let elsewhere = |from| Care { from, place: Place::Elsewhere, is_by_log: false, zone: None };
    let mut care = vec![ward(course.implanted), home(discharge)];
    for it in &course.happenings {
        let away = match it.what {
            What::Readmission | What::Surgery => ward(it.from),
            What::Away => elsewhere(it.from),
            _ => continue,
        };
        care.extend([away, home(shift(it.through, 1))]);
    }
    if let Some((left, back)) = last_move {
        care.push(elsewhere(left));
        care.extend(back.map(home));
    }
    care
}

/// Plans the logs. A log arrives on the first of each month and covers every day since the last one. The last is the
/// newest that can have arrived or, if the ending is a late log, the newest that is more than 35 days old.
fn plan_logs(ending: Ending, discharge: NaiveDate, morning: NaiveDate) -> Vec<Log> {
    let mut logs: Vec<Log> = Vec::new();
    let mut from = discharge;
    loop {
        let first_of_next = from.with_day(1).map_or(from, |first| first + Months::new(1));
        if first_of_next >= morning {
            break;
        }
        logs.push(Log { from, through: shift(first_of_next, -1), read_on: first_of_next });
        from = first_of_next;
    }
    if ending == Ending::LogLate {
        logs.retain(|log| shift(log.through, 35) < shift(morning, -1));
    }
    logs
}

/// Plans the visits: a week after discharge and about every two months after that, each moved to a quiet weekday. None
/// falls shortly before an ending that depends on the last change.
fn plan_visits(course: &Course, discharge: NaiveDate, rng: &mut ChaCha8Rng) -> BTreeSet<NaiveDate> {
    let last = if course.plan.ending == Ending::ByLog { -1 } else { -15 };
    let last = shift(course.morning, last);
    let mut visits = BTreeSet::new();
    let mut day = shift(discharge, 7);
    while day <= last {
        let is_workday = !matches!(day.weekday(), Weekday::Sat | Weekday::Sun);
        if is_workday && course.is_quiet(day) {
            visits.insert(day);
            day = shift(day, rng.random_range(45..=60));
        } else {
            day = shift(day, 1);
        }
    }
    visits
}
