//! Generated files are current, and the template agrees with the built-in defaults.
//!
//! `EXITSITE_REWRITE=1 cargo test --test current` rewrites the completions, the man pages and the schemas.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::env;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use exitsite::command::{Outcome, Surroundings, definition, run};
use exitsite::place::RecordText;
use exitsite::policy::{Policy, Rubric};
use exitsite::schema;
use serde_json::{Value, json};
use tempfile::TempDir;

/// The three keys that a policy needs.
const LEAST: &str = "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n";

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn folder() -> TempDir {
    tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap()
}

fn said(arguments: &[&str], records: &Path) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: root().to_owned(),
        records: Some(records.to_owned()),
        ..Surroundings::default()
    };
    run(["exitsite"].iter().chain(arguments).map(OsString::from), &surroundings)
}

/// The output of a command that needs no records.
fn printed(arguments: &[&str]) -> String {
    let Outcome { stdout, stderr, status, .. } = said(arguments, Path::new("nowhere"));
    assert_eq!((status, stderr.as_str()), (0, ""), "{arguments:?}");
    stdout
}

/// Asserts that files have the expected text, and that their folder has no others.
fn are_current(folder: &str, files: &[(String, String)]) {
    let folder = root().join(folder);
    if env::var_os("EXITSITE_REWRITE").is_some() {
        fs::create_dir_all(&folder).unwrap();
        files.iter().for_each(|(name, text)| fs::write(folder.join(name), text).unwrap());
    }
    let how = "EXITSITE_REWRITE=1 cargo test --test current writes it anew";
    for (name, text) in files {
        let path = folder.join(name);
        let kept = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}; {how}", path.display()));
        assert!(kept == *text, "{} is not current; {how}", path.display());
    }
    for entry in fs::read_dir(&folder).unwrap() {
        let entry = entry.unwrap();
        let name = entry.file_name().into_string().unwrap();
        let belongs = entry.path().is_dir() || files.iter().any(|(file, _)| *file == name);
        assert!(belongs, "{} is of no use any more", entry.path().display());
    }
}

#[test]
fn the_completions_are_what_the_command_prints() {
    let shells = [("bash", "exitsite.bash"), ("zsh", "_exitsite"), ("fish", "exitsite.fish")];
    let files = shells.map(|(shell, file)| (file.to_owned(), printed(&["completions", shell])));
    are_current("completions", &files);
}

/// Adds the man pages of a command and its subcommands.
fn man_pages(command: &clap::Command, path: &[&str], files: &mut Vec<(String, String)>) {
    let name = [&["exitsite"], path].concat().join("-");
    files.push((format!("{name}.1"), printed(&[&["man"], path].concat())));
    for inner in command.get_subcommands() {
        man_pages(inner, &[path, &[inner.get_name()]].concat(), files);
    }
}

#[test]
fn the_man_pages_are_what_the_command_prints() {
    let mut files = Vec::new();
    man_pages(&definition(), &[], &mut files);
    are_current("completions/man", &files);
    let Outcome { stdout, stderr, status, .. } = said(&["man", "patient", "fly"], Path::new("nowhere"));
    assert_eq!((status, stdout.as_str()), (2, ""));
    assert_eq!(stderr, "exitsite: unknown command fly; `exitsite patient --help` lists the commands\n");
}

#[test]
fn the_schemas_are_what_the_command_prints_and_are_schemas() {
    let mut files = Vec::new();
    for name in schema::names() {
        let text = printed(&["schema", name]);
        let schema: Value = serde_json::from_str(&text).unwrap();
        assert!(jsonschema::meta::is_valid(&schema), "{name} is no JSON Schema");
        files.push((format!("{name}.schema.json"), text));
    }
    are_current("tests/schemas", &files);
}

/// The schema's errors for a value.
fn faults(name: &str, value: &Value) -> Vec<String> {
    let schema = schema::schema(name).unwrap_or_else(|| panic!("there is no schema {name}"));
    let validator = jsonschema::options().should_validate_formats(true).build(&schema).unwrap();
    validator.iter_errors(value).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

/// Asserts that a report matches its schema; a run without a report must be a failure with a reason.
fn keeps_its_schema(arguments: &[&str], records: &Path) -> Option<Value> {
    let arguments = [arguments, &["--json", "--as-of", "2026-11-24T07:15"]].concat();
    let Outcome { stdout, stderr, status, .. } = said(&arguments, records);
    if status == 2 {
        assert!(stdout.is_empty() && stderr.starts_with("exitsite: "), "{arguments:?}: {stderr}");
        return None;
    }
    let report: Value = serde_json::from_str(&stdout).unwrap_or_else(|error| panic!("{arguments:?}: {error}"));
    // An event kind already has this name.
    let schema = if arguments[0] == "teaching" { "teaching-report" } else { arguments[0] };
    let faults = faults(schema, &report);
    assert!(faults.is_empty(), "{arguments:?} of {}:\n{}", records.display(), faults.join("\n"));
    for (key, value) in [("command", json!(arguments[0])), ("version", json!(env!("CARGO_PKG_VERSION")))] {
        assert_eq!(report[key], value, "{arguments:?}");
    }
    Some(report)
}

const EVERY_REPORT: [&[&str]; 14] = [
    &["handoff"],
    &["audit", "--month", "2026-10", "--by", "where"],
    &["audit", "--year", "2026"],
    &["teaching"],
    &["supplies"],
    &["alert"],
    &["due"],
    &["due", "--all"],
    &["missed"],
    &["grade"],
    &["grade", "--each"],
    &["check"],
    &["history"],
    &["due", "--within", "48"],
];

#[test]
fn every_report_of_the_invented_program_keeps_its_schema() {
    let demo = root().join("examples/demo");
    for arguments in EVERY_REPORT {
        assert!(keeps_its_schema(arguments, &demo).is_some(), "{arguments:?}");
    }
    for entry in fs::read_dir(demo.join("patients")).unwrap() {
        let code = entry.unwrap().file_name().into_string().unwrap();
        let asked: [&[&str]; 10] = [
            &["teaching", &code],
            &["supplies", &code],
            &["due", &code],
            &["missed", &code, "--from", "2026-10-01", "--to", "2026-11-24"],
            &["grade", &code],
            &["grade", "--each", &code],
            &["show", &code],
            &["show", &code, "--all"],
            &["sheet", &code],
            &["history", &code],
        ];
        for arguments in asked {
            assert!(keeps_its_schema(arguments, &demo).is_some(), "{arguments:?}");
        }
    }
}

#[test]
fn every_report_of_an_empty_program_keeps_its_schema() {
    let records = folder();
    fs::write(records.path().join("policy.toml"), LEAST).unwrap();
    for arguments in EVERY_REPORT {
        assert!(keeps_its_schema(arguments, records.path()).is_some(), "{arguments:?}");
    }
}

#[test]
fn every_report_under_a_broken_policy_keeps_its_schema_or_says_why_there_is_none() {
    for broken in ["[windows]\nafter_shower_hours = 'two'\n", "[score]\nrubric = 'none of ours'\n", "= \n"] {
        let records = folder();
        fs::write(records.path().join("policy.toml"), format!("{LEAST}{broken}")).unwrap();
        let patient = records.path().join("patients/P-014");
        fs::create_dir_all(&patient).unwrap();
        fs::copy(root().join("examples/demo/patients/P-014/patient.toml"), patient.join("patient.toml")).unwrap();
        for arguments in EVERY_REPORT.into_iter().chain([["show", "P-014"].as_slice()]) {
            let report = keeps_its_schema(arguments, records.path());
            let must_answer = ["due", "show", "check"].contains(&arguments[0]);
            assert!(report.is_some() || !must_answer, "{arguments:?} says nothing under a policy with {broken}");
            if let Some(report) = report {
                let said = if arguments == ["check"] { &report["findings"] } else { &report["unusable"] };
                assert_ne!(*said, json!([]), "{arguments:?} hides that the policy is broken: {broken}");
            }
        }
    }
}

/// A TOML value as JSON, with days and times as texts.
fn as_json(value: &toml::Value) -> Value {
    match value {
        toml::Value::String(text) => json!(text),
        toml::Value::Integer(number) => json!(number),
        toml::Value::Float(number) => json!(number),
        toml::Value::Boolean(flag) => json!(flag),
        toml::Value::Datetime(moment) => json!(moment.to_string()),
        toml::Value::Array(items) => items.iter().map(as_json).collect(),
        toml::Value::Table(table) => table.iter().map(|(key, value)| (key.clone(), as_json(value))).collect(),
    }
}

fn toml_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            toml_files(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "toml") {
            found.push(path);
        }
    }
}

#[test]
fn every_record_of_the_invented_program_and_the_template_keeps_its_schema() {
    let mut files = Vec::new();
    toml_files(&root().join("examples/demo"), &mut files);
    toml_files(&root().join("records-template"), &mut files);
    let mut broken = Vec::new();
    let mut wrong = Vec::new();
    for file in files {
        let Ok(table) = fs::read_to_string(&file).unwrap().parse::<toml::Table>() else {
            broken.push(file);
            continue;
        };
        // The words of a sheet are no record.
        if file.parent().unwrap().ends_with("sheet") {
            continue;
        }
        let name = match file.file_stem().unwrap().to_str().unwrap() {
            name @ ("policy" | "people" | "patient") => name,
            _ => table["kind"].as_str().unwrap(),
        };
        let faults = faults(name, &as_json(&toml::Value::Table(table.clone())));
        wrong.extend(faults.iter().map(|fault| format!("{}: {fault}", file.display())));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let [only] = &broken[..] else { panic!("one file is broken on purpose, not these: {broken:?}") };
    assert!(only.ends_with("P-003/2026/2026-11-23T1905-change.toml"), "{}", only.display());
}

/// The paths below a folder, each with its contents if it is a file.
fn holdings(folder: &Path) -> Vec<(PathBuf, Option<Vec<u8>>)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(holdings(&path));
            found.push((path, None));
        } else {
            let bytes = fs::read(&path).unwrap();
            found.push((path, Some(bytes)));
        }
    }
    found.sort();
    found
}

#[test]
fn what_init_lays_out_has_no_fault() {
    let kept = folder();
    let records = kept.path().join("records");
    let Outcome { stderr, status, .. } = said(&["init", records.to_str().unwrap()], Path::new("nowhere"));
    assert_eq!((status, stderr.as_str()), (0, ""));
    let report = keeps_its_schema(&["check"], &records).unwrap();
    assert_eq!(report["findings"], json!([]));
    assert_eq!(said(&["check"], &records).status, 0);
    for (path, bytes) in holdings(&root().join("records-template")) {
        let name = path.strip_prefix(root().join("records-template")).unwrap();
        assert_eq!(fs::read(records.join(name)).ok(), bytes, "{}", name.display());
    }
}

#[test]
fn init_refuses_a_folder_that_holds_anything_and_leaves_it_alone() {
    for name in ["notes.txt", ".hidden"] {
        let kept = folder();
        fs::write(kept.path().join(name), "mine").unwrap();
        let before = holdings(kept.path());
        let Outcome { stdout, stderr, status, .. } =
            said(&["init", kept.path().to_str().unwrap()], Path::new("nowhere"));
        assert_eq!((status, stdout.as_str()), (2, ""), "{stderr}");
        assert!(stderr.contains("is not empty"), "{stderr}");
        assert_eq!(holdings(kept.path()), before);
    }
}

#[test]
fn init_works_without_git() {
    let kept = folder();
    let records = kept.path().join("records");
    let mut command = Command::new(env!("CARGO_BIN_EXE_exitsite"));
    let output = command.arg("init").arg(&records).env_clear().env("PATH", kept.path()).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(String::from_utf8_lossy(&output.stdout).contains("Git is not installed"));
    assert!(!records.join(".git").exists());
    assert_eq!(keeps_its_schema(&["check"], &records).unwrap()["findings"], json!([]));
}

/// Parses a policy without problems; positions in its file are dropped.
fn policy(text: String) -> Policy {
    let mut problems = Vec::new();
    let source = RecordText { file: "policy.toml".into(), text };
    let policy = Policy::read(&source, &mut problems).unwrap().unwrap();
    assert!(problems.is_empty(), "{problems:?}");
    Policy { care_day_starts: 0..0, ..policy }
}

fn template() -> String {
    fs::read_to_string(root().join("records-template/policy.toml")).unwrap()
}

#[test]
fn the_template_says_what_is_built_in() {
    let least = policy(LEAST.to_owned());
    let written_out = policy(template());
    let parts = [
        ("plan", written_out.plan.is_some()),
        ("scoring", written_out.scoring.is_some()),
        ("signals", written_out.signals.is_some()),
        ("teaching", written_out.teaching.is_some()),
        ("curricula", written_out.curricula.is_some()),
        ("supplies", written_out.supplies.is_some()),
        ("audit", written_out.audit.is_some()),
        ("alerts", written_out.alerts.is_some()),
    ];
    let incomplete: Vec<&str> = parts.iter().filter(|(_, is_there)| !is_there).map(|(part, _)| *part).collect();
    assert!(incomplete.is_empty(), "records-template/policy.toml lacks a value of {incomplete:?}");
    assert_eq!(Policy { program: least.program.clone(), ..written_out }, least);
}

#[test]
fn a_value_left_out_of_the_template_is_still_in_force() {
    let template = template();
    let mut tables = template.parse::<toml::Table>().unwrap();
    let needed = ["schema", "program", "time_zone"];
    let optional: Vec<String> = tables.keys().filter(|key| !needed.contains(&key.as_str())).cloned().collect();
    let whole = policy(template);
    for key in optional {
        let value = tables.remove(&key).unwrap();
        let without = tables.iter().map(|(key, value)| inline(key, value)).collect();
        assert_eq!(policy(without), whole, "without {key}");
        tables.insert(key, value);
    }
}

/// A top-level key on one line.
fn inline(key: &str, value: &toml::Value) -> String {
    fn one(value: &toml::Value) -> String {
        match value {
            toml::Value::String(text) => format!("{text:?}"),
            toml::Value::Array(items) => format!("[{}]", items.iter().map(one).collect::<Vec<_>>().join(", ")),
            toml::Value::Table(table) => {
                let pairs = table.iter().map(|(key, value)| format!("{key} = {}", one(value)));
                format!("{{ {} }}", pairs.collect::<Vec<_>>().join(", "))
            }
            toml::Value::Float(number) => format!("{number:?}"),
            toml::Value::Integer(number) => number.to_string(),
            toml::Value::Boolean(flag) => flag.to_string(),
            toml::Value::Datetime(moment) => moment.to_string(),
        }
    }
    format!("{key} = {}\n", one(value))
}

#[test]
fn the_rubric_in_the_template_is_the_built_in_one() {
    let template = template();
    let lines = template.lines().skip_while(|line| *line != "# [[rubric]]").map_while(|line| line.strip_prefix("# "));
    let rubric: String = lines.map(|line| format!("{line}\n")).collect();
    assert!(rubric.contains("name = \"exit-site\""), "{rubric}");
    let named = |name: &str| {
        let rubric = rubric.replace("name = \"exit-site\"", &format!("name = \"{name}\""));
        policy(format!("{LEAST}[score]\nrubric = '{name}'\n{rubric}")).scoring.unwrap().rubric
    };
    let built_in = Rubric::built_in().unwrap();
    assert_eq!(named("exit-site"), built_in);
    // Under another name, the built-in one cannot be the answer.
    assert_eq!(Rubric { name: built_in.name.clone(), ..named("ours") }, built_in);
}
