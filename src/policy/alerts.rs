//! Recipients of alerts, and the hours until they are alerted.

use super::Policy;
use crate::problem::Rule;
use crate::record::{Table, fields};

fields! {
    /// Recipients of alerts, and the hours until they are alerted.
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
        /// Hours without a new record after which an alert is sent.
        pub quiet_hours: i64 = preset whole((0, 3650)),
        /// True if messages may name the finding.
        pub findings_in_messages: bool = preset,
    }
}

/// The valid addresses of the policy, even if the rest of the section is invalid: an alert must still reach a recipient.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Addresses {
    /// Addresses of coordinators.
    pub coordinator: Vec<String>,
    /// Addresses of physicians.
    pub physician: Vec<String>,
}

impl Addresses {
    /// Reads each valid address and skips the others.
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
    /// Returns the recipients and the hours. If the section is invalid, returns the valid addresses and the default
    /// hours: an alert at the usual hour is better than no alert.
    pub(crate) fn alerts_or_default(&self) -> Option<Alerts> {
        let Addresses { coordinator, physician } = self.addresses.clone();
        let default = || Policy::built_in()?.alerts.map(|alerts| Alerts { coordinator, physician, ..alerts });
        self.alerts.clone().or_else(default)
    }
}

impl Table<'_> {
    /// A list of addresses, each checked on its own.
    fn mail(&mut self, name: &'static str, about: &'static str) -> Option<Vec<String>> {
        let addresses = self.addresses(name, about)?;
        if let Some(other) = addresses.iter().find(|text| !is_address(text)) {
            self.add(
                Rule::Address,
                name,
                format!("\"{}\" is not an email address", crate::text::visible(other)),
                "write addresses such as coordinator@example.org, each in its own quotes",
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
