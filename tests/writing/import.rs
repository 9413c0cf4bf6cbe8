//! Large logs for the other tests, with the records of an uninterrupted import.

use super::*;

/// The number of days of the large log, each with a change; every seventh has a shower before it.
const DAYS: usize = 360;

/// A log of two patients, with the records of its import.
pub(super) struct Import {
    folder: TempDir,
    first: chrono::NaiveDate,
    days: usize,
    /// The records after an uninterrupted import.
    pub(super) whole: BTreeMap<String, String>,
}

impl Import {
    /// About 800 rows over a year.
    pub(super) fn large() -> Import {
        Import::of(DAYS)
    }

    pub(super) fn of(days: usize) -> Import {
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let first = chrono::NaiveDate::from_ymd_opt(2024, 2, 10).unwrap();
        let mut log = "patient,date,time,kind,by,reason,site.drainage,site.redness_mm,note\n".to_owned();
        for code in ["P-001", "P-002"] {
            for (n, day) in first.iter_days().take(days).enumerate() {
                if n % 7 == 3 {
                    log.push_str(&format!("{code},{day},17:20,shower,patient,,,,\n"));
                }
                log.push_str(&format!("{code},{day},18:40,change,patient,,none,0,day {n}\n"));
            }
        }
        fs::write(folder.path().join("log.csv"), log).unwrap();
        let mut import = Import { folder, first, days, whole: BTreeMap::new() };
        let kept = two_patients();
        let (status, _, error) = said(&import.command(&[], kept.path()).output().unwrap());
        assert_eq!((status, error.as_str()), (Some(0), ""));
        assert_eq!(rules_found(kept.path()), Vec::<String>::new());
        import.whole = on_file(kept.path());
        assert_eq!(import.whole.len(), 2 * (days + (days + 3) / 7 + 1));
        import
    }

    /// The import command, started by another program.
    pub(super) fn command(&self, before: &[&str], root: &Path) -> Command {
        let file = self.folder.path().join("log.csv");
        let last = self.first.iter_days().nth(self.days - 1).unwrap().to_string();
        let first = self.first.to_string();
        let arguments = ["import", file.to_str().unwrap(), "--by-entered", "rn-07", "--log", &first, &last];
        behind(before, root, &arguments)
    }

    /// Asserts that each record on file is complete and as the import writes it. Returns their number.
    pub(super) fn is_whole_so_far(&self, root: &Path) -> usize {
        let there = on_file(root);
        for (name, text) in &there {
            assert_eq!(Some(text), self.whole.get(name), "{name}");
        }
        there.len()
    }

    /// Asserts that another run completes the import, with nothing missing and nothing twice.
    pub(super) fn is_completed_by_another_run(&self, root: &Path) {
        let (status, _, error) = said(&self.command(&[], root).output().unwrap());
        assert_eq!((status, error.as_str()), (Some(0), ""));
        assert!(on_file(root) == self.whole, "it is not what an import leaves that nothing stopped");
    }
}

/// A program of two patients without records.
pub(super) fn two_patients() -> TempDir {
    let kept = records(false);
    fs::create_dir_all(kept.path().join("patients/P-002")).unwrap();
    fs::write(kept.path().join("patients/P-002/patient.toml"), PATIENT.replace("P-001", "P-002")).unwrap();
    kept
}

/// Every visible record by its path, without the time of its entry; a log without the minute of its import, so that a
/// second log of a patient is found.
pub(super) fn on_file(root: &Path) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    for (path, (_, text)) in tree(&root.join("patients")) {
        let path = path.to_str().unwrap();
        let is_hidden = path.split('/').any(|part| part.starts_with('.'));
        if is_hidden || !path.ends_with(".toml") || path.ends_with("patient.toml") {
            continue;
        }
        let text = without_entry(&text);
        let (path, text) = match path.ends_with("-log.toml") {
            true => {
                let (patient, _) = path.split_once('/').unwrap();
                let lines = text.lines().filter(|line| !line.starts_with("at = "));
                (format!("{patient}/log"), lines.collect::<Vec<_>>().join("\n"))
            }
            false => (path.to_owned(), text),
        };
        let known = found.insert(path.clone(), text);
        assert_eq!(known, None, "{path} is there twice");
    }
    found
}

/// Asserts that interrupted writes left only hidden files with the expected names, and that `check` finds nothing else.
pub(super) fn leaves_only_leftovers(root: &Path) -> usize {
    let mut hidden = 0;
    for path in tree(&root.join("patients")).into_keys() {
        let name = path.file_name().unwrap().to_str().unwrap();
        if name.starts_with('.') {
            let parts: Vec<&str> = name.split('.').collect();
            assert!(matches!(parts.as_slice(), ["", _, .., _, "tmp"]), "{name}");
            hidden += 1;
        }
    }
    let expected = if hidden == 0 { Vec::new() } else { vec!["leftover-of-a-write"] };
    assert_eq!(rules_found(root), expected);
    hidden
}

/// A log in which some rows repeat changes on file that were reported by telephone.
pub(super) struct Told {
    folder: TempDir,
}

/// The number of changes on file, then the number of further ones in the log.
const TOLD: usize = 4;
const MORE: usize = 8;

impl Told {
    pub(super) fn new() -> Told {
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let mut log = "patient,on,kind,by,note,same\n".to_owned();
        (1..=TOLD).for_each(|n| log.push_str(&format!("P-001,2025-11-1{n},change,patient,dry,same\n")));
        (1..=MORE).for_each(|n| log.push_str(&format!("P-001,2025-12-{n:02},change,patient,dry,\n")));
        fs::write(folder.path().join("log.csv"), log).unwrap();
        Told { folder }
    }

    pub(super) fn records(&self) -> TempDir {
        let kept = records(true);
        for n in 1..=TOLD {
            fs::write(kept.path().join(YEAR).join(format!("2025-11-1{n}T1840-change.toml")), told_text(n)).unwrap();
        }
        kept
    }

    pub(super) fn command(&self, before: &[&str], root: &Path) -> Command {
        let file = self.folder.path().join("log.csv");
        behind(before, root, &["import", file.to_str().unwrap(), "--by-entered", "rn-07"])
    }

    /// Asserts that each change on file is unchanged or has its one amendment. Returns the number amended.
    pub(super) fn is_whole_so_far(&self, root: &Path) -> usize {
        let text = |n| fs::read_to_string(root.join(YEAR).join(format!("2025-11-1{n}T1840-change.toml"))).unwrap();
        let is_amended = |n: &usize| {
            let text = text(*n);
            let added = text.matches("[[amended]]").count();
            assert!(text == told_text(*n) || added == 1 && text.matches("note = \"dry\"").count() == 1, "{text}");
            added == 1
        };
        (1..=TOLD).filter(is_amended).count()
    }

    pub(super) fn is_whole(&self, root: &Path) {
        assert_eq!(self.is_whole_so_far(root), TOLD);
        let more: Vec<String> = (1..=MORE).map(|n| format!("2025-12-{n:02}-change.toml")).collect();
        assert_eq!(names(&root.join(YEAR), false)[TOLD..], more);
    }
}

fn told_text(n: usize) -> String {
    format!(
        "kind = \"change\"\nat = 2025-11-1{n}T18:40:00-06:00\nby = \"patient\"\nsource = \"told\"\n\n[entered]\nat = 2025-11-1{n}T20:00:00-06:00\nby = \"rn-07\"\n"
    )
}
