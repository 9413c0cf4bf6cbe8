//! The commands in three groups, the lines for a new user, and the suggestion for a mistyped command.

use std::ffi::OsString;

use clap::Command;
use clap::error::{ContextKind, ContextValue, ErrorKind};

use crate::text::nearest;

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

/// Adds the most similar command to the usage error about an unknown one.
pub(super) fn with_the_nearest(mut error: clap::Error, command: &Command) -> clap::Error {
    if error.kind() == ErrorKind::InvalidSubcommand
        && error.get(ContextKind::SuggestedSubcommand).is_none()
        && let Some(ContextValue::String(typed)) = error.get(ContextKind::InvalidSubcommand)
        && let Some(near) = nearest(typed, command.get_subcommands().map(Command::get_name))
    {
        let near = ContextValue::Strings(vec![near.to_owned()]);
        error.insert(ContextKind::SuggestedSubcommand, near);
    }
    error
}

#[cfg(test)]
mod tests {
    use super::GROUPS;

    #[test]
    fn each_command_stands_in_one_group() {
        let mut grouped: Vec<&str> = GROUPS.iter().flat_map(|(_, names)| names.iter().copied()).collect();
        let definition = crate::command::definition();
        let mut all: Vec<&str> = definition.get_subcommands().map(clap::Command::get_name).collect();
        grouped.sort_unstable();
        all.sort_unstable();
        assert_eq!(grouped, all);
    }
}
