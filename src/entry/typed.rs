//! Parses the typed value of a key by the key's shape; the error is a sentence with the valid values.

use super::moment::Clock;
use crate::record::{Shape, Value};
use crate::text::{either, nearest, visible};

/// Parses the text typed for a key: at a question, as a flag, or in a cell of a sheet.
///
/// A temperature has a unit or is identified by its range, a length may end in mm, and pus means purulent drainage.
/// List items are separated by spaces or commas; free texts, such as organisms, by commas or semicolons. An item that
/// contains a separator is quoted.
///
/// # Errors
/// One sentence with the correct form.
pub(crate) fn typed(key: &str, shape: &Shape, text: &str, clock: Clock) -> Result<Value, String> {
    let text = text.trim();
    match key.rsplit('.').next() {
        Some("temperature_c") => temperature(text).map(Value::Number),
        Some(key) if key.ends_with("_mm") => match millimeters_of_cm(text) {
            Some(mm) => Err(format!("\"{}\" is in centimeters. Type {mm} (mm).", visible(text))),
            None => of_shape(shape, without_unit(text), clock),
        },
        Some("drainage") if text.eq_ignore_ascii_case("pus") => of_shape(shape, "purulent", clock),
        Some("intolerances") => of_shape(shape, text, clock).and_then(intolerances),
        _ => of_shape(shape, text, clock),
    }
}

/// The answers that say a patient has no known intolerances, in lower case.
const NO_INTOLERANCES: [&str; 6] =
    ["none", "none known", "no known", "no known intolerances", "no known allergies", "nka"];

/// Returns true if an answer says that a patient has no known intolerances.
///
/// ```
/// # use exitsite::entry::is_none_known;
/// assert!(is_none_known("none") && is_none_known("No known allergies.") && !is_none_known("no tape"));
/// ```
pub fn is_none_known(text: &str) -> bool {
    NO_INTOLERANCES.contains(&text.trim().trim_end_matches('.').to_lowercase().as_str())
}

/// An empty list for no known intolerances. Refuses an intolerance that cannot be a material, such as `1`: the shortest
/// names have three letters in a row.
fn intolerances(value: Value) -> Result<Value, String> {
    let is_name = |text: &str| text.split(|letter: char| !letter.is_alphabetic()).any(|run| run.chars().count() >= 3);
    let items = match &value {
        Value::List(items) => items.as_slice(),
        item => std::slice::from_ref(item),
    };
    let texts = || {
        items.iter().filter_map(|item| match item {
            Value::Text(text) => Some(text.as_str()),
            _ => None,
        })
    };
    match texts().find(|text| is_none_known(text)) {
        Some(_) if items.len() == 1 => return Ok(Value::List(Vec::new())),
        Some(none) => return Err(format!("{none} cannot be combined with a material. Write the materials, or none.")),
        None => {}
    }
    match texts().find(|text| !is_name(text)) {
        Some(text) => {
            let text = visible(text);
            Err(format!("\"{text}\" is not a material. Write its name, such as chlorhexidine, CHG or tape, or none."))
        }
        None => Ok(value),
    }
}

/// The largest length at an exit site that a person may enter, in mm. Common practice, no source; a record may hold more.
const MOST_MM: f64 = 150.0;

/// Parses like [`typed`] what a person enters about one record: a length that no exit site has is refused, and a
/// day of a result, an onset or a resolution in the future.
///
/// # Errors
/// One sentence with the correct form.
pub(crate) fn entered(key: &str, shape: &Shape, text: &str, clock: Clock) -> Result<Value, String> {
    if key == "note" {
        is_note(text)?;
    }
    let shape = match shape {
        Shape::Measure(least, _) if key.ends_with("_mm") => &Shape::Measure(*least, MOST_MM),
        shape => shape,
    };
    match typed(key, shape, text, clock)? {
        Value::Number(mm) if key.ends_with("_mm") && mm > MOST_MM => {
            Err(format!("It cannot be {mm} mm at an exit site. Write the millimeters, 0 to {MOST_MM}."))
        }
        Value::Date(day) if ["result.on", "resolved", "onset"].contains(&key) && day > clock.date() => {
            Err(format!("{day} is in the future. Check the month and the year."))
        }
        value => Ok(value),
    }
}

/// Refuses a yes or a no as a note: the answer to whether there is one.
///
/// # Errors
/// One sentence with the correct form.
pub(crate) fn is_note(text: &str) -> Result<(), String> {
    match text.trim().to_lowercase().as_str() {
        "y" | "n" | "yes" | "no" => Err("Type the note itself, or press Enter for none.".to_owned()),
        _ => Ok(()),
    }
}

/// The millimeters of a length typed in centimeters; `None` if it is not one.
fn millimeters_of_cm(text: &str) -> Option<f64> {
    let cm = text.to_lowercase().strip_suffix("cm")?.trim_end().parse::<f64>().ok()?;
    (cm.is_finite() && cm >= 0.0).then(|| (cm * 100.0).round() / 10.0)
}

/// A length without its unit.
fn without_unit(text: &str) -> &str {
    let is_unit = |at: &usize| text[*at..].eq_ignore_ascii_case("mm");
    let unit = text.len().checked_sub(2).filter(|at| text.is_char_boundary(*at)).filter(is_unit);
    unit.map_or(text, |at| text[..at].trim_end())
}

fn of_shape(shape: &Shape, text: &str, clock: Clock) -> Result<Value, String> {
    let shown = visible(text);
    match shape {
        Shape::Words(words) => word(words, text).map(Value::Text),
        Shape::Flag => match text.to_lowercase().as_str() {
            "yes" | "y" | "true" => Ok(Value::Flag(true)),
            "no" | "n" | "false" => Ok(Value::Flag(false)),
            _ => Err(format!("\"{shown}\" is not a choice. Use yes or no.")),
        },
        Shape::Whole(least, most) => {
            let number = text
                .parse::<i64>()
                .map_err(|_| format!("\"{shown}\" is not a whole number. Write {least} to {most}."))?;
            Ok(Value::Number(number as f64))
        }
        Shape::Measure(least, most) => match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(Value::Number(number)),
            _ => Err(format!("\"{shown}\" is not a number. Write {least} to {most}; use a decimal point.")),
        },
        Shape::WholeOr(word) if text == *word => Ok(Value::Text(text.to_owned())),
        Shape::WholeOr(word) => match text.parse::<i64>() {
            Ok(number) => Ok(Value::Number(number as f64)),
            Err(_) => Err(format!("\"{shown}\" is not a whole number. Write one, or {word}.")),
        },
        Shape::Date => clock.day(text).map(Value::Date),
        Shape::Moment => clock.ahead(text).map(Value::Moment),
        Shape::List(item) => {
            let items =
                split(text, item).iter().map(|text| of_shape(item, text, clock)).collect::<Result<Vec<_>, _>>()?;
            if items.is_empty() {
                Err("The value is empty. Leave it out, or name one.".to_owned())
            } else {
                Ok(Value::List(items))
            }
        }
        _ if text.is_empty() => Err("The value is empty. Leave it out.".to_owned()),
        // Pasted text may have other line endings.
        _ => Ok(Value::Text(text.replace("\r\n", "\n"))),
    }
}

/// Parses a body temperature to °C: with a unit, or a bare number by its range, 90 to 110 °F and 30 to 45 °C.
///
/// ```
/// # use exitsite::entry::temperature;
/// for typed in ["98.6", "98.6F", "98.6 °F", "37", "37.0C", "37,0 °c"] {
///     assert_eq!(temperature(typed), Ok(37.0), "{typed}");
/// }
/// assert_eq!(temperature("100.4"), Ok(38.0));
/// assert_eq!(temperature("100.3F"), Ok(37.94));
/// assert_eq!(temperature("28C"), Ok(28.0)); // unlikely, but explicit
/// for typed in ["60", "986", "29.9", "NaN", "F", "", "37 K", "1e2"] {
///     assert!(temperature(typed).unwrap_err().contains("98.6F or 37.0C"), "{typed}");
/// }
/// ```
///
/// # Errors
/// One sentence with the right form.
pub fn temperature(text: &str) -> Result<f64, String> {
    let typed = text.trim().to_lowercase().replace(',', ".");
    let (number, unit) = match (typed.strip_suffix('f'), typed.strip_suffix('c')) {
        (Some(number), _) => (number, Some('f')),
        (_, Some(number)) => (number, Some('c')),
        _ => (typed.as_str(), None),
    };
    let number = number.trim_end_matches('°').trim();
    let is_plain = number.chars().all(|c| c.is_ascii_digit() || c == '.');
    let degrees = number.parse::<f64>().ok().filter(|_| is_plain);
    let is_fahrenheit = match (degrees, unit) {
        (Some(_), Some(unit)) => Some(unit == 'f'),
        (Some(degrees), None) if (90.0..=110.0).contains(&degrees) => Some(true),
        (Some(degrees), None) if (30.0..=45.0).contains(&degrees) => Some(false),
        _ => None,
    };
    match (degrees, is_fahrenheit) {
        // To a hundredth, so that 100.4 °F is 38 °C and tenths of a degree survive.
        (Some(degrees), Some(true)) => Ok(((degrees - 32.0) * 500.0 / 9.0).round() / 100.0),
        (Some(degrees), Some(false)) => Ok(degrees),
        _ => Err(format!(
            "{} is not a body temperature. Write it with its unit, such as 98.6F or 37.0C.",
            visible(text.trim())
        )),
    }
}

fn word(words: &[&str], text: &str) -> Result<String, String> {
    let lower = text.to_lowercase();
    if words.contains(&lower.as_str()) {
        return Ok(lower);
    }
    let near = nearest(text, words.iter().copied()).map(|near| format!("Did you mean {near}? ")).unwrap_or_default();
    Err(format!("\"{}\" is not a choice. {near}Use {}.", visible(text), either(words)))
}

/// Splits a list into its items. Free texts contain spaces: an organism has two names. A quoted item is taken
/// literally.
fn split(text: &str, item: &Shape) -> Vec<String> {
    let by_marks = *item == Shape::Text || text.contains([',', ';']);
    let is_between = |c: char| if by_marks { matches!(c, ',' | ';') } else { c.is_whitespace() };
    let mut items = Vec::new();
    let mut rest = text.trim_start();
    while !rest.is_empty() {
        let (item, behind) = quoted(rest, is_between).unwrap_or_else(|| {
            let end = rest.find(is_between).unwrap_or(rest.len());
            (rest[..end].to_owned(), &rest[end..])
        });
        items.push(item.trim().to_owned());
        rest = behind.trim_start_matches(|c: char| is_between(c) || c.is_whitespace());
    }
    items.retain(|item| !item.is_empty());
    items
}

/// A leading quoted item and the text after it; `None` if there is none.
fn quoted(text: &str, is_between: impl Fn(char) -> bool) -> Option<(String, &str)> {
    let inside = text.strip_prefix('"')?;
    let mut item = String::new();
    let mut chars = inside.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        match c {
            '"' if chars.next_if(|(_, next)| *next == '"').is_some() => item.push('"'),
            '"' => {
                let behind = &inside[at + 1..];
                let mark = behind.trim_start();
                let is_whole = mark.is_empty() || mark.starts_with(&is_between) || behind.starts_with(&is_between);
                return is_whole.then_some((item, behind));
            }
            c => item.push(c),
        }
    }
    None
}

/// The items of a list as typed: separated by spaces, or by semicolons if an item contains spaces.
///
/// ```
/// # use exitsite::{entry::listed, record::Shape};
/// assert_eq!(listed(&["hands", "mask"], &Shape::Id), "hands mask");
/// assert_eq!(listed(&["S. aureus", "C. albicans"], &Shape::Text), "S. aureus; C. albicans");
/// assert_eq!(listed(&["S. aureus, in two swabs"], &Shape::Text), "\"S. aureus, in two swabs\"");
/// ```
pub fn listed(items: &[&str], item: &Shape) -> String {
    let is_free = *item == Shape::Text;
    let is_plain = |item: &&str| {
        !item.contains([',', ';'])
            && !item.starts_with('"')
            && item.trim() == *item
            && (is_free || !item.contains(char::is_whitespace))
    };
    let written =
        |item: &&str| if is_plain(item) { (*item).to_owned() } else { format!("\"{}\"", item.replace('"', "\"\"")) };
    let between = if is_free || !items.iter().all(is_plain) { "; " } else { " " };
    items.iter().map(written).collect::<Vec<_>>().join(between)
}

#[cfg(test)]
mod tests {
    use super::{listed, millimeters_of_cm, split};
    use crate::record::Shape;

    #[test]
    fn a_length_in_centimeters_is_refused_with_its_millimeters() {
        for (typed, mm) in [("2 cm", Some(20.0)), ("0.7CM", Some(7.0)), ("12", None), ("2 mm", None), ("cm", None)] {
            assert_eq!(millimeters_of_cm(typed), mm, "{typed}");
        }
    }

    #[test]
    fn a_list_that_was_written_is_read_again() {
        let lists: [&[&str]; 6] = [
            &["a", "b"],
            &["S. aureus", "C. albicans"],
            &["a, b", "c; d"],
            &["say \"a\"", "\"b\" c", "\""],
            &["one two"],
            &["a\"b"],
        ];
        for item in [Shape::Text, Shape::Id] {
            for list in lists {
                assert_eq!(split(&listed(list, &item), &item), list, "{item:?}");
            }
        }
    }

    #[test]
    fn what_somebody_types_is_split_as_before() {
        let check = |text: &str, item: Shape, expected: &[&str]| assert_eq!(split(text, &item), expected, "{text}");
        check("hands  mask", Shape::Id, &["hands", "mask"]);
        check("hands, mask;", Shape::Id, &["hands", "mask"]);
        check("S. aureus; C. albicans", Shape::Text, &["S. aureus", "C. albicans"]);
        check("\"S\" aureus; b", Shape::Text, &["\"S\" aureus", "b"]);
        check("\"S. aureus", Shape::Text, &["\"S. aureus"]);
        check(" ; ", Shape::Text, &[]);
    }
}
