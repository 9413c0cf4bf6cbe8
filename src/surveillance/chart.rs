//! Control charts: what a figure does from month to month, between limits that chance alone seldom passes.

pub mod between;
pub mod counts;
pub mod cusum;
pub mod shares;
