//! The pictures of the guide, made anew from the demo: each page as a browser shows it, and a card as it is printed. They stay true because
//! nobody draws them.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail, ensure};

/// File, address, and the size of the window, pixels.
const PAGES: [(&str, &str, [u32; 2]); 9] = [
    ("today", "/today", [1000, 900]),
    ("dock", "/dock", [1000, 760]),
    ("what-if", "/what-if?boat=Petrel&wind=12&a.seat_position=75&cost=seat_position", [1000, 1100]),
    ("race-day", "/race-day", [1000, 900]),
    ("phone", "/afloat/phone", [400, 760]),
    ("ashore", "/ashore", [1000, 900]),
    ("season", "/season", [1000, 760]),
    ("school", "/school", [1000, 760]),
    ("tape", "/squad/class?from=an%20invented%20pram", [1000, 1100]),
];
/// What the coach of the pictures has typed this morning: the wind, and a course drawn before anything is laid.
const SAID: [(&str, &str); 2] = [
    ("/today", "wind=11:00+8+11+305%0A12:00+10+13+310%0A13:00+11+15+315%0A14:00+12+16+320%0A15:00+11+15+320&timezone=UTC&signal=13:00"),
    (
        "/race-day",
        "how=drawn&sketch=windward-leeward&axis=315&beat=400&line=60&leave=port&signals=rule-26&laps=2&from=315&knots=11&buoys=&version=",
    ),
];
/// What a page says while something is being solved for it.
const AGAIN: &str = "data-again";
/// How long anything may take to be solved.
const PATIENCE: Duration = Duration::from_secs(600);

/// The demo, stopped when it is let go.
struct Demo(Child, String);

impl Drop for Demo {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Makes them, into `docs/pictures`.
pub(crate) fn made(root: &Path, program: Option<&Path>) -> Result<()> {
    let built = root.join("target/release/trimwright");
    let program = match program {
        Some(program) => program,
        None => {
            let mut build = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
            build.args(["build", "--release", "--locked", "--package", "trimwright", "--target-dir"]).arg(root.join("target"));
            ensure!(build.current_dir(root).status()?.success(), "the program was not built");
            &built
        }
    };
    let to = root.join("docs/pictures");
    fs::create_dir_all(&to)?;
    let folder = std::env::temp_dir().join(format!("trimwright-pictures-{}", std::process::id()));
    let mut demo = Command::new(program);
    demo.args(["demo", "--no-browser", "--port", "0", "--store"]).arg(folder.join("store")).stdout(Stdio::piped());
    let mut demo = demo.spawn().context("the demo does not start")?;
    let mut line = String::new();
    if let Some(out) = demo.stdout.take() {
        let mut lines = BufReader::new(out);
        while !line.contains("http://") {
            line.clear();
            ensure!(lines.read_line(&mut line)? > 0, "the demo told no address");
        }
    }
    let address = line.split("http://").nth(1).and_then(|rest| rest.split(['/', ' ', '\n']).next()).unwrap_or_default().to_owned();
    let demo = Demo(demo, address);
    for (path, form) in SAID {
        let answer =
            sent(&demo.1, "POST", path, "Content-Type: application/x-www-form-urlencoded\r\nSec-Fetch-Site: same-origin\r\n", form)?;
        ensure!(answer.starts_with("HTTP/1.1 303"), "{path}: {}", answer.lines().next().unwrap_or_default());
    }
    for (name, path, [width, height]) in PAGES {
        settled(&demo.1, path)?;
        let file = to.join(format!("{name}.png"));
        let mut browser = Command::new("chromium");
        browser.args([
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--hide-scrollbars",
            "--force-device-scale-factor=1",
            "--virtual-time-budget=4000",
        ]);
        browser.arg(format!("--user-data-dir={}", folder.join("browser").display())).arg(format!("--window-size={width},{height}"));
        browser.arg(format!("--screenshot={}", file.display())).arg(format!("http://{}{path}", demo.1));
        let status = browser.stderr(Stdio::null()).status().context("chromium does not start: apt-get install chromium")?;
        ensure!(status.success() && file.exists(), "{path} gave no picture");
        println!("{}: {} bytes", file.display(), fs::metadata(&file)?.len());
    }
    let card = folder.join("card.pdf");
    let mut cards = Command::new(program);
    cards.args(["cards", "--wind", "10", "--sheet", "a6", "--squad"]).arg(root.join("data/squads/example.toml")).arg("--out").arg(&card);
    ensure!(cards.stdout(Stdio::null()).stderr(Stdio::null()).status()?.code().is_some_and(|code| code < 2), "no card was made");
    let mut picture = Command::new("pdftoppm");
    picture.args(["-png", "-r", "110", "-f", "1", "-l", "1", "-singlefile"]).arg(&card).arg(to.join("card"));
    ensure!(picture.status().context("pdftoppm does not start: apt-get install poppler-utils")?.success(), "the card gave no picture");
    drop(demo);
    fs::remove_dir_all(&folder)?;
    Ok(())
}

/// Waits until nothing on a page is being solved any more.
fn settled(address: &str, path: &str) -> Result<()> {
    let begun = Instant::now();
    while begun.elapsed() < PATIENCE {
        let page = read(address, path)?;
        ensure!(page.starts_with("HTTP/1.1 200"), "{path}: {}", page.lines().next().unwrap_or_default());
        if !page.contains(AGAIN) {
            return Ok(());
        }
        std::thread::sleep(Duration::from_millis(500));
    }
    bail!("{path} is still being solved after {} s", PATIENCE.as_secs())
}

/// A page, head and all.
fn read(address: &str, path: &str) -> Result<String> {
    sent(address, "GET", path, "", "")
}

/// What is answered to a request, head and all.
fn sent(address: &str, method: &str, path: &str, more: &str, body: &str) -> Result<String> {
    let mut stream = TcpStream::connect(address)?;
    let length = body.len();
    write!(stream, "{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n{more}Content-Length: {length}\r\n\r\n{body}")?;
    let mut page = Vec::new();
    stream.read_to_end(&mut page)?;
    Ok(String::from_utf8_lossy(&page).into_owned())
}
