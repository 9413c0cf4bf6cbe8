//! The cost of a committee's questions in an audit: processor time within this process, on a simulated program that is
//! read once for each period.
//!
//! ```text
//! cargo bench --bench audit                   200 patients x 5 years, as for the reading commands
//! EXITSITE_BENCH=DIR cargo bench …            an existing program
//! ```
//!
//! Figures are printed, never asserted: a time is a fact about a machine. Processor time covers all threads and no
//! other work on the machine; it is read from the system where available (Linux).

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a bench prints, and fails by panicking"
)]

mod measure;

use std::fs::{read_dir, read_to_string};
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::time::Duration;

use exitsite::audit::{AuditSpan, Cohort, Month};
use exitsite::day::{AsOf, Period};
use exitsite::folder::Folder;
use exitsite::program::Program;
use exitsite::report::audit::{AuditOptions, AuditReport, CommitteeQuestions, Provenance, report};

const RUNS: usize = 5;

fn main() {
    let records = measure::records(Path::new(env!("CARGO_BIN_EXE_exitsite")));
    println!("{}", records.display());
    for (name, from, to) in [("month 2026-10", "2026-10", "2026-10"), ("year 2025", "2025-01", "2025-12")] {
        measure(&records, name, Period { from: month(from).from, to: month(to).to });
    }
}

fn month(text: &str) -> Period {
    Month::read(text).unwrap().days()
}

fn measure(records: &Path, name: &str, asked: Period) {
    let start = processor_time();
    let program = Program::open(Folder::find(Some(records), records).unwrap()).unwrap();
    let plan = program.plan().unwrap();
    let as_of = AsOf::read(measure::AS_OF, &plan.calendar).unwrap();
    let look_back = program.policy.as_ref().unwrap().signals.as_ref().unwrap().look_back_days;
    let span = AuditSpan::of(asked, plan.calendar.today(as_of.instant), look_back).unwrap();
    let cohort = Cohort::read(&program, as_of, &span);
    let read = processor_time() - start;
    let all =
        || -> AuditReport { report(&cohort, program.rules(), Provenance::default(), &span, &AuditOptions::default()) };
    let first = all();
    let compared = Period { from: first.comparison.from, to: first.comparison.to };
    let whole = median(|| drop(black_box(all())));
    let questions = median(|| drop(black_box(CommitteeQuestions::of(&cohort, program.rules(), &span, compared))));
    let without = read + whole.saturating_sub(questions);
    let ms = |time: Duration| time.as_secs_f64() * 1000.0;
    println!(
        "audit {name}: {} patients, {} infections; read {:.0} ms, figures {:.0} ms, of these the questions {:.0} ms: {:.1} % of the audit without them ({:.0} ms)",
        first.census.patients,
        first.infections.events,
        ms(read),
        ms(whole),
        ms(questions),
        100.0 * questions.as_secs_f64() / without.as_secs_f64(),
        ms(without)
    );
}

/// Returns the median processor time of several runs after a warm-up run.
fn median(run: impl Fn()) -> Duration {
    run();
    let mut times: Vec<Duration> = (0..RUNS)
        .map(|_| {
            let start = processor_time();
            run();
            processor_time() - start
        })
        .collect();
    times.sort();
    times[RUNS / 2]
}

/// The processor time of all threads of this process so far, in nanoseconds by the scheduler.
fn processor_time() -> Duration {
    let threads = read_dir("/proc/self/task").expect("processor time is read from /proc");
    let of = |thread: PathBuf| {
        let told = read_to_string(thread.join("schedstat")).unwrap_or_default();
        told.split(' ').next().and_then(|nanoseconds| nanoseconds.parse().ok()).unwrap_or(0)
    };
    Duration::from_nanos(threads.map(|thread| of(thread.unwrap().path())).sum())
}
