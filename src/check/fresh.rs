//! The parts of a program that are still unchanged from the template. They are not faults: a new program starts with
//! all of them.

use crate::policy::Policy;
use crate::program::Program;

/// A part unchanged from the template.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fresh {
    /// The name of the program.
    Name,
    /// The staff list is empty.
    NoStaff,
    /// No patient is on file.
    NoPatient,
}

/// The parts unchanged from the template, in the order in which they should be set.
pub fn fresh(program: &Program) -> Vec<Fresh> {
    let template = Policy::built_in().map(|template| template.program);
    let is_named = program.policy.as_ref().is_none_or(|policy| Some(&policy.program) != template.as_ref());
    let has_staff = program.people.as_ref().is_none_or(|people| !people.people.is_empty());
    let parts =
        [(Fresh::Name, is_named), (Fresh::NoStaff, has_staff), (Fresh::NoPatient, !program.patients.codes.is_empty())];
    parts.into_iter().filter(|(_, is_set)| !is_set).map(|(part, _)| part).collect()
}
