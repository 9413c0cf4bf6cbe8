//! `exitsite policy`

use super::{Context, Outcome, ReadingFlags};
use crate::ask;
use crate::day::Period;
use crate::folder::Folder;
use crate::policy;
use crate::problem::Failure;
use crate::program::Program;
use crate::text;
use crate::view;

/// Compare the policy with an earlier one, and show the effect
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    sub: PolicySub,
}

#[derive(Debug, clap::Subcommand)]
enum PolicySub {
    Diff(Diff),
}

/// Show old and new values, the next changes that move, and the past days whose state changes
///
/// Both policies are applied to the same records, those on file now, so every difference is due to the policy. Expected
/// changes are compared over the last 28 days, signals as far back as they look, scores over every site record.
#[derive(Debug, clap::Args)]
struct Diff {
    /// Commit with the earlier policy, such as HEAD~1 or a1b2c3d; `git log -- policy.toml` lists the commits that
    /// changed it
    #[arg(value_name = "REV")]
    revision: String,

    #[command(flatten)]
    asking: ReadingFlags,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let PolicySub::Diff(diff) = &args.sub;
    let query = context.query(&diff.asking)?;
    query.program.usable_plan()?;
    let (earlier, since_commit) = earlier(&diff.revision, context)?;
    let was = Program::open(context.folder(&diff.asking)?)?.under(earlier).map_err(|_| {
        let revision = text::visible(&diff.revision);
        Failure::new(format!(
            "the policy at {revision} cannot be used; `exitsite check --at-commit {revision} policy.toml` lists its problems"
        ))
    })?;
    let today = query.today();
    let period = Period { from: crate::day::plus(today, -27), to: today };
    let report = ask::policy(&was, &query.program, since_commit, query.as_of, period)?;
    Ok(query.answer("policy diff", report, |report| view::policy(report, &diff.revision, context.look)))
}

/// The text of the policy at a revision, and its commit.
fn earlier(
    revision: &str,
    context: &Context,
) -> Result<(std::sync::Arc<crate::place::RecordText>, Option<String>), Failure> {
    let folder = Folder::at_revision("policy diff", context.records.as_deref(), &context.surroundings.here, revision)?;
    let commit = folder.revision().and_then(|revision| revision.commit.clone());
    let mut problems = Vec::new();
    let source = folder.read(policy::FILE, &mut problems);
    let why = problems.first().map(|problem| problem.message.clone()).unwrap_or_default();
    let unreadable = || {
        Failure::new(format!("policy.toml at {} cannot be read: {why}; name another commit", text::visible(revision)))
    };
    Ok((source.ok_or_else(unreadable)?, commit))
}
