//! Writes an invented program of any size and length from a seed, and the truth about it in a second file.
//!
//! ```sh
//! cargo run --release --example simulate -- --patients 80 --years 1 --seed 7 --until 2026-11-24 --out /tmp/program
//! ```
//!
//! `/tmp/program` is a records folder; `/tmp/program.truth.json` lists, for every exit site, the last change, the
//! missed and late changes, the wet dressings and showers without a change, and the state on the morning of `--until`
//! at 07:15. Equal arguments give equal bytes.
//!
//! Left out on purpose: the library's calculations, so that the truth checks them; and real patients: none of this data
//! comes from one.

mod record;
mod ending;
mod course;
mod life;
mod site;
mod staff;
mod entry;
mod ward;
mod befall;
mod home;
mod diary;
mod truth;
mod folder;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use chrono::{Datelike, NaiveDate};
use chrono_tz::Tz;
use clap::Parser;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use serde_json::{Value, json};

use course::{Course, days_between, moment_in, shift};
use ending::Kind;
use life::Program;
use staff::Staff;
use truth::Expected;

/// Writes an invented program of driveline exit-site records, and a file with the truth about it
#[derive(Parser)]
struct Args {
    /// Number of patients
    #[arg(long, default_value_t = 80, value_parser = clap::value_parser!(u32).range(1..=9999))]
    patients: u32,
    /// Length of most histories, in years before --until
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=20))]
    years: u32,
    /// Seed of the random numbers; equal seeds give equal programs
    #[arg(long, default_value_t = 7)]
    seed: u64,
    /// Morning of the truth file's states; the records end before 07:15 of it
    #[arg(long, value_parser = morning)]
    until: NaiveDate,
    /// Records folder to write: new, or empty
    #[arg(long)]
    out: PathBuf,
    /// Amount of trouble planted
    #[arg(long, value_enum, default_value_t = Kind::Stable)]
    kind: Kind,
}

/// Parses a day. The range keeps the records of the 20 years before it within the dates of care that the tool accepts.
fn morning(text: &str) -> Result<NaiveDate, String> {
    let day: NaiveDate = text.parse().map_err(|_| "write a day, as in 2026-11-24".to_owned())?;
    if (2015..=2190).contains(&day.year()) { Ok(day) } else { Err("write a day from 2015 to 2190".to_owned()) }
}

/// One patient's part of the truth file, and the counts for the summary.
struct Told {
    truth: Value,
    states: Vec<Expected>,
    kinds: BTreeMap<&'static str, usize>,
    device_days: i64,
}

#[allow(clippy::print_stdout, clippy::print_stderr)] // the only place that prints
fn main() -> ExitCode {
    match simulate(&Args::parse()) {
        Ok(summary) => {
            println!("{summary}");
            ExitCode::SUCCESS
        }
        Err(failure) => {
            eprintln!("{failure}");
            ExitCode::from(2)
        }
    }
}

fn simulate(args: &Args) -> Result<String, String> {
    let truth_file = lay_out(&args.out)?;
    let program =
        Program { kind: args.kind, years: i64::from(args.years), morning: args.until, zone: Tz::America__Chicago };
    let mut rng = ChaCha8Rng::seed_from_u64(args.seed);
    let plans = ending::deal(args.kind, args.patients as usize, &mut rng);
    let courses: Vec<(Course, ChaCha8Rng)> = (1..)
        .zip(plans)
        .map(|(number, plan)| {
            let mut rng = rng_of(args.seed, number);
            (life::plan_course(&program, number, plan, &mut rng), rng)
        })
        .collect();
    let first = courses.iter().map(|(course, _)| course.implanted).min().unwrap_or(args.until);
    let staff = Staff::of(courses.len(), shift(first, -90));
    write_program(args, &program, &staff, &mut rng)?;
    let told: Vec<Told> = courses
        .into_par_iter()
        .map(|(course, rng)| write_patient(&args.out, &course, &staff, rng))
        .collect::<Result<_, _>>()?;
    let (truth, summary) = sum_up(args, &program, told);
    folder::write(&truth_file, &format!("{truth:#}\n"))?;
    Ok(format!("{summary}; the truth is in {}", truth_file.display()))
}

/// Creates the records folder and returns the path of the truth file. Fails if the folder is not empty.
fn lay_out(out: &Path) -> Result<PathBuf, String> {
    let name = out.file_name().ok_or_else(|| format!("{} has no name of its own; name a new folder", out.display()))?;
    if fs::read_dir(out).is_ok_and(|mut entries| entries.next().is_some()) {
        return Err(format!("{} is not empty; name a folder that is new", out.display()));
    }
    folder::make(out)?;
    let mut name = name.to_owned();
    name.push(".truth.json");
    Ok(out.with_file_name(name))
}

/// Returns a random number generator of the patient's own, so that the order of writing does not matter.
fn rng_of(seed: u64, number: usize) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(number as u64);
    rng
}

fn write_program(args: &Args, program: &Program, staff: &Staff, rng: &mut ChaCha8Rng) -> Result<(), String> {
    folder::write(&args.out.join("policy.toml"), &folder::policy(args.seed, program.zone))?;
    folder::write(&args.out.join("people.toml"), &staff.to_toml())?;
    for (code, checkoffs) in staff.checkoffs(program.zone, program.morning, rng) {
        folder::write_events(&args.out.join("staff").join(code), &folder::name(checkoffs))?;
    }
    Ok(())
}

fn write_patient(out: &Path, course: &Course, staff: &Staff, rng: ChaCha8Rng) -> Result<Told, String> {
    let (events, planted) = diary::live(course, staff, rng);
    let filed = folder::name(events);
    let (truth, states) = truth::tell(course, &filed, &planted);
    let is_as_planned = |it: &Expected| course.plan.expected.contains(&(it.state, it.because));
    if let Some(other) = states.iter().find(|it| !is_as_planned(it)) {
        let (code, name) = (&course.code, course.plan.name);
        return Err(format!("the plan of {code} was {name}, but it came out {} ({})", other.state, other.because));
    }
    let home = out.join("patients").join(&course.code);
    folder::make(&home)?;
    folder::write(&home.join("patient.toml"), &folder::patient(course))?;
    folder::write_events(&home, &filed)?;
    let mut kinds = BTreeMap::new();
    filed.iter().for_each(|(_, event)| *kinds.entry(event.kind).or_default() += 1);
    let end = course.ended.map_or(shift(course.morning, 1), |(on, _)| on);
    Ok(Told { truth, states, kinds, device_days: days_between(course.records_from, end) })
}

fn sum_up(args: &Args, program: &Program, told: Vec<Told>) -> (Value, String) {
    let mut by_state: BTreeMap<&str, usize> = BTreeMap::new();
    let mut by_kind: BTreeMap<&str, usize> = BTreeMap::new();
    for patient in &told {
        patient.states.iter().for_each(|expected| *by_state.entry(expected.state).or_default() += 1);
        patient.kinds.iter().for_each(|(kind, count)| *by_kind.entry(kind).or_default() += count);
    }
    let events: usize = by_kind.values().sum();
    let device_days: i64 = told.iter().map(|patient| patient.device_days).sum();
    let summary = format!("{} patients, {device_days} device-days, {events} events: {by_state:?}", told.len());
    let truth = json!({
        "seed": args.seed,
        "kind": format!("{:?}", program.kind).to_lowercase(),
        "years": args.years,
        "as_of": moment_in(program.zone, program.morning, truth::ASKED_AT).to_rfc3339(),
        "time_zone": program.zone.name(),
        "device_days": device_days,
        "events": events,
        "events_by_kind": by_kind,
        "exits_by_state": by_state,
        "patients": told.into_iter().map(|patient| patient.truth).collect::<Vec<_>>(),
    });
    (truth, summary)
}
