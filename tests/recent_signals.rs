//! Files are read backward until no older one can have left a signal open. For records of every shape, at any time,
//! each row must be as if all days of the look-back were read.
//!
//! The households are quiet, with a few incidents at random times: a search that stops too early misses one, or gives
//! it a later start. The policy's look-back is short, so that a history of weeks exceeds it. `EXITSITE_STORIES=1000000
//! cargo test --release --test recent_signals` sets the number of patients and times tested,
//! `EXITSITE_STORIES_FROM=1000` the first draw.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]
#![allow(clippy::print_stdout, reason = "the figures are for a reader of the run")]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Mutex;

use chrono::{NaiveDate, TimeDelta};
use exitsite::chart::{Chart, Window};
use exitsite::day::{AsOf, Instant};
use exitsite::event::Signal;
use exitsite::folder::Folder;
use exitsite::program::Program;
use exitsite::report::due::rows;
use exitsite::report::signals;
use exitsite::word::Word;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// The number of patients of each program, then the number of times tested.
const PATIENTS: u32 = 10;
const MOMENTS: u32 = 40;

/// Draws in which a search once stopped too early, tested in each run: an action named before the look-back period by its
/// time zone; a log from before it and before a long stay elsewhere; a sign-off of the day after a change that another time
/// zone makes the earlier one; a change, by another time zone, before the start of its care day.
const FOUND: [u64; 5] = [1424, 1122, 1614, 1685, 2251];

/// The length of a history in days, across the end of a year.
const DAYS: i64 = 110;

const CLEAN: &str = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\n";

/// The findings of a full look besides those of the score.
const FULL: &str = "odor = false\nwarmth = false\novergranulation = false\nbleeding = false\n";

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
    let untaught = draw.pick(&["", "untaught = { ends_after_days = 20 }\n", "untaught = { ends_after_days = 31 }\n"]);
    let look_back = draw.pick(&["40", "50", "70"]);
    format!(
        "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n\
         [[phase]]\nname = 'ward'\nplace = 'inpatient'\nevery_days = 2\nlook_days = 12\n\
         [[phase]]\nname = 'home'\nevery_days = 3\nlook_days = 30\n\
         [windows]\nfirst_shower_pod = {}\n[reporting]\nlog_days = 15\n\
         [teaching]\nvalid_days = {}\nfailed_suspends = {}\nsign_off_after = {}\n\
         [signals]\nlook_back_days = {look_back}\nimage_counts = {}\n{untaught}\
         away-long = {{ days = 9 }}\nscore-rising = {{ points = {}, within_days = {} }}\n\
         drainage-lasting = {{ days = {}, records = {} }}\nanchor-often-off = {{ times = {}, of_changes = 5 }}\n\
         redness-spreading = {{ mm = {}, within_days = 20 }}\nscore-with-growth = {{ points = 1, within_days = {} }}\n\
         dressing-often-open = {{ times = 2, of_changes = 6 }}\nline-pulled = {{ watch_days = {} }}\n\
         fever = {{ ends_after_days = {}, ends_after_hours = {} }}\n",
        draw.pick(&["0", "28", "60"]),
        draw.pick(&["60", "365", "365"]),
        draw.one_in(2),
        draw.pick(&["1", "2"]),
        draw.one_in(2),
        draw.pick(&["1", "2", "2", "3"]),
        draw.pick(&["10", "30"]),
        draw.pick(&["6", "14"]),
        draw.pick(&["2", "3"]),
        draw.pick(&["1", "2"]),
        draw.pick(&["2", "5"]),
        draw.pick(&["7", "14"]),
        draw.pick(&["0", "7"]),
        draw.pick(&["3", "7"]),
        draw.pick(&["24", "72"]),
    )
}

const PEOPLE: &str = "[[person]]\ncode = 'rn-07'\nrole = 'nurse'\nmay_sign = true\n\
    [[person]]\ncode = 'rn-09'\nrole = 'nurse'\nuntil = 2026-12-10\n\
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

/// Writes the file of an event, with or without a time, now and then in another zone, entered late, amended or voided.
fn write(draw: &mut Draw, folder: &Path, on: NaiveDate, kind: &str, says: &str) {
    let time = (!draw.one_in(6)).then(|| (4 + draw.below(20), draw.below(60)));
    let offset = draw.pick(&["", "", "", "", "", "", "Z", "+13:00", "-11:00"]);
    let when = match time {
        Some((hour, minute)) => format!("at = {on}T{hour:02}:{minute:02}:00{offset}"),
        None => format!("on = {on}"),
    };
    let next = on + TimeDelta::days(1);
    let mut more = String::new();
    if draw.one_in(10) {
        let entered = on + TimeDelta::days(1 + i64::from(draw.below(12)));
        more += &format!("[entered]\nat = {entered}T12:00:00\nby = 'rn-07'\n");
    }
    if draw.one_in(30) {
        more += &format!("[[amended]]\nat = {next}T12:00:00\nby = 'rn-07'\nwhy = 'misheard'\nwas = 'another'\n");
    }
    if draw.one_in(25) {
        more += &format!("[void]\nat = {next}T12:00:00\nby = 'rn-07'\nwhy = 'another patient'\n");
    }
    let time = time.map(|(hour, minute)| format!("T{hour:02}{minute:02}")).unwrap_or_default();
    let year = folder.join(on.format("%Y").to_string());
    fs::create_dir_all(&year).unwrap();
    fs::write(year.join(format!("{on}{time}-{kind}.toml")), format!("kind = '{kind}'\n{when}\n{says}{more}")).unwrap();
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
    if !draw.one_in(9) {
        for who in [son.as_str(), "patient"] {
            let days = if draw.one_in(6) { 140 } else { 30 };
            let on = day(i64::from(draw.below(days)) - 30);
            teach(draw, &folder, on, who, "attested");
        }
    }
    let (is_showered, is_taken, is_quiet) = (draw.one_in(2), draw.one_in(3), draw.one_in(6));
    // From weekly looks in a clinic to none at all.
    let looks_every = [6, 20, 26, 45, 300][draw.below(5) as usize];
    let mut look = i64::from(draw.below(20));
    for n in 0..DAYS {
        if n == look {
            let by = draw.pick(&["rn-07", "rn-07", "rn-07", "rn-09", "md-3"]);
            write_look(draw, &folder, day(n), by, &exit);
            look += 4 + i64::from(draw.below(looks_every));
        }
        if n % 3 == 0 && !draw.one_in(12) {
            let by = if draw.one_in(5) { "patient" } else { son.as_str() };
            let (exit, site) = (exit(draw), if draw.one_in(2) { CLEAN } else { "" });
            write(draw, &folder, day(n), "change", &format!("by = '{by}'\n{exit}[left]\nanchor = 'in-place'\n{site}"));
        }
        if is_showered && n % 5 == 0 {
            let says = "by = 'patient'\ndressing_before = 'intact'\ndressing_after = 'intact'\n";
            write(draw, &folder, day(n), "shower", says);
        }
        if is_taken && n % 4 == 1 {
            let exit = exit(draw);
            let says = format!("by = '{son}'\n{exit}dressing = 'intact'\nanchor = 'in-place'\n");
            write(draw, &folder, day(n), "inspection", &says);
        }
        if household.is_by_log && n % 10 == 0 && n > 10 && !draw.one_in(6) {
            // Now and then the sheet of an earlier time that had been lost.
            let back = if draw.one_in(5) { i64::from(draw.below(30)) } else { 0 };
            let (from, through) = (day(n - 11 - back), day(n - 1 - back));
            let says = format!("by = 'rn-07'\nfrom = {from}\nthrough = {through}\ncomplete = {}\n", !draw.one_in(8));
            write(draw, &folder, day(n), "log", &says);
        }
    }
    for _ in 0..if is_quiet { 0 } else { draw.below(7) } {
        let on = day(i64::from(draw.below(DAYS as u32)));
        let exit = exit(draw);
        trouble(draw, &folder, on, &son, &exit);
    }
}

/// Writes a look by staff, usually complete and without findings.
fn write_look(draw: &mut Draw, folder: &Path, on: NaiveDate, by: &str, exit: &impl Fn(&mut Draw) -> String) {
    let exit = exit(draw);
    let site = match draw.below(10) {
        0 => CLEAN.replace("redness_mm = 0", &format!("redness_mm = {}", draw.pick(&["1", "2", "6", "22"]))) + FULL,
        1 => CLEAN.replace("crust_mm = 0\n", ""),
        2 => CLEAN.to_owned() + &FULL.replace("warmth = false", "warmth = true"),
        3 => CLEAN.replace("drainage = 'none'", "drainage = 'serous'\namount = 'scant'"),
        4 => CLEAN.to_owned(),
        _ => CLEAN.to_owned() + FULL,
    };
    let source = draw.pick(&["", "", "", "", "", "source = 'image'\n"]);
    let kind = draw.pick(&["assessment", "assessment", "change"]);
    let degrees = draw.pick(&["", "", "", "", "temperature_c = 36.9\n"]);
    write(draw, folder, on, kind, &format!("by = '{by}'\n{source}{exit}{site}{degrees}"));
}

/// The steps of the built-in curriculum.
const STEPS: &str = "['hands', 'masks-and-caps', 'old-dressing-off', 'look-at-site', 'sterile-gloves', 'antiseptic-outward', \
    'fresh-applicator', 'let-dry', 'disc-in-place', 'skin-protectant', 'gauze-if-draining', 'sealed-cover', 'anchor-fastened', \
    'look-before-moving', 'change-after-shower']";

fn teach(draw: &mut Draw, folder: &Path, on: NaiveDate, who: &str, mode: &str) {
    let steps = match (mode, draw.one_in(3)) {
        ("attested", _) => String::new(),
        (_, true) => "missed = ['hands']\n".to_owned(),
        (_, false) => format!("unaided = {STEPS}\n"),
    };
    let says = format!(
        "by = 'rn-07'\nlearner = '{who}'\nobserver = 'rn-07'\ncurriculum = 'dressing-change'\nversion = 1\nmode = '{mode}'\n{steps}"
    );
    write(draw, folder, on, "teaching", &says);
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
    match draw.below(18) {
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
            let says = format!("by = 'patient'\n{exit}mechanism = 'snag'\nsite_bleeding = {}\n", draw.one_in(2));
            write(draw, folder, on, "trauma", &says);
        }
        7 => {
            let specimen = draw.pick(&["exit-site", "exit-site", "blood"]);
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
        9 | 10 => {
            let with = draw.pick(&["md-3", "rn-07", "patient", "other"]);
            let signal = Signal::ALL[draw.below(Signal::ALL.len() as u32) as usize].word();
            let about = if draw.one_in(2) { draw.pick(&["signals", "overdue", "log"]) } else { signal };
            let outcome =
                draw.pick(&["advised", "advised", "coming-in", "escalated", "no-answer", "other", "support-ended"]);
            let degrees = draw.pick(&["", "", "temperature_c = 39.0\n", "temperature_c = 36.6\n"]);
            let by_when = if draw.one_in(3) { format!("expect_by = {later}T12:00:00\n") } else { String::new() };
            let says = format!(
                "by = 'rn-07'\nwith = '{with}'\nabout = ['{about}']\noutcome = '{outcome}'\n{by_when}{degrees}"
            );
            write(draw, folder, on, "contact", &says);
        }
        11 => {
            for n in 0..3 {
                let found = draw.pick(&["dressing = 'lifting'\nanchor = 'loose'\n", "anchor = 'absent'\n"]);
                let says = format!("by = '{son}'\n{exit}[found]\n{found}[left]\nanchor = 'in-place'\n");
                write(draw, folder, on + TimeDelta::days(3 * n), "change", &says);
            }
        }
        12 => {
            // A finding that lasts and grows, or that comes and goes.
            let days = i64::from(4 + draw.below(30));
            let step = 2 + i64::from(draw.below(8));
            let grows = draw.one_in(2);
            for n in (0..days).step_by(step as usize) {
                let site = match grows {
                    true => format!("redness_mm = {}\ncrust_mm = {}\n", n / 2, n % 7),
                    false => format!("drainage = '{}'\n", draw.pick(&["serous", "serous", "serosanguineous", "none"])),
                };
                let kind = draw.pick(&["assessment", "change"]);
                write(draw, folder, on + TimeDelta::days(n), kind, &format!("by = '{by}'\n{exit}[site]\n{site}"));
            }
        }
        15 => {
            // A pull between complete looks with more or fewer findings than the one before it.
            let says = format!("by = 'patient'\n{exit}mechanism = 'fall'\n");
            write(draw, folder, on, "trauma", &says);
            for n in [-i64::from(draw.below(40)), 3, 8, 15, 22] {
                if draw.one_in(3) {
                    continue;
                }
                let crust = draw.pick(&["0", "2", "2", "6"]);
                let site = CLEAN.replace("crust_mm = 0", &format!("crust_mm = {crust}"));
                let by = draw.pick(&["rn-07", "rn-07", "md-3", son]);
                write(draw, folder, on + TimeDelta::days(n), "assessment", &format!("by = '{by}'\n{exit}{site}{FULL}"));
            }
        }
        13 => {
            let (who, mode) =
                (draw.pick(&["son", "patient"]), draw.pick(&["return-demonstration", "shown", "attested"]));
            let who = if who == "son" { son.to_owned() } else { who.to_owned() };
            teach(draw, folder, on, &who, mode);
            teach(draw, folder, later, &who, mode);
        }
        14 => {
            let by = draw.pick(&["rn-07", "rn-09", "patient"]);
            write(draw, folder, on, "supply", &format!("by = '{by}'\nitem = 'dressing-kit'\ncounted = 4\n"));
            write(draw, folder, on, "treatment", "by = 'md-3'\nwhat = 'oral-antibiotic'\n");
        }
        _ => {
            // A silence: for a while the household does nothing.
            let days = i64::from(draw.pick(&["12", "12", "30", "60"]).parse::<u8>().unwrap());
            let years = [on, on + TimeDelta::days(days)].map(|day| folder.join(day.format("%Y").to_string()));
            for entry in years.iter().flat_map(|year| fs::read_dir(year).into_iter().flatten()) {
                let path = entry.unwrap().path();
                let name = path.file_name().unwrap().to_string_lossy().into_owned();
                let date: NaiveDate = name[..10].parse().unwrap();
                if (0..days).contains(&(date - on).num_days()) && path.exists() {
                    fs::remove_file(path).unwrap();
                }
            }
        }
    }
}

/// Counts of the cases covered.
#[derive(Default)]
struct Seen {
    asked: usize,
    /// Cases answered with fewer files than all days of the look-back.
    settled: usize,
    /// Those cases that have an open signal.
    settled_open: usize,
    /// Open signals by name: their number, and the number found early with a start weeks before.
    open: BTreeMap<String, (usize, usize)>,
}

/// The windows of each command, then its windows with the whole look-back.
const QUESTIONS: [[&[Window]; 2]; 3] = [
    [&[Window::Signals, Window::Recent], &[Window::LookBack, Window::Recent]],
    [&[Window::Signals, Window::State], &[Window::LookBack, Window::State]],
    [
        &[Window::Signals, Window::Recent, Window::Checkoffs, Window::Supplies { own_use_days: 28 }],
        &[Window::LookBack, Window::Recent, Window::Checkoffs, Window::Supplies { own_use_days: 28 }],
    ],
];

/// The open signals of a chart as text, with `is_list` its rows of the due list as well; and the start of each signal.
fn said(chart: &Chart, program: &Program, is_list: bool) -> (String, Vec<(Signal, Instant)>) {
    let mut open = signals::of_patient(chart).signals.unwrap();
    open.retain(|signal| signal.is_open());
    let is_end_reported = chart.timeline().is_end_reported(program.people.as_ref());
    let rows = if is_list { serde_json::to_string_pretty(&rows(chart)).unwrap() } else { String::new() };
    let signals: Vec<String> = open.iter().map(|signal| format!("{signal:?}\n")).collect();
    let starts = open.iter().map(|signal| (signal.signal, signal.since.instant()));
    (format!("{}\nend reported: {is_end_reported}\n{rows}", signals.concat()), starts.collect())
}

/// A folder in memory if the system has one: a story is read more often than it is written.
fn kept() -> tempfile::TempDir {
    tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR"))).unwrap()
}

fn compare(seed: u64, seen: &Mutex<Seen>) {
    let mut draw = Draw(ChaCha8Rng::seed_from_u64(seed));
    let kept = kept();
    fs::write(kept.path().join("policy.toml"), policy(&mut draw)).unwrap();
    fs::write(kept.path().join("people.toml"), PEOPLE).unwrap();
    for n in 1..=PATIENTS {
        write_patient(&mut draw, kept.path(), &format!("P-{n:03}"));
    }
    let program = Program::open(Folder::find(Some(kept.path()), kept.path()).unwrap()).unwrap();
    assert!(program.problems.is_empty(), "{:?}", program.problems);
    for (code, moment) in program.patients.codes.iter().flat_map(|code| (0..MOMENTS).map(move |moment| (code, moment)))
    {
        let ago = if moment == 0 { 0 } else { i64::from(draw.below(60)) };
        let instant = day(DAYS - ago).and_hms_opt(draw.below(24), 15, 0).unwrap().and_utc();
        let as_of = AsOf { instant, is_given: draw.one_in(2) };
        let question = draw.below(3) as usize;
        let is_list = question == 0 && draw.one_in(2);
        let ask = |windows: &[Window]| {
            let before = program.folder.tally().1;
            let chart = program.chart(code, windows, as_of).unwrap();
            let unread: Vec<_> = chart.unread.problems().collect();
            assert!(unread.is_empty(), "seed {seed} {code}: {unread:?}");
            (said(&chart, &program, is_list), program.folder.tally().1 - before)
        };
        let [few, all] = QUESTIONS[question];
        let ((by_few, open), opened) = ask(few);
        let ((by_all, _), all) = ask(all);
        assert_eq!(by_few, by_all, "seed {seed} {code} as of {as_of:?}: the days looked back over");
        let mut seen = seen.lock().unwrap();
        seen.asked += 1;
        seen.settled += usize::from(opened < all);
        seen.settled_open += usize::from(opened < all && !open.is_empty());
        for (signal, since) in open {
            let count = seen.open.entry(signal.to_string()).or_default();
            count.0 += 1;
            count.1 += usize::from(opened < all && instant - since > TimeDelta::days(21));
        }
    }
}

#[test]
fn what_is_read_for_signals_says_what_all_records_say() {
    let number = |name: &str| std::env::var(name).ok().and_then(|count| count.parse::<u64>().ok());
    let wanted = number("EXITSITE_STORIES").unwrap_or(20_000);
    let first = number("EXITSITE_STORIES_FROM").unwrap_or(0);
    let seen = Mutex::new(Seen::default());
    let each = u64::from(PATIENTS * MOMENTS);
    let seeds = Mutex::new(FOUND.into_iter().chain(first..first + wanted.div_ceil(each)));
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
    println!(
        "{} stories, {} settled, {} of them with open signals: {:?}",
        seen.asked, seen.settled, seen.settled_open, seen.open
    );
    assert!(seen.asked as u64 >= wanted);
    if wanted < 20_000 {
        return;
    }
    // The draw covers the cases that it is meant for: many found early, also with open signals, and signals of every
    // family.
    assert!(seen.settled * 3 > seen.asked, "{} of {} settled", seen.settled, seen.asked);
    assert!(seen.settled_open * 4 > seen.asked, "{} of {} settled with open signals", seen.settled_open, seen.asked);
    for signal in Signal::ALL {
        assert!(seen.open.contains_key(signal.word()), "{signal} is never open: {:?}", seen.open);
    }
}
