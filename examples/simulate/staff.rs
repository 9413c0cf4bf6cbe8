//! The staff of the invented program, and the teaching of staff and caregivers.
//!
//! Left out on purpose: a lapsed sign-off. Each person who changes a dressing is signed off on that day.

use std::fmt::Write;

use chrono::NaiveDate;
use chrono_tz::Tz;
use rand::RngExt;
use rand::seq::IndexedRandom;
use rand_chacha::ChaCha8Rng;

use crate::course::{moment_in, shift};
use crate::record::{Event, Moment, Value, When, text, word, words};

/// The built-in curriculum: its name, version and steps, for caregivers and nurses alike.
const CURRICULUM: &str = "dressing-change";
const VERSION: i64 = 1;
const STEPS: [&str; 16] = [
    "hands",
    "masks-and-caps",
    "old-dressing-off",
    "look-at-site",
    "sterile-gloves",
    "antiseptic-outward",
    "fresh-applicator",
    "line-left-alone",
    "let-dry",
    "disc-in-place",
    "skin-protectant",
    "gauze-if-draining",
    "sealed-cover",
    "anchor-fastened",
    "look-before-moving",
    "change-after-shower",
];

/// The coordinator, who writes most records.
pub(crate) const COORDINATOR: &str = "co-1";
/// The physician, who writes orders and determines infections.
pub(crate) const PHYSICIAN: &str = "md-1";
/// The educator, who observes checkoffs.
pub(crate) const EDUCATOR: &str = "ed-1";
/// The supply clerk, who sends kits.
pub(crate) const STORES: &str = "su-1";

/// The people of people.toml.
pub(crate) struct Staff {
    /// The first day, common to all.
    pub(crate) from: NaiveDate,
    nurses: Vec<String>,
}

impl Staff {
    /// Returns a staff with as many nurses as the program needs, all employed before the first implant.
    pub(crate) fn of(patients: usize, from: NaiveDate) -> Staff {
        Staff { from, nurses: (1..=6 + patients / 20).map(|n| format!("rn-{n:02}")).collect() }
    }

    /// The code of a random nurse.
    pub(crate) fn nurse(&self, rng: &mut ChaCha8Rng) -> &str {
        self.nurses.choose(rng).map_or(EDUCATOR, String::as_str)
    }

    /// The text of people.toml.
    pub(crate) fn to_toml(&self) -> String {
        let mut toml = String::from("# Invented codes of nobody.\n");
        let leaders = [
            (COORDINATOR, "coordinator", true),
            ("co-2", "coordinator", true),
            (PHYSICIAN, "physician", false),
            ("md-2", "physician", false),
            (EDUCATOR, "educator", true),
            (STORES, "other", false),
        ];
        let nurses = self.nurses.iter().enumerate().map(|(n, code)| (code.as_str(), "nurse", n < 2));
        for (code, role, may_sign) in leaders.into_iter().chain(nurses) {
            let _ = write!(toml, "\n[[person]]\ncode = \"{code}\"\nrole = \"{role}\"\n");
            if may_sign {
                toml.push_str("may_sign = true\n");
            }
            let _ = writeln!(toml, "from = {}", self.from);
        }
        toml
    }

    /// The checkoffs of each nurse: attested at first, then demonstrated again every year on two days.
    pub(crate) fn checkoffs(&self, zone: Tz, morning: NaiveDate, rng: &mut ChaCha8Rng) -> Vec<(&str, Vec<Event>)> {
        let mut all = Vec::new();
        for nurse in &self.nurses {
            let mut day = shift(self.from, rng.random_range(0..30));
            let attested = moment_in(zone, day, rng.random_range(480..900));
            let mut checkoffs = vec![checkoff(attested, nurse, EDUCATOR, "attested")];
            loop {
                day = shift(day, rng.random_range(310..=335));
                if shift(day, 7) >= morning {
                    break;
                }
                for day in [day, shift(day, 7)] {
                    let at = moment_in(zone, day, rng.random_range(480..900));
                    checkoffs.push(checkoff(at, nurse, EDUCATOR, "return-demonstration"));
                }
                day = shift(day, 7);
            }
            all.push((nurse.as_str(), checkoffs));
        }
        all
    }
}

/// A `teaching` event. Every step is done unaided; if assisted, two steps need a prompt.
pub(crate) fn checkoff(at: Moment, learner: &str, observer: &str, mode: &'static str) -> Event {
    let mut event = Event::new("teaching", When::At(at), observer, "seen");
    event.fields = vec![
        ("learner", text(learner)),
        ("observer", text(observer)),
        ("curriculum", word(CURRICULUM)),
        ("version", Value::Whole(VERSION)),
        ("mode", word(mode)),
    ];
    match mode {
        "return-demonstration" => event.fields.push(("unaided", words(&STEPS))),
        "assisted" => {
            event.fields.push(("unaided", words(&STEPS[..14])));
            event.fields.push(("prompted", words(&STEPS[14..])));
        }
        _ => {}
    }
    event.entered = Some((at + chrono::TimeDelta::minutes(10), observer.to_owned()));
    event
}
