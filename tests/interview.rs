//! The questions of `record`: their number, slips, the way back, and the confirmation before something ends.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

const PUS: &str = "patients/P-001/2026/2026-11-24T0700-assessment.toml";

/// The desk's patient, at home from the first day, so that no move home asks for a sign-off.
fn patient() -> String {
    let second = "# went home well\n[[care]]\nfrom = 2026-08-27\nplace = \"home\"\n";
    desk::PATIENT.replace(second, "").replace("place = \"inpatient\"", "place = \"home\"")
}

fn desk() -> Desk {
    let desk = Desk::new().at_80_columns();
    desk.put("patients/P-001/patient.toml", &patient());
    let change = "kind = 'change'\nat = 2026-11-23T08:00:00-06:00\nby = 'rn-07'\nsource = 'seen'\n";
    desk.put("patients/P-001/2026/2026-11-23T0800-change.toml", change);
    desk
}

fn with_pus() -> Desk {
    let desk = desk();
    let pus = "kind = 'assessment'\nat = 2026-11-24T07:00:00-06:00\nby = 'rn-07'\nsource = 'seen'\n[site]\ndrainage = 'purulent'\n";
    desk.put(PUS, pus);
    desk
}

/// The texts of the records written since `before`.
fn new(desk: &Desk, before: &[(String, String)]) -> Vec<String> {
    let now = desk.everything();
    now.into_iter().filter(|file| !before.contains(file)).map(|(_, text)| text).collect()
}

/// Runs a command with these lines, which must all be used. Returns the output and the new records.
#[track_caller]
fn talk(desk: &Desk, arguments: &[&str], lines: &[&str]) -> (String, Vec<String>) {
    let before = desk.everything();
    let person = Person::typing(lines);
    let outcome = desk.run_as(Some("rn-07"), arguments, Some(&person));
    let shown = format!("{}\n{}{}", person.saw(), outcome.stdout, outcome.stderr);
    assert_eq!(person.left(), 0, "{shown}");
    (shown, new(desk, &before))
}

const CHANGE: [&str; 3] = ["record", "change", "P-001"];

#[test]
fn a_scheduled_change_with_nothing_found_takes_six_questions() {
    let desk = desk();
    let (_, new) = talk(&desk, &CHANGE, &["", "1", "scheduled", "none", "1", "y"]);
    for line in
        ["by = \"rn-07\"", "source = \"seen\"", "reason = \"scheduled\"", "bleeding = false", "anchor = \"in-place\""]
    {
        assert!(new[0].contains(line), "{line}\n{}", new[0]);
    }
    desk.keep_screens("interview_a_scheduled_change_with_nothing_found_takes_six_questions");
}

#[test]
fn a_change_with_all_nine_findings_takes_at_most_fifteen_questions() {
    let desk = desk();
    let lines = [
        "", "patient", "told", "after-s", "f", "serous", "scant", "3.5", "none", "2", "slight", "1 2", "98.6", "1", "y",
    ];
    assert!(lines.len() <= 15);
    let (shown, new) = talk(&desk, &CHANGE, &lines);
    for line in [
        "by = \"patient\"",
        "source = \"told\"",
        "reason = \"after-shower\"",
        "drainage = \"serous\"",
        "amount = \"scant\"",
        "redness_mm = 3.5",
        "swelling = \"none\"",
        "crust_mm = 2",
        "pain = \"slight\"",
        "odor = true",
        "warmth = true",
        "overgranulation = false",
        "bleeding = false",
        "temperature_c = 37",
    ] {
        assert!(new[0].contains(line), "{line}\n{}\n{shown}", new[0]);
    }
    desk.keep_screens("interview_a_change_with_all_nine_findings_takes_at_most_fifteen_questions");
}

#[test]
fn a_slip_at_any_question_is_asked_again_and_loses_nothing() {
    let desk = desk();
    let slips = [
        ("half past six", ""),
        ("rn-70", "rn-07"),
        ("n", "scheduled"),
        ("n", "f"),
        ("puss", "serous"),
        ("much", "scant"),
        ("a bit", "3"),
        ("n", "none"),
        ("400", "2"),
        ("s", "slight"),
        ("1 none", "none"),
        ("60", "98.6"),
        ("0", "1"),
        ("perhaps", "y"),
    ];
    let lines: Vec<&str> = slips.iter().flat_map(|(slip, answer)| [*slip, *answer]).collect();
    let (shown, new) = talk(&desk, &CHANGE, &lines);
    assert_eq!(new.len(), 1, "{shown}");
    assert!(new[0].contains("temperature_c = 37\n") && new[0].contains("crust_mm = 2\n"), "{}", new[0]);
    desk.keep_screens("interview_a_slip_at_any_question_is_asked_again_and_loses_nothing");
}

#[test]
fn a_note_that_would_be_refused_is_asked_for_again() {
    let desk = desk();
    let lines = ["", "1", "", "", "", "m", "", "", "", "", "", "", "call 312-555-0142", "son will call", "y"];
    let (shown, new) = talk(&desk, &CHANGE, &lines);
    assert!(new[0].contains("note = \"son will call\""), "{shown}");
    desk.keep_screens("interview_a_note_that_would_be_refused_is_asked_for_again");
}

#[test]
fn a_less_than_sign_goes_back_one_question() {
    let desk = desk();
    let lines = ["<", "", "patient", "<", "rn-07", "wet", "<", "teaching", "none", "1", "<", "<", "none", "1", "y"];
    let (_, new) = talk(&desk, &CHANGE, &lines);
    assert!(new[0].contains("by = \"rn-07\"") && new[0].contains("reason = \"teaching\""), "{}", new[0]);
    desk.keep_screens("interview_a_less_than_sign_goes_back_one_question");
}

#[test]
fn a_full_look_that_ends_pus_is_asked_about_and_no_is_no_look() {
    let desk = with_pus();
    let look = ["record", "assessment", "P-001"];
    let (shown, new) = talk(&desk, &look, &["", "1", "none", "", "y", "n", "told", "y"]);
    assert!(new.len() == 1 && new[0].contains("source = \"told\""), "{shown}");
    desk.done(&["signals"]);
    let (shown, new) = talk(&desk, &look, &["07:10", "1", "none", "", "y", "y", "y"]);
    assert_eq!(new.len(), 1, "{shown}");
    assert!(new[0].contains("source = \"seen\""), "{shown}");
    assert!(!desk.done(&["signals"]).contains("P-001 a  pus"));
    desk.keep_screens("interview_a_full_look_that_ends_pus_is_asked_about_and_no_is_no_look");
}

#[test]
fn a_script_types_the_source_of_what_ends_or_answers_a_signal_of_today() {
    let desk = with_pus();
    let look =
        ["record", "assessment", "P-001", "--by", "rn-07", "--by-entered", "rn-07", "--site", "none-noted", "--yes"];
    desk.refused(&look);
    // A single finding does not make a full look; it counts as acted on.
    let partial = ["record", "assessment", "P-001", "--by", "rn-07", "--crust-mm", "1", "--yes"];
    desk.refused(&partial);
    // A record by the household about something else does neither.
    desk.done(&["record", "shower", "P-001", "--by", "patient", "--by-entered", "rn-07", "--at", "06:00", "--yes"]);
    desk.done(&[&look[..], &["--source", "seen"]].concat());
    assert!(!desk.done(&["signals"]).contains("P-001 a  pus"));
    desk.keep_screens("interview_a_script_types_the_source_of_what_ends_or_answers_a_signal_of_today");
}

#[test]
fn the_answer_begins_with_what_needs_review_now() {
    let desk = desk();
    let record = |flags: &[&str]| {
        desk.done(&[&["record", flags[0], "P-001", "--by", "rn-07", "--yes", "--source", "seen"], &flags[1..]].concat())
    };
    record(&["assessment", "--drainage", "purulent", "--at", "06:00"]);
    record(&["trauma", "--mechanism", "snag", "--at", "06:10"]);
    record(&["assessment", "--temperature-c", "101.3F", "--crust-mm", "0", "--at", "06:20"]);
    record(&["shower", "--dressing-after", "intact", "--dressing-before", "intact", "--at", "06:30"]);
    // The policy's own words.
    desk.put(
        "policy.toml",
        "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n[review]\ncall = 'Page 4711.'\n",
    );
    record(&["assessment", "--redness-mm", "30", "--at", "06:40"]);
    desk.keep_screens("interview_the_answer_begins_with_what_needs_review_now");
}

#[test]
fn a_shower_against_an_order_is_said_first() {
    let desk = desk();
    let order = "\n[[order]]\nfrom = 2026-11-20\nno_showers = true\nby = 'md-3'\n";
    desk.put("patients/P-001/patient.toml", &format!("{}{order}", patient()));
    desk.done(&["record", "shower", "P-001", "--by", "rn-07", "--at", "06:30", "--yes", "--source", "seen"]);
    // A swim is not called a shower, in the answer or in the list.
    let swim =
        ["record", "shower", "P-001", "--by", "rn-07", "--water", "pool", "--at", "05:30", "--yes", "--source", "seen"];
    desk.done(&swim);
    desk.done(&["due", "P-001"]);
    desk.keep_screens("interview_a_shower_against_an_order_is_said_first");
}

#[test]
fn a_change_told_in_the_minute_of_an_earlier_call_is_not_lost() {
    let desk = desk();
    let call = [
        "record",
        "contact",
        "P-001",
        "--by",
        "rn-07",
        "--with",
        "p001-son",
        "--about",
        "overdue",
        "--outcome",
        "other",
        "--yes",
    ];
    desk.done(&call);
    let before = desk.everything();
    desk.done(&[&call[..], &["--changed"]].concat());
    let new = new(&desk, &before);
    assert_eq!(new.len(), 1);
    assert!(new[0].contains("kind = \"change\"") && new[0].contains("source = \"told\""), "{}", new[0]);
    desk.refused(&[&call[..], &["--changed"]].concat());
    desk.keep_screens("interview_a_change_told_in_the_minute_of_an_earlier_call_is_not_lost");
}

#[test]
fn a_determination_is_decided_by_a_person() {
    let desk = desk();
    let by = |code: &'static str| {
        [
            "record",
            "infection",
            "P-001",
            "--by",
            code,
            "--by-entered",
            "rn-07",
            "--part",
            "driveline-superficial",
            "--certainty",
            "proven",
            "--onset",
            "2026-11-20",
            "--yes",
        ]
    };
    desk.refused(&by("rn-07"));
    desk.done(&[&by("md-3")[..], &["--source", "seen"]].concat());
    let again = [&by("md-3")[..], &["--at", "06:00", "--source", "seen"]].concat();
    desk.refused(&again);
    // The new one happened first; the one named is on file.
    // A person who may not determine infections is refused at the question, and also with a flag.
    let before = desk.everything();
    let typed: Vec<&str> = by("rn-07").into_iter().filter(|flag| *flag != "--yes").collect();
    desk.run_as(Some("rn-07"), &typed, Some(&Person::typing(&["y", "y", "2"])));
    let asked = Person::typing(&["", "rn-07", "co-1", "md-3"]);
    desk.run_as(Some("rn-07"), &["record", "infection", "P-001"], Some(&asked));
    assert_eq!(desk.everything(), before);
    desk.keep_screens("interview_a_determination_is_decided_by_a_person");
}

#[test]
fn enter_keeps_an_earlier_answer_after_a_way_back() {
    let desk = desk();
    let answers = ["", "patient", "told", "1", "f", "pus, small", "12", "exit", "2", "slight", "1 2", "98.6", "1"];
    let back = ["<"; 12];
    // Forward again with Enter alone; then one answer is taken back and another changed.
    let mut lines: Vec<&str> = answers.iter().chain(&back).copied().collect();
    lines.extend([""; 5].iter().chain(&["14", "-"]).chain(&[""; 5]));
    let before = desk.everything();
    let person = Person::typing(&lines);
    desk.run_as(Some("rn-07"), &CHANGE, Some(&person));
    let saw = person.saw();
    assert_eq!((person.left(), desk.everything()), (0, before), "{saw}");
    let lines: Vec<&str> = answers.iter().chain(&back).chain(&[""; 12]).chain(&["y"]).copied().collect();
    let (shown, new) = talk(&desk, &CHANGE, &lines);
    for line in [
        "by = \"patient\"",
        "drainage = \"purulent\"",
        "redness_mm = 12",
        "swelling = \"exit\"",
        "pain = \"slight\"",
        "odor = true",
        "bleeding = false",
        "temperature_c = 37",
        "dressing = \"intact\"",
        "anchor = \"in-place\"",
    ] {
        assert!(new[0].contains(line), "{line}\n{}\n{shown}", new[0]);
    }
    desk.keep_screens("interview_enter_keeps_an_earlier_answer_after_a_way_back");
}

#[test]
fn no_enter_throws_a_record_away_behind_a_doubt() {
    let desk = desk();
    desk.put(
        "patients/P-001/2026/2026-11-24T0650-change.toml",
        "kind = 'change'\nat = 2026-11-24T06:50:00-06:00\nby = 'rn-07'\nsource = 'seen'\n",
    );
    let pus = ["07:00", "rn-07", "1", "f", "pus", "", "", "", "", "", "", "", "y"];
    let mut lines = pus.to_vec();
    lines.extend(["", "", "", "3", "2", "y"]);
    let (shown, new) = talk(&desk, &CHANGE, &lines);
    assert!(new.len() == 1 && new[0].contains("drainage = \"purulent\""), "{shown}");
    // Back to the questions; only the word in full discards.
    let before = desk.everything();
    let mut lines = pus.to_vec();
    lines[0] = "07:05";
    lines.extend(["n", "1", "", "", "disc", "discard"]);
    let person = Person::typing(&lines);
    desk.run_as(Some("rn-07"), &CHANGE, Some(&person));
    assert_eq!((person.left(), desk.everything()), (0, before), "{}", person.saw());
    desk.keep_screens("interview_no_enter_throws_a_record_away_behind_a_doubt");
}

#[test]
fn a_code_is_doubted_when_it_is_typed() {
    let lines = ["", "rn-02", "", "rn-02", "y", "told", "1", "", "", "y"];
    let desk = desk();
    let (shown, new) = talk(&desk, &CHANGE, &lines);
    assert!(!shown.contains("Save anyway?"), "{shown}");
    assert!(new[0].contains("by = \"rn-02\""), "{shown}");
    let person = Person::typing(&["", "p009-son", "1"]);
    desk.run_as(Some("rn-07"), &["record", "contact", "P-001"], Some(&person));
    desk.keep_screens("interview_a_code_is_doubted_when_it_is_typed");
}

#[test]
fn a_code_of_a_flag_is_doubted_before_the_first_question() {
    let desk = desk();
    let arguments = ["record", "change", "P-001", "--by", "rn-02"];
    talk(&desk, &arguments, &["n", "now", "rn-07"]);
    desk.keep_screens("interview_a_code_of_a_flag_is_doubted_before_the_first_question");
}

#[test]
fn a_no_at_what_a_yes_does_not_answer_keeps_the_flags() {
    let desk = with_pus();
    let look = ["record", "change", "P-001", "--by", "rn-07", "--site", "none-noted", "--note", "dry", "--yes"];
    let (saw, new) = talk(&desk, &look, &["", "", "y"]);
    assert_eq!(saw.matches("Did you see the site yourself? [y/N]").count(), 2, "{saw}");
    assert!(new.len() == 1 && new[0].contains("note = \"dry\""), "{new:?} {saw}");
    let (_, new) = talk(&with_pus(), &look, &["", "discard"]);
    assert_eq!(new, Vec::<String>::new());
    desk.keep_screens("interview_a_no_at_what_a_yes_does_not_answer_keeps_the_flags");
}

#[test]
fn the_exit_site_is_the_first_question_where_two_are_open() {
    let desk = desk();
    let second = "[[exit]]\nid = 'b'\nwhere = 'left-upper'\nfrom = 2026-10-01\nwhy = 'relocation'\n[[care]]";
    desk.put("patients/P-001/patient.toml", &patient().replacen("[[care]]", second, 1));
    let (shown, new) = talk(&desk, &CHANGE, &["", "c", "2", "", "1", "1", "", "", "y"]);
    assert!(new[0].contains("exit = \"b\""), "{shown}");
    let person = Person::typing(&["1"]);
    desk.run_as(Some("rn-07"), &["record", "trauma", "P-001"], Some(&person));
    assert!(person.saw().find("1 a (right-upper)") < person.saw().find("When was it"), "{}", person.saw());
    desk.keep_screens("interview_the_exit_site_is_the_first_question_where_two_are_open");
}

#[test]
fn only_none_in_full_is_none_at_the_findings() {
    let desk = desk();
    let lines = ["", "1", "1", "no", "n", "non", "f", "no", "", "", "", "", "", "no", "n", "none", "", "", "y"];
    let (_, new) = talk(&desk, &CHANGE, &lines);
    assert!(new[0].contains("odor = false") && !new[0].contains("drainage"), "{}", new[0]);
    desk.keep_screens("interview_only_none_in_full_is_none_at_the_findings");
}

#[test]
fn amend_asks_which_field_and_its_new_value() {
    let desk = with_pus();
    let text = desk.get(PUS).replace("[site]\n", "[site]\nredness_mm = 12\ncrust_mm = 3\n");
    desk.put(PUS, &text);
    let lines = [
        "1",
        "",
        "9",
        "4",
        "60 mm wide",
        "<",
        "4",
        "2 mm",
        "temperature_c",
        "98.6",
        "crust_mm",
        "-",
        "",
        "wrong line",
        "y",
    ];
    let person = Person::typing(&lines);
    let outcome = desk.run_as(Some("co-1"), &["amend", "P-001"], Some(&person));
    let shown = format!("{}\n{}{}", person.saw(), outcome.stdout, outcome.stderr);
    let text = desk.get(PUS);
    assert!(
        text.contains("redness_mm = 2") && text.contains("temperature_c = 37") && !text.contains("\ncrust_mm"),
        "{text}\n{shown}"
    );
    assert!(text.contains("why = \"wrong line\"") && text.contains("drainage = 'purulent'"), "{text}\n{shown}");
    desk.keep_screens("interview_amend_asks_which_field_and_its_new_value");
}

#[test]
fn trade_words_units_and_months_are_taken() {
    let lines = ["Nov 23 18:30", "1", "1", "f", "pus", "", "12mm", "", "2 mm", "", "", "", "", "y"];
    let desk = desk();
    let (_, new) = talk(&desk, &CHANGE, &lines);
    for line in ["at = 2026-11-23T18:30:00-06:00", "drainage = \"purulent\"", "redness_mm = 12\n", "crust_mm = 2\n"] {
        assert!(new[0].contains(line), "{line}\n{}", new[0]);
    }
    let person = Person::typing(&["", "md-3", "told", "1", "proven", "march 3 2024"]);
    desk.run_as(Some("rn-07"), &["record", "infection", "P-001"], Some(&person));
    desk.keep_screens("interview_trade_words_units_and_months_are_taken");
}

#[test]
fn all_steps_are_all_and_an_unknown_step_is_refused_with_the_list() {
    let desk = desk();
    let teach = |steps: &'static str| {
        [
            "record",
            "teaching",
            "P-001",
            "--by",
            "rn-07",
            "--learner",
            "p001-son",
            "--observer",
            "rn-07",
            "--curriculum",
            "dressing-change",
            "--version",
            "1",
            "--mode",
            "return-demonstration",
            "--unaided",
            steps,
            "--yes",
        ]
    };
    desk.refused(&teach("hans"));
    let before = desk.everything();
    desk.done(&teach("all"));
    let new = new(&desk, &before);
    assert!(new[0].contains("\"hands\"") && new[0].contains("\"change-after-shower\"") && !new[0].contains("\"all\""));
    // At a terminal, by number.
    let lines = ["", "rn-07", "p001-son", "rn-07", "1", "", "return", "all", "y"];
    let person = Person::typing(&lines);
    desk.run_as(Some("rn-07"), &["record", "teaching", "P-001"], Some(&person));
    desk.keep_screens("interview_all_steps_are_all_and_an_unknown_step_is_refused_with_the_list");
}

#[test]
fn a_date_in_us_form_is_read_back_in_full() {
    let desk = desk();
    let lines = ["11/23 18:40", "1", "", "", "", "y"];
    let (_, new) = talk(&desk, &CHANGE, &lines);
    assert!(new[0].contains("at = 2026-11-23T18:40:00-06:00"), "{}", new[0]);
    desk.keep_screens("interview_a_date_in_us_form_is_read_back_in_full");
}

#[test]
fn a_part_of_a_day_is_read_back_in_full_and_asked_about_if_it_could_be_two_times() {
    let desk = desk();
    let lines = ["last night", "yesterday at 9", "last night at 5", "last night at 9", "1", "", "", "", "y"];
    let (_, new) = talk(&desk, &CHANGE, &lines);
    assert!(new[0].contains("at = 2026-11-23T21:00:00-06:00"), "{}", new[0]);
    desk.keep_screens("interview_a_part_of_a_day_is_read_back_in_full_and_asked_about_if_it_could_be_two_times");
}

#[test]
fn a_date_that_can_be_read_two_ways_is_asked_about() {
    let desk = desk();
    let lines = ["11/3/2026 18:40", "n", "11/3/2026 18:40", "y", "1", "", "", "", "y"];
    let (_, new) = talk(&desk, &CHANGE, &lines);
    assert!(new[0].contains("at = 2026-11-03T18:40:00-06:00"), "{}", new[0]);
    desk.keep_screens("interview_a_date_that_can_be_read_two_ways_is_asked_about");
}

#[test]
fn a_writer_who_is_no_longer_active_is_asked_about_at_once() {
    let desk = desk();
    let person = Person::typing(&["", "p001-son", "rn-02", "n", "rn-07"]);
    desk.run_as(None, &["record", "inspection", "P-001"], Some(&person));
    let saw = person.saw();
    let at = |part: &str| saw.find(part).unwrap_or_else(|| panic!("{part} is not in {saw}"));
    assert!(at("Who is writing this record?") < at("rn-02 was not active on"), "{saw}");
    desk.keep_screens("interview_a_writer_who_is_no_longer_active_is_asked_about_at_once");
}

#[test]
fn what_is_written_while_somebody_answers_is_asked_about() {
    let desk = desk();
    let file = desk.root().join(PUS);
    let pus = with_pus().get(PUS);
    let before = desk.everything();
    let look =
        ["record", "assessment", "P-001", "--by", "rn-07", "--at", "07:05", "--source", "seen", "--site", "none-noted"];
    // The pus is recorded while the last question waits; a yes to that question is no yes to ending the pus.
    let person = Person::typing(&["y", "", "discard"]).meanwhile(move || {
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(&file, &pus).unwrap();
    });
    desk.run_as(Some("rn-07"), &look, Some(&person));
    assert_eq!(new(&desk, &before).len(), 1, "only the pus is new");
    desk.keep_screens("interview_what_is_written_while_somebody_answers_is_asked_about");
}

#[test]
fn what_arrives_between_the_last_reading_and_the_write_is_asked_about() {
    let desk = desk();
    let file = desk.root().join(PUS);
    let pus = with_pus().get(PUS);
    let before = desk.everything();
    let look =
        ["record", "assessment", "P-001", "--by", "rn-07", "--at", "07:05", "--source", "seen", "--site", "none-noted"];
    let arriving = |answers: &[&str], text: &str| {
        let (file, text) = (file.clone(), text.to_owned());
        Person::typing(answers).at_the_write(move || {
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(&file, &text).unwrap();
        })
    };
    // The last question is answered with yes, then the pus is recorded, and only then the look is written.
    let person = arriving(&["y", "", "discard"], &pus);
    desk.run_as(Some("rn-07"), &look, Some(&person));
    assert_eq!(new(&desk, &before), [pus.as_str()], "only the pus is new");
    std::fs::remove_file(&file).unwrap();
    // A yes to the ending writes it.
    let person = arriving(&["y", "y", "y", "y"], &pus);
    desk.run_as(Some("rn-07"), &look, Some(&person));
    assert_eq!((new(&desk, &before).len(), person.left()), (2, 0));
    let written = new(&desk, &before).into_iter().find(|text| text.contains("bleeding = false")).unwrap();
    assert!(written.contains("at = 2026-11-24T07:05:00-06:00"), "{written}");
    desk.keep_screens("interview_what_arrives_between_the_last_reading_and_the_write_is_asked_about");
}

#[test]
fn a_record_that_arrives_at_the_write_and_asks_nothing_leaves_it_as_written() {
    let desk = desk();
    let file = desk.root().join("patients/P-001/2026/2026-11-24T0600-supply.toml");
    let supply = "kind = 'supply'\nat = 2026-11-24T06:00:00-06:00\nby = 'rn-07'\nsource = 'seen'\nitem = 'dressing-kit'\nreceived = 5\n";
    let before = desk.everything();
    let person = Person::typing(&["y"]).at_the_write(move || {
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(&file, supply).unwrap();
    });
    let look = ["record", "assessment", "P-001", "--by", "rn-07", "--source", "seen", "--drainage", "none"];
    let outcome = desk.run_as(Some("rn-07"), &look, Some(&person));
    assert_eq!((outcome.status, new(&desk, &before).len()), (0, 2), "{outcome:?}");
    assert!(!person.saw().contains("taken back"), "{}", person.saw());
}

#[test]
fn a_treatment_is_ordered_by_a_clinician() {
    let desk = desk();
    let typed = ["record", "treatment", "P-001", "--what", "oral-antibiotic", "--by"];
    desk.refused(&[&typed[..], &["rn-07", "--by-entered", "rn-07", "--yes"]].concat());
    desk.done(&[&typed[..], &["md-3", "--by-entered", "rn-07", "--yes"]].concat());
    // The question offers the clinicians and refuses a nurse's code.
    let person = Person::typing(&["", "rn-07", "1"]);
    desk.run_as(Some("rn-07"), &["record", "treatment", "P-001"], Some(&person));
    // A culture is entered by the person who took it.
    desk.done(&["record", "culture", "P-001", "--specimen", "exit-site", "--by", "rn-07", "--yes"]);
    desk.keep_screens("interview_a_treatment_is_ordered_by_a_clinician");
}

#[test]
fn a_temperature_typed_in_fahrenheit_is_repeated_in_fahrenheit() {
    let desk = desk();
    let fever = ["record", "assessment", "P-001", "--by", "rn-07", "--temperature-c", "100.9F"];
    let (_, new) = talk(&desk, &fever, &["y"]);
    assert!(new[0].contains("temperature_c = 38.28"), "{}", new[0]);
    desk.keep_screens("interview_a_temperature_typed_in_fahrenheit_is_repeated_in_fahrenheit");
}

#[test]
fn a_flag_with_a_date_that_could_be_another_is_asked_about() {
    let look = ["record", "assessment", "P-001", "--by", "rn-07", "--drainage", "none", "--at"];
    let desk = desk();
    let (_, new) = talk(&desk, &[&look[..], &["11/3/2026 18:40"]].concat(), &["y", "y"]);
    assert!(new[0].contains("at = 2026-11-03T18:40:00-06:00"), "{}", new[0]);
    let (shown, new) = talk(&desk, &[&look[..], &["11/3/2026 18:40"]].concat(), &[""]);
    assert!(new.is_empty(), "{shown}");
    desk.keep_screens("interview_a_flag_with_a_date_that_could_be_another_is_asked_about");
}

/// The words of the one command line shown for the answers so far.
#[track_caller]
fn to_paste(shown: &str) -> Vec<String> {
    let (_, line) =
        shown.split_once("To write what you answered so far:\n  exitsite ").unwrap_or_else(|| panic!("{shown}"));
    // A line that ends with a backslash goes on in the next one.
    let line = line.replace(" \\\n", " ");
    shell_words(line.lines().next().unwrap())
}

/// Splits a line into words as a shell does.
fn shell_words(line: &str) -> Vec<String> {
    let script = format!("for word in {line}; do printf '%s\\n' \"$word\"; done");
    let output = std::process::Command::new("sh").args(["-c", &script]).output().unwrap();
    String::from_utf8(output.stdout).unwrap().lines().map(str::to_owned).collect()
}

#[test]
fn ctrl_c_drops_nothing_without_a_yes() {
    // A no, or Enter, asks the same question again; every answer is kept.
    for (no, name) in [("n", "n"), ("", "enter"), ("no", "no")] {
        let desk = desk();
        let (shown, new) = talk(&desk, &CHANGE, &["", "1", "scheduled", desk::CTRL_C, no, "none", "1", "y"]);
        assert!(new[0].contains("reason = \"scheduled\"") && new[0].contains("pain = \"none\""), "{shown}");
        desk.keep_screens(&format!("interview_ctrl_c_drops_nothing_after_{name}"));
    }
    // A yes stops at once; without answers to drop there is no question.
    for (lines, asked) in [(&["", "1", "scheduled", desk::CTRL_C, "y"][..], 5), (&["", desk::CTRL_C][..], 2)] {
        let desk = desk();
        let before = desk.everything();
        let person = Person::typing(lines);
        let outcome = desk.run_as(Some("rn-07"), &CHANGE, Some(&person));
        assert_eq!((outcome.status, person.left(), person.asked().len()), (2, 0, asked), "{}", person.saw());
        assert!(!person.saw().contains("To write what you answered"), "{}", person.saw());
        assert_eq!(desk.everything(), before);
        desk.keep_screens(&format!("interview_ctrl_c_stops_after_{asked}_questions"));
    }
}

#[test]
fn a_stopped_record_shows_the_line_that_writes_what_was_answered() {
    let desk = desk();
    let before = desk.everything();
    let answers = ["06:40", "patient", "told", "after-s", "f", "serous", "scant", "3.5", "none", "2", "slight", "1 2"];
    for n in [3, 5, 8, answers.len()] {
        // The end of input, twice, as from a closed terminal.
        let person = Person::typing(&answers[..n]);
        desk.run_as(Some("rn-07"), &CHANGE, Some(&person));
        assert_eq!(desk.everything(), before);
        let words = to_paste(&person.saw());
        let words: Vec<&str> = words.iter().map(String::as_str).chain(["--yes"]).collect();
        let expected = [
            ("--at", "2026-11-24T06:40:00-06:00"),
            ("--by", "patient"),
            ("--source", "told"),
            ("--reason", "after-shower"),
            ("--drainage-site", "serous"),
            ("--amount-site", "scant"),
            ("--redness-mm-site", "3.5"),
        ];
        for (flag, value) in expected.iter().take(n.min(4) + n.saturating_sub(5)) {
            let at = words.iter().position(|word| word == flag).unwrap_or_else(|| panic!("{flag} {words:?}"));
            assert_eq!(words[at + 1], *value);
        }
        let outcome = desk.run_as(Some("rn-07"), &[&words[..], &["--dry-run"]].concat(), None);
        assert_eq!(outcome.status, 0, "{outcome:?}");
        assert_eq!(outcome.stdout.contains("pain = \"slight\"\nodor = true\nwarmth = true"), n == answers.len());
    }
    desk.keep_screens("interview_a_stopped_record_shows_the_line_that_writes_what_was_answered");
    // Nine findings in one word, a note with spaces, and the folder from the command line, whose path is that of the machine.
    let lines = ["", "1", "scheduled", "none", "1", "m", "", "", "", "", "", "", "son $called", desk::CTRL_C];
    let person = Person::typing(&lines);
    let root = desk.root().display().to_string();
    desk.run_as(Some("rn-07"), &[&["--records", &root][..], &CHANGE].concat(), Some(&person));
    let saw = person.saw();
    let words = to_paste(&saw);
    let words: Vec<&str> = words.iter().map(String::as_str).chain(["--yes"]).collect();
    desk.run_as(Some("rn-07"), &words, None);
    let new = new(&desk, &before);
    assert!(new[0].contains("note = \"son $called\"") && new[0].contains("bleeding = false"), "{new:?}");
}

#[test]
fn a_question_mark_explains_and_an_hour_alone_is_asked_about() {
    let desk = desk();
    let lines = ["?", "8", "715p", "7:15 am", "1", "?", "scheduled", "none", "1", "?", "y"];
    let (_, new) = talk(&desk, &CHANGE, &lines);
    assert!(new[0].contains("at = 2026-11-24T07:15:00-06:00"), "{}", new[0]);
    desk.keep_screens("interview_a_question_mark_explains_and_an_hour_alone_is_asked_about");
}

#[test]
fn a_length_that_no_exit_site_has_is_refused_also_with_yes() {
    let desk = desk();
    let redness = |mm: &str| {
        let flags =
            ["record", "assessment", "P-001", "--by", "rn-07", "--redness-mm-site", mm, "--source", "seen", "--yes"];
        desk.run_as(Some("rn-07"), &[&flags[..], &["--dry-run"]].concat(), None)
    };
    for mm in ["300", "151", "150.5"] {
        let outcome = redness(mm);
        assert!(outcome.status == 2, "{outcome:?}");
    }
    assert_eq!((redness("150").status, redness("12").status), (0, 0));
    desk.keep_screens("interview_a_length_that_no_exit_site_has_is_refused_also_with_yes");
}

#[test]
fn a_possible_duplicate_names_the_command_that_adds_what_is_new() {
    let desk = desk();
    let file = "patients/P-001/2026/2026-11-24T0650-change.toml";
    desk.put(file, "kind = 'change'\nat = 2026-11-24T06:50:00-06:00\nby = 'rn-07'\nsource = 'seen'\n");
    let flags = [
        "record",
        "change",
        "P-001",
        "--by",
        "rn-07",
        "--reason",
        "scheduled",
        "--drainage",
        "serous",
        "--at",
        "07:00",
    ];
    desk.refused(&flags);
    let command = format!("  exitsite amend {file} --set reason=scheduled --set site.drainage=serous --why \"…\"\n");
    let words = shell_words(command.trim().trim_start_matches("exitsite ").replace('…', "told twice").as_str());
    let words: Vec<&str> = words.iter().map(String::as_str).chain(["--by", "co-1", "--yes"]).collect();
    desk.done(&words);
    assert!(desk.get(file).contains("drainage = \"serous\""), "{}", desk.get(file));
    desk.keep_screens("interview_a_possible_duplicate_names_the_command_that_adds_what_is_new");

    // A record without a time is replaced by the one with it, since a time is never amended.
    let desk = self::desk();
    let file = "patients/P-001/2026/2026-11-24-change.toml";
    desk.put(file, "kind = 'change'\non = 2026-11-24\nby = 'rn-07'\nsource = 'seen'\n");
    desk.refused(&flags);
    desk.keep_screens(
        "interview_a_possible_duplicate_names_the_command_that_adds_what_is_new_of_a_record_without_a_time",
    );
}
