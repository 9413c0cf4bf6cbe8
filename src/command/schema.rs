//! `exitsite schema`

use super::Outcome;
use crate::problem::Failure;
use crate::schema;
use crate::text;
use crate::view;

/// Print the JSON Schemas of the record files and reports
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// A record file, a kind of event or a report
    #[arg(value_name = "NAME")]
    name: Option<String>,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let Some(name) = &args.name else {
        return Ok(Outcome { stdout: schema::names().join("\n") + "\n", ..Outcome::default() });
    };
    match schema::schema(name) {
        Some(schema) => Ok(Outcome { stdout: view::json(&schema), ..Outcome::default() }),
        None => {
            let near = text::nearest(name, schema::names())
                .map(|near| format!("; did you mean {near}?"))
                .unwrap_or(";".to_owned());
            Err(Failure::new(format!("unknown schema {}{near} `exitsite schema` lists the names", text::visible(name))))
        }
    }
}
