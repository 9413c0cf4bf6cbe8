//! The trial used by most books on survival: weeks in remission of 42 children with acute leukemia.
//!
//! Source: Freireich EJ et al., Blood 1963;21:699-716; Gehan EA, Biometrika 1965;52:203-223; the data as in Cox DR &
//! Oakes D, Analysis of Survival Data, 1984, and several R packages.

/// The 21 treated; `+` is censored.
pub(crate) const TREATED: &str = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+";

/// The 21 given a placebo.
pub(crate) const PLACEBO: &str = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23";

/// Week, proportion of the treated still in remission, its standard error. S(10) and S(23) as quoted by several books;
/// the others and the standard errors *from memory*, equal to R's survival 3.5-3.
pub(crate) const FREEDOM: [(i64, f64, f64); 7] = [
    (6, 0.8571, 0.0764),
    (7, 0.8067, 0.0869),
    (10, 0.7529, 0.0963),
    (13, 0.6902, 0.1068),
    (16, 0.6275, 0.1141),
    (22, 0.5378, 0.1282),
    (23, 0.4482, 0.1346),
];

/// The weeks of a group, each with true for a relapse.
pub(crate) fn weeks(group: &str) -> impl Iterator<Item = (i64, bool)> {
    group.split(' ').map(|week| (week.trim_end_matches('+').parse().unwrap(), !week.ends_with('+')))
}
