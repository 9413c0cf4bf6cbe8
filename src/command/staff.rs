//! `exitsite staff`: changes to the staff list.

use std::sync::Arc;

use chrono::NaiveDate;

use super::consent::{self, ConsentAnswer, LastQuestion};
use super::correction::{Writing, lines};
use super::form::{CommandForm, KeyFlag, Need, TypedForm, forms};
use super::{Context, Outcome};
use crate::day::Calendar;
use crate::entry::{Clock, Verdict};
use crate::people::{FILE, People, Person};
use crate::place::RecordText;
use crate::problem::{Failure, Level, Problem, Rule};
use crate::program::Program;
use crate::record::{Edit, Value};
use crate::text::visible;
use crate::view::words::question::course;

/// Add a staff member, or record a last day
///
/// Each command edits people.toml and keeps its comments and layout.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    sub: Sub,
}

const FORMS: [&CommandForm; 2] = [&ADD, &RETIRE];

forms!(Sub of FORMS);

/// Adds a staff member.
const ADD: CommandForm = CommandForm {
    name: "add",
    about: "Add a staff member, by code",
    more: "",
    whose: ("CODE", "The code, never a name: 2 to 24 letters, digits and hyphens, such as rn-12"),
    fields: People::fields,
    table: "person",
    keys: &[
        KeyFlag::new("role", Need::Needed, course::ROLE),
        KeyFlag::new("may_sign", Need::AskedSwitch, course::MAY_SIGN),
        KeyFlag::new("from", Need::Asked("not recorded"), course::STAFF_FROM),
    ],
    own: |command| {
        let from = "First day with the program; default: not recorded, so the code is valid on any day";
        command.mut_arg("from", |arg| arg.help(from))
    },
    run: |typed, context| Roster::open(context, |roster| roster.add(typed, typed.code.trim())),
};

/// Records the last day of a staff member.
const RETIRE: CommandForm = CommandForm {
    name: "retire",
    about: "Record the last day of a staff member; sign-offs by the code stay valid",
    whose: ("CODE", "The code"),
    keys: &[KeyFlag::new("until", Need::Needed, course::STAFF_UNTIL)],
    own: |command| command,
    run: |typed, context| Roster::open(context, |roster| roster.retire(typed, typed.code.trim())),
    ..ADD
};

/// people.toml, opened for a change.
struct Roster<'a> {
    context: &'a Context<'a>,
    program: &'a Program,
    people: &'a People,
    calendar: Calendar,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    args.sub.run(context)
}

impl Roster<'_> {
    /// Opens people.toml for one of the commands.
    fn open(context: &Context, run: impl FnOnce(&Roster) -> Result<Outcome, Failure>) -> Result<Outcome, Failure> {
        let program = context.open()?;
        let people = program.people.as_ref().ok_or_else(|| {
            Failure::new(format!("{FILE} cannot be read. Correct it first: `exitsite check` shows where"))
        })?;
        run(&Roster { context, program: &program, people, calendar: program.calendar() })
    }

    fn add(&self, typed: &TypedForm, code: &str) -> Result<Outcome, Failure> {
        super::patient::is_free(self.program, code).map_err(Failure::unwritten)?;
        let mut row = ADD.row(typed, self.context, self.clock(), &|_, _| Ok(()))?;
        row.set("code", Value::Text(code.to_owned()));
        let mut edit = self.edit()?;
        edit.append("person", &row)?;
        let signs = if row.get("may_sign").is_some() { ", may sign return demonstrations" } else { "" };
        let since = row.date("from").map(|from| format!(", from {from}")).unwrap_or_default();
        let words = format!("{code}: {}{signs}{since}", row.text("role").unwrap_or_default());
        let back = format!("If it is wrong: remove that [[person]] from {FILE}.\n");
        self.settle(&edit, &words, Vec::new(), &back, typed.writing)
    }

    fn retire(&self, typed: &TypedForm, code: &str) -> Result<Outcome, Failure> {
        let known = |person: &Person| person.code == code;
        let at = self.people.people.iter().position(known).ok_or_else(|| self.unknown(code))?;
        if let Some(until) = self.people.people[at].until {
            return Err(Failure::new(format!(
                "The last day of {code} is already on file: {until}. If it is wrong, correct `until` in {FILE}"
            )));
        }
        let row = RETIRE.row(typed, self.context, self.clock(), &|_, _| Ok(()))?;
        let until = row.date("until").ok_or_else(|| Failure::new("Nothing was written."))?;
        let mut edit = self.edit()?;
        edit.set_in_row("person", at, "until", &Value::Date(until))?;
        let words = format!("{code}: last day {until}");
        let back = format!("If it is wrong: remove `until` of {code} from {FILE}.\n");
        self.settle(&edit, &words, self.left_without(code, until), &back, typed.writing)
    }

    fn clock(&self) -> Clock<'_> {
        Clock { now: self.context.surroundings.now, calendar: &self.calendar }
    }

    fn edit(&self) -> Result<Edit, Failure> {
        let text = self.people.source.as_ref().map_or("", |source| source.text.as_str());
        let edit = Edit::of(text, People::fields());
        edit.ok_or_else(|| Failure::new(format!("{FILE} cannot be read; correct it first")))
    }

    fn unknown(&self, code: &str) -> Failure {
        let codes: Vec<&str> = self.people.people.iter().map(|person| person.code.as_str()).collect();
        Failure::new(format!("Unknown code {}. Staff codes: {}", visible(code), visible(&codes.join(", "))))
    }

    /// Doubts about roles that no one will have after that day, although signals or sign-offs need them.
    fn left_without(&self, code: &str, until: NaiveDate) -> Vec<String> {
        let after = crate::day::plus(until, 1);
        let stay = || self.people.people.iter().filter(|person| person.code != code && person.is_active(after));
        let Some(person) = self.people.get(code) else { return Vec::new() };
        let mut doubts = Vec::new();
        if person.may_sign && !stay().any(|other| other.may_sign) {
            doubts.push(format!("From {after} no one may sign return demonstrations."));
        }
        if !stay().any(|other| other.role == person.role) {
            doubts.push(format!("From {after} no {} is on the staff list.", person.role));
        }
        doubts
    }

    /// Shows the change, asks for confirmation, and writes; the only place that writes people.toml.
    ///
    /// # Errors
    /// The new text introduces a fault, there is no terminal to ask at, or the file changed meanwhile.
    fn settle(
        &self,
        edit: &Edit,
        words: &str,
        mut doubts: Vec<String>,
        back: &str,
        writing: Writing,
    ) -> Result<Outcome, Failure> {
        let was = self.people.source.as_ref().map(|source| source.text.as_str());
        let verdict = Verdict::of(was.map(faults).unwrap_or_default(), faults(edit.text()), |rule: Rule| {
            rule.level() == Level::Error
        });
        consent::to_be_put_right(&verdict.refused.iter().map(consent::sentence).collect::<Vec<_>>())?;
        doubts.extend(verdict.asked.iter().map(consent::sentence));
        let whom = format!("{words}\n");
        if writing.dry_run {
            let stdout = format!("{whom}{FILE} would hold:\n\n{}", edit.text());
            return Ok(Outcome { stdout, stderr: lines(&doubts), ..Outcome::default() });
        }
        self.context.say(&crate::view::sentences(&whom, self.context.look));
        let ask = || consent::ask(self.context, writing.yes, &doubts, LastQuestion::Write);
        if !consent::until_dropped(self.context, false, || Ok(ask()? == ConsentAnswer::Yes))? {
            return Ok(Outcome { stderr: "Nothing was written.\n".to_owned(), ..Outcome::default() });
        }
        match was {
            Some(was) => self.program.folder.replace(FILE, was, edit.text())?,
            None => self.program.folder.write_file("", FILE, edit.text())?,
        }
        let outcome = self.context.answer(
            &whom,
            format!("Changed {FILE}\n{}", crate::view::sentences(back, self.context.look)),
            &doubts,
        );
        Ok(self.context.committed(self.program, writing.commit(), &[FILE.to_owned()], words, outcome))
    }
}

/// The problems of a text of people.toml.
fn faults(text: &str) -> Vec<Problem> {
    let source = Arc::new(RecordText { file: FILE.to_owned(), text: text.to_owned() });
    let mut problems = Vec::new();
    People::read(&source, &mut problems);
    problems
}
