//! Laws of the schedule over invented stories.

use std::collections::BTreeSet;

use chrono::{Duration, NaiveDate};
use exitsite::day::{Instant, Period, plus};
use exitsite::event::{At, Event, EventName, Fact, Kind};
use exitsite::policy::CarePlace;
use exitsite::schedule::{Because, ChangeOutcome, Due, Expectation, Missed, Outlook, Schedule, State};
use exitsite::timeline::Timeline;
use exitsite::word::Word;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use crate::stories::{cases, day, event, everything, moment, moments, period, stories, written};

#[test]
fn the_stories_reach_every_state_every_reason_and_every_outcome() {
    let mut runner = TestRunner::deterministic();
    let mut seen: BTreeSet<String> = BTreeSet::new();
    for _ in 0..600 {
        let (story, at) = (stories(), moments()).new_tree(&mut runner).unwrap().current();
        story.read().ask(moment(at), |schedule, timeline| {
            let due = Due::of(schedule, timeline);
            let rows = Missed::of(schedule, timeline, everything()).expectations;
            let because = due.because.map_or("", Word::word);
            seen.insert(format!("state {}", due.state));
            seen.insert(format!("because {because}"));
            seen.extend(rows.iter().map(|row| format!("outcome {}", row.outcome)));
            let rare = [
                ("order unknown", due.order_unknown),
                ("promise", due.promise.is_some()),
                ("ended by a move", !due.ended_by_move.is_empty()),
                ("several missed", due.missed_in_a_row > 1),
            ];
            seen.extend(rare.iter().filter(|(_, is_so)| *is_so).map(|(what, _)| (*what).to_owned()));
        });
    }
    let states = State::WORDS.iter().filter(|word| **word != "unusable").map(|word| format!("state {word}"));
    let reasons = Because::WORDS.iter().map(|word| format!("because {word}"));
    let outcomes = ChangeOutcome::WORDS.iter().map(|word| format!("outcome {word}"));
    let rare = ["order unknown", "promise", "ended by a move", "several missed"].map(str::to_owned);
    let missing: Vec<String> =
        states.chain(reasons).chain(outcomes).chain(rare).filter(|what| !seen.contains(what)).collect();
    assert!(missing.is_empty(), "{missing:?}");
}

proptest! {
    #![proptest_config(cases(200))]

    #[test]
    fn the_order_of_the_files_changes_nothing(
        (story, shuffled) in stories().prop_flat_map(|story| {
            let events = Just(story.events.clone()).prop_shuffle();
            (Just(story), events)
        }),
        at in moments(),
    ) {
        let records = story.read();
        let kept: BTreeSet<EventName> = records.events.iter().map(|event| event.name).collect();
        let read = shuffled.iter().filter_map(|written| event(&records.patient, written));
        let shuffled = read.filter(|event| kept.contains(&event.name)).collect();
        prop_assert_eq!(records.answers(shuffled, moment(at)), records.answers(records.events.clone(), moment(at)));
    }

    #[test]
    fn voided_events_and_those_that_do_not_exist_yet_change_nothing(story in stories(), at in moments()) {
        let (records, at) = (story.read(), moment(at));
        // A log covers its days no matter when it was imported.
        let counts = |event: &&Event| {
            let exists = event.exists(&records.patient.calendar, at) || matches!(event.fact, Fact::Log(_));
            exists && event.void.is_none()
        };
        let fewer = records.events.iter().filter(counts).cloned().collect();
        prop_assert_eq!(records.answers(fewer, at), records.answers(records.events.clone(), at));
    }

    #[test]
    fn the_next_due_day_is_an_expected_one_and_no_earlier_after_a_later_change(
        story in stories(), last in -10..100_i64, at in moments(),
    ) {
        let records = story.read();
        records.ask(moment(at), |schedule, timeline| {
            if let Some(found) = schedule.next_due(day(last), timeline.today) {
                assert!(found > day(last) && schedule.is_expected(found));
                let later = schedule.next_due(day(last + 1), timeline.today);
                assert!(later.is_none_or(|later| found <= later), "{found} {later:?}");
            }
        });
    }

    #[test]
    fn nothing_is_due_before_the_last_change(story in stories(), at in moments()) {
        let records = story.read();
        records.ask(moment(at), |schedule, timeline| {
            let due = Due::of(schedule, timeline);
            let Some((due_on, last)) = due.due_on.zip(due.last_change.as_ref()) else { return };
            match due.because.unwrap() {
                Because::AfterShower | Because::Damage => {
                    assert!(due_on >= last.day);
                    let report = due.report.unwrap();
                    let last = timeline.changes(schedule.exit).next_back().unwrap();
                    let at = match report.at {
                        At::Time(time) => time.to_utc(),
                        At::Day(day) => schedule.patient.calendar.end(day) - Duration::seconds(1),
                    };
                    assert!(due.order_unknown || at >= last.when.instant);
                    assert!(due.deadline.unwrap().instant() > at);
                }
                // A late log is counted from the last covered day, whatever was reported since.
                Because::LogLate => {}
                _ => assert!(due_on > last.day && schedule.is_expected(due_on)),
            }
        });
    }

    #[test]
    fn the_state_says_everything_or_nothing(story in stories(), at in moments()) {
        let records = story.read();
        records.ask(moment(at), |schedule, timeline| {
            let due = Due::of(schedule, timeline);
            let (patient, today) = (schedule.patient, timeline.today);
            let calendar = &patient.calendar;
            let is_over = [schedule.exit.until, patient.ended.as_ref().map(|ended| ended.on)]
                .into_iter()
                .flatten()
                .any(|last| last <= today);
            if is_over || patient.place(today) == CarePlace::Elsewhere || today < schedule.start() {
                assert_eq!(due.state, State::None);
            }
            if due.state == State::None {
                let fields = (due.due_on, due.deadline, due.because, due.interval_days, &due.phase, due.hours_overdue);
                assert_eq!(fields, (None, None, None, None, &None, None));
                assert!(due.report.is_none() && !due.order_unknown && due.heard_through.is_none());
                return;
            }
            let (due_on, deadline, because) = (due.due_on.unwrap(), due.deadline.unwrap().instant(), due.because.unwrap());
            let is_report = matches!(because, Because::AfterShower | Because::Damage);
            assert_eq!(due.report.is_some(), is_report);
            let in_hours = due.report.is_some_and(|report| matches!(report.at, At::Time(_)));
            let is_past = if in_hours { timeline.as_of > deadline } else { timeline.as_of >= deadline };
            assert_eq!(due.state == State::Overdue, is_past);
            assert_eq!(due.hours_overdue, is_past.then(|| (timeline.as_of - deadline).num_seconds() / 3600));
            assert!(due.hours_overdue.is_none_or(|hours| hours >= 0));
            match due.state {
                State::Due => assert!(due_on <= today),
                State::Upcoming => assert!(due_on > today),
                State::AwaitingLog => assert!(due_on <= today && !timeline.is_told_between(today, today)),
                State::Overdue => assert!(due_on <= today),
                State::None | State::Unusable => unreachable!("{:?}", due.state),
            }
            if !in_hours && due.state != State::AwaitingLog {
                assert_eq!(deadline, calendar.end(due_on));
            }
            assert!(due.heard_through.is_none() && due.heard_from.is_none() || !timeline.is_told_between(today, today));
            assert_eq!(due.log_expected.is_some(), !timeline.is_told_between(today, today));
            assert!(due.phase.is_some() || is_report);
            assert!(due.missed_in_a_row >= 0);
        });
    }
}

/// The rows settled before a day: ended by an earlier change, or missed because the next change was due by then.
fn settled_before(x: NaiveDate, schedule: &Schedule, timeline: &Timeline) -> Vec<Expectation> {
    let mut rows = Missed::of(schedule, timeline, everything()).expectations;
    rows.retain(|row| match row.done_on {
        Some(done_on) => done_on < x,
        None => schedule.next_due(row.due_on, timeline.today).is_some_and(|next| next <= x),
    });
    rows
}

proptest! {
    #![proptest_config(cases(200))]

    #[test]
    fn a_later_change_never_alters_an_earlier_expectation(
        story in stories(), on in 0..90_i64, minute in prop::option::of(0..1440_u32), at in moments(),
    ) {
        let records = story.read();
        let text = written(900, on, minute, Kind::Change, "exit = 'a'");
        let Some(change) = event(&records.patient, &text) else { return Ok(()) };
        let care_day = change.when.care_day;
        let more = records.events.iter().cloned().chain([change]).collect();
        let settled = |events| {
            let mut all = Vec::new();
            let question = |schedule: &Schedule, timeline: &Timeline| {
                all.push(settled_before(care_day, schedule, timeline));
            };
            records.ask_with(events, moment(at), question);
            all
        };
        prop_assert_eq!(settled(more), settled(records.events.clone()));
    }

    #[test]
    fn what_is_settled_stays_so_as_time_goes_on(story in stories(), at in moments(), later in 0..40_i64) {
        let mut records = story.read();
        // A log, or a household that keeps one, can make an unknown day known.
        records.events.retain(|event| event.name.kind != Kind::Log);
        let closed_by = |as_of: Instant, until: NaiveDate| {
            let mut all = Vec::new();
            records.ask(as_of, |schedule, timeline| all.push(settled_before(until, schedule, timeline)));
            all
        };
        let (early, late) = (moment(at), moment((at.0 + later, at.1)));
        let today = records.patient.calendar.today(early);
        prop_assert_eq!(closed_by(early, today), closed_by(late, today));
    }

    #[test]
    fn two_adjacent_periods_add_up_to_the_whole(
        story in stories(), at in moments(), from in -10..100_i64, first in 0..60_i64, second in 0..60_i64,
    ) {
        let records = story.read();
        records.ask(moment(at), |schedule, timeline| {
            let of = |from, to| Missed::of(schedule, timeline, period(from, to));
            let split = from + first;
            let (whole, a, b) = (of(from, split + 1 + second), of(from, split), of(split + 1, split + 1 + second));
            let rows: Vec<_> = a.expectations.iter().chain(&b.expectations).cloned().collect();
            assert_eq!(rows, whole.expectations);
            for outcome in [ChangeOutcome::OnTime, ChangeOutcome::Late, ChangeOutcome::Missed, ChangeOutcome::Unreported, ChangeOutcome::Open] {
                assert_eq!(a.count(outcome) + b.count(outcome), whole.count(outcome), "{outcome}");
            }
            assert_eq!(([a.days.clone(), b.days.clone()].concat(), a.days_in_date() + b.days_in_date()),
                (whole.days.clone(), whole.days_in_date()));
            let gaps = a.longest_gap_days.max(b.longest_gap_days);
            assert!(whole.longest_gap_days >= gaps);
        });
    }

    #[test]
    fn every_expectation_has_one_outcome_and_its_own_day(story in stories(), at in moments()) {
        let records = story.read();
        records.ask(moment(at), |schedule, timeline| {
            let missed = Missed::of(schedule, timeline, everything());
            let rows = &missed.expectations;
            let outcomes = [ChangeOutcome::OnTime, ChangeOutcome::Late, ChangeOutcome::Missed, ChangeOutcome::Unreported, ChangeOutcome::Open];
            assert_eq!(outcomes.map(|outcome| missed.count(outcome)).iter().sum::<i64>(), rows.len() as i64);
            assert!(rows.windows(2).all(|pair| pair[0].due_on < pair[1].due_on));
            assert!((0..=missed.days.len() as i64).contains(&missed.days_in_date()));
            assert!(missed.longest_gap_days.is_none_or(|gap| gap >= 0));
            let changes: BTreeSet<NaiveDate> =
                timeline.changes(schedule.exit).map(|change| change.when.care_day).collect();
            for (n, row) in rows.iter().enumerate() {
                let is_last = n + 1 == rows.len();
                match (row.outcome, row.done_on, row.days_late) {
                    (ChangeOutcome::OnTime, Some(done_on), Some(0)) => assert!(done_on <= row.due_on),
                    (ChangeOutcome::Late, Some(done_on), Some(days)) => {
                        assert!(days > 0 && days == (done_on - row.due_on).num_days());
                    }
                    (ChangeOutcome::Missed, None, None) => assert!(row.due_on < timeline.today),
                    (ChangeOutcome::Open, None, None) => assert!(is_last),
                    (ChangeOutcome::Unreported, done_on, None) => {
                        assert!(done_on.is_none_or(|done_on| done_on > row.due_on));
                    }
                    _ => panic!("{row:?}"),
                }
                assert!(row.done_on.is_none_or(|done_on| changes.contains(&done_on)));
            }
            // One change ends at most one expectation.
            let done: Vec<NaiveDate> = rows.iter().filter_map(|row| row.done_on).collect();
            assert!(done.windows(2).all(|pair| pair[0] < pair[1]));
        });
    }

    #[test]
    fn the_changes_missed_in_a_row_are_those_at_the_end_of_the_chain(story in stories(), at in moments()) {
        let records = story.read();
        records.ask(moment(at), |schedule, timeline| {
            let rows = Missed::of(schedule, timeline, everything()).expectations;
            assert_eq!(Due::of(schedule, timeline).missed_in_a_row, in_a_row(&rows));
        });
    }
}

/// The number of consecutive missed changes at the end of a walked chain.
fn in_a_row(rows: &[Expectation]) -> i64 {
    let passed_over = |row: &&Expectation| {
        row.outcome == ChangeOutcome::Open || row.outcome == ChangeOutcome::Unreported && row.done_on.is_none()
    };
    let told = rows.iter().rev().filter(|row| !passed_over(row));
    told.take_while(|row| row.outcome == ChangeOutcome::Missed).count() as i64
}

proptest! {
    #![proptest_config(cases(100))]

    #[test]
    fn what_is_counted_up_to_a_far_day_is_what_a_walk_counts(
        story in stories(), ahead in 120..30 * 366_i64, ago in 0..3000_i64, enough in 1..6_usize,
    ) {
        let records = story.read();
        records.ask(moment((ahead, 720)), |schedule, timeline| {
            // Before the first record there is nothing to skip.
            let (from, today) = (plus(timeline.today, -ago).max(day(-60)), timeline.today);
            let walked = Missed::of(schedule, timeline, Period { from: day(-60), to: plus(today, 400) });
            assert_eq!(Missed::in_a_row(schedule, timeline), in_a_row(&walked.expectations));
            let since: Vec<Expectation> =
                walked.expectations.into_iter().filter(|row| row.belongs_to() >= from).collect();
            let counted = Missed::of(schedule, timeline, Period { from, to: plus(today, 400) });
            assert_eq!(counted.expectations, since);
            // `since` stops early only after as many consecutive rows as the signal needs, and only if the rest are
            // alike.
            let read = Missed::since(schedule, timeline, from, enough as i64);
            assert!(since.starts_with(&read));
            // In no story does anything begin or end on more days than this.
            assert!(read.len() < 250, "{}", read.len());
            if let Some(next) = since.get(read.len()).filter(|next| next.due_on <= today) {
                let alike = read.iter().rev().take_while(|row| row.done_on.is_none() && row.outcome == next.outcome);
                assert!(alike.count() >= enough && since[read.len()..].iter().all(|row| row.done_on.is_none()));
            }
            // The plan does not depend on its first day.
            let due = Due::of(schedule, timeline);
            let planned = |first: NaiveDate| Outlook::of(schedule, timeline, &due, Period { from: first, to: today }).days;
            let whole: Vec<_> = planned(day(-60)).into_iter().filter(|planned| planned.day >= from).collect();
            assert_eq!(planned(from), whole);
            let days = from.iter_days().take_while(|day| *day <= today);
            let not_covered = days.filter(|day| !timeline.is_covered(*day)).count() as i64;
            assert_eq!(timeline.days_not_covered(from, today), not_covered);
        });
    }
}
