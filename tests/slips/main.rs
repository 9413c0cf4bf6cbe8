//! Slips at every question of a real terminal of 60 columns: the question is asked again with what is wrong, the answers so
//! far are kept, Ctrl-C and the end of input drop nothing without a yes, and nothing is written before the end.
//!
//! Each case is a command with the beginning of each question, its kind, and the right answer. The invented program's zone is
//! one in which it is about noon.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod asks;
mod correction;
mod course;
mod records;
mod sitter;

use asks::{Case, End};
use sitter::{Sitter, files};

/// Runs each case on its own, since most of the time goes by waiting.
fn at_once(cases: &[Case], run: fn(Case)) {
    std::thread::scope(|scope| cases.iter().for_each(|case| _ = scope.spawn(|| run(*case))));
}

fn slips(case: Case) {
    let (arguments, steps) = (case.arguments, case.steps);
    let kept = sitter::records();
    let before = files(kept.path());
    let mut sitter = Sitter::of(&kept, case);
    for step in steps {
        sitter.asked(*step);
        for slip in step.1.slips() {
            let lines: Vec<&str> = if *slip == "\n" { vec!["\n"] } else { slip.split('\n').collect() };
            for (n, line) in lines.iter().enumerate() {
                sitter.answers(step.1, line);
                if n + 1 < lines.len() {
                    sitter.waits("right? [y/N]");
                }
            }
            let said = sitter.asked(*step);
            let said: Vec<&str> = said.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
            let is_said = said.iter().any(|line| line.ends_with('.') || line.ends_with(','));
            assert!(is_said, "{arguments:?} {}: {slip:?}: {said:?}", step.0);
        }
        assert_eq!(files(kept.path()), before, "{arguments:?} {}", step.0);
        sitter.answers(step.1, step.2);
    }
    match case.end {
        End::GoesOn => {}
        End::Ends => _ = sitter.waits("the end, status 0"),
        End::Next => _ = sitter.waits("2 of 2"),
    }
    if case.end != End::GoesOn {
        assert_ne!(files(kept.path()), before, "{arguments:?}");
    }
    sitter.is_narrow();
}

fn stops(case: Case) {
    let steps = case.steps;
    let kept = sitter::records();
    let before = files(kept.path());
    let mut sitter = Sitter::of(&kept, case);
    for (n, step) in steps.iter().enumerate() {
        sitter.asked(*step);
        let has_typed = has_typed(&steps[..n]);
        for key in ["\u{3}", "\u{4}"].iter().filter(|_| has_typed) {
            sitter.types(key);
            sitter.waits("Stop and drop th");
            sitter.waits("[y/N]");
            sitter.types("n\n");
            sitter.asked(*step);
        }
        if n + 1 < steps.len() {
            sitter.answers(step.1, step.2);
        }
    }
    sitter.types("\u{3}");
    if has_typed(&steps[..steps.len() - 1]) {
        sitter.waits("Stop and drop th");
        sitter.types("\u{3}");
    }
    sitter.waits("the end, status 130");
    assert_eq!(files(kept.path()), before, "{:?}", case.arguments);
    sitter.is_narrow();
}

/// Returns true if a stop after these questions would drop an answer.
fn has_typed(steps: &[asks::Step]) -> bool {
    steps.iter().any(|(_, asks, answer)| asks.is_counted() && !answer.is_empty())
}

#[test]
fn a_slip_at_any_question_of_a_record_is_asked_again_with_what_is_wrong_and_nothing_is_written() {
    at_once(&records::CASES, slips);
}

#[test]
fn a_slip_at_any_question_of_a_course_is_asked_again_with_what_is_wrong_and_nothing_is_written() {
    at_once(&course::CASES, slips);
}

#[test]
fn a_slip_at_any_question_of_a_correction_is_asked_again_with_what_is_wrong_and_nothing_is_written() {
    at_once(&correction::CASES, slips);
}

#[test]
fn ctrl_c_and_the_end_of_input_at_any_question_of_a_record_drop_nothing_without_a_yes() {
    at_once(&records::CASES, stops);
}

#[test]
fn ctrl_c_and_the_end_of_input_at_any_question_of_a_course_drop_nothing_without_a_yes() {
    at_once(&course::CASES, stops);
}

#[test]
fn ctrl_c_and_the_end_of_input_at_any_question_of_a_correction_drop_nothing_without_a_yes() {
    at_once(&correction::CASES, stops);
}
