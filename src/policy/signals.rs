//! Settings of signals: thresholds, signals turned off, and the look-back period.

use std::collections::BTreeMap;

use crate::event::Signal;
use crate::policy::{CarePlan, Role, Threshold};
use crate::problem::Rule;
use crate::record::{Limits, Table, fields};
use crate::word::Word;

fields! {
    /// Thresholds and settings of signals.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Signals {
        /// True if a picture counts as a look by staff.
        pub image_counts: bool = preset,
        /// Days that signals look back.
        pub look_back_days: i64 = preset whole((1, 3650)),
        /// Roles of clinicians: a call to one acts on a signal.
        pub clinician_roles: Vec<Role> = preset words(),
        /// Settings of each signal that has any.
        settings: Settings = with(Settings::read),
    }
}

/// The settings of the signals.
#[derive(Debug, Clone, Default, PartialEq)]
struct Settings {
    /// The signals that the program turned off, with the reason.
    off: BTreeMap<String, String>,
    /// The value of each threshold, in the order of [`Threshold::ALL`].
    thresholds: Vec<f64>,
}

impl Settings {
    fn read(table: &mut Table) -> Option<Settings> {
        let mut off = BTreeMap::new();
        let mut thresholds: [Option<f64>; Threshold::ALL.len()] = [None; Threshold::ALL.len()];
        for name in Signal::WORDS.iter().copied() {
            table.table(name, "thresholds, or off = \"reason\"", |table| {
                off.extend(read_off(table).map(|why| (name.to_owned(), why)));
                for threshold in Threshold::ALL.iter().filter(|threshold| threshold.signal().word() == name) {
                    let possible = threshold.possible();
                    let limits = Limits { possible, likely: possible, unit: "" };
                    thresholds[*threshold as usize] =
                        table.measure(threshold.name(), limits, "threshold, in the unit given by its name");
                }
            });
        }
        Some(Settings { off, thresholds: thresholds.into_iter().collect::<Option<_>>()? })
    }
}

fn read_off(table: &mut Table) -> Option<String> {
    let off = table.text("off", "reason why this program does not raise it");
    if off.as_ref().is_some_and(|why| why.trim().is_empty()) {
        let help = "write why this program does not raise the signal, or remove the line";
        table.add(Rule::CheckSetting, "off", "`off` is empty", help);
    }
    off
}

impl Signals {
    /// The value of a threshold, in the unit given by its name.
    pub fn threshold(&self, threshold: Threshold) -> f64 {
        self.settings.thresholds[threshold as usize]
    }

    /// Returns true if the program turned the signal off.
    pub(crate) fn is_off(&self, signal: Signal) -> bool {
        self.off().contains_key(signal.word())
    }

    /// Returns the signals that the program turned off, with the reason.
    pub fn off(&self) -> &BTreeMap<String, String> {
        &self.settings.off
    }

    /// Checks that signals look back further than the longest look or log interval; otherwise an overdue one would never
    /// be found.
    pub(super) fn compare_with(&self, plan: Option<&CarePlan>, table: &mut Table) {
        let looks = plan.into_iter().flat_map(|plan| &plan.phases).map(|phase| phase.look_days);
        let longest = looks.chain(plan.map(|plan| plan.log_days)).max().unwrap_or_default();
        if self.look_back_days <= longest {
            let span = table.span_inside("signals", "look_back_days");
            table.add_at(
                Rule::ImpossibleNumber,
                &span,
                format!(
                    "signals look back {} days, but looks or logs can be {longest} days apart",
                    self.look_back_days
                ),
                format!("set look_back_days in [signals] to more than {longest}"),
            );
        }
    }
}
