//! What every answering command does with its report: show it, keep it, or say why there is none.

use super::input::{self, Common};
use super::{Ending, Stop, write_json};
use crate::store::files::write_text;
use crate::view::{Sheet, text};
use saltwright_solver::job::Outcome;
use serde::Serialize;
use std::io::Write;

/// Shows a report as a sheet, or as JSON where that was asked for.
pub fn show(
    report: &impl Serialize,
    sheet: impl FnOnce() -> Sheet,
    common: &Common,
    out: &mut dyn Write,
) -> Result<(), Stop> {
    if common.json {
        write_json(out, report)
    } else {
        Ok(write!(out, "{}", text::render(&sheet()))?)
    }
}

/// Writes mix and nutrients to the files of `--out`, where that was asked for.
pub fn keep(
    tables: impl FnOnce() -> (String, String),
    common: &Common,
    out: &mut dyn Write,
) -> Result<(), Stop> {
    let Some(path) = &common.out else {
        return Ok(());
    };
    let (mix, nutrients) = tables();
    let beside = input::beside(path);
    write_text(path, &mix)?;
    write_text(&beside, &nutrients)?;
    if !common.json {
        writeln!(out, "\nwrote {} and {}", path.display(), beside.display())?;
    }
    Ok(())
}

/// Ends a command that got no report: the refusal as JSON where that was asked for, else as errors.
pub fn refused(outcome: Outcome, common: &Common, out: &mut dyn Write) -> Result<Ending, Stop> {
    match outcome {
        Outcome::Refused(refusal) if !common.json => Err(refusal.into()),
        other => {
            write_json(out, &other)?;
            Ok(Ending::Refused)
        }
    }
}
