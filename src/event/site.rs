//! What was seen at the exit site. A field that was not looked at is left out.

use schemars::JsonSchema;
use serde::Serialize;

use crate::problem::Rule;
use crate::record::{Limits, Table};
use crate::word::{Word, words};

words! {
    /// What comes out of the site.
    pub enum Drainage {
        /// Nothing.
        None = "none",
        /// Clear.
        Serous = "serous",
        /// Clear with blood.
        Serosanguineous = "serosanguineous",
        /// Blood.
        Sanguineous = "sanguineous",
        /// Pus.
        Purulent = "purulent",
    }
}

words! {
    /// How much comes out.
    pub enum Amount {
        /// A trace.
        Scant = "scant",
        /// A little.
        Small = "small",
        /// Some.
        Moderate = "moderate",
        /// Much.
        Large = "large",
    }
}

words! {
    /// Where it is swollen.
    pub enum Swelling {
        /// Nowhere.
        None = "none",
        /// At the exit.
        Exit = "exit",
        /// Along the tunnel.
        Tunnel = "tunnel",
    }
}

words! {
    /// Pain on pressure.
    pub enum Pain {
        /// None.
        None = "none",
        /// Slight.
        Slight = "slight",
        /// Severe.
        Severe = "severe",
    }
}

words! {
    /// A field of `[site]`.
    #[derive(PartialOrd, Ord)]
    pub enum SiteField {
        /// What comes out.
        Drainage = "drainage",
        /// How much of it.
        Amount = "amount",
        /// How far redness or a change of color reaches from the line, in mm.
        RednessMm = "redness_mm",
        /// Where it is swollen.
        Swelling = "swelling",
        /// How far crust reaches, in mm.
        CrustMm = "crust_mm",
        /// Pain on pressure.
        Pain = "pain",
        /// Odor.
        Odor = "odor",
        /// Warmth.
        Warmth = "warmth",
        /// Granulation tissue over the edge.
        Overgranulation = "overgranulation",
        /// Bleeding.
        Bleeding = "bleeding",
        /// Body temperature in °C.
        TemperatureC = "temperature_c",
    }
}

/// One field's value, as a rubric weighs it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum Finding {
    /// A word of the field's list.
    Word(&'static str),
    /// A measure, in the unit of the field's name.
    Measure(f64),
    /// Seen or not.
    Flag(bool),
}

/// The exit site as somebody saw it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Site {
    /// What comes out.
    pub drainage: Option<Drainage>,
    /// How much of it.
    pub amount: Option<Amount>,
    /// How far redness reaches from the line, in mm; 0 for none.
    pub redness_mm: Option<f64>,
    /// Where it is swollen.
    pub swelling: Option<Swelling>,
    /// How far crust reaches, in mm; 0 for none.
    pub crust_mm: Option<f64>,
    /// Pain on pressure.
    pub pain: Option<Pain>,
    /// Odor.
    pub odor: Option<bool>,
    /// Warmth.
    pub warmth: Option<bool>,
    /// Granulation tissue over the edge.
    pub overgranulation: Option<bool>,
    /// Bleeding.
    pub bleeding: Option<bool>,
    /// Body temperature in °C.
    pub temperature_c: Option<f64>,
}

impl Site {
    /// Reads a `[site]` table.
    pub fn read(table: &mut Table) -> Site {
        let site = Site {
            drainage: table.word("drainage", "what comes out of the site"),
            amount: table.word("amount", "how much comes out"),
            redness_mm: table.measure(
                "redness_mm",
                Limits::MILLIMETERS,
                "how far redness or a change of color reaches from the line, 0 for none",
            ),
            swelling: table.word("swelling", "where it is swollen"),
            crust_mm: table.measure("crust_mm", Limits::MILLIMETERS, "how far crust reaches, 0 for none"),
            pain: table.word("pain", "pain on pressure"),
            odor: table.flag("odor", "an odor"),
            warmth: table.flag("warmth", "warm to the touch"),
            overgranulation: table.flag("overgranulation", "granulation tissue over the edge"),
            bleeding: table.flag("bleeding", "bleeding from the site"),
            temperature_c: table.measure("temperature_c", Limits::CELSIUS, "body temperature in °C"),
        };
        if site.drainage == Some(Drainage::None) && site.amount.is_some() {
            table.add(
                Rule::Contradiction,
                "amount",
                "there is an amount, although drainage is \"none\"",
                "leave `amount` out, or say in `drainage` what it was",
            );
        }
        site
    }

    /// The value of one field; none if it was not looked at.
    pub fn finding(&self, field: SiteField) -> Option<Finding> {
        fn word<W: Word>(word: Option<W>) -> Option<Finding> {
            word.map(|word| Finding::Word(word.word()))
        }
        match field {
            SiteField::Drainage => word(self.drainage),
            SiteField::Amount => word(self.amount),
            SiteField::RednessMm => self.redness_mm.map(Finding::Measure),
            SiteField::Swelling => word(self.swelling),
            SiteField::CrustMm => self.crust_mm.map(Finding::Measure),
            SiteField::Pain => word(self.pain),
            SiteField::Odor => self.odor.map(Finding::Flag),
            SiteField::Warmth => self.warmth.map(Finding::Flag),
            SiteField::Overgranulation => self.overgranulation.map(Finding::Flag),
            SiteField::Bleeding => self.bleeding.map(Finding::Flag),
            SiteField::TemperatureC => self.temperature_c.map(Finding::Measure),
        }
    }

    /// Whether nothing at all was looked at.
    pub fn is_empty(&self) -> bool {
        *self == Site::default()
    }

    /// Whether all nine items at which there can be nothing were looked at, and there was nothing.
    pub fn is_none_noted(&self) -> bool {
        let nothing = Site {
            drainage: Some(Drainage::None),
            amount: None,
            redness_mm: Some(0.0),
            swelling: Some(Swelling::None),
            crust_mm: Some(0.0),
            pain: Some(Pain::None),
            odor: Some(false),
            warmth: Some(false),
            overgranulation: Some(false),
            bleeding: Some(false),
            temperature_c: self.temperature_c,
        };
        *self == nothing
    }

    /// Whether it is known to be dry: no drainage, and no bleeding that was seen.
    pub fn is_dry(&self) -> bool {
        self.drainage == Some(Drainage::None) && self.bleeding != Some(true)
    }
}

impl SiteField {
    /// The words that the field takes; none for a measure or a flag.
    pub fn words(self) -> Option<&'static [&'static str]> {
        match self {
            SiteField::Drainage => Some(Drainage::WORDS),
            SiteField::Amount => Some(Amount::WORDS),
            SiteField::Swelling => Some(Swelling::WORDS),
            SiteField::Pain => Some(Pain::WORDS),
            _ => None,
        }
    }

    /// Whether the field is `true` or `false`.
    pub fn is_flag(self) -> bool {
        matches!(self, SiteField::Odor | SiteField::Warmth | SiteField::Overgranulation | SiteField::Bleeding)
    }
}

impl std::fmt::Display for Finding {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Finding::Word(word) => out.write_str(word),
            Finding::Measure(number) => write!(out, "{number}"),
            Finding::Flag(flag) => out.write_str(if *flag { "yes" } else { "no" }),
        }
    }
}
