//! An answer that an unreadable file may prevent.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::ser::Error;
use serde::{Serialize, Serializer};
use serde_json::Value;

/// An answer, or its absence. The JSON keys are the same for both; without an answer the values are null.
#[derive(Debug, Clone, PartialEq)]
pub enum Judged<T> {
    /// The answer.
    Answer(T),
    /// A file that the answer needs cannot be read.
    Unreadable,
}

impl<T> Judged<T> {
    /// Returns the answer, if there is one.
    pub fn answer(&self) -> Option<&T> {
        match self {
            Judged::Answer(answer) => Some(answer),
            Judged::Unreadable => None,
        }
    }
}

impl<T> From<Option<T>> for Judged<T> {
    fn from(answer: Option<T>) -> Self {
        answer.map_or(Judged::Unreadable, Judged::Answer)
    }
}

impl<T: Serialize + Default> Serialize for Judged<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Judged::Answer(answer) => answer.serialize(serializer),
            Judged::Unreadable => {
                let mut keys = serde_json::to_value(T::default()).map_err(S::Error::custom)?;
                make_null(&mut keys);
                keys.serialize(serializer)
            }
        }
    }
}

/// Replaces every value of an object by null, except lists, which are empty.
fn make_null(value: &mut Value) {
    match value {
        Value::Object(keys) => keys.values_mut().for_each(make_null),
        Value::Array(_) => {}
        _ => *value = Value::Null,
    }
}

impl<T: JsonSchema> JsonSchema for Judged<T> {
    fn schema_name() -> Cow<'static, str> {
        format!("Judged{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let mut schema = T::json_schema(generator).to_value();
        make_nullable(&mut schema);
        schema.try_into().unwrap_or_default()
    }
}

/// Makes every property nullable that is neither an object nor a list.
fn make_nullable(schema: &mut Value) {
    let Some(properties) = schema.get_mut("properties").and_then(Value::as_object_mut) else { return };
    for property in properties.values_mut() {
        make_nullable(property);
        if let Some(kind) = property
            .get_mut("type")
            .filter(|kind| kind.as_str().is_some_and(|kind| kind != "object" && kind != "array"))
        {
            *kind = serde_json::json!([kind, "null"]);
        }
    }
}
