//! Many phones at once on one laptop: cards and quizzes read, answers sent, while tracks come in; and clients that mean no good.

use std::fmt::Write as _;
use std::fs;
use std::io::{Read, Write as _};
use std::net::{Ipv4Addr, TcpStream};
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};

use super::program::{FORM, Program, encoded, exchange, exchange_from, line_from};
use super::write;
use crate::page::today;

/// Phones, and for how long, s.
const PHONES: usize = 200;
const LONG: u64 = 60;
/// A child looks at a page for so long before the next, s: read, think, tap. Assumed.
const LOOKS: f64 = 4.0;
/// What 99 of 100 answers are to take at most, ms.
const ASKED: f64 = 300.0;
/// Lines that say nothing more after their first words.
const HALF_OPEN: usize = 300;
const PHRASE: &str = "four herons on a jetty";

/// Puts the load on; true when no answer failed and 99 of 100 came in time.
pub(crate) fn prove(root: &Path, program: Option<&Path>) -> Result<bool> {
    let program = Program::find(program)?;
    let place = tempfile::tempdir()?;
    fs::copy(root.join("data/squads/as_rigged.toml"), place.path().join("squad.toml"))?;
    let (well, said) = program.run(place.path(), &["import", "squad.toml", "--store", "squad"])?;
    ensure!(well, "{said}");
    let mut serving = program.serve(place.path(), &["--listen", "127.0.0.2"], &format!("{PHRASE}\n"))?;
    let [home, out] = serving.addresses.as_slice() else { anyhow::bail!("two addresses were wanted") };
    let (home, out) = (home.clone(), out.clone());
    let links = links(&home)?;
    // The day's settings and quizzes are solved once, before the phones come.
    solved(&home)?;
    for link in &links {
        let card = exchange(&out, "GET", link, "", b"")?;
        ensure!(card.status == 200 && card.body.contains("<svg"), "{link} opens no card");
        ensure!(exchange(&out, "GET", &format!("{link}/quiz"), "", b"")?.status == 200, "{link} opens no quiz");
    }
    let gpx = fs::read(root.join("data/tracks/wren.gpx"))?;
    let (took, failed, sent) = (Mutex::new(Vec::new()), Mutex::new(Vec::new()), AtomicUsize::new(0));
    let over = AtomicBool::new(false);
    let mut imports = Vec::new();
    thread::scope(|scope| -> Result<()> {
        for phone in 0..PHONES {
            let (out, link, took, failed, sent, over) = (&out, &links[phone % links.len()], &took, &failed, &sent, &over);
            let from = Ipv4Addr::new(127, 0, 1, u8::try_from(phone).unwrap_or(u8::MAX));
            scope.spawn(move || {
                // They do not all tap at once.
                thread::sleep(Duration::from_secs_f64(LOOKS * phone as f64 / PHONES as f64));
                for k in 0_usize.. {
                    if over.load(Ordering::Relaxed) {
                        return;
                    }
                    let begun = Instant::now();
                    let answer = match k % 4 {
                        0 => exchange_from(from, out, "GET", link, "", b""),
                        1 => exchange_from(from, out, "GET", &format!("{link}/checklist"), "", b""),
                        2 => exchange_from(from, out, "GET", &format!("{link}/quiz"), "", b""),
                        _ => {
                            sent.fetch_add(1, Ordering::Relaxed);
                            exchange_from(from, out, "POST", &format!("{link}/checklist"), FORM, b"place=dock&item=sponge")
                        }
                    };
                    let seconds = begun.elapsed().as_secs_f64();
                    match answer {
                        Ok(answer) if answer.status < 400 => lock(took).push((k % 4, seconds)),
                        Ok(answer) => lock(failed).push(format!("{}: {}", k % 4, answer.status)),
                        Err(error) => lock(failed).push(error.to_string()),
                    }
                    thread::sleep(Duration::from_secs_f64((LOOKS - seconds).max(0.0)));
                }
            });
        }
        // Meanwhile the coach brings a file every two seconds.
        let begun = Instant::now();
        while begun.elapsed().as_secs() < LONG {
            let at = Instant::now();
            let zone = "--cut\r\nContent-Disposition: form-data; name=\"timezone\"\r\n\r\nUTC\r\n";
            let mut body =
                format!("{zone}--cut\r\nContent-Disposition: form-data; name=\"files\"; filename=\"wren.gpx\"\r\n\r\n").into_bytes();
            body.extend_from_slice(&gpx);
            // Each is another file, so that each is read and kept.
            body.extend_from_slice(format!("<!-- {} -->\r\n--cut--\r\n", imports.len()).as_bytes());
            let head = "Content-Type: multipart/form-data; boundary=cut\r\nSec-Fetch-Site: same-origin\r\n";
            let answer = exchange(&home, "POST", "/ashore/files", head, &body)?;
            imports.push((answer.status, at.elapsed().as_secs_f64()));
            thread::sleep(Duration::from_secs(2));
        }
        over.store(true, Ordering::Relaxed);
        Ok(())
    })?;
    let memory = serving.most_memory();
    let took = took.into_inner().unwrap_or_default();
    let failed = failed.into_inner().unwrap_or_default();
    let rude = rude(&home, &out, links.first().context("no link")?, &mut serving)?;
    let mut text = format!(
        "{}. `cargo xtask prove load`: {PHONES} phones for {LONG} s, each a tap every {LOOKS} s (card, checklist, quiz, a line ticked), while a \
         recorder's file comes in every two seconds. The day's settings and quizzes were solved before. Phones and program share this machine's cores.\n\n\
         | | answers | median, ms | 99 of 100 within, ms | at most, ms |\n|---|--:|--:|--:|--:|\n",
        today()
    );
    let mut worst = 0.0_f64;
    for (k, name) in ["card", "checklist", "quiz", "a line ticked"].iter().enumerate() {
        let mut list: Vec<f64> = took.iter().filter(|t| t.0 == k).map(|t| 1e3 * t.1).collect();
        list.sort_by(f64::total_cmp);
        let at = |share: f64| list.get((share * list.len().saturating_sub(1) as f64) as usize).copied().unwrap_or(f64::NAN);
        worst = worst.max(at(0.99));
        let _ = writeln!(text, "| {name} | {} | {:.0} | {:.0} | {:.0} |", list.len(), at(0.5), at(0.99), at(1.0));
    }
    let _ = writeln!(
        text,
        "\n{} answers failed{}. {} files came in, the slowest in {:.1} s. Most memory {}.\n\n{rude}",
        failed.len(),
        failed.first().map_or(String::new(), |f| format!(" ({f})")),
        imports.iter().filter(|i| i.0 < 400).count(),
        imports.iter().map(|i| i.1).fold(0.0, f64::max),
        memory.map_or("not told".to_owned(), |m| format!("{m:.0} MB"))
    );
    write(root, "Load", &text)?;
    Ok(failed.is_empty() && worst <= ASKED)
}

fn lock<T>(of: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    of.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

/// The wind is typed, and the day's settings solved.
fn solved(home: &str) -> Result<()> {
    let fields = [("version", ""), ("id", ""), ("wind", "10"), ("timezone", "UTC")].map(|(k, v)| (k.to_owned(), v.to_owned()));
    let typed = exchange(home, "POST", "/today", FORM, encoded(&fields).as_bytes())?;
    ensure!(typed.status == 303, "the wind was not kept: {} {}", typed.status, typed.body);
    let begun = Instant::now();
    while !exchange(home, "GET", "/today", "", b"")?.body.contains("Print all ") {
        ensure!(begun.elapsed().as_secs() < 300, "the day is not solved");
        thread::sleep(Duration::from_millis(500));
    }
    Ok(())
}

/// A link for each sailor, as the coach gives them out.
fn links(home: &str) -> Result<Vec<String>> {
    let page = exchange(home, "GET", "/school/phones", "", b"")?.body;
    let mut links = Vec::new();
    for id in page.split("name=\"sailor\" value=\"").skip(1).filter_map(|t| t.split('"').next()) {
        let made = exchange(home, "POST", "/school/phones/link", FORM, format!("sailor={id}").as_bytes())?.body;
        let link = made.split("/s/").nth(1).and_then(|t| t.get(..32)).context("no link was made")?;
        links.push(format!("/s/{link}"));
    }
    ensure!(!links.is_empty(), "no sailor has a phone");
    Ok(links)
}

/// Lines left half open, a body of 5 GB, one that never comes: what became of the others meanwhile.
fn rude(home: &str, out: &str, link: &str, serving: &mut super::program::Serving) -> Result<String> {
    let before = serving.most_memory().unwrap_or(0.0);
    let mut held = Vec::new();
    for k in 0..HALF_OPEN {
        // From ten phones, thirty each.
        if let Ok(mut line) = line_from(Ipv4Addr::new(127, 0, 2, u8::try_from(k / 30).unwrap_or(0)), out) {
            let words = if k % 2 == 0 { "GET / HT" } else { "POST /enter HTTP/1.1\r\nHost: x\r\nContent-Length: 100\r\n\r\nphr" };
            let _ = line.write_all(words.as_bytes());
            held.push(line);
        }
    }
    let begun = Instant::now();
    let home_answers = exchange(home, "GET", "/today", "", b"").is_ok_and(|a| a.status == 200);
    let at_home = begun.elapsed().as_secs_f64();
    let begun = Instant::now();
    let others = exchange(out, "GET", link, "", b"").is_ok_and(|a| a.status == 200);
    let elsewhere = begun.elapsed().as_secs_f64();
    // How long such a line is kept.
    let begun = Instant::now();
    let mut closed = 0;
    for line in &mut held {
        let left = Duration::from_secs(90).saturating_sub(begun.elapsed()).max(Duration::from_millis(1));
        line.set_read_timeout(Some(left))?;
        let mut rest = Vec::new();
        let waits = |error: &std::io::Error| matches!(error.kind(), std::io::ErrorKind::WouldBlock | std::io::ErrorKind::TimedOut);
        closed += usize::from(!line.read_to_end(&mut rest).is_err_and(|error| waits(&error)));
    }
    let after = begun.elapsed().as_secs_f64();
    drop(held);
    // A body of 5 GB to a page that takes files.
    let mut line = TcpStream::connect(home)?;
    let head = format!(
        "POST /ashore/files HTTP/1.1\r\nHost: {home}\r\nConnection: close\r\nSec-Fetch-Site: same-origin\r\nContent-Type: multipart/form-data; boundary=cut\r\n\
         Content-Length: 5368709120\r\n\r\n--cut\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a.gpx\"\r\n\r\n"
    );
    line.write_all(head.as_bytes())?;
    let chunk = vec![b'x'; 1 << 20];
    let mut taken = 0_u64;
    while taken < 5120 && line.write_all(&chunk).is_ok() {
        taken += 1;
    }
    let alive = serving.lives() && exchange(home, "GET", "/today", "", b"").is_ok_and(|a| a.status == 200);
    let after_body = serving.most_memory().unwrap_or(0.0);
    Ok(format!(
        "{HALF_OPEN} lines left half open, from ten addresses, in the head and in the body: the coach's page {} in {at_home:.2} s, a sailor's {} in {elsewhere:.2} s; \
         {closed} of the lines were closed by the program, the last after {after:.0} s. Of a body of 5 GB {taken} MB were taken before the line was cut; \
         the program {}. Most memory {before:.0} MB before, {after_body:.0} MB after.",
        if home_answers { "came" } else { "did not come" },
        if others { "came" } else { "did not come" },
        if alive { "serves on" } else { "is gone" },
    ))
}
