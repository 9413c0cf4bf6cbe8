//! Files are read back until no signal can be open by an older one. Over records of every shape, at any moment, each row must
//! be what it is when all the days over which signals look back are read.
//!
//! Quiet households, with a few troubles, each anywhere: a search that stops too early misses one. The policy is small, so that
//! a history of weeks is longer than what signals look back over. `EXITSITE_STORIES=1000000 cargo test --release --test
//! recent_signals` asks for as many patients and moments as are wanted.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Mutex;

use chrono::{NaiveDate, TimeDelta};
use exitsite::ask;
use exitsite::chart::Window;
use exitsite::day::AsOf;
use exitsite::folder::Folder;
use exitsite::program::Program;
use exitsite::report::due::{Row, rows};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Patients of each program, and the moments that are asked about.
const PATIENTS: u32 = 25;
const MOMENTS: usize = 8;

/// The days of a history, over the end of a year.
const DAYS: i64 = 110;

const CLEAN: &str = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\n";

struct Draw(ChaCha8Rng);

impl Draw {
    fn below(&mut self, n: u32) -> u32 {
        self.0.next_u32() % n
    }

    fn one_in(&mut self, n: u32) -> bool {
        self.below(n) == 0
    }

    fn pick<'a>(&mut self, words: &[&'a str]) -> &'a str {
        words[self.below(words.len() as u32) as usize]
    }
}

fn day(n: i64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 10, 1).unwrap() + TimeDelta::days(n)
}

fn policy(draw: &mut Draw) -> String {
    let untaught = draw.pick(&["", "", "untaught = { ends_after_days = 20 }\n"]);
    let look_back = draw.pick(&["45", "60", "80"]);
    format!(
        "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n\
         [[phase]]\nname = 'ward'\nplace = 'inpatient'\nevery_days = 2\nlook_days = 12\n\
         [[phase]]\nname = 'home'\nevery_days = 3\nlook_days = 30\n\
         [windows]\nfirst_shower_pod = {}\n[reporting]\nlog_days = 15\n\
         [signals]\nlook_back_days = {look_back}\nimage_counts = {}\n{untaught}\
         away-long = {{ days = 9 }}\nscore-rising = {{ points = {}, within_days = {} }}\n\
         dressing-often-open = {{ times = 2, of_changes = 6 }}\nfever = {{ ends_after_days = {} }}\n",
        draw.pick(&["0", "28", "60"]),
        draw.one_in(2),
        draw.pick(&["1", "2", "2", "3"]),
        draw.pick(&["10", "30"]),
        draw.pick(&["3", "7"]),
    )
}

const PEOPLE: &str = "[[person]]\ncode = 'rn-07'\nrole = 'nurse'\nmay_sign = true\n\
    [[person]]\ncode = 'md-3'\nrole = 'physician'\n";

struct Household {
    has_second: bool,
    is_by_log: bool,
}

fn course(draw: &mut Draw, code: &str, household: &Household) -> String {
    let first = -i64::from(draw.below(40));
    let mut text = format!("code = '{code}'\nimplanted = {}\n", day(first));
    let mut exit = |id: &str, from: NaiveDate, says: &str| {
        text += &format!("[[exit]]\nid = '{id}'\nwhere = 'other'\nfrom = {from}\nwhy = 'implant'\n{says}");
    };
    let until = if household.has_second && draw.one_in(3) { format!("until = {}\n", day(60)) } else { String::new() };
    exit("a", day(first), &until);
    if household.has_second {
        exit("b", day(if until.is_empty() { i64::from(draw.below(60)) } else { 60 }), "");
    }
    let reports = if household.is_by_log { "reports = 'log'\n" } else { "" };
    let zone = if draw.one_in(4) { "time_zone = 'Pacific/Auckland'\n" } else { "" };
    text += &format!("[[care]]\nfrom = {}\nplace = 'inpatient'\n", day(first));
    text += &format!("[[care]]\nfrom = {}\nplace = 'home'\n{reports}{zone}", day(first + 5));
    if draw.one_in(5) {
        let away = 20 + i64::from(draw.below(80));
        text += &format!("[[care]]\nfrom = {}\nplace = 'elsewhere'\n", day(away));
        text += &format!("[[care]]\nfrom = {}\nplace = 'home'\n{reports}", day(away + 1 + i64::from(draw.below(20))));
    }
    if draw.one_in(4) {
        let from = i64::from(draw.below(DAYS as u32));
        text +=
            &format!("[[order]]\nfrom = {}\nuntil = {}\nno_showers = true\nby = 'md-3'\n", day(from), day(from + 20));
    }
    text += &format!("[[caregiver]]\ncode = '{}-son'\nrelation = 'son'\n", code.to_lowercase());
    if draw.one_in(20) {
        text += &format!("[ended]\non = {}\nwhy = 'transplant'\nby = 'md-3'\n", day(70 + i64::from(draw.below(40))));
    }
    text
}

/// A file of an event, at a time of its day or without one, now and then by another clock.
fn write(draw: &mut Draw, folder: &Path, on: NaiveDate, kind: &str, says: &str) {
    let time = (!draw.one_in(6)).then(|| (4 + draw.below(20), draw.below(60)));
    let offset = draw.pick(&["", "", "", "", "", "", "Z", "+13:00", "-11:00"]);
    let when = match time {
        Some((hour, minute)) => format!("at = {on}T{hour:02}:{minute:02}:00{offset}"),
        None => format!("on = {on}"),
    };
    let void = match draw.one_in(25) {
        true => format!("[void]\nat = {}T12:00:00\nby = 'rn-07'\nwhy = 'another patient'\n", on + TimeDelta::days(1)),
        false => String::new(),
    };
    let time = time.map(|(hour, minute)| format!("T{hour:02}{minute:02}")).unwrap_or_default();
    let year = folder.join(on.format("%Y").to_string());
    fs::create_dir_all(&year).unwrap();
    fs::write(year.join(format!("{on}{time}-{kind}.toml")), format!("kind = '{kind}'\n{when}\n{says}{void}")).unwrap();
}

fn write_patient(draw: &mut Draw, records: &Path, code: &str) {
    let folder = records.join("patients").join(code);
    fs::create_dir_all(&folder).unwrap();
    let household = Household { has_second: draw.one_in(5), is_by_log: draw.one_in(4) };
    fs::write(folder.join("patient.toml"), course(draw, code, &household)).unwrap();
    let son = format!("{}-son", code.to_lowercase());
    let exit = |draw: &mut Draw| match household.has_second {
        true => format!("exit = '{}'\n", draw.pick(&["a", "b"])),
        false => String::new(),
    };
    let full = "odor = false\nwarmth = false\novergranulation = false\nbleeding = false\n";
    if !draw.one_in(4) {
        for who in [son.as_str(), "patient"] {
            let says = format!(
                "by = 'rn-07'\nlearner = '{who}'\nobserver = 'rn-07'\ncurriculum = 'dressing-change'\nversion = 1\nmode = 'attested'\n"
            );
            let on = day(i64::from(draw.below(30)) - 30);
            write(draw, &folder, on, "teaching", &says);
        }
    }
    let (is_showered, is_taken) = (draw.one_in(2), draw.one_in(3));
    let mut look = i64::from(draw.below(20));
    for n in 0..DAYS {
        if n == look {
            let exit = exit(draw);
            write(draw, &folder, day(n), "assessment", &format!("by = 'rn-07'\n{exit}{CLEAN}{full}"));
            look += 6 + i64::from(draw.below(26));
        }
        if n % 3 == 0 && !draw.one_in(12) {
            let by = if draw.one_in(5) { "patient" } else { son.as_str() };
            let (exit, site) = (exit(draw), if draw.one_in(2) { CLEAN } else { "" });
            write(draw, &folder, day(n), "change", &format!("by = '{by}'\n{exit}[left]\nanchor = 'in-place'\n{site}"));
        }
        if is_showered && n % 5 == 0 {
            write(
                draw,
                &folder,
                day(n),
                "shower",
                "by = 'patient'\ndressing_before = 'intact'\ndressing_after = 'intact'\n",
            );
        }
        if is_taken && n % 4 == 1 {
            let exit = exit(draw);
            write(
                draw,
                &folder,
                day(n),
                "inspection",
                &format!("by = '{son}'\n{exit}dressing = 'intact'\nanchor = 'in-place'\n"),
            );
        }
        if household.is_by_log && n % 10 == 0 && n > 10 && !draw.one_in(6) {
            let says = format!("by = 'rn-07'\nfrom = {}\nthrough = {}\ncomplete = true\n", day(n - 11), day(n - 1));
            write(draw, &folder, day(n), "log", &says);
        }
    }
    for _ in 0..draw.below(5) {
        let on = day(i64::from(draw.below(DAYS as u32)));
        let exit = exit(draw);
        trouble(draw, &folder, on, &son, &exit);
    }
}

fn trouble(draw: &mut Draw, folder: &Path, on: NaiveDate, son: &str, exit: &str) {
    let by = match draw.pick(&["rn-07", "son", "patient"]) {
        "son" => son.to_owned(),
        other => other.to_owned(),
    };
    let source = draw.pick(&["", "", "source = 'told'\n", "source = 'image'\n"]);
    let site = draw.pick(&[
        "drainage = 'purulent'\n",
        "drainage = 'serous'\n",
        "drainage = 'serous'\namount = 'large'\n",
        "redness_mm = 25\n",
        "redness_mm = 6\n",
        "redness_mm = 2\n",
        "swelling = 'tunnel'\npain = 'severe'\n",
        "pain = 'slight'\n",
        "bleeding = true\n",
        "overgranulation = true\n",
        "odor = true\n",
        "temperature_c = 38.6\n",
        "temperature_c = 36.8\n",
        "drainage = 'none'\n",
        "drainage = 'serous'\nredness_mm = 3\nswelling = 'exit'\ncrust_mm = 6\npain = 'slight'\n",
        "drainage = 'none'\nredness_mm = 2\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\n",
    ]);
    let later = on + TimeDelta::days(i64::from(draw.below(25)));
    match draw.below(12) {
        0..4 => {
            let says = format!("by = '{by}'\n{source}{exit}[site]\n{site}");
            let kind = draw.pick(&["assessment", "assessment", "change"]);
            write(draw, folder, on, kind, &says);
        }
        4 => {
            let water = draw.pick(&["shower", "bath", "pool"]);
            let before = draw.pick(&["", "dressing_before = 'lifting'\n", "dressing_before = 'intact'\n"]);
            let after = draw.pick(&["", "dressing_after = 'wet'\n", "anchor = 'loose'\n"]);
            write(draw, folder, on, "shower", &format!("by = 'patient'\nwater = '{water}'\n{before}{after}"));
        }
        5 => {
            let says =
                draw.pick(&["dressing = 'wet'\n", "dressing = 'off'\nanchor = 'absent'\n", "anchor = 'loose'\n"]);
            write(draw, folder, on, "inspection", &format!("by = '{son}'\n{exit}{says}"));
        }
        6 => {
            let bleeds = draw.one_in(2);
            write(
                draw,
                folder,
                on,
                "trauma",
                &format!("by = 'patient'\n{exit}mechanism = 'snag'\nsite_bleeding = {bleeds}\n"),
            );
        }
        7 => {
            let specimen = draw.pick(&["exit-site", "blood"]);
            let growth = draw.one_in(2);
            let result = match draw.one_in(4) {
                true => String::new(),
                false => format!("[result]\non = {later}\ngrowth = {growth}\n"),
            };
            write(draw, folder, on, "culture", &format!("by = 'rn-07'\nspecimen = '{specimen}'\n{result}"));
        }
        8 => {
            let says = format!("by = 'md-3'\npart = 'driveline-superficial'\ncertainty = 'proven'\nonset = {on}\n");
            write(draw, folder, on, "infection", &says);
        }
        9 => {
            let with = draw.pick(&["md-3", "patient", "other"]);
            let about = draw.pick(&["signals", "fever", "culture-growth", "untaught", "shower-unchecked", "overdue"]);
            let outcome = draw.pick(&["advised", "coming-in", "escalated", "no-answer", "support-ended"]);
            let degrees = draw.pick(&["", "", "temperature_c = 39.0\n"]);
            let says = format!("by = 'rn-07'\nwith = '{with}'\nabout = ['{about}']\noutcome = '{outcome}'\n{degrees}");
            write(draw, folder, on, "contact", &says);
        }
        10 => {
            for n in 0..3 {
                let says = format!(
                    "by = '{son}'\n{exit}[found]\ndressing = 'lifting'\nanchor = 'loose'\n[left]\nanchor = 'in-place'\n"
                );
                write(draw, folder, on + TimeDelta::days(3 * n), "change", &says);
            }
        }
        _ => {
            // A silence: nothing that the household does for a while.
            for entry in fs::read_dir(folder.join(on.format("%Y").to_string())).into_iter().flatten() {
                let path = entry.unwrap().path();
                let name = path.file_name().unwrap().to_string_lossy().into_owned();
                let date: NaiveDate = name[..10].parse().unwrap();
                if (0..12).contains(&(date - on).num_days()) {
                    fs::remove_file(path).unwrap();
                }
            }
        }
    }
}

/// Counts of what the draw reached.
#[derive(Default)]
struct Seen {
    asked: usize,
    settled: usize,
    open: BTreeMap<String, usize>,
}

fn text(value: &impl serde::Serialize) -> String {
    serde_json::to_string_pretty(value).unwrap()
}

fn compare(seed: u64, seen: &Mutex<Seen>) {
    let mut draw = Draw(ChaCha8Rng::seed_from_u64(seed));
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    fs::write(kept.path().join("policy.toml"), policy(&mut draw)).unwrap();
    fs::write(kept.path().join("people.toml"), PEOPLE).unwrap();
    for n in 1..=PATIENTS {
        write_patient(&mut draw, kept.path(), &format!("P-{n:03}"));
    }
    let program = Program::open(Folder::find(Some(kept.path()), kept.path()).unwrap()).unwrap();
    assert!(program.problems.is_empty(), "{:?}", program.problems);
    for moment in 0..MOMENTS {
        let ago = if moment == 0 { 0 } else { i64::from(draw.below(60)) };
        let hour = draw.below(24);
        let instant = day(DAYS - ago).and_hms_opt(hour, 15, 0).unwrap().and_utc();
        let as_of = AsOf { instant, is_given: draw.one_in(2) };
        for code in &program.patients.codes {
            let ask = |windows: &[Window]| -> (Vec<Row>, usize) {
                let before = program.folder.tally().1;
                let chart = program.chart(code, windows, as_of).unwrap();
                assert!(chart.unread.is_empty(), "seed {seed} {code}: {:?}", chart.unread);
                (rows(&chart), program.folder.tally().1 - before)
            };
            let (few, opened) = ask(&ask::DUE);
            let (back, all) = ask(&[Window::LookBack, Window::Recent]);
            assert_eq!(text(&few), text(&back), "seed {seed} {code} as of {as_of:?}: the days looked back over");
            let mut seen = seen.lock().unwrap();
            seen.asked += 1;
            seen.settled += usize::from(opened < all);
            for signal in few.iter().filter_map(Row::site).flat_map(|row| row.signals.iter().flatten()) {
                *seen.open.entry(signal.name.to_string()).or_default() += 1;
            }
        }
    }
}

#[test]
fn what_is_read_for_signals_says_what_all_records_say() {
    let wanted: usize = std::env::var("EXITSITE_STORIES").ok().and_then(|count| count.parse().ok()).unwrap_or(4_000);
    let first: u64 = std::env::var("EXITSITE_STORIES_FROM").ok().and_then(|seed| seed.parse().ok()).unwrap_or(0);
    let seen = Mutex::new(Seen::default());
    let each = (PATIENTS as usize) * MOMENTS;
    let seeds = Mutex::new(first..first + u64::try_from(wanted.div_ceil(each)).unwrap());
    let next = || seeds.lock().unwrap().next();
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while let Some(seed) = next() {
                    compare(seed, &seen);
                }
            });
        }
    });
    let seen = seen.into_inner().unwrap();
    assert!(seen.asked >= wanted);
    if wanted < 3_000 {
        return;
    }
    // The draw reaches what it is for: many that are settled early, and signals of every family.
    assert!(seen.settled * 4 > seen.asked, "{} of {} settled", seen.settled, seen.asked);
    let reached = [
        "pus",
        "redness-wide",
        "fever",
        "line-pulled",
        "immersed",
        "anchor-off",
        "water-at-site",
        "culture-growth",
        "score-rising",
        "overgranulation",
        "changes-missed",
        "not-looked-at",
        "untaught",
        "shower-unchecked",
        "log-late",
    ];
    for name in reached {
        assert!(seen.open.contains_key(name), "{name} is never open: {:?}", seen.open);
    }
}
