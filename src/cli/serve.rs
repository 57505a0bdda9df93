//! `saltwright serve`: every job in a browser.

use super::{Ending, Stop};
use crate::serve::share::{local_address, named_address, picture};
use crate::serve::{Ask, PORT, Server, limits};
use crate::store::folder::Folder;
use crate::store::journal::{Clock, Diary};
use crate::web::Site;
use saltwright_fertilizers::{Fault, Problem};
use saltwright_recipes::Library;
use std::io::Write;

/// Options of `serve`.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Args {
    /// Port to listen on, 0 for any free one; 7381 where left out
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    port: Option<String>,
    /// Share it on the local network, for a phone by the tank
    #[arg(long)]
    share: bool,
    /// The address to share on, where this machine has several
    #[arg(long, value_name = "ADDRESS", requires = "share")]
    on: Option<String>,
    /// Let whoever has the shared link note readings in the journal, too
    #[arg(long, requires = "share")]
    write: bool,
    /// Open the page in the browser
    #[arg(long)]
    open: bool,
}

/// What is said of a shared link.
const SHARED: &str = "\
Whoever has this link and is on the same network can read the page and ask it.
The link is not encrypted: others on that network can see what is asked.
A new start makes a new link.
";
/// What is said of the journal behind a shared link.
const READS: &str =
    "The journal of this folder can be read by it, but not written to (see --write).\n";
const WRITES: &str = "The journal of this folder can be read by it and written to.\n";

/// Runs it until it is stopped.
pub fn run(
    args: &Args,
    folder: &Folder,
    library: &Library,
    out: &mut dyn Write,
) -> Result<Ending, Stop> {
    let port = args.port.as_deref().map_or(Ok(PORT), port)?;
    let share = match (&args.on, args.share) {
        (Some(typed), _) => Some(named_address(typed)?),
        (None, true) => Some(local_address()?),
        (None, false) => None,
    };
    // On this machine alone the page is the grower's own hand.
    let diary = Diary::new(folder.clone(), share.is_none() || args.write, Clock::system);
    let shared = share.map(|_| match (diary.is_laid_out(), diary.is_writable()) {
        (false, _) => "",
        (true, false) => READS,
        (true, true) => WRITES,
    });
    let site = Site::over(library.clone()).with_diary(diary);
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .max_blocking_threads(limits::WORKERS)
        .build()?;
    runtime.block_on(async {
        // Signals are heard before anything is promised.
        let stop = stop_signal()?;
        let server = Server::bind(&Ask { port, share }, site)?;
        greet(&server, shared, out)?;
        if args.open && open::that_detached(server.link()).is_err() {
            writeln!(
                out,
                "No browser could be opened; open the address yourself."
            )?;
        }
        server.run(stop).await;
        writeln!(out, "Stopped.")?;
        Ok(Ending::Within)
    })
}

/// A port as typed.
fn port(typed: &str) -> Result<u16, Fault> {
    typed.trim().parse().map_err(|_| Fault {
        file: None,
        line: None,
        field: "--port".into(),
        problem: Problem::Unreadable {
            reason: format!("\"{typed}\" is not a port"),
            mend: "Give a whole number from 0 to 65535; 0 takes any free one.",
        },
    })
}

/// Where to find the page; `shared` is what is said of the journal where the page is shared.
fn greet(server: &Server, shared: Option<&str>, out: &mut dyn Write) -> Result<(), Stop> {
    let link = server.link();
    if let Some(journal) = shared {
        if let Some(picture) = picture(link) {
            writeln!(out, "{picture}")?;
        }
        write!(out, "{SHARED}{journal}")?;
    }
    writeln!(out, "Open {link}")?;
    writeln!(out, "Stop it with Ctrl+C.")?;
    Ok(out.flush()?)
}

/// Comes true when the program is asked to stop.
fn stop_signal() -> Result<impl Future<Output = ()>, std::io::Error> {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let mut term = signal(SignalKind::terminate())?;
        let mut interrupt = signal(SignalKind::interrupt())?;
        Ok(async move {
            tokio::select! {
                _ = term.recv() => {}
                _ = interrupt.recv() => {}
            }
        })
    }
    #[cfg(not(unix))]
    Ok(async {
        // Where the signal cannot be heard, the server runs until its process ends.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    })
}
