//! Control charts: a figure month by month, between limits that chance alone rarely exceeds.

pub mod between;
pub mod counts;
pub mod cusum;
pub mod shares;
