//! Converts a pattern of another program to the most likely form in words: `mm/dd/yyyy`, `%m/%d/%Y`, `h:mm AM`.
//!
//! A suggestion only, never applied: a month taken for a minute would move a record.

/// The most likely date form of a pattern.
pub(super) fn date(pattern: &str) -> Option<String> {
    words(pattern, "month")
}

/// The most likely time form of a pattern.
pub(super) fn time(pattern: &str) -> Option<String> {
    words(pattern, "minute")
}

fn words(pattern: &str, of_m: &'static str) -> Option<String> {
    let pattern = pattern.trim().to_lowercase();
    let pattern = ["am/pm", "am", "pm", "tt"].iter().fold(pattern, |pattern, word| pattern.replace(word, "p"));
    let (mut words, mut last) = (String::new(), None);
    for letter in pattern.chars().filter(|letter| *letter != '%') {
        let word = match letter {
            'y' => "year",
            'm' => of_m,
            'b' => "month",
            'd' => "day",
            'h' | 'i' | 'k' => "hour",
            'n' => "minute",
            's' => "second",
            'a' | 'p' => "am/pm",
            letter if letter.is_alphanumeric() => return None,
            letter => {
                words.push(letter);
                last = None;
                continue;
            }
        };
        // "yyyy" is one word.
        if last != Some(word) {
            words.push_str(word);
        }
        last = Some(word);
    }
    Some(words)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_patterns_are_understood() {
        let check = |pattern: &str, meant: &str| {
            let read = if meant.contains("hour") { time(pattern) } else { date(pattern) };
            assert_eq!(read.as_deref(), Some(meant), "{pattern}");
        };
        check("mm/dd/yy", "month/day/year");
        check("M/D/YYYY", "month/day/year");
        check("%m/%d/%Y", "month/day/year");
        check("DD.MM.YY", "day.month.year");
        check("D MMM YYYY", "day month year");
        check("YYYYMMDD", "yearmonthday");
        check("h:mm AM", "hour:minute am/pm");
        check("h:mm a", "hour:minute am/pm");
        check("hh:mm AM/PM", "hour:minute am/pm");
        check("%I:%M %p", "hour:minute am/pm");
        check("HH:mm:ss", "hour:minute:second");
    }
}
