//! Edits of existing files: a file in the canonical form stays in it, and any other keeps its layout.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use chrono::NaiveDate;
use exitsite::event::Kind;
use exitsite::patient::Patient;
use exitsite::record::{Edit, Field, Moment, Shape, Value, Values, leaves};
use exitsite::word::Word;
use proptest::prelude::*;
use proptest::sample::{select, subsequence};

fn date() -> impl Strategy<Value = NaiveDate> {
    (0..3000_i64).prop_map(|days| NaiveDate::from_ymd_opt(2024, 1, 1).unwrap() + chrono::Duration::days(days))
}

fn text() -> impl Strategy<Value = String> {
    select(vec!["dry", "a \"quoted\" word", "two\nlines", "\u{fc}ber 3 mm # no comment", "[site]", "", "c:\\x"])
        .prop_map(str::to_owned)
}

/// Values of a shape.
fn value(shape: &Shape) -> BoxedStrategy<Value> {
    match shape {
        Shape::Words(words) => select(words.to_vec()).prop_map(|word| Value::Text(word.to_owned())).boxed(),
        Shape::Flag => any::<bool>().prop_map(Value::Flag).boxed(),
        Shape::Whole(..) | Shape::WholeOr(_) => (0..400_i64).prop_map(|n| Value::Number(n as f64)).boxed(),
        Shape::Measure(..) => (0..400_i64).prop_map(|n| Value::Number(n as f64 / 4.0)).boxed(),
        Shape::Date => date().prop_map(Value::Date).boxed(),
        Shape::Moment => (date(), 0..86_400_i64, select(vec![None, Some(-6), Some(0), Some(5)]))
            .prop_map(|(date, second, hours)| {
                let wall = date.and_hms_opt(0, 0, 0).unwrap() + chrono::Duration::seconds(second);
                let offset = hours.map(|hours| chrono::FixedOffset::east_opt(hours * 3600).unwrap());
                Value::Moment(Moment { wall, offset })
            })
            .boxed(),
        Shape::List(item) => prop::collection::vec(value(item), 0..4).prop_map(Value::List).boxed(),
        Shape::Rows(fields) => prop::collection::vec(row(fields), 1..3).prop_map(Value::List).boxed(),
        _ => text().prop_map(Value::Text).boxed(),
    }
}

fn row(fields: &[Field]) -> BoxedStrategy<Value> {
    let keys = fields.iter().map(|field| (Just(field.name), value(&field.shape))).collect::<Vec<_>>();
    let least = 1.min(keys.len());
    let count = keys.len();
    subsequence(keys, least..=count)
        .prop_flat_map(|keys| keys)
        .prop_map(|keys| {
            let mut values = Values::default();
            keys.into_iter().for_each(|(key, value)| values.set(key, value));
            Value::Table(values)
        })
        .boxed()
}

/// Records with some of the keys of `fields`, always with the first one.
fn record(fields: &[Field]) -> BoxedStrategy<Values> {
    let rows = fields.iter().filter(|field| matches!(field.shape, Shape::Rows(_)));
    let mut keys: Vec<_> = leaves(fields).into_iter().map(|(key, field)| (key, value(&field.shape))).collect();
    keys.extend(rows.map(|field| (field.name.to_owned(), value(&field.shape))));
    let keys: Vec<_> = keys.into_iter().map(|(key, value)| (Just(key), value)).collect();
    let (first, rest) = keys.split_first().unwrap();
    let (first, rest, count) = (first.clone(), rest.to_vec(), rest.len());
    subsequence(rest, 0..=count)
        .prop_flat_map(move |rest| (first.clone(), rest))
        .prop_map(|((first, value), rest)| {
            let mut values = Values::default();
            values.set(&first, value);
            rest.into_iter().for_each(|(key, value)| values.set(&key, value));
            values
        })
        .boxed()
}

/// The fields of a kind, a record, and a key with a new value.
fn changes() -> impl Strategy<Value = (Vec<Field>, Values, String, Value)> {
    let kinds = Kind::WORDS.iter().map(|word| Kind::from_word(word).unwrap().fields());
    let every: Vec<Vec<Field>> = kinds.chain([Patient::fields()]).collect();
    select(every).prop_flat_map(|fields| {
        let keys: Vec<(String, Shape)> =
            leaves(&fields).into_iter().map(|(key, field)| (key, field.shape.clone())).collect();
        let changed = select(keys).prop_flat_map(|(key, shape)| (Just(key), value(&shape)));
        (Just(fields.clone()), record(&fields), changed)
            .prop_map(|(fields, values, (key, value))| (fields, values, key, value))
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    #[test]
    fn a_record_in_its_own_form_stays_in_it((fields, values, key, value) in changes()) {
        let text = values.write(&fields);
        let mut edit = Edit::of(&text, fields.clone()).unwrap();
        let mut expected = values.clone();
        edit.set(&key, &value).unwrap();
        expected.set(&key, value);
        prop_assert_eq!(edit.text(), expected.write(&fields));
        // No record lacks its first key.
        if key != fields[0].name {
            edit.clear(&key).unwrap();
            expected.remove(&key);
            prop_assert_eq!(edit.text(), expected.write(&fields));
        }
    }

    #[test]
    fn a_row_goes_behind_the_others((fields, values, ..) in changes(), why in text()) {
        let text = values.write(&fields);
        let rows: Vec<&Field> = fields.iter().filter(|field| matches!(field.shape, Shape::Rows(_))).collect();
        for field in rows {
            let mut edit = Edit::of(&text, fields.clone()).unwrap();
            let mut row = Values::default();
            row.set("by", Value::Text("co-1".into()));
            row.set("why", Value::Text(why.clone()));
            edit.append(field.name, &row).unwrap();
            let mut items: Vec<Value> = values.rows(field.name).into_iter().cloned().map(Value::Table).collect();
            items.push(Value::Table(row));
            let mut expected = values.clone();
            expected.set(field.name, Value::List(items));
            prop_assert_eq!(edit.text(), expected.write(&fields));
        }
    }

    #[test]
    fn what_is_not_changed_keeps_every_byte((fields, values, key, value) in changes()) {
        // Comments after values, above keys and headers, and at the end.
        let line = |line: &str| match line.is_empty() {
            true => "\n".to_owned(),
            false => format!("# above {}\n{line}  # behind\n", line.len()),
        };
        let text: String = values.write(&fields).lines().map(line).collect::<String>() + "\n# the end\n";
        let mut edit = Edit::of(&text, fields.clone()).unwrap();
        edit.set(&key, &value).unwrap();
        edit.clear(&key).unwrap();
        let kept: Vec<&str> = edit.text().lines().collect();
        let mut rest = kept.iter();
        let is_of_the_key = |line: &str| {
            let name = key.split('.').next_back().unwrap();
            line.starts_with(&format!("{name} = "))
        };
        for line in text.lines().filter(|line| !is_of_the_key(line)) {
            prop_assert!(rest.any(|kept| *kept == line), "{line:?} is gone from\n{}", edit.text());
        }
    }
}

/// Asserts the text of a file after an edit.
fn check(kind: Kind, before: &str, change: impl FnOnce(&mut Edit), after: &str) {
    let mut edit = Edit::of(before, kind.fields()).unwrap();
    change(&mut edit);
    assert_eq!(edit.text(), after);
}

fn word(text: &str) -> Value {
    Value::Text(text.to_owned())
}

#[test]
fn every_way_to_write_a_table_is_kept() {
    let start = "kind = \"change\"\nby = 'rn-07'\n";
    let set = |edit: &mut Edit| edit.set("left.dressing", &word("intact")).unwrap();
    for (before, after) in [
        ("left = { anchor = \"loose\" } # seen\n", "left = { anchor = \"loose\", dressing = \"intact\" } # seen\n"),
        ("left = {}\n", "left = { dressing = \"intact\" }\n"),
        ("left.anchor = \"loose\" # seen\n", "left.dressing = \"intact\"\nleft.anchor = \"loose\" # seen\n"),
        ("left.dressing = 'wet' # so\n", "left.dressing = \"intact\" # so\n"),
        ("  [left] # as seen\n  anchor = 'loose'\n", "  [left] # as seen\ndressing = \"intact\"\n  anchor = 'loose'\n"),
        ("[site]\nodor = false\n", "\n[left]\ndressing = \"intact\"\n\n[site]\nodor = false\n"),
        (
            "\n# the skin\n[site]\nodor = false\n",
            "\n[left]\ndressing = \"intact\"\n\n# the skin\n[site]\nodor = false\n",
        ),
        ("\n[found]\nanchor = 'loose'\n# end", "\n[found]\nanchor = 'loose'\n# end\n\n[left]\ndressing = \"intact\"\n"),
    ] {
        check(Kind::Change, &format!("{start}{before}"), set, &format!("{start}{after}"));
    }
}

#[test]
fn a_key_is_taken_out_of_every_form() {
    let start = "kind = \"change\"\n";
    let clear = |edit: &mut Edit| edit.clear("left.anchor").unwrap();
    for (before, after) in [
        ("left = { anchor = \"loose\" }\n", ""),
        ("left = { anchor = \"loose\", dressing = 'wet' }\n", "left = { dressing = 'wet' }\n"),
        ("left = { dressing = 'wet', anchor = \"loose\" }\n", "left = { dressing = 'wet' }\n"),
        ("left.anchor = 'loose'\n", ""),
        ("\n[left]\nanchor = 'loose'\n", ""),
        ("\n[left]\nanchor = 'loose' # a comment stays\n", "\n[left]\n# a comment stays\n"),
        ("\n[left]\nanchor = 'loose'\n\n[site]\nodor = true\n", "\n[site]\nodor = true\n"),
    ] {
        check(Kind::Change, &format!("{start}{before}"), clear, &format!("{start}{after}"));
    }
}

#[test]
fn line_ends_and_marks_become_those_of_the_records() {
    let before = "\u{feff}kind = \"shower\"\r\n# a comment\r\nby = \"rn-07\"";
    let after = "kind = \"shower\"\n# a comment\nby = \"rn-07\"\nsource = \"told\"\n";
    check(Kind::Shower, before, |edit| edit.set("source", &word("told")).unwrap(), after);
}

#[test]
fn rows_in_brackets_are_kept() {
    let before = "code = \"P-001\"\nexit = [{ id = \"a\" }]\n";
    let mut edit = Edit::of(before, Patient::fields()).unwrap();
    edit.set_in_row("exit", 0, "where", &word("midline")).unwrap();
    let mut row = Values::default();
    row.set("id", word("b"));
    edit.append("exit", &row).unwrap();
    assert_eq!(edit.text(), "code = \"P-001\"\nexit = [{ id = \"a\", where = \"midline\" }, { id = \"b\" }]\n");
    assert!(edit.set_in_row("exit", 2, "where", &word("midline")).is_err());
}

#[test]
fn a_list_over_several_lines_is_one_value() {
    let before = "kind = \"infection\"\norganisms = [ # two\n  \"A\",\n  \"B\",\n] # named\n";
    check(
        Kind::Infection,
        before,
        |edit| {
            edit.set("recurrence_of", &word("x")).unwrap();
            edit.set("note", &word("n")).unwrap();
        },
        &format!("{before}recurrence_of = \"x\"\nnote = \"n\"\n"),
    );
    // An edit that would lose a comment is refused.
    let mut edit = Edit::of(before, Kind::Infection.fields()).unwrap();
    assert!(edit.clear("organisms").is_err());
    assert!(edit.set("organisms", &Value::List(vec![word("C")])).unwrap_err().0.contains("in an editor"));
    assert_eq!(edit.text(), before);
    let plain = before.replace(" # two", "");
    let mut edit = Edit::of(&plain, Kind::Infection.fields()).unwrap();
    edit.set("organisms", &Value::List(vec![word("C")])).unwrap();
    assert_eq!(edit.text(), "kind = \"infection\"\norganisms = [\"C\"] # named\n");
}
