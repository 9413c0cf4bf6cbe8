//! The questions of `record`.

use super::Question;

/// The explanation of the dressing, as found, as left, or now.
const DRESSING: &str = "The state of the dressing: intact only if every edge holds and it is dry.";

/// The explanation of the anchor, as found, as left, or now.
const ANCHOR: &str = "The state of the anchor that holds the line. Loose or absent needs review today.";

/// The explanation of the dressing and the anchor together.
const COVERING: &str =
    "Intact only if every edge holds and it is dry. An anchor that is loose or absent needs review today.";

/// The explanation of the site.
const SITE: &str = "The nine findings of the site. Type none only if all nine were assessed; f, or the drainage, asks for them one by one.";

/// The explanation of the four signs.
const SIGNS: &str =
    "Four signs at once: name those present; the others are recorded as absent. Type none if none is present.";

/// The explanation of an unfinished record.
const NOT_SAVED_YET: &str =
    "1 goes back with your answers, 2 does what the question says, and only the word discard throws them away.";

/// The explanation of an unfinished record that flags filled in, so that no question is left to go back to.
const NOT_SAVED_YET_BY_FLAGS: &str = "Type the words of the question. Only the word discard throws the record away.";

pub(crate) const WHEN: Question = Question::new(
    "When was it{}? 18:40, \"yesterday 18:40\", 11/23 18:40, or a date alone if the time is unknown",
    "The time of the event, not of the typing. A date alone means that the time is unknown.",
    "18:40 or \"yesterday 18:40\"",
);
pub(crate) const HALF_OF_DAY: Question = Question::new(
    "{}",
    "A time without am or pm could be in the morning or in the evening. Type 06:40 or 6:40 pm and it is not asked.",
    "2",
);
pub(crate) const SAME_MINUTE: Question = Question::new(
    "Both were at {}. Was the dressing changed after {}?",
    "Only a change after the shower or the damage settles it. If it was not after it, type another time.",
    "1, or yes",
);
pub(crate) const TWIN: Question = Question::new(
    "Possible duplicate of {}. Which is it?",
    "Two records of one event count twice. A time is never amended, so the record without it is voided.",
    "1",
);
pub(crate) const TWIN_VOIDED: Question = Question::new(
    "Only {} has this: {}. Void it anyway?",
    "A voided record no longer counts, and neither do its findings. Choose no to enter them in this record first.",
    "2, or no",
);
pub(crate) const TWIN_DROPPED: Question = Question::new(
    "Only your record has this: {}. Drop it anyway?",
    "A record that is not saved keeps nothing. Choose no, and the record on file can be amended instead.",
    "2, or no",
);
pub(crate) const TWIN_BEFORE_SHOWER: Question = Question::new(
    "On file before the shower of that day: {}. Yours was after the shower. Which is it?",
    "A change before the shower and one after it are two changes.",
    "1",
);
pub(crate) const WRITER: Question =
    Question::new("Who is writing this record? Your code", "The code of the person at this keyboard.", "rn-07");
pub(crate) const SITE_AS_SEEN: Question = Question::new(
    "Exit site: type none if you looked at all nine (drainage, redness, swelling, crust, pain on pressure, odor, warmth, overgranulation, bleeding) and found nothing; else the drainage, such as pus, moderate, or f to enter findings one by one",
    SITE,
    "f",
);
pub(crate) const SITE_AS_REPORTED: Question = Question::new(
    "Exit site: type none if all nine (drainage, redness, swelling, crust, pain on pressure, odor, warmth, overgranulation, bleeding) were asked about and none was reported; else the drainage, such as pus, moderate, or f to enter findings one by one",
    SITE,
    "f",
);
pub(crate) const SIGNS_AS_SEEN: Question =
    Question::new("Which are present? Name them all; the others are recorded as looked at and absent", SIGNS, "1 2");
pub(crate) const SIGNS_AS_REPORTED: Question =
    Question::new("Which are present? Name them all; the others are recorded as reported absent", SIGNS, "1 2");
pub(crate) const DRESSING_AND_ANCHOR: Question = Question::new(
    "Dressing and anchor, as found and as left",
    "1 records an intact dressing and a secured anchor before and after the change; 2 asks one by one.",
    "1",
);
pub(crate) const SOURCE_IF_NOT_SEEN: Question = Question::new(
    "Then staff did not see the site. What is the source?",
    "The source, if staff did not see the site.",
    "1 for a report by telephone",
);
pub(crate) const PICTURE_FILE: Question = Question::new(
    "Picture file: its path, such as Downloads/site.jpg. Its checksum is recorded; the picture is not copied",
    "The picture on this computer: its checksum is recorded, the picture stays where it is.",
    "Downloads/site.jpg",
);
pub(crate) const NOT_SAVED: Question =
    Question::new("Not saved yet: 1 go back and correct, 2 {}, or type discard to throw it away", NOT_SAVED_YET, "");
pub(crate) const NOT_SAVED_BY_FLAGS: Question =
    Question::new("Not saved yet: type {}, or type discard to throw it away", NOT_SAVED_YET_BY_FLAGS, "");
pub(crate) const NOT_WRITTEN: Question = Question::new(
    "Not written yet; your answers are kept. Type discard to drop them",
    "Your answers are kept. Enter goes back to the questions, and only the word discard drops them.",
    "",
);

pub(crate) const CALLER: Question = Question::new(
    "Who made the call?",
    "The staff member who called, or who took the call if the household called, by number or code.",
    "1, or co-1",
);

/// Returns the question about two keys at once, by the first; `None` if there is none.
pub(crate) fn of_pair(first: &str) -> Option<Question> {
    let (words, about, example) = match first {
        "site.drainage" => (
            "What kind of drainage, and how much? One of each, such as pus, moderate",
            "The kind of drainage, the worst if there are several, and the amount on the old dressing. None has no amount.",
            "5 8, or pus, moderate",
        ),
        "found.dressing" => (
            "How were the dressing and the anchor found? One of each, such as wet, loose",
            COVERING,
            "3 7, or wet, loose",
        ),
        "left.dressing" => (
            "How were the dressing and the anchor left? One of each, such as intact, in place",
            COVERING,
            "1 6, or intact, in place",
        ),
        _ => return None,
    };
    Some(Question::new(words, about, example))
}

/// Returns the question that fills in a key of a record; `None` for the four signs, which have one question.
pub(crate) fn of_key(key: &str) -> Option<Question> {
    let (words, about, example) = match key {
        "by" => (
            "Who did or saw it?",
            "The person who did or saw it, by code: a number of the list or any code on file.",
            "rn-07, or patient",
        ),
        "source" => (
            "How do you know?",
            "The source: only what staff saw themselves counts as a look by staff.",
            "2 for a report by telephone",
        ),
        "exit" => ("Which exit site?", "The exit site, by its letter.", "a"),
        "note" => (
            "Any note? No names",
            "Anything the next reader needs. No names and no telephone numbers.",
            "cried during the change",
        ),
        "temperature_c" | "site.temperature_c" => (
            "What is the body temperature? With its unit, such as 98.6F or 37.0C",
            "The body temperature with its unit.",
            "98.6F or 37.0C",
        ),
        "site.drainage" => {
            ("What kind of drainage?", "The kind of drainage at the site, the worst if there are several.", "2, or pus")
        }
        "site.amount" => ("How much drainage?", "The amount of drainage on the old dressing.", "1, or scant"),
        "site.redness_mm" => (
            "How far does redness or discoloration extend from the line, in mm? 0 for none",
            "The distance from the line to the edge of the redness or change of color, in mm; 0 for none.",
            "3",
        ),
        "site.swelling" => ("Is there swelling?", "Swelling at the exit or along the tunnel.", "1, or none"),
        "site.crust_mm" => (
            "How far does crust extend from the line, in mm? 0 for none",
            "The width of the crust, in mm; 0 for none.",
            "2",
        ),
        "site.pain" => ("Is there pain on pressure?", "Pain on pressure near the site.", "1, or none"),
        "reason" => (
            "Why was the dressing changed?",
            "The reason for this change. It decides which shower or damage the change settles if no time is known.",
            "1",
        ),
        "steps_missed" | "missed" => {
            ("Which steps were missed?", "Steps that were left out, by number, several with commas.", "2, 5")
        }
        "found.dressing" => ("How was the dressing found?", DRESSING, "1, or wet"),
        "found.anchor" => ("How was the anchor found?", ANCHOR, "1, or in place"),
        "left.dressing" => ("How was the dressing left?", DRESSING, "1, or wet"),
        "left.anchor" => ("How was the anchor left?", ANCHOR, "1, or in place"),
        "dressing" => ("How is the dressing?", DRESSING, "1, or wet"),
        "anchor" => ("How is the anchor?", ANCHOR, "1, or in place"),
        "dressing_before" => ("How was the dressing before the water?", DRESSING, "1, or wet"),
        "dressing_after" => ("How was the dressing after the water?", DRESSING, "1, or wet"),
        "materials.cleanser" => {
            ("Which skin cleanser was used?", "The cleanser used on the skin.", "1, or chlorhexidine")
        }
        "materials.driveline_cleansed" => {
            ("Was the driveline itself cleansed?", "Was the driveline itself cleansed?", "yes")
        }
        "materials.disc" => (
            "Which antimicrobial disc was placed?",
            "The antimicrobial disc around the line: moistened, dry, or none.",
            "1",
        ),
        "materials.skin_protectant" => ("Was skin protectant applied?", "Was a skin protectant applied?", "no"),
        "materials.gauze" => ("Was gauze placed over the site?", "Was gauze used under the dressing?", "no"),
        "water" => ("What kind of water?", "The kind of water; a bath or a pool needs review today.", "1, or shower"),
        "mechanism" => ("How was the line pulled?", "The cause of the pull.", "2, or snag"),
        "site_bleeding" => ("Did the site bleed?", "Did the site bleed after the pull?", "no"),
        "specimen" => ("Which specimen?", "The source of the specimen.", "1, or exit site"),
        "result.on" => (
            "What day did the result come back?",
            "The day of the result; Enter if it is pending.",
            "2026-11-24 or yesterday",
        ),
        "result.growth" => ("Did the culture grow?", "Did the culture grow? Enter if the result is pending.", "yes"),
        "result.organisms" => (
            "Which organisms grew? Separate them with commas",
            "The organisms as the laboratory named them, several with commas.",
            "S. aureus",
        ),
        "part" => ("Which part is infected?", "The part that is infected, as the clinician determined it.", "1"),
        "certainty" => ("How certain is it?", "The certainty of the determination.", "2, or probable"),
        "onset" => (
            "What day did it start?",
            "The first day of the infection as determined, not the day of this entry.",
            "2026-11-20",
        ),
        "resolved" => ("What day did it resolve?", "The day it was resolved; Enter if it is not.", "2026-11-24"),
        "readmission" => ("Was the patient readmitted for it?", "Was the patient readmitted for it?", "no"),
        "organisms" => (
            "Which organisms? Separate them with commas",
            "The organisms as the laboratory named them, several with commas.",
            "S. aureus",
        ),
        "recurrence_of" => (
            "Is it a recurrence? The file name of the earlier infection",
            "The file name of the infection that came back. Enter if it is a first one.",
            "",
        ),
        "what" => ("What was ordered?", "The treatment that was ordered.", "1, or oral antibiotic"),
        "until" => ("Through what day?", "The last day, included; Enter if it is not known.", "2026-12-01"),
        "learner" => ("Who was taught?", "The person who was taught, by code.", "p014-spouse"),
        "observer" => ("Who observed?", "The staff member who watched and signs, by code.", "rn-07"),
        "curriculum" => ("Which curriculum?", "The list of steps that was taught.", "1"),
        "version" => ("Which version of the curriculum?", "The version of that list. Enter takes the newest.", ""),
        "mode" => ("How was it done?", "The kind of session; only a return demonstration can lead to a sign-off.", "3"),
        "unaided" => (
            "Which steps were done unaided? Type all for every step.",
            "Steps done without help, by number; all for every step.",
            "all",
        ),
        "prompted" => ("Which steps were done after a prompt?", "Steps that needed a prompt, by number.", "4"),
        "with" => ("Who was reached?", "The person who answered the call, by number or code.", "2"),
        "about" => (
            "What was the call about? Separate them with commas",
            "The subjects of the call, several with commas; name a finding only if it was discussed.",
            "1, 2",
        ),
        "outcome" => (
            "Outcome of the call?",
            "What came of the call. If it was a promise, its time is asked next.",
            "3, or advised",
        ),
        "escalated_to" => ("Who was it escalated to?", "The clinician to whom it was passed on, by code.", "md-3"),
        "expect_by" => (
            "When is the change or visit expected?",
            "The time the household promised. Enter writes no time, since none was given.",
            "18:00 or \"tomorrow 12:00\"",
        ),
        "from" => ("What is the first day of the log?", "The first day that the log covers.", "2026-11-01"),
        "through" => ("What is the last day of the log?", "The last day that the log covers.", "2026-11-30"),
        "complete" => (
            "Is the log complete, with every event of these days?",
            "Did the household write down every change of those days? A no leaves the days open.",
            "yes",
        ),
        "item" => ("Which supply item?", "The supply item, as the policy names it.", "1, or dressing-kit"),
        "received" => {
            ("How many were received?", "The number of items received. Enter if none was counted here.", "20")
        }
        "counted" => ("How many were counted on hand?", "The number of items on hand, counted today.", "12"),
        "lost" => ("How many were lost or spoiled?", "The number of items lost or spoiled.", "1"),
        "kept_at" => (
            "Where is the picture kept?",
            "The place where the picture itself is stored; it is never copied here.",
            "1",
        ),
        "sha256" => (
            "What is the SHA-256 checksum of the picture?",
            "The checksum of the picture, 64 digits; `--file` computes it.",
            "",
        ),
        "bytes" => {
            ("What is the size of the picture in bytes?", "The size of the picture in bytes. Enter leaves it open.", "")
        }
        _ => return None,
    };
    Some(Question::new(words, about, example))
}

#[cfg(test)]
mod tests {
    use super::of_key;
    use crate::entry::Draft;
    use crate::event::Kind;

    #[test]
    fn each_key_of_a_record_has_its_question() {
        // The four signs have one question, "Which are present?".
        let signs = ["site.odor", "site.warmth", "site.overgranulation", "site.bleeding"];
        for kind in Kind::ALL {
            for (key, ..) in Draft::keys(*kind) {
                let question = of_key(&key);
                assert_eq!(question.is_none(), signs.contains(&key.as_str()), "{kind}, {key}");
                assert!(question.is_none_or(|question| question.explained().len() < 160), "{kind}, {key}");
            }
        }
    }
}
