//! Statistics of an audit as pure functions: counts and exposures in, figures with their limits out.
//!
//! Every file cites the source of its method. Left out on purpose: records, patients and dates. An undefined figure is
//! `None`, never zero and never NaN.

pub mod chart;
pub mod concentration;
pub mod delay;
pub mod follow_up;
pub mod funnel;
pub mod gamma_poisson;
pub mod hazard;
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
