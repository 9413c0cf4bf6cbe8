//! The commands in three groups, the lines for a new user, and the suggestion for a mistyped command.

use std::ffi::OsString;

use clap::Command;
use clap::error::{ContextKind, ContextValue, ErrorKind};

use crate::text::nearest_or_only;

/// Each command in one group.
const GROUPS: [(&str, &[&str]); 3] = [
    (
        "Each day",
        &[
            "due", "round", "handoff", "record", "signals", "show", "result", "resolve", "amend", "void", "history",
            "check",
        ],
    ),
    ("Each month", &["missed", "grade", "teaching", "supplies", "sheet", "import", "audit", "pool", "export"]),
    ("Set up", &["init", "staff", "patient", "contacts", "policy", "alert", "schema", "completions", "man"]),
];

/// The lines for a new user.
const FIRST: &str = "\
exitsite init records          create a records folder
exitsite staff add co-1        add yourself, by code; in the records folder
exitsite patient add P-001     add a patient, by code
exitsite record change P-001   record a dressing change
exitsite due                   list the patients who need a change or a call
exitsite man                   read the manual, or `exitsite due --help`
";

/// Rewrites the arguments `help record change` to `record change --help`.
pub(super) fn asked_for(arguments: Vec<OsString>) -> Vec<OsString> {
    match arguments.as_slice() {
        [program, word, about @ ..] if word == "help" => {
            [std::slice::from_ref(program), about, &["--help".into()]].concat()
        }
        _ => arguments,
    }
}

/// The output of the program without arguments.
pub(super) fn first(command: &Command) -> String {
    format!("New here? Six lines:\n{}\n{}", indented(FIRST), groups(command))
}

/// A command whose help page lists its commands in their groups.
pub(super) fn grouped(command: Command) -> Command {
    let groups = groups(&command);
    command.disable_help_subcommand(true).help_template(format!(
        "{{about-with-newline}}\n{{usage-heading}} {{usage}}\n\n{groups}\nOptions:\n{{options}}"
    ))
}

/// The commands in their groups, each with its line.
fn groups(command: &Command) -> String {
    let mut out = String::new();
    for (title, names) in GROUPS {
        out.push_str(&format!("{title}\n"));
        for name in names {
            let about = command.find_subcommand(name).and_then(Command::get_about);
            let about = about.map(ToString::to_string).unwrap_or_default();
            out.push_str(&format!("  {name:<12} {about}\n"));
        }
        out.push('\n');
    }
    out
}

fn indented(lines: &str) -> String {
    lines.lines().map(|line| format!("  {line}\n")).collect()
}

/// Adds the replacement of a removed flag to its usage error.
pub(super) fn with_what_took_its_place(mut error: clap::Error) -> clap::Error {
    if matches!(error.get(ContextKind::InvalidArg), Some(ContextValue::String(flag)) if flag == "--deidentify") {
        error.remove(ContextKind::SuggestedArg);
        error.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![INSTEAD_OF_DEIDENTIFY.into()]));
    }
    error
}

const INSTEAD_OF_DEIDENTIFY: &str = "figures that may leave the program: `exitsite audit --year YYYY --external`; records for a recipient under an agreement: `exitsite export csv DIR --pseudonymous --key FILE`";

/// Adds the most similar command to the usage error about an unknown one, among those possible at its place.
pub(super) fn with_the_nearest(mut error: clap::Error, arguments: &[OsString], command: &Command) -> clap::Error {
    if error.kind() == ErrorKind::InvalidSubcommand
        && let Some(ContextValue::String(typed)) = error.get(ContextKind::InvalidSubcommand)
        && let Some(tip) = kept_as(typed).filter(|_| is_of_record(&names_at(typed, arguments, command)))
    {
        error.remove(ContextKind::SuggestedSubcommand);
        error.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![tip.into()]));
        return error;
    }
    if error.kind() == ErrorKind::InvalidSubcommand
        && error.get(ContextKind::SuggestedSubcommand).is_none()
        && let Some(ContextValue::String(typed)) = error.get(ContextKind::InvalidSubcommand)
        && let Some(near) = nearest_or_only(typed, &names_at(typed, arguments, command))
    {
        let near = ContextValue::Strings(vec![near.to_owned()]);
        error.insert(ContextKind::SuggestedSubcommand, near);
    }
    error
}

/// The command that records what a nurse names in another word than the records.
fn kept_as(typed: &str) -> Option<&'static str> {
    match typed.to_lowercase().as_str() {
        "call" | "phone" => Some("a call is recorded by `exitsite record contact PATIENT`"),
        "fever" | "temperature" => Some(
            "a fever is recorded as a temperature: `exitsite record assessment PATIENT --temperature-c 101.2F`, or reported in a call: `exitsite record contact PATIENT --temperature-c 101.2F`",
        ),
        _ => None,
    }
}

/// Returns true for the commands of the first place, and for the kinds of records.
fn is_of_record(names: &[&str]) -> bool {
    names.contains(&"record") || names.contains(&"assessment")
}

/// The commands that are possible in place of an unknown one.
fn names_at<'c>(unknown: &str, arguments: &[OsString], command: &'c Command) -> Vec<&'c str> {
    let before = arguments.iter().skip(1).take_while(|argument| *argument != unknown);
    let typed = before.filter_map(|argument| argument.to_str());
    let place = typed.fold(command, |place, word| place.find_subcommand(word).unwrap_or(place));
    place.get_subcommands().map(Command::get_name).collect()
}

#[cfg(test)]
mod tests {
    use std::ffi::OsString;

    use super::{GROUPS, with_the_nearest};
    use crate::text::nearest_or_only;

    #[test]
    fn each_command_stands_in_one_group() {
        let mut grouped: Vec<&str> = GROUPS.iter().flat_map(|(_, names)| names.iter().copied()).collect();
        let definition = crate::command::definition();
        let mut all: Vec<&str> = definition.get_subcommands().map(clap::Command::get_name).collect();
        grouped.sort_unstable();
        all.sort_unstable();
        assert_eq!(grouped, all);
    }

    #[test]
    fn a_call_and_a_fever_name_the_command_that_records_them() {
        let tip = |words: &[&str]| {
            let arguments: Vec<OsString> = ["exitsite"].iter().chain(words).map(OsString::from).collect();
            let definition = crate::command::definition();
            let error = definition.clone().try_get_matches_from(&arguments).unwrap_err();
            with_the_nearest(error, &arguments, &definition).render().to_string()
        };
        for words in [&["call"][..], &["call", "P-009"], &["record", "call", "P-009"], &["record", "Phone"]] {
            assert!(
                tip(words).contains("tip: a call is recorded by `exitsite record contact PATIENT`"),
                "{}",
                tip(words)
            );
            assert!(!tip(words).contains("similar"), "{}", tip(words));
        }
        for words in [&["fever"][..], &["record", "fever", "P-009"]] {
            assert!(
                tip(words).contains("`exitsite record assessment PATIENT --temperature-c 101.2F`"),
                "{}",
                tip(words)
            );
        }
        for words in [&["patient", "call"][..], &["record", "chnage"], &["recrod"]] {
            assert!(!tip(words).contains("is recorded"), "{}", tip(words));
        }
        let record = crate::command::definition();
        for kind in ["assessment", "contact"] {
            let arguments = ["exitsite", "record", kind, "P-001", "--temperature-c", "101.2F"];
            assert!(record.clone().try_get_matches_from(arguments).is_ok(), "{kind}");
        }
    }

    #[test]
    fn a_command_two_letters_off_is_suggested_if_it_is_the_only_one() {
        let definition = crate::command::definition();
        let names: Vec<&str> = definition.get_subcommands().map(clap::Command::get_name).collect();
        for (typed, meant) in
            [("dew", Some("due")), ("deu", Some("due")), ("shoe", Some("show")), ("xyw", None), ("P-014", None)]
        {
            assert_eq!(nearest_or_only(typed, &names), meant, "{typed}");
        }
    }
}
