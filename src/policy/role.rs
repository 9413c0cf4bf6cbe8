//! The roles of staff.

use crate::word::words;

words! {
    /// A role in the program.
    pub enum Role {
        /// A VAD coordinator.
        Coordinator = "coordinator",
        /// A nurse.
        Nurse = "nurse",
        /// A physician.
        Physician = "physician",
        /// An educator.
        Educator = "educator",
        /// Another member of the staff.
        Other = "other",
    }
}
