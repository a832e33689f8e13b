//! `serve`: the coach's pages on this machine.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;

use anyhow::{Context, Result};
use clap::Args;
use trimwright::pages::{Yard, router};
use trimwright::words::Words;

use super::day::OfClass;
use crate::input;
use crate::output::{Done, warn};

/// The squad that comes with the program.
const EXAMPLE: &[u8] = include_bytes!("../../../../data/squads/example.toml");

/// The coach's pages in a browser on this machine
///
/// Nobody else on the network can open them. Without a squad file they show the program's own twelve invented sailors. Stop with Ctrl-C.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  $ trimwright serve --squad squad.toml")]
pub(crate) struct Serve {
    #[command(flatten)]
    class: OfClass,
    /// The squad file (TOML or CSV); without it an invented one
    #[arg(long, value_name = "FILE")]
    squad: Option<PathBuf>,
    /// The port; another than the usual one where that is taken
    #[arg(long, value_name = "N", default_value_t = 7245)]
    port: u16,
}

impl Serve {
    pub(crate) fn run(&self) -> Result<Done> {
        let (name, bytes) = match &self.squad {
            None => ("the invented squad".to_owned(), EXAMPLE.to_vec()),
            Some(path) => (path.display().to_string(), input::bytes(path)?),
        };
        let squad = squad::read(&name, &bytes)?;
        warn(&squad.warnings);
        let words = Words::english().context("the words of the pages")?;
        let yard = Arc::new(Yard::new(squad.value, self.class.read()?, words));
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().context("starting the pages")?;
        runtime.block_on(async {
            let address = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), self.port);
            let listener = tokio::net::TcpListener::bind(address)
                .await
                .with_context(|| format!("port {} is taken: give another, like --port {}", self.port, self.port.wrapping_add(1)))?;
            println!("Trimwright's pages: http://{}/", listener.local_addr().context("the port")?);
            axum::serve(listener, router(yard)).await.context("the pages stopped")
        })?;
        Ok(Done::Whole)
    }
}
