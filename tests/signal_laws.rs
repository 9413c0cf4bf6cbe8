//! Laws of signals on invented stories: later events never change an earlier rise, and no report of a household ends a
//! signal of the site.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use chrono::{Days, NaiveDate};
use exitsite::story::Story;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed};

/// One event: time, kind, contents.
type Told = (String, &'static str, String);

fn site() -> impl Strategy<Value = String> {
    let word = |key: &'static str, words: &'static [&'static str]| {
        proptest::option::weighted(0.8, proptest::sample::select(words))
            .prop_map(move |word| word.map(|word| format!("{key} = '{word}'\n")).unwrap_or_default())
    };
    let number = |key: &'static str| {
        proptest::option::weighted(0.8, 0..26i64)
            .prop_map(move |mm| mm.map(|mm| format!("{key} = {}\n", (mm - 5).max(0))).unwrap_or_default())
    };
    let flag = |key: &'static str| {
        proptest::option::weighted(0.5, any::<bool>())
            .prop_map(move |flag| flag.map(|flag| format!("{key} = {flag}\n")).unwrap_or_default())
    };
    (
        word("drainage", &["none", "none", "serous", "purulent"]),
        number("redness_mm"),
        word("swelling", &["none", "none", "exit", "tunnel"]),
        number("crust_mm"),
        word("pain", &["none", "slight", "severe"]),
        flag("bleeding"),
        flag("overgranulation"),
        flag("warmth"),
        flag("odor"),
    )
        .prop_map(|(a, b, c, d, e, f, g, h, i)| format!("[site]\n{a}{b}{c}{d}{e}{f}{g}{h}{i}"))
        .prop_map(|site| if site == "[site]\n" { "[site]\npain = 'none'\n".into() } else { site })
}

/// The author and source: seen by staff, reported or seen by the household, or from a picture.
fn teller() -> impl Strategy<Value = &'static str> {
    proptest::sample::select(&[
        "by = 'rn-07'\nsource = 'seen'\n",
        "by = 'p001-son'\nsource = 'told'\n",
        "by = 'p001-son'\nsource = 'seen'\n",
        "by = 'rn-07'\nsource = 'image'\n",
    ])
}

fn covering() -> impl Strategy<Value = String> {
    let dressing = proptest::option::of(proptest::sample::select(&["intact", "lifting", "wet", "off"][..]));
    let anchor = proptest::option::of(proptest::sample::select(&["in-place", "loose", "absent"][..]));
    (dressing, anchor).prop_map(|(dressing, anchor)| {
        let dressing = dressing.map(|word| format!("dressing = '{word}'\n")).unwrap_or_default();
        format!("{dressing}{}", anchor.map(|word| format!("anchor = '{word}'\n")).unwrap_or_default())
    })
}

fn facts() -> impl Strategy<Value = (&'static str, String)> {
    let said = |(teller, rest): (&str, String)| format!("{teller}{rest}");
    let found = |(covering, site): (String, String)| format!("[found]\n{covering}{site}");
    let culture = (0..20u64, any::<bool>()).prop_map(|(days, growth)| {
        let on = NaiveDate::from_ymd_opt(2026, 11, 10).unwrap() + Days::new(days);
        format!("by = 'rn-07'\nspecimen = 'exit-site'\n[result]\non = {on}\ngrowth = {growth}\n")
    });
    let about = proptest::sample::select(&["pus", "signals", "supply", "culture-growth", "shower-unchecked"][..]);
    let contact = (about, proptest::sample::select(&["advised", "no-answer"][..]), 360..395i64).prop_map(
        |(about, outcome, tenths)| {
            let degrees = format!("{}.{}", tenths / 10, tenths % 10);
            format!(
                "by = 'rn-07'\nwith = 'p001-son'\nabout = ['{about}']\noutcome = '{outcome}'\ntemperature_c = {degrees}\n"
            )
        },
    );
    prop_oneof![
        4 => (teller(), (covering(), site()).prop_map(found)).prop_map(said).prop_map(|says| ("change", says)),
        3 => (teller(), site()).prop_map(said).prop_map(|says| ("assessment", says)),
        1 => (teller(), covering()).prop_map(said).prop_map(|says| ("inspection", says)),
        1 => (teller(), covering()).prop_map(said).prop_map(|says| ("trauma", says)),
        1 => teller().prop_map(|teller| ("shower", format!("{teller}dressing_after = 'wet'\n"))),
        1 => culture.prop_map(|says| ("culture", says)),
        1 => contact.prop_map(|says| ("contact", says)),
    ]
}

/// Events from a day on in order, no two in the same minute.
fn events(from: NaiveDate, days: u64, most: usize) -> impl Strategy<Value = Vec<Told>> {
    let one = (0..days * 20 * 60, facts());
    proptest::collection::vec(one, 0..most).prop_map(move |mut told| {
        told.sort_by_key(|(minute, _)| *minute);
        told.dedup_by_key(|(minute, _)| *minute);
        let at = |minute: u64| {
            let (day, minute) = (from + Days::new(minute / 1200), minute % 1200);
            format!("{day}T{:02}:{:02}", 3 + minute / 60, minute % 60)
        };
        told.into_iter().map(|(minute, (kind, says))| (at(minute), kind, says)).collect()
    })
}

fn story(told: &[Told]) -> Story {
    let home = Story::implanted("2026-08-01").home_from("2026-08-10");
    told.iter().fold(home, |story, (at, kind, says)| story.event(at, kind, says))
}

/// Name and rise of each signal that rose by a day.
fn risen(story: &Story, as_of: &str, through: &str) -> Vec<String> {
    let rise = |line: &String| line.split([',', ' ']).take(2).collect::<Vec<_>>().join(" ");
    let signals = story.signals(as_of);
    let known = |line: &String| line.split(' ').nth(1).is_some_and(|since| &since[..10] <= through);
    signals.iter().map(rise).filter(known).collect()
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn config() -> Config {
    Config { cases: 150, rng_seed: RngSeed::Fixed(5), failure_persistence: None, ..Config::default() }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn what_happens_later_never_changes_when_an_earlier_signal_rose(
        before in events(day("2026-09-20"), 45, 16),
        later in events(day("2026-11-06"), 20, 10),
    ) {
        let both: Vec<Told> = before.iter().chain(&later).cloned().collect();
        prop_assert_eq!(
            risen(&story(&before), "2026-11-28T12:00", "2026-11-05"),
            risen(&story(&both), "2026-11-28T12:00", "2026-11-05")
        );
    }

    #[test]
    fn nothing_that_a_household_tells_ends_a_signal_of_the_site(
        before in events(day("2026-09-20"), 45, 12),
        told in events(day("2026-11-06"), 20, 12),
    ) {
        let of_the_site = ["pus", "score-review", "score-with-growth", "redness-wide", "swelling-tunnel", "bleeding-at-site", "line-pulled"];
        let by_telephone = told.into_iter().filter(|(_, kind, _)| ["change", "assessment"].contains(kind)).map(|(at, kind, says)| {
            let says = says.lines().filter(|line| !line.starts_with("by = ") && !line.starts_with("source = "));
            let says = says.map(|line| format!("{line}\n")).collect::<String>();
            (at, kind, format!("by = 'p001-son'\nsource = 'told'\n{says}"))
        });
        let both: Vec<Told> = before.iter().cloned().chain(by_telephone).collect();
        let open = |story: &Story, as_of: &str| {
            let signals = story.signals(as_of).into_iter();
            let is_open = |line: &String| of_the_site.iter().any(|name| line.starts_with(&format!("{name} "))) && !line.contains("ended");
            signals.filter(is_open).map(|line| line.split([',', ' ']).take(2).collect::<Vec<_>>().join(" ")).collect::<Vec<_>>()
        };
        let was_open = open(&story(&before), "2026-11-05T20:00");
        let still = open(&story(&both), "2026-11-28T12:00");
        for signal in was_open {
            prop_assert!(still.contains(&signal), "{} of {:?}", signal, still);
        }
    }
}
