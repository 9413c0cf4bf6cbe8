//! The owner of a set of records: a patient or a staff member.

use crate::event::EventName;

/// The owner of a set of records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Owner {
    /// A patient, by code.
    Patient(String),
    /// A staff member, by code.
    Staff(String),
}

impl Owner {
    /// The folder of the records.
    pub fn folder(&self) -> String {
        match self {
            Owner::Patient(code) => format!("patients/{code}"),
            Owner::Staff(code) => format!("staff/{code}"),
        }
    }

    /// The path of a record.
    pub fn file(&self, name: EventName) -> String {
        format!("{}/{}/{name}", self.folder(), name.year())
    }

    /// The code.
    pub fn code(&self) -> &str {
        match self {
            Owner::Patient(code) | Owner::Staff(code) => code,
        }
    }
}
