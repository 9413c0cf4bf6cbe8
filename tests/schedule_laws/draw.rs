//! Random programs: a policy, patients with their courses, records.

use std::fs;
use std::path::Path;

use chrono::{Duration, NaiveDate};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::naive::{Instant, Policy};

/// The number of patients of each program.
const PATIENTS: u32 = 6;

struct Draw(ChaCha8Rng);

impl Draw {
    fn below(&mut self, n: u32) -> i64 {
        i64::from(self.0.next_u32() % n)
    }

    fn one_in(&mut self, n: u32) -> bool {
        self.below(n) == 0
    }

    fn pick<'a>(&mut self, words: &[&'a str]) -> &'a str {
        words[self.below(words.len() as u32) as usize]
    }

    /// A key with one of its words, or an empty text.
    fn maybe(&mut self, one_in: u32, key: &str, words: &[&str]) -> String {
        if self.one_in(one_in) { format!("{key} = '{}'\n", self.pick(words)) } else { String::new() }
    }
}

/// A day of the draw. The clocks go forward on March 8.
fn day(n: i64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 2, 1).unwrap() + Duration::days(n)
}

/// The instants at which a program is queried.
pub(crate) fn moments(seed: u64) -> Vec<Instant> {
    let mut draw = Draw(ChaCha8Rng::seed_from_u64(seed ^ 0xa5a5));
    let mut moment = |first: i64, days: u32| {
        let minute = draw.below(24 * 60);
        day(first + draw.below(days)).and_hms_opt(0, 0, 0).unwrap().and_utc() + Duration::minutes(minute)
    };
    vec![moment(5, 30), moment(35, 25), moment(60, 20), moment(80, 60)]
}

/// An instant years after a program's last record.
pub(crate) fn far(seed: u64) -> Instant {
    let mut draw = Draw(ChaCha8Rng::seed_from_u64(seed ^ 0x5a5a));
    day(400 + draw.below(30 * 365)).and_hms_opt(20, 0, 0).unwrap().and_utc()
}

/// Writes a program to a folder.
pub(crate) fn program(records: &Path, seed: u64) -> Policy {
    let mut draw = Draw(ChaCha8Rng::seed_from_u64(seed));
    let policy = Policy {
        after_days: 1 + draw.below(3),
        judged_days: draw.below(5),
        log_days: [7, 21, 35][draw.below(3) as usize],
        shower_hours: [2, 2, 40][draw.below(3) as usize],
        damage_hours: [2, 4, 60][draw.below(3) as usize],
        // Its clocks move by half an hour, and on other dates than in Chicago.
        zone: if seed.is_multiple_of(3) { chrono_tz::Australia::Lord_Howe } else { chrono_tz::America::Chicago },
    };
    let text = format!(
        "schema = 1\nprogram = 'Invented'\ntime_zone = '{}'\n[windows]\nafter_shower_hours = {}\nafter_damage_hours = {}\n\
         [reporting]\nlog_days = {}\n[returns]\nafter_days = {}\njudged_days = {}\n",
        policy.zone, policy.shower_hours, policy.damage_hours, policy.log_days, policy.after_days, policy.judged_days
    );
    fs::write(records.join("policy.toml"), text).unwrap();
    let people = "[[person]]\ncode = 'rn-07'\nrole = 'nurse'\n[[person]]\ncode = 'md-3'\nrole = 'physician'\n";
    fs::write(records.join("people.toml"), people).unwrap();
    for n in 1..=PATIENTS {
        let folder = records.join("patients").join(format!("P-{n:03}"));
        fs::create_dir_all(&folder).unwrap();
        let has_second = draw.one_in(4);
        fs::write(folder.join("patient.toml"), course(&mut draw, &format!("P-{n:03}"), has_second)).unwrap();
        for _ in 0..draw.below(60) {
            record(&mut draw, &folder, has_second);
        }
    }
    policy
}

fn course(draw: &mut Draw, code: &str, has_second: bool) -> String {
    let implanted = draw.below(15);
    let mut text = format!("code = '{code}'\nimplanted = {}\n", day(implanted));
    let begins = implanted + draw.below(30);
    if draw.one_in(3) && begins > implanted {
        text += &format!("records_from = {}\ninfections_before = 'unknown'\n", day(begins));
        if !draw.one_in(3) {
            text += &format!("last_change_before = {}\n", day(begins - 1 - draw.below(12)));
        }
    }
    let until = if draw.one_in(5) { format!("until = {}\n", day(40 + draw.below(40))) } else { String::new() };
    let exit = |id: &str, from: i64, until: &str| {
        format!("[[exit]]\nid = '{id}'\nwhere = 'other'\nwhy = 'implant'\nfrom = {}\n{until}", day(from))
    };
    text += &exit("a", implanted, &until);
    if has_second {
        text += &exit("b", implanted + draw.below(60), "");
    }
    let mut from = implanted;
    while from < 90 {
        let places: &[&str] =
            &["'inpatient'", "'home'", "'home'\nreports = 'log'", "'home'\nreports = 'log'", "'elsewhere'"];
        let place = draw.pick(places);
        let zone = draw.maybe(5, "time_zone", &["America/Denver", "America/New_York", "Asia/Tokyo"]);
        text += &format!("[[care]]\nfrom = {}\nplace = {place}\n{zone}", day(from));
        // Short runs elsewhere test the limit at which a run becomes a stay.
        from += if place == "'elsewhere'" { 1 + draw.below(4) } else { 2 + draw.below(25) };
    }
    for _ in 0..draw.below(3) {
        let until = if draw.one_in(2) { format!("until = {}\n", day(90)) } else { String::new() };
        let says = match draw.below(3) {
            0 => format!("every_days = {}", 1 + draw.below(12)),
            1 => format!("on_weekdays = ['{}']\nmin_days = {}", draw.pick(&["mon", "thu", "sun"]), 1 + draw.below(6)),
            _ => format!("on_weekdays = ['tue', '{}']", draw.pick(&["wed", "fri", "sat"])),
        };
        text += &format!("[[order]]\nby = 'md-3'\nfrom = {}\n{until}{says}\n", day(draw.below(80)));
    }
    if draw.one_in(8) {
        text += &format!("[ended]\nwhy = 'transplant'\non = {}\n", day(50 + draw.below(50)));
    }
    text + "[[caregiver]]\ncode = 'p001-son'\n"
}

fn record(draw: &mut Draw, folder: &Path, has_second: bool) {
    const DRESSING: &[&str] = &["intact", "wet", "lifting", "off"];
    const ANCHOR: &[&str] = &["in-place", "loose"];
    let kind = draw.pick(&[
        "change",
        "change",
        "change",
        "change",
        "shower",
        "inspection",
        "trauma",
        "contact",
        "contact",
        "log",
    ]);
    let on = day(draw.below(95));
    // No time between 01:00 and 02:59, which some nights skip or repeat.
    let time = (!draw.one_in(3)).then(|| (draw.below(24), draw.below(60))).filter(|(hour, _)| !matches!(hour, 1 | 2));
    let offset = if draw.one_in(8) { draw.pick(&["-10:00", "+05:30", "+13:00"]) } else { "" };
    let mut text = match time {
        Some((hour, minute)) => format!("kind = '{kind}'\nat = {on}T{hour:02}:{minute:02}:00{offset}\nby = 'rn-07'\n"),
        None => format!("kind = '{kind}'\non = {on}\nby = 'rn-07'\n"),
    };
    text += &draw.maybe(3, "source", &["told", "log"]);
    if has_second && matches!(kind, "change" | "inspection" | "trauma") {
        text += &format!("exit = '{}'\n", draw.pick(&["a", "b"]));
    }
    match kind {
        "change" => {
            text += &draw.maybe(2, "reason", &["scheduled", "after-shower", "wet", "site-concern", "other"]);
            text += "[left]\n";
            text += &draw.maybe(4, "anchor", ANCHOR);
            text += &draw.maybe(5, "dressing", DRESSING);
        }
        "shower" => text += &draw.maybe(4, "dressing_after", DRESSING),
        "inspection" | "trauma" => {
            text += &draw.maybe(2, "dressing", DRESSING);
            text += &draw.maybe(3, "anchor", ANCHOR);
        }
        "contact" => {
            let outcome = draw.pick(&["will-change", "coming-in", "advised", "no-answer"]);
            let with = draw.pick(&["patient", "p001-son", "md-3", "other"]);
            text += &format!("with = '{with}'\nabout = ['overdue']\noutcome = '{outcome}'\n");
            if draw.one_in(2) {
                text += &format!("expect_by = {}T20:00:00\n", on + Duration::days(draw.below(6)));
            }
        }
        _ => {
            let through = on - Duration::days(1 + draw.below(12));
            let from = through - Duration::days(draw.below(40));
            text += &format!("from = {from}\nthrough = {through}\ncomplete = {}\n", !draw.one_in(4));
        }
    }
    if draw.one_in(12) {
        text += &format!("[void]\nat = {}T12:00:00\nby = 'rn-07'\nwhy = 'another patient'\n", on + Duration::days(1));
    }
    let year = folder.join(on.format("%Y").to_string());
    fs::create_dir_all(&year).unwrap();
    let time = time.map(|(hour, minute)| format!("T{hour:02}{minute:02}")).unwrap_or_default();
    fs::write(year.join(format!("{on}{time}-{kind}.toml")), text).unwrap();
}
