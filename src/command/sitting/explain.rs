//! The explanations behind `?`: what a question is for, what may be typed, and an example. One table for all commands, by the
//! beginning of the question.

/// For the dressing, as found, as left, or now.
const DRESSING: &str = "The state of the dressing: intact only if every edge holds and it is dry. Example: 1, or wet.";

/// For the anchor, as found, as left, or now.
const ANCHOR: &str =
    "The state of the anchor that holds the line. Loose or absent needs review today. Example: 1, or in place.";

/// The beginnings of questions, each with its explanation. The first that fits counts.
const EXPLANATIONS: [(&str, &str); 72] = [
    (
        "When was it changed",
        "The time of the reported change, or only its day. Example: 18:40, \"yesterday 20:00\", or 2.",
    ),
    (
        "When",
        "The time of the event, not of the typing. A date alone means that the time is unknown. Example: 18:40 or \"yesterday 18:40\".",
    ),
    (
        "Who did or saw it",
        "The person who did or saw it, by code: a number of the list or any code on file. Example: rn-07, or patient.",
    ),
    ("Who changed it", "The person who changed the dressing, by number or code. Example: 1 for the first of the list."),
    ("Who was reached", "The person who answered the call, by number or code. Example: 2."),
    ("Which clinician", "The code of the clinician who was reached. Example: 1."),
    ("Escalated to", "The clinician to whom it was passed on. Example: 1."),
    ("Outcome", "What came of the call. If it was a promise, its time is asked next. Example: 3, or advised."),
    (
        "What came of the call",
        "What came of the call. If it was a promise, its time is asked next. Example: 3, or advised.",
    ),
    (
        "By when",
        "The time the household promised. Enter writes no time, since none was given. Example: 18:00 or \"tomorrow 12:00\".",
    ),
    (
        "Which open signals",
        "The findings that were discussed in this call; a signal that was not discussed stays as it is. Example: 1 3, or all.",
    ),
    (
        "What was the call about",
        "The subjects of the call, several with commas; name a finding only if it was discussed. Example: 1, 2.",
    ),
    ("To whom was it escalated", "The clinician to whom it was passed on, by code. Example: md-3."),
    (
        "Note, one line",
        "Anything the next caller needs. No names and no telephone numbers. Example: mother is back at noon.",
    ),
    (
        "Any note",
        "Anything the next reader needs. No names and no telephone numbers. Example: cried during the change.",
    ),
    (
        "How do you know?",
        "The source: only what staff saw themselves counts as a look by staff. Example: 2 for a report by telephone.",
    ),
    ("Then staff did not see", "The source, if staff did not see the site. Example: 1 for a report by telephone."),
    ("Who is writing", "The code of the person at this keyboard. Example: rn-07."),
    ("Your code", "The code of the person at this keyboard. Example: rn-07."),
    (
        "Why was it changed",
        "The reason as reported. Enter means that it was not asked. Example: 1 for a scheduled change.",
    ),
    (
        "Why was the dressing changed",
        "The reason for this change. It decides which shower or damage the change settles if no time is known. Example: 1.",
    ),
    (
        "Exit site",
        "The nine findings of the site. Type none only if all nine were assessed; f asks for them one by one. Example: f.",
    ),
    ("Which kind of drainage", "The kind of drainage at the site, the worst if there are several. Example: 2, or pus."),
    ("How much drainage", "The amount of drainage on the old dressing. Example: 1, or scant."),
    (
        "How far does redness",
        "The distance from the line to the edge of the redness or change of color, in mm; 0 for none. Example: 3.",
    ),
    ("Is there swelling", "Swelling at the exit or along the tunnel. Example: 1, or none."),
    ("How far does crust", "The width of the crust, in mm; 0 for none. Example: 2."),
    ("Is there pain", "Pain on pressure beside the site. Example: 1, or none."),
    (
        "Which are present?",
        "Four signs at once: name those present; the others are recorded as absent. Type none if none is present. Example: 1 2.",
    ),
    ("What is the body temperature", "The body temperature with its unit. Example: 98.6F or 37.0C."),
    (
        "Dressing and anchor",
        "1 records an intact dressing and a secured anchor before and after the change; 2 asks one by one. Example: 1.",
    ),
    ("How was the dressing", DRESSING),
    ("How is the dressing", DRESSING),
    ("How was the anchor", ANCHOR),
    ("How is the anchor", ANCHOR),
    ("Which steps were missed", "Steps that were left out, by number, several with commas. Example: 2, 5."),
    ("Which skin cleanser", "The cleanser used on the skin. Example: 1, or chlorhexidine."),
    ("Was the driveline", "Was the driveline itself cleansed? Example: yes."),
    ("Which antimicrobial disc", "The antimicrobial disc around the line: moistened, dry, or none. Example: 1."),
    ("Was skin protectant", "Was a skin protectant applied? Example: no."),
    ("Was gauze", "Was gauze used under the dressing? Example: no."),
    ("Which kind of water", "The kind of water; a bath or a pool needs review today. Example: 1, or shower."),
    ("How was the line pulled", "The cause of the pull. Example: 2, or snag."),
    ("Did the site bleed", "Did the site bleed after the pull? Example: no."),
    ("Which specimen", "The source of the specimen. Example: 1, or exit site."),
    ("On which day did the result", "The day of the result; Enter if it is pending. Example: 2026-11-24 or yesterday."),
    ("Did the culture grow", "Did the culture grow? Enter if the result is pending. Example: yes."),
    ("Which organisms", "The organisms as the laboratory named them, several with commas. Example: S. aureus."),
    ("Organisms", "The organisms as the laboratory named them, several with commas. Example: S. aureus."),
    ("Which part", "The part that is infected, as the clinician determined it. Example: 1."),
    ("How certain", "The certainty of the determination. Example: 2, or probable."),
    (
        "On which day did it begin",
        "The first day of the infection as determined, not the day of this entry. Example: 2026-11-20.",
    ),
    ("Was the patient readmitted", "Was the patient readmitted for it? Example: no."),
    ("Is it a recurrence", "The file name of the infection that came back. Enter if it is a first one."),
    ("On which day was it resolved", "The day it was resolved; Enter if it is not. Example: 2026-11-24."),
    ("Which treatment", "The treatment that was ordered. Example: 1, or oral antibiotic."),
    ("Through which day", "The last day, included; Enter if it is not known. Example: 2026-12-01."),
    ("Who was taught", "The person who was taught, by code. Example: p014-spouse."),
    ("Who observed", "The staff member who watched and signs, by code. Example: rn-07."),
    ("Which curriculum", "The list of steps that was taught. Example: 1."),
    ("Which version", "The version of that list. Enter takes the newest."),
    ("How was it done", "The kind of session; only a return demonstration can lead to a sign-off. Example: 3."),
    ("Which steps were done unaided", "Steps done without help, by number; all for every step. Example: all."),
    ("Which steps were done after", "Steps that needed a prompt, by number. Example: 4."),
    ("What is the first day of the log", "The first day that the log covers. Example: 2026-11-01."),
    ("What is the last day of the log", "The last day that the log covers. Example: 2026-11-30."),
    (
        "Is the log complete",
        "Did the household write down every change of those days? A no leaves the days open. Example: yes.",
    ),
    ("Which supply item", "The supply item, as the policy names it. Example: 1, or dressing-kit."),
    ("How many were received", "The number of items received. Enter if none was counted here. Example: 20."),
    ("How many were counted", "The number of items on hand, counted today. Example: 12."),
    ("How many were lost", "The number of items lost or spoiled. Example: 1."),
    ("Where is the picture kept", "The place where the picture itself is stored; it is never copied here. Example: 1."),
];

/// The explanations of the questions about courses, the staff list and corrections.
const OF_FILES: [(&str, &str); 32] = [
    (
        "Picture file",
        "The picture on this computer: its checksum is recorded, the picture stays where it is. Example: Downloads/site.jpg.",
    ),
    ("At which exit site", "The exit site, by its letter. Example: a."),
    ("Which exit site", "The exit sites whose dressing was changed. Example: 1, or all."),
    (
        "On which day was the implant",
        "The day of the implant; the days after it are counted from there. Example: 2026-08-03.",
    ),
    ("Where does the driveline", "The place on the abdomen as the patient sees it. Example: 1."),
    ("Where does the patient live", "The place today: it decides which interval applies. Example: home."),
    (
        "On which day do your records",
        "The first day for which this program answers: nothing before it counts as missed. Example: 2026-09-01, or implant.",
    ),
    ("Since which day", "The first day at the present place. Example: 2026-09-15."),
    ("Where was the patient from", "The place before that day. Example: 1."),
    (
        "How many driveline infections",
        "Infections before your records begin: a first one later is then not counted as the first. Example: 0, or unknown.",
    ),
    (
        "On which day was the last dressing",
        "The last change before your records: the next due day follows from it. Example: yesterday.",
    ),
    (
        "Who changes the dressing",
        "Codes for the caregivers, never names, each with the relation to the patient. Example: p014-son:son.",
    ),
    (
        "How does the household report",
        "Each means that a change is told as it happens; log, that a paper log comes in from time to time. Example: 1.",
    ),
    (
        "What does the patient not tolerate",
        "Materials to avoid; they are shown with every change. Example: chlorhexidine.",
    ),
    ("Which role", "The role decides who may determine, order and sign. Example: 2, or nurse."),
    ("May this person sign", "Only a person who may sign can sign off a caregiver. Type y or n."),
    (
        "On which day did this person start",
        "The first day on which the code is valid. Enter if it does not matter. Example: 2026-11-01.",
    ),
    ("What is this person's last day", "The last day, included; the sign-offs by the code stay valid. Example: today."),
    ("Which field", "The field to correct: its number above, or the name of a field to add. Example: 2, or note."),
    ("Day of the result", "The day on which the laboratory reported it. Example: 2026-11-24 or yesterday."),
    ("Did it grow", "Growth as the laboratory reported it. Type 1 or yes, 2 or no growth."),
    ("Day of the resolution", "The day on which the clinician called it resolved. Example: yesterday."),
    ("Last day of the treatment", "The last day on which it was given. Example: yesterday."),
    ("Clinician", "The code of the clinician who determined it. Example: md-3."),
    (
        "Reason for voiding",
        "The reason that stays on file with the voided record, in a few words. Example: wrong patient.",
    ),
    (
        "Reason for the correction",
        "The reason that stays on file with the old value, in a few words. Example: typed in the wrong line.",
    ),
    ("Which record", "The record to correct: the number before it. Enter picks none. Example: 1."),
    ("Which open", "The open record to fill in: the number before it. Enter picks none. Example: 1."),
    ("Not saved yet", "1 goes back with your answers, 2 goes on, and only the word discard throws them away."),
    (
        "Not written yet",
        "Your answers are kept. Enter goes back to the questions, and only the word discard drops them.",
    ),
    ("What is the SHA-256", "The checksum of the picture, 64 digits; `--file` computes it."),
    ("How many bytes", "The size of the picture in bytes. Enter leaves it open."),
];

/// The explanation of a question, and what else may be typed.
pub(super) fn explanation(question: &str) -> String {
    let plain = question.split_whitespace().collect::<Vec<_>>().join(" ");
    if plain.contains("[y/N]") {
        return "Type y for yes or n for no. < goes back, where there is a question before; Ctrl-C stops.".to_owned();
    }
    let known = EXPLANATIONS.iter().chain(&OF_FILES).find(|(begins, _)| plain.starts_with(begins));
    let known = known.map_or("", |(_, about)| *about);
    let by_number = if plain.contains("1 ") && plain.contains(", 2 ") {
        "Type the number, the word, or its beginning."
    } else if known.is_empty() {
        "Type the answer, then Enter."
    } else {
        ""
    };
    let text = [known, by_number, "< goes back one question."].join(" ");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::{EXPLANATIONS, OF_FILES, explanation};
    use crate::entry::Draft;
    use crate::event::Kind;
    use crate::view::words::question;

    #[test]
    fn each_key_has_its_question_and_each_question_its_explanation() {
        for (n, (begins, about)) in EXPLANATIONS.iter().chain(&OF_FILES).enumerate() {
            assert!(about.ends_with('.') && about.len() < 160, "{about}");
            let first = EXPLANATIONS.iter().chain(&OF_FILES).position(|(other, _)| begins.starts_with(other));
            assert_eq!(first, Some(n), "{begins} is never shown");
        }
        let about = |question: &str| {
            let known = EXPLANATIONS.iter().chain(&OF_FILES).find(|(begins, _)| question.starts_with(begins));
            known.is_some_and(|(_, about)| !about.is_empty())
        };
        // The four signs have one question, "Which are present?".
        let signs = ["site.odor", "site.warmth", "site.overgranulation", "site.bleeding"];
        for kind in Kind::ALL {
            for (key, ..) in Draft::keys(*kind).iter().filter(|(key, ..)| !signs.contains(&key.as_str())) {
                let asked = question(key);
                assert!(asked.is_some_and(about), "{kind}, {key}: {asked:?}");
            }
        }
        assert!(explanation("Write it? [y/N]").contains("y for yes"));
        assert!(explanation("Which kind of water? 1 shower, 2 bath").contains("Type the number, the word"));
    }
}
