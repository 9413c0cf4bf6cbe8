//! Statistics of an audit as pure functions: counts and exposures go in, figures with their limits come out.
//!
//! Every file cites the source of its method. Left out on purpose: records, patients and dates. A figure that cannot be
//! told is `None`, never zero and never not-a-number.

pub mod chart;
pub mod concentration;
pub mod delay;
pub mod follow_up;
pub mod funnel;
pub mod gamma_poisson;
pub mod incidence;
pub mod kaplan_meier;
pub mod log_rank;
pub mod matched;
pub mod mean_count;
pub mod rate;
pub mod ratio;
pub mod share;
pub mod spread;
pub mod standardized;
pub mod tail;
