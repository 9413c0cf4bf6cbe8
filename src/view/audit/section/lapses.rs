//! Lapses before infection.

use super::Section;
use crate::report::audit::{Lapse, LapseRatio, Lapses};
use crate::surveillance::matched::MatchedRatio;
use crate::text::{count, thousands};
use crate::view::table::Cell;

pub(super) fn lapses(lapses: &Lapses) -> Option<Section> {
    let section = Section::new("Lapses before infection");
    if lapses.infections == 0 {
        return (lapses.left_out > 0).then(|| {
            section.say(format!(
                "{} without days on file before onset, so no lapse can be compared.",
                count(lapses.left_out as i64, "infection")
            ))
        });
    }
    let section = section
        .say(format!(
            "The 30 days before each onset compared with the same patient's preceding year, for {}; excluded, without such days on file: {}. An association, not a cause; five lapses are tested, so one may stand out by chance. An infection that is not noticed yet can itself wet or loosen a dressing.",
            count(lapses.infections as i64, "infection"),
            lapses.left_out
        ))
        .say("Lapses per day, for the anchor per look; days without a report and days on an antibiotic are excluded. Rate ratio: exact, conditional on each infection's total (self-matched). Odds ratio: exact, case-crossover of 30-day windows with or without the lapse.")
        .show(
            &["lapse", "before", "other days", "rate ratio", "95 %"],
            lapses.by_lapse.iter().map(rates),
        )
        .show(
            &["lapse", "before", "control windows", "odds ratio", "95 %"],
            lapses.by_lapse.iter().map(odds),
        );
    Some(section)
}

fn rates(one: &LapseRatio) -> Vec<Cell> {
    let of = |count: u64, days: u64| format!("{} in {}", thousands(count as i64), thousands(days as i64));
    let counts = [of(one.before, one.before_exposure), of(one.others, one.others_exposure)];
    row(one.lapse, counts, &one.rate_ratio)
}

fn odds(one: &LapseRatio) -> Vec<Cell> {
    let counts = [(one.exposed, one.windows), (one.others_exposed, one.others_windows)];
    row(one.lapse, counts.map(|(exposed, all)| format!("{exposed} of {all}")), &one.odds_ratio)
}

fn row(lapse: Lapse, counts: [String; 2], ratio: &MatchedRatio) -> Vec<Cell> {
    let name = match lapse {
        Lapse::Pull => "line pulled",
        Lapse::AnchorOff => "anchor not secured",
        Lapse::WetDressing => "dressing wet",
        Lapse::MissedChange => "change missed",
        Lapse::ShowerNotFollowed => "shower not followed",
    };
    let figures = [Cell::number(ratio.ratio, 2), Cell::Limits(ratio.low, ratio.high, 2)];
    [Cell::text(name)].into_iter().chain(counts.map(Cell::Figure)).chain(figures).collect()
}
