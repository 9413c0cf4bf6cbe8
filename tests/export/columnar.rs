//! Parquet: the same rows as JSON, each value with its own type, in groups of a fixed number of rows.

use chrono::{DateTime, NaiveDate, NaiveDateTime};
use parquet::basic::{LogicalType, Type as Physical};
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::{Field, Row};

use super::*;

/// A file read back by the crate's own reader.
struct Read {
    reader: SerializedFileReader<fs::File>,
}

impl Read {
    fn of(path: &Path) -> Read {
        Read { reader: SerializedFileReader::new(fs::File::open(path).unwrap()).unwrap() }
    }

    fn rows(&self) -> Vec<BTreeMap<String, Field>> {
        let columns = |row: Row| row.into_columns().into_iter().collect();
        self.reader.get_row_iter(None).unwrap().map(|row| columns(row.unwrap())).collect()
    }

    fn head(&self) -> Value {
        let about = self.reader.metadata().file_metadata();
        let all = about.key_value_metadata().unwrap();
        let head = all.iter().find(|one| one.key == "exitsite").unwrap();
        serde_json::from_str(head.value.as_ref().unwrap()).unwrap()
    }

    fn kind(&self, name: &str) -> (Physical, Option<LogicalType>) {
        let schema = self.reader.metadata().file_metadata().schema_descr();
        let column = schema.columns().iter().find(|column| column.path().string() == name).unwrap();
        (column.physical_type(), column.logical_type_ref().cloned())
    }
}

/// Converts a value to JSON.
fn plain(field: &Field) -> Value {
    match field {
        Field::Null => Value::Null,
        Field::Bool(flag) => (*flag).into(),
        Field::Int(number) => (*number).into(),
        Field::Double(number) if number.fract() == 0.0 => (*number as i64).into(),
        Field::Double(number) => (*number).into(),
        Field::Str(text) => text.clone().into(),
        Field::Date(days) => (NaiveDate::default() + chrono::TimeDelta::days(i64::from(*days))).to_string().into(),
        Field::TimeMicros(micros) => {
            let time = chrono::NaiveTime::MIN + chrono::TimeDelta::microseconds(*micros);
            Value::from(time.format("%H:%M:%S").to_string())
        }
        Field::ListInternal(list) => list.elements().iter().map(plain).collect(),
        other => panic!("{other:?}"),
    }
}

fn wall(field: &Field) -> Option<NaiveDateTime> {
    match field {
        Field::TimestampMicros(micros) => Some(DateTime::from_timestamp_micros(*micros).unwrap().naive_utc()),
        Field::Null => None,
        other => panic!("{other:?}"),
    }
}

fn written(records: &Path, arguments: &[&str]) -> (TempDir, Outcome) {
    let here = folder();
    let outcome = said(records, here.path(), &[&["parquet", "out"], arguments].concat());
    assert_ne!(outcome.status, 2, "{}", outcome.stderr);
    (here, outcome)
}

#[test]
fn each_value_is_that_of_the_json_with_its_type() {
    let tables = tables(&demo(), &[]);
    let (here, outcome) = written(&demo(), &[]);
    assert_eq!(outcome.status, 3, "a file of the demo cannot be read");
    let (mut values, mut moments) = (0, 0);
    for (name, rows) in &tables {
        let file = Read::of(&here.path().join(format!("out/{name}.parquet")));
        assert_eq!(
            (&file.head()["table"], &file.head()["unusable"].as_array().unwrap().len()),
            (&name.as_str().into(), &1)
        );
        let found = file.rows();
        assert_eq!(found.len(), rows.len(), "{name}");
        for (row, found) in rows.iter().zip(&found) {
            for (column, value) in row {
                let field = &found[column];
                if let Some(local) = found.get(&format!("{column}_local")) {
                    let text = value.as_str();
                    assert_eq!(
                        wall(field),
                        text.map(|at| at.parse::<DateTime<chrono::FixedOffset>>().unwrap().naive_utc())
                    );
                    let on_the_wall = text.map(|at| at[..19].replace(' ', "T").parse::<NaiveDateTime>().unwrap());
                    assert_eq!(wall(local), on_the_wall, "{name}: {column}");
                    moments += usize::from(text.is_some());
                } else if column == "infections_before" && value.is_number() {
                    assert_eq!(plain(field), value.to_string(), "{name}: {column}");
                } else {
                    assert_eq!(plain(field), *value, "{name}: {column}");
                }
                values += 1;
            }
            let moments = row.keys().filter(|column| found.contains_key(&format!("{column}_local"))).count();
            assert_eq!(found.len(), row.len() + moments, "{name}");
        }
    }
    assert!(values > 10_000 && moments > 300, "{values} values, {moments} moments");
    let change = Read::of(&here.path().join("out/change.parquet"));
    assert_eq!(change.kind("care_day"), (Physical::INT32, Some(LogicalType::Date)));
    assert_eq!(change.kind("amended").0, Physical::INT32);
    assert_eq!(change.kind("site.redness_mm").0, Physical::DOUBLE);
    assert_eq!(change.kind("voided").0, Physical::BOOLEAN);
    assert_eq!(change.kind("site.temperature_c").0, Physical::DOUBLE);
    assert!(matches!(change.kind("at").1, Some(LogicalType::Timestamp(about)) if about.is_adjusted_to_u_t_c));
    assert!(matches!(change.kind("at_local").1, Some(LogicalType::Timestamp(about)) if !about.is_adjusted_to_u_t_c));
}

#[test]
fn the_same_records_give_the_same_bytes_and_the_same_rows_are_said() {
    let [(one, outcome), (other, _)] =
        [written(&demo(), &["--patient", "P-014"]), written(&demo(), &["--patient", "P-014"])];
    let names = fs::read_dir(one.path().join("out")).unwrap().map(|entry| entry.unwrap().file_name());
    let names: Vec<OsString> = names.collect();
    assert!(names.len() > 15);
    for name in names {
        let read = |folder: &TempDir| fs::read(folder.path().join("out").join(&name)).unwrap();
        assert!(read(&one) == read(&other), "{name:?}");
    }
    assert!(outcome.stdout.lines().any(|line| line.split_whitespace().eq(["change", "14", "change.parquet"])));
}

#[test]
fn pseudonymous_tables_have_the_columns_and_rows_of_the_csv() {
    let (here, _) = written(&demo(), &["--pseudonymous", "--key", "key.csv"]);
    let csv = folder();
    let outcome = said(&demo(), csv.path(), &["csv", "out", "--pseudonymous", "--key", "key.csv"]);
    assert_ne!(outcome.status, 2, "{}", outcome.stderr);
    let mut tables = 0;
    for entry in fs::read_dir(here.path().join("out")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|extension| extension != "parquet") {
            assert_eq!(path.file_name().unwrap(), "README.txt");
            continue;
        }
        let file = Read::of(&path);
        let head = file.head();
        assert_eq!((&head["pseudonymous"], &head["as_of"]), (&true.into(), &Value::Null));
        assert!(head["notice"].as_str().unwrap().starts_with("Patients' data, pseudonymous"));
        let table = path.file_stem().unwrap().to_str().unwrap();
        let (header, rows) = csv_of(&fs::read_to_string(csv.path().join(format!("out/{table}.csv"))).unwrap());
        let schema = file.reader.metadata().file_metadata().schema_descr();
        let columns: Vec<String> = schema.columns().iter().map(|column| column.path().string()).collect();
        assert_eq!(columns, header, "{table}");
        assert_eq!(file.rows().len(), rows.len(), "{table}");
        let bytes = fs::read(&path).unwrap();
        for inside in ["P-014", "p014-spouse", "2026-11", "right-upper\u{0}"] {
            assert!(!bytes.windows(inside.len()).any(|part| part == inside.as_bytes()), "{table} holds {inside}");
        }
        tables += 1;
    }
    assert_eq!(tables, 15);
}

#[test]
fn what_is_refused_for_csv_is_refused_for_parquet() {
    let (desk, here) = (desk::Desk::new(), folder());
    fs::create_dir(here.path().join("full")).unwrap();
    fs::write(here.path().join("full/mine"), "mine").unwrap();
    assert!(crate::folder::refused(desk.root(), here.path(), &["parquet", "full"]).contains("is not empty"));
    let inside = desk.root().join("out");
    let said = crate::folder::refused(desk.root(), here.path(), &["parquet", inside.to_str().unwrap()]);
    assert!(said.contains("is inside the records folder"), "{said}");
    assert!(
        crate::folder::refused(desk.root(), here.path(), &["parquet", "out", "--pseudonymous"]).contains("needs --key")
    );
}

/// Each group is written out before the next, so a table of any length needs the memory of one group.
#[test]
fn a_long_table_is_in_groups() {
    let desk = desk::Desk::new();
    let (first, days) = (NaiveDate::from_ymd_opt(2026, 8, 4).unwrap(), 100);
    for n in 0..days {
        let day = first + chrono::TimeDelta::days(n);
        for minute in 0..90 {
            let at = format!("{day}T{:02}{:02}", 6 + minute / 60, minute % 60);
            let text = format!("kind = 'shower'\nat = {}:{}:00-05:00\nby = 'patient'\n", &at[..13], &at[13..]);
            desk.put(&format!("patients/P-001/2026/{at}-shower.toml"), &text);
        }
    }
    let (here, _) = written(desk.root(), &[]);
    let file = Read::of(&here.path().join("out/shower.parquet"));
    let groups: Vec<i64> = file.reader.metadata().row_groups().iter().map(|group| group.num_rows()).collect();
    assert_eq!(groups, [8_192, 90 * days - 8_192]);
    assert_eq!(file.rows().len() as i64, 90 * days);
}
