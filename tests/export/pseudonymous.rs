//! What may leave the house, attacked by somebody who has the records beside it: the patients are found again by their days,
//! and still no value that fewer than five have can be told from what was left out; and no code, date, text, file name or
//! zone is anywhere in the bytes.

use std::collections::{BTreeSet, VecDeque};
use std::process::Command;
use std::sync::Once;

use chrono::NaiveDate;
use regex::Regex;

use super::*;

/// Tables by name.
type Tables = BTreeMap<String, Rows>;

/// The fewest patients of whom something is told.
const FEWEST: usize = 5;

/// A program of the simulator; it changes nothing in the repository.
fn simulated(kind: &str, patients: u32) -> (TempDir, PathBuf) {
    static BUILT: Once = Once::new();
    BUILT.call_once(|| {
        let profile = if cfg!(debug_assertions) { "dev" } else { "release" };
        let build = ["build", "--quiet", "--locked", "--example", "simulate", "--profile", profile];
        assert!(Command::new(env!("CARGO")).args(build).status().unwrap().success());
    });
    let kept = folder();
    let records = kept.path().join("records");
    let simulator = Path::new(env!("CARGO_BIN_EXE_exitsite")).with_file_name("examples").join("simulate");
    let arguments = ["--kind", kind, "--until", "2026-11-24", "--years", "2", "--seed", "3", "--patients"];
    let ran = Command::new(simulator).args(arguments).arg(patients.to_string()).arg("--out").arg(&records).status();
    assert!(ran.unwrap().success());
    (kept, records)
}

/// Every text of the records that must not leave the house.
fn secrets(records: &Path, tables: &Tables) -> BTreeSet<String> {
    let mut secrets = BTreeSet::new();
    let texts = [
        "patient",
        "code",
        "by",
        "with",
        "learner",
        "observer",
        "note",
        "why",
        "was",
        "relation",
        "time_zone",
        "entered.by",
        "void.by",
        "void.why",
        "recurrence_of",
        "curriculum",
        "item",
        "result.organisms",
        "organisms",
        "intolerances",
        "ended.by",
    ];
    let words = ["patient", "other"];
    for (table, row) in tables.iter().flat_map(|(name, rows)| rows.iter().map(move |row| (name, row))) {
        for (column, value) in row {
            let is_a_word = *column == "why" && table == "exits";
            let of = |value: &Value| value.as_str().map(str::to_owned);
            if texts.contains(&column.as_str()) && !is_a_word {
                secrets.extend(of(value));
                secrets.extend(value.as_array().into_iter().flatten().filter_map(of));
            }
        }
    }
    let policy: toml::Table = fs::read_to_string(records.join("policy.toml")).unwrap().parse().unwrap();
    secrets.extend(["program", "time_zone"].map(|key| policy[key].as_str().unwrap().to_owned()));
    // Relations such as "other" and roles are words of the tables; everything else is somebody's.
    secrets.retain(|text| text.len() > 1 && !words.contains(&text.as_str()));
    secrets
}

fn no_secret_is_told(secrets: &BTreeSet<String>, files: &BTreeMap<String, String>) {
    let date_or_time = Regex::new(r"\d{4}-\d\d|\d\d:\d\d|\.toml|/20\d\d/").unwrap();
    // A short one, as "son", may be part of a word. Names of files are found by what they all hold.
    let any_of = |secrets: Vec<&String>| secrets.iter().map(|text| regex::escape(text)).collect::<Vec<_>>().join("|");
    let (short, long): (Vec<_>, Vec<_>) = secrets.iter().partition(|secret| secret.len() < 5);
    let secret = format!(r"\b(?:{})\b|{}", any_of(short), any_of(long));
    let secret = regex::RegexBuilder::new(&secret).size_limit(1 << 28).build().unwrap();
    for (name, text) in files {
        let found: Vec<&str> = secret.find_iter(text).map(|found| found.as_str()).collect();
        assert!(found.is_empty(), "{name} tells {found:?}");
        let found = date_or_time.find(text).map(|found| found.as_str());
        assert_eq!(found, None, "{name} holds a date, a time or a file name");
    }
}

/// Whether a column is a day, or says whose the row is.
fn is_a_day(column: &str) -> bool {
    column == "day" || column.ends_with("_day") || column == "patient" || column == "left_out"
}

/// What a row of the records says in the column of a table that may leave the house.
fn truth(row: &BTreeMap<String, Value>, column: &str, exits: &[String], role: impl Fn(&str) -> String) -> Value {
    let value = row.get(column).cloned().unwrap_or_default();
    match (column, &value) {
        ("recurrence", _) => Value::from(!row["recurrence_of"].is_null()),
        (_, Value::Null) => Value::Null,
        ("by" | "with" | "learner" | "observer", Value::String(code)) => role(code).into(),
        ("exit", Value::String(id)) => Value::from(exits.iter().position(|own| own == id).unwrap() + 1),
        ("about", Value::Array(items)) => {
            let plain = ["overdue", "log", "supply", "other"];
            let said: BTreeSet<&str> = items.iter().map(|item| item.as_str().unwrap()).collect();
            let mut words: Vec<&str> = plain.into_iter().filter(|word| said.contains(word)).collect();
            if said.iter().any(|word| !plain.contains(word)) {
                words.push("signal");
            }
            Value::from(words)
        }
        (_, Value::Array(items)) => Value::from(items.len()),
        (name, Value::Number(number)) if name.ends_with("_mm") => {
            let length = number.as_f64().unwrap();
            let step = if length > 0.0 && length < 5.0 { 1.0 } else { (length / 5.0).trunc() * 5.0 };
            Value::from(step as i64)
        }
        (name, Value::Number(number)) if name.ends_with("_c") => Value::from(number.as_f64().unwrap().round() as i64),
        _ => value,
    }
}

/// One table as it was written, and row by row what the records say.
struct Attacked {
    rows: Rows,
    truth: Rows,
}

/// Finds every row of the records again, by the patient's days.
fn attacked(plain: &Tables, told: Tables) -> (BTreeMap<String, Attacked>, BTreeMap<i64, String>) {
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let implanted: BTreeMap<String, NaiveDate> =
        plain["patients"].iter().map(|row| (text(&row["patient"]), text(&row["implanted"]).parse().unwrap())).collect();
    let day = |row: &BTreeMap<String, Value>| {
        let at = if row.contains_key("care_day") { &row["care_day"] } else { &row["from"] };
        (text(at).parse::<NaiveDate>().unwrap() - implanted[&text(&row["patient"])]).num_days()
    };
    let counts = |row: &&BTreeMap<String, Value>| {
        row.get("voided") != Some(&true.into()) && implanted.contains_key(&text(&row["patient"]))
    };
    // Whoever knows somebody's days knows which number that is.
    let mut days: BTreeMap<String, Vec<(String, i64)>> = BTreeMap::new();
    let mut told_days: BTreeMap<i64, Vec<(String, i64)>> = BTreeMap::new();
    for (name, rows) in told.iter().filter(|(name, _)| *name != "patients") {
        for row in plain[name].iter().filter(counts) {
            days.entry(text(&row["patient"])).or_default().push((name.clone(), day(row)));
        }
        for row in rows {
            let at = row.get("day").unwrap_or_else(|| &row["from_day"]).as_i64().unwrap();
            told_days.entry(row["patient"].as_i64().unwrap()).or_default().push((name.clone(), at));
        }
    }
    let who: BTreeMap<i64, String> = told_days
        .iter()
        .map(|(number, days_of)| {
            let mut found = days.iter().filter(|(_, days)| *days == days_of);
            let code = found.next().unwrap_or_else(|| panic!("the days of {number} are nobody's")).0.clone();
            assert!(found.next().is_none(), "two patients with the same days");
            (*number, code)
        })
        .collect();
    let people: BTreeMap<String, String> =
        plain["people"].iter().map(|row| (text(&row["code"]), text(&row["role"]))).collect();
    let caregivers: BTreeSet<String> = plain["caregivers"].iter().map(|row| text(&row["code"])).collect();
    let role = |code: &str| match people.get(code) {
        Some(role) => role.clone(),
        None if caregivers.contains(code) => "caregiver".to_owned(),
        None if code == "patient" || code == "other" => code.to_owned(),
        None => "unknown".to_owned(),
    };
    let mut attacked = BTreeMap::new();
    for (name, rows) in told.into_iter().filter(|(name, _)| name != "patients") {
        let mut own: BTreeMap<String, VecDeque<&BTreeMap<String, Value>>> = BTreeMap::new();
        for row in plain[&name].iter().filter(counts) {
            own.entry(text(&row["patient"])).or_default().push_back(row);
        }
        let mut truths = Vec::new();
        for row in &rows {
            let code = &who[&row["patient"].as_i64().unwrap()];
            let own = own.get_mut(code).unwrap().pop_front().unwrap();
            let exits = plain["exits"].iter().filter(|row| row["patient"] == **code);
            let exits: Vec<String> = exits.map(|row| text(&row["id"])).collect();
            let values = row.keys().filter(|column| !is_a_day(column));
            truths.push(values.map(|column| (column.clone(), truth(own, column, &exits, role))).collect());
        }
        assert!(own.values().all(VecDeque::is_empty), "{name}: a row is missing");
        attacked.insert(name, Attacked { rows, truth: truths });
    }
    (attacked, who)
}

/// The patients that rows are of.
fn patients<'a>(rows: impl Iterator<Item = &'a BTreeMap<String, Value>>) -> BTreeSet<i64> {
    rows.map(|row| row["patient"].as_i64().unwrap()).collect()
}

/// Everything that is told is true, is told of five, and hides behind others where it is not told.
fn nothing_left_out_can_be_worked_out(name: &str, Attacked { rows, truth }: &Attacked) -> (usize, usize) {
    assert!(patients(rows.iter()).len() >= FEWEST, "{name}");
    let (mut told, mut small) = (0, 0);
    let columns: Vec<String> = truth[0].keys().cloned().collect();
    for column in &columns {
        let mut holders: BTreeMap<String, BTreeSet<i64>> = BTreeMap::new();
        let mut shown: BTreeMap<String, BTreeSet<i64>> = BTreeMap::new();
        for (row, truth) in rows.iter().zip(truth) {
            let patient = row["patient"].as_i64().unwrap();
            if !truth[column].is_null() {
                holders.entry(truth[column].to_string()).or_default().insert(patient);
            }
            if !row[column].is_null() {
                assert_eq!(row[column], truth[column], "{name}: {column}");
                assert_ne!(row["left_out"], true, "{name}: {column}");
                shown.entry(row[column].to_string()).or_default().insert(patient);
                told += 1;
            }
        }
        for (value, patients) in &shown {
            assert!(patients.len() >= FEWEST, "{name}: {column} = {value} is told of {} patients", patients.len());
        }
        // Where a value could stand that is not told: all that was left out, or the whole column.
        let hidden: Vec<usize> = match shown.is_empty() {
            true => (0..rows.len()).collect(),
            false => (0..rows.len()).filter(|n| rows[*n]["left_out"] == true).collect(),
        };
        for (value, _) in holders.iter().filter(|(_, patients)| patients.len() < FEWEST) {
            let among = patients(hidden.iter().map(|n| &rows[*n]));
            assert!(among.len() >= FEWEST, "{name}: {column} = {value} is of one of {} patients", among.len());
            // Whoever knows the total takes what is told from it: what is left is not all that is hidden.
            let total = truth.iter().map(|truth| truth[column].to_string()).filter(|other| other == value).count();
            assert!(total < hidden.len(), "{name}: every row in which {column} is hidden is {value}");
            let could_be: BTreeSet<String> = hidden.iter().map(|n| truth[*n][column].to_string()).collect();
            assert!(could_be.len() >= 2, "{name}: {column} can only be {value}");
            small += 1;
        }
    }
    (told, small)
}

/// Of the patients themselves: those who share what is told are five, and so are those of whom it is not told.
fn patients_are_told_in_fives(rows: &Rows) {
    let columns = ["ended.why", "where", "infections_before"];
    for n in 0..columns.len() {
        let mut groups: BTreeMap<Vec<String>, usize> = BTreeMap::new();
        for row in rows {
            *groups.entry(columns[..=n].iter().map(|column| row[*column].to_string()).collect()).or_default() += 1;
        }
        for (values, patients) in groups {
            assert!(patients >= FEWEST, "{values:?} is told of {patients} patients");
        }
    }
}

fn attack(records: &Path) -> (usize, usize) {
    let plain = tables(records, &[]);
    let secrets = secrets(records, &plain);
    assert!(secrets.len() > 40, "{}", secrets.len());
    let [csv, json] = ["csv", "json"].map(|format| exported(records, format, &["--deidentify"]).1);
    for files in [&csv, &json] {
        no_secret_is_told(&secrets, files);
        assert!(files["README.txt"].contains("pseudonymous, not de-identified"));
        assert!(files["README.txt"].replace('\n', " ").contains("privacy office decides about their release"));
    }
    let told = tables_of(&json, "export-pseudonymous");
    patients_are_told_in_fives(&told["patients"]);
    let (attacked, who) = attacked(&plain, told);
    // Numbers follow no order of codes.
    assert!(!who.values().is_sorted() && !who.values().rev().is_sorted());
    let found = attacked.iter().map(|(name, table)| nothing_left_out_can_be_worked_out(name, table));
    found.fold((0, 0), |(told, small), (more, smaller)| (told + more, small + smaller))
}

#[test]
fn of_the_invented_program_nothing_left_out_can_be_worked_out() {
    let (told, small) = attack(&demo());
    assert!(told > 1000 && small > 20, "the attack found {told} values told and {small} to be found");
}

#[test]
fn of_a_simulated_program_nothing_left_out_can_be_worked_out() {
    let (_kept, records) = simulated("mixed", 12);
    let (told, small) = attack(&records);
    assert!(told > 20_000 && small > 5, "the attack found {told} values told and {small} to be found");
}

/// The invented program under other codes, and every date so many days later.
fn moved(days: i64) -> TempDir {
    fn copy(from: &Path, to: &Path, change: &dyn Fn(&str) -> String) {
        fs::create_dir_all(to).unwrap();
        for entry in fs::read_dir(from).unwrap() {
            let path = entry.unwrap().path();
            let name = change(path.file_name().unwrap().to_str().unwrap());
            match path.is_dir() {
                // A year's folder follows its files.
                true if name.starts_with("20") => copy(&path, to, change),
                true => copy(&path, &to.join(name), change),
                false if name.starts_with("20") => {
                    let year = to.join(&name[..4]);
                    fs::create_dir_all(&year).unwrap();
                    fs::write(year.join(name), change(&fs::read_to_string(&path).unwrap())).unwrap();
                }
                false => fs::write(to.join(name), change(&fs::read_to_string(&path).unwrap())).unwrap(),
            }
        }
    }
    let date = Regex::new(r"\d{4}-\d\d-\d\d").unwrap();
    let code = Regex::new(r"\b(P-|p)0(\d\d)").unwrap();
    let change = move |text: &str| {
        let text = date.replace_all(text, |found: &regex::Captures| match found[0].parse::<NaiveDate>() {
            Ok(day) => (day + chrono::Duration::days(days)).to_string(),
            Err(_) => found[0].to_owned(),
        });
        let other = |found: &regex::Captures| format!("{}{}", &found[1], 900 - found[2].parse::<u32>().unwrap());
        code.replace_all(&text, other).into_owned()
    };
    let kept = folder();
    copy(&demo(), kept.path(), &change);
    kept
}

#[test]
fn other_codes_and_other_dates_give_the_same_bytes() {
    let kept = moved(364);
    assert!(kept.path().join("patients/P-886").is_dir());
    for format in ["csv", "json"] {
        let before = exported(&demo(), format, &["--deidentify", "--as-of", "2026-11-24T07:15"]).1;
        let after = exported(kept.path(), format, &["--deidentify", "--as-of", "2027-11-23T07:15"]).1;
        for (name, text) in &before {
            assert!(text == &after[name], "{name} differs");
        }
        assert_eq!(before.len(), after.len());
    }
}

/// So many patients, each with a change on a day and so many months later.
fn program(patients: usize, months: u32) -> desk::Desk {
    let desk = desk::Desk::new();
    fs::remove_dir_all(desk.root().join("patients/P-001")).unwrap();
    for n in 1..=patients {
        let code = format!("P-1{n:02}");
        let course = desk::PATIENT
            .replace("P-001", &code)
            .replace("p001-son", &format!("p1{n:02}-son"))
            .replace("2026-08", "2025-08");
        desk.put(&format!("patients/{code}/patient.toml"), &course);
        let first: NaiveDate = "2025-09-10".parse().unwrap();
        for day in [first, first + chrono::Months::new(months) - chrono::Duration::days(1)] {
            let change = format!("kind = 'change'\non = {day}\nby = 'rn-07'\n");
            desk.put(&format!("patients/{code}/{}/{day}-change.toml", &day.to_string()[..4]), &change);
        }
    }
    desk
}

#[test]
fn under_a_year_or_five_patients_nothing_is_told() {
    let here = folder();
    for (patients, months, why) in
        [(5, 12, None), (4, 12, Some("records of 4 patients,")), (5, 11, Some("less than 12 months"))]
    {
        let outcome = said(program(patients, months).root(), here.path(), &["csv", "out", "--deidentify"]);
        match why {
            None => assert_eq!((outcome.status, outcome.stderr.as_str()), (0, "")),
            Some(why) => {
                assert!(outcome.status == 2 && outcome.stderr.contains(why), "{}", outcome.stderr);
                assert_eq!((outcome.stderr.lines().count(), outcome.stdout.as_str()), (1, ""));
            }
        }
        assert_eq!(here.path().join("out").exists(), why.is_none());
        _ = fs::remove_dir_all(here.path().join("out"));
    }
    // A day less than a year is less than a year.
    let desk = program(5, 12);
    for n in 1..=5 {
        fs::remove_file(desk.root().join(format!("patients/P-1{n:02}/2026/2026-09-09-change.toml"))).unwrap();
        desk.put(
            &format!("patients/P-1{n:02}/2026/2026-09-08-change.toml"),
            "kind = 'change'\non = 2026-09-08\nby = 'rn-07'\n",
        );
    }
    assert_eq!(said(desk.root(), here.path(), &["csv", "out", "--deidentify"]).status, 2);
    // Without people.toml in order nobody's role is known.
    desk.put("people.toml", "[[person]]\n");
    let outcome = said(desk.root(), here.path(), &["csv", "out", "--deidentify"]);
    assert!(outcome.status == 2 && outcome.stderr.contains("people.toml cannot be used"), "{}", outcome.stderr);
}

#[test]
fn what_a_table_does_not_tell_is_said() {
    let (outcome, files) = exported(&demo(), "csv", &["--deidentify"]);
    assert!(outcome.stdout.replace('\n', " ").contains("pseudonymous, not de-identified"));
    assert!(
        !files.contains_key("infection.csv")
            && !files.contains_key("treatment.csv")
            && !files.contains_key("people.csv")
    );
    for text in [&outcome.stdout, &files["README.txt"]] {
        assert!(text.contains("infection"), "{text}");
        assert!(text.contains("empty in every row"), "{text}");
    }
    // Whether nobody or one of four has such records is not told either.
    assert!(files["README.txt"].contains("infection: left out, since fewer than five patients have any"));
    let (outcome, _) = exported(&demo(), "csv", &["--deidentify", "--json"]);
    let report: Value = serde_json::from_str(&outcome.stdout).unwrap();
    jsonschema::validate(&exitsite::schema::schema("export").unwrap(), &report).unwrap();
    let infection = report["tables"].as_array().unwrap().iter().find(|table| table["table"] == "infection").unwrap();
    assert_eq!((&infection["file"], &infection["rows"]), (&Value::Null, &Value::Null));
}
