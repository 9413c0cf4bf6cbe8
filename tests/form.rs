//! One form for all records: a record is read back as it was written, whoever wrote it, and a diff of two records shows
//! only their differences.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::sync::Arc;

use chrono::{FixedOffset, NaiveDate, NaiveTime};
use exitsite::day::Calendar;
use exitsite::event::{Event, EventName, Kind};
use exitsite::place::RecordText;
use exitsite::record::{Field, Moment, Shape, Value, Values, says_the_same};
use exitsite::word::Word;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed};

/// Texts of any kind, including some that should not be typed.
fn texts() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z]{1,8}( [a-z]{1,8}){0,3}",
        any::<String>(),
        Just("a \"quoted\" word, a \\ and 'one'".to_owned()),
        Just("two\nlines\r\nand a tab\t\u{1b}[2J \u{202e}".to_owned()),
        Just("# no comment = [1]".to_owned()),
    ]
}

fn dates() -> impl Strategy<Value = NaiveDate> {
    (0..76_000u64).prop_map(|days| NaiveDate::from_ymd_opt(1990, 1, 1).unwrap() + chrono::Days::new(days))
}

fn moments() -> impl Strategy<Value = Moment> {
    (dates(), 0..86_400u32, proptest::option::of(-14 * 4..=14 * 4)).prop_map(|(date, seconds, quarters)| Moment {
        wall: date.and_time(NaiveTime::from_num_seconds_from_midnight_opt(seconds, 0).unwrap()),
        offset: quarters.map(|quarters: i32| FixedOffset::east_opt(quarters * 900).unwrap()),
    })
}

/// Values that a key of this shape can hold.
fn values_of(shape: &Shape) -> BoxedStrategy<Value> {
    match shape {
        Shape::Text | Shape::Id => texts().prop_map(Value::Text).boxed(),
        Shape::Words(words) => proptest::sample::select(*words).prop_map(|word| Value::Text(word.into())).boxed(),
        Shape::Flag => any::<bool>().prop_map(Value::Flag).boxed(),
        Shape::Whole(least, most) => (*least..=*most).prop_map(|number| Value::Number(number as f64)).boxed(),
        Shape::Measure(least, most) => {
            let (least, most) = ((least * 10.0) as i64, (most * 10.0) as i64);
            (least..=most).prop_map(|tenths| Value::Number(tenths as f64 / 10.0)).boxed()
        }
        Shape::WholeOr(word) => {
            prop_oneof![Just(Value::Text((*word).into())), (0..99i64).prop_map(|n| Value::Number(n as f64))].boxed()
        }
        Shape::Date => dates().prop_map(Value::Date).boxed(),
        Shape::TimeOfDay => Just(Value::Time(NaiveTime::MIN)).boxed(),
        Shape::Moment => moments().prop_map(Value::Moment).boxed(),
        Shape::List(item) => proptest::collection::vec(values_of(item), 0..4).prop_map(Value::List).boxed(),
        Shape::Table(fields) => tables(fields).prop_map(Value::Table).boxed(),
        Shape::Rows(fields) => {
            proptest::collection::vec(tables(fields).prop_map(Value::Table), 1..3).prop_map(Value::List).boxed()
        }
        Shape::Map(_) => Just(Value::Table(Values::default())).boxed(),
    }
}

/// Tables with some of these fields.
fn tables(fields: &[Field]) -> BoxedStrategy<Values> {
    fields.iter().fold(Just(Values::default()).boxed(), |table, field| {
        let name = field.name;
        let value = proptest::option::weighted(if field.is_needed { 0.99 } else { 0.6 }, values_of(&field.shape));
        (table, value)
            .prop_map(move |(mut table, value)| {
                if let Some(value) = value {
                    table.set(name, value);
                }
                table
            })
            .boxed()
    })
}

fn records() -> impl Strategy<Value = (Kind, Values)> {
    proptest::sample::select(Kind::ALL).prop_flat_map(|kind| {
        tables(&kind.fields()).prop_map(move |mut values| {
            values.set("kind", Value::Text(kind.word().into()));
            (kind, values)
        })
    })
}

fn config() -> Config {
    Config { cases: 400, rng_seed: RngSeed::Fixed(11), failure_persistence: None, ..Config::default() }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn what_is_written_and_read_again_is_the_same((kind, values) in records()) {
        let text = values.write(&kind.fields());
        let read = Values::of(&text);
        prop_assert_eq!(read.as_ref(), Some(&values), "{}", text);
        // The form is canonical: written again, it has the same bytes.
        prop_assert_eq!(values.write(&kind.fields()), text);
    }

    #[test]
    fn a_diff_shows_what_differs_and_nothing_else((kind, values) in records(), note in "[a-z]{3,9}") {
        let mut other = values.clone();
        other.set("note", Value::Text(note.clone()));
        let (one, other) = (values.write(&kind.fields()), other.write(&kind.fields()));
        let lines = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
        let (one, other) = (lines(&one), lines(&other));
        let changed: Vec<&String> = other.iter().filter(|line| !one.contains(line)).collect();
        let expected = format!("note = \"{note}\"");
        prop_assert!(changed.iter().all(|line| **line == expected), "{changed:?}");
        let had_note = usize::from(values.get("note").is_some());
        prop_assert_eq!(other.len(), one.len() + 1 - had_note);
    }

    #[test]
    fn who_wrote_it_when_does_not_change_what_it_says((kind, values) in records(), at in moments()) {
        let mut later = values.clone();
        later.set("entered.at", Value::Moment(at));
        let (one, other) = (values.write(&kind.fields()), later.write(&kind.fields()));
        prop_assert!(says_the_same(&one, &other));
        later.set("by", Value::Text("somebody-else".into()));
        prop_assert!(!says_the_same(&one, &later.write(&kind.fields())));
    }
}

/// Collects the records of a folder: path, name, text.
fn records_in(folder: &Path, found: &mut Vec<(String, EventName, String)>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        if path.is_dir() {
            records_in(&path, found);
        } else if let Some(name) = EventName::read(name) {
            found.push((path.display().to_string(), name, fs::read_to_string(&path).unwrap()));
        }
    }
}

fn facts(name: EventName, text: &str) -> Option<String> {
    let calendar = Calendar::new("03:00:00".parse().unwrap(), chrono_tz::America::Chicago);
    let source = Arc::new(RecordText { file: name.to_string(), text: text.to_owned() });
    let event = Event::read(&source, name, &calendar, &mut Vec::new())?;
    Some(format!("{:?} {:?} {:?} {:?}", event.when, event.by, event.source, event.fact))
}

#[test]
fn the_records_of_the_invented_program_say_the_same_in_the_one_form() {
    let mut found = Vec::new();
    records_in(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo"), &mut found);
    let mut kinds = BTreeSet::new();
    for (path, name, text) in &found {
        let Some(before) = facts(*name, text) else { continue };
        let written = Values::of(text).unwrap().write(&name.kind.fields());
        assert_eq!(facts(*name, &written).as_ref(), Some(&before), "{path}\n{written}");
        kinds.insert(name.kind);
    }
    assert!(found.len() > 390 && kinds.len() == Kind::ALL.len(), "{} records of {kinds:?}", found.len());
}
