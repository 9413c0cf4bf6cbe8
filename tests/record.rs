//! `record` without a terminal: every kind and flag, slips caught before the write, and the answers. The tests of its
//! questions are in `terminal`, those of safe writing in `writing`.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod desk;

use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::LazyLock;

use desk::keep;
use exitsite::command::{Outcome, Surroundings, run};
use exitsite::entry::Draft;
use exitsite::event::Kind;
use exitsite::word::Word;
use tempfile::TempDir;

/// Tuesday, 2026-11-24, 07:15 in Chicago.
const NOW: &str = "2026-11-24T13:15:00Z";

fn copy_of_demo() -> TempDir {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo"), kept.path());
    kept
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &to)
        } else {
            _ = fs::copy(entry.path(), to).unwrap()
        }
    }
}

/// Runs a command line; quoted text is one word.
fn exitsite_at(now: &str, records: &Path, line: &str) -> Outcome {
    let surroundings = Surroundings {
        now: now.parse().unwrap(),
        here: records.to_owned(),
        writer: Some("co-1".into()),
        ..Surroundings::default()
    };
    let pieces = line.split('\'').enumerate();
    let words = pieces.flat_map(|(at, piece)| match at % 2 {
        0 => piece.split_whitespace().map(str::to_owned).collect(),
        _ => vec![piece.to_owned()],
    });
    run(["exitsite".to_owned()].into_iter().chain(words).map(Into::into), &surroundings)
}

fn exitsite(records: &Path, line: &str) -> Outcome {
    exitsite_at(NOW, records, line)
}

/// Every file below a folder with its text, to show that nothing was written.
fn everything(folder: &Path) -> Vec<(String, String)> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            all.extend(everything(&path));
        } else {
            all.push((path.display().to_string(), fs::read_to_string(&path).unwrap()));
        }
    }
    all.sort();
    all
}

/// Records an event and asserts the text of the new file.
#[track_caller]
fn writes(line: &str, file: &str, text: &str) {
    let kept = copy_of_demo();
    let Outcome { stdout, stderr, status, .. } = exitsite(kept.path(), &format!("record {line} --yes"));
    assert_eq!(status, 0, "{line}\n{stderr}");
    assert!(stdout.contains(&format!("Recorded {file}\n")), "{line}\n{stdout}");
    assert_eq!(fs::read_to_string(kept.path().join(file)).unwrap(), text, "{line}");
    let check = exitsite(kept.path(), &format!("check {file}"));
    assert_eq!(check.status, 0, "{line}\n{}", check.stdout);
}

/// The screens of commands that are refused and write nothing.
#[track_caller]
fn refused(lines: &[&str]) -> String {
    // Since nothing is written, all refusals can share one copy.
    static COPY: LazyLock<(TempDir, Vec<(String, String)>)> = LazyLock::new(|| {
        let kept = copy_of_demo();
        let before = everything(kept.path());
        (kept, before)
    });
    let (kept, before) = &*COPY;
    let refused = |line: &&str| {
        let outcome = exitsite(kept.path(), line);
        assert_eq!((outcome.status, outcome.stdout.as_str()), (2, ""), "{line}\n{}", outcome.stderr);
        assert!(*before == everything(kept.path()), "{line} wrote something");
        screen(line, &outcome)
    };
    lines.iter().map(refused).collect()
}

/// A command line with its output and status.
fn screen(line: &str, outcome: &Outcome) -> String {
    desk::screen(&[line], None, outcome).replacen(&format!("'{line}'"), line, 1)
}

/// The screens of commands, one after another.
fn screens(records: &Path, lines: &[&str]) -> String {
    lines.iter().map(|line| screen(line, &exitsite(records, line))).collect()
}

const ENTERED: &str = "\n[entered]\nat = 2026-11-24T07:15:00-06:00\nby = \"co-1\"\n";

#[test]
fn the_one_line_of_a_change_with_nothing_noted() {
    writes(
        "change P-014 --by p014-spouse --reason after-shower --dressing-found intact --anchor-found in-place \
         --anchor-left in-place --site none-noted --at 07:10",
        "patients/P-014/2026/2026-11-24T0710-change.toml",
        &format!(
            "kind = \"change\"\nat = 2026-11-24T07:10:00-06:00\nby = \"p014-spouse\"\nsource = \"told\"\n\
             reason = \"after-shower\"\n\n[found]\ndressing = \"intact\"\nanchor = \"in-place\"\n\n[left]\n\
             anchor = \"in-place\"\n\n[site]\ndrainage = \"none\"\nredness_mm = 0\nswelling = \"none\"\ncrust_mm = 0\n\
             pain = \"none\"\nodor = false\nwarmth = false\novergranulation = false\nbleeding = false\n{ENTERED}"
        ),
    );
}

#[test]
fn every_flag_of_a_change() {
    writes(
        "change P-014 --by rn-07 --source seen --exit a --reason scheduled --steps-missed hands,mask \
         --dressing-found lifting --anchor-found loose --cleanser chlorhexidine --driveline-cleansed yes --disc dry \
         --skin-protectant yes --gauze yes --dressing-left intact --anchor-left in-place --drainage serous \
         --amount scant --redness-mm 2.5 --swelling exit --crust-mm 1 --pain slight --odor no --warmth yes \
         --overgranulation no --bleeding no --temperature-c 36.8 --note 'seen with the educator' --at now",
        "patients/P-014/2026/2026-11-24T0715-change.toml",
        &format!(
            "kind = \"change\"\nat = 2026-11-24T07:15:00-06:00\nby = \"rn-07\"\nsource = \"seen\"\nexit = \"a\"\n\
             reason = \"scheduled\"\nsteps_missed = [\"hands\", \"mask\"]\nnote = \"seen with the educator\"\n\n[found]\n\
             dressing = \"lifting\"\nanchor = \"loose\"\n\n[materials]\ncleanser = \"chlorhexidine\"\n\
             driveline_cleansed = true\ndisc = \"dry\"\nskin_protectant = true\ngauze = true\n\n[left]\n\
             dressing = \"intact\"\nanchor = \"in-place\"\n\n[site]\ndrainage = \"serous\"\namount = \"scant\"\n\
             redness_mm = 2.5\nswelling = \"exit\"\ncrust_mm = 1\npain = \"slight\"\nodor = false\nwarmth = true\n\
             overgranulation = false\nbleeding = false\ntemperature_c = 36.8\n{ENTERED}"
        ),
    );
}

#[test]
fn every_other_kind() {
    let at = "at = 2026-11-24T07:15:00-06:00";
    let head =
        |kind: &str, by: &str, source: &str| format!("kind = \"{kind}\"\n{at}\nby = \"{by}\"\nsource = \"{source}\"\n");
    let file = |kind: &str| format!("patients/P-014/2026/2026-11-24T0715-{kind}.toml");
    let mut seen = vec![Kind::Change];
    let mut kind = |line: &str, by: &str, source: &str, says: &str| {
        let name = line.split(' ').next().unwrap();
        seen.push(Kind::from_word(name).unwrap());
        writes(line, &file(name), &format!("{}{says}{ENTERED}", head(name, by, source)));
    };
    kind(
        "shower P-014 --by p014-spouse --source told --water bath --dressing-before intact --dressing-after wet --anchor in-place",
        "p014-spouse",
        "told",
        "water = \"bath\"\ndressing_before = \"intact\"\ndressing_after = \"wet\"\nanchor = \"in-place\"\n",
    );
    kind(
        "assessment P-014 --by rn-07 --source image --drainage none --redness-mm-site 1",
        "rn-07",
        "image",
        "\n[site]\ndrainage = \"none\"\nredness_mm = 1\n",
    );
    kind(
        "inspection P-014 --by rn-07 --dressing soiled --anchor absent",
        "rn-07",
        "seen",
        "dressing = \"soiled\"\nanchor = \"absent\"\n",
    );
    kind(
        "trauma P-014 --by patient --source told --mechanism snag --dressing intact --anchor loose --site-bleeding no",
        "patient",
        "told",
        "mechanism = \"snag\"\ndressing = \"intact\"\nanchor = \"loose\"\nsite_bleeding = false\n",
    );
    kind(
        "culture P-014 --by rn-07 --specimen exit-site --on-result 2026-11-24 --growth yes --organisms 'Staphylococcus aureus, Serratia marcescens'",
        "rn-07",
        "seen",
        "specimen = \"exit-site\"\n\n[result]\non = 2026-11-24\ngrowth = true\norganisms = [\"Staphylococcus aureus\", \"Serratia marcescens\"]\n",
    );
    kind(
        "infection P-014 --by md-3 --part driveline-superficial --certainty possible --onset yesterday --readmission no",
        "md-3",
        "seen",
        "part = \"driveline-superficial\"\ncertainty = \"possible\"\nonset = 2026-11-23\nreadmission = false\n",
    );
    kind(
        "treatment P-014 --by md-3 --what oral-antibiotic --until 2026-12-05",
        "md-3",
        "seen",
        "what = \"oral-antibiotic\"\nuntil = 2026-12-05\n",
    );
    kind(
        "teaching P-014 --by ed-1 --learner p014-spouse --observer ed-1 --curriculum dressing-change --version 1 --mode assisted --unaided hands --prompted masks-and-caps",
        "ed-1",
        "seen",
        "learner = \"p014-spouse\"\nobserver = \"ed-1\"\ncurriculum = \"dressing-change\"\nversion = 1\nmode = \"assisted\"\nunaided = [\"hands\"]\nprompted = [\"masks-and-caps\"]\n",
    );
    kind(
        "contact P-014 --by co-1 --with p014-spouse --about overdue,supply --outcome will-change --expect-by 18:00 --temperature-c 37",
        "co-1",
        "told",
        "with = \"p014-spouse\"\nabout = [\"overdue\", \"supply\"]\noutcome = \"will-change\"\nexpect_by = 2026-11-24T18:00:00-06:00\ntemperature_c = 37\n",
    );
    kind(
        "log P-014 --by co-1 --from 2026-11-01 --through 2026-11-22 --complete no",
        "co-1",
        "seen",
        "from = 2026-11-01\nthrough = 2026-11-22\ncomplete = false\n",
    );
    kind(
        "supply P-014 --by co-1 --item dressing-kit --received 30",
        "co-1",
        "seen",
        "item = \"dressing-kit\"\nreceived = 30\n",
    );
    // A picture needs its file; tests/photo.rs records one.
    seen.push(Kind::Photo);
    seen.sort();
    assert_eq!(seen, Kind::ALL);
}

#[test]
fn every_field_of_every_kind_has_a_flag() {
    // The flags of a kind are built on request.
    let mut definition = exitsite::command::definition();
    definition.build();
    let record = definition.find_subcommand("record").unwrap();
    for kind in Kind::ALL {
        let command = record.find_subcommand(kind.word()).unwrap();
        for (key, ..) in Draft::keys(*kind) {
            let flag = match key.split_once('.') {
                None => key.replace('_', "-"),
                Some((table, key)) => format!("{}-{table}", key.replace('_', "-")),
            };
            let has = |arg: &clap::Arg| arg.get_long() == Some(flag.as_str());
            assert!(command.get_arguments().any(has), "record {kind} has no --{flag}");
        }
    }
}

#[test]
fn what_a_household_did_was_told_to_the_staff_unless_somebody_says_otherwise() {
    let kept = copy_of_demo();
    for (at, line, source) in [
        ("06:10", "--by p014-spouse", "told"),
        ("06:11", "--by patient", "told"),
        ("06:12", "--by p014-spouse --source seen", "seen"),
        ("06:13", "--by p014-spouse --by-entered p014-spouse", "seen"),
        ("06:14", "--by rn-07", "seen"),
    ] {
        let said = exitsite(kept.path(), &format!("record shower P-014 {line} --at {at} --yes"));
        // The message repeats it.
        let by = line.split(' ').nth(1).unwrap();
        assert!(said.stdout.contains(&format!("by {by},")), "{line}: {}{}", said.stdout, said.stderr);
        let how = if source == "told" { "reported" } else { source };
        assert!(said.stdout.contains(how), "{line}: {}", said.stdout);
        let file = format!("patients/P-014/2026/2026-11-24T{}-shower.toml", at.replace(':', ""));
        let text = fs::read_to_string(kept.path().join(file)).unwrap();
        assert!(text.contains(&format!("source = \"{source}\"\n")), "{line}: {text}");
    }
}

#[test]
fn a_checkoff_of_staff_lies_with_the_staff() {
    writes(
        "teaching rn-07 --by ed-1 --learner rn-07 --observer ed-1 --curriculum dressing-change --version 1 --mode shown",
        "staff/rn-07/2026/2026-11-24T0715-teaching.toml",
        &format!(
            "kind = \"teaching\"\nat = 2026-11-24T07:15:00-06:00\nby = \"ed-1\"\nsource = \"seen\"\nlearner = \"rn-07\"\n\
             observer = \"ed-1\"\ncurriculum = \"dressing-change\"\nversion = 1\nmode = \"shown\"\n{ENTERED}"
        ),
    );
}

#[test]
fn a_checkoff_that_would_count_for_nothing_is_refused_or_asked_about() {
    const SIGNED: &str = "--observer rn-03 --by rn-03 --curriculum dressing-change --version 1 --mode attested";
    // In another person's folder it would not count; the message has the command for the right folder.
    let elsewhere = [
        ("rn-07", "rn-11"),
        ("P-014", "rn-11"),
        ("P-014", "p041-husband"),
        ("rn-07", "p041-husband"),
        ("rn-07", "patient"),
    ]
    .map(|(whose, learner)| refused(&[&format!("record teaching {whose} --learner {learner} {SIGNED} --yes")]));
    let not_passed = refused(&[
        "record teaching rn-11 --learner rn-11 --observer rn-11 --by rn-11 --curriculum dressing-change --version 1 --mode attested",
        "record teaching P-014 --learner p014-spouse --observer rn-11 --by rn-03 --curriculum dressing-change --version 1 --mode attested",
    ]);
    keep("record_a_checkoff_that_would_not_count", &(elsewhere.concat() + &not_passed));
}

#[test]
fn the_answer_to_a_checkoff_says_what_it_holds_and_how_far_the_learner_is() {
    let kept = copy_of_demo();
    let lines = [
        "record teaching P-005 --by rn-03 --learner p005-daughter --observer rn-03 --curriculum dressing-change --version 1 \
         --mode return-demonstration --unaided let-dry --prompted hands --missed old-dressing-off --yes",
        "record teaching rn-11 --by rn-03 --learner rn-11 --observer rn-03 --curriculum dressing-change --version 1 \
         --mode attested --yes",
    ];
    keep("record_the_answer_to_a_checkoff", &screens(kept.path(), &lines));
}

#[test]
fn a_call_in_which_a_change_was_told_writes_both() {
    let kept = copy_of_demo();
    let line = "record contact P-022 --changed 'yesterday 22:30' --yes";
    keep("record_a_call_in_which_a_change_was_told_writes_both", &screens(kept.path(), &[line]));
    let read = |file: &str| fs::read_to_string(kept.path().join("patients/P-022/2026").join(file)).unwrap();
    assert_eq!(
        read("2026-11-24T0715-contact.toml"),
        format!(
            "kind = \"contact\"\nat = 2026-11-24T07:15:00-06:00\nby = \"co-1\"\nsource = \"told\"\nwith = \"p022-aunt\"\n\
             about = [\"overdue\"]\noutcome = \"other\"\n{ENTERED}"
        )
    );
    assert_eq!(
        read("2026-11-23T2230-change.toml"),
        format!("kind = \"change\"\nat = 2026-11-23T22:30:00-06:00\nby = \"p022-aunt\"\nsource = \"told\"\n{ENTERED}")
    );
}

#[test]
fn the_answer_says_whom_it_is_about_first_and_what_the_due_list_says_then() {
    let kept = copy_of_demo();
    let line = "record change P-014 --by p014-spouse --at 07:10 --site none-noted --yes";
    keep("record_the_answer_says_whom_it_is_about_first", &screens(kept.path(), &[line]));
    let due = exitsite(kept.path(), "due P-014 --json").stdout;
    let due: serde_json::Value = serde_json::from_str(&due).unwrap();
    assert_eq!(due["rows"][0]["due_on"], "2026-11-26");
}

#[test]
fn a_patient_whose_state_is_hidden_by_a_broken_file_is_not_called_well() {
    let kept = copy_of_demo();
    let line = "record shower P-003 --by p003-mother --at 2026-11-23T10:00 --yes";
    let said = screens(kept.path(), &[line]);
    assert!(!said.contains("next change due"), "{said}");
    keep("record_a_patient_whose_state_is_hidden_by_a_broken_file", &said);
}

#[test]
fn slips_of_the_finger_are_caught_before_anything_is_written() {
    let change = |says: &&str| refused(&[&format!("record change P-014 --by rn-07 --source seen --yes {says}")]);
    let slips = [
        "--at 18:40",
        "--at 2026-11-25T18:40",
        "--at 2027-11-23T18:40",
        "--at 2025-11-23T18:40",
        "--at 2026-02-30",
        "--at 2026-11-01T01:30",
        "--redness-mm 900",
        "--redness-mm 1,5",
        "--temperature-c 60",
        "--temperature-c 98.6C",
        "--drainage none --amount scant",
        "--drainage serus",
        "--odor maybe",
        "--note 'call 555-123-4567'",
        "--exit b",
    ];
    let others = refused(&[
        "record change P-014 --by rn-70 --yes",
        "record change P-141 --by rn-07 --yes",
        "record change rn-07 --by rn-07 --yes",
        "record contact P-014 --with p014-spose --about overdue --outcome advised --yes",
        "record change P-014 --by rn-07 --source seen --by-entered co-11 --yes",
        "record supply P-014 --by co-1 --item dressing-kit --received 3 --lost 2 --yes",
        "record culture P-014 --by rn-07 --specimen blood --growth no --on-result 2026-11-24 --organisms 'Candida' --yes --at 07:00 --dry-run --redness-mm 2",
    ]);
    keep(
        "record_slips_are_caught_before_anything_is_written",
        &(slips.iter().map(change).collect::<String>() + &others),
    );
}

#[test]
fn somebody_of_another_household_is_a_sign_of_another_patient() {
    let lines = [
        "record change P-041 --by p014-spouse --yes",
        "record change P-041 --by rn-07 --by-entered p014-spouse --yes",
        "record contact P-041 --by co-1 --with p014-spouse --about overdue --outcome advised --yes",
        "amend patients/P-041/2026/2026-11-22T0822-change.toml --by p014-spouse --why slip --set source=told --yes",
    ];
    keep("record_somebody_of_another_household_is_a_sign_of_another_patient", &refused(&lines));
}

#[test]
fn everything_that_is_missing_is_named_at_once() {
    let lines = [
        "record infection P-014 --yes",
        "record culture P-014 --by rn-07 --organisms Candida --yes",
        "record assessment P-014 --by rn-07 --yes",
        "record supply P-014 --by rn-07 --yes",
        "record change P-014 --at 26:00 --drainage x --pain y --yes",
    ];
    keep("record_everything_that_is_missing_is_named_at_once", &refused(&lines));
}

#[test]
fn without_a_terminal_a_question_is_answered_by_yes_or_nothing_is_written() {
    let lines = [
        "record change P-014 --by rn-07 --source seen",
        "record change P-014 --by rn-07 --source seen --redness-mm 80",
        "record change P-014 --by rn-07 --source seen --edit",
    ];
    keep("record_without_a_terminal_a_question_is_answered_by_yes", &refused(&lines));
}

#[test]
fn what_is_only_doubtful_is_written_when_somebody_says_yes_and_still_said() {
    let kept = copy_of_demo();
    let first = exitsite(kept.path(), "record change P-014 --by rn-07 --source seen --at 06:30 --yes");
    assert_eq!((first.status, first.stderr.as_str()), (0, ""));
    let lines = [
        "record change P-014 --by rn-07 --source seen --at 07:10 --cleanser saline",
        "record change P-014 --by rn-07 --source seen --at 07:10 --cleanser saline --yes",
    ];
    keep("record_a_doubt_is_still_said_after_a_yes", &screens(kept.path(), &lines));
}

#[test]
fn the_same_record_twice_is_on_file_already() {
    let kept = copy_of_demo();
    let line = "record change P-014 --by rn-07 --source seen --at 06:30 --drainage none --yes";
    assert_eq!(exitsite(kept.path(), line).status, 0);
    let before = everything(kept.path());
    let again = exitsite_at("2026-11-24T14:15:00Z", kept.path(), line);
    assert_eq!((again.status, again.stdout.as_str()), (2, ""));
    assert_eq!(before, everything(kept.path()));
    // Another one in the same minute gets the next number.
    let other =
        screens(kept.path(), &["record change P-014 --by rn-07 --source seen --at 06:30 --drainage serous --yes"]);
    keep("record_the_same_record_twice_is_on_file_already", &(screen(line, &again) + &other));
}

#[test]
fn swapped_digits_are_asked_about_when_the_other_has_something_due() {
    let kept = copy_of_demo();
    // P-014 has nothing due after this; P-041 is due today.
    assert_eq!(
        exitsite(kept.path(), "record change P-014 --by rn-07 --source seen --at 2026-11-23T19:00 --yes").status,
        0
    );
    let asked = screens(kept.path(), &["record change P-014 --by rn-07 --source seen"]);
    assert!(!asked.contains("P-041"), "{asked}");
    keep("record_swapped_digits_are_asked_about", &asked);
    // A patient with something due raises no doubt.
    let sure = exitsite(kept.path(), "record change P-041 --by rn-07");
    assert!(!sure.stderr.contains("right patient"), "{}", sure.stderr);
}

#[test]
fn all_that_a_record_says_is_read_back() {
    let kept = copy_of_demo();
    let lines = [
        "record change P-014 --by rn-07 --source seen --at 07:10 --cleanser chlorhexidine --driveline-cleansed no --disc none --skin-protectant no --gauze no --dry-run",
        "record change P-014 --by rn-07 --source seen --at 07:10 --driveline-cleansed yes --disc dry --skin-protectant yes --gauze yes --dry-run",
        "record infection P-014 --by md-3 --part pocket --certainty proven --onset 2026-11-20 --readmission no --organisms Candida --recurrence-of 2026-09-02-infection.toml --dry-run",
        "record contact P-014 --by co-1 --with patient --about other --outcome advised --temperature-c 37.9 --dry-run",
    ];
    keep("record_all_that_a_record_says_is_read_back", &screens(kept.path(), &lines));
}

#[test]
fn care_of_a_patient_who_is_elsewhere_is_asked_about() {
    let asked = refused(&["record change P-031 --by co-1", "record shower P-031 --by patient --on yesterday"]);
    let kept = copy_of_demo();
    let sure = exitsite(kept.path(), "record culture P-031 --by co-1 --specimen blood");
    assert!(!sure.stderr.contains("elsewhere"), "{}", sure.stderr);
    let written = screens(kept.path(), &["record change P-031 --by co-1 --yes"]);
    keep("record_care_of_a_patient_who_is_elsewhere", &(asked + &written));
}

#[test]
fn a_dry_run_shows_the_file_and_writes_nothing() {
    let kept = copy_of_demo();
    let before = everything(kept.path());
    let lines = [
        "record shower P-014 --by patient --at 07:00 --dry-run",
        "record shower P-014 --by patient --on yesterday --dry-run",
    ];
    keep("record_a_dry_run_shows_the_file_and_writes_nothing", &screens(kept.path(), &lines));
    assert_eq!(before, everything(kept.path()));
}

#[test]
fn a_dry_run_hides_no_doubt() {
    let kept = copy_of_demo();
    assert_eq!(exitsite(kept.path(), "record change P-014 --by rn-07 --source seen --at 06:30 --yes").status, 0);
    let before = everything(kept.path());
    let lines = [
        "record change P-014 --by rn-07 --source seen --at 07:10 --redness-mm 65 --dry-run",
        "record teaching P-014 --by rn-03 --learner p014-spouse --observer rn-11 --curriculum dressing-chang --version 1 \
         --mode shown --dry-run",
    ];
    keep("record_a_dry_run_hides_no_doubt", &screens(kept.path(), &lines));
    assert_eq!(before, everything(kept.path()));
}

#[test]
fn a_record_of_the_night_belongs_to_the_day_before_and_its_file_to_its_own_date() {
    let kept = copy_of_demo();
    let line = "record change P-014 --by rn-07 --source seen --at 01:30 --yes";
    keep("record_a_record_of_the_night_belongs_to_the_day_before", &screens(kept.path(), &[line]));
}

#[test]
fn a_patient_in_another_zone_is_written_by_that_zones_clock() {
    let kept = copy_of_demo();
    let said = exitsite(kept.path(), "record change P-041 --by p041-husband --at 06:00 --yes");
    assert_eq!(said.status, 0, "{}", said.stderr);
    let text = fs::read_to_string(kept.path().join("patients/P-041/2026/2026-11-24T0600-change.toml")).unwrap();
    assert!(text.contains("at = 2026-11-24T06:00:00-07:00\n"), "{text}");
    assert!(text.contains("[entered]\nat = 2026-11-24T06:15:00-07:00\n"), "{text}");
}

#[test]
fn a_writer_who_is_not_known_is_asked_for_by_flag_or_environment() {
    let kept = copy_of_demo();
    let surroundings = |writer: Option<&str>| Surroundings {
        now: NOW.parse().unwrap(),
        here: kept.path().to_owned(),
        writer: writer.map(str::to_owned),
        ..Surroundings::default()
    };
    let line = |by: &str| {
        ["exitsite", "record", "change", "P-014", "--at", "07:00", "--dry-run", "--source", "seen", "--by", by]
            .map(Into::into)
    };
    let said = run(line("p014-spouse"), &surroundings(None));
    assert!(said.status == 2 && said.stderr.contains("Required: --by-entered") && said.stderr.contains("EXITSITE_BY"));
    // Staff who saw it are taken to have entered it, too.
    assert!(run(line("rn-07"), &surroundings(None)).stdout.contains("by = \"rn-07\"\n\n"));
    assert!(run(line("p014-spouse"), &surroundings(Some("rn-07"))).stdout.contains("by = \"rn-07\"\n\n"));
}

fn git(folder: &Path, arguments: &[&str]) -> String {
    let run = Command::new("git")
        .current_dir(folder)
        .args(arguments)
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .env("GIT_CONFIG_SYSTEM", "/dev/null")
        .output()
        .unwrap();
    assert!(run.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&run.stderr));
    String::from_utf8(run.stdout).unwrap()
}

#[test]
fn a_commit_holds_what_was_recorded_and_nothing_else() {
    let kept = copy_of_demo();
    git(kept.path(), &["init", "--quiet"]);
    git(kept.path(), &["config", "user.name", "Invented"]);
    git(kept.path(), &["config", "user.email", "invented@example.org"]);
    git(kept.path(), &["config", "core.hooksPath", "/dev/null"]);
    git(kept.path(), &["add", "."]);
    git(kept.path(), &["commit", "--quiet", "--message", "the invented program"]);
    fs::write(kept.path().join("README.md"), "changed by somebody else\n").unwrap();
    git(kept.path(), &["add", "README.md"]);
    let said = exitsite(kept.path(), "record change P-014 --by rn-07 --source seen --at 07:00 --yes --commit");
    assert_eq!((said.status, said.stderr.as_str()), (0, ""));
    let shown = git(kept.path(), &["show", "--format=%s", "--name-only", "HEAD"]);
    assert_eq!(shown, "P-014: 2026-11-24T0700-change\n\npatients/P-014/2026/2026-11-24T0700-change.toml\n");
    assert_eq!(git(kept.path(), &["status", "--short"]), "M  README.md\n");
    // The policy can make it the default, and a single record can go without it.
    let policy = fs::read_to_string(kept.path().join("policy.toml")).unwrap();
    fs::write(kept.path().join("policy.toml"), format!("{policy}\n[record]\ncommit = true\n")).unwrap();
    exitsite(kept.path(), "record shower P-014 --by patient --at 07:05 --yes");
    assert!(git(kept.path(), &["log", "-1", "--format=%s"]).contains("0705-shower"));
    exitsite(kept.path(), "record shower P-014 --by patient --at 06:05 --yes --no-commit");
    assert!(git(kept.path(), &["status", "--short"]).contains("?? patients/P-014/2026/2026-11-24T0605-shower.toml"));
}

#[test]
fn a_commit_that_fails_is_said_and_the_record_is_on_file() {
    let kept = tempfile::tempdir().unwrap();
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo"), kept.path());
    let said = exitsite(kept.path(), "record change P-014 --by rn-07 --source seen --at 07:00 --yes --commit");
    assert_eq!(said.status, 1, "{}", said.stderr);
    assert!(said.stderr.contains("the record is on file, but was not committed"), "{}", said.stderr);
    assert!(kept.path().join("patients/P-014/2026/2026-11-24T0700-change.toml").exists());
}

#[test]
fn without_a_policy_no_time_can_be_read_and_nothing_is_written() {
    let kept = copy_of_demo();
    let policy = fs::read_to_string(kept.path().join("policy.toml")).unwrap();
    for broken in [policy.replace("America/Chicago", "America/Chicag"), format!("{policy}\n[extra]\na = 1\n")] {
        fs::write(kept.path().join("policy.toml"), broken).unwrap();
        let before = everything(kept.path());
        for line in [
            "record shower P-014 --at 07:00 --by patient --yes",
            "patient move P-014 --place home --yes",
            "amend patients/P-014/2026/2026-11-23T0810-change.toml --set note=x --why y --yes",
            "void patients/P-014/2026/2026-11-23T0810-change.toml --why y --yes",
        ] {
            let said = exitsite(kept.path(), line);
            assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{line}");
            assert!(said.stderr.contains("policy.toml is unreadable"), "{line}: {}", said.stderr);
        }
        assert_eq!(before, everything(kept.path()));
    }
}

#[test]
fn what_was_voided_can_be_written_anew_and_counts() {
    let kept = copy_of_demo();
    let due = |kept: &TempDir| exitsite(kept.path(), "due P-014").stdout;
    let before = due(&kept);
    assert!(before.contains("showered Mon 18:40"), "{before}");
    let voided = exitsite(kept.path(), "void 2026-11-23T1840-shower.toml --why 'wrong patient' --yes");
    assert_eq!(voided.status, 0, "{}", voided.stderr);
    assert!(!due(&kept).contains("showered"));
    let line = "record shower P-014 --at 2026-11-23T18:40 --by p014-spouse --water shower --dressing-before intact \
                --anchor in-place --source told --yes";
    let anew = exitsite(kept.path(), line);
    assert_eq!(anew.status, 0, "{}", anew.stderr);
    assert!(anew.stdout.contains("2026-11-23T1840-shower-2.toml"), "{}", anew.stdout);
    assert_eq!(due(&kept), before);
    assert!(
        exitsite(kept.path(), line)
            .stderr
            .contains("Already on file as patients/P-014/2026/2026-11-23T1840-shower-2.toml")
    );
}

#[test]
fn a_change_that_was_told_is_not_later_than_the_call_and_somebody_made_it() {
    let kept = copy_of_demo();
    // Without a time, it has that of the call.
    let line = "record contact P-022 --at '2026-11-23T21:40' --changed --yes --dry-run";
    let said = exitsite(kept.path(), line).stdout;
    assert!(said.contains("Would write patients/P-022/2026/2026-11-23T2140-change.toml"), "{said}");
    let lines = [
        "record contact P-022 --at 'yesterday 20:00' --changed 06:30 --yes",
        "record contact P-022 --with rn-07 --about overdue --changed 06:30 --yes",
        "record contact P-022 --outcome no-answer --changed 06:30 --yes",
        "record contact P-029 --with patient --changed 06:30 --yes",
        "record contact P-022 --about overdue --outcome will-change --with patient --expect-by 2026-11-20T20:00 --yes",
    ];
    keep("record_a_change_that_was_told_is_not_later_than_the_call", &refused(&lines));
    let line =
        "record contact P-029 --with patient --changed 06:30 --changed-exit b --changed-by patient --yes --dry-run";
    let said = exitsite(kept.path(), line);
    assert!(said.stdout.contains("exit = \"b\""), "{}\n{}", said.stdout, said.stderr);
}

#[test]
fn what_is_doubtful_in_a_record_alone_is_asked() {
    let lines = [
        "record contact P-014 --with p014-spouse --about other --outcome coming-in --expect-by 2027-11-20T20:00",
        "record contact P-014 --with p014-spouse --about other --outcome advised --note 'chills since noon'",
        "record supply P-014 --by co-1 --item dressing-kitt --received 10",
        "record inspection P-014 --by rn-07 --at 07:00",
        "record infection P-014 --by md-3 --at 2026-11-20T10:00 --part pocket --certainty possible --onset 2026-11-22",
    ];
    keep("record_a_doubt_about_the_record_alone_is_asked", &refused(&lines));
}

#[test]
fn a_time_of_another_clock_is_written_by_the_patients_own() {
    let kept = copy_of_demo();
    let said = exitsite(kept.path(), "record change P-014 --at 2026-11-24T07:30Z --by rn-07 --source seen --yes");
    assert!(said.stdout.contains("2026-11-24T0130-change.toml"), "{}\n{}", said.stdout, said.stderr);
}

#[test]
fn a_complete_log_without_a_change_says_so_and_what_follows() {
    let kept = copy_of_demo();
    let log = |through: &str, complete: &str| {
        let line = format!("record log P-034 --by co-1 --from 2026-10-11 --through {through} --complete {complete}");
        exitsite(kept.path(), &format!("{line} --dry-run")).stdout.replace('\n', " ")
    };
    assert!(!log("2026-11-23", "no").contains("no change"), "it does not say all that happened");
    let lines = [
        "record log P-034 --by co-1 --from 2026-10-11 --through 2026-11-23 --complete yes --dry-run",
        "record log P-034 --by co-1 --from 2026-10-11 --through 2026-11-23 --complete yes --yes",
    ];
    keep("record_a_complete_log_without_a_change", &screens(kept.path(), &lines));
    let changed = exitsite(kept.path(), "record change P-034 --by p034-brother --on 2026-11-01 --yes");
    assert_eq!(changed.status, 0, "{}", changed.stderr);
    assert!(!log("2026-11-23", "yes").contains("no change"));
}

#[test]
fn where_a_score_stands_it_is_said_that_a_low_one_is_no_all_clear() {
    const SENTENCE: &str = "A low score is not an all-clear.";
    let kept = copy_of_demo();
    let without = exitsite(kept.path(), "record change P-014 --by p014-spouse --at 07:12 --yes").stdout;
    assert!(!without.contains(SENTENCE), "{without}");
    assert!(exitsite(kept.path(), "show P-014").stdout.contains(SENTENCE));
    let page = kept.path().with_extension("html");
    let shown = exitsite(kept.path(), &format!("show P-014 --html {}", page.display()));
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    assert!(fs::read_to_string(&page).unwrap().contains(SENTENCE));
    fs::remove_file(page).unwrap();
}

#[test]
fn a_flag_takes_a_length_with_its_unit_and_the_word_pus() {
    let kept = copy_of_demo();
    let line =
        "record assessment P-014 --at 07:00 --by rn-07 --source seen --redness-mm 12mm --drainage pus --yes --dry-run";
    let said = exitsite(kept.path(), line);
    assert_eq!(said.status, 0, "{}", said.stderr);
    assert!(
        said.stdout.contains("redness_mm = 12\n") && said.stdout.contains("drainage = \"purulent\""),
        "{}",
        said.stdout
    );
}
