//! The average run length of a Poisson CUSUM: a Markov chain on the values that the sum can take.
//!
//! Between two returns to 0 the sum equals its start + the events so far − the months so far × the reference, so after
//! each month only a few values are below the threshold, each with an exact probability. There is no grid: what Brook D &
//! Evans DA (Biometrika 1972;59:539) approximate by a matrix on a grid is computed here value by value, and a return to 0
//! is a restart. Left out on purpose: counts that are not Poisson, and varying exposures.

use super::super::super::tail::poisson_exactly;

/// The remaining probability that no longer changes any digit.
const NEGLIGIBLE: f64 = 1e-18;

/// Returns the average number of months until S ≥ `threshold`, where S = max(0, S + X − `reference`) and X is Poisson
/// with mean `mean`.
///
/// All values are in events: S, the reference, the threshold and the `start` of S, which is 0 or more and below the
/// threshold. The month of the alarm counts. Mean, reference and threshold are more than 0 and at most some thousands. A
/// value that equals the threshold, within floating-point precision, is an alarm.
///
/// ```
/// # use exitsite::surveillance::chart::cusum::run_length::run_length;
/// // Lucas JM, Technometrics 1985;27:129: 438, and 333 with a head start of half the threshold
/// assert_eq!(run_length(0.25, 0.25, 10.0, 0.0).round(), 438.0);
/// assert_eq!(run_length(0.25, 0.25, 10.0, 5.0).round(), 333.0);
/// ```
pub fn run_length(mean: f64, reference: f64, threshold: f64, start: f64) -> f64 {
    let chart = CusumState { chances: Chances::of(mean), reference, threshold };
    let (first, again) = (chart.excursion(start), chart.excursion(0.0));
    // Each return to 0 is a restart, which ends in an alarm with the same probability.
    first.months + first.falls * again.months / again.rises
}

/// Returns the average number of months until S ≥ `threshold`, for the lower-sided sum S = max(0, S + `reference` − X),
/// starting from 0.
///
/// It is the mirror image of the upper-sided sum: it leaves 0 where the other reaches its threshold.
///
/// ```
/// # use exitsite::surveillance::chart::cusum::run_length::lower_run_length;
/// // a month without an event is the alarm: geometric, 1 ÷ e^-1
/// assert_eq!(format!("{:.6}", lower_run_length(1.0, 0.8, 0.8)), format!("{:.6}", 1f64.exp()));
/// ```
pub fn lower_run_length(mean: f64, reference: f64, threshold: f64) -> f64 {
    let chart = CusumState { chances: Chances::of(mean), reference, threshold };
    let one = chart.excursion(threshold);
    one.months / one.falls
}

/// The sum from a start until it returns to 0 or reaches the threshold.
#[derive(Default)]
struct Excursion {
    /// Average duration in months.
    months: f64,
    /// Probability of returning to 0.
    falls: f64,
    /// Probability of reaching the threshold.
    rises: f64,
}

/// The state of a CUSUM.
struct CusumState {
    chances: Chances,
    reference: f64,
    threshold: f64,
}

impl CusumState {
    fn excursion(&self, start: f64) -> Excursion {
        let mut excursion = Excursion::default();
        // The probabilities of the current sums, by the number of events so far; the first is that of `events`.
        let (mut events, mut under_way) = (0, vec![1.0]);
        for month in 1.. {
            let chance: f64 = under_way.iter().sum();
            if chance < NEGLIGIBLE {
                break;
            }
            excursion.months += chance;
            let fall = f64::from(month) * self.reference - start;
            let above_0 = ((fall.floor() + 1.0).max(0.0) as usize).max(events);
            let alarm = ((fall + self.threshold).ceil().max(0.0) as usize).max(above_0);
            let mut next = vec![0.0; alarm - above_0];
            for (more, chance) in under_way.iter().enumerate() {
                let so_far = events + more;
                excursion.falls += chance * self.chances.below(above_0.saturating_sub(so_far));
                excursion.rises += chance * self.chances.from(alarm.saturating_sub(so_far));
                for (at, sum) in next.iter_mut().enumerate() {
                    if let Some(new) = (above_0 + at).checked_sub(so_far) {
                        *sum += chance * self.chances.exactly(new);
                    }
                }
            }
            (events, under_way) = (above_0, next);
        }
        excursion
    }
}

/// The probability of each count of a month, of that count or more, and of fewer.
struct Chances {
    exactly: Vec<f64>,
    from: Vec<f64>,
    below: Vec<f64>,
}

impl Chances {
    fn of(mean: f64) -> Chances {
        // Beyond this a count changes no digit.
        let most = (mean + 30.0 * mean.sqrt() + 60.0) as u64;
        let exactly: Vec<f64> = (0..=most).map(|count| poisson_exactly(count, mean)).collect();
        let add = |sum: &mut f64, chance: &f64| {
            *sum += chance;
            Some(*sum)
        };
        // Small terms first.
        let mut from: Vec<f64> = exactly.iter().rev().scan(0.0, add).collect();
        from.reverse();
        let below = std::iter::once(0.0).chain(exactly.iter().scan(0.0, add)).collect();
        Chances { exactly, from, below }
    }

    fn exactly(&self, count: usize) -> f64 {
        self.exactly.get(count).copied().unwrap_or(0.0)
    }

    fn from(&self, count: usize) -> f64 {
        self.from.get(count).copied().unwrap_or(0.0)
    }

    fn below(&self, count: usize) -> f64 {
        self.below.get(count).copied().unwrap_or(1.0)
    }
}
