//! `serve` and `demo`: the coach's pages on this machine.

use std::io::IsTerminal;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::Arc;

use advice::caution::Cautions;
use anyhow::{Context, Result, bail};
use boat::class::Class;
use clap::Args;
use measure::Warning;
use squad::{Moment, Squad, Store, Writer};
use trimwright::pages::{Yard, router};
use trimwright::words::Words;

use super::day::OfClass;
use super::demo_outings;
use super::demo_regatta;
use super::store::OfStore;
use crate::output::{Done, warn};

/// The invented squad, as it came off its trailer, and four of its sailors in boats of another class: the demo's.
const AS_RIGGED: &[u8] = include_bytes!("../../../../data/squads/as_rigged.toml");
const SPRIT: &[u8] = include_bytes!("../../../../data/squads/sprit.toml");

/// The coach's pages in a browser on this machine: Today, Dock, What if, Race day, Afloat, Ashore, Season, School, Squad
///
/// The folder of the squad is made where it is missing. Nobody else on the network can open the pages. Stop with Ctrl-C.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  $ trimwright serve --store squad")]
pub(crate) struct Serve {
    #[command(flatten)]
    store: OfStore,
    #[command(flatten)]
    class: OfClass,
    /// The port
    #[arg(long, value_name = "N", default_value_t = 7245)]
    port: u16,
}

/// The pages with an invented squad of twelve in boats of two classes, as rigged, faults planted, three outings' tracks and a regatta
///
/// The squad is written into a new store, which `serve` opens again.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  $ trimwright demo --store demo")]
pub(crate) struct Demo {
    /// The folder the invented squad is written to; it must be empty or missing
    #[arg(long, value_name = "DIR", default_value = "trimwright-demo")]
    store: PathBuf,
    /// The port
    #[arg(long, value_name = "N", default_value_t = 7245)]
    port: u16,
    /// Only print the address, and open no browser
    #[arg(long)]
    no_browser: bool,
}

impl Serve {
    pub(crate) fn run(&self) -> Result<Done> {
        let listener = listener(self.port)?;
        let opened = Store::open_or_new(&self.store.folder()?)?;
        warn(&opened.warnings);
        pages(opened.value, self.class.read()?, listener, false)
    }
}

impl Demo {
    pub(crate) fn run(&self) -> Result<Done> {
        if self.store.read_dir().is_ok_and(|mut files| files.next().is_some()) {
            bail!("{}: something is in that folder already; name another, or open it with `trimwright serve`", self.store.display());
        }
        let listener = listener(self.port)?;
        let opened = Store::open_or_new(&self.store)?;
        let mut store = opened.value;
        let writer = Writer::now("demo");
        store.import_squad(&invented()?, &writer)?;
        demo_outings::write(&mut store, &writer)?;
        demo_regatta::write(&mut store, &writer)?;
        pages(store, Class::pram(), listener, !self.no_browser)
    }
}

/// The demo's squad: twelve sailors in twelve boats of two classes.
fn invented() -> Result<Squad> {
    let sprit = squad::read("the invented squad", SPRIT)?.value.crews;
    let mut crews = squad::read("the invented squad", AS_RIGGED)?.value.crews;
    crews.retain(|crew| sprit.iter().all(|other| other.sailor.label != crew.sailor.label));
    crews.extend(sprit);
    Ok(Squad { crews })
}

/// A port of this machine, taken before anything is written.
fn listener(port: u16) -> Result<TcpListener> {
    let listener = TcpListener::bind(SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), port))
        .with_context(|| format!("port {port} is taken: give another, like --port {}", port.wrapping_add(1)))?;
    listener.set_nonblocking(true).context("the port")?;
    Ok(listener)
}

/// Serves until it is stopped.
fn pages(store: Store, class: Class, listener: TcpListener, show: bool) -> Result<Done> {
    if let Err(error) = store.backup_of_the_day(Moment::now()) {
        warn(&[Warning::new("the day's backup", error.to_string())]);
    }
    let words = Words::english().context("the words of the pages")?;
    let yard = Arc::new(Yard::new(store, class, words, Cautions::standard()?));
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().context("starting the pages")?;
    runtime.block_on(async {
        let listener = tokio::net::TcpListener::from_std(listener).context("the port")?;
        let address = format!("http://{}/", listener.local_addr().context("the port")?);
        println!("Trimwright's pages: {address}");
        if show && std::io::stdout().is_terminal() {
            in_browser(&address);
        }
        axum::serve(listener, router(yard)).await.context("the pages stopped")
    })?;
    Ok(Done::Whole)
}

/// Shows an address in the browser of whoever sits here; where that cannot be done the printed address serves.
fn in_browser(address: &str) {
    let (program, before): (&str, &[&str]) = match std::env::consts::OS {
        "macos" => ("open", &[]),
        "windows" => ("cmd", &["/C", "start", ""]),
        _ => ("xdg-open", &[]),
    };
    let quiet = Stdio::null;
    let _ = Command::new(program).args(before).arg(address).stdin(quiet()).stdout(quiet()).stderr(quiet()).spawn();
}
