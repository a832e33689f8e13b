//! The program from outside: started, fed, listened to, killed.

use std::fs;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::Duration;

use anyhow::{Context, Result, bail};
use socket2::{Domain, Socket, Type};

/// More than this is a hang, s.
const PATIENCE: u64 = 120;

/// The built program.
#[derive(Debug, Clone)]
pub(crate) struct Program(PathBuf);

impl Program {
    /// The one named, or the one built beside this.
    pub(crate) fn find(named: Option<&Path>) -> Result<Self> {
        let beside = || Ok::<_, anyhow::Error>(std::env::current_exe()?.with_file_name("trimwright"));
        let path = named.map_or_else(beside, |p| Ok(p.to_owned()))?;
        if !path.exists() {
            bail!("{}: the program is not built; build it, or name it with --program", path.display());
        }
        Ok(Self(fs::canonicalize(path)?))
    }

    pub(crate) fn command(&self, folder: &Path, arguments: &[&str]) -> Command {
        let mut command = Command::new(&self.0);
        command.current_dir(folder).args(arguments).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        command
    }

    /// Runs it to its end: whether it said all went well, and what it said.
    pub(crate) fn run(&self, folder: &Path, arguments: &[&str]) -> Result<(bool, String)> {
        let out = self.command(folder, arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).output()?;
        let said = String::from_utf8_lossy(&out.stderr).into_owned() + &String::from_utf8_lossy(&out.stdout);
        Ok((done(out.status), said))
    }

    /// Serves a folder's store on a port of its own.
    pub(crate) fn serve(&self, folder: &Path, arguments: &[&str], typed: &str) -> Result<Serving> {
        let log = folder.join("serving.log");
        let mut child = self
            .command(folder, &[&["serve", "--store", "squad", "--port", "0"], arguments].concat())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(fs::File::create(&log)?)
            .spawn()?;
        if let Some(mut stdin) = child.stdin.take() {
            let _ = stdin.write_all(typed.as_bytes());
        }
        let mut lines = BufReader::new(child.stdout.take().context("no output")?);
        let mut addresses = Vec::new();
        for _ in 0..1 + usize::from(!arguments.is_empty()) {
            let mut line = String::new();
            lines.read_line(&mut line)?;
            let address = line.trim().rsplit_once("http://").map(|(_, a)| a.trim_end_matches('/').to_owned());
            addresses.push(address.with_context(|| format!("it does not serve: {line} {}", fs::read_to_string(&log).unwrap_or_default()))?);
        }
        Ok(Serving { child, addresses, log })
    }
}

/// Whether it did what was asked; 1 says that it did, with warnings.
pub(crate) fn done(status: ExitStatus) -> bool {
    status.code().is_some_and(|code| code < 2)
}

/// A program that serves; killed when it is let go.
#[derive(Debug)]
pub(crate) struct Serving {
    child: Child,
    /// At home, and on the network where it listens there.
    pub(crate) addresses: Vec<String>,
    log: PathBuf,
}

impl Serving {
    /// Killed at once, as by a flat battery.
    pub(crate) fn kill(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// Whether it still runs.
    pub(crate) fn lives(&mut self) -> bool {
        matches!(self.child.try_wait(), Ok(None))
    }

    /// What it complained of.
    pub(crate) fn complaints(&self) -> String {
        fs::read_to_string(&self.log).unwrap_or_default()
    }

    /// The memory it holds now, MB; where the system tells.
    pub(crate) fn memory(&self) -> Option<f64> {
        self.held("VmRSS:")
    }

    /// The most memory it held, MB; where the system tells.
    pub(crate) fn most_memory(&self) -> Option<f64> {
        self.held("VmHWM:")
    }

    fn held(&self, name: &str) -> Option<f64> {
        let status = fs::read_to_string(format!("/proc/{}/status", self.child.id())).ok()?;
        let line = status.lines().find_map(|l| l.strip_prefix(name))?;
        line.split_whitespace().next()?.parse::<f64>().ok().map(|kb| kb / 1024.0)
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        self.kill();
    }
}

/// An answer.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: String,
}

/// Sends a request and reads the whole answer; an error where the line broke before its end.
pub(crate) fn exchange(address: &str, method: &str, path: &str, more: &str, body: &[u8]) -> io::Result<Answer> {
    asked(TcpStream::connect(address)?, address, method, path, more, body)
}

/// The same from an address of one's own, as each phone has one. Of this machine's net to itself every address will do.
pub(crate) fn exchange_from(from: Ipv4Addr, address: &str, method: &str, path: &str, more: &str, body: &[u8]) -> io::Result<Answer> {
    asked(line_from(from, address)?, address, method, path, more, body)
}

/// A line from an address of one's own.
pub(crate) fn line_from(from: Ipv4Addr, address: &str) -> io::Result<TcpStream> {
    let to: SocketAddr = address.parse().map_err(io::Error::other)?;
    let socket = Socket::new(Domain::IPV4, Type::STREAM, None)?;
    socket.bind(&SocketAddr::new(from.into(), 0).into())?;
    socket.connect(&to.into())?;
    Ok(socket.into())
}

fn asked(mut stream: TcpStream, address: &str, method: &str, path: &str, more: &str, body: &[u8]) -> io::Result<Answer> {
    stream.set_read_timeout(Some(Duration::from_secs(PATIENCE)))?;
    let head = format!("{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n{more}Content-Length: {}\r\n\r\n", body.len());
    stream.write_all(head.as_bytes())?;
    stream.write_all(body)?;
    answer(stream)
}

/// Reads an answer to its end.
pub(crate) fn answer(stream: TcpStream) -> io::Result<Answer> {
    let broken = || io::Error::new(io::ErrorKind::UnexpectedEof, "the answer broke off");
    let mut stream = BufReader::new(stream);
    let mut head = Vec::new();
    while !head.ends_with(b"\r\n\r\n") {
        if stream.read_until(b'\n', &mut head)? == 0 {
            return Err(broken());
        }
    }
    let head = String::from_utf8_lossy(&head).to_lowercase();
    let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).ok_or_else(broken)?;
    let length = head.lines().find_map(|l| l.strip_prefix("content-length:")).and_then(|n| n.trim().parse::<usize>().ok());
    let mut body = vec![0; length.unwrap_or(0)];
    match length {
        Some(_) => stream.read_exact(&mut body)?,
        None => drop(stream.read_to_end(&mut body)?),
    }
    Ok(Answer { status, head, body: String::from_utf8_lossy(&body).into_owned() })
}

/// What a browser says of a form from our own page.
pub(crate) const FORM: &str = "Content-Type: application/x-www-form-urlencoded\r\nSec-Fetch-Site: same-origin\r\n";

/// Fields as a browser writes them.
pub(crate) fn encoded(fields: &[(String, String)]) -> String {
    let percent = |text: &str| text.bytes().map(|b| format!("%{b:02X}")).collect::<String>();
    fields.iter().map(|(k, v)| format!("{}={}", percent(k), percent(v))).collect::<Vec<_>>().join("&")
}

/// A form that brings files, as a browser writes it: its head, and its body with the fields and one file.
pub(super) fn parts(fields: &[(&str, String)], file: Option<(&str, &[u8])>) -> (&'static str, Vec<u8>) {
    let mut body = Vec::new();
    for (name, value) in fields {
        body.extend(format!("--cut\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").as_bytes());
    }
    if let Some((name, bytes)) = file {
        body.extend(format!("--cut\r\nContent-Disposition: form-data; name=\"files\"; filename=\"{name}\"\r\n\r\n").as_bytes());
        body.extend(bytes);
        body.extend(b"\r\n");
    }
    body.extend(b"--cut--\r\n");
    ("Content-Type: multipart/form-data; boundary=cut\r\nSec-Fetch-Site: same-origin\r\n", body)
}

/// A folder with all that is in it, copied.
pub(crate) fn copied(from: &Path, to: &Path) -> Result<()> {
    fs::create_dir_all(to)?;
    for entry in fs::read_dir(from)? {
        let entry = entry?;
        let to = to.join(entry.file_name());
        if entry.file_type()?.is_dir() {
            copied(&entry.path(), &to)?;
        } else {
            fs::copy(entry.path(), to)?;
        }
    }
    Ok(())
}
