//! What somebody typed as the value of a key, by the shape that the key has; or a sentence that says what it takes.

use super::moment::Clock;
use crate::record::{Shape, Value};
use crate::text::{either, nearest, visible};

/// Reads what was typed for a key.
///
/// Lists are typed with spaces or commas between; a list of free texts, such as organisms, with commas or semicolons.
///
/// # Errors
/// One sentence that says what to type instead.
pub fn typed(shape: &Shape, text: &str, clock: Clock) -> Result<Value, String> {
    let text = text.trim();
    let shown = visible(text);
    match shape {
        Shape::Words(words) => word(words, text).map(Value::Text),
        Shape::Flag => match text.to_lowercase().as_str() {
            "yes" | "y" | "true" => Ok(Value::Flag(true)),
            "no" | "n" | "false" => Ok(Value::Flag(false)),
            _ => Err(format!("\"{shown}\" is neither yes nor no")),
        },
        Shape::Whole(least, most) => {
            let number =
                text.parse::<i64>().map_err(|_| format!("\"{shown}\" is no whole number; write {least} to {most}"))?;
            Ok(Value::Number(number as f64))
        }
        Shape::Measure(least, most) => match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(Value::Number(number)),
            _ => Err(format!("\"{shown}\" is no number; write {least} to {most}, with a point before a fraction")),
        },
        Shape::WholeOr(word) if text == *word => Ok(Value::Text(text.to_owned())),
        Shape::WholeOr(word) => match text.parse::<i64>() {
            Ok(number) => Ok(Value::Number(number as f64)),
            Err(_) => Err(format!("\"{shown}\" is no whole number; write one, or {word}")),
        },
        Shape::Date => clock.day(text).map(Value::Date),
        Shape::Moment => clock.ahead(text).map(Value::Moment),
        Shape::List(item) => {
            let items = split(text, item).map(|text| typed(item, text, clock)).collect::<Result<Vec<_>, _>>()?;
            if items.is_empty() {
                Err("nothing stands there; leave it out, or name one".to_owned())
            } else {
                Ok(Value::List(items))
            }
        }
        _ if text.is_empty() => Err("nothing stands there; leave it out".to_owned()),
        // What is pasted from elsewhere may bring another line end.
        _ => Ok(Value::Text(text.replace("\r\n", "\n"))),
    }
}

fn word(words: &[&str], text: &str) -> Result<String, String> {
    let lower = text.to_lowercase();
    if words.contains(&lower.as_str()) {
        return Ok(lower);
    }
    let near =
        nearest(text, words.iter().copied()).map(|near| format!("did you mean {near}? It")).unwrap_or("it".into());
    Err(format!("\"{}\" is no word for it; {near} takes {}", visible(text), either(words)))
}

/// The items of a list. Free texts hold spaces: an organism has two names.
fn split<'t>(text: &'t str, item: &Shape) -> impl Iterator<Item = &'t str> {
    let by_marks = *item == Shape::Text || text.contains([',', ';']);
    let is_between = move |c: char| if by_marks { matches!(c, ',' | ';') } else { c.is_whitespace() };
    text.split(is_between).map(str::trim).filter(|item| !item.is_empty())
}
