//! A network share that disappears while it is read, and a folder with thousands of files of one day.

use std::fs;
use std::sync::atomic::{AtomicBool, Ordering};

use exitsite::ask;
use exitsite::day::AsOf;
use exitsite::folder::Folder;
use exitsite::program::Program;
use exitsite::report::due::Row;

const POLICY: &str = "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n";

fn as_of() -> AsOf {
    AsOf { instant: "2026-11-24T13:15:00Z".parse().unwrap(), is_given: true }
}

fn patient(records: &std::path::Path, code: &str) -> std::path::PathBuf {
    let year = records.join("patients").join(code).join("2026");
    fs::create_dir_all(&year).unwrap();
    let course = format!(
        "code = '{code}'\nimplanted = 2026-06-01\n[[exit]]\nid = 'a'\nwhere = 'midline'\nfrom = 2026-06-01\nwhy = 'implant'\n\
         [[care]]\nfrom = 2026-06-01\nplace = 'home'\n"
    );
    fs::write(year.with_file_name("patient.toml"), course).unwrap();
    year
}

/// The state of each row by patient, or the sentence of a run that could not start.
fn states(records: &std::path::Path) -> Result<Vec<(String, Option<String>)>, String> {
    let folder = Folder::find(Some(records), records).map_err(|failure| failure.0)?;
    let program = Program::open(folder).map_err(|failure| failure.0)?;
    if program.plan().is_none() {
        return Err("policy.toml cannot be used".to_owned());
    }
    let codes: Vec<&str> = program.patients.codes.iter().map(String::as_str).collect();
    let (report, _) = ask::due(&program, &codes, as_of(), true);
    let state = |row: &Row| {
        (row.patient().to_owned(), row.site().map(|row| format!("{:?} {:?}", row.due.state, row.due.due_on)))
    };
    let mut states: Vec<_> = report.rows.iter().map(state).collect();
    states.sort();
    Ok(states)
}

#[test]
fn a_share_that_goes_away_while_it_is_read_leaves_nobody_out_and_nothing_wrong() {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let (records, away) = (kept.path().join("records"), kept.path().join("away"));
    for n in 1..=6 {
        let year = patient(&records, &format!("P-{n:03}"));
        for day in 1..=23 {
            let text = format!("kind = 'change'\nat = 2026-11-{day:02}T09:00:00\nby = 'patient'\n");
            fs::write(year.join(format!("2026-11-{day:02}T0900-change.toml")), text).unwrap();
        }
    }
    fs::write(records.join("policy.toml"), POLICY).unwrap();
    let whole = states(&records).unwrap();
    assert!(whole.len() == 6 && whole.iter().all(|(_, state)| state.is_some()), "{whole:?}");
    let is_over = AtomicBool::new(false);
    let mut cut = 0;
    std::thread::scope(|scope| {
        scope.spawn(|| {
            while !is_over.load(Ordering::Relaxed) {
                fs::rename(&records, &away).unwrap();
                std::thread::sleep(std::time::Duration::from_micros(300));
                fs::rename(&away, &records).unwrap();
                std::thread::sleep(std::time::Duration::from_millis(3));
            }
        });
        for _ in 0..300 {
            let Ok(states) = states(&records) else {
                cut += 1;
                continue;
            };
            assert_eq!(states.len(), 6, "{states:?}");
            for (row, known) in states.iter().zip(&whole) {
                assert_eq!(row.0, known.0);
                cut += usize::from(row.1.is_none());
                assert!(row.1.is_none() || row.1 == known.1, "{row:?} is not {known:?}");
            }
        }
        is_over.store(true, Ordering::Relaxed);
    });
    assert!(cut > 0, "no run was cut off");
}

#[test]
fn a_folder_of_twenty_thousand_files_of_one_day_is_read() {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    fs::write(kept.path().join("policy.toml"), POLICY).unwrap();
    let year = patient(kept.path(), "P-001");
    for n in 0..20_000 {
        let (minute, number) = (n % 1440, n / 1440 + 1);
        let (hour, minute) = (minute / 60, minute % 60);
        let number = if number > 1 { format!("-{number}") } else { String::new() };
        let text = format!(
            "kind = 'inspection'\nat = 2026-11-22T{hour:02}:{minute:02}:00\nby = 'patient'\nanchor = 'in-place'\n"
        );
        fs::write(year.join(format!("2026-11-22T{hour:02}{minute:02}-inspection{number}.toml")), text).unwrap();
    }
    let change = "kind = 'change'\nat = 2026-11-22T09:00:00\nby = 'patient'\n";
    fs::write(year.join("2026-11-22T0900-change.toml"), change).unwrap();
    let known = vec![("P-001".to_owned(), Some("Due Some(2026-11-24)".to_owned()))];
    assert_eq!(states(kept.path()), Ok(known));
}
