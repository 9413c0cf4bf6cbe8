//! Findings at the exit site. A field that was not assessed is left out.

use schemars::JsonSchema;
use serde::Serialize;

use crate::problem::Rule;
use crate::record::{Limits, Table, fields};
use crate::word::{Word, words};

words! {
    /// Drainage.
    pub enum Drainage {
        /// None.
        None = "none",
        /// Clear.
        Serous = "serous",
        /// Clear with blood.
        Serosanguineous = "serosanguineous",
        /// Bloody.
        Sanguineous = "sanguineous",
        /// Pus.
        Purulent = "purulent",
    }
}

words! {
    /// Amount of drainage.
    pub enum Amount {
        /// Trace.
        Scant = "scant",
        /// Small.
        Small = "small",
        /// Moderate.
        Moderate = "moderate",
        /// Large.
        Large = "large",
    }
}

words! {
    /// Swelling.
    pub enum Swelling {
        /// None.
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

/// The value of one field, as a rubric scores it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum Finding {
    /// A word from the field's list.
    Word(&'static str),
    /// A measure, in the unit of the field's name.
    Measure(f64),
    /// Present or absent.
    Flag(bool),
}

impl Finding {
    /// Returns true if something was found: a word other than `none`, more than 0, or yes.
    pub(crate) fn is_present(self) -> bool {
        match self {
            Finding::Word(word) => word != "none",
            Finding::Measure(measure) => measure > 0.0,
            Finding::Flag(flag) => flag,
        }
    }
}

/// The type of a field's values.
trait Finds {
    /// The allowed words; `None` for a measure or a flag.
    const WORDS: Option<&'static [&'static str]> = None;
    /// True if the field is a flag.
    const IS_FLAG: bool = false;

    fn finding(self) -> Finding;
}

impl<W: Word> Finds for W {
    const WORDS: Option<&'static [&'static str]> = Some(W::WORDS);

    fn finding(self) -> Finding {
        Finding::Word(self.word())
    }
}

impl Finds for f64 {
    fn finding(self) -> Finding {
        Finding::Measure(self)
    }
}

impl Finds for bool {
    const IS_FLAG: bool = true;

    fn finding(self) -> Finding {
        Finding::Flag(self)
    }
}

/// Declares each field of `[site]` once: its key, its type and its limits.
macro_rules! site {
    ($(#[doc = $about:literal] $variant:ident $field:ident = $word:literal: $type:ty $(, $limits:expr)?;)+) => {
        words! {
            /// A field of `[site]`.
            #[derive(PartialOrd, Ord)]
            pub enum SiteField { $(#[doc = $about] $variant = $word,)+ }
        }

        fields! {
            /// Findings at the exit site.
            #[derive(Debug, Clone, Default, PartialEq, Serialize, JsonSchema)]
            pub struct Site {
                $(#[doc = $about] pub $field: Option<$type> $(= maybe measure($limits))?,)+
            }
            then check
        }

        impl Site {
            /// Returns the value of one field; `None` if it was not assessed.
            pub fn finding(&self, field: SiteField) -> Option<Finding> {
                match field { $(SiteField::$variant => self.$field.map(Finds::finding),)+ }
            }
        }

        impl SiteField {
            /// The allowed words of the field; `None` for a measure or a flag.
            pub fn words(self) -> Option<&'static [&'static str]> {
                match self { $(SiteField::$variant => <$type as Finds>::WORDS,)+ }
            }

            /// Returns true if the field is a flag.
            pub(crate) fn is_flag(self) -> bool {
                match self { $(SiteField::$variant => <$type as Finds>::IS_FLAG,)+ }
            }
        }
    };
}

site! {
    /// Drainage.
    Drainage drainage = "drainage": Drainage;
    /// Amount of drainage.
    Amount amount = "amount": Amount;
    /// Redness or discoloration, from the line, in mm; 0 for none.
    RednessMm redness_mm = "redness_mm": f64, Limits::MILLIMETERS;
    /// Swelling.
    Swelling swelling = "swelling": Swelling;
    /// Crust, from the line, in mm; 0 for none.
    CrustMm crust_mm = "crust_mm": f64, Limits::MILLIMETERS;
    /// Pain on pressure.
    Pain pain = "pain": Pain;
    /// Odor.
    Odor odor = "odor": bool;
    /// Warmth.
    Warmth warmth = "warmth": bool;
    /// Granulation tissue over the edge.
    Overgranulation overgranulation = "overgranulation": bool;
    /// Bleeding from the site.
    Bleeding bleeding = "bleeding": bool;
    /// Body temperature, in °C.
    TemperatureC temperature_c = "temperature_c": f64, Limits::CELSIUS;
}

impl Site {
    fn check(&self, table: &mut Table) {
        if self.drainage == Some(Drainage::None) && self.amount.is_some() {
            table.add(
                Rule::Contradiction,
                "amount",
                "`amount` is given, but drainage is \"none\"",
                "remove `amount`, or correct `drainage`",
            );
        }
    }

    /// Returns true if nothing was assessed.
    pub fn is_empty(&self) -> bool {
        *self == Site::default()
    }

    /// Returns true if all nine items were assessed and none had a finding.
    pub(crate) fn is_none_noted(&self) -> bool {
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

    /// Returns true if the site is known to be dry: no drainage and no bleeding seen.
    pub fn is_dry(&self) -> bool {
        self.drainage == Some(Drainage::None) && self.bleeding != Some(true)
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
