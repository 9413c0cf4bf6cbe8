//! The words for the action on an open signal: a swab is no word to a clinician, and the list says so.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::Desk;

/// P-001 with pus seen this morning, and the program's findings in its mails.
fn with_pus() -> Desk {
    let desk = Desk::new();
    let more = "[signals]\nhome-untaught = { off = 'x' }\n[alerts]\ncoordinator = ['co@example.org']\nfindings_in_messages = true\n";
    desk.put("policy.toml", &(desk.get("policy.toml") + more));
    let change = "kind = 'change'\nat = 2026-11-23T06:00:00\nby = 'rn-07'\nsource = 'seen'\n[left]\ndressing = 'intact'\nanchor = 'in-place'\n";
    desk.put("patients/P-001/2026/2026-11-23T0600-change.toml", change);
    record(&desk, "2026-11-24T0600", "assessment", "rn-07", "[site]\ndrainage = 'purulent'\n");
    desk
}

fn record(desk: &Desk, at: &str, kind: &str, by: &str, says: &str) {
    let (day, time) = at.split_once('T').unwrap();
    let (hour, minute) = time.split_at(2);
    let text = format!("kind = '{kind}'\nat = {day}T{hour}:{minute}:00\nby = '{by}'\nsource = 'seen'\n{says}\n");
    desk.put(&format!("patients/P-001/2026/{at}-{kind}.toml"), &text);
}

fn call(desk: &Desk, at: &str, with: &str, outcome: &str, more: &str) {
    let about = "['pus', 'score-rising', 'drainage-more']";
    let says = format!("with = '{with}'\nabout = {about}\noutcome = '{outcome}'\n{more}");
    record(desk, at, "contact", "co-1", &says);
}

/// Records an action.
type Act<'a> = &'a dyn Fn(&Desk);

/// Asserts that every screen with the open pus says this of the action on it.
fn says(desk: &Desk, act: &str) {
    let page = desk.root().join("../list.html");
    let page = page.with_file_name(format!("{}.html", desk.root().file_name().unwrap().display()));
    let path = page.to_str().unwrap();
    desk.done(&["due", "--html", path]);
    let printed = std::fs::read_to_string(&page).unwrap();
    for text in [desk.done(&["due"]), desk.done(&["show", "P-001"]), printed] {
        assert!(text.contains(&format!("pus ({act}")), "{act}\n{text}");
        // The census counts what was acted on by the rule.
        let rows = text.replace("needs review today (acted on)", "");
        assert!(!rows.contains("(acted on"), "{act}\n{text}");
    }
    let alert = desk.run(&["alert"]).stdout;
    assert!(alert.contains(&format!("needs review today ({act})")), "{act}\n{alert}");
}

#[test]
fn a_swab_of_pus_says_that_no_clinician_was_told() {
    let desk = with_pus();
    record(&desk, "2026-11-24T0610", "culture", "rn-07", "specimen = 'exit-site'");
    says(&desk, "culture taken, no clinician told");
    let due = desk.done(&["due", "P-001"]);
    assert!(due.contains("pus since today 06:00 (culture taken today, no clinician told)"), "{due}");
    let signals = desk.done(&["signals"]);
    assert!(signals.contains("2026-11-24T0610-culture.toml, no clinician told"), "{signals}");
    let handoff = desk.done(&["handoff"]);
    assert!(handoff.contains("culture taken today 06:10, no clinician told"), "{handoff}");
    // Groups, counts and keys are those of the rule.
    let json = desk.json(&["due"]);
    let row = &json["rows"][0];
    assert_eq!(json["census"]["signals_today"], serde_json::json!({"open": 1, "acted_on": 1}));
    assert_eq!((&row["signals"][0]["answered"], &row["signals"][0]["news_answered"]), (&true.into(), &true.into()));
    assert_eq!(row["signals"][0]["latest_action"]["told"], serde_json::Value::Null);
    // A call to the household tells no clinician; one to the physician does.
    call(&desk, "2026-11-24T0620", "p001-son", "advised", "");
    says(&desk, "culture taken, no clinician told");
    call(&desk, "2026-11-24T0630", "md-3", "no-answer", "");
    says(&desk, "culture taken, no clinician told");
    call(&desk, "2026-11-24T0640", "md-3", "advised", "");
    says(&desk, "told md-3");
    assert_eq!(desk.json(&["due"])["rows"][0]["signals"][0]["latest_action"]["told"]["clinician"], "md-3");
    assert!(desk.done(&["signals"]).contains("told md-3 today 06:40"));
}

#[test]
fn each_action_has_its_words() {
    let acts: [(&str, Act); 8] = [
        ("told md-3", &|desk| call(desk, "2026-11-24T0610", "md-3", "advised", "")),
        ("told md-3", &|desk| call(desk, "2026-11-24T0610", "p001-son", "escalated", "escalated_to = 'md-3'")),
        ("escalated, no clinician named", &|desk| call(desk, "2026-11-24T0610", "p001-son", "escalated", "")),
        ("coming in", &|desk| call(desk, "2026-11-24T0610", "p001-son", "coming-in", "")),
        ("visit expected", &|desk| {
            call(desk, "2026-11-24T0610", "p001-son", "coming-in", "expect_by = 2026-12-01T10:00:00");
        }),
        ("assessed, no clinician told", &|desk| {
            record(desk, "2026-11-24T0610", "assessment", "rn-07", "[site]\nredness_mm = 0");
        }),
        ("assessed by md-3", &|desk| {
            record(desk, "2026-11-24T0610", "assessment", "md-3", "[site]\nredness_mm = 0");
        }),
        ("treatment ordered, no call about it on file", &|desk| {
            record(desk, "2026-11-24T0610", "treatment", "md-3", "what = 'oral-antibiotic'");
        }),
    ];
    for (words, act) in acts {
        let desk = with_pus();
        act(&desk);
        says(&desk, words);
    }
}

#[test]
fn a_finding_that_was_acted_on_stays_on_the_list_beside_one_that_was_not() {
    let desk = with_pus();
    record(&desk, "2026-11-24T0610", "culture", "rn-07", "specimen = 'exit-site'");
    record(
        &desk,
        "2026-11-24T0630",
        "contact",
        "co-1",
        "with = 'p001-son'\nabout = ['other']\noutcome = 'advised'\ntemperature_c = 38.6",
    );
    let list = desk.done(&["due"]);
    let row = list.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(row.contains("101.5 °F") && row.contains("pus (culture taken, no clinician told)"), "{list}");
}

#[test]
fn a_visit_is_named_by_its_own_day() {
    let desk = with_pus();
    call(&desk, "2026-11-24T0610", "p001-son", "coming-in", "expect_by = 2026-12-01T10:00:00");
    let due = desk.done(&["due", "P-001"]);
    assert!(due.contains("(visit expected Dec 1)") && !due.contains("coming in today"), "{due}");
}

#[test]
fn a_clinician_told_before_it_got_worse_was_not_told_of_that() {
    let desk = with_pus();
    call(&desk, "2026-11-24T0610", "md-3", "advised", "");
    record(&desk, "2026-11-24T0620", "assessment", "rn-07", "[site]\ndrainage = 'purulent'\namount = 'large'\n");
    record(&desk, "2026-11-24T0630", "culture", "rn-07", "specimen = 'exit-site'");
    says(&desk, "culture taken, no clinician told");
}

#[test]
fn a_mail_without_findings_names_no_culture() {
    let desk = with_pus();
    desk.put("policy.toml", &desk.get("policy.toml").replace("findings_in_messages = true", ""));
    record(&desk, "2026-11-24T0610", "culture", "rn-07", "specimen = 'exit-site'");
    let alert = desk.run(&["alert"]).stdout;
    assert!(
        alert.contains("needs review today (acted on, no clinician told)") && !alert.contains("culture"),
        "{alert}"
    );
}

/// P-001 with a score in the review band four days ago, told to the physician.
fn with_score() -> Desk {
    let desk = Desk::new();
    desk.put("policy.toml", &(desk.get("policy.toml") + "[signals]\nhome-untaught = { off = 'x' }\n"));
    let full = "[site]\ndrainage = 'serous'\namount = 'moderate'\nredness_mm = 12\nswelling = 'exit'\ncrust_mm = 0\npain = 'slight'\n";
    record(&desk, "2026-11-20T0900", "change", "rn-07", full);
    let told = "with = 'md-3'\nabout = ['signals']\noutcome = 'advised'\n";
    record(&desk, "2026-11-20T1000", "contact", "co-1", told);
    let signals = desk.json(&["signals", "P-001"])["signals"].to_string();
    assert!(signals.contains("score-review"), "{signals}");
    desk
}

const PUS: &str =
    "[site]\ndrainage = 'purulent'\namount = 'large'\nredness_mm = 30\nswelling = 'tunnel'\nodor = true\n";

#[test]
fn pus_after_a_score_is_named_once_with_the_tunnel_and_without_the_earlier_findings() {
    let desk = with_score();
    record(&desk, "2026-11-24T0600", "change", "rn-07", PUS);
    // The physician heard of the score, and not of the pus.
    let due = desk.done(&["due", "P-001"]);
    let found = "large pus, redness 30 mm, swelling along the tunnel, odor: rn-07, today 06:00";
    assert_eq!(due.matches("large pus, redness 30 mm").count(), 1, "{due}");
    assert!(due.contains(found), "{due}");
    assert!(due.contains("score in the review band since Fri 09:00 (told md-3 Fri Nov 20)"), "{due}");
    assert!(!due.contains("moderate serous drainage, redness 12 mm"), "{due}");
    record(&desk, "2026-11-24T0630", "contact", "co-1", "with = 'md-3'\nabout = ['signals']\noutcome = 'advised'\n");
    let list = desk.done(&["due"]);
    assert!(list.contains("large pus, redness 30 mm, swelling along the tunnel (told md-3);"), "{list}");
    assert_eq!((list.matches("pus").count(), list.matches("redness").count()), (1, 1), "{list}");
    let due = desk.done(&["due", "P-001"]);
    assert!(
        due.contains("large pus, redness 30 mm, swelling along the tunnel since today 06:00 (told md-3 today), score in the review band since Fri 09:00 (told md-3 today)"),
        "{due}"
    );
}

#[test]
fn a_finding_acted_on_otherwise_than_the_rest_of_its_record_is_named_alone() {
    let desk = with_score();
    record(&desk, "2026-11-24T0600", "change", "rn-07", PUS);
    record(&desk, "2026-11-24T0610", "culture", "rn-07", "specimen = 'exit-site'");
    record(&desk, "2026-11-24T0630", "contact", "co-1", "with = 'md-3'\nabout = ['pus']\noutcome = 'advised'\n");
    let list = desk.done(&["due"]);
    let untold = "redness 30 mm, swelling along the tunnel (culture taken, no clinician told)";
    assert!(list.contains(untold), "{list}");
}

#[test]
fn a_score_in_the_review_band_is_that_of_the_latest_record_also_with_pus() {
    let desk = with_score();
    record(
        &desk,
        "2026-11-23T0900",
        "change",
        "p001-son",
        "[site]\nredness_mm = 0\ndrainage = 'none'\nswelling = 'none'\n",
    );
    record(&desk, "2026-11-24T0600", "change", "rn-07", PUS);
    record(&desk, "2026-11-24T0630", "contact", "co-1", "with = 'md-3'\nabout = ['signals']\noutcome = 'advised'\n");
    let score = "score 6 to 10 with pus";
    let handoff = desk.done(&["handoff"]);
    assert!(
        handoff
            .contains(&format!("score in the review band since Fri 09:00: {score} today 06:00; told md-3 today 06:30")),
        "{handoff}"
    );
    let signals = desk.done(&["signals", "P-001"]);
    assert!(signals.contains(&format!("{score}: patients/P-001/2026/2026-11-24T0600-change.toml")), "{signals}");
    let of_score = signals.split("score in the review band").nth(1).unwrap();
    assert!(!of_score.split("P-001 a").next().unwrap().contains("Reported improved"), "{signals}");
    // The rule counts it as evidence of pus alone.
    let report = desk.json(&["signals", "P-001"]);
    let all = report["signals"].as_array().unwrap();
    let episode = all.iter().find(|signal| signal["signal"] == "score-review").unwrap();
    assert_eq!(episode["evidence"].as_array().unwrap().len(), 1, "{episode}");
    // A later record without the pus is the latest word.
    let dry = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\n";
    record(&desk, "2026-11-24T0705", "assessment", "p001-son", dry);
    assert!(!desk.done(&["signals", "P-001"]).contains(score));
}

#[test]
fn the_signals_name_the_action_that_the_due_list_names() {
    let desk = with_score();
    let worse = "[site]\ndrainage = 'serous'\namount = 'moderate'\nredness_mm = 15\nswelling = 'exit'\ncrust_mm = 0\npain = 'severe'\n";
    record(&desk, "2026-11-23T0900", "change", "rn-07", worse);
    record(&desk, "2026-11-23T1000", "culture", "rn-07", "specimen = 'exit-site'");
    let due = desk.done(&["due", "P-001"]);
    assert!(due.contains("since Fri 09:00 (culture taken Mon Nov 23, no clinician told)"), "{due}");
    let acted = "Acted on Mon 10:00, first Fri 10:00: culture taken by rn-07, patients/P-001/2026/2026-11-23T1000-culture.toml, no clinician told";
    let signals = desk.done(&["signals", "P-001"]);
    assert!(signals.split("score in the review band").nth(1).unwrap().contains(acted), "{signals}");
    let show = desk.done(&["show", "P-001"]);
    assert!(show.contains("acted on Mon 10:00 (culture taken by rn-07)"), "{show}");
    let of_score = desk.json(&["signals", "P-001"])["signals"][0].clone();
    assert_eq!(of_score["latest_action"]["file"], "patients/P-001/2026/2026-11-23T1000-culture.toml");
    // Worse again, and not acted on since: both name the last action before it.
    record(
        &desk,
        "2026-11-24T0600",
        "change",
        "p001-son",
        "[site]\nredness_mm = 30\ndrainage = 'serous'\nswelling = 'exit'\ncrust_mm = 3\npain = 'severe'\n",
    );
    let due = desk.done(&["due", "P-001"]);
    assert!(due.contains("worse than when acted on Mon 10:00"), "{due}");
    let signals = desk.done(&["signals", "P-001"]);
    assert!(signals.contains("Acted on Fri 10:00 (last Mon 10:00; worse since today 06:00: "), "{signals}");
}
