//! Tables for a recipient under an agreement: the literal list of columns that may leave, every value checked against
//! the records, no codes, dates, texts or file names in the bytes, and a key file that only its owner can read.

use std::collections::BTreeSet;
use std::os::unix::fs::PermissionsExt;

use chrono::NaiveDate;
use regex::Regex;

use super::*;

/// Tables by name.
type Tables = BTreeMap<String, Rows>;

/// The columns that may leave the program, repeated here: any added column fails this test, so adding it here is a
/// decision that it may leave.
const MAY_LEAVE: [(&str, &str); 15] = [
    ("patients", "patient records_from_day infections_before last_change_before_day ended.on_day ended.why"),
    ("exits", "patient exit where from_day until_day why"),
    ("care", "patient from_day place reports"),
    ("orders", "patient from_day until_day every_days min_days no_showers exit"),
    (
        "assessment",
        "patient day source exit site.drainage site.amount site.redness_mm site.swelling site.crust_mm site.pain site.odor site.warmth site.overgranulation site.bleeding site.temperature_c",
    ),
    (
        "change",
        "patient day source exit reason found.dressing found.anchor materials.cleanser materials.driveline_cleansed materials.disc materials.skin_protectant materials.gauze left.dressing left.anchor site.drainage site.amount site.redness_mm site.swelling site.crust_mm site.pain site.odor site.warmth site.overgranulation site.bleeding site.temperature_c",
    ),
    ("contact", "patient day source outcome temperature_c"),
    ("culture", "patient day source specimen result.on_day result.growth"),
    ("infection", "patient day source part certainty onset_day resolved_day readmission"),
    ("inspection", "patient day source exit dressing anchor"),
    ("log", "patient day source from_day through_day complete"),
    ("shower", "patient day source water dressing_before dressing_after anchor"),
    ("teaching", "patient day source mode"),
    ("trauma", "patient day source exit mechanism dressing anchor site_bleeding"),
    ("treatment", "patient day source what until_day"),
];

/// A pseudonymous export: its outcome, its files, and the code behind each number.
fn released(records: &Path, format: &str) -> (Outcome, BTreeMap<String, String>, BTreeMap<i64, String>) {
    let here = folder();
    let outcome = said(records, here.path(), &[format, "out", "--pseudonymous", "--key", "key.csv"]);
    assert_ne!(outcome.status, 2, "{}", outcome.stderr);
    let read = |path: PathBuf| fs::read_to_string(path).unwrap();
    let files = fs::read_dir(here.path().join("out")).unwrap().map(|entry| {
        let entry = entry.unwrap();
        (entry.file_name().into_string().unwrap(), read(entry.path()))
    });
    let files = files.collect();
    let mode = fs::metadata(here.path().join("key.csv")).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o600);
    let key = read(here.path().join("key.csv"));
    let mut lines = key.lines();
    assert!(lines.next().unwrap().starts_with("# Keep inside the program"));
    assert_eq!(lines.next(), Some("number,patient"));
    let whose = lines.map(|line| line.split_once(',').unwrap()).map(|(n, code)| (n.parse().unwrap(), code.to_owned()));
    let whose = whose.collect();
    let names: Vec<_> = fs::read_dir(here.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names.len(), 2, "{names:?}");
    (outcome, files, whose)
}

/// The texts of the records that must not leave the program.
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
    let words = ["patient", "other", "chlorhexidine", "povidone-iodine", "saline"];
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
    // Some are also words of the tables, such as intolerances; all others identify someone.
    secrets.retain(|text| text.len() > 1 && !words.contains(&text.as_str()));
    secrets
}

fn no_secret_is_told(secrets: &BTreeSet<String>, files: &BTreeMap<String, String>) {
    let date_or_time = Regex::new(r"\d{4}-\d\d|\d\d:\d\d|\.toml|/20\d\d/").unwrap();
    // A short secret such as "son" may be part of a word. File names are found by their common parts.
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

#[test]
fn only_the_columns_on_the_list_leave() {
    let (_, csv, _) = released(&demo(), "csv");
    let (_, json, _) = released(&demo(), "json");
    let names = |files: &BTreeMap<String, String>, end: &str| -> BTreeSet<String> {
        files.keys().filter_map(|name| name.strip_suffix(end)).map(str::to_owned).collect()
    };
    let listed: BTreeSet<String> = MAY_LEAVE.iter().map(|(name, _)| (*name).to_owned()).collect();
    assert_eq!([names(&csv, ".csv"), names(&json, ".json")], [listed.clone(), listed]);
    for (name, columns) in MAY_LEAVE {
        let header = csv_of(&csv[&format!("{name}.csv")]).0;
        let expected = format!("still_patients_data_the_program_decides {columns}");
        assert_eq!(header.join(" "), expected, "{name}");
        let file: Value = serde_json::from_str(&json[&format!("{name}.json")]).unwrap();
        for row in file["rows"].as_array().unwrap() {
            let keys: Vec<&str> = row.as_object().unwrap().keys().map(String::as_str).collect();
            assert_eq!(keys.join(" "), columns, "{name}");
        }
    }
}

#[test]
fn the_first_line_of_every_file_says_that_these_are_patients_data() {
    for format in ["csv", "json"] {
        for (name, text) in released(&demo(), format).1 {
            let first = text.lines().next().unwrap().to_lowercase().replace('_', " ").replace("patients'", "patients");
            assert!(first.contains("patients data") && first.contains("the program decides"), "{name}: {first}");
        }
    }
}

#[test]
fn every_value_is_that_of_the_records_in_days_since_the_implant() {
    let plain = tables(&demo(), &[]);
    let (outcome, files, whose) = released(&demo(), "json");
    // One file of the invented program is unreadable; its name stays inside.
    assert_eq!(outcome.status, 3);
    let told = tables_of(&files, "export-pseudonymous");
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let implanted: BTreeMap<String, NaiveDate> =
        plain["patients"].iter().map(|row| (text(&row["patient"]), text(&row["implanted"]).parse().unwrap())).collect();
    assert_eq!(whose.values().cloned().collect::<BTreeSet<_>>(), implanted.keys().cloned().collect());
    let mut compared = 0;
    for (name, rows) in &told {
        let mut own: BTreeMap<String, std::collections::VecDeque<&BTreeMap<String, Value>>> = BTreeMap::new();
        let counts = |row: &&BTreeMap<String, Value>| {
            row.get("voided") != Some(&true.into()) && implanted.contains_key(&text(&row["patient"]))
        };
        for row in plain[name].iter().filter(counts) {
            own.entry(text(&row["patient"])).or_default().push_back(row);
        }
        for row in rows {
            let code = &whose[&row["patient"].as_i64().unwrap()];
            let truth = own.get_mut(code).unwrap().pop_front().unwrap();
            for (column, value) in row.iter().filter(|(column, _)| *column != "patient") {
                let inside = match column.as_str() {
                    "day" => "care_day",
                    "exit" if name == "exits" => "id",
                    column => column.strip_suffix("_day").unwrap_or(column),
                };
                let expected = match (column.as_str(), &truth[inside]) {
                    (_, Value::Null) => Value::Null,
                    ("exit", id) => {
                        let mut exits = plain["exits"].iter().filter(|row| row["patient"] == **code);
                        Value::from(exits.position(|row| row["id"] == *id).unwrap() + 1)
                    }
                    (column, day) if column == "day" || column.ends_with("_day") => {
                        let day: NaiveDate = text(day)[..10].parse().unwrap();
                        Value::from((day - implanted[code]).num_days())
                    }
                    (_, value) => value.clone(),
                };
                assert_eq!(*value, expected, "{name}: {column} of {code}");
                compared += 1;
            }
        }
        assert!(own.values().all(std::collections::VecDeque::is_empty), "{name}: a row is missing");
    }
    assert!(compared > 5000, "{compared}");
}

#[test]
fn no_code_date_text_or_file_name_is_in_any_byte() {
    let secrets = secrets(&demo(), &tables(&demo(), &[]));
    assert!(secrets.len() > 40, "{}", secrets.len());
    for format in ["csv", "json"] {
        no_secret_is_told(&secrets, &released(&demo(), format).1);
    }
}

#[test]
fn csv_and_json_have_the_same_rows_and_numbers_are_drawn_anew() {
    let (_, csv, first) = released(&demo(), "csv");
    let (_, json, second) = released(&demo(), "json");
    assert!(first.keys().all(|number| (100_000..1_000_000).contains(number)));
    assert_ne!(first, second);
    // Neither the numbers nor the order of the rows follow the codes.
    assert!(!first.values().is_sorted() && !first.values().rev().is_sorted());
    for (name, rows) in tables_of(&json, "export-pseudonymous") {
        let (_, cells) = csv_of(&csv[&format!("{name}.csv")]);
        assert_eq!(cells.len(), rows.len(), "{name}");
        assert!(cells.iter().all(|row| row[0].is_empty() && first.contains_key(&row[1].parse().unwrap())), "{name}");
    }
}

#[test]
fn a_key_that_is_missing_there_already_or_in_the_wrong_place_is_refused_and_nothing_is_written() {
    let (desk, here) = (desk::Desk::new(), folder());
    let refused = |arguments: &[&str], says: &str| {
        let stderr = super::folder::refused(desk.root(), here.path(), &[&["csv"], arguments].concat());
        assert!(stderr.contains(says), "{arguments:?}: {stderr}");
        assert_eq!(stderr.lines().count(), 1, "{stderr}");
    };
    let in_records = desk.root().join("key.csv");
    fs::create_dir(here.path().join("empty")).unwrap();
    fs::write(here.path().join("old.csv"), "mine").unwrap();
    std::os::unix::fs::symlink("nowhere", here.path().join("link")).unwrap();
    std::os::unix::fs::symlink(desk.root(), here.path().join("way-in")).unwrap();
    refused(&["out", "--pseudonymous"], "--pseudonymous needs --key FILE");
    refused(&["out", "--key", "key.csv"], "--key is for --pseudonymous");
    refused(&["out", "--pseudonymous", "--key", "old.csv"], "a key file is never overwritten");
    refused(&["out", "--pseudonymous", "--key", "link"], "a key file is never overwritten");
    refused(&["out", "--pseudonymous", "--key", in_records.to_str().unwrap()], "inside the records");
    refused(&["out", "--pseudonymous", "--key", "way-in/patients/key.csv"], "inside the records");
    refused(&["empty", "--pseudonymous", "--key", "empty/key.csv"], "inside the export");
    refused(&["out", "--pseudonymous", "--key", "out"], "inside the export");
    refused(&["out", "--pseudonymous", "--key", "missing/key.csv"], "there is no folder");
    refused(&["out", "--pseudonymous", "--key", "missing/.."], "is not the name of a file");
    let old = super::folder::refused(desk.root(), here.path(), &["csv", "out", "--deidentify"]);
    assert!(old.contains("--pseudonymous --key FILE") && old.contains("audit --year YYYY --external"), "{old}");
}

#[test]
fn without_space_or_permission_there_is_neither_export_nor_key() {
    let (desk, here) = (desk::Desk::new(), folder());
    fs::create_dir(here.path().join("keys")).unwrap();
    let asked = ["--pseudonymous", "--key", "keys/key.csv"];
    let is_empty =
        || fs::read_dir(here.path().join("keys")).unwrap().next().is_none() && !here.path().join("out").exists();
    let limit = ["sh", "-c", "trap '' XFSZ; ulimit -f 0; exec \"$0\" \"$@\""];
    let (status, stdout, stderr) = super::folder::behind(&limit, desk.root(), here.path(), &asked);
    assert_eq!((status, stdout.as_str(), stderr.lines().count()), (Some(2), "", 1), "{stderr}");
    assert!(stderr.contains("cannot write") && is_empty(), "{stderr}");
    let is_root = std::process::Command::new("id").arg("-u").output().unwrap().stdout == b"0\n";
    let user: &[&str] = if is_root { &["setpriv", "--bounding-set=-all", "--inh-caps=-all"] } else { &[] };
    // Each folder read-only in turn: that of the key, and that of the export.
    for place in [here.path().join("keys"), here.path().to_owned()] {
        fs::set_permissions(&place, fs::Permissions::from_mode(0o555)).unwrap();
        let (status, stdout, stderr) = super::folder::behind(user, desk.root(), here.path(), &asked);
        fs::set_permissions(&place, fs::Permissions::from_mode(0o755)).unwrap();
        assert_eq!((status, stdout.as_str(), stderr.lines().count()), (Some(2), "", 1), "{stderr}");
        assert!(stderr.contains("ask for permission") && is_empty(), "{stderr}");
    }
    let names: Vec<_> = fs::read_dir(here.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names, ["keys"]);
    assert_eq!(super::folder::behind(&[], desk.root(), here.path(), &asked).0, Some(0));
}

#[test]
fn a_patient_whose_course_cannot_be_read_stays_inside_and_part_of_the_records_can_be_asked_for() {
    let desk = desk::Desk::new();
    desk.put("patients/P-002/patient.toml", "code = 'P-002'\n");
    desk.put("patients/P-002/2026/2026-11-20-shower.toml", "kind = 'shower'\non = 2026-11-20\nby = 'patient'\n");
    desk.put("patients/P-001/2026/2026-11-19-shower.toml", "kind = 'shower'\non = 2026-11-19\nby = 'patient'\n");
    let (outcome, files, _) = released(desk.root(), "json");
    assert_eq!(outcome.status, 3);
    assert!(files.values().all(|text| !text.contains("P-00")));
    assert_eq!(tables_of(&files, "export-pseudonymous")["shower"].len(), 1);
    let here = folder();
    let asked =
        ["json", "out", "--pseudonymous", "--key", "key", "--patient", "P-001", "--from", "2026-11-20", "--json"];
    let outcome = said(desk.root(), here.path(), &asked);
    let report: Value = serde_json::from_str(&outcome.stdout).unwrap();
    jsonschema::validate(&exitsite::schema::schema("export").unwrap(), &report).unwrap();
    assert_eq!((&report["pseudonymous"], &report["key"]), (&true.into(), &"key".into()));
    let shower = report["tables"].as_array().unwrap().iter().find(|table| table["table"] == "shower").unwrap();
    assert_eq!(shower["rows"], 0);
}
