//! `serve` and `demo`: the coach's pages on this machine.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;

use advice::caution::Cautions;
use anyhow::{Context, Result, bail};
use boat::class::Class;
use clap::Args;
use measure::Warning;
use squad::{Moment, Store, Writer};
use trimwright::pages::{Yard, router};
use trimwright::words::Words;

use super::day::OfClass;
use super::store::OfStore;
use crate::output::{Done, warn};

/// The invented squad, as it came off its trailer: the demo's.
const AS_RIGGED: &[u8] = include_bytes!("../../../../data/squads/as_rigged.toml");

/// The coach's pages in a browser on this machine: Today, Dock, What if, Squad
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

/// The pages with an invented squad of twelve, as rigged, faults planted
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
}

impl Serve {
    pub(crate) fn run(&self) -> Result<Done> {
        let opened = Store::open_or_new(&self.store.folder()?)?;
        warn(&opened.warnings);
        pages(opened.value, self.class.read()?, self.port)
    }
}

impl Demo {
    pub(crate) fn run(&self) -> Result<Done> {
        if self.store.read_dir().is_ok_and(|mut files| files.next().is_some()) {
            bail!("{}: something is in that folder already; name another, or open it with `trimwright serve`", self.store.display());
        }
        let opened = Store::open_or_new(&self.store)?;
        let mut store = opened.value;
        let read = squad::read("the invented squad", AS_RIGGED)?;
        store.import_squad(&read.value, &Writer::now("demo"))?;
        pages(store, Class::pram(), self.port)
    }
}

/// Serves until it is stopped.
fn pages(store: Store, class: Class, port: u16) -> Result<Done> {
    if let Err(error) = store.backup_of_the_day(Moment::now()) {
        warn(&[Warning::new("the day's backup", error.to_string())]);
    }
    let words = Words::english().context("the words of the pages")?;
    let yard = Arc::new(Yard::new(store, class, words, Cautions::standard()?));
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().context("starting the pages")?;
    runtime.block_on(async {
        let address = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), port);
        let listener = tokio::net::TcpListener::bind(address)
            .await
            .with_context(|| format!("port {port} is taken: give another, like --port {}", port.wrapping_add(1)))?;
        println!("Trimwright's pages: http://{}/", listener.local_addr().context("the port")?);
        axum::serve(listener, router(yard)).await.context("the pages stopped")
    })?;
    Ok(Done::Whole)
}
