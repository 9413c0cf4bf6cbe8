//! Many processes that record at once for the same patient and minute.

use super::import::{Import, two_patients};
use super::*;

/// The number of processes at once.
const AT_ONCE: usize = 24;

/// Starts all commands before waiting for any. Returns status and output of each.
fn at_once(commands: Vec<Command>) -> Vec<(Option<i32>, String, String)> {
    let piped = |mut command: Command| {
        command.stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::piped()).spawn().unwrap()
    };
    let started: Vec<_> = commands.into_iter().map(piped).collect();
    started.into_iter().map(|child| said(&child.wait_with_output().unwrap())).collect()
}

#[test]
fn none_of_many_records_of_one_minute_is_lost_or_overwritten() {
    for has_year in [true, false] {
        let kept = records(has_year);
        let notes: Vec<String> = (1..=AT_ONCE).map(|n| format!("number {n}")).collect();
        let command = |note: &String| exitsite(kept.path(), &shower("2025-11-20T10:00", note));
        let ended = at_once(notes.iter().map(command).collect());
        assert!(ended.iter().all(|(status, ..)| *status == Some(0)), "{ended:?}");
        let year = kept.path().join(YEAR);
        // A record taken back and written again leaves its number free.
        let files = names(&year, false);
        assert_eq!(files.len(), AT_ONCE, "{files:?}");
        assert!(files.iter().all(|name| name.starts_with("2025-11-20T1000-shower")), "{files:?}");
        assert_eq!(names(&year, true), Vec::<String>::new());
        let mut texts: Vec<String> =
            files.iter().map(|name| without_entry(&fs::read_to_string(year.join(name)).unwrap())).collect();
        let mut whole: Vec<String> = notes.iter().map(|note| shower_text("2025-11-20T10:00:00-06:00", note)).collect();
        texts.sort();
        whole.sort();
        assert_eq!(texts, whole);
        // Each run reported the name of its own record.
        for (note, (_, report, _)) in notes.iter().zip(&ended) {
            let file = report.lines().find_map(|line| line.strip_prefix("Recorded ")).unwrap();
            let text = fs::read_to_string(kept.path().join(file)).unwrap();
            assert!(text.contains(&format!("note = \"{note}\"\n")), "{file} {note}");
        }
        assert_eq!(rules_found(kept.path()), ["perhaps-the-same"]);
    }
}

#[test]
fn the_same_record_from_many_at_once_is_on_file_once() {
    let kept = records(false);
    let same = || exitsite(kept.path(), &shower("2025-11-20T10:00", "the same"));
    let ended = at_once((0..AT_ONCE).map(|_| same()).collect());
    let written = ended.iter().filter(|(status, ..)| *status == Some(0)).count();
    let told = |(status, report, error): &&(Option<i32>, String, String)| {
        *status == Some(2)
            && report.is_empty()
            && error.contains("lready on file as patients/P-001/2025/2025-11-20T1000-shower.toml")
    };
    assert_eq!((written, ended.iter().filter(told).count()), (1, AT_ONCE - 1), "{ended:?}");
    let year = kept.path().join(YEAR);
    assert_eq!(names(&year, false), ["2025-11-20T1000-shower.toml"]);
    assert_eq!(names(&year, true), Vec::<String>::new());
    assert_eq!(rules_found(kept.path()), Vec::<String>::new());
}

#[test]
fn imports_of_the_same_log_at_once_leave_it_on_file_once() {
    let import = Import::of(60);
    for others in [1, 3] {
        let kept = two_patients();
        let ended = at_once((0..=others).map(|_| import.command(&[], kept.path())).collect());
        assert!(ended.iter().all(|(status, ..)| *status == Some(0)), "{ended:?}");
        assert_eq!(import.is_whole_so_far(kept.path()), import.whole.len());
        assert_eq!(rules_found(kept.path()), Vec::<String>::new());
        import.is_completed_by_another_run(kept.path());
    }
}

#[test]
fn an_import_beside_records_of_the_same_patient_and_minute_loses_neither() {
    let import = Import::of(60);
    let day = "2024-02-13";
    for _ in 0..4 {
        let kept = two_patients();
        let at = format!("{day}T17:20");
        let mut commands = vec![import.command(&[], kept.path())];
        commands.extend(["one", "two"].map(|note| exitsite(kept.path(), &shower(&at, note))));
        let ended = at_once(commands);
        // A command that meets the other's record asks whether they are the same, and writes nothing then.
        let is_asked = ended[0].0 == Some(2);
        assert!(!is_asked || ended[0].2.contains("possible duplicate"), "{ended:?}");
        assert!(ended[1..].iter().all(|(status, ..)| *status == Some(0)), "{ended:?}");
        let year = kept.path().join("patients/P-001/2024");
        let showers: Vec<String> = names(&year, false)
            .into_iter()
            .filter(|name| name.starts_with(&at.replace(':', "")) && name.contains("-shower"))
            .collect();
        let mut notes: Vec<String> = showers
            .iter()
            .map(|name| {
                let text = without_entry(&fs::read_to_string(year.join(name)).unwrap());
                text.lines().find_map(|line| line.strip_prefix("note = ")).unwrap_or("the log's").to_owned()
            })
            .collect();
        notes.sort();
        let mut expected = vec!["\"one\"", "\"two\""];
        expected.extend((!is_asked).then_some("the log's"));
        assert_eq!(notes, expected);
        assert_eq!(names(&year, true), Vec::<String>::new());
    }
}
