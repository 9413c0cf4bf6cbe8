//! The role of one of the staff.

use crate::word::words;

words! {
    /// A role in the program.
    pub enum Role {
        /// Looks after all patients.
        Coordinator = "coordinator",
        /// A nurse.
        Nurse = "nurse",
        /// A physician.
        Physician = "physician",
        /// Teaches.
        Educator = "educator",
        /// Somebody else of the staff.
        Other = "other",
    }
}
