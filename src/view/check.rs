//! The findings of `check` as text: first the patients whose records cannot be read, then each problem with its place and the
//! correction.

use std::cmp::Reverse;
use std::collections::BTreeSet;
use std::fmt;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, Severity,
    SourceCode, SourceSpan, SpanContents,
};

use super::{TextStyle, hanging, paragraph, words};
use crate::check::Fresh;
use crate::place::{Excerpt, Place};
use crate::policy::FILE as POLICY;
use crate::problem::{Level, Problem, Rule, Severities};
use crate::report::check::FindingCounts;
use crate::text::{count, in_sentences, visible};
use crate::word::Word;

/// The maximum number of findings printed.
const MOST: usize = 200;

/// The maximum number of patients named in the first sentence.
const MOST_NAMED: usize = 10;

/// Renders the findings and their number by level. `paths` are the requested ones; empty for all.
pub(crate) fn check(
    problems: &[Problem],
    severities: &Severities,
    counts: &FindingCounts,
    paths: &[String],
    look: TextStyle,
) -> String {
    let mut theme = GraphicalTheme::unicode_nocolor();
    if look.color {
        // Bold is readable on light and dark terminals; yellow and cyan are not on white.
        let bold = theme.styles.error.bold();
        (theme.styles.error, theme.styles.warning, theme.styles.advice) = (bold, bold, bold);
        theme.styles.highlights = vec![bold];
    }
    let levels = [Level::Error, Level::Warning, Level::Note].map(|level| format!("{level}:"));
    [theme.characters.error, theme.characters.warning, theme.characters.advice] = levels;
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(look.width.max(40))
        .with_word_separator(textwrap::WordSeparator::Custom(words))
        .with_word_splitter(textwrap::WordSplitter::NoHyphenation)
        .with_break_words(false)
        .with_links(false)
        .without_cause_chain();
    let mut out = first_of_all(problems, look);
    let shown = worst(problems, severities);
    let more = problems.len() - shown.len();
    for problem in shown {
        let shown = ShownProblem { problem, level: severities.level(problem.rule) };
        // Writing to a string does not fail.
        _ = handler.render_report(&mut out, &shown);
        for related in &problem.related {
            out.push_str(&hanging(look, &format!("  see also {}", self::place(related)), "    "));
        }
        out.push('\n');
    }
    if more > 0 {
        let more = count(more as i64, "more finding");
        let text =
            format!("{more} not shown, none more severe. `exitsite check PATH` shows one folder; `--json` shows all.");
        out.push_str(&format!("{}\n", paragraph(look, &text)));
    }
    out.push_str(&summary(counts, paths, look));
    out
}

/// Describes the result of a comparison with a branch, and its limits.
pub(crate) fn against(branch: &str, problems: &[Problem], look: TextStyle) -> String {
    let of = |rule: Rule| problems.iter().filter(|one| one.rule == rule).count() as i64;
    let (missing, earlier) = (count(of(Rule::MissingHere), "record"), count(of(Rule::EarlierHere), "record"));
    let (branch, differing) = (visible(branch), count(of(Rule::DiffersThere), "file"));
    let sentences = format!(
        "Compared with {branch} as of the last `git fetch`: {missing} missing here, {earlier} newer there, {differing} \
         differing. Records that were never pushed are not included."
    );
    paragraph(look, &sentences)
}

/// Lists the parts of the program still unchanged from the template, each with the command or key that sets it.
pub(crate) fn fresh(parts: &[Fresh], look: TextStyle) -> String {
    let line = |part: &Fresh| match part {
        Fresh::Name => "The program still has the template's name: set `program` and `time_zone` in policy.toml.",
        Fresh::NoStaff => "No staff on file: add them with `exitsite staff add CODE`.",
        Fresh::NoPatient => "No patients on file: add them with `exitsite patient add CODE`.",
    };
    parts.iter().map(|part| paragraph(look, line(part))).collect()
}

/// Names the patients whose records cannot be read, before everything else; empty if there are none.
fn first_of_all(problems: &[Problem], look: TextStyle) -> String {
    let unusable = problems.iter().filter(|problem| problem.makes_unusable()).map(|problem| &problem.place.file);
    let files: BTreeSet<&str> = unusable.map(String::as_str).collect();
    let patients: BTreeSet<&str> =
        files.iter().filter_map(|file| file.strip_prefix("patients/")?.split('/').next()).collect();
    let sentence = match (files.contains(POLICY), patients.len()) {
        (true, _) => format!("Cannot read {POLICY}. Correct it first: no patient's status can be computed until then."),
        (false, 0) => return String::new(),
        (false, n) => {
            let patients: Vec<String> = patients.iter().take(MOST_NAMED).map(|code| visible(code)).collect();
            let rest = if n > MOST_NAMED { format!(" and {} more", n - MOST_NAMED) } else { String::new() };
            format!(
                "Cannot read {} of {}{rest}. Correct {} first: the due list is incomplete until then.",
                if files.len() == 1 { "a file" } else { "files" },
                patients.join(", "),
                if files.len() == 1 { "it" } else { "them" }
            )
        }
    };
    format!("{}\n", paragraph(look, &sentence))
}

/// Returns the findings to print, in order: all, or the most severe.
fn worst<'a>(problems: &'a [Problem], severities: &Severities) -> Vec<&'a Problem> {
    let mut order: Vec<usize> = (0..problems.len()).collect();
    order.sort_by_key(|n| Reverse(severities.level(problems[*n].rule)));
    order.truncate(MOST);
    order.sort_unstable();
    order.into_iter().map(|n| &problems[n]).collect()
}

fn summary(counts: &FindingCounts, paths: &[String], look: TextStyle) -> String {
    if *counts == FindingCounts::default() {
        let paths: Vec<String> = paths.iter().map(|path| visible(path)).collect();
        return match paths.is_empty() {
            true => "No problems found in the records.\n".to_owned(),
            false => paragraph(look, &format!("No problems found in {}. Nothing else was checked.", paths.join(", "))),
        };
    }
    let parts: Vec<String> = [(counts.error, "error"), (counts.warning, "warning"), (counts.note, "note")]
        .into_iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, what)| count(n as i64, what))
        .collect();
    format!("{}. `exitsite check --explain RULE` explains a rule.\n", parts.join(", "))
}

/// Explains one rule.
pub(crate) fn explain(rule: Rule, look: TextStyle) -> String {
    format!("{} ({})\n{}", rule.word(), rule.level(), paragraph(look, rule.why()))
}

/// Explains every rule, with its level.
pub(crate) fn explain_all(look: TextStyle) -> String {
    Rule::ALL.iter().map(|rule| explain(*rule, look)).collect::<Vec<_>>().join("\n")
}

fn place(place: &Place) -> String {
    let line = place.line.map(|line| format!(":{line}")).unwrap_or_default();
    let column = place.column.map(|column| format!(":{column}")).unwrap_or_default();
    format!("{}{line}{column}", visible(&place.file))
}

/// A problem, adapted to the diagnostics library.
#[derive(Debug)]
struct ShownProblem<'a> {
    problem: &'a Problem,
    level: Level,
}

impl fmt::Display for ShownProblem<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let message = in_sentences(&[&visible(&self.problem.message)]);
        let place = place(&self.problem.place);
        write!(out, "{place}: {} [{}]", message.trim_end_matches('.'), self.problem.rule.word())
    }
}

impl std::error::Error for ShownProblem<'_> {}

impl Diagnostic for ShownProblem<'_> {
    fn severity(&self) -> Option<Severity> {
        Some(match self.level {
            Level::Error => Severity::Error,
            Level::Warning => Severity::Warning,
            Level::Note => Severity::Advice,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(in_sentences(&[&visible(&self.problem.help)])))
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.problem.place.excerpt.as_ref().map(|_| &self.problem.place as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let marked = self.problem.place.excerpt.as_ref()?.marked.clone();
        Some(Box::new(std::iter::once(LabeledSpan::underline(marked.start..marked.end))))
    }
}

/// The single source line of a place, under its own line number.
impl SourceCode for Place {
    fn read_span<'a>(
        &'a self,
        _: &SourceSpan,
        lines_before: usize,
        _: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let Some(Excerpt { text, .. }) = &self.excerpt else { return Err(MietteError::OutOfBounds) };
        let line = self.line.unwrap_or(1).saturating_sub(1);
        // Without context lines, the request is for the heading of the frame, which shows the column in the file.
        let column = if lines_before == 0 { self.column.unwrap_or(1).saturating_sub(1) } else { 0 };
        let whole = SourceSpan::from(0..text.len());
        Ok(Box::new(MietteSpanContents::new_named(self.file.clone(), text.as_bytes(), whole, line, column, 1)))
    }
}
