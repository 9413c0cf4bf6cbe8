//! Laws of the score, over every site.

use std::collections::BTreeSet;

use exitsite::event::{Drainage, Pain, Site, Swelling};
use exitsite::policy::Rubric;
use exitsite::score::Score;
use proptest::prelude::*;

use crate::stories::cases;

/// Every site that the built-in rubric can tell apart, including items not looked at: for each item, 0 if it was not
/// looked at, otherwise its points plus 1.
fn every_site() -> impl Iterator<Item = [usize; 5]> {
    (0..4_usize.pow(5)).map(|n| [n % 4, n / 4 % 4, n / 16 % 4, n / 64 % 4, n / 256])
}

fn site(points: [usize; 5]) -> Site {
    let measure = |points| [None, Some(0.0), Some(3.0), Some(5.0)][points];
    Site {
        swelling: [None, Some(Swelling::None), Some(Swelling::Exit), Some(Swelling::Tunnel)][points[0]],
        crust_mm: measure(points[1]),
        redness_mm: measure(points[2]),
        pain: [None, Some(Pain::None), Some(Pain::Slight), Some(Pain::Severe)][points[3]],
        drainage: [None, Some(Drainage::None), Some(Drainage::Serous), Some(Drainage::Purulent)][points[4]],
        ..Site::default()
    }
}

/// The bands still possible: the mildest and the worst.
fn may_be(score: &Score) -> (usize, usize) {
    let place = |band: &str| ["none-noted", "watch", "review"].iter().position(|name| *name == band);
    place(&score.band).map_or((0, 2), |place| (place, place))
}

#[test]
fn a_worse_finding_never_lowers_a_score() {
    let rubric = Rubric::built_in().unwrap();
    for points in every_site() {
        let score = Score::of(&rubric, &site(points));
        for item in (0..5).filter(|item| (1..3).contains(&points[*item])) {
            let mut worse = points;
            worse[item] += 1;
            let worse = Score::of(&rubric, &site(worse));
            assert!(worse.total_min > score.total_min && worse.total_max > score.total_max, "{points:?}");
            let (before, after) = (may_be(&score), may_be(&worse));
            assert!(before.0 <= after.1, "{points:?}: {} becomes {}", score.band, worse.band);
            assert!(score.band != "review" || worse.band == "review", "{points:?}");
            assert!(score.band == "none-noted" || worse.band != "none-noted", "{points:?}");
        }
    }
}

#[test]
fn looking_at_an_item_never_widens_what_is_possible() {
    let rubric = Rubric::built_in().unwrap();
    for points in every_site() {
        let score = Score::of(&rubric, &site(points));
        assert!(score.total_min <= score.total_max);
        assert_eq!(score.total(), (!points.contains(&0)).then_some(score.total_min), "{points:?}");
        if points[4] == 0 {
            assert!(["undetermined", "review"].contains(&score.band.as_str()), "{points:?}");
        }
        let seen = (0..5).filter(|item| points[*item] == 0).flat_map(|item| (1..4).map(move |value| (item, value)));
        let mut bands = BTreeSet::new();
        for (item, value) in seen {
            let mut more = points;
            more[item] = value;
            let more = Score::of(&rubric, &site(more));
            assert!(score.total_min <= more.total_min && more.total_max <= score.total_max, "{points:?}");
            // A certain band stays.
            assert!(score.band == "undetermined" || more.band == score.band, "{points:?} {item} {value}");
            bands.insert(more.band);
        }
        // A band is undetermined only while more than one is possible.
        assert!(score.band != "undetermined" || bands.len() > 1 || bands.contains("undetermined"), "{points:?}");
    }
}

proptest! {
    #![proptest_config(cases(500))]

    #[test]
    fn more_millimeters_never_score_less(a in 0.0..300.0_f64, b in 0.0..300.0_f64) {
        let rubric = Rubric::built_in().unwrap();
        let total = |site| Score::of(&rubric, &site).total_min;
        let redness = |mm| total(Site { redness_mm: Some(mm), ..Site::default() });
        let crust = |mm| total(Site { crust_mm: Some(mm), ..Site::default() });
        prop_assert!(redness(a.min(b)) <= redness(a.max(b)));
        prop_assert!(crust(a.min(b)) <= crust(a.max(b)));
        prop_assert!((0..=2).contains(&redness(a)) && (0..=2).contains(&crust(b)));
    }
}
