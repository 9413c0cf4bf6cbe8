//! The findings of `check` for a person: one plain sentence, then the place in the file, then what to do.

use std::cmp::Reverse;
use std::fmt;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, Severity,
    SourceCode, SourceSpan, SpanContents,
};

use super::{Look, hanging, paragraph, words};
use crate::check::Fresh;
use crate::place::{Excerpt, Place};
use crate::problem::{Level, Problem, Rule, Severities};
use crate::report::check::Counts;
use crate::text::{count, visible};
use crate::word::Word;

/// So many findings are printed; nobody reads on.
const MOST: usize = 200;

/// The findings, and how many of each level. `paths` are those that were asked about; none for all that there is.
pub(crate) fn check(
    problems: &[Problem],
    severities: &Severities,
    counts: &Counts,
    paths: &[String],
    look: Look,
) -> String {
    let theme = if look.color { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(look.width.max(40))
        .with_word_separator(textwrap::WordSeparator::Custom(words))
        .with_break_words(false)
        .with_links(false)
        .without_cause_chain();
    let mut out = String::new();
    let shown = worst(problems, severities);
    let more = problems.len() - shown.len();
    for problem in shown {
        let level = severities.level(problem.rule);
        let place = place(&problem.place);
        out.push_str(&hanging(
            look,
            &format!("{level}: {place}: {} [{}]", visible(&problem.message), problem.rule.word()),
            "  ",
        ));
        let shown = Shown { problem, level };
        // Writing into a text does not fail.
        if problem.place.excerpt.is_some() {
            let mut excerpt = String::new();
            _ = handler.render_report(&mut excerpt, &shown);
            out.extend(
                excerpt.lines().skip_while(|line| !line.contains('╭')).map(|line| format!("{}\n", line.trim_end())),
            );
        } else {
            out.push_str(&hanging(look, &format!("  help: {}", visible(&problem.help)), "        "));
        }
        for related in &problem.related {
            out.push_str(&hanging(look, &format!("  see also {}", self::place(related)), "    "));
        }
        out.push('\n');
    }
    if more > 0 {
        let more = count(more as i64, "more finding");
        let text = format!(
            "{more} not shown, none worse than these. `exitsite check PATH` shows one folder; `--json` shows all."
        );
        out.push_str(&format!("{}\n", paragraph(look, &text)));
    }
    out.push_str(&summary(counts, paths, look));
    out
}

/// The parts of the program that are still the template's, with the command or the key that sets each.
pub(crate) fn fresh(parts: &[Fresh], look: Look) -> String {
    let line = |part: &Fresh| match part {
        Fresh::Name => "The program has the template's name: set `program` in policy.toml, and `time_zone`.",
        Fresh::NoStaff => "No one is on the staff list: `exitsite staff add CODE`.",
        Fresh::NoPatient => "No patient is on file: `exitsite patient add CODE`.",
    };
    parts.iter().map(|part| paragraph(look, line(part))).collect()
}

/// The findings that are printed, in their order: all, or the worst of them.
fn worst<'a>(problems: &'a [Problem], severities: &Severities) -> Vec<&'a Problem> {
    let mut order: Vec<usize> = (0..problems.len()).collect();
    order.sort_by_key(|n| Reverse(severities.level(problems[*n].rule)));
    order.truncate(MOST);
    order.sort_unstable();
    order.into_iter().map(|n| &problems[n]).collect()
}

fn summary(counts: &Counts, paths: &[String], look: Look) -> String {
    if *counts == Counts::default() {
        let paths: Vec<String> = paths.iter().map(|path| visible(path)).collect();
        return match paths.is_empty() {
            true => "Nothing is wrong in the records.\n".to_owned(),
            false => paragraph(look, &format!("Nothing is wrong in {}; nothing else was looked at.", paths.join(", "))),
        };
    }
    let parts: Vec<String> = [(counts.error, "error"), (counts.warning, "warning"), (counts.note, "note")]
        .into_iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, what)| count(n as i64, what))
        .collect();
    format!("{}. `exitsite check --explain RULE` says why a rule is there.\n", parts.join(", "))
}

/// Why one rule is there.
pub(crate) fn explain(rule: Rule, look: Look) -> String {
    format!("{} ({})\n{}", rule.word(), rule.level(), paragraph(look, rule.why()))
}

/// Every rule with its level and reason.
pub(crate) fn explain_all(look: Look) -> String {
    Rule::ALL.iter().map(|rule| explain(*rule, look)).collect::<Vec<_>>().join("\n")
}

fn place(place: &Place) -> String {
    let line = place.line.map(|line| format!(":{line}")).unwrap_or_default();
    let column = place.column.map(|column| format!(":{column}")).unwrap_or_default();
    format!("{}{line}{column}", visible(&place.file))
}

/// A problem as the diagnostics library wants it.
#[derive(Debug)]
struct Shown<'a> {
    problem: &'a Problem,
    level: Level,
}

impl fmt::Display for Shown<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&visible(&self.problem.message))
    }
}

impl std::error::Error for Shown<'_> {}

impl Diagnostic for Shown<'_> {
    fn severity(&self) -> Option<Severity> {
        Some(match self.level {
            Level::Error => Severity::Error,
            Level::Warning => Severity::Warning,
            Level::Note => Severity::Advice,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(visible(&self.problem.help)))
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.problem.place)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let marked = self.problem.place.excerpt.as_ref()?.marked.clone();
        Some(Box::new(std::iter::once(LabeledSpan::underline(marked.start..marked.end))))
    }
}

/// The one line that a place keeps, under its own line number.
impl SourceCode for Place {
    fn read_span<'a>(
        &'a self,
        _: &SourceSpan,
        lines_before: usize,
        _: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let Some(Excerpt { text, .. }) = &self.excerpt else { return Err(MietteError::OutOfBounds) };
        let line = self.line.unwrap_or(1).saturating_sub(1);
        // Asked for without the lines around it, the place is that of the frame's heading: the column in the file.
        let column = if lines_before == 0 { self.column.unwrap_or(1).saturating_sub(1) } else { 0 };
        let whole = SourceSpan::from(0..text.len());
        Ok(Box::new(MietteSpanContents::new_named(self.file.clone(), text.as_bytes(), whole, line, column, 1)))
    }
}
