//! The staff who record, observe or sign, by code: `people.toml`.
//!
//! ```toml
//! [[person]]
//! code = "rn-07"
//! role = "nurse"
//! may_sign = true
//! from = 2025-01-06
//! ```

use std::sync::Arc;

use chrono::NaiveDate;

pub use crate::policy::Role;

use crate::place::{RecordText, Span};
use crate::problem::{Problem, Rule, makes_unusable};
use crate::record::{self, Field, Table, fields};
use crate::text;

/// The file name.
pub const FILE: &str = "people.toml";

fields! {
    /// A staff member.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Person {
        /// Code, never a name.
        pub code: String = needed person(&[]),
        /// Role in the program.
        pub role: Role,
        /// True if they may observe and sign a return demonstration.
        pub may_sign: bool = default,
        /// First day with the program.
        pub from: Option<NaiveDate>,
        /// Last day with the program.
        pub until: Option<NaiveDate>,
        /// The span of the code in the file.
        pub span: Span = place("code"),
    }
    then check
}

/// The staff of a program.
#[derive(Debug, Clone, Default)]
pub struct People {
    /// The file; `None` if there is no people.toml.
    pub source: Option<Arc<RecordText>>,
    /// The staff members.
    pub people: Vec<Person>,
}

impl People {
    /// Reads people.toml. Returns `None` if it is unreadable; `problems` receives the reasons.
    pub fn read(source: &Arc<RecordText>, problems: &mut Vec<Problem>) -> Option<People> {
        let known = problems.len();
        let people = record::read(source, problems, |table| Some(Self::read_table(table)));
        people
            .filter(|_| !makes_unusable(&problems[known..]))
            .map(|people| People { source: Some(source.clone()), people })
    }

    /// The keys of people.toml.
    pub fn fields() -> Vec<Field> {
        record::describe(Self::read_table)
    }

    fn read_table(table: &mut Table) -> Vec<Person> {
        let mut codes: Vec<String> = Vec::new();
        let people = table.rows("person", "staff member", |table| {
            let person = Person::read(table)?;
            if codes.contains(&person.code) {
                table.add(
                    Rule::CodeTwice,
                    "code",
                    format!("the code {} is used twice", text::visible(&person.code)),
                    "give each person a unique code",
                );
            }
            codes.push(person.code.clone());
            Some(person)
        });
        people.unwrap_or_default()
    }

    /// The person with a code.
    pub fn get(&self, code: &str) -> Option<&Person> {
        self.people.iter().find(|person| person.code == code)
    }

    /// Returns true if the code belongs to a staff member who is with the program on `day`.
    pub(crate) fn is_staff(&self, code: &str, day: NaiveDate) -> bool {
        self.get(code).is_some_and(|person| person.is_active(day))
    }
}

impl Person {
    fn check(&self, table: &mut Table) {
        if let (Some(from), Some(until)) = (self.from, self.until)
            && until < from
        {
            table.add(
                Rule::EndsBeforeItBegins,
                "until",
                format!("`until` is {until}, before `from`, {from}"),
                "correct the wrong date",
            );
        }
    }

    /// Returns true if the person is with the program on `day`.
    pub(crate) fn is_active(&self, day: NaiveDate) -> bool {
        self.from.is_none_or(|from| from <= day) && self.until.is_none_or(|until| day <= until)
    }
}
