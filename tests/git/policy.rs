//! Changes of the policy: `policy diff`.

use serde_json::{Value, json};

use crate::{AS_OF, NOTHING, Records, Said, every_report, word};

const LEAST: &str = "schema = 1\nprogram = \"Invented\"\ntime_zone = \"America/Chicago\"\n";

/// A policy with a home phase, a window, a threshold and a rubric.
fn policy(days: u8, hours: u8, mm: u8, points: u8) -> String {
    format!(
        "{LEAST}[[phase]]\nname = \"home\"\nevery_days = {days}\n[windows]\nafter_shower_hours = {hours}\n[signals]\nredness-wide = {{ mm = {mm} }}\n\
         [score]\nrubric = \"own\"\n[[rubric]]\nname = \"own\"\nitem = [ {{ field = \"redness_mm\", bands = [ {{ up_to = 5, points = 0 }}, {{ points = {points} }} ] }} ]\n\
         cutoff = [ {{ band = \"none-noted\", from = 0 }}, {{ band = \"watch\", from = 1 }}, {{ band = \"review\", from = 4 }} ]\n"
    )
}

/// Records: P-001 with a change on November 22; P-002 with one on November 21, 12 mm of redness, and a shower on the
/// 23rd at 18:40.
fn records() -> Records {
    let records = Records::new();
    records.write("policy.toml", &policy(2, 2, 20, 1));
    let change = "kind = \"change\"\nat = 2026-11-21T08:00:00-06:00\nby = \"rn-07\"\n[left]\nanchor = \"in-place\"\n[site]\nredness_mm = 12\n";
    records.write("patients/P-002/2026/2026-11-21T0800-change.toml", change);
    let shower = "kind = \"shower\"\nat = 2026-11-23T18:40:00-06:00\nby = \"patient\"\nsource = \"told\"\n";
    records.write("patients/P-002/2026/2026-11-23T1840-shower.toml", shower);
    records.commit("records");
    records
}

fn said(records: &Records, revision: &str) -> Said {
    records.exitsite(&[&["policy", "diff", revision], &AS_OF[..]].concat())
}

fn keeps_its_schema(report: &Value) {
    let schema = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/schemas/policy-diff.schema.json"));
    let schema: Value = serde_json::from_str(&schema.unwrap()).unwrap();
    let validator = jsonschema::options().should_validate_formats(true).build(&schema).unwrap();
    let faults: Vec<String> = validator.iter_errors(report).map(|fault| fault.to_string()).collect();
    assert!(faults.is_empty(), "{faults:?}");
}

#[test]
fn values_next_changes_signals_and_scores() {
    let records = records();
    records.write("policy.toml", &policy(3, 14, 10, 4));
    let report = records.json(&["policy", "diff", "HEAD"]);
    keeps_its_schema(&report);
    let values: Vec<String> = report["changes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| format!("{} {} {}", word(one, "key"), one["was"], one["now"]))
        .collect();
    assert_eq!(
        values,
        [
            "phase[home].every_days 2 3",
            "windows.after_shower_hours 2 14",
            "rubric[own].item[redness_mm].bands[2].points 1 4",
            "signals.redness-wide.mm 20 10",
        ]
    );
    let next = |one: &Value| format!("{} {} {}", word(one, "state"), word(one, "due_on"), word(one, "because"));
    let moved: Vec<String> = report["next_changes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            format!("{} {} {}, {}", word(one, "patient"), word(one, "exit"), next(&one["was"]), next(&one["now"]))
        })
        .collect();
    // By the calendar: the 22nd + 2 = the 24th, + 3 = the 25th; the shower requires a change on its day, by 20:40 or
    // 08:40.
    assert_eq!(
        moved,
        [
            "P-001 a due 2026-11-24 interval, upcoming 2026-11-25 interval",
            "P-002 a overdue 2026-11-23 after-shower, due 2026-11-23 after-shower",
        ]
    );
    // Ended signals are evaluated again, too; these are the open ones.
    let open = report["signals"].as_array().unwrap().iter().filter(|one| one["was"] == "open" || one["now"] == "open");
    let signals: Vec<String> = open
        .map(|one| {
            format!("{} {} {} {}", word(one, "patient"), word(one, "signal"), word(one, "was"), word(one, "now"))
        })
        .collect();
    assert_eq!(signals, ["P-002 redness-wide not-raised open", "P-002 score-review not-raised open"]);
    assert_eq!(report["scores"].as_array().unwrap().len(), 1);
    assert_eq!(
        report["scores"][0]["was"],
        json!({ "rubric": "own", "total": 1, "total_min": 1, "total_max": 1, "band": "watch", "unscored": [] })
    );
    assert_eq!(report["scores"][0]["now"]["band"], "review");
    assert_eq!(report["since_commit"], json!(records.git(&["rev-parse", "HEAD"])));
    let text = said(&records, "HEAD");
    assert_eq!((text.status, text.stderr.as_str()), (0, ""));
    for line in [
        "  home: days from one change to the next: 2, now 3\n",
        "  Hours from a shower until the change is due: 2, now 14\n",
        "  Wide redness, mm: 20, now 10\n",
        "  P-002 a: wide redness since Sat 08:00, needs review today\n",
        "P-001    a     due today                  due Wed Nov 25\n",
        "P-002    a     overdue, due by Mon 20:40  due by today 08:40\n",
        "    P-002 a, Sat 08:00: 1, watch; now 4, review\n",
    ] {
        assert!(text.stdout.contains(line), "{line}\n{}", text.stdout);
    }
}

#[test]
fn what_moves_is_what_the_due_list_says_under_each_policy() {
    let records = records();
    let list = |records: &Records| records.json(&["due", "--all"])["rows"].clone();
    let was = list(&records);
    records.write("policy.toml", &policy(1, 24, 20, 1));
    let (now, report) = (list(&records), records.json(&["policy", "diff", "HEAD"]));
    let find = |rows: &Value, one: &Value| {
        let same = |row: &&Value| row["patient"] == one["patient"] && row["exit"] == one["exit"];
        rows.as_array().unwrap().iter().find(same).unwrap().clone()
    };
    assert_eq!(report["exit_sites"], 2);
    for key in ["state", "due_on", "deadline", "because", "log_expected"] {
        for one in report["next_changes"].as_array().unwrap() {
            assert_eq!((&one["was"][key], &one["now"][key]), (&find(&was, one)[key], &find(&now, one)[key]), "{key}");
        }
    }
    assert_eq!(report["next_changes"].as_array().unwrap().len(), 2);
}

#[test]
fn the_past_is_counted_anew() {
    let records = records();
    for day in ["15", "17", "19"] {
        records.write(
            &format!("patients/P-001/2026/2026-11-{day}T1855-change.toml"),
            &crate::change(&format!("2026-11-{day}T18:55")),
        );
    }
    records.write("policy.toml", &policy(1, 2, 20, 1));
    let report = records.json(&["policy", "diff", "HEAD"]);
    let one = report["missed"].as_array().unwrap().iter().find(|one| one["patient"] == "P-001").unwrap();
    assert!(one["now"]["missed"].as_i64() > one["was"]["missed"].as_i64(), "{one}");
    let missed = records.json(&["missed", "P-001"]);
    assert_eq!(missed["rows"][0]["missed"], one["now"]["missed"]);
    assert_eq!(missed["period"], report["period"]);
}

#[test]
fn nothing_changed() {
    let records = records();
    records.append("policy.toml", "# a comment\n[check]\n");
    let report = records.json(&["policy", "diff", "HEAD"]);
    keeps_its_schema(&report);
    for key in ["changes", "next_changes", "missed", "signals", "scores"] {
        assert_eq!(report[key], json!([]), "{key}");
    }
    let text = said(&records, "HEAD").stdout;
    assert!(text.starts_with("Policy now, compared with HEAD"), "{text}");
    assert!(text.contains("0 values changed") && text.contains("unchanged at 2 exit sites"), "{text}");
}

#[test]
fn reading_writes_nothing_and_the_commit_asked_about_is_the_present() {
    let records = records();
    records.write("policy.toml", &policy(3, 2, 20, 1));
    records.commit("every third day");
    let before = every_report(&records, NOTHING);
    let now = records.json(&["policy", "diff", "HEAD~1"]);
    records.write("policy.toml", &policy(7, 2, 20, 1));
    let then = records.json(&["policy", "diff", "HEAD~1", "--at-commit", "HEAD"]);
    assert_eq!(now, then);
    records.git(&["checkout", "--quiet", "policy.toml"]);
    assert_eq!(before, every_report(&records, NOTHING));
}

#[test]
fn what_cannot_be_compared_is_refused_in_a_sentence() {
    let records = records();
    let refused = |revision: &str, why: &str| {
        let Said { stdout, stderr, status } = said(&records, revision);
        assert_eq!((status, stdout.as_str()), (2, ""), "{stderr}");
        assert!(stderr.starts_with("exitsite: ") && stderr.contains(why) && stderr.lines().count() == 1, "{stderr}");
    };
    refused("nope", "is not a commit of this repository; `git log --oneline` lists them");
    refused("HEAD@{10 years ago}", "is not a commit");
    records.write("policy.toml", "schema = 1\nprogram = \"broken\n");
    records.commit("broken");
    refused("HEAD~1", "policy.toml cannot be used; `exitsite check` lists its problems");
    records.write("policy.toml", LEAST);
    records.commit("mended");
    refused("HEAD~1", "the policy at HEAD~1 cannot be used; `exitsite check --at-commit HEAD~1 policy.toml` lists");
    records.write("policy.toml", "schema = 2\nprogram = \"Invented\"\ntime_zone = \"America/Chicago\"\n");
    records.commit("newer");
    records.write("policy.toml", LEAST);
    refused("HEAD", "the policy at HEAD cannot be used");
    records.remove("policy.toml");
    records.git(&["rm", "--quiet", "--cached", "policy.toml"]);
    records.commit("none");
    records.write("policy.toml", LEAST);
    refused("HEAD", "was not a records folder at HEAD");
}

#[test]
fn a_part_that_cannot_be_used_is_not_known_and_the_rest_is_compared() {
    let records = records();
    records.edit("policy.toml", "mm = 20", "mm = \"wide\"");
    let report = records.json(&["policy", "diff", "HEAD"]);
    keeps_its_schema(&report);
    assert_eq!(report["signals"], Value::Null);
    assert_eq!(said(&records, "HEAD").status, 3);
    assert!(said(&records, "HEAD").stdout.contains("Signals: not known under one of the policies"));
}
