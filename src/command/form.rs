//! The flags of a command that changes a row of patient.toml or people.toml, generated from the keys of the row: the
//! name, help and parsing of a flag are those of its key, and at a terminal a required flag is a question.
//!
//! Left out on purpose: what the command does with the row.

use clap::error::{Error, ErrorKind};
use clap::{Arg, ArgAction, ArgMatches, Args as _, Command, FromArgMatches};

use super::correction::Writing;
use super::question::{Choice, Enter, Leave, Questions};
use super::record::{flag, sentence, value_name};
use super::{Context, Outcome, consent};
use crate::entry::{Clock, plain, typed_as};
use crate::problem::Failure;
use crate::record::{Field, Shape, Value, Values};
use crate::view::words::question::Question;

/// A command as a form.
#[derive(Debug)]
pub(super) struct CommandForm {
    pub(super) name: &'static str,
    pub(super) about: &'static str,
    /// The rest of the help page.
    pub(super) more: &'static str,
    /// The value after the name: `PATIENT`, and its help.
    pub(super) whose: (&'static str, &'static str),
    /// The fields of the file that has the row.
    pub(super) fields: fn() -> Vec<Field>,
    pub(super) table: &'static str,
    pub(super) keys: &'static [KeyFlag],
    /// Adds the command's own flags, and declares which flags exclude each other.
    pub(super) own: fn(Command) -> Command,
    pub(super) run: fn(&TypedForm, &Context) -> Result<Outcome, Failure>,
}

/// A key of the row as a flag.
#[derive(Debug, Clone, Copy)]
pub(super) struct KeyFlag {
    pub(super) key: &'static str,
    /// The table of the key, if it is not the form's.
    table: Option<&'static str>,
    /// The name of its flag, if it differs from the key's.
    flag: Option<&'static str>,
    /// The question at a terminal.
    question: Question,
    pub(super) need: Need,
}

/// The meaning of a missing flag.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Need {
    /// Asked for.
    Needed,
    /// Left open.
    May,
    /// Today.
    Today,
    /// The code in the environment, else asked for.
    Writer,
    /// Asked for: a clinician's code.
    Clinician,
    /// Asked for: a code not yet in use.
    NewCode,
    /// Asked for: the id of a new exit site.
    NewExit,
    /// Asked for: the id of an open exit site.
    OpenExit,
    /// Left open; asked for at a terminal, where Enter leaves it open in these words.
    Asked(&'static str),
    /// No.
    Switch,
    /// No; asked for at a terminal.
    AskedSwitch,
    /// Yes.
    Yes,
}

impl KeyFlag {
    pub(super) const fn new(key: &'static str, need: Need, question: Question) -> KeyFlag {
        KeyFlag { key, table: None, flag: None, question, need }
    }

    /// A key of a table other than the form's.
    pub(super) const fn of(table: &'static str, key: &'static str, need: Need, question: Question) -> KeyFlag {
        KeyFlag { table: Some(table), ..KeyFlag::new(key, need, question) }
    }

    /// A key whose flag has a different name.
    pub(super) const fn called(flag: &'static str, key: &'static str, need: Need, question: Question) -> KeyFlag {
        KeyFlag { flag: Some(flag), ..KeyFlag::new(key, need, question) }
    }

    /// The name of its flag.
    fn flag(&self) -> String {
        self.flag.map_or_else(|| flag(self.key), str::to_owned)
    }
}

/// The parsed command line of a form.
#[derive(Debug, Clone)]
pub(super) struct TypedForm {
    matches: ArgMatches,
    pub(super) code: String,
    pub(super) writing: Writing,
}

impl TypedForm {
    /// The text of a flag.
    pub(super) fn get(&self, flag: &str) -> Option<&str> {
        self.matches.try_get_one::<String>(flag).ok().flatten().map(String::as_str)
    }

    /// All texts of a repeatable flag.
    pub(super) fn all(&self, flag: &str) -> Vec<String> {
        self.matches.try_get_many::<String>(flag).ok().flatten().into_iter().flatten().cloned().collect()
    }

    /// Returns true if a switch was typed.
    pub(super) fn is_set(&self, flag: &str) -> bool {
        self.matches.try_get_one::<bool>(flag).ok().flatten().is_some_and(|is_set| *is_set)
    }
}

/// Declares the subcommands of a command that are forms.
macro_rules! forms {
    ($name:ident of $forms:ident) => {
        #[derive(Debug, Clone)]
        struct $name {
            form: &'static CommandForm,
            typed: $crate::command::form::TypedForm,
        }

        impl $name {
            fn run(&self, context: &Context) -> Result<Outcome, Failure> {
                (self.form.run)(&self.typed, context)
            }
        }

        impl clap::FromArgMatches for $name {
            fn from_arg_matches(matches: &clap::ArgMatches) -> Result<$name, clap::Error> {
                let (form, typed) = $crate::command::form::chosen(&$forms, matches)?;
                Ok($name { form, typed })
            }

            fn update_from_arg_matches(&mut self, matches: &clap::ArgMatches) -> Result<(), clap::Error> {
                *self = $name::from_arg_matches(matches)?;
                Ok(())
            }
        }

        impl clap::Subcommand for $name {
            fn augment_subcommands(parent: clap::Command) -> clap::Command {
                parent.subcommands($forms.iter().map(|form| form.command())).subcommand_required(true)
            }

            fn augment_subcommands_for_update(parent: clap::Command) -> clap::Command {
                $name::augment_subcommands(parent)
            }

            fn has_subcommand(name: &str) -> bool {
                $forms.iter().any(|form| form.name == name)
            }
        }
    };
}
pub(super) use forms;

/// The chosen form and its parsed command line.
pub(super) type Chosen = (&'static CommandForm, TypedForm);

/// The form chosen among several.
pub(super) fn chosen(forms: &[&'static CommandForm], matches: &ArgMatches) -> Result<Chosen, Error> {
    let missing = || Error::raw(ErrorKind::MissingSubcommand, "name the change to make\n");
    let (name, matches) = matches.subcommand().ok_or_else(missing)?;
    let form = forms.iter().find(|form| form.name == name).ok_or_else(missing)?;
    let code = matches.get_one::<String>("code-of").cloned().unwrap_or_default();
    Ok((form, TypedForm { matches: matches.clone(), code, writing: Writing::from_arg_matches(matches)? }))
}

impl CommandForm {
    /// The command line of the form.
    pub(super) fn command(&self) -> Command {
        let (value, help) = self.whose;
        let mut command = Command::new(self.name).about(self.about);
        if !self.more.is_empty() {
            command = command.long_about(format!("{}\n\n{}", self.about, self.more));
        }
        command = command.arg(Arg::new("code-of").value_name(value).required(true).help(help));
        let fields = (self.fields)();
        for key in self.keys {
            command = command.args(self.field(&fields, key).map(|field| argument(field, key)));
        }
        (self.own)(Writing::augment_args(command))
    }

    fn field<'f>(&self, fields: &'f [Field], key: &KeyFlag) -> Option<&'f Field> {
        let table = key.table.unwrap_or(self.table);
        let inner = fields.iter().find(|field| field.name == table).map(|field| &field.shape);
        let inner = match inner {
            Some(Shape::Table(inner) | Shape::Rows(inner)) => inner.as_slice(),
            _ => fields,
        };
        inner.iter().find(|field| field.name == key.key)
    }

    /// Fills in the row from the flags, and at a terminal from answers, where `<` goes back one question.
    ///
    /// # Errors
    /// Without a terminal, everything that is missing or wrong, at once; at a terminal, the end of input.
    pub(super) fn row(
        &self,
        typed: &TypedForm,
        context: &Context,
        clock: Clock,
        is_by: &dyn Fn(Need, &str) -> Result<(), String>,
    ) -> Result<Values, Failure> {
        let fields = (self.fields)();
        let filling = Filling { form: self, fields: &fields, typed, context, clock, is_by };
        let mut row = Values::default();
        match context.surroundings.terminal.filter(|_| !typed.writing.yes) {
            None => filling.by_flags(&mut row)?,
            Some(terminal) => {
                terminal.on_interrupt(consent::STOPPED);
                let questions = Questions { terminal, look: context.look, kept: None };
                questions.walk(&mut row, self.keys.len(), |at, row| {
                    let is_asked = filling.put(&questions, &self.keys[at], row)?;
                    terminal.so_far("form", filling.so_far(row));
                    Ok(is_asked)
                })?;
            }
        }
        Ok(row)
    }
}

fn argument(field: &Field, key: &KeyFlag) -> Arg {
    let (long, need) = (key.flag(), key.need);
    let about = sentence(field.about, &field.shape);
    let help = match need {
        Need::Today => format!("{about}; default: today"),
        Need::Writer => "Writer of this entry, by code; default: EXITSITE_BY".to_owned(),
        Need::Clinician => "Clinician who gave it, by code".to_owned(),
        _ => about,
    };
    let arg = Arg::new(long.clone()).long(long).help(help);
    match need {
        Need::Switch | Need::AskedSwitch => arg.action(ArgAction::SetTrue),
        _ => arg.value_name(value_name(&field.shape)),
    }
}

/// A row being filled in.
struct Filling<'a> {
    form: &'a CommandForm,
    fields: &'a [Field],
    typed: &'a TypedForm,
    context: &'a Context<'a>,
    clock: Clock<'a>,
    /// Rejects a code that may not write or order.
    is_by: &'a dyn Fn(Need, &str) -> Result<(), String>,
}

impl Filling<'_> {
    /// The text of a flag, or its default if none was typed.
    fn given(&self, key: &KeyFlag) -> Option<String> {
        let typed = self.typed.get(&key.flag()).filter(|text| !Self::is_needed(key) || !text.trim().is_empty());
        let typed = typed.map(str::to_owned);
        match key.need {
            Need::Today => typed.or_else(|| Some(self.clock.calendar.today(self.clock.now).to_string())),
            Need::Writer => typed.or_else(|| self.context.surroundings.writer.clone()),
            _ => typed,
        }
    }

    /// The flags that stand for the answers so far.
    fn so_far(&self, row: &Values) -> Vec<(String, Option<String>)> {
        let is_open = |key: &&KeyFlag| self.typed.get(&key.flag()).is_none() && !self.typed.is_set(&key.flag());
        let flag = |key: &KeyFlag| match row.get(key.key)? {
            Value::Flag(true) if matches!(key.need, Need::Switch | Need::AskedSwitch | Need::Yes) => Some(None),
            value => Some(Some(plain(value))),
        };
        let open = self.form.keys.iter().filter(is_open);
        open.filter_map(|key| Some((format!("--{}", key.flag()), flag(key)?))).collect()
    }

    fn read(&self, key: &KeyFlag, text: &str) -> Result<Value, String> {
        if text.trim().is_empty() {
            return Err("the value is empty".to_owned());
        }
        if Self::is_needed(key) && key.need != Need::Needed {
            (self.is_by)(key.need, text.trim())?;
        }
        let value = typed_as(self.fields, key.table.unwrap_or(self.form.table), key.key, text, self.clock)?;
        match (self.form.field(self.fields, key).map(|field| &field.shape), &value) {
            (Some(Shape::Whole(least, most)), Value::Number(number))
                if !(*least as f64..=*most as f64).contains(number) =>
            {
                Err(format!("It cannot be {}. Write {least} to {most}.", plain(&value)))
            }
            _ => Ok(value),
        }
    }

    /// Reads a text at a terminal: a US-style date is read back in full, and confirmed if it is ambiguous.
    fn meant(&self, questions: &Questions, key: &KeyFlag, text: &str) -> Result<Value, String> {
        let value = self.read(key, text)?;
        consent::date_meant(Some(questions.terminal), text, &value).map(|()| value)
    }

    fn about(&self, key: &KeyFlag) -> String {
        match (key.need, self.form.field(self.fields, key)) {
            (Need::Writer, _) => "writer of this entry, by code".to_owned(),
            (Need::Clinician, _) => "clinician who gave the order, by code".to_owned(),
            (_, field) => field.map(|field| field.about.to_owned()).unwrap_or_default(),
        }
    }

    fn is_needed(key: &KeyFlag) -> bool {
        matches!(
            key.need,
            Need::Needed | Need::Writer | Need::Clinician | Need::NewCode | Need::NewExit | Need::OpenExit
        )
    }

    /// Reads the flags of a script, and reports everything that is missing or wrong.
    fn by_flags(&self, row: &mut Values) -> Result<(), Failure> {
        let mut wrong = Vec::new();
        for key in self.form.keys {
            if self.switch(key, row) {
                continue;
            }
            match self.given(key) {
                Some(text) => match self.read(key, &text) {
                    Ok(value) => row.set(key.key, value),
                    Err(sentence) => wrong.push(format!("--{}: {sentence}", key.flag())),
                },
                None if Self::is_needed(key) => {
                    wrong.push(format!("Required: --{}, {}.", key.flag(), self.about(key)));
                }
                None => {}
            }
        }
        consent::to_be_put_right(&wrong)
    }

    /// Sets a switch; returns false if the key is not one.
    fn switch(&self, key: &KeyFlag, row: &mut Values) -> bool {
        let is_switch = matches!(key.need, Need::Switch | Need::AskedSwitch | Need::Yes);
        if key.need == Need::Yes || is_switch && self.typed.is_set(&key.flag()) {
            row.set(key.key, Value::Flag(true));
        }
        is_switch
    }

    /// Takes a flag as typed, else asks for it; returns false if no question was needed.
    fn put(&self, questions: &Questions, key: &KeyFlag, row: &mut Values) -> Result<bool, Leave> {
        if self.switch(key, row) {
            let is_asked = key.need == Need::AskedSwitch && row.get(key.key).is_none();
            if is_asked && questions.confirms(key.question)? {
                row.set(key.key, Value::Flag(true));
            }
            return Ok(is_asked);
        }
        match self.given(key).map(|text| self.meant(questions, key, &text)) {
            Some(Ok(value)) => {
                row.set(key.key, value);
                return Ok(false);
            }
            Some(Err(sentence)) => questions.say(&sentence),
            None if Self::is_needed(key) || matches!(key.need, Need::Asked(_)) => {}
            None => return Ok(false),
        }
        let enter = match key.need {
            Need::Asked(open) => Enter::Leaves(open),
            _ => Enter::Asks,
        };
        let read = |text: &str| self.meant(questions, key, text);
        let value = match self.form.field(self.fields, key).map(|field| &field.shape) {
            Some(Shape::Words(words)) => {
                questions.choose_as(key.question, &Choice::words(words), enter, |at| read(words[at]))?
            }
            _ => questions.ask(key.question, enter, read)?,
        };
        if let Some(value) = value {
            row.set(key.key, value);
        }
        Ok(true)
    }
}
