//! `exitsite staff`: the staff list, changed with the same care as a record.

use std::sync::Arc;

use chrono::NaiveDate;

use super::consent::{self, Answer, Last};
use super::correction::{Writing, lines};
use super::gap::{self, Gaps};
use super::{Desk, Outcome};
use crate::day::Calendar;
use crate::entry::{Clock, Verdict, typed_as};
use crate::people::{FILE, People, Person};
use crate::place::Source;
use crate::problem::{Failure, Level, Problem, Rule};
use crate::program::Program;
use crate::record::{Edit, Value, Values};
use crate::text::visible;

/// Add a member of the staff, or record the last day of one
///
/// Each edits people.toml with its comments and layout kept.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    sub: Sub,
}

#[derive(Debug, clap::Subcommand)]
enum Sub {
    Add(Add),
    Retire(Retire),
}

/// Add a member of the staff, by code
#[derive(Debug, clap::Args)]
struct Add {
    /// The code, never a name: 2 to 24 letters, digits and hyphens, such as rn-12
    #[arg(value_name = "CODE")]
    code: String,

    /// coordinator, nurse, physician, educator, other
    #[arg(long, value_name = "ROLE")]
    role: Option<String>,

    /// May observe and sign a return demonstration
    #[arg(long)]
    may_sign: bool,

    /// The first day with the program; default: not recorded, so records of any day may be by this code
    #[arg(long, value_name = "DATE")]
    from: Option<String>,

    #[command(flatten)]
    writing: Writing,
}

/// Record the last day of a member of the staff; what the code signed stays signed
#[derive(Debug, clap::Args)]
struct Retire {
    /// The code
    #[arg(value_name = "CODE")]
    code: String,

    /// The last day with the program, included
    #[arg(long, value_name = "DATE")]
    until: Option<String>,

    #[command(flatten)]
    writing: Writing,
}

/// people.toml, opened to be changed.
struct Roster<'a> {
    desk: &'a Desk<'a>,
    program: &'a Program,
    people: &'a People,
    calendar: Calendar,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.open()?;
    let people = program.people.as_ref().ok_or_else(|| {
        Failure::new(format!("{FILE} cannot be read; correct it first, `exitsite check` shows where"))
    })?;
    let roster = Roster { desk, program: &program, people, calendar: program.calendar() };
    match &args.sub {
        Sub::Add(args) => roster.add(args),
        Sub::Retire(args) => roster.retire(args),
    }
}

impl Roster<'_> {
    fn add(&self, args: &Add) -> Result<Outcome, Failure> {
        let code = args.code.trim();
        super::patient::is_free(self.program, code)
            .map_err(|sentence| Failure::new(format!("{sentence}; nothing was written")))?;
        let mut gaps = Gaps::of(self.desk, args.writing.yes);
        let about = "role: coordinator, nurse, physician, educator or other";
        let role = gaps.needed("--role", about, args.role.as_deref(), |text| {
            typed_as(&People::fields(), "person", "role", text, self.clock())
        });
        let from = gaps.optional("--from", args.from.as_deref(), |text| self.clock().day(text));
        gaps.end()?;
        let role = role.ok_or_else(gap::incomplete)?;
        let mut row = Values::default();
        row.set("code", Value::Text(code.to_owned()));
        row.set("role", role.clone());
        if args.may_sign {
            row.set("may_sign", Value::Flag(true));
        }
        if let Some(from) = from {
            row.set("from", Value::Date(from));
        }
        let mut edit = self.edit()?;
        edit.append("person", &row)?;
        let signs = if args.may_sign { ", may sign return demonstrations" } else { "" };
        let since = from.map(|from| format!(", from {from}")).unwrap_or_default();
        let words = format!("{code}: {}{signs}{since}", crate::entry::plain(&role));
        let back = format!("If it is wrong: take that [[person]] out of {FILE} again.\n");
        self.settle(&edit, &words, Vec::new(), &back, args.writing)
    }

    fn retire(&self, args: &Retire) -> Result<Outcome, Failure> {
        let code = args.code.trim();
        let known = |person: &Person| person.code == code;
        let at = self.people.people.iter().position(known).ok_or_else(|| self.unknown(code))?;
        if let Some(until) = self.people.people[at].until {
            return Err(Failure::new(format!(
                "The last day of {code} is on file already: {until}. If it is wrong, correct `until` in {FILE}"
            )));
        }
        let mut gaps = Gaps::of(self.desk, args.writing.yes);
        let until =
            gaps.needed("--until", "last day with the program", args.until.as_deref(), |text| self.clock().day(text));
        gaps.end()?;
        let until = until.ok_or_else(gap::incomplete)?;
        let mut edit = self.edit()?;
        edit.set_in_row("person", at, "until", &Value::Date(until))?;
        let words = format!("{code}: last day {until}");
        let back = format!("If it is wrong: take `until` of {code} out of {FILE} again.\n");
        self.settle(&edit, &words, self.left_without(code, until), &back, args.writing)
    }

    fn clock(&self) -> Clock<'_> {
        Clock { now: self.desk.surroundings.now, calendar: &self.calendar }
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

    /// The roles that no one holds from the day after on, where answers to signals and sign-offs need one.
    fn left_without(&self, code: &str, until: NaiveDate) -> Vec<String> {
        let after = crate::day::plus(until, 1);
        let stay = || self.people.people.iter().filter(|person| person.code != code && person.is_active(after));
        let Some(person) = self.people.get(code) else { return Vec::new() };
        let mut doubts = Vec::new();
        if person.may_sign && !stay().any(|other| other.may_sign) {
            doubts.push(format!("From {after} no one may sign return demonstrations"));
        }
        if !stay().any(|other| other.role == person.role) {
            doubts.push(format!("From {after} no {} is on the staff list", person.role));
        }
        doubts
    }

    /// Shows the change, asks, and writes: the only place where people.toml is written.
    ///
    /// # Errors
    /// The new text has a fault that the old one had not, no one can be asked, or the file changed meanwhile.
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
        self.desk.say(&whom);
        if consent::ask(self.desk, writing.yes, &doubts, Last::Write)? == Answer::No {
            return Ok(Outcome { stderr: "Nothing was written.\n".to_owned(), ..Outcome::default() });
        }
        match was {
            Some(was) => self.program.folder.replace(FILE, was, edit.text())?,
            None => self.program.folder.write_file("", FILE, edit.text())?,
        }
        let outcome = self.desk.answer(&whom, format!("Changed {FILE}\n{back}"), &doubts);
        Ok(self.desk.committed(self.program, writing.commit(), &[FILE.to_owned()], words, outcome))
    }
}

/// The faults of a text of people.toml.
fn faults(text: &str) -> Vec<Problem> {
    let source = Arc::new(Source { file: FILE.to_owned(), text: text.to_owned() });
    let mut problems = Vec::new();
    People::read(&source, &mut problems);
    problems
}
