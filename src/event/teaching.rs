//! A teaching checkoff.

use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::word::words;

words! {
    /// How much the learner did.
    pub enum Mode {
        /// Was shown it.
        Shown = "shown",
        /// Did it with help.
        Assisted = "assisted",
        /// Did it, unaided, in front of an observer.
        ReturnDemonstration = "return-demonstration",
        /// Was signed off elsewhere or before the records began; the observer vouches.
        Attested = "attested",
    }
}

fields! {
    /// A teaching checkoff.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Teaching {
        /// Who learned.
        pub learner: String = needed person(&["patient"]),
        /// Who watched.
        pub observer: String = needed person(&[]),
        /// The name of the curriculum.
        pub curriculum: String,
        /// Its version.
        pub version: i64 = needed whole((1, 3650)),
        /// How much the learner did.
        pub mode: Mode,
        /// Ids of steps done unaided.
        pub unaided: Vec<String> = default ids(),
        /// Ids of steps done after a prompt.
        pub prompted: Vec<String> = default ids(),
        /// Ids of steps missed.
        pub missed: Vec<String> = default ids(),
    }
    then check
}

impl Teaching {
    /// Each step once: unaided, prompted or missed.
    fn check(&self, table: &mut Table) {
        let mut taken: Vec<&String> = Vec::new();
        for (name, steps) in [("unaided", &self.unaided), ("prompted", &self.prompted), ("missed", &self.missed)] {
            for step in steps {
                if taken.contains(&step) {
                    table.add(
                        Rule::StepTwice,
                        name,
                        format!("the step \"{}\" stands twice", crate::text::visible(step)),
                        "a step is unaided, prompted or missed; keep it in one list",
                    );
                }
                taken.push(step);
            }
        }
    }
}
