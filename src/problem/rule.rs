//! The rules of `check`: name, level and rationale of each.
//!
//! The name is the same in problems, in `policy.toml`, in `check --explain`, and as the name of the test fixture.

use super::Level;
use crate::word::Word;

macro_rules! rules {
    ($($rule:ident $name:literal $level:ident $why:literal)+) => {
        /// A rule of `check`.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Rule { $(#[doc = $why] $rule,)+ }

        impl Rule {
            /// All rules, in listing order.
            pub const ALL: &[Rule] = &[$(Rule::$rule),+];

            /// The default level.
            pub fn level(self) -> Level {
                match self { $(Rule::$rule => Level::$level,)+ }
            }

            /// The rationale and the remedy.
            pub fn why(self) -> &'static str {
                match self { $(Rule::$rule => $why,)+ }
            }
        }

        impl Word for Rule {
            const WORDS: &'static [&'static str] = &[$($name),+];

            fn word(self) -> &'static str {
                match self { $(Rule::$rule => $name,)+ }
            }

            fn from_word(word: &str) -> Option<Self> {
                match word { $($name => Some(Rule::$rule),)+ _ => None }
            }
        }
    };
}

impl Rule {
    /// Returns true if a file with this problem cannot be used to answer any question.
    pub(crate) fn makes_unusable(self) -> bool {
        self.level() == Level::Error && self != Rule::NotADateOfCare
    }

    /// Returns true if a program may lower its level. A problem that makes a record unreadable must stay visible.
    pub fn can_be_turned_down(self) -> bool {
        !self.makes_unusable()
            || matches!(
                self,
                Rule::EditedAfterCommit
                    | Rule::DeletedRecord
                    | Rule::MissingHere
                    | Rule::EarlierHere
                    | Rule::PhotoMissing
                    | Rule::PhotoAltered
            )
    }

    /// Returns true if the rule still applies to a voided record, which must be readable, correctly named and free of
    /// unknown keys.
    pub(crate) fn applies_to_voided(self) -> bool {
        use Rule::*;
        matches!(
            self,
            Syntax
                | NotUtf8
                | ConflictMarkers
                | TooLarge
                | TooDeep
                | NotARegularFile
                | WrongType
                | UnknownKey
                | NameDisagrees
                | AtOrOn
                | VoidIncomplete
                | AmendmentIncomplete
                | NotADateOfCare
                | FractionOfSecond
                | LeapSecond
                | SkippedTime
                | RepeatedTime
                | OlderThanItsEvent
                | PrivateData
                | ControlCharacters
        )
    }
}

rules! {
    // The file as text.
    Syntax "syntax" Error "The file is not valid TOML: a quote, bracket or equals sign is missing or extra, a key appears twice, or a date does not exist. Nothing in such a file can be trusted. Correct the marked place."
    NotUtf8 "not-utf8" Error "The file is not plain text in UTF-8. An editor or a spreadsheet saved it in another encoding. Save it again as UTF-8."
    ConflictMarkers "conflict-markers" Error "Two people changed this file and git could not merge their work, so the file has both versions between <<<<<<< and >>>>>>>. Keep the correct lines, delete the three marker lines, and commit. If both recorded an event at the same minute and both happened, put each event into its own file, the second with -2 before .toml."
    MissingFile "missing-file" Error "A required file is missing, such as a patient's patient.toml. Restore it from git, or write it again."
    CannotBeRead "cannot-be-read" Error "The operating system denies access to the file, so its content is unknown. Check the permissions."
    TooLarge "too-large" Error "A record is a few lines long. A file over 256 KiB is something else that was put here by mistake. Move it out of the records."
    TooDeep "too-deep" Error "Tables or lists are nested more than 64 levels deep. No record needs that; the file was put here by mistake or is damaged."
    NotARegularFile "not-a-regular-file" Error "This is a link, a pipe or a device instead of a file. Nothing in the records may point outside them, so it is not opened. Replace it with the file itself."

    // Its keys and values.
    WrongType "wrong-type" Error "The value has the wrong type, such as quoted text where a date belongs. Write dates, numbers, true and false without quotes; put words and codes in quotes."
    UnknownWord "unknown-word" Error "The word is not a choice for this key. Choices are lower case and spelled exactly as listed; anything else goes into `note`."
    UnknownKey "unknown-key" Error "Records of this kind have no such key. A misspelled key would be ignored silently, so it is an error."
    MissingKey "missing-key" Error "A required key is missing. Without it the record cannot be used."
    ImpossibleNumber "impossible-number" Error "The number is impossible for a measurement or a count: it is negative, not finite, or out of range. Correct it, or leave the key out."
    UnlikelyNumber "unlikely-number" Warning "The number is possible but rare: redness or crust over 60 mm, or a temperature outside 34 to 42.5 °C. Check for a wrong digit or unit."
    BadCode "bad-code" Error "A patient's code has 2 to 16 characters (A-Z, 0-9, hyphen) and begins with a letter; a person's code has 2 to 24 letters, digits and hyphens. Never use a name as a code. Some codes are reserved by operating systems."
    ControlCharacters "control-characters" Warning "The text contains control characters that steer a terminal or reorder the display, so it does not show what it contains. Type it again."

    // Time.
    AtOrOn "at-or-on" Error "An event needs exactly one of `at` (date and time) and `on` (date, if the time is unknown)."
    SkippedTime "skipped-time" Error "The clocks went forward over this time, so it did not exist that day. Write the time with its UTC offset, such as 2026-03-08T03:30:00-05:00."
    RepeatedTime "repeated-time" Error "The clocks went back, so this time occurred twice that night. Add the UTC offset, such as 2026-11-01T01:30:00-05:00 for the first."
    NotADateOfCare "not-a-date-of-care" Error "Dates in the records run from 1990-01-01 to 2199-12-31. Correct the year."
    LeapSecond "leap-second" Error "A leap second (:60) cannot be stored. Write :59."
    FractionOfSecond "fraction-of-second" Error "Times are stored to the second. Leave the fraction out."
    UnusualOffset "unusual-offset" Warning "The time zone does not use this UTC offset at that moment, so the time may be off by an hour or more. Check the clock change and the patient's time zone."

    // Names and places of files.
    NameDisagrees "name-disagrees" Error "Commands use file names to decide which files to open. If the day, time or kind in a file's name does not match its content, the record can be missed. Rename the file as the help shows."
    StrayName "stray-name" Error "The name looks like a record but does not follow `DATE[Thhmm]-KIND[-N].toml` in the folder of its year. It might be the latest dressing change, so the patient's status cannot be determined until the file is renamed or moved out of this folder."
    StrayFolder "stray-folder" Error "A patient's folder contains patient.toml and one folder per year; patients/ contains one folder per patient code. Anything else could hide records. Rename it, or move it out of the records."
    StrayElsewhere "stray-elsewhere" Warning "A file that looks like a record is in a folder that holds no records. Move it to its patient's folder, or out of the records."
    ForeignFile "foreign-file" Note "The file is not a record. It does no harm, but the records are easier to trust without it."
    Photograph "photograph" Warning "Photographs identify a person and do not belong in the records. Keep them where the program stores its pictures, and remove this one; it remains in the git history until that is rewritten."
    LeftoverOfAWrite "leftover-of-a-write" Note "A write was interrupted here. The temporary file that it left is ignored; the next write to this folder removes it."

    // policy.toml
    UnknownSchema "unknown-schema" Error "`schema` is the version of the record format. This version of exitsite reads version 1."
    UnknownZone "unknown-zone" Error "Time zones have IANA names, such as America/Chicago."
    CareDayStart "care-day-start" Error "`care_day_starts` must be a time before 12:00, such as 03:00:00."
    CareDayInClockChange "care-day-in-clock-change" Warning "A time zone on file changes its clocks at the start of the care day, so one care day a year begins at an irregular time. Choose a start that no zone skips or repeats, such as 03:00:00 or 04:00:00."
    Interval "interval" Error "An interval is either `every_days` (1 to 366) or `on_weekdays` (at least one day, with `min_days` if needed), never both."
    IntervalLong "interval-long" Warning "An order sets an interval longer than `[orders] longest_days` in the policy. One digit too many leaves a dressing on for weeks. Check the order; if it is correct, raise the limit."
    PhaseGap "phase-gap" Error "The phases leave some days without an interval, so no change would come due on them. Leave the last phase without a condition."
    Rubric "rubric" Error "A rubric needs items whose lowest points are 0, with points for every word of a field or bands to the end; cut-offs in ascending order from 0; and `always` rules about its own items."
    Curriculum "curriculum" Error "A curriculum needs a version, and steps with unique ids; otherwise a checkoff would be ambiguous."
    TwiceInPolicy "twice-in-policy" Error "Two parts of the policy have the same name, so neither can be selected. Rename one."
    CheckSetting "check-setting" Error "A rule's level can only be lowered: from error to warning or note, or from warning to note, with the reason in `why`. The level of a rule that makes a record unreadable cannot be lowered. To turn off a signal, write the reason in `off`."
    Address "address" Error "Alerts go to e-mail addresses; this is not one."

    // Codes and people.
    CodeDisagrees "code-disagrees" Error "The code in the file differs from the code of its folder. One of them belongs to someone else."
    CodeTwice "code-twice" Error "Two people in the program have the same code, so their records cannot be told apart."
    UnknownPerson "unknown-person" Warning "The code is neither in people.toml nor one of the patient's caregivers. Correct the code, or add the person."
    AnotherHousehold "another-household" Warning "The code belongs to another patient's caregiver, so the record may be about that patient. Check both; if it is, void the record here and record it there. The pre-commit hook blocks such a record."
    PersonNotActive "person-not-active" Warning "The person was not yet, or no longer, active in the program that day (`from`, `until` in people.toml)."

    // patient.toml
    ExitSites "exit-sites" Error "Each exit site needs a unique id and cannot begin before the implant."
    CareRows "care-rows" Error "The rows of `[[care]]` are the patient's places of care: the first begins on or before `records_from`, and each later one after the one before it. Otherwise some days have no place."
    RecordsFrom "records-from" Error "`records_from` cannot be before `implanted`, `last_change_before` must be before `records_from`, and a patient who joins later needs `infections_before`."
    EndsBeforeItBegins "ends-before-it-begins" Error "The end is before the beginning."
    RecordsBeginEarly "records-begin-early" Warning "The records begin at the implant, but the first event is more than 30 days later. If this program has followed the patient only since then, the earlier days count as days without a change: set `records_from`, `infections_before` and, if known, `last_change_before`."
    OrdersDisagree "orders-disagree" Note "Two orders with different intervals are in force on the same day. The later one applies; end the other if it no longer applies."

    // An event in its place.
    ExitUnclear "exit-unclear" Error "Several exit sites are open that day and the record names none, or it names one that the patient does not have. Write `exit`."
    ExitNotAllowed "exit-not-allowed" Error "A record of this kind concerns the patient, or every open exit site. Leave `exit` out."
    ExitNotNamed "exit-not-named" Warning "One exit site closes and another opens that day. The record names neither, so it counts for the one that closes. Write `exit`."
    NotForStaff "not-for-staff" Error "Staff folders hold only teaching checkoffs; other events belong to a patient."
    BeforeImplant "before-implant" Warning "The event is dated before the implant, so it does not count. Check the date and the patient's code."
    BeforeExit "before-exit" Warning "No exit site was open yet that day, so the event does not count. Check the date and `exit`."
    AfterExit "after-exit" Warning "The exit site was already closed, so the event does not count. Check the date and `exit`."
    AfterEnd "after-end" Warning "Support had already ended, so the event does not count. Check the date and the patient's code."
    InTheFuture "in-the-future" Warning "The event is dated in the future, but a record describes what has already happened. Check the date."
    UntimedToday "untimed-today" Note "A record from today has no time, so its order among today's events is unknown. Add the time while it is known."
    PerhapsTheSame "perhaps-the-same" Warning "Two events of the same kind on one care day, one without a time or both at most 90 minutes apart: a possible duplicate. Void one, or keep both if both happened."
    OlderThanItsEvent "older-than-its-event" Warning "An amendment, a void or a result is dated before its event. Check both dates."
    LogAhead "log-ahead" Error "A log covers days up to the day it was imported. One that ends later would cover days that are still to come and hide a missed change."
    LogGap "log-gap" Note "Some days fall between two logs of a household and are in neither. Changes on those days are unreported, not missed."

    // What the record says.
    Contradiction "contradiction" Warning "Two values of the record contradict each other, such as drainage none with an amount. Correct one."
    VoidIncomplete "void-incomplete" Error "A void needs its author (`by`), time (`at`) and reason (`why`)."
    AmendmentIncomplete "amendment-incomplete" Error "An amendment needs its author (`by`), time (`at`), reason (`why`) and the former value (`was`)."
    ResolvedBeforeOnset "resolved-before-onset" Warning "The infection was resolved before its onset."
    OnsetOutside "onset-outside" Warning "The onset is before the implant, before `records_from`, or after the end of support, so no audit counts the infection. Check the date; count an infection from before the records in `infections_before` of patient.toml."
    InfectionTwice "infection-twice" Warning "Two determinations have the same onset, so they describe one infection. Audits count only the more certain one. Void the other, or correct its onset."
    RecurrenceOfNothing "recurrence-of-nothing" Warning "`recurrence_of` must be the file name of another infection record of this patient. No such record exists, or it is this one."
    OrganismsWithoutGrowth "organisms-without-growth" Warning "Organisms are listed, but the culture result is not growth. Correct one."
    NotAPhysician "not-a-physician" Warning "Only a clinician determines an infection, and `by` is not a clinician in people.toml. The roles are `[signals] clinician_roles` in the policy."
    StepTwice "step-twice" Warning "A step is listed in two of `unaided`, `prompted`, `missed`, or twice in one. Keep one."
    UnknownCurriculum "unknown-curriculum" Warning "The policy has no curriculum with this name and version. Keep old versions in the policy, so that old checkoffs can be read."
    UnknownStep "unknown-step" Warning "This version of the curriculum has no such step."

    // Pictures.
    PhotoSum "photo-sum" Error "`sha256` must be the SHA-256 checksum of the picture file: 64 characters, 0 to 9 and a to f. Without it the picture cannot be identified."
    PhotoPlace "photo-place" Warning "`kept_at` must be one of the places in `[photos] kept_at` of the policy, never a path. Correct the word, or add the place to the policy."
    PhotoMissing "photo-missing" Error "No file in the --photos folders has the recorded checksum of the picture. Look for the picture elsewhere; if it is lost, say so in the note of a new record."
    PhotoAltered "photo-altered" Error "The file that appears to be this picture has a different checksum: it was edited, converted or damaged after it was recorded. Restore the original."

    // With git.
    EditedAfterCommit "edited-after-commit" Error "A record was edited after it was committed, without a new `[[amended]]` row with author, time and reason. Values that others acted on must stay visible. Allowed without a row: `[void]`; filling in an empty result, `resolved` or `until`; layout and comments; correcting a file that could not be used. Time and kind are never amended: void the record and write a new one."
    DeletedRecord "deleted-record" Error "A record was deleted after it was committed. Void a wrong record instead: it stays on file with the reason but no longer counts. A file may be renamed within the same patient or person if its content is unchanged."

    MissingHere "missing-here" Error "The named branch has a record that this folder lacks, because the folder is an older backup or needs a pull. Get the record from the branch; nothing is lost."
    EarlierHere "earlier-here" Error "The named branch has a later version of the record, which was amended, voided or completed there. Get it from the branch."
    DiffersThere "differs-there" Warning "The file differs from the one on the named branch, and neither shows which is later. Compare them."

    // Practice.
    AnchorNotLeftInPlace "anchor-not-left-in-place" Warning "After the change the driveline was left without an anchor, so a pull goes straight to the exit site. Common practice, no source."
    DrivelineCleansedWithoutDrainage "driveline-cleansed-without-drainage" Warning "Antiseptic was used on the driveline itself although there was no drainage; it may damage the driveline. Common practice, no source; the device's instructions for use take precedence."
    GauzeOverDrySite "gauze-over-dry-site" Warning "Gauze was placed over a site without drainage or bleeding. Use gauze only for drainage or bleeding. Common practice, no source."
    DiscNotMoistened "disc-not-moistened" Warning "The antimicrobial disc was dry over a dry site. Moisten it over a dry site; use it dry over drainage or bleeding. Common practice, no source."
    IntoleranceIgnored "intolerance-ignored" Warning "A material was used that the patient does not tolerate. Check the skin, and ask which material to use instead."

    // Privacy.
    PrivateData "private-data" Warning "The text looks like a telephone number, an e-mail address, or a name with a record number. Personal data does not belong in the records; remove it."
}
