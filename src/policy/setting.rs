//! Thresholds of signals, the case definition of the audit, and who is told by alerts.

use std::collections::BTreeMap;

use crate::event::{Signal, person};
use crate::policy::{Plan, Policy, Role, Threshold};
use crate::problem::Rule;
use crate::record::{Limits, Table};
use crate::word::Word;

/// What raises a signal.
#[derive(Debug, Clone, PartialEq)]
pub struct Signals {
    /// The settings of each signal that has any.
    pub by_name: BTreeMap<&'static str, SignalSetting>,
    /// The value of each threshold, in the order of [`Threshold::ALL`].
    thresholds: [f64; Threshold::ALL.len()],
    /// Staff who can answer a signal of today by taking a call about it.
    pub clinician_roles: Vec<Role>,
    /// Whether a picture counts as a staff look.
    pub image_counts: bool,
    /// How far back a signal looks, in days.
    pub look_back_days: i64,
}

/// The settings of one signal, but for its thresholds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SignalSetting {
    /// Why the program turned it off, if it did.
    pub off: Option<String>,
}

impl Signals {
    /// The value of a threshold, in the unit of its name.
    pub fn threshold(&self, threshold: Threshold) -> f64 {
        self.thresholds[threshold as usize]
    }

    /// Whether the program has turned a signal off.
    pub fn is_off(&self, signal: Signal) -> bool {
        self.by_name.get(signal.word()).is_some_and(|setting| setting.off.is_some())
    }

    pub(super) fn read(table: &mut Table, default: Option<&Signals>) -> Option<Signals> {
        let read = table.table("signals", "thresholds of signals, by their names", |table| {
            let image_counts = table.flag("image_counts", "whether a picture counts as a staff look");
            let look_back_days = table.whole("look_back_days", (1, 3650), "how far back a signal looks, in days");
            let clinician_roles = table.words("clinician_roles", "the roles of the clinicians: a call to one answers");
            let mut thresholds = [None; Threshold::ALL.len()];
            for threshold in Threshold::ALL {
                thresholds[*threshold as usize] = default.map(|signals| signals.threshold(*threshold));
            }
            let mut by_name = default.map(|signals| signals.by_name.clone()).unwrap_or_default();
            for name in Signal::WORDS {
                let setting = table.table(name, "its thresholds, or off with the reason", |table| {
                    SignalSetting::read(table, name, &mut thresholds)
                });
                by_name.extend(setting.map(|setting| (*name, setting)));
            }
            let mut values = [0.0; Threshold::ALL.len()];
            for (value, read) in values.iter_mut().zip(thresholds) {
                *value = read?;
            }
            Some(Signals {
                by_name,
                thresholds: values,
                clinician_roles: clinician_roles.or(default.map(|signals| signals.clinician_roles.clone()))?,
                image_counts: image_counts.or(default.map(|signals| signals.image_counts))?,
                look_back_days: look_back_days.or(default.map(|signals| signals.look_back_days))?,
            })
        });
        read.unwrap_or(default.cloned())
    }

    /// Signals have to look back further than a look by staff or a log may take: else one that is late is never seen to be.
    pub(super) fn compare_with(&self, plan: Option<&Plan>, table: &mut Table) {
        let looks = plan.into_iter().flat_map(|plan| &plan.phases).map(|phase| phase.look_days);
        let longest = looks.chain(plan.map(|plan| plan.log_days)).max().unwrap_or_default();
        if self.look_back_days <= longest {
            let span = table.span_inside("signals", "look_back_days");
            table.add_at(
                Rule::ImpossibleNumber,
                &span,
                format!("signals look back {} days, and a look or a log may take {longest}", self.look_back_days),
                format!("write look_back_days below [signals] as a number over {longest}"),
            );
        }
    }
}

impl SignalSetting {
    fn read(table: &mut Table, signal: &str, thresholds: &mut [Option<f64>]) -> SignalSetting {
        let off = table.text("off", "the reason why this program does not raise it");
        if off.as_ref().is_some_and(|why| why.trim().is_empty()) {
            let help = "write why this program does not raise the signal, or leave the line out";
            table.add(Rule::CheckSetting, "off", "`off` gives no reason", help);
        }
        for threshold in Threshold::ALL.iter().filter(|threshold| threshold.signal().word() == signal) {
            let possible = threshold.possible();
            let limits = Limits { possible, likely: possible, unit: "" };
            let value = table.measure(threshold.name(), limits, "a threshold, in the unit of its name");
            thresholds[*threshold as usize] = value.or(thresholds[*threshold as usize]);
        }
        SignalSetting { off }
    }
}

/// How infections are counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Audit {
    /// Whose definition of an infection the program uses, with its year.
    pub case_definition: String,
    /// The months that the alarm is compared with, first and last.
    pub baseline: Option<(String, String)>,
    /// The months whose alarm somebody has dealt with: the alarm begins anew after them.
    pub acknowledged: Vec<String>,
}

impl Audit {
    pub(super) fn read(table: &mut Table, default: Option<&Audit>) -> Option<Audit> {
        let read = table.table("audit", "how infections are counted", |table| {
            let case_definition =
                table.text("case_definition", "whose definition of an infection the program uses, with its year");
            let baseline = table.table("baseline", "the months that the alarm is compared with", |table| {
                let from = month(table, "from", "the first month, as 2025-01");
                let through = month(table, "through", "the last month, as 2025-12");
                let (from, through) = (from?, through?);
                if through < from {
                    table.add(
                        Rule::EndsBeforeItBegins,
                        "through",
                        "the baseline ends before it begins",
                        "correct the one that is wrong",
                    );
                }
                Some((from, through))
            });
            let acknowledged = table.rows("acknowledged", "an alarm that somebody has dealt with", |table| {
                let month = month(table, "month", "the month of the alarm, as 2026-05");
                table.needed();
                person(table, "by", &[], "who dealt with it");
                table.needed().text("why", "what was found and done");
                month
            });
            Some(Audit {
                acknowledged: acknowledged.unwrap_or_default(),
                case_definition: case_definition.or(default.map(|audit| audit.case_definition.clone()))?,
                baseline: baseline.flatten().or(default.and_then(|audit| audit.baseline.clone())),
            })
        });
        read.unwrap_or(default.cloned())
    }
}

fn month(table: &mut Table, name: &'static str, about: &'static str) -> Option<String> {
    let month = table.needed().text(name, about)?;
    if format!("{month}-01").parse::<chrono::NaiveDate>().is_err() || month.len() != 7 {
        table.add(
            Rule::WrongType,
            name,
            format!("`{name}` is no month"),
            "write year and month in quotes, as \"2025-01\"",
        );
        return None;
    }
    Some(month)
}

/// Who is told, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alerts {
    /// Addresses of coordinators.
    pub coordinator: Vec<String>,
    /// Addresses of physicians.
    pub physician: Vec<String>,
    /// Hours overdue after which the coordinator is told.
    pub coordinator_after_hours: i64,
    /// Hours overdue after which the physician is told, too.
    pub physician_after_hours: i64,
    /// Hours after which the same is told again.
    pub repeat_hours: i64,
    /// Hours without a single new record that are an alert of their own.
    pub quiet_hours: i64,
    /// Whether messages may say what was found.
    pub findings_in_messages: bool,
}

/// The addresses of the policy that can be read, whatever else is wrong there: somebody must hear of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Addresses {
    /// Of coordinators.
    pub coordinator: Vec<String>,
    /// Of physicians.
    pub physician: Vec<String>,
}

impl Alerts {
    /// Reads who is told; `known` gets each address that is one, also where another cannot be used.
    pub(super) fn read(table: &mut Table, default: Option<&Alerts>, known: &mut Addresses) -> Option<Alerts> {
        let read = table.table("alerts", "who is told after how many hours", |table| {
            let coordinator = addresses(table, "coordinator", "addresses of coordinators");
            let physician = addresses(table, "physician", "addresses of physicians");
            let good =
                |all: &Option<Vec<String>>| all.iter().flatten().filter(|text| is_address(text)).cloned().collect();
            *known = Addresses { coordinator: good(&coordinator), physician: good(&physician) };
            let hours = (0, 3650);
            let coordinator_after =
                table.whole("coordinator_after_hours", hours, "hours overdue after which the coordinator is told");
            let physician_after =
                table.whole("physician_after_hours", hours, "hours overdue after which the physician is told, too");
            let repeat = table.whole("repeat_hours", hours, "hours after which the same is told again");
            let quiet = table.whole("quiet_hours", hours, "hours without a new record that are an alert of their own");
            let findings = table.flag("findings_in_messages", "whether messages may say what was found");
            Some(Alerts {
                coordinator: coordinator.or(default.map(|alerts| alerts.coordinator.clone()))?,
                physician: physician.or(default.map(|alerts| alerts.physician.clone()))?,
                coordinator_after_hours: coordinator_after.or(default.map(|alerts| alerts.coordinator_after_hours))?,
                physician_after_hours: physician_after.or(default.map(|alerts| alerts.physician_after_hours))?,
                repeat_hours: repeat.or(default.map(|alerts| alerts.repeat_hours))?,
                quiet_hours: quiet.or(default.map(|alerts| alerts.quiet_hours))?,
                findings_in_messages: findings.or(default.map(|alerts| alerts.findings_in_messages))?,
            })
        });
        read.unwrap_or(default.cloned())
    }
}

impl Policy {
    /// Who is told and when. Where that part has an error, the addresses that can be read and the default hours: an alert that
    /// comes at the usual hour is better than none.
    pub fn alerts_or_default(&self) -> Option<Alerts> {
        let Addresses { coordinator, physician } = self.addresses.clone();
        let default =
            || super::DEFAULTS.as_ref()?.alerts.clone().map(|alerts| Alerts { coordinator, physician, ..alerts });
        self.alerts.clone().or_else(default)
    }
}

fn addresses(table: &mut Table, name: &'static str, about: &'static str) -> Option<Vec<String>> {
    let addresses = table.addresses(name, about)?;
    if let Some(other) = addresses.iter().find(|text| !is_address(text)) {
        table.add(
            Rule::Address,
            name,
            format!("\"{}\" is no address", crate::text::visible(other)),
            "write addresses as somebody@example.org, each in quotes of its own",
        );
    }
    Some(addresses)
}

fn is_address(text: &str) -> bool {
    let parts = text.split_once('@');
    parts.is_some_and(|(user, host)| !user.is_empty() && host.contains(|c: char| c.is_ascii_alphanumeric()))
        && !text.contains(|c: char| c.is_whitespace() || c.is_control() || matches!(c, ',' | ';' | '<' | '>'))
        && text.matches('@').count() == 1
}

/// Reads whom to call; an empty sentence is none.
pub(super) fn read_call(table: &mut Table) -> Option<String> {
    let call = table.text("call", "whom to call about a signal of today, as a sentence");
    if call.as_ref().is_some_and(|call| call.trim().is_empty()) {
        let help = "write a sentence such as \"Call 5-1234 now.\", or leave the line out";
        table.add(Rule::CheckSetting, "call", "`call` is empty", help);
    }
    call
}
