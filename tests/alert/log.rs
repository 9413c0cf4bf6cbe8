//! The message log: when a signal was first sent and to whom, and the record that acts on it.

use std::fs;
use std::os::unix::fs::PermissionsExt;

use assert_cmd::Command;
use serde_json::{Value, json};

use crate::server::{Fault, Server};
use crate::{NOW, Office};

const PUS: &str = "source = 'seen'\n[site]\ndrainage = 'purulent'\n";

/// A program with pus since this morning, and a physician on the staff list.
fn office() -> Office {
    let office = Office::new();
    office.put(
        "people.toml",
        "[[person]]\ncode = 'rn-07'\nrole = 'nurse'\n[[person]]\ncode = 'md-3'\nrole = 'physician'\n",
    );
    office.event("P-002", "2026-11-24T0600-assessment", PUS);
    office
}

fn mailed<'a>(url: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["--state", "state.json", "--from", "exitsite@example.org", "--timeout", "5", "--smtp", url], more].concat()
}

/// Adds a mail program that reads its message.
fn with_mail_program(office: Office) -> Office {
    let program = office.beside("mail");
    fs::write(&program, "#!/bin/sh\ncat > /dev/null\n").unwrap();
    fs::set_permissions(&program, fs::Permissions::from_mode(0o755)).unwrap();
    office
}

fn lines(office: &Office) -> Vec<Value> {
    let text = fs::read_to_string(office.beside("sent.log")).unwrap();
    assert!(text.ends_with('\n'), "{text}");
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

#[test]
fn each_message_has_a_line_with_its_alerts_and_the_answer_of_the_server() {
    let office = with_mail_program(office());
    let server = Server::new(Fault::Refuses("md@"));
    let run = office.run_at(NOW, &mailed(&server.url(), &["--log", "sent.log"]));
    assert_eq!(run.status, Some(2), "{}", run.stderr);
    let log = lines(&office);
    let said: Vec<(&str, &Value)> = log.iter().map(|line| (line["to"].as_str().unwrap(), &line["accepted"])).collect();
    assert_eq!(said, [("co@example.org", &json!(true)), ("md@example.org", &json!(false))]);
    assert!(log[0]["answer"].as_str().unwrap().starts_with("250"), "{}", log[0]);
    assert!(log[1]["answer"].as_str().unwrap().contains("rejected"), "{}", log[1]);
    assert_eq!(log[0]["at"], "2026-11-24T13:15:00Z");
    let pus =
        json!({ "patient": "P-002", "exit": "a", "what": "pus", "since": "2026-11-24T12:00:00+00:00", "why": "new" });
    assert!(log[0]["alerts"].as_array().unwrap().contains(&pus), "{}", log[0]);
    assert_eq!(fs::metadata(office.beside("sent.log")).unwrap().permissions().mode() & 0o777, 0o600);
    // The next run appends its messages and keeps the earlier lines.
    let before = fs::read_to_string(office.beside("sent.log")).unwrap();
    let server = Server::new(Fault::None);
    let run = office.run_at("2026-11-24T07:30", &mailed(&server.url(), &["--log", "sent.log"]));
    assert_eq!((run.status, server.whom()), (Some(0), vec!["md@example.org".to_owned()]), "{}", run.stderr);
    assert!(fs::read_to_string(office.beside("sent.log")).unwrap().starts_with(&before));
    assert_eq!(lines(&office).len(), 3);
    // Without a message there is no line; printed alerts and a mail program's messages have one, too.
    office.run_at("2026-11-24T07:45", &mailed(&server.url(), &["--log", "sent.log"]));
    office.run_at("2026-11-24T07:45", &mailed(&server.url(), &["--log", "sent.log", "--dry-run"]));
    assert_eq!(lines(&office).len(), 3);
    office.run_at(NOW, &["--log", "sent.log"]);
    office.run(&["--log", "sent.log", "--from", "a@example.org", "--sendmail", "./mail"]);
    let log = lines(&office);
    assert_eq!((&log[3]["to"], &log[3]["accepted"]), (&json!("printed"), &json!(true)));
    assert!(log.len() > 4);
}

#[test]
fn a_log_that_cannot_be_written_keeps_no_alert_back() {
    let office = office();
    fs::write(office.beside("letter.txt"), "a letter\n").unwrap();
    fs::write(office.beside("sent.log"), "").unwrap();
    for (log, why) in [
        ("letter.txt", "is not a log of this command and was left unchanged"),
        ("records/sent.log", "inside the records folder"),
        ("records", "folder"),
        ("none/sent.log", "there is no folder"),
        ("/dev/full", "is not a regular file"),
    ] {
        let server = Server::new(Fault::None);
        let url = server.url();
        let arguments = ["--from", "exitsite@example.org", "--smtp", &url, "--log", log];
        let run = office.run(&arguments);
        assert_eq!(run.status, Some(2), "{log}: {}", run.stderr);
        assert_eq!(server.whom(), ["co@example.org", "md@example.org"], "{log}");
        assert!(run.stderr.contains("messages were sent without a line in the log: "), "{}", run.stderr);
        assert!(run.stderr.contains(why), "{log}: {}", run.stderr);
        assert!(server.taken()[0].text.contains("This message is not in the log of alerts"), "{log}");
    }
    assert_eq!(fs::read_to_string(office.beside("letter.txt")).unwrap(), "a letter\n");
    assert!(!office.beside("records/sent.log").exists());
}

#[test]
fn a_disk_that_fills_up_leaves_whole_lines() {
    let office = with_mail_program(office());
    let whole = "{\"exitsite_alert_log\":1,\"at\":\"2026-11-23T13:15:00Z\"}\n";
    let full = whole.repeat(1000 / whole.len());
    fs::write(office.beside("sent.log"), &full).unwrap();
    let command = office.command(&["--from", "a@example.org", "--sendmail", "./mail", "--log", "sent.log"]);
    let mut limited = std::process::Command::new("sh");
    limited.args(["-c", "trap '' XFSZ; ulimit -f 2; exec \"$0\" \"$@\""]).arg(command.get_program());
    limited.args(command.get_args()).current_dir(office.beside("")).env_clear();
    limited.envs(command.get_envs().filter_map(|(name, value)| Some((name, value?))));
    let output = Command::from_std(limited).output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("without a line in the log: cannot write"), "{said}");
    let text = fs::read_to_string(office.beside("sent.log")).unwrap();
    assert!(text.starts_with(&full) && text.ends_with("}\n"), "{text}");
    text.lines().for_each(|line| _ = serde_json::from_str::<Value>(line).unwrap());
}

#[test]
fn two_runs_at_once_add_whole_lines() {
    let office = with_mail_program(office());
    let runs: Vec<_> = (0..8)
        .map(|_| {
            let mut command = office.command(&["--from", "a@example.org", "--sendmail", "./mail", "--log", "sent.log"]);
            command.args(["--as-of", NOW]).spawn().unwrap()
        })
        .collect();
    for mut run in runs {
        assert!(run.wait().unwrap().success());
    }
    assert_eq!(lines(&office).len(), 16);
}

/// The row of the pus in the JSON of a run.
fn pus(office: &Office, now: &str) -> Value {
    let run = office.run_at(now, &["--state", office.state().to_str().unwrap(), "--dry-run", "--json"]);
    let report: Value = serde_json::from_str(&run.stdout).unwrap_or_else(|error| panic!("{error}: {run:?}"));
    jsonschema::validate(&exitsite::schema::schema("alert").unwrap(), &report).unwrap();
    let mut rows = report["alerts"].as_array().unwrap().iter();
    rows.rfind(|row| row["patient"] == "P-002" && row["told"] != Value::Null).unwrap().clone()
}

#[test]
fn of_a_signal_of_today_it_is_told_when_it_was_first_sent_to_whom_and_what_acts_on_it() {
    let office = office();
    let server = Server::new(Fault::Refuses("md@"));
    let state = office.state();
    let state = state.to_str().unwrap();
    let send = |now: &str, server: &Server| {
        let url = server.url();
        office.run_at(now, &["--state", state, "--from", "exitsite@example.org", "--timeout", "5", "--smtp", &url])
    };
    assert_eq!(pus(&office, NOW)["told"], json!([]));
    send(NOW, &server);
    let first = json!({ "to": "co@example.org", "first_at": "2026-11-24T07:15:00-06:00", "last_at": "2026-11-24T07:15:00-06:00" });
    assert_eq!(pus(&office, "2026-11-24T07:20")["told"], json!([first]));
    let server = Server::new(Fault::None);
    send("2026-11-24T07:30", &server);
    let told = pus(&office, "2026-11-24T07:40")["told"].clone();
    assert_eq!((&told[0], &told[1]["to"]), (&first, &json!("md@example.org")));
    // The physician's message says that the coordinator had one before.
    office.keep_mail("mail_to_the_physician_after_the_coordinators", &server.taken()[0].text);
    // A day later both messages give the time of the first to each; the last time moves, the first stays.
    let server = Server::new(Fault::None);
    send("2026-11-25T07:30", &server);
    office.keep_mail("mail_a_day_later", &server.taken()[0].text);
    let told = pus(&office, "2026-11-25T07:40")["told"].clone();
    assert_eq!(told[0]["first_at"], "2026-11-24T07:15:00-06:00");
    assert_eq!(told[0]["last_at"], "2026-11-25T07:30:00-06:00");
    // A call that only advised does not act on it; passing it on to a physician does.
    let row = pus(&office, "2026-11-25T07:40");
    assert_eq!((&row["acted_on"], &row["news_acted_on"]), (&Value::Null, &json!(false)));
    let call = "with = 'patient'\nabout = ['pus']\noutcome = 'escalated'\nescalated_to = 'md-3'\n";
    office.event("P-002", "2026-11-25T0735-contact", call);
    let row = pus(&office, "2026-11-25T07:40");
    assert_eq!(row["acted_on"], "2026-11-25T07:35:00-06:00");
    assert_eq!(row["news_acted_on"], true);
    assert!(row["acted_on_by"].as_str().unwrap().ends_with("2026-11-25T0735-contact.toml"), "{row}");
}

#[test]
fn a_state_of_an_older_version_is_read_and_its_first_time_is_not_known() {
    let office = office();
    let state = json!({ "exitsite_alert_state": 1, "checked": "2026-11-24T13:00:00Z", "told": [{
        "patient": "P-002", "exit": "a", "what": "pus", "since": "2026-11-24T12:00:00Z", "whom": "co@example.org",
        "at": "2026-11-24T13:00:00Z", "level": 1,
    }] });
    fs::write(office.state(), state.to_string()).unwrap();
    let told = pus(&office, NOW)["told"].clone();
    assert_eq!(told, json!([{ "to": "co@example.org", "first_at": null, "last_at": "2026-11-24T07:00:00-06:00" }]));
}
