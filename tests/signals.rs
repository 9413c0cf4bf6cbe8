//! The signals of the rules: how each rises, what acts on it, what ends it, when it is only reported improved, and how
//! it is turned off. The days are literal; the rule is quoted next to each. Common practice, no source, where the
//! policy says so.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use exitsite::story::Story;

/// A full site record without findings.
const DRY: &str = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\n";

/// The sign-off of the son, ready for the move home.
const SIGNED_OFF: &str =
    "learner = 'p001-son'\nobserver = 'ed-1'\ncurriculum = 'dressing-change'\nversion = 1\nmode = 'attested'\n";

/// A full site record with some items replaced.
fn full(says: &str) -> String {
    let others = DRY.lines().skip(1).filter(|line| {
        let key = line.split(' ').next().unwrap();
        !says.lines().any(|said| said.starts_with(&format!("{key} ")))
    });
    format!("[site]\n{says}\n{}\n", others.collect::<Vec<_>>().join("\n"))
}

/// A quiet background: at home for a long time, a look by staff on 2026-10-20, and changes by staff every other day, so
/// that no other signal rises.
fn home() -> Story {
    let story =
        Story::implanted("2026-06-01").home_from("2026-06-30").event("2026-06-29T10:00", "teaching", SIGNED_OFF);
    let days = (0..80).map(|n| chrono::NaiveDate::from_ymd_opt(2026, 6, 2).unwrap() + chrono::Days::new(2 * n));
    let story = days.fold(story, |story, day| story.event(&format!("{day}T07:00"), "change", ""));
    // Daily through POD 21.
    let early = (0..11).map(|n| chrono::NaiveDate::from_ymd_opt(2026, 6, 3).unwrap() + chrono::Days::new(2 * n));
    let story = early.fold(story, |story, day| story.event(&format!("{day}T07:00"), "change", ""));
    let looks = [
        "2026-06-02",
        "2026-06-04",
        "2026-06-06",
        "2026-06-08",
        "2026-06-10",
        "2026-06-12",
        "2026-06-14",
        "2026-06-16",
        "2026-06-18",
        "2026-06-20",
        "2026-06-22",
        "2026-06-24",
        "2026-06-26",
        "2026-06-28",
        "2026-06-30",
        "2026-08-01",
        "2026-10-20",
    ];
    looks.iter().fold(story, |story, day| story.event(&format!("{day}T09:00"), "assessment", DRY))
}

/// Asserts the signals of a story besides those of the quiet background.
#[track_caller]
fn check(story: &Story, as_of: &str, expected: &[&str]) {
    assert_eq!(story.signals(as_of), expected);
}

fn contact(about: &str, outcome: &str) -> String {
    format!("with = 'p001-son'\nabout = ['{about}']\noutcome = '{outcome}'")
}

#[test]
fn a_calm_household_has_no_signal() {
    check(&home(), "2026-11-07T12:00", &[]);
}

#[test]
fn what_a_site_record_shows_ends_with_a_full_look_by_staff_that_does_not() {
    for (name, says) in [
        ("pus", "drainage = 'purulent'"),
        ("redness-wide", "redness_mm = 20"),
        ("swelling-tunnel", "swelling = 'tunnel'"),
    ] {
        let shown = home().event("2026-10-22T10:00", "assessment", &full(says));
        let of = |story: &Story, as_of: &str| {
            let all = story.signals(as_of);
            all.into_iter().find(|line| line.starts_with(&format!("{name} "))).unwrap_or_else(|| "none".into())
        };
        assert_eq!(of(&shown, "2026-10-22T09:59"), "none");
        assert_eq!(of(&shown, "2026-10-22T10:00"), format!("{name} 2026-10-22T10:00"));
        // Acted on is not ended.
        let answered = shown.event("2026-10-22T11:00", "contact", &contact(name, "coming-in"));
        assert_eq!(of(&answered, "2026-10-23T12:00"), format!("{name} 2026-10-22T10:00, answered 2026-10-22T11:00"));
        let unheard = shown.event("2026-10-22T11:00", "contact", &contact(name, "no-answer"));
        assert_eq!(of(&unheard, "2026-10-23T12:00"), format!("{name} 2026-10-22T10:00, called p001-son no-answer"));
        let of_others = shown.event("2026-10-22T11:00", "contact", &contact("supply", "advised"));
        assert_eq!(of(&of_others, "2026-10-23T12:00"), format!("{name} 2026-10-22T10:00"));
        let of_all = shown.event("2026-10-22T11:00", "contact", &contact("signals", "escalated"));
        assert!(of(&of_all, "2026-10-23T12:00").contains("answered"));
        // A call to the household is shown, but does not act on it, whatever the advice.
        let advised = shown.event("2026-10-22T11:00", "contact", &contact("signals", "advised"));
        assert_eq!(of(&advised, "2026-10-23T12:00"), format!("{name} 2026-10-22T10:00, called p001-son advised"));
        // A caregiver's report, a picture, an incomplete look: reported improved only.
        for not_enough in [
            format!("by = 'p001-son'\nsource = 'told'\n{DRY}"),
            format!("by = 'p001-son'\nsource = 'seen'\n{DRY}"),
            format!("source = 'image'\n{DRY}"),
            DRY.replace("pain = 'none'\n", ""),
        ] {
            let better = shown.event("2026-10-24T10:00", "assessment", &not_enough);
            let said = of(&better, "2026-10-24T12:00");
            assert!(said.ends_with(", better"), "{not_enough}: {said}");
            // Shown again, it is no longer improved.
            let again = better.event("2026-10-25T10:00", "assessment", &full(says));
            assert!(!of(&again, "2026-10-25T12:00").contains("better"));
        }
        // A record without the item leaves it unchanged.
        let silent = shown.event("2026-10-24T10:00", "assessment", "by = 'p001-son'\n[site]\npain = 'none'");
        assert_eq!(of(&silent, "2026-10-24T12:00"), format!("{name} 2026-10-22T10:00"));
        let ended = shown.event("2026-10-24T10:00", "assessment", DRY);
        assert_eq!(
            of(&ended, "2026-10-24T12:00"),
            format!("{name} 2026-10-22T10:00, answered 2026-10-24T10:00, ended 2026-10-24T10:00")
        );
        // It rises again, as a separate episode.
        let twice = ended.event("2026-10-28T10:00", "assessment", &full(says));
        assert_eq!(twice.signals("2026-10-28T12:00").iter().filter(|line| line.starts_with(name)).count(), 2);
        // The program can turn it off, with a reason.
        let off = shown.signals_by(&format!("[signals]\n{name} = {{ off = 'seen in clinic' }}"), "2026-10-23T12:00");
        assert!(off.iter().all(|line| !line.starts_with(&format!("{name} "))), "{off:?}");
    }
}

#[test]
fn a_score_for_review_without_pus() {
    let worse = full("redness_mm = 6\npain = 'slight'\ncrust_mm = 2");
    let story = home().event("2026-10-22T10:00", "change", &worse);
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("score-review")).collect::<Vec<_>>()
    };
    assert_eq!(of(&story, "2026-10-22T12:00"), ["score-review 2026-10-22T10:00"]);
    // An incomplete score ends nothing, and pus improves nothing.
    let unclear = story.event("2026-10-23T10:00", "change", "[site]\nredness_mm = 0");
    assert_eq!(of(&unclear, "2026-10-23T12:00"), ["score-review 2026-10-22T10:00, answered 2026-10-23T10:00"]);
    let pus = story.event("2026-10-23T10:00", "assessment", &full("drainage = 'purulent'"));
    assert_eq!(of(&pus, "2026-10-23T12:00"), ["score-review 2026-10-22T10:00, answered 2026-10-23T10:00"]);
    let ended = story.event("2026-10-23T10:00", "assessment", DRY);
    assert!(of(&ended, "2026-10-23T12:00")[0].ends_with("ended 2026-10-23T10:00"));
    // With pus it is the signal `pus` alone.
    let only_pus = home().event("2026-10-22T10:00", "assessment", &full("drainage = 'purulent'"));
    assert!(of(&only_pus, "2026-10-22T12:00").is_empty());
}

#[test]
fn growth_beside_a_score_of_two_rises_when_both_are_known() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("score-with-growth")).collect::<Vec<_>>()
    };
    let look = home().event("2026-10-25T10:00", "assessment", &full("pain = 'slight'\ncrust_mm = 2"));
    let grown = "specimen = 'exit-site'\n[result]\non = 2026-10-27\ngrowth = true\norganisms = ['Invented']";
    let story = look.event("2026-10-25T10:30", "culture", grown);
    assert!(of(&story, "2026-10-26T12:00").is_empty(), "the result exists from its own date");
    assert_eq!(of(&story, "2026-10-27T12:00"), ["score-with-growth 2026-10-27T03:00"]);
    // A culture 15 days earlier is too old, and one from another site does not count.
    for (day, culture) in [("2026-10-10T10:30", grown), ("2026-10-25T10:30", &grown.replace("exit-site", "blood"))] {
        assert!(of(&look.event(day, "culture", culture), "2026-10-30T12:00").is_empty(), "{day}");
    }
    assert_eq!(of(&look.event("2026-10-11T10:30", "culture", grown), "2026-10-30T12:00").len(), 1);
    let ended = story.event("2026-10-29T10:00", "assessment", DRY);
    assert!(of(&ended, "2026-10-29T12:00")[0].ends_with("ended 2026-10-29T10:00"));
}

#[test]
fn bleeding_counts_after_the_first_weeks_or_a_pull() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("bleeding")).collect::<Vec<_>>()
    };
    let bleeding = format!("{DRY}bleeding = true");
    let early = Story::implanted("2026-11-01").event("2026-11-22T10:00", "assessment", &bleeding);
    assert!(of(&early, "2026-11-22T12:00").is_empty(), "POD 21");
    let late = Story::implanted("2026-11-01").event("2026-11-23T10:00", "assessment", &bleeding);
    assert_eq!(of(&late, "2026-11-23T12:00"), ["bleeding-at-site 2026-11-23T10:00"]);
    let pulled = Story::implanted("2026-11-01").event("2026-11-10T10:00", "trauma", "site_bleeding = true");
    assert_eq!(of(&pulled, "2026-11-10T12:00"), ["bleeding-at-site 2026-11-10T10:00"]);
    // Also if nothing but the bleeding is recorded.
    let alone = Story::implanted("2026-11-01").event("2026-11-23T10:00", "assessment", "[site]\nbleeding = true");
    assert_eq!(of(&alone, "2026-11-23T12:00"), ["bleeding-at-site 2026-11-23T10:00"]);
    // Only a look that reports it absent ends it.
    let silent = late.event("2026-11-24T10:00", "assessment", DRY);
    assert_eq!(of(&silent, "2026-11-24T12:00"), ["bleeding-at-site 2026-11-23T10:00, answered 2026-11-24T10:00"]);
    let ended = late.event("2026-11-24T10:00", "assessment", &format!("{DRY}bleeding = false"));
    assert!(of(&ended, "2026-11-24T12:00")[0].ends_with("ended 2026-11-24T10:00"));
}

#[test]
fn fever_ends_with_a_lower_temperature_a_day_after_the_last() {
    let told = |degrees: &str| format!("{}\ntemperature_c = {degrees}", contact("other", "advised"));
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("fever")).collect::<Vec<_>>()
    };
    assert!(of(&home().event("2026-10-22T10:00", "contact", &told("37.9")), "2026-10-23T12:00").is_empty());
    let story = home().event("2026-10-22T10:00", "contact", &told("38.0"));
    assert_eq!(of(&story, "2026-10-22T12:00"), ["fever 2026-10-22T10:00"]);
    let early = story.event("2026-10-23T09:59", "contact", &told("36.5"));
    assert_eq!(of(&early, "2026-10-23T12:00"), ["fever 2026-10-22T10:00, better"]);
    let ended = story.event("2026-10-23T10:00", "contact", &told("37.9"));
    assert_eq!(of(&ended, "2026-10-23T12:00"), ["fever 2026-10-22T10:00, ended 2026-10-23T10:00"]);
    // In a site record, too; the day counts from the last fever.
    let again = story.event("2026-10-23T08:00", "assessment", "by = 'p001-son'\n[site]\ntemperature_c = 38.4");
    let not_yet = again.event("2026-10-23T20:00", "contact", &told("37.0"));
    assert_eq!(of(&not_yet, "2026-10-23T21:00"), ["fever 2026-10-22T10:00, better"]);
}

#[test]
fn a_pull_ends_with_a_full_look_a_week_later_that_is_no_worse() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("line-pulled")).collect::<Vec<_>>()
    };
    let story = home().event("2026-10-22T10:00", "trauma", "mechanism = 'snag'");
    assert_eq!(of(&story, "2026-10-22T10:00"), ["line-pulled 2026-10-22T10:00"]);
    let soon = story.event("2026-10-29T09:59", "assessment", DRY);
    assert_eq!(of(&soon, "2026-10-29T12:00"), ["line-pulled 2026-10-22T10:00, answered 2026-10-29T09:59, better"]);
    let late = story.event("2026-10-29T10:00", "assessment", DRY);
    assert!(of(&late, "2026-10-29T12:00")[0].ends_with("ended 2026-10-29T10:00"));
    let worse = story.event("2026-10-29T10:00", "assessment", &full("pain = 'slight'"));
    assert_eq!(of(&worse, "2026-10-29T12:00"), ["line-pulled 2026-10-22T10:00, answered 2026-10-29T10:00"]);
    // A second pull joins it, and the days count from that one.
    let twice = story.event("2026-10-26T10:00", "trauma", "").event("2026-10-30T10:00", "assessment", DRY);
    assert!(of(&twice, "2026-10-30T12:00")[0].ends_with("better"));
}

#[test]
fn an_anchor_off_is_the_latest_word_on_it() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("anchor-off")).collect::<Vec<_>>()
    };
    let off = home().event("2026-10-22T10:00", "inspection", "anchor = 'loose'");
    assert_eq!(of(&off, "2026-10-22T10:00"), ["anchor-off 2026-10-22T10:00"]);
    assert_eq!(of(&off.event("2026-10-23T10:00", "inspection", "dressing = 'intact'"), "2026-10-23T12:00").len(), 1);
    let fastened = off.event("2026-10-22T11:00", "shower", "dressing_before = 'intact'\nanchor = 'in-place'");
    assert_eq!(
        of(&fastened, "2026-10-22T12:00"),
        ["anchor-off 2026-10-22T10:00, answered 2026-10-22T11:00, ended 2026-10-22T11:00"]
    );
    // In one change `left` overrides `found`.
    let left = home().event("2026-10-22T10:00", "change", "[found]\nanchor = 'loose'\n[left]\nanchor = 'in-place'");
    assert!(of(&left, "2026-10-22T12:00").is_empty());
}

#[test]
fn water_at_the_site_ends_with_the_next_change() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("water")).collect::<Vec<_>>()
    };
    let wet = home().event("2026-10-22T10:00", "shower", "dressing_before = 'intact'\ndressing_after = 'wet'");
    assert_eq!(of(&wet, "2026-10-22T10:00"), ["water-at-site 2026-10-22T10:00"]);
    assert_eq!(of(&home().event("2026-10-22T10:00", "inspection", "dressing = 'off'"), "2026-10-22T12:00").len(), 1);
    assert!(of(&home().event("2026-10-22T10:00", "inspection", "dressing = 'lifting'"), "2026-10-22T12:00").is_empty());
    let changed = wet.event("2026-10-22T11:30", "change", "");
    assert_eq!(
        of(&changed, "2026-10-22T12:00"),
        ["water-at-site 2026-10-22T10:00, answered 2026-10-22T11:30, ended 2026-10-22T11:30"]
    );
}

#[test]
fn growth_ends_with_a_determination_or_a_physician_who_was_told() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("culture-growth")).collect::<Vec<_>>()
    };
    let grown = "specimen = 'blood'\n[result]\non = 2026-10-25\ngrowth = true\norganisms = ['Invented']";
    let story = home().event("2026-10-22T10:00", "culture", grown);
    assert!(of(&story, "2026-10-25T02:59").is_empty());
    assert_eq!(of(&story, "2026-10-25T03:00"), ["culture-growth 2026-10-25T03:00"]);
    let household = story.event("2026-10-25T09:00", "contact", &contact("culture-growth", "advised"));
    assert_eq!(of(&household, "2026-10-25T10:00"), ["culture-growth 2026-10-25T03:00, called p001-son advised"]);
    let physician = |outcome: &str| format!("with = 'md-3'\nabout = ['culture-growth']\noutcome = '{outcome}'");
    let not_reached = story.event("2026-10-25T09:00", "contact", &physician("no-answer"));
    assert_eq!(of(&not_reached, "2026-10-25T10:00"), ["culture-growth 2026-10-25T03:00"]);
    let told = story.event("2026-10-25T09:00", "contact", &physician("other"));
    assert!(of(&told, "2026-10-25T10:00")[0].ends_with("ended 2026-10-25T09:00"));
    let determined = "by = 'md-3'\npart = 'bloodstream'\ncertainty = 'proven'\nonset = 2026-10-22";
    let determined = story.event("2026-10-26T09:00", "infection", determined);
    assert!(of(&determined, "2026-10-26T10:00")[0].ends_with("ended 2026-10-26T09:00"));
}

#[test]
fn a_record_of_the_day_of_the_growth_acts_on_it_only_if_it_can_be_about_no_earlier_one() {
    let grown = "specimen = 'exit-site'\n[result]\non = 2026-10-25\ngrowth = true\norganisms = ['Invented']";
    let story = home().event("2026-10-22T10:00", "culture", grown);
    let answer = |at: &str, kind: &str, says: &str| {
        let signals = story.event(at, kind, says).signals("2026-10-26T12:00");
        let growth = signals.into_iter().find(|line| line.starts_with("culture-growth")).unwrap();
        growth.split(", ").find_map(|part| part.strip_prefix("answered ").map(str::to_owned))
    };
    let look =
        "by = 'rn-07'\n[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'";
    // A look in the morning may have come before a result with only a day; one on the next day did not.
    assert_eq!(answer("2026-10-25T07:15", "assessment", look), None);
    assert_eq!(answer("2026-10-26T07:15", "assessment", look), Some("2026-10-26T07:15".to_owned()));
    let treated = "by = 'md-3'\nwhat = 'oral-antibiotic'";
    assert_eq!(answer("2026-10-25T07:15", "treatment", treated), None);
    assert_eq!(answer("2026-10-26T07:15", "treatment", treated), Some("2026-10-26T07:15".to_owned()));
    let physician = |about: &str| format!("with = 'md-3'\nabout = ['{about}']\noutcome = 'advised'");
    assert_eq!(answer("2026-10-25T07:15", "contact", &physician("signals")), None);
    assert!(answer("2026-10-25T07:15", "contact", &physician("culture-growth")).is_some());
    let determined = "by = 'md-3'\npart = 'driveline-superficial'\ncertainty = 'proven'\nonset = 2026-10-22";
    assert_eq!(answer("2026-10-25T09:00", "infection", determined), None);
    let by_organism = format!("{determined}\norganisms = ['invented']");
    assert!(answer("2026-10-25T09:00", "infection", &by_organism).is_some());
    // Findings of the week before and growth: the morning's treatment may have come before the result.
    let findings = look.replace("redness_mm = 0", "redness_mm = 12").replace("pain = 'none'", "pain = 'severe'");
    let both = story.event("2026-10-20T08:00", "assessment", &findings);
    for (at, is_acted_on) in [("2026-10-25T07:15", false), ("2026-10-26T07:15", true)] {
        let signals = both.event(at, "treatment", treated).signals("2026-10-26T12:00");
        let line = signals.iter().find(|line| line.starts_with("score-with-growth 2026-10-25T03:00")).unwrap();
        assert_eq!(line.contains("answered"), is_acted_on, "{at}: {line}");
    }
}

#[test]
fn a_culture_without_a_result_for_more_than_five_days() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("culture-unresulted")).collect::<Vec<_>>()
    };
    let story = home().event("2026-10-22T10:00", "culture", "specimen = 'exit-site'");
    assert!(of(&story, "2026-10-28T02:59").is_empty(), "five days");
    assert_eq!(of(&story, "2026-10-28T03:00"), ["culture-unresulted 2026-10-28T03:00"]);
    let result = "specimen = 'exit-site'\n[result]\non = 2026-10-30\ngrowth = false";
    let late = home().event("2026-10-22T10:00", "culture", result);
    assert_eq!(of(&late, "2026-10-29T12:00"), ["culture-unresulted 2026-10-28T03:00"]);
    assert_eq!(
        of(&late, "2026-10-30T12:00"),
        ["culture-unresulted 2026-10-28T03:00, answered 2026-10-30T03:00, ended 2026-10-30T03:00"]
    );
}

#[test]
fn a_score_that_rises_by_two_above_the_lowest_of_a_month() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("score-rising")).collect::<Vec<_>>()
    };
    let one = home().event("2026-10-25T10:00", "assessment", &full("pain = 'slight'"));
    assert!(of(&one, "2026-10-25T12:00").is_empty());
    let two = one.event("2026-10-27T10:00", "change", "by = 'p001-son'\n[site]\npain = 'slight'\ncrust_mm = 2");
    assert_eq!(of(&two, "2026-10-27T12:00"), ["score-rising 2026-10-27T10:00"]);
    let back = two.event("2026-10-29T10:00", "change", "by = 'p001-son'\n[site]\npain = 'slight'\ncrust_mm = 0");
    assert_eq!(of(&back, "2026-10-29T12:00"), ["score-rising 2026-10-27T10:00, better"]);
    let confirmed = back.event("2026-10-30T10:00", "assessment", &full("pain = 'slight'"));
    assert!(of(&confirmed, "2026-10-30T12:00")[0].ends_with("ended 2026-10-30T10:00"));
    // The lowest score of more than 30 days ago is not compared.
    let old = home().event("2026-11-20T10:00", "assessment", &full("pain = 'slight'\ncrust_mm = 2"));
    assert!(of(&old, "2026-11-20T12:00").is_empty());
}

#[test]
fn redness_that_spreads_by_five_millimeters() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("redness-spreading")).collect::<Vec<_>>()
    };
    let story = home().event("2026-10-25T10:00", "change", "by = 'p001-son'\n[site]\nredness_mm = 5");
    assert_eq!(of(&story, "2026-10-25T12:00"), ["redness-spreading 2026-10-25T10:00"]);
    assert!(of(&home().event("2026-10-25T10:00", "change", "[site]\nredness_mm = 4.9"), "2026-10-25T12:00").is_empty());
    let back = story.event("2026-10-27T10:00", "assessment", &full("redness_mm = 4"));
    assert!(of(&back, "2026-10-27T12:00")[0].ends_with("ended 2026-10-27T10:00"));
}

#[test]
fn more_drainage_than_before_and_drainage_that_lasts() {
    let of = |story: &Story, as_of: &str, name: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with(name)).collect::<Vec<_>>()
    };
    let drains = |says: &str| format!("by = 'p001-son'\n[site]\n{says}");
    let story = home().event("2026-10-22T10:00", "change", &drains("drainage = 'serous'\namount = 'scant'"));
    assert_eq!(of(&story, "2026-10-22T12:00", "drainage-more"), ["drainage-more 2026-10-22T10:00"]);
    // The same amount again joins nothing and ends nothing; a larger amount joins it.
    let more = story.event("2026-10-29T10:00", "change", &drains("drainage = 'serous'\namount = 'small'"));
    assert_eq!(of(&more, "2026-10-29T12:00", "drainage-more"), ["drainage-more 2026-10-22T10:00"]);
    // On the 14th day the first record is old enough, without a new record.
    assert!(of(&more, "2026-11-05T02:59", "drainage-lasting").is_empty());
    assert_eq!(of(&more, "2026-11-05T03:00", "drainage-lasting"), ["drainage-lasting 2026-11-05T03:00"]);
    let told_dry = more.event("2026-11-06T10:00", "change", &drains("drainage = 'none'"));
    for name in ["drainage-more", "drainage-lasting"] {
        assert!(of(&told_dry, "2026-11-06T12:00", name)[0].ends_with(", better"));
        let seen_dry = told_dry.event("2026-11-07T10:00", "assessment", DRY);
        assert!(of(&seen_dry, "2026-11-07T12:00", name)[0].ends_with("ended 2026-11-07T10:00"));
    }
    // One record alone does not last, and in the first weeks some drainage is expected.
    assert!(of(&story, "2026-11-20T12:00", "drainage-lasting").is_empty());
    let early = Story::implanted("2026-10-15").event("2026-10-20T10:00", "assessment", DRY).event(
        "2026-11-05T10:00",
        "assessment",
        &full("drainage = 'serous'"),
    );
    assert!(of(&early, "2026-11-05T12:00", "drainage-more").is_empty(), "POD 21");
    // Old enough on POD 21, but not recent enough before POD 22, which is 11-23.
    let wet = ["2026-11-08T10:00", "2026-11-15T10:00", "2026-11-16T10:00"].iter();
    let lasts =
        wet.fold(Story::implanted("2026-11-01"), |story, at| story.event(at, "change", &drains("drainage = 'serous'")));
    assert!(of(&lasts, "2026-11-23T02:59", "drainage-lasting").is_empty());
    assert_eq!(of(&lasts, "2026-11-23T03:00", "drainage-lasting"), ["drainage-lasting 2026-11-23T03:00"]);
}

#[test]
fn overgranulation_warmth_and_odor_end_only_where_they_were_looked_for() {
    for (name, shown, gone) in [
        ("overgranulation", "overgranulation = true", "overgranulation = false"),
        ("warmth-or-odor", "warmth = true", "warmth = false\nodor = false"),
        ("warmth-or-odor", "odor = true", "warmth = false\nodor = false"),
    ] {
        let of = |story: &Story, as_of: &str| {
            story.signals(as_of).into_iter().filter(|line| line.starts_with(name)).collect::<Vec<_>>()
        };
        let story = home().event("2026-10-22T10:00", "assessment", &format!("{DRY}{shown}"));
        assert_eq!(of(&story, "2026-10-22T12:00"), [format!("{name} 2026-10-22T10:00")]);
        let silent = story.event("2026-10-23T10:00", "assessment", DRY);
        assert!(!of(&silent, "2026-10-23T12:00")[0].contains("ended"));
        let ended = story.event("2026-10-23T10:00", "assessment", &format!("{DRY}{gone}"));
        assert!(of(&ended, "2026-10-23T12:00")[0].ends_with("ended 2026-10-23T10:00"));
    }
}

#[test]
fn the_second_missed_change_in_a_row_becomes_missed_when_the_next_is_due() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("changes-missed")).collect::<Vec<_>>()
    };
    // The last change of the background is on 11-07: due 11-09, 11-11, and the second is missed on 11-13.
    assert!(of(&home(), "2026-11-13T02:59").is_empty());
    assert_eq!(of(&home(), "2026-11-13T03:00"), ["changes-missed 2026-11-13T03:00"]);
    let changed = home().event("2026-11-14T10:00", "change", "");
    assert_eq!(of(&changed, "2026-11-14T12:00"), ["changes-missed 2026-11-13T03:00, ended 2026-11-14T10:00"]);
    // An unreported change is not yet missed.
    let log = Story::implanted("2026-06-01").log_household_from("2026-06-02");
    assert!(of(&log, "2026-11-13T03:00").is_empty());
}

#[test]
fn a_log_that_is_late_ends_with_the_log() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("log-late")).collect::<Vec<_>>()
    };
    let says = |from: &str, through: &str| format!("from = {from}\nthrough = {through}\ncomplete = true");
    let story = Story::implanted("2026-06-01").log_household_from("2026-06-30").event(
        "2026-08-01T10:00",
        "log",
        &says("2026-06-30", "2026-07-31"),
    );
    // 35 days after 07-31 is 09-04; when that day ends it is late.
    assert!(of(&story, "2026-09-05T02:59").is_empty());
    assert_eq!(of(&story, "2026-09-05T03:00"), ["log-late 2026-09-05T03:00"]);
    let read = story.event("2026-09-10T09:30", "log", &says("2026-08-01", "2026-09-09"));
    assert_eq!(of(&read, "2026-09-10T12:00"), ["log-late 2026-09-05T03:00, ended 2026-09-10T09:30"]);
}

#[test]
fn a_site_that_staff_have_not_seen_for_as_long_as_the_phase_allows() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("not-looked-at")).collect::<Vec<_>>()
    };
    // 92 days after 10-20 is 2027-01-20.
    assert!(of(&home(), "2027-01-21T02:59").is_empty());
    assert_eq!(of(&home(), "2027-01-21T03:00"), ["not-looked-at 2027-01-21T03:00"]);
    let told = home().event("2026-12-01T10:00", "assessment", &format!("by = 'p001-son'\n{DRY}"));
    assert_eq!(of(&told, "2027-01-21T03:00").len(), 1, "a household's look is none by staff");
    let seen = home().event("2027-01-22T10:00", "assessment", DRY);
    assert!(of(&seen, "2027-01-22T12:00")[0].ends_with("ended 2027-01-22T10:00"));
    // A stay elsewhere does not replace a look.
    let gone = home().elsewhere_from("2027-01-25");
    assert_eq!(of(&gone, "2027-01-26T12:00"), ["not-looked-at 2027-01-21T03:00"]);
    // Elsewhere, staff here cannot look.
    let away = home().elsewhere_from("2027-01-10");
    assert!(of(&away, "2027-02-10T12:00").is_empty());
}

#[test]
fn an_anchor_or_a_dressing_that_is_often_off() {
    let of = |story: &Story, as_of: &str, name: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with(name)).collect::<Vec<_>>()
    };
    let loose = "[found]\nanchor = 'loose'\n[left]\nanchor = 'in-place'";
    let story = home().event("2026-11-08T10:00", "change", loose).event("2026-11-10T10:00", "change", "");
    assert!(of(&story, "2026-11-10T12:00", "anchor-often-off").is_empty());
    let twice = story.event("2026-11-12T10:00", "change", loose);
    assert_eq!(of(&twice, "2026-11-12T12:00", "anchor-often-off"), ["anchor-often-off 2026-11-12T10:00"]);
    let fewer = ["2026-11-14", "2026-11-16", "2026-11-18"]
        .iter()
        .fold(twice, |story, day| story.event(&format!("{day}T10:00"), "change", ""));
    assert!(of(&fewer, "2026-11-18T12:00", "anchor-often-off")[0].ends_with("ended 2026-11-18T10:00"));
    let open = "[found]\ndressing = 'lifting'";
    let thrice = ["2026-11-08", "2026-11-10", "2026-11-12"]
        .iter()
        .fold(home(), |story, day| story.event(&format!("{day}T10:00"), "change", open));
    assert_eq!(of(&thrice, "2026-11-12T12:00", "dressing-often-open"), ["dressing-often-open 2026-11-12T10:00"]);
}

#[test]
fn showers_too_early_or_unchecked_end_when_they_are_answered() {
    let of = |story: &Story, as_of: &str, name: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with(name)).collect::<Vec<_>>()
    };
    let shower = "dressing_before = 'intact'";
    let early = Story::implanted("2026-11-01").event("2026-11-28T18:00", "shower", shower);
    assert_eq!(of(&early, "2026-11-28T19:00", "shower-too-early"), ["shower-too-early 2026-11-28T18:00"], "POD 27");
    let late = Story::implanted("2026-11-01").event("2026-11-29T18:00", "shower", shower);
    assert!(of(&late, "2026-11-29T19:00", "shower-too-early").is_empty(), "POD 28");
    let ordered =
        home().order("2026-10-20", "2026-10-25", "no_showers = true").event("2026-10-22T18:00", "shower", shower);
    assert!(of(&ordered, "2026-10-22T19:00", "shower-too-early").is_empty(), "that is a signal of its own");
    assert_eq!(of(&ordered, "2026-10-22T19:00", "order-violated"), ["order-violated 2026-10-22T18:00"]);
    for (before, rises) in [("dressing_before = 'intact'", false), ("dressing_before = 'lifting'", true), ("", true)] {
        let story = home().event("2026-10-22T18:00", "shower", before);
        assert_eq!(of(&story, "2026-10-22T19:00", "shower-unchecked").len(), usize::from(rises), "{before}");
    }
    let story = home().event("2026-10-22T18:00", "shower", "");
    let answered = story.event("2026-10-22T20:00", "contact", &contact("shower-unchecked", "advised"));
    assert_eq!(
        of(&answered, "2026-10-22T21:00", "shower-unchecked"),
        ["shower-unchecked 2026-10-22T18:00, answered 2026-10-22T20:00, ended 2026-10-22T20:00"]
    );
    let again = answered.event("2026-10-24T18:00", "shower", "");
    assert_eq!(of(&again, "2026-10-24T19:00", "shower-unchecked").len(), 2);
}

#[test]
fn a_change_by_somebody_who_is_not_signed_off() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("untaught")).collect::<Vec<_>>()
    };
    let by_son = |story: &Story, at: &str| story.event(at, "change", "by = 'p001-son'\n");
    let home = || Story::implanted("2026-06-01").home_from("2026-06-30");
    let story = by_son(&home(), "2026-10-22T10:00");
    assert_eq!(of(&story, "2026-10-22T12:00"), ["untaught 2026-10-22T10:00"]);
    let teach = |story: &Story, at: &str, mode: &str| {
        story.event(
            at,
            "teaching",
            &format!("by = 'ed-1'\nlearner = 'p001-son'\nobserver = 'ed-1'\ncurriculum = 'dressing-change'\nversion = 1\nmode = '{mode}'"),
        )
    };
    // On a day of teaching it is expected.
    let taught = teach(&by_son(&home(), "2026-10-22T10:00"), "2026-10-22T10:30", "assisted");
    assert!(of(&taught, "2026-10-22T12:00").is_empty());
    let signed = teach(&story, "2026-10-23T10:00", "attested");
    assert!(of(&signed, "2026-10-23T12:00")[0].ends_with("ended 2026-10-23T10:00"));
    assert_eq!(of(&by_son(&signed, "2026-10-25T10:00"), "2026-10-25T12:00").len(), 1);
    // Care days count, not instants: signed off on Oct 23 at 09:10 +13:00, which is 15:10 on Oct 22 in the program's zone.
    let abroad = teach(&by_son(&home(), "2026-10-22T20:00"), "2026-10-23T09:10+13:00", "attested");
    assert!(of(&abroad, "2026-10-23T12:00").is_empty());
}

#[test]
fn a_patient_who_is_away_for_more_than_two_weeks() {
    let of = |story: &Story, as_of: &str| {
        story.signals(as_of).into_iter().filter(|line| line.starts_with("away-long")).collect::<Vec<_>>()
    };
    let story = home().elsewhere_from("2026-10-25");
    assert!(of(&story, "2026-11-09T02:59").is_empty(), "14 days");
    assert_eq!(of(&story, "2026-11-09T03:00"), ["away-long 2026-11-09T03:00"]);
    assert_eq!(of(&story, "2028-11-09T03:00"), ["away-long 2026-11-09T03:00"], "however long");
    // Only a contact with a time for the next one acts on it.
    let told = story.event("2026-11-10T10:00", "contact", &contact("away-long", "other"));
    assert_eq!(of(&told, "2026-11-10T12:00"), ["away-long 2026-11-09T03:00, called p001-son other"]);
    let expect = format!("{}\nexpect_by = 2026-11-20T12:00:00", contact("away-long", "other"));
    let answered = story.event("2026-11-10T10:00", "contact", &expect);
    assert_eq!(of(&answered, "2026-11-10T12:00"), ["away-long 2026-11-09T03:00, answered 2026-11-10T10:00"]);
    assert!(of(&story.home_from("2026-11-12"), "2026-11-12T12:00")[0].ends_with("ended 2026-11-12T03:00"));
}

#[test]
fn all_signals_end_with_support() {
    let story = home().event("2026-10-22T10:00", "assessment", &full("drainage = 'purulent'")).ended("2026-10-30");
    let all = story.signals("2026-11-20T12:00");
    assert!(!all.is_empty() && all.iter().all(|line| line.contains("ended")), "{all:?}");
}

#[test]
fn what_is_learnt_late_rises_when_it_happened_and_is_known_later() {
    let says = format!(
        "by = 'p001-son'\nsource = 'log'\n{}[entered]\nat = 2026-11-01T09:30:00\nby = 'rn-07'",
        full("redness_mm = 25")
    );
    let story = home().event("2026-10-22T10:00", "change", &says);
    let all = story.signals("2026-11-02T12:00");
    assert!(all.contains(&"redness-wide 2026-10-22T10:00, known 2026-11-01T09:30".to_owned()), "{all:?}");
}

/// The open episode of a signal, without its name; "none" if none is open.
fn open_of(story: &Story, name: &str, as_of: &str) -> String {
    let all = story.signals(as_of).into_iter();
    let mut open = all.filter(|line| line.starts_with(&format!("{name} ")) && !line.contains(", ended"));
    open.next_back().map_or("none".to_owned(), |line| line[name.len() + 1..].to_owned())
}

#[test]
fn what_may_have_come_before_it_ends_no_signal_of_the_site() {
    for (name, says) in [("pus", "drainage = 'purulent'"), ("score-review", "redness_mm = 6\npain = 'severe'")] {
        for (shown_at, looked_at, open) in [
            // A look on the same care day may have been in the morning.
            ("2026-10-22T20:00", "2026-10-22", "2026-10-22T20:00, better"),
            // Both without a time; the later record in the order is the one that does not show it.
            ("2026-10-22", "2026-10-22", "2026-10-23T02:59, better"),
            ("2026-10-22T20:00", "2026-10-22T20:00", "2026-10-22T20:00, better"),
            // Shown at an unknown time, with a look in the morning.
            ("2026-10-22", "2026-10-22T08:00", "2026-10-23T02:59"),
            // On the next care day the order is known; 01:30 is still the day before.
            ("2026-10-22", "2026-10-23", "none"),
            ("2026-10-22T20:00", "2026-10-23", "none"),
            ("2026-10-22", "2026-10-23T03:00", "none"),
            ("2026-10-22T20:00", "2026-10-23T01:30", "none"),
            ("2026-10-22", "2026-10-23T01:30", "2026-10-23T02:59"),
            ("2026-10-22T20:00", "2026-10-22T20:01", "none"),
        ] {
            let story = home().event(shown_at, "assessment", &full(says)).event(looked_at, "change", DRY);
            assert_eq!(open_of(&story, name, "2026-10-24T12:00"), open, "{name} {shown_at} {looked_at}");
        }
        // A look that may have come before it does not act on it, either; a call about it does, at any time of that
        // day.
        let shown = home().event("2026-10-22T20:00", "assessment", &full(says));
        for (kind, other, open) in [
            ("culture", "specimen = 'exit-site'".to_owned(), "2026-10-22T20:00"),
            ("contact", contact("signals", "coming-in"), "2026-10-22T20:00"),
            ("contact", contact(name, "coming-in"), "2026-10-22T20:00, answered 2026-10-23T02:59"),
        ] {
            let story = shown.event("2026-10-22", kind, &other);
            assert_eq!(open_of(&story, name, "2026-10-24T12:00"), open, "{name} {other}");
        }
    }
}

#[test]
fn an_anchor_that_may_have_come_off_later_is_not_in_place() {
    for (off_at, in_place_at, open) in [
        ("2026-10-22T20:00", "2026-10-22", "2026-10-22T20:00, better"),
        ("2026-10-22", "2026-10-22", "2026-10-23T02:59, better"),
        ("2026-10-22T20:00", "2026-10-22T20:00", "2026-10-22T20:00, better"),
        ("2026-10-22", "2026-10-22T08:00", "2026-10-23T02:59"),
        ("2026-10-22", "2026-10-23", "none"),
        ("2026-10-22T20:00", "2026-10-22T20:01", "none"),
    ] {
        let story = home().event(off_at, "inspection", "anchor = 'absent'").event(
            in_place_at,
            "change",
            "[left]\nanchor = 'in-place'",
        );
        assert_eq!(open_of(&story, "anchor-off", "2026-10-24T12:00"), open, "{off_at} {in_place_at}");
    }
}

#[test]
fn water_at_the_site_is_answered_by_the_changes_that_answer_it_in_the_due_list() {
    for (wet_at, changed_at, reason, open) in [
        // A change for another reason may have been in the morning.
        ("2026-11-08T20:00", "2026-11-08", "reason = 'scheduled'", "2026-11-08T20:00, better"),
        ("2026-11-08", "2026-11-08", "reason = 'scheduled'", "2026-11-09T02:59, better"),
        ("2026-11-08", "2026-11-08T08:00", "reason = 'scheduled'", "2026-11-09T02:59"),
        // The reason shows that it came after.
        ("2026-11-08T20:00", "2026-11-08", "reason = 'wet'", "none"),
        ("2026-11-08", "2026-11-08T08:00", "reason = 'wet'", "none"),
        ("2026-11-08T20:00", "2026-11-08T08:00", "reason = 'wet'", "2026-11-08T20:00"),
        ("2026-11-08T20:00", "2026-11-08T20:00", "reason = 'scheduled'", "none"),
        ("2026-11-08T20:00", "2026-11-09", "reason = 'scheduled'", "none"),
    ] {
        let story = home().event(wet_at, "inspection", "dressing = 'wet'").event(changed_at, "change", reason);
        let as_of = "2026-11-09T12:00";
        assert_eq!(open_of(&story, "water-at-site", as_of), open, "{wet_at} {changed_at} {reason}");
        assert_eq!(story.due(as_of).contains("damage"), open != "none", "{wet_at} {changed_at} {reason}");
    }
    // Each of two reports has to be acted on.
    let twice = home()
        .event("2026-11-08T20:00", "inspection", "dressing = 'wet'")
        .event("2026-11-08T21:00", "inspection", "dressing = 'off'")
        .event("2026-11-08T20:30", "change", "");
    assert_eq!(open_of(&twice, "water-at-site", "2026-11-09T12:00"), "2026-11-08T21:00");
}

#[test]
fn hours_and_days_that_may_not_have_passed_have_not() {
    let told = |degrees: &str| format!("{}\ntemperature_c = {degrees}", contact("other", "advised"));
    let fever = home().event("2026-10-22T10:00", "contact", &told("38.0"));
    // On 10-23 it may have been measured at 03:00, 17 hours after; on 10-24 it was not.
    for (day, open) in [("2026-10-23", "2026-10-22T10:00, better"), ("2026-10-24", "none")] {
        assert_eq!(open_of(&fever.event(day, "contact", &told("37.0")), "fever", "2026-10-25T12:00"), open);
    }
    let pull = home().event("2026-10-22T10:00", "trauma", "mechanism = 'snag'");
    for (day, is_open) in [("2026-10-29", true), ("2026-10-30", false)] {
        let open = open_of(&pull.event(day, "assessment", DRY), "line-pulled", "2026-10-31T12:00");
        assert_eq!(open.ends_with("better"), is_open, "{day}: {open}");
        assert_eq!(open == "none", !is_open, "{day}: {open}");
    }
    // A score that may be from after the pull is not the one before it: 10-20 found nothing.
    let worse = full("pain = 'slight'");
    let unclear = home().event("2026-10-22", "trauma", "").event("2026-10-22T12:00", "assessment", &worse);
    let not_as_before = unclear.event("2026-10-31T10:00", "assessment", &worse);
    assert_ne!(open_of(&not_as_before, "line-pulled", "2026-10-31T12:00"), "none");
}

#[test]
fn growth_of_a_day_is_not_ended_by_a_contact_that_may_be_about_something_else() {
    let grown = |on: &str| format!("specimen = 'blood'\n[result]\non = {on}\ngrowth = true\norganisms = ['Invented']");
    let physician = |about: &str| format!("with = 'md-3'\nabout = ['{about}']\noutcome = 'advised'");
    let story = home().event("2026-10-22T10:00", "culture", &grown("2026-10-25"));
    for (about, at, is_open) in [
        ("signals", "2026-10-25T09:00", true),
        ("signals", "2026-10-26T09:00", false),
        ("culture-growth", "2026-10-25T09:00", false),
    ] {
        let open = open_of(&story.event(at, "contact", &physician(about)), "culture-growth", "2026-10-26T12:00");
        assert_eq!(open != "none", is_open, "{about} {at}: {open}");
    }
    // It may also belong to another growth, known since the day before.
    let twice = story.event("2026-10-23T10:00", "culture", &grown("2026-10-26")).event(
        "2026-10-26T09:00",
        "contact",
        &physician("culture-growth"),
    );
    assert!(open_of(&twice, "culture-growth", "2026-10-26T12:00").ends_with("better"));
}
