//! Acts on a signal of today: by a person who does something, never by a call that only advised; and the signals of a
//! swim, of a shower against an order, of a move home with too few people signed off. The days are literal; the rule is
//! next to each.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use exitsite::story::Story;

const DRY: &str = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\n";

fn ward() -> Story {
    Story::implanted("2026-10-01")
}

fn contact(with: &str, about: &str, outcome: &str) -> String {
    format!("with = '{with}'\nabout = ['{about}']\noutcome = '{outcome}'")
}

fn taught(learner: &str, says: &str) -> String {
    format!(
        "by = 'ed-1'\nlearner = '{learner}'\nobserver = 'ed-1'\ncurriculum = 'dressing-change'\nversion = 1\n{says}\n"
    )
}

/// The one line of a signal, without its name; "none" if it never rose.
#[track_caller]
fn of(story: &Story, name: &str, as_of: &str) -> String {
    let all: Vec<String> =
        story.signals(as_of).into_iter().filter(|line| line.starts_with(&format!("{name} "))).collect();
    assert!(all.len() < 2, "{all:?}");
    all.first().map_or("none".to_owned(), |line| line[name.len() + 1..].to_owned())
}

#[test]
fn a_signal_of_today_is_answered_by_a_clinician_a_visit_or_a_hand_over_and_a_call_is_shown() {
    let pus = ward().event("2026-11-10T10:00", "assessment", "[site]\ndrainage = 'purulent'");
    for (with, outcome, said) in [
        ("md-3", "other", "2026-11-10T10:00, answered 2026-11-10T11:00"),
        ("md-3", "no-answer", "2026-11-10T10:00"),
        ("rn-07", "advised", "2026-11-10T10:00"),
        ("rn-07", "escalated", "2026-11-10T10:00, answered 2026-11-10T11:00"),
        ("p001-son", "coming-in", "2026-11-10T10:00, answered 2026-11-10T11:00"),
        ("p001-son", "escalated", "2026-11-10T10:00, answered 2026-11-10T11:00"),
        ("p001-son", "advised", "2026-11-10T10:00, called p001-son advised"),
        ("p001-son", "will-change", "2026-11-10T10:00, called p001-son will-change"),
        ("patient", "other", "2026-11-10T10:00, called patient other"),
        ("p001-son", "no-answer", "2026-11-10T10:00, called p001-son no-answer"),
        ("p001-son", "support-ended", "2026-11-10T10:00, called p001-son support-ended"),
    ] {
        for about in ["pus", "signals"] {
            let story = pus.event("2026-11-10T11:00", "contact", &contact(with, about, outcome));
            assert_eq!(of(&story, "pus", "2026-11-10T12:00"), said, "{with} {about} {outcome}");
        }
        let other = pus.event("2026-11-10T11:00", "contact", &contact(with, "supply", outcome));
        assert_eq!(of(&other, "pus", "2026-11-10T12:00"), "2026-11-10T10:00", "{with} {outcome}");
    }
}

/// A finding worse than the worst on file at the last act waits again; an equal or lesser one does not.
#[test]
fn a_finding_that_is_worse_than_at_the_last_act_waits_again() {
    let site = |says: &str| format!("by = 'p001-son'\nsource = 'told'\n[site]\n{says}");
    let since = "2026-11-10T10:00, answered 2026-11-10T11:00";
    let worse = "2026-11-10T10:00, answered 2026-11-10T11:00, worse 2026-11-12T10:00";
    for (name, first, then, is_worse) in [
        ("redness-wide", "redness_mm = 22", "redness_mm = 32", true),
        ("redness-wide", "redness_mm = 22", "redness_mm = 22", false),
        ("redness-wide", "redness_mm = 22", "redness_mm = 20", false),
        ("pus", "drainage = 'purulent'\namount = 'small'", "drainage = 'purulent'\namount = 'large'", true),
        ("pus", "drainage = 'purulent'\namount = 'small'", "drainage = 'purulent'", false),
        ("pus", "drainage = 'purulent'", "drainage = 'purulent'\namount = 'scant'", false),
        ("pus", "drainage = 'purulent'", "drainage = 'purulent'\namount = 'moderate'", true),
        (
            "score-review",
            "redness_mm = 12\ncrust_mm = 9\npain = 'severe'",
            "redness_mm = 12\ncrust_mm = 9\npain = 'severe'\nswelling = 'tunnel'",
            true,
        ),
        (
            "score-review",
            "redness_mm = 12\ncrust_mm = 9\npain = 'severe'",
            "redness_mm = 12\ncrust_mm = 9\npain = 'severe'",
            false,
        ),
        ("warmth-or-odor", "odor = true", "odor = true\nwarmth = true", true),
        ("warmth-or-odor", "odor = true\nwarmth = true", "odor = true", false),
        ("overgranulation", "overgranulation = true", "overgranulation = true", false),
    ] {
        let told = ward().event("2026-11-10T10:00", "assessment", &site(first)).event(
            "2026-11-10T11:00",
            "contact",
            &contact("md-3", name, "other"),
        );
        assert_eq!(of(&told, name, "2026-11-12T09:00"), since, "{name} {first}");
        let more = told.event("2026-11-12T10:00", "assessment", &site(then));
        let said = if is_worse { worse } else { since };
        assert_eq!(of(&more, name, "2026-11-12T12:00"), said, "{name} {first} {then}");
        // A later look that finds it no worse leaves it waiting; an act ends the wait.
        let again = more.event("2026-11-13T10:00", "assessment", &site(first));
        assert_eq!(of(&again, name, "2026-11-13T12:00"), said, "{name} {first} {then}");
        let acted = again.event("2026-11-13T11:00", "contact", &contact("md-3", "signals", "other"));
        assert_eq!(of(&acted, name, "2026-11-13T12:00"), since, "{name} {first} {then}");
        let no_worse = acted.event("2026-11-14T10:00", "assessment", &site(then));
        assert_eq!(of(&no_worse, name, "2026-11-14T12:00"), since, "{name} {first} {then}");
    }
}

/// A look by staff acts on what came before it, never on what it finds itself.
#[test]
fn a_look_that_finds_it_worse_does_not_act_on_what_it_finds() {
    let red = ward().event("2026-11-10T10:00", "assessment", "[site]\nredness_mm = 22").event(
        "2026-11-12T10:00",
        "assessment",
        "[site]\nredness_mm = 32",
    );
    let worse = "2026-11-10T10:00, answered 2026-11-12T10:00, worse 2026-11-12T10:00";
    assert_eq!(of(&red, "redness-wide", "2026-11-12T12:00"), worse);
    let seen_again = red.event("2026-11-13T10:00", "assessment", "[site]\nredness_mm = 30");
    assert_eq!(of(&seen_again, "redness-wide", "2026-11-13T12:00"), "2026-11-10T10:00, answered 2026-11-12T10:00");
}

/// A call to a physician before a worse finding was entered does not act on it; a look by staff after the finding does.
#[test]
fn a_worse_finding_that_was_written_down_after_the_act_waits() {
    let entered = |at: &str| format!("[entered]\nat = {at}:00\nby = 'rn-07'\n");
    let told = |mm: i64, at: &str| format!("by = 'p001-son'\nsource = 'log'\n{}[site]\nredness_mm = {mm}", entered(at));
    let red = ward().event("2026-11-10T10:00", "assessment", "[site]\nredness_mm = 22");
    let late = |story: &Story| story.event("2026-11-11T10:00", "assessment", &told(35, "2026-11-13T09:00"));
    let called = contact("md-3", "redness-wide", "other");
    let waits = "2026-11-10T10:00, answered 2026-11-12T10:00, worse 2026-11-11T10:00";
    let is_quiet = "2026-11-10T10:00, answered 2026-11-12T10:00";
    let known = |story: Story| of(&late(&story), "redness-wide", "2026-11-14T12:00");
    assert_eq!(known(red.event("2026-11-12T10:00", "contact", &called)), waits);
    let written_after = format!("{called}\n{}", entered("2026-11-13T09:05"));
    assert_eq!(known(red.event("2026-11-12T10:00", "contact", &written_after)), is_quiet);
    assert_eq!(known(red.event("2026-11-12T10:00", "assessment", "[site]\nredness_mm = 22")), is_quiet);
    // The finding on file at the call was even worse.
    let worst = red.event("2026-11-11T12:00", "assessment", &told(40, "2026-11-11T13:00"));
    assert_eq!(known(worst.event("2026-11-12T10:00", "contact", &called)), is_quiet);
}

#[test]
fn a_call_after_the_end_hides_no_call_before_it() {
    let told = ward()
        .event("2026-11-10T10:00", "assessment", "[site]\ndrainage = 'purulent'")
        .event("2026-11-10T11:00", "contact", &contact("p001-son", "pus", "advised"))
        .event("2026-11-11T10:00", "assessment", DRY)
        .event("2026-11-12T10:00", "contact", &contact("p001-son", "signals", "will-change"));
    let said = "2026-11-10T10:00, called p001-son advised, answered 2026-11-11T10:00, ended 2026-11-11T10:00";
    assert_eq!(of(&told, "pus", "2026-11-12T12:00"), said);
}

#[test]
fn the_program_says_who_is_a_clinician() {
    let pus = ward().event("2026-11-10T10:00", "assessment", "[site]\ndrainage = 'purulent'");
    let nurse = pus.event("2026-11-10T11:00", "contact", &contact("rn-07", "pus", "advised"));
    let by = |roles: &str| nurse.signals_by(&format!("[signals]\nclinician_roles = {roles}"), "2026-11-10T12:00");
    assert!(by("['physician', 'nurse']").contains(&"pus 2026-11-10T10:00, answered 2026-11-10T11:00".to_owned()));
    assert!(by("['physician']").contains(&"pus 2026-11-10T10:00".to_owned()));
}

#[test]
fn water_and_an_anchor_are_answered_only_by_what_ends_them() {
    let wet = ward().event("2026-11-10T10:00", "inspection", "dressing = 'wet'\nanchor = 'loose'");
    for name in ["water-at-site", "anchor-off"] {
        for (kind, says, said) in [
            ("contact", contact("md-3", name, "other"), "2026-11-10T10:00"),
            ("contact", contact("p001-son", name, "coming-in"), "2026-11-10T10:00, called p001-son coming-in"),
            ("assessment", DRY.to_owned(), "2026-11-10T10:00"),
            ("culture", "specimen = 'exit-site'".to_owned(), "2026-11-10T10:00"),
            (
                "change",
                "[left]\nanchor = 'in-place'".to_owned(),
                "2026-11-10T10:00, answered 2026-11-10T11:00, ended 2026-11-10T11:00",
            ),
        ] {
            let story = wet.event("2026-11-10T11:00", kind, &says);
            assert_eq!(of(&story, name, "2026-11-10T12:00"), said, "{name} {kind}");
        }
    }
}

#[test]
fn a_culture_without_a_result_is_answered_by_a_clinician_and_not_by_a_household() {
    let taken = ward().event("2026-10-22T10:00", "culture", "specimen = 'exit-site'");
    let name = "culture-unresulted";
    for (with, outcome, said) in [
        ("p001-son", "advised", "2026-10-28T03:00, called p001-son advised"),
        ("p001-son", "coming-in", "2026-10-28T03:00, called p001-son coming-in"),
        ("md-3", "other", "2026-10-28T03:00, answered 2026-10-28T11:00"),
    ] {
        let story = taken.event("2026-10-28T11:00", "contact", &contact(with, name, outcome));
        assert_eq!(of(&story, name, "2026-10-28T12:00"), said);
    }
    let look = taken.event("2026-10-28T11:00", "assessment", DRY);
    assert_eq!(of(&look, name, "2026-10-28T12:00"), "2026-10-28T03:00");
}

#[test]
fn a_fever_ends_with_a_full_look_by_staff_a_week_after_it() {
    let fever = ward().event("2026-11-10T10:00", "assessment", "[site]\ntemperature_c = 38.0");
    let early = fever.event("2026-11-17T09:59", "assessment", DRY);
    assert_eq!(of(&early, "fever", "2026-11-17T12:00"), "2026-11-10T10:00, answered 2026-11-17T09:59");
    let late = fever.event("2026-11-17T10:00", "assessment", DRY);
    let ended = "2026-11-10T10:00, answered 2026-11-17T10:00, ended 2026-11-17T10:00";
    assert_eq!(of(&late, "fever", "2026-11-17T12:00"), ended);
    let by_son = fever.event("2026-11-17T10:00", "assessment", &format!("by = 'p001-son'\n{DRY}"));
    assert_eq!(of(&by_son, "fever", "2026-11-17T12:00"), "2026-11-10T10:00");
}

#[test]
fn a_bath_or_a_pool_ends_with_a_full_look_by_staff_on_a_later_care_day() {
    for (water, rises) in [("bath", true), ("pool", true), ("shower", false), ("other", false)] {
        let story = ward().event("2026-11-10T10:00", "shower", &format!("water = '{water}'"));
        let said = if rises { "2026-11-10T10:00" } else { "none" };
        assert_eq!(of(&story, "immersed", "2026-11-10T12:00"), said, "{water}");
    }
    let swum = ward().event("2026-11-10T10:00", "shower", "water = 'pool'");
    let same_day = swum.event("2026-11-11T02:30", "assessment", DRY);
    assert_eq!(of(&same_day, "immersed", "2026-11-11T12:00"), "2026-11-10T10:00, answered 2026-11-11T02:30");
    let next_day = swum.event("2026-11-11T03:00", "assessment", DRY);
    let ended = "2026-11-10T10:00, answered 2026-11-11T03:00, ended 2026-11-11T03:00";
    assert_eq!(of(&next_day, "immersed", "2026-11-11T12:00"), ended);
    let not_full = swum.event("2026-11-11T03:00", "assessment", "[site]\npain = 'none'");
    assert!(!of(&not_full, "immersed", "2026-11-11T12:00").contains("ended"));
}

#[test]
fn a_shower_against_an_order_ends_with_a_clinician_or_a_look() {
    let ordered = ward().order("2026-11-05", "2026-11-10", "no_showers = true");
    let shower = |at: &str| ordered.event(at, "shower", "dressing_before = 'intact'");
    assert_eq!(of(&shower("2026-11-04T10:00"), "order-violated", "2026-11-04T12:00"), "none");
    assert_eq!(of(&shower("2026-11-11T02:59"), "order-violated", "2026-11-11T12:00"), "2026-11-11T02:59");
    assert_eq!(of(&shower("2026-11-11T03:00"), "order-violated", "2026-11-11T12:00"), "none");
    let up = shower("2026-11-10T10:00");
    let by =
        |kind: &str, says: &str| of(&up.event("2026-11-10T11:00", kind, says), "order-violated", "2026-11-10T12:00");
    let ended = "2026-11-10T10:00, answered 2026-11-10T11:00, ended 2026-11-10T11:00";
    assert_eq!(by("contact", &contact("md-3", "order-violated", "other")), ended);
    assert_eq!(by("assessment", "[site]\npain = 'none'"), ended);
    let handed_on = by("contact", &contact("p001-son", "order-violated", "coming-in"));
    assert_eq!(handed_on, "2026-11-10T10:00, answered 2026-11-10T11:00");
    let called = by("contact", &contact("p001-son", "order-violated", "advised"));
    assert_eq!(called, "2026-11-10T10:00, called p001-son advised");
}

#[test]
fn a_move_home_with_nobody_signed_off_ends_with_a_sign_off_or_a_move() {
    let home = ward().home_from("2026-11-10");
    assert_eq!(of(&home, "home-untaught", "2026-11-10T02:59"), "none");
    assert_eq!(of(&home, "home-untaught", "2026-11-10T03:00"), "2026-11-10T03:00");
    for learner in ["p001-son", "patient"] {
        let before = home.event("2026-11-09T10:00", "teaching", &taught(learner, "mode = 'attested'"));
        assert_eq!(of(&before, "home-untaught", "2026-11-12T12:00"), "none", "{learner}");
        let later = home.event("2026-11-11T10:00", "teaching", &taught(learner, "mode = 'attested'"));
        assert_eq!(
            of(&later, "home-untaught", "2026-11-12T12:00"),
            "2026-11-10T03:00, answered 2026-11-11T10:00, ended 2026-11-11T10:00"
        );
    }
    let shown = home.event("2026-11-09T10:00", "teaching", &taught("p001-son", "mode = 'shown'"));
    assert_eq!(of(&shown, "home-untaught", "2026-11-12T12:00"), "2026-11-10T03:00");
    let back = ward().home_from("2026-11-10").elsewhere_from("2026-11-14");
    assert_eq!(of(&back, "home-untaught", "2026-11-14T12:00"), "2026-11-10T03:00, ended 2026-11-14T03:00");
    // At home since the records began: these records contain no move.
    let since_then = ward().home_from("2026-11-10").records_from("2026-11-10");
    assert_eq!(of(&since_then, "home-untaught", "2026-11-12T12:00"), "none");
}

#[test]
fn nobody_is_taught_by_a_look_a_culture_or_a_treatment() {
    let home = ward().home_from("2026-11-10");
    let name = "home-untaught";
    for (kind, says, said) in [
        ("assessment", DRY.to_owned(), "2026-11-10T03:00"),
        ("culture", "specimen = 'exit-site'".to_owned(), "2026-11-10T03:00"),
        ("treatment", "what = 'oral-antibiotic'".to_owned(), "2026-11-10T03:00"),
        ("teaching", taught("p001-son", "mode = 'shown'"), "2026-11-10T03:00"),
        ("contact", contact("p001-son", name, "advised"), "2026-11-10T03:00, called p001-son advised"),
        ("contact", contact("rn-07", name, "advised"), "2026-11-10T03:00"),
        ("contact", contact("md-3", name, "no-answer"), "2026-11-10T03:00"),
        ("contact", contact("md-3", name, "other"), "2026-11-10T03:00, answered 2026-11-11T10:00"),
        ("contact", contact("p001-son", name, "coming-in"), "2026-11-10T03:00, answered 2026-11-11T10:00"),
        ("contact", contact("rn-07", name, "escalated"), "2026-11-10T03:00, answered 2026-11-11T10:00"),
    ] {
        assert_eq!(of(&home.event("2026-11-11T10:00", kind, &says), name, "2026-11-12T12:00"), said, "{kind} {says}");
    }
}

#[test]
fn a_failed_return_demonstration_suspends_a_sign_off_until_the_next_qualifying_one() {
    let steps = [
        "hands",
        "masks-and-caps",
        "old-dressing-off",
        "look-at-site",
        "sterile-gloves",
        "antiseptic-outward",
        "fresh-applicator",
        "let-dry",
        "disc-in-place",
        "sealed-cover",
        "anchor-fastened",
        "look-before-moving",
        "change-after-shower",
    ];
    let demonstration = |not: &str, how: &str| {
        let unaided: Vec<&str> = steps.into_iter().filter(|step| *step != not).collect();
        let how = if not.is_empty() { String::new() } else { format!("{how} = ['{not}']\n") };
        taught("p001-son", &format!("mode = 'return-demonstration'\nunaided = {unaided:?}\n{how}"))
    };
    let signed = ward().event("2026-11-01T10:00", "teaching", &taught("p001-son", "mode = 'attested'"));
    let change = |story: &Story, day: &str| story.event(&format!("{day}T07:00"), "change", "by = 'p001-son'");
    let is_untaught = |story: &Story, day: &str| of(&change(story, day), "untaught", "2026-11-20T12:00") != "none";
    assert!(!is_untaught(&signed, "2026-11-12"));
    for (not, how, suspends) in
        [("hands", "missed", true), ("hands", "prompted", true), ("line-left-alone", "prompted", false)]
    {
        let failed = signed.event("2026-11-10T10:00", "teaching", &demonstration(not, how));
        assert!(!is_untaught(&failed, "2026-11-09"), "{not} {how}");
        assert_eq!(is_untaught(&failed, "2026-11-12"), suspends, "{not} {how}");
        let made_up = failed.event("2026-11-13T10:00", "teaching", &demonstration("", ""));
        assert_eq!(is_untaught(&made_up, "2026-11-12"), suspends, "{not} {how}");
        assert!(!is_untaught(&made_up, "2026-11-14"), "{not} {how}");
        let by = |policy: &str| change(&failed, "2026-11-12").signals_by(policy, "2026-11-20T12:00");
        let off = by("[teaching]\nfailed_suspends = false");
        assert!(!off.iter().any(|line| line.starts_with("untaught")), "{off:?}");
    }
}

#[test]
#[should_panic(expected = "the story has errors")]
fn a_story_with_an_error_fails_its_test() {
    ward().event("2026-11-10T10:00", "shower", "water = 'lava'").signals("2026-11-10T12:00");
}
