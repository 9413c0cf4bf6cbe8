//! `history`, from git and the records.

use serde_json::Value;

use crate::{AS_OF, CHANGE, CULTURE, ELSEWHERE, NOTHING, ROW, Records, VOID, branches, change, word};

/// Action and author of each entry, newest first.
pub(crate) fn told(report: &Value) -> Vec<String> {
    let row = |row: &Value| {
        let file = word(row, "file").rsplit('/').next().unwrap();
        let late = row["late_minutes"].as_i64().map(|minutes| format!(" {minutes} min late"));
        let late = late.or(row["late_days"].as_i64().map(|days| format!(" {days} days late"))).unwrap_or_default();
        let by = row["by"].as_str().unwrap_or("-");
        format!("{} {} by {by} at {}{late}", word(row, "action"), file, row["at"].as_str().unwrap_or("-"))
    };
    report["rows"].as_array().unwrap().iter().map(row).collect()
}

#[test]
fn the_history_tells_who_did_what_and_how_late() {
    let records = Records::new();
    let entered = "[entered]\nat = 2026-11-22T20:10:00-06:00\nby = \"co-1\"\n";
    records.append(CHANGE, entered);
    let first = records.commit("records");
    records.append(CULTURE, "[result]\non = 2026-11-22\ngrowth = false\n");
    records.commit("result");
    records.append(CHANGE, ROW);
    records.commit("amended");
    records.append(CHANGE, &VOID.replace("08:00", "09:00"));
    records.write(
        "patients/P-001/2026/2026-11-21-inspection.toml",
        &format!(
            "kind = \"inspection\"\non = 2026-11-21\nby = \"rn-07\"\ndressing = \"intact\"\n{}",
            entered.replace("22T20", "23T20")
        ),
    );
    let expected = [
        "recorded 2026-11-21-inspection.toml by co-1 at 2026-11-23T20:10:00-06:00 2 days late",
        "voided 2026-11-22T1855-change.toml by co-1 at 2026-11-23T09:00:00-06:00",
        "amended 2026-11-22T1855-change.toml by co-1 at 2026-11-23T08:00:00-06:00",
        "recorded 2026-11-22T1855-change.toml by co-1 at 2026-11-22T20:10:00-06:00 75 min late",
        "filled 2026-11-20T0900-culture.toml by - at 2026-11-22T20:00:00-06:00",
        "recorded 2026-11-20T0900-culture.toml by rn-07 at 2026-11-22T20:00:00-06:00",
    ];
    let report = records.json(&["history", "P-001"]);
    assert_eq!(told(&report), expected);
    assert_eq!(report["rows"][0]["commit"], Value::Null);
    assert_eq!(
        (word(&report["rows"][3], "commit"), word(&report["rows"][3], "author")),
        (first.as_str(), "Invented Nurse")
    );
    assert_eq!(report["rows"][4]["keys"], serde_json::json!(["result.growth", "result.on"]));
    assert_eq!(told(&records.json(&["history"])), expected, "everybody");
    assert_eq!(told(&records.json(&["history", "P-002"])), NOTHING);
    assert_eq!(told(&records.json(&["history", CULTURE])), expected[4..]);
    let (_, name) = CULTURE.rsplit_once('/').unwrap();
    assert_eq!(told(&records.json(&["history", name])), expected[4..], "by its name alone");
    let said = records.exitsite(&["history", "--from", "2026-12-01", AS_OF[0], AS_OF[1]]);
    assert!(said.stderr.contains("2026-12-01 to 2026-11-24 has not started: today is 2026-11-24"), "{}", said.stderr);
    assert_eq!(told(&records.json(&["history", "P-001", "--at-commit", &first])).len(), 2);
    assert_eq!(told(&records.json(&["history", "--from", "2026-11-23"])), expected[..3]);
    let text = records.exitsite(&["history", "P-001", AS_OF[0], AS_OF[1]]);
    assert_eq!((text.status, text.stderr.as_str()), (0, ""));
    assert!(!text.stdout.contains("Invented Nurse"), "{}", text.stdout);
    assert!(text.stdout.contains("voided · told twice · not committed"), "{}", text.stdout);
    let earlier = records.exitsite(&["history", "P-001", "--as-of", "2026-11-23T08:30", "--json"]);
    assert_eq!(told(&serde_json::from_str(&earlier.stdout).unwrap()), expected[2..]);
    // Facts that only git knows.
    records.commit("voided");
    records.edit(CULTURE, "exit-site", "blood");
    records.commit("edited");
    records.rename(CULTURE, &CULTURE.replace("culture.toml", "culture-2.toml"));
    records.commit("renamed");
    records.remove("patients/P-001/2026/2026-11-21-inspection.toml");
    records.commit("deleted");
    let mut actions = told(&records.json(&["history", "P-001"]));
    actions.retain(|row| !expected.contains(&row.as_str()));
    let at = "by - at 2026-11-22T20:00:00-06:00";
    let silent = [
        format!("deleted 2026-11-21-inspection.toml {at}"),
        format!("renamed 2026-11-20T0900-culture.toml {at}"),
        format!("edited 2026-11-20T0900-culture.toml {at}"),
    ];
    assert_eq!(actions, silent);
    assert_eq!(
        told(&records.json(&["history", "patients/P-001/2026/2026-11-21-inspection.toml"])).len(),
        2,
        "what is gone"
    );
    for unknown in ["P-01", "patients/P-001/2026/2026-11-22T1855-chnge.toml", "policy.toml", "/etc/passwd"] {
        let said = records.exitsite(&["history", unknown]);
        assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{unknown}");
        assert!(said.stderr.contains("No patient or record"), "{}", said.stderr);
    }
    let said = records.exitsite(&["history", "patients/P-001/2026/2026-11-22T1855-chnge.toml"]);
    assert!(said.stderr.contains(&format!("Did you mean {CHANGE}?")), "{}", said.stderr);
}

#[test]
fn the_history_tells_of_a_merge_what_is_its_own() {
    let records = Records::committed();
    branches(&records, |r| r.write(ELSEWHERE, &change("2026-11-23T08:00")), |r| r.append(CHANGE, VOID));
    records.git(&["merge", "--quiet", "--no-ff", "-m", "merged", "other"]);
    let actions = told(&records.json(&["history"]));
    assert_eq!(actions.len(), 4, "{actions:?}");
    assert_eq!(actions.iter().filter(|row| row.starts_with("voided")).count(), 1, "{actions:?}");
}
