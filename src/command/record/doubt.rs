//! What is doubtful in a record alone, besides what `check` knows.

use chrono::Duration;

use crate::entry::{Book, Clock, Draft};
use crate::event::Kind;
use crate::problem::Failure;
use crate::record::Value;
use crate::text;

/// A promise for later than this is doubted, in days. Common practice, no source.
const FAR_OFF_DAYS: i64 = 30;

/// What is doubtful in a record alone, besides what `check` knows: a promise for a time that has passed or is far off, a
/// supply of no item of the policy, an inspection of nothing.
pub(super) fn doubts_of(draft: &Draft, book: &Book, clock: Clock) -> Result<Vec<String>, Failure> {
    let mut doubts = Vec::new();
    if let (Some(Value::Moment(until)), Some(at)) = (draft.values.get("expect_by"), draft.instant(clock)) {
        let until_instant = clock.instant(*until);
        if until_instant.is_some_and(|until| until <= at) {
            return Err(Failure::new(format!(
                "--expect-by: {until} is not after the call; write when it is expected; nothing was written"
            )));
        }
        if until_instant.is_some_and(|until| until - at > Duration::days(FAR_OFF_DAYS)) {
            doubts.push(format!("it is promised for {until}, more than {FAR_OFF_DAYS} days ahead: look at the year"));
        }
    }
    let items = book.program.policy.as_ref().and_then(|policy| policy.supplies.as_ref());
    if let (Some(item), Some(items)) = (draft.values.text("item"), items)
        && items.iter().all(|known| known.item != item)
    {
        let near = text::nearest(item, items.iter().map(|known| known.item.as_str()));
        let near = near.map(|near| format!("; did you mean {near}?")).unwrap_or_default();
        doubts.push(format!("the policy has no supply \"{}\"{near}", text::visible(item)));
    }
    if draft.kind == Kind::Inspection && !draft.says_something() {
        doubts.push("the inspection says nothing of dressing or anchor".to_owned());
    }
    if let (Some(Value::Date(onset)), Some(at)) = (draft.values.get("onset"), draft.instant(clock))
        && *onset > clock.calendar.today(at)
    {
        doubts.push(format!("the onset, {onset}, is after the determination"));
    }
    Ok(doubts)
}
