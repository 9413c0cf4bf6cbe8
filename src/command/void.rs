//! `exitsite void`

use std::path::{Path, PathBuf};

use super::consent::LastQuestion;
use super::correction::{Anew, CorrectionParts, OpenCorrection, Which, Who, Writing};
use super::gap::FlagGaps;
use super::pick::{self, WantedRecords};
use super::target::RecordTarget;
use super::{Context, Outcome, amend, gap};
use crate::entry::Standing;
use crate::problem::Failure;
use crate::text::a;
use crate::view::words::question::correction::WHY_VOIDED;

/// Void a record: it stays on file but no longer counts
///
/// For a record of the wrong person, of the wrong time, or of something that did not happen. The person who voids it,
/// the time and the reason stay on file. A void cannot be undone; write a new record instead.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    which: Which,

    /// The correct record, which is on file for the same patient and kind and is not voided
    #[arg(long, value_name = "FILE")]
    replaced_by: Option<PathBuf>,

    /// Record it for this patient first: for a record of the wrong patient
    #[arg(long, value_name = "PATIENT", conflicts_with = "replaced_by")]
    move_to: Option<String>,

    /// With --move-to: a key and its value in the new record, such as by=p014-spouse; may be given several times
    #[arg(long, value_name = "KEY=VALUE", requires = "move_to")]
    set: Vec<String>,

    #[command(flatten)]
    who: Who,

    #[command(flatten)]
    writing: Writing,
}

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    pick::or_again(context, || correct(args, context))
}

fn correct(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let correction = OpenCorrection::open(context, &program, &args.which, &WantedRecords::any(!args.writing.yes))?;
    if let Some(sentence) = correction.standing.voided() {
        return Err(Failure::new(format!("{sentence}. Nothing was written.")));
    }
    // The other patient's records decide first whether it can be theirs.
    let wishes = amend::wishes(&args.set, &[], &correction)?;
    let anew = args.move_to.as_ref().map(|code| {
        let from = (&correction.book.owner, &correction.standing);
        Anew::of((&program, context.surroundings.now), from, code.trim(), &wishes)
    });
    let anew = anew.transpose()?;
    let (replaced_by, stamp) = FlagGaps::walk(context, args.writing.yes, |gaps| {
        let replaced_by = args.replaced_by.as_deref().and_then(|typed| match replacement(&correction, typed) {
            Ok(name) => Some(name),
            Err(Failure(sentence)) => {
                gaps.add(format!("--replaced-by: {sentence}"));
                None
            }
        });
        (replaced_by, correction.stamp(&args.who, WHY_VOIDED, gaps))
    })?;
    let mut stamp = stamp.ok_or_else(gap::incomplete)?;
    let now = context.surroundings.now;
    let anew = anew.map(|anew| anew.entered(&stamp.by, now)).transpose()?;
    if let Some(anew) = &anew {
        stamp.why = format!("{}; written anew as {}", stamp.why, anew.file());
    }
    let corrected = correction.standing.void(&stamp, replaced_by.as_deref())?;
    let back = match (&replaced_by, &anew) {
        (Some(name), _) => format!("It stays on file but no longer counts; {name} replaces it.\n"),
        (None, Some(anew)) => {
            format!("It stays on file but no longer counts; {} replaces it.\n", anew.file())
        }
        (None, None) => format!(
            "It stays on file but no longer counts. This cannot be undone; if the record was correct after all, write it again:\n  exitsite record {} {}\n",
            correction.target.name.kind,
            correction.book.owner.code()
        ),
    };
    let name = correction.target.name.to_string();
    let replaced = correction.book.events.iter().find(|event| {
        event.void.as_ref().and_then(|void| void.what.as_deref()).is_some_and(|what| what.ends_with(&name))
    });
    let back = match replaced {
        Some(other) => format!(
            "{back}It replaced {}, which now has no replacement. Check whether one of them is correct.\n",
            other.file()
        ),
        None => back,
    };
    correction.settle(
        &corrected,
        args.writing,
        &CorrectionParts { done: "Voided", last: LastQuestion::Void, back, anew: anew.as_ref(), doubts: Vec::new() },
    )
}

/// The name of the record that replaces this one.
fn replacement(correction: &OpenCorrection, typed: &Path) -> Result<String, Failure> {
    let own = &correction.target;
    // A bare name refers to the same patient.
    let name = typed.to_string_lossy();
    let beside = crate::event::EventName::read(&name).map(|read| format!("{}/{}/{name}", own.owner, read.year()));
    let typed = beside.as_deref().map_or(typed, Path::new);
    let other = RecordTarget::of(correction.book.program, typed, &correction.context.surroundings.here)?;
    let standing = Standing::of(&other.source, other.name)?;
    let wrong = if other.source.file == own.source.file {
        Some("A record cannot replace itself".to_owned())
    } else if other.owner != own.owner {
        Some(format!("{} is not a record of {}", other.source.file, correction.book.owner.code()))
    } else if standing.kind != correction.standing.kind {
        Some(format!(
            "{} is {} record, not {} record",
            other.source.file,
            a(&standing.kind.to_string()),
            a(&correction.standing.kind.to_string())
        ))
    } else {
        standing.voided()
    };
    match wrong {
        Some(sentence) => Err(Failure::new(format!("{sentence}. Name the correct record."))),
        None => Ok(other.name.to_string()),
    }
}
