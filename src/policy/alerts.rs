//! Recipients of alerts, and the hours before they are told.

use super::Policy;
use crate::problem::Rule;
use crate::record::{Table, fields};

fields! {
    /// Recipients of alerts, and their hours.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Alerts {
        /// Addresses of coordinators.
        pub coordinator: Vec<String> = preset mail(),
        /// Addresses of physicians.
        pub physician: Vec<String> = preset mail(),
        /// Hours overdue after which coordinators are alerted.
        pub coordinator_after_hours: i64 = preset whole((0, 3650)),
        /// Hours overdue after which physicians are alerted.
        pub physician_after_hours: i64 = preset whole((0, 3650)),
        /// Hours after which an alert is repeated.
        pub repeat_hours: i64 = preset whole((0, 3650)),
        /// Hours without a new record that are an alert of their own.
        pub quiet_hours: i64 = preset whole((0, 3650)),
        /// Messages may name the finding.
        pub findings_in_messages: bool = preset,
    }
}

/// The addresses of the policy that can be read, whatever else is wrong there: somebody must hear of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Addresses {
    /// Addresses of coordinators.
    pub coordinator: Vec<String>,
    /// Addresses of physicians.
    pub physician: Vec<String>,
}

impl Addresses {
    /// Reads each address that is one, also where another cannot be used.
    pub(super) fn read(table: &mut Table) -> Addresses {
        if table.is_description() {
            return Addresses::default();
        }
        let read = |table: &mut Table, name| -> Vec<String> {
            let all = table.quietly(|table| table.addresses(name, "")).into_iter().flatten();
            all.filter(|text| is_address(text)).collect()
        };
        Addresses { coordinator: read(table, "coordinator"), physician: read(table, "physician") }
    }
}

impl Policy {
    /// The recipients and the hours. If that part has an error, the addresses that can be read and the default hours: an alert that
    /// comes at the usual hour is better than none.
    pub fn alerts_or_default(&self) -> Option<Alerts> {
        let Addresses { coordinator, physician } = self.addresses.clone();
        let default = || Policy::built_in()?.alerts.map(|alerts| Alerts { coordinator, physician, ..alerts });
        self.alerts.clone().or_else(default)
    }
}

impl Table<'_> {
    /// A list of addresses, each of which can be one.
    fn mail(&mut self, name: &'static str, about: &'static str) -> Option<Vec<String>> {
        let addresses = self.addresses(name, about)?;
        if let Some(other) = addresses.iter().find(|text| !is_address(text)) {
            self.add(
                Rule::Address,
                name,
                format!("\"{}\" is not a mail address", crate::text::visible(other)),
                "write addresses as somebody@example.org, each in quotes of its own",
            );
        }
        Some(addresses)
    }
}

fn is_address(text: &str) -> bool {
    let parts = text.split_once('@');
    parts.is_some_and(|(user, host)| !user.is_empty() && host.contains(|c: char| c.is_ascii_alphanumeric()))
        && !text.contains(|c: char| c.is_whitespace() || c.is_control() || matches!(c, ',' | ';' | '<' | '>'))
        && text.matches('@').count() == 1
}
