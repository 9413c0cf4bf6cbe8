//! Programs with a planted truth: each wet dressing triples the hazard of an infection for 30 days. The 95 % limits of
//! the self-matched rate ratio of wet dressings must cover 3 in 93 to 97 of 100 programs.
//!
//! One program goes through records on disk and `audit --json`; the others are built from their patients' contributions
//! to the report. `EXITSITE_COVERAGE_PROGRAMS` runs more than 200.

use chrono::{NaiveDate, TimeDelta};
use exitsite::audit::{AuditSpan, Cohort, Contribution, Determination, Happening, Precursor};
use exitsite::day::Period;
use exitsite::event::{Certainty, InfectedPart};
use exitsite::folder::Folder;
use exitsite::program::Program;
use exitsite::report::audit::{AuditOptions, Lapse, LapseRatio, Provenance, report};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;

use super::desk::{Desk, NOW};
use super::{audit, infection, nobody, patient};

const RATIO: f64 = 3.0;
const PATIENTS: usize = 60;
const PROGRAMS: u32 = 200;
/// The number of days for which a wet dressing raises the hazard.
const DAYS: usize = 30;
const FIRST: &str = "2023-11-01";

/// The days of the wet dressings and of the onsets of one patient.
struct Course {
    wet: Vec<NaiveDate>,
    onsets: Vec<NaiveDate>,
}

/// The period simulated for every program: 2025, with the year before it and more.
fn days() -> Period {
    Period { from: FIRST.parse().unwrap(), to: "2025-12-31".parse().unwrap() }
}

fn year() -> Period {
    Period { from: "2025-01-01".parse().unwrap(), to: days().to }
}

fn poisson(random: &mut ChaCha8Rng, mean: f64) -> usize {
    let (mut n, mut product) = (0, random.random::<f64>());
    while product > (-mean).exp() {
        product *= random.random::<f64>();
        n += 1;
    }
    n
}

/// Simulates a patient with a rate of wet dressings and a hazard of infection of its own.
fn course(random: &mut ChaCha8Rng) -> Course {
    let wet_a_day = 0.006 + 0.012 * random.random::<f64>();
    let hazard = 0.0003 + 0.0006 * random.random::<f64>();
    let days = days();
    let wet: Vec<usize> = days.days().map(|_| poisson(random, wet_a_day)).collect();
    let mut onsets = Vec::new();
    for n in DAYS..wet.len() {
        let before: usize = wet[n - DAYS..n].iter().sum();
        if random.random::<f64>() < -f64::exp_m1(-hazard * RATIO.powi(before as i32)) {
            onsets.push(days.from + TimeDelta::days(n as i64));
        }
    }
    let each = wet.iter().zip(days.days()).flat_map(|(count, day)| vec![day; *count]);
    Course { wet: each.collect(), onsets }
}

fn courses(seed: u64) -> Vec<Course> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    (0..PATIENTS).map(|_| course(&mut random)).collect()
}

/// One patient as read by the audit, the template of the others.
struct Model {
    program: Program,
    span: AuditSpan,
    one: Contribution,
    _desk: Desk,
}

impl Model {
    fn new() -> Model {
        let desk = nobody();
        patient(&desk, "P-001", FIRST, None);
        let program = Program::open(Folder::find(Some(desk.root()), desk.root()).unwrap()).unwrap();
        let span = AuditSpan::of(year(), "2026-11-24".parse().unwrap(), 400).unwrap();
        let as_of = program.as_of(None, NOW.parse().unwrap()).unwrap();
        let one = Contribution::read(&program, "P-001", as_of, &span).unwrap();
        Model { program, span, one: Contribution { care: None, ..one }, _desk: desk }
    }

    fn patient(&self, n: usize, course: &Course) -> Contribution {
        let infection = |onset: &NaiveDate| Determination {
            file: format!("{onset}"),
            onset: *onset,
            determined: *onset,
            entered: *onset,
            known_at: NOW.parse().unwrap(),
            part: InfectedPart::DrivelineSuperficial,
            certainty: Certainty::Proven,
            organisms: Vec::new(),
            is_recurrence: false,
        };
        let wet = course.wet.iter().filter(|day| self.span.charts.contains(**day));
        Contribution {
            patient: format!("P-{n:03}"),
            infections: course.onsets.iter().map(infection).collect(),
            happenings: Some(wet.map(|day| Happening { day: *day, what: Precursor::WetDressing }).collect()),
            ..self.one.clone()
        }
    }

    /// The wet dressings before infections, as in the report.
    fn wet(&self, courses: &[Course]) -> LapseRatio {
        let all = courses.iter().enumerate().map(|(n, course)| self.patient(n + 1, course)).collect();
        let cohort = Cohort { all, not_counted: Vec::new() };
        let report = report(&cohort, self.program.rules(), Provenance::default(), &self.span, &AuditOptions::default());
        report.lapses.by_lapse.into_iter().find(|one| one.lapse == Lapse::WetDressing).unwrap()
    }
}

#[test]
#[allow(clippy::print_stdout, reason = "the coverage is to be read with --nocapture")]
fn limits_hold_a_planted_ratio_in_93_to_97_of_100_programs() {
    let programs: u32 =
        std::env::var("EXITSITE_COVERAGE_PROGRAMS").map_or(PROGRAMS, |programs| programs.parse().unwrap());
    let model = Model::new();
    let (mut held, mut below, mut above, mut inside, mut logs) = (0, 0, 0, 0, 0.0);
    for program in 0..programs {
        let wet = model.wet(&courses(u64::from(program)));
        let (low, high) = (wet.rate_ratio.low.unwrap(), wet.rate_ratio.high.unwrap());
        held += u32::from(low <= RATIO && RATIO <= high);
        below += u32::from(high < RATIO);
        above += u32::from(low > RATIO);
        inside += wet.before;
        logs += wet.rate_ratio.ratio.unwrap().ln();
    }
    let share = f64::from(held) / f64::from(programs);
    let middle = (logs / f64::from(programs)).exp();
    println!(
        "{held} of {programs} programs hold the planted ratio of {RATIO} ({:.1} %); below it {below}, above it {above}; geometric mean {middle:.2}, {:.1} wet dressings in the 30 days before infections",
        share * 100.0,
        inside as f64 / f64::from(programs)
    );
    assert!((0.93..=0.97).contains(&share), "{held} of {programs}");
    assert!((2.8..3.2).contains(&middle), "{middle}");
}

/// The records of a program on disk give the same result as its patients' contributions, and the limits cover the
/// planted ratio.
#[test]
fn a_planted_ratio_comes_out_of_records() {
    let courses = courses(0);
    let desk = nobody();
    for (n, course) in courses.iter().enumerate() {
        let code = format!("P-{:03}", n + 1);
        patient(&desk, &code, FIRST, None);
        for (at, day) in course.wet.iter().enumerate() {
            let time = format!("{:02}:{:02}", 8 + at / 60, at % 60);
            desk.put(
                &format!("patients/{code}/{}/{day}T{}-inspection.toml", day.format("%Y"), time.replace(':', "")),
                &format!(
                    "kind = 'inspection'\nat = {day}T{time}:00\nby = 'rn-07'\nsource = 'seen'\ndressing = 'wet'\n"
                ),
            );
        }
        for onset in &course.onsets {
            infection(&desk, &code, &onset.to_string());
        }
    }
    let report = audit(&desk, &["--year", "2025"]);
    let lapses = report["lapses"]["by_lapse"].as_array().unwrap();
    let found = lapses.iter().find(|one| one["lapse"] == "wet-dressing").unwrap();
    let model = serde_json::to_value(Model::new().wet(&courses)).unwrap();
    assert_eq!(*found, model);
    let limit = |name: &str| found["rate_ratio"][name].as_f64().unwrap();
    assert!(limit("low") <= RATIO && RATIO <= limit("high"), "{found}");
    let truth: usize =
        courses.iter().flat_map(|course| &course.onsets).filter(|onset| year().contains(**onset)).count();
    assert_eq!(report["infections"]["events"], Value::from(truth));
}
