//! The findings at an exit site on a day, and their keys in a record.
//!
//! Left out on purpose: realistic disease. The courses are invented: findings rise, are treated and clear.

use chrono::NaiveDate;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use crate::course::{Course, What, days_between};
use crate::ending::Ending;
use crate::record::{Fields, Value, word};

/// The findings at an exit site.
#[derive(Clone, Copy)]
pub(crate) struct Site {
    pub(crate) drainage: &'static str,
    amount: &'static str,
    redness_mm: i64,
    swelling: &'static str,
    crust_mm: i64,
    pain: &'static str,
    warmth: bool,
}

const CLEAN: Site =
    Site { drainage: "none", amount: "", redness_mm: 0, swelling: "none", crust_mm: 0, pain: "none", warmth: false };

impl Site {
    /// The findings on a day: healing after surgery, worse during an incident, otherwise clean or nearly so.
    pub(crate) fn on(course: &Course, exit: usize, day: NaiveDate, rng: &mut ChaCha8Rng) -> Site {
        let days_before = days_between(day, course.morning);
        if course.plan.ending == Ending::SiteTurning && days_before <= 4 {
            return if days_before <= 2 { turned() } else { Site { redness_mm: 3, ..CLEAN } };
        }
        match course.happening(day) {
            _ if days_between(course.exits[exit].from, day) <= 14 => fresh(days_between(course.exits[exit].from, day)),
            Some((What::Infection, days)) => infected(days),
            Some((What::Drainage, days)) if days <= 3 => Site { drainage: "serous", amount: "scant", ..CLEAN },
            Some(_) => CLEAN,
            None => nearly_clean(rng),
        }
    }

    /// True if there is no drainage.
    pub(crate) fn is_dry(self) -> bool {
        self.drainage == "none"
    }

    /// The keys of `[site]`: all nine, or only those with a column in a household's log.
    pub(crate) fn fields(self, is_full: bool) -> Fields {
        let mut fields = vec![("drainage", word(self.drainage))];
        if !self.is_dry() {
            fields.push(("amount", word(self.amount)));
        }
        fields.push(("redness_mm", Value::Whole(self.redness_mm)));
        if !is_full {
            fields.push(("pain", word(self.pain)));
            return fields;
        }
        fields.extend([
            ("swelling", word(self.swelling)),
            ("crust_mm", Value::Whole(self.crust_mm)),
            ("pain", word(self.pain)),
            ("odor", Value::Flag(false)),
            ("warmth", Value::Flag(self.warmth)),
            ("overgranulation", Value::Flag(false)),
            ("bleeding", Value::Flag(false)),
        ]);
        fields
    }
}

/// The first two weeks after the implant: drainage and redness decrease from day to day.
fn fresh(pod: i64) -> Site {
    match pod {
        ..=3 => Site { drainage: "serosanguineous", amount: "small", redness_mm: 4, pain: "slight", ..CLEAN },
        4..=7 => Site { drainage: "serous", amount: "small", redness_mm: 3, ..CLEAN },
        8..=12 => Site { redness_mm: 2, ..CLEAN },
        _ => CLEAN,
    }
}

/// An infection by day: worst on the second, clear after ten.
fn infected(days: i64) -> Site {
    let red = |redness_mm| Site { redness_mm, ..CLEAN };
    match days {
        0 => Site { drainage: "serous", amount: "small", pain: "slight", ..red(4) },
        1 => Site { drainage: "purulent", amount: "small", swelling: "exit", pain: "slight", warmth: true, ..red(12) },
        2..=4 => Site { drainage: "purulent", amount: "scant", pain: "slight", ..red(10) },
        5..=7 => Site { drainage: "serous", amount: "scant", ..red(6) },
        8..=10 => red(3),
        _ => CLEAN,
    }
}

/// A site that needs review today and has not been reviewed.
fn turned() -> Site {
    Site { drainage: "serous", amount: "small", redness_mm: 8, pain: "slight", ..CLEAN }
}

/// A clean site, now and then with one finding of at most one point.
fn nearly_clean(rng: &mut ChaCha8Rng) -> Site {
    match rng.random_range(0..100) {
        0 => Site { crust_mm: 1, ..CLEAN },
        1 => Site { redness_mm: 2, ..CLEAN },
        2 => Site { pain: "slight", ..CLEAN },
        _ => CLEAN,
    }
}
