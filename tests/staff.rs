//! Changes of the staff list: its comments are kept, and no code is ever given to two people.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

const LIST: &str = "# kept by hand\n[[person]]\ncode = \"rn-07\"   # nights\nrole = \"nurse\"\nmay_sign = true\n\n[[person]]\ncode = \"md-3\"\nrole = \"physician\"\n# end\n";

fn desk() -> Desk {
    let desk = Desk::new().at_80_columns();
    desk.put("people.toml", LIST);
    desk
}

#[test]
fn a_person_is_added_behind_the_others_and_the_rest_stays() {
    let desk = desk();
    desk.done(&["staff", "add", "rn-12", "--role", "nurse", "--may-sign", "--from", "2026-11-20", "--yes"]);
    desk.keep_screens("staff_a_person_is_added");
    let added = "\n[[person]]\ncode = \"rn-12\"\nrole = \"nurse\"\nmay_sign = true\nfrom = 2026-11-20\n";
    let text = desk.get("people.toml");
    assert!(text.contains(added), "{text}");
    assert_eq!(text.replacen(added, "", 1), LIST);
    assert_eq!(desk.findings(), Vec::<String>::new());
    desk.done(&["record", "shower", "P-001", "--by", "rn-12", "--dressing-after", "intact", "--yes"]);
}

#[test]
fn the_first_person_of_a_program_makes_the_file() {
    let desk = Desk::new();
    std::fs::remove_file(desk.root().join("people.toml")).unwrap();
    desk.done(&["staff", "add", "co-1", "--role", "coordinator", "--yes"]);
    assert_eq!(desk.get("people.toml"), "[[person]]\ncode = \"co-1\"\nrole = \"coordinator\"\n");
}

#[test]
fn the_last_day_is_written_and_nothing_else() {
    let desk = desk();
    desk.done(&["staff", "retire", "rn-07", "--until", "2026-11-30", "--yes"]);
    let expected = LIST.replace("may_sign = true\n", "may_sign = true\nuntil = 2026-11-30\n");
    assert_eq!(desk.get("people.toml"), expected);
    desk.refused(&["staff", "retire", "rn-07", "--until", "2026-12-01", "--yes"]);
    desk.keep_screens("staff_the_last_day_is_written");
}

#[test]
fn a_code_that_is_taken_or_unknown_and_a_role_that_is_none_are_refused() {
    let desk = desk();
    for typed in [
        &["staff", "add", "rn-07", "--role", "nurse"][..],
        &["staff", "add", "p001-son", "--role", "nurse"],
        &["staff", "add", "Ann Example", "--role", "nurse"],
        &["staff", "add", "rn-12", "--role", "boss"],
        &["staff", "add", "rn-12"],
        &["staff", "add", "rn-12", "--role", "nurse", "--from", "2026-02-30"],
        &["staff", "retire", "rn-7", "--until", "2026-11-30"],
        &["staff", "retire", "rn-07"],
    ] {
        desk.refused(&[typed, &["--yes"]].concat());
    }
    desk.put("people.toml", "[[person]\n");
    desk.refused(&["staff", "add", "rn-12", "--role", "nurse", "--yes"]);
    desk.keep_screens("staff_a_code_that_is_taken_or_unknown_and_a_role_that_is_none_are_refused");
}

#[test]
fn a_slip_is_asked_again_and_a_role_that_no_one_holds_any_more_is_asked_about() {
    let desk = desk();
    let person = Person::typing(&["soon", "2026-11-30", "y", "n"]);
    desk.run_as(Some("md-3"), &["staff", "retire", "rn-07"], Some(&person));
    desk.keep_screens("staff_a_role_that_no_one_holds_any_more_is_asked_about");
    assert_eq!(desk.get("people.toml"), LIST);
}

#[test]
fn what_someone_else_wrote_meanwhile_is_kept() {
    let desk = desk();
    let other = format!("{LIST}# someone else\n");
    let (path, text) = (desk.root().join("people.toml"), other.clone());
    let person = Person::typing(&["", "", "y"]).meanwhile(move || std::fs::write(&path, &text).unwrap());
    let arguments = ["staff", "add", "rn-12", "--role", "nurse"];
    let outcome = desk.run_as(Some("md-3"), &arguments, Some(&person));
    assert_eq!(outcome.status, 2);
    assert_eq!(desk.get("people.toml"), other);
    assert!(desk.get("people.toml.rej").contains("rn-12"));
}

#[test]
fn a_less_than_sign_goes_back_one_question() {
    let desk = desk();
    let person = Person::typing(&["<", "nurse", "yes", "<", "no", "", "y"]);
    desk.run_as(Some("rn-07"), &["staff", "add", "rn-12"], Some(&person));
    desk.keep_screens("staff_a_less_than_sign_goes_back_one_question");
    assert!(desk.get("people.toml").contains("code = \"rn-12\"\nrole = \"nurse\""), "{}", person.saw());
}

#[test]
fn enter_at_the_last_question_asks_again_and_drops_nothing() {
    let answers = ["nurse", "y", "2026-11-01"];
    for (lines, is_written) in [
        (&["", "", "y"][..], true),
        (&["n", "", "y"], true),
        (&[desk::CTRL_C, "n", "y"], true),
        (&["n", "discard"], false),
        (&[desk::CTRL_C, "y"], false),
    ] {
        let desk = desk();
        let person = Person::typing(&[&answers[..], lines].concat());
        desk.run_as(Some("co-1"), &["staff", "add", "rn-12"], Some(&person));
        assert_eq!(person.left(), 0, "{}", person.saw());
        let added = "\n[[person]]\ncode = \"rn-12\"\nrole = \"nurse\"\nmay_sign = true\nfrom = 2026-11-01\n";
        assert_eq!(desk.get("people.toml").contains(added), is_written, "{lines:?} {}", person.saw());
        assert_eq!(desk.get("people.toml") == LIST, !is_written);
        assert_eq!(person.saw().contains("Required: y writes it, n does not."), lines[0].is_empty());
    }
    let desk = desk();
    let person = Person::typing(&answers);
    desk.run_as(Some("co-1"), &["staff", "add", "rn-12"], Some(&person));
    assert_eq!(desk.get("people.toml"), LIST);
    let person = Person::typing(&["2026-08-01", "right upper", "home", "2026-09-01", "2026-09-01", "0"]);
    desk.run_as(Some("co-1"), &["patient", "add", "P-002"], Some(&person));
    desk.keep_screens("staff_the_end_of_input_shows_the_command_line_so_far");
}
