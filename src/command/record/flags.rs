//! The flags of `record`, generated from the fields of each kind: a flag is the field name with hyphens, followed by
//! the table name for a field in a table (`--dressing-found`). The field name alone also works if it is unambiguous.

use std::path::PathBuf;

use clap::error::{Error, ErrorKind};
use clap::{Arg, ArgAction, ArgMatches, Command, FromArgMatches, Subcommand, builder::PossibleValuesParser};

use crate::entry::Draft;
use crate::event::Kind;
use crate::record::Shape;
use crate::text;
use crate::word::Word;

/// The parsed command line of `record`.
#[derive(Debug, Clone)]
pub(in crate::command) struct Typed {
    pub(super) kind: Kind,
    pub(super) who: String,
    pub(super) when: Option<String>,
    /// Keys with the text typed for each.
    pub(super) given: Vec<(String, String)>,
    pub(super) site_none_noted: bool,
    /// `contact --changed [TIME]`.
    pub(super) changed: Option<String>,
    pub(super) changed_by: Option<String>,
    pub(super) changed_exit: Option<String>,
    /// `photo --file FILE`.
    pub(super) file: Option<PathBuf>,
    pub(super) by_entered: Option<String>,
    pub(super) edit: bool,
    pub(super) dry_run: bool,
    pub(super) yes: bool,
    pub(super) commit: Option<bool>,
}

impl Typed {
    /// The keys typed as flags, with `at` for a typed time, `site` for all nine findings, and those read from a picture.
    pub(super) fn keys(&self, has_picture: bool) -> Vec<String> {
        let others = [
            ("at", self.when.is_some()),
            ("site", self.site_none_noted),
            ("sha256", has_picture),
            ("bytes", has_picture),
        ];
        let others = others.into_iter().filter(|(_, is_typed)| *is_typed).map(|(key, _)| key.to_owned());
        self.given.iter().map(|(key, _)| key.clone()).chain(others).collect()
    }
}

/// The flag of a key: `found.dressing` is `dressing-found`.
pub(in crate::command) fn flag(key: &str) -> String {
    match key.split_once('.') {
        None => key.replace('_', "-"),
        Some((table, key)) => format!("{}-{table}", key.replace('_', "-")),
    }
}

/// The sentence about a missing flag.
pub(super) fn required(key: &str, about: &str) -> String {
    match flag(key) {
        flag if flag == about => format!("Required: --{flag}."),
        flag => format!("Required: --{flag}, {about}."),
    }
}

/// The subcommand of a kind. Its flags are built on demand, since a command line names at most one kind.
fn command(kind: Kind) -> Command {
    Command::new(kind.word()).about(kind.traits().about).defer(with_flags)
}

fn with_flags(command: Command) -> Command {
    let Some(kind) = Kind::from_word(command.get_name()) else { return command };
    let keys = Draft::keys(kind);
    let mut command = command
        .arg(
            Arg::new("who")
                .value_name(if kind == Kind::Teaching { "PATIENT|STAFF" } else { "PATIENT" })
                .required(true)
                .help("Code of the patient"),
        )
        .arg(
            text_flag("at", "TIME")
                .conflicts_with("on")
                .help("Time: 18:40, \"yesterday 18:40\", 2026-11-23T18:40, or a date alone; default: now"),
        )
        .arg(text_flag("on", "DAY").help("Date, if the time is unknown: yesterday, 2026-11-23"));
    for (key, shape, about) in &keys {
        let long = flag(key);
        let mut arg = Arg::new(key.clone()).long(long).help(sentence(about, shape)).value_name(value_name(shape));
        arg = if matches!(shape, Shape::List(_)) { arg.action(ArgAction::Append) } else { arg };
        if let Some(short) = short_name(key, &keys) {
            arg = arg.visible_alias(short);
        }
        command = command.arg(arg.allow_negative_numbers(true));
    }
    if keys.iter().any(|(key, ..)| key.starts_with("site.")) {
        command = command.arg(
            Arg::new("site")
                .long("site")
                .value_name("none-noted")
                .value_parser(PossibleValuesParser::new(["none-noted"]))
                .help("All nine findings were assessed, and none was present"),
        );
    }
    if kind == Kind::Photo {
        command = command.arg(
            text_flag("file", "FILE")
                .value_parser(clap::value_parser!(PathBuf))
                .help("Picture file: its checksum and size are recorded; the picture itself is not copied"),
        );
    }
    if kind == Kind::Contact {
        command = command.arg(
            text_flag("changed", "TIME")
                .num_args(0..=1)
                .default_missing_value("")
                .help("Time of the reported change, which is also recorded; default: the time of the call"),
        );
        command = command
            .arg(
                text_flag("changed-by", "CODE")
                    .requires("changed")
                    .help("Person who changed it; default: the person reached"),
            )
            .arg(
                text_flag("changed-exit", "EXIT")
                    .requires("changed")
                    .help("Exit site of that change, if several are open"),
            );
    }
    let switch =
        |name: &'static str, help: &'static str| Arg::new(name).long(name).action(ArgAction::SetTrue).help(help);
    command
        .arg(
            text_flag("by-entered", "CODE")
                .help("Writer of this record; default: EXITSITE_BY, else --by if that is staff"),
        )
        .arg(switch("edit", "Open the record in an editor before writing it"))
        .arg(switch("dry-run", "Show the record without writing it"))
        .arg(switch(
            "yes",
            "Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine",
        ))
        .arg(switch("commit", "Commit it to git"))
        .arg(switch("no-commit", "Do not commit it, even if the policy says so").conflicts_with("commit"))
}

fn text_flag(name: &'static str, value: &'static str) -> Arg {
    Arg::new(name).long(name).value_name(value)
}

/// The name of a key without its table, if no other key of the kind has that name.
pub(super) fn short_name(key: &str, keys: &[(String, Shape, &str)]) -> Option<String> {
    let (_, name) = key.split_once('.')?;
    let is_called_so = |other: &&(String, Shape, &str)| other.0.rsplit('.').next() == Some(name);
    let is_free = keys.iter().filter(is_called_so).count() == 1 && !["at", "on", "by"].contains(&name);
    is_free.then(|| name.replace('_', "-"))
}

pub(in crate::command) fn value_name(shape: &Shape) -> &'static str {
    match shape {
        Shape::Words(_) => "WORD",
        Shape::Flag => "yes|no",
        Shape::Whole(..) | Shape::Measure(..) | Shape::WholeOr(_) => "NUMBER",
        Shape::Date => "DAY",
        Shape::Moment => "TIME",
        Shape::List(item) if matches!(**item, Shape::Words(_)) => "WORDS",
        Shape::List(_) => "LIST",
        _ => "TEXT",
    }
}

/// A key's meaning, with its choices unless it already lists them, as a line of help.
pub(in crate::command) fn sentence(about: &str, shape: &Shape) -> String {
    let about = text::capitalized(about);
    match takes(shape) {
        Some(words) if !about.contains(&words) => format!("{about}: {words}"),
        _ => about,
    }
}

/// The words that a key accepts.
fn takes(shape: &Shape) -> Option<String> {
    match shape {
        Shape::Words(words) => Some(text::either(words)),
        Shape::List(item) => takes(item),
        _ => None,
    }
}

impl FromArgMatches for Typed {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Typed, Error> {
        let missing = || Error::raw(ErrorKind::MissingSubcommand, "name a kind of record, such as change\n");
        let (name, matches) = matches.subcommand().ok_or_else(missing)?;
        let kind = Kind::from_word(name).ok_or_else(missing)?;
        let one = |name: &str| matches.try_get_one::<String>(name).ok().flatten().cloned();
        let is_set = |name: &str| matches.get_flag(name);
        let typed = |(key, shape, _): &(String, Shape, &str)| {
            let texts: Vec<String> = matches.get_many::<String>(key).into_iter().flatten().cloned().collect();
            let between = if matches!(shape, Shape::List(_)) { ", " } else { "" };
            (!texts.is_empty()).then(|| (key.clone(), texts.join(between)))
        };
        Ok(Typed {
            kind,
            who: one("who").unwrap_or_default().trim().to_owned(),
            when: one("at").or_else(|| one("on")),
            given: Draft::keys(kind).iter().filter_map(typed).collect(),
            site_none_noted: one("site").is_some(),
            changed: one("changed"),
            changed_by: one("changed-by"),
            changed_exit: one("changed-exit"),
            file: matches.try_get_one::<PathBuf>("file").ok().flatten().cloned(),
            by_entered: one("by-entered"),
            edit: is_set("edit"),
            dry_run: is_set("dry-run"),
            yes: is_set("yes"),
            commit: if is_set("commit") { Some(true) } else { is_set("no-commit").then_some(false) },
        })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), Error> {
        *self = Typed::from_arg_matches(matches)?;
        Ok(())
    }
}

impl Subcommand for Typed {
    fn augment_subcommands(parent: Command) -> Command {
        parent.subcommands(Kind::ALL.iter().map(|kind| command(*kind))).subcommand_required(true)
    }

    fn augment_subcommands_for_update(parent: Command) -> Command {
        Typed::augment_subcommands(parent)
    }

    fn has_subcommand(name: &str) -> bool {
        Kind::from_word(name).is_some()
    }
}
