//! A teaching checkoff.

use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::word::words;

words! {
    /// Mode of the checkoff.
    pub enum Mode {
        /// Watched a demonstration.
        Shown = "shown",
        /// Did it with prompting.
        Assisted = "assisted",
        /// Return demonstration: did it unaided in front of an observer.
        ReturnDemonstration = "return-demonstration",
        /// Signed off elsewhere, or before the records began; the observer vouches for it.
        Attested = "attested",
    }
}

fields! {
    /// A teaching checkoff.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Teaching {
        /// Learner.
        pub learner: String = needed person(&["patient"]),
        /// Observer.
        pub observer: String = needed person(&[]),
        /// Curriculum.
        pub curriculum: String,
        /// Version of the curriculum.
        pub version: i64 = needed whole((1, 3650)),
        /// Mode of the checkoff.
        pub mode: Mode,
        /// Steps done unaided, by id.
        pub unaided: Vec<String> = default ids(),
        /// Steps done after a prompt, by id.
        pub prompted: Vec<String> = default ids(),
        /// Steps missed, by id.
        pub missed: Vec<String> = default ids(),
    }
    then check
}

impl Teaching {
    /// Checks that each step is listed once: unaided, prompted or missed.
    fn check(&self, table: &mut Table) {
        let mut taken: Vec<&String> = Vec::new();
        for (name, steps) in [("unaided", &self.unaided), ("prompted", &self.prompted), ("missed", &self.missed)] {
            for step in steps {
                if taken.contains(&step) {
                    table.add(
                        Rule::StepTwice,
                        name,
                        format!("the step \"{}\" is listed twice", crate::text::visible(step)),
                        "a step is unaided, prompted or missed; keep it in only one list",
                    );
                }
                taken.push(step);
            }
        }
    }
}
