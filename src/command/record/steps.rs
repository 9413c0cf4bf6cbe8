//! The steps of a checkoff typed as flags.

use super::asking::curriculum;
use super::entering::Entering;
use crate::entry::Draft;
use crate::event::Kind;
use crate::record::Value;
use crate::text::{either, visible};

impl Entering<'_> {
    /// Expands `all` to every step of the curriculum, and rejects a step that is not in it.
    pub(super) fn steps(&self, draft: &mut Draft) -> Vec<String> {
        let curricula = self.program.policy.as_ref().and_then(|policy| policy.curricula.as_deref()).unwrap_or_default();
        let steps = curriculum(curricula, draft).map(|curriculum| curriculum.steps.as_slice()).unwrap_or_default();
        let ids: Vec<&str> = steps.iter().map(|step| step.id.as_str()).collect();
        let mut wrong = Vec::new();
        for key in ["unaided", "prompted", "missed"].into_iter().filter(|_| draft.kind == Kind::Teaching) {
            let Some(Value::List(items)) = draft.values.get(key) else { continue };
            let words = items.iter().filter_map(|item| match item {
                Value::Text(word) => Some(word.as_str()),
                _ => None,
            });
            let words: Vec<String> = words.map(str::to_owned).collect();
            let is_all = words == ["all"] && !ids.is_empty();
            if is_all {
                let all = ids.iter().map(|id| Value::Text((*id).to_owned())).collect();
                draft.values.set(key, Value::List(all));
            } else if let Some(unknown) = words.iter().find(|word| !ids.contains(&word.as_str()))
                && (unknown == "all" || !ids.is_empty())
            {
                let known = if ids.is_empty() { "the ids of its steps".to_owned() } else { either(&ids) };
                wrong.push(format!(
                    "--{key}: {} is not a step of the curriculum. Use all, or {known}",
                    visible(unknown)
                ));
            }
        }
        wrong
    }
}
