//! The cost of running a command: wall time, processor time including its children, and peak memory; and the simulated
//! program for the benches.

#![allow(dead_code, reason = "each bench uses its part")]

use std::fs::read_to_string;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// The `as_of` of the commands.
pub(crate) const AS_OF: &str = "2026-11-24T07:15";

/// The number of runs behind each printed median, after a warm-up run.
pub(crate) const RUNS: usize = 5;

/// The length of a clock tick in Linux's count of processor time.
const TICK: Duration = Duration::from_millis(10);

/// The cost of one run, or the median of several.
#[derive(Clone, Copy)]
pub(crate) struct Figure {
    pub(crate) wall: Duration,
    pub(crate) processors: Duration,
    /// `None` if the system does not report it.
    pub(crate) memory_mib: Option<u64>,
}

/// The simulated program of 200 patients x 5 years, written once, or the records named by `EXITSITE_BENCH`.
pub(crate) fn records(exitsite: &Path) -> PathBuf {
    if let Some(records) = std::env::var_os("EXITSITE_BENCH") {
        return records.into();
    }
    let records = std::env::temp_dir().join("exitsite-bench-200x5");
    if !records.join("policy.toml").exists() {
        let simulate = exitsite.with_file_name("examples").join("simulate");
        let made = Command::new(simulate)
            .args(["--patients", "200", "--years", "5", "--seed", "7", "--until", &AS_OF[..10], "--out"])
            .arg(&records)
            .status();
        assert!(
            made.is_ok_and(|status| status.success()),
            "build the simulator first: cargo build --release --examples"
        );
    }
    records
}

/// Prints the day and the commit of the figures.
pub(crate) fn head() {
    let git = |arguments: &[&str]| {
        let said = Command::new("git").current_dir(env!("CARGO_MANIFEST_DIR")).args(arguments).output();
        said.map_or(String::new(), |said| String::from_utf8_lossy(&said.stdout).trim().to_owned())
    };
    let is_changed = !git(&["status", "--porcelain", "--untracked-files=no"]).is_empty();
    let commit = git(&["rev-parse", "--short", "HEAD"]);
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    let load = read_to_string("/proc/loadavg").unwrap_or_default();
    println!(
        "{}, commit {commit}{}, {cores} cores, load {}",
        chrono::Utc::now().date_naive(),
        if is_changed { " with changes" } else { "" },
        load.split(' ').next().unwrap_or("unknown")
    );
}

/// Runs a command to its end and discards its output.
pub(crate) fn run(command: &mut Command) -> Figure {
    let (before, start) = (processors(), Instant::now());
    let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    let memory_mib = watch(&mut child);
    Figure { wall: start.elapsed(), processors: processors().saturating_sub(before), memory_mib }
}

/// The medians of several runs, with the largest memory.
pub(crate) fn median(figures: &[Figure]) -> Figure {
    let middle = |of: fn(&Figure) -> Duration| {
        let mut times: Vec<Duration> = figures.iter().map(of).collect();
        times.sort();
        times[times.len() / 2]
    };
    let memory_mib = figures.iter().filter_map(|figure| figure.memory_mib).max();
    Figure { wall: middle(|figure| figure.wall), processors: middle(|figure| figure.processors), memory_mib }
}

/// Runs the commands in turn, so that other work on the machine affects all alike, and returns the median of each.
pub(crate) fn in_turn(commands: &mut [Command]) -> Vec<Figure> {
    commands.iter_mut().for_each(|command| _ = run(command));
    let mut rounds: Vec<Vec<Figure>> = commands.iter().map(|_| Vec::new()).collect();
    for _ in 0..RUNS {
        commands.iter_mut().zip(&mut rounds).for_each(|(command, figures)| figures.push(run(command)));
    }
    rounds.iter().map(|figures| median(figures)).collect()
}

/// Prints a figure, with its ratios to another one if given.
pub(crate) fn print(what: &str, figure: &Figure, beside: Option<&Figure>) {
    let memory = figure.memory_mib.map_or("unknown".to_owned(), |mib| format!("{mib} MiB"));
    let of = |own: Duration, other: Duration| own.as_secs_f64() / other.as_secs_f64();
    let ratio = beside.map_or(String::new(), |other| {
        let (wall, processors) = (of(figure.wall, other.wall), of(figure.processors, other.processors));
        format!("  {wall:.2} x the wall time and {processors:.2} x the processor time of the text search")
    });
    let (wall, processors) = (figure.wall.as_secs_f64(), figure.processors.as_secs_f64());
    println!("{what:<70} {wall:>8.3} s  {processors:>8.3} s of processors  {memory:>10}{ratio}");
}

/// The processor time of all ended children of this process and of their own children.
fn processors() -> Duration {
    let told = read_to_string("/proc/self/stat").unwrap_or_default();
    let fields = told.rsplit_once(')').map_or("", |(_, fields)| fields);
    // The third and later fields follow the name; the 16th and 17th are the children's.
    let ticks = fields.split_whitespace().skip(13).take(2).filter_map(|ticks| ticks.parse::<u32>().ok()).sum::<u32>();
    TICK * ticks
}

/// Waits for the end and tracks the peak memory, if the system reports it.
fn watch(child: &mut Child) -> Option<u64> {
    let status = format!("/proc/{}/status", child.id());
    let mut peak = None;
    while child.try_wait().unwrap().is_none() {
        let told = read_to_string(&status).unwrap_or_default();
        let line = told.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        peak = peak
            .max(line.and_then(|line| line.trim().trim_end_matches(" kB").parse::<u64>().ok()).map(|kib| kib / 1024));
        std::thread::sleep(Duration::from_millis(2));
    }
    peak
}
