//! `saltwright start DIR`: a folder of one's own.

use super::{Ending, Stop};
use crate::store::folder;
use crate::store::journal::Clock;
use std::io::Write;
use std::path::PathBuf;

/// Options of `start`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The folder to make
    #[arg(value_name = "DIR")]
    path: PathBuf,
    /// With two invented weeks of a tank, to look around
    #[arg(long)]
    demo: bool,
}

/// Runs it.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<Ending, Stop> {
    let made = folder::lay_out(&args.path, args.demo, &Clock::system())?;
    let shown = args.path.display();
    writeln!(out, "Laid out {shown}:")?;
    for path in made {
        let name = path.strip_prefix(&args.path).unwrap_or(&path);
        writeln!(out, "  {}", name.display())?;
    }
    if args.demo {
        writeln!(
            out,
            "All of the journal and the stocks is invented, to look around."
        )?;
    }
    writeln!(out, "next    cd {shown}, change the examples, then")?;
    writeln!(
        out,
        "        saltwright formulate my-lettuce --water my-tap --tank 100L"
    )?;
    Ok(Ending::Within)
}
