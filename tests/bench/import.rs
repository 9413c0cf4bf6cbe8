//! The time to import a large log: 10,000 rows of 20 invented patients into an empty program, then the same log again.
//!
//! ```text
//! cargo bench --bench import
//! ```
//!
//! Figures are printed, never asserted: a time is a fact about a machine.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a bench prints, and fails by panicking"
)]

mod measure;

use std::fs;
use std::path::Path;
use std::process::Command;

use measure::Figure;

const PATIENTS: usize = 20;
const DAYS: usize = 500;
const RUNS: usize = 3;

fn main() {
    measure::head();
    let (mut first, mut again) = (Vec::new(), Vec::new());
    for _ in 0..RUNS {
        let kept = tempfile::tempdir().unwrap();
        lay_out(kept.path());
        first.push(import(kept.path()));
        let written = fs::read_dir(kept.path().join("patients/P-000/2025")).unwrap().count();
        assert_eq!(written, 365);
        again.push(import(kept.path()));
    }
    measure::print(&format!("import, {} rows", PATIENTS * DAYS), &measure::median(&first), None);
    measure::print("the same once more", &measure::median(&again), None);
}

fn lay_out(folder: &Path) {
    let write = |name: &str, text: String| {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    write("policy.toml", "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n".into());
    write("people.toml", "[[person]]\ncode = 'co-1'\nrole = 'coordinator'\nmay_sign = true\n".into());
    let first: chrono::NaiveDate = "2025-01-01".parse().unwrap();
    let mut log = "patient,date,time,kind,by,reason,found.dressing,found.anchor,left.dressing,left.anchor,site.drainage,site.redness_mm,site.swelling,site.crust_mm,site.pain,site.odor,note\n".to_owned();
    for n in 0..PATIENTS {
        let code = format!("P-{n:03}");
        write(
            &format!("patients/{code}/patient.toml"),
            format!(
                "code = '{code}'\nimplanted = 2024-01-01\n[[exit]]\nid = 'a'\nwhere = 'midline'\nfrom = 2024-01-01\nwhy = 'implant'\n[[care]]\nfrom = 2024-01-01\nplace = 'home'\n"
            ),
        );
        for day in first.iter_days().take(DAYS) {
            log.push_str(&format!(
                "{code},{day},18:{:02},change,patient,scheduled,intact,in-place,intact,in-place,none,0,none,0,none,no,as always\n",
                n % 60
            ));
        }
    }
    write("log.csv", log);
}

fn import(folder: &Path) -> Figure {
    let mut command = Command::new(env!("CARGO_BIN_EXE_exitsite"));
    command.args(["import", "--by-entered", "co-1"]).arg(folder.join("log.csv")).arg("--records").arg(folder);
    measure::run(&mut command)
}
