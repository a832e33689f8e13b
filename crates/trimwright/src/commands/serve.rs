//! `serve` and `demo`: the coach's pages on this machine.

use std::fmt::Write as _;
use std::io::{BufRead, IsTerminal, Read, Write as _};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;

use advice::caution::Cautions;
use anyhow::{Context, Result, bail};
use boat::class::Class;
use clap::Args;
use measure::Warning;
use squad::{Moment, Squad, Store, Writer};
use trimwright::door::Door;
use trimwright::lines::{Lines, served};
use trimwright::pages::{Yard, router};
use trimwright::words::Words;
use trimwright::words::school::Tongue;

use super::day::OfClass;
use super::demo_outings;
use super::demo_regatta;
use super::store::OfStore;
use crate::output::{Done, warn};

/// The invented squad, as it came off its trailer, and four of its sailors in boats of another class: the demo's.
const AS_RIGGED: &[u8] = include_bytes!("../../../../data/squads/as_rigged.toml");
const SPRIT: &[u8] = include_bytes!("../../../../data/squads/sprit.toml");

/// The longest line read as a pass phrase, bytes.
const LONGEST_LINE: u64 = 4096;

/// The coach's pages in a browser on this machine: Today, Dock, What if, Race day, Afloat, Ashore, Season, School, Squad
///
/// The folder of the squad is made where it is missing. Nobody else on the network can open the pages, unless --listen opens them with
/// a pass phrase. Stop with Ctrl-C.
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
    /// Open the pages to phones on the network too, by this address of the machine (0.0.0.0 for all of them), with a pass phrase
    #[arg(long, value_name = "ADDRESS", value_parser = listened)]
    listen: Option<(IpAddr, Option<u16>)>,
    /// With --listen: ask for a new pass phrase instead of the one kept
    #[arg(long, requires = "listen")]
    new_phrase: bool,
    /// Open a browser at the pages too
    #[arg(long)]
    browser: bool,
}

/// An address of this machine, with or without a port.
fn listened(text: &str) -> Result<(IpAddr, Option<u16>), String> {
    let at = text.parse::<SocketAddr>().map(|at| (at.ip(), Some(at.port())));
    let told = |_| format!("\"{text}\" is no address of this machine: write one like 192.168.1.5, or 0.0.0.0 for all");
    at.or_else(|_| text.trim_matches(['[', ']']).parse().map(|ip| (ip, None))).map_err(told)
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
        let listeners = match self.listen {
            None => vec![listener(Ipv4Addr::LOCALHOST.into(), self.port)?],
            // All addresses hold this machine's own; any other stands beside it.
            Some((ip, port)) if ip.is_unspecified() => vec![listener(ip, port.unwrap_or(self.port))?],
            Some((ip, port)) => {
                let home = listener(Ipv4Addr::LOCALHOST.into(), self.port)?;
                let port = port.unwrap_or(home.local_addr().context("the port")?.port());
                vec![home, listener(ip, port)?]
            }
        };
        let folder = self.store.folder()?;
        let opened = Store::open_or_new(&folder)?;
        warn(&opened.warnings);
        let door = if self.listen.is_some() { Some(self.door(&folder)?) } else { None };
        pages(opened.value, self.class.read()?, listeners, door, self.browser)
    }

    /// The door with the pass phrase that is kept, or one that is asked for.
    fn door(&self, folder: &Path) -> Result<Door> {
        if let (false, Some(door)) = (self.new_phrase, Door::kept(folder)?) {
            return Ok(door);
        }
        if std::io::stdin().is_terminal() {
            eprint!("A pass phrase for the coach's phone, three or four words: ");
        }
        let mut phrase = String::new();
        std::io::stdin().lock().take(LONGEST_LINE).read_line(&mut phrase).context("reading the pass phrase")?;
        if phrase.trim().is_empty() {
            bail!("--listen needs a pass phrase: type one when it is asked for, or write it to the standard input");
        }
        Door::keep(folder, phrase.trim())
    }
}

impl Demo {
    pub(crate) fn run(&self) -> Result<Done> {
        if self.store.read_dir().is_ok_and(|mut files| files.next().is_some()) {
            bail!("{}: something is in that folder already; name another, or open it with `trimwright serve`", self.store.display());
        }
        let listener = listener(Ipv4Addr::LOCALHOST.into(), self.port)?;
        let opened = Store::open_or_new(&self.store)?;
        let mut store = opened.value;
        let writer = Writer::now("demo");
        let squad = invented()?;
        store.import_squad(&squad, &writer)?;
        demo_outings::write(&mut store, &squad, &writer)?;
        demo_regatta::write(&mut store, &writer)?;
        pages(store, Class::pram(), vec![listener], None, !self.no_browser)
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
fn listener(ip: IpAddr, port: u16) -> Result<TcpListener> {
    let listener = TcpListener::bind(SocketAddr::new(ip, port)).with_context(|| {
        if ip.is_loopback() || ip.is_unspecified() {
            format!("port {port} is taken: give another, like --port {}", port.wrapping_add(1))
        } else {
            format!("{ip} port {port}: this machine has no such address, or the port is taken; --listen 0.0.0.0 takes every address it has")
        }
    })?;
    listener.set_nonblocking(true).context("the port")?;
    Ok(listener)
}

/// The addresses by which phones reach a listener, this machine's own to itself left out.
fn reached(listener: &TcpListener) -> Result<Vec<SocketAddr>> {
    let at = listener.local_addr().context("the port")?;
    if !at.ip().is_unspecified() {
        return Ok(vec![at]);
    }
    let all = if_addrs::get_if_addrs().context("the addresses of this machine")?;
    let ours = all.iter().filter(|one| !one.is_loopback() && !one.is_link_local()).map(if_addrs::Interface::ip);
    Ok(ours.filter(|ip| ip.is_ipv4() || at.is_ipv6()).map(|ip| SocketAddr::new(ip, at.port())).collect())
}

/// Serves until it is stopped.
fn pages(store: Store, class: Class, listeners: Vec<TcpListener>, door: Option<Door>, show: bool) -> Result<Done> {
    if let Err(error) = store.backup_of_the_day(Moment::now()) {
        warn(&[Warning::new("the day's backup", error.to_string())]);
    }
    let words = Words::english().context("the words of the pages")?;
    let tongues = Tongue::all().context("the words of school")?;
    let mut yard = Yard::new(store, class, words, tongues, Cautions::standard()?);
    let home = listeners.first().context("no port")?.local_addr().context("the port")?;
    let address = format!("http://{}/", SocketAddr::new(Ipv4Addr::LOCALHOST.into(), home.port()));
    let mut told = format!("Trimwright's pages: {address}\n");
    if let (Some(door), Some(out)) = (door, listeners.last()) {
        let reached = reached(out)?;
        for at in &reached {
            let _ = writeln!(told, "For phones on the network, with the pass phrase: http://{at}/");
        }
        if reached.is_empty() {
            told += "This machine is on no network now: join one, or make a hotspot, and start again.\n";
        }
        yard = yard.listening(door, reached);
    }
    let router = router(Arc::new(yard));
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().context("starting the pages")?;
    runtime.block_on(async {
        let mut serving = Vec::new();
        // Whoever sits here has lines of their own count: the network takes none of them.
        for listener in listeners {
            let listener = tokio::net::TcpListener::from_std(listener).context("the port")?;
            serving.push(tokio::spawn(served(listener, router.clone(), Lines::default())));
        }
        print!("{told}");
        let _ = std::io::stdout().flush();
        if show && std::io::stdout().is_terminal() {
            in_browser(&address);
        }
        for one in serving {
            one.await.context("the pages stopped")?;
        }
        Ok::<_, anyhow::Error>(())
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
