//! Who may come in from the network: one pass phrase for the coach, kept as its argon2id hash, few tries, and a session for a day's work.
//!
//! The hash is of Argon2id with 19 MiB, two passes, one lane, as the OWASP cheat sheet on password storage has it (from memory; the
//! same as the library's own default). Tries are counted before they are judged, so that many at once count as many.

use std::collections::{HashMap, VecDeque};
use std::fs;
use std::io::Write;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail};
use argon2::{Algorithm, Argon2, Params, Version};

/// The file beside the store that keeps the hash.
const FILE: &str = "pass-phrase";
/// The fewest letters of a pass phrase. Assumed: three or four words.
const SHORTEST: usize = 12;
/// The longest, so that nobody makes the machine hash a book.
const LONGEST: usize = 200;
/// Memory in KiB, and passes.
const COST: (u32, u32) = (19 * 1024, 2);
/// Tries that one address has in [`WHILE`], and that all have together.
const TRIES: (usize, usize) = (5, 40);
/// For how long a try counts.
const WHILE: Duration = Duration::from_secs(300);
/// How long a session lasts: a day on the water.
const SESSION: Duration = Duration::from_secs(12 * 3600);
/// The most sessions at once; the oldest goes.
const SESSIONS: usize = 32;

/// A pass phrase's hash with its salt.
#[derive(Clone, PartialEq, Eq)]
struct Hash {
    salt: [u8; 16],
    hash: [u8; 32],
}

/// The door to the club's network.
pub struct Door {
    hash: Hash,
    sessions: Mutex<HashMap<u128, Instant>>,
    tries: Mutex<Tries>,
    /// One phrase is hashed at a time: each takes 19 MiB.
    hashing: Mutex<()>,
}

impl core::fmt::Debug for Door {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str("a door")
    }
}

/// What came of a try.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tried {
    /// The phrase is right: a session's name.
    In(u128),
    /// It is not.
    Wrong,
    /// Too many tries: wait so long.
    Wait(Duration),
}

impl Door {
    /// The door of a store's folder, where a pass phrase was kept.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn kept(folder: &Path) -> Result<Option<Self>> {
        let place = folder.join(FILE);
        let text = match fs::read_to_string(&place) {
            Ok(text) => text,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(error).with_context(|| place.display().to_string()),
        };
        let hash = Hash::read(&text)
            .with_context(|| format!("{}: it keeps no pass phrase of ours; delete it and give a new one", place.display()))?;
        Ok(Some(Self::of(hash)))
    }

    /// Keeps a new pass phrase in a store's folder, for its owner's eyes alone.
    ///
    /// # Errors
    /// A phrase that is too short or too long, or a file that cannot be written.
    pub fn keep(folder: &Path, phrase: &str) -> Result<Self> {
        let letters = phrase.chars().count();
        if letters < SHORTEST {
            bail!(
                "a pass phrase of {letters} letters is guessed too soon: type {SHORTEST} or more, three or four words nobody would string together"
            );
        }
        if letters > LONGEST {
            bail!("a pass phrase has {LONGEST} letters at most");
        }
        let mut salt = [0; 16];
        getrandom::fill(&mut salt).map_err(|error| anyhow::anyhow!("the system gives no random numbers: {error}"))?;
        let hash = Hash::of(phrase, salt).context("the pass phrase could not be hashed")?;
        write_alone(&folder.join(FILE), &hash.written())?;
        Ok(Self::of(hash))
    }

    fn of(hash: Hash) -> Self {
        Self { hash, sessions: Mutex::default(), tries: Mutex::default(), hashing: Mutex::default() }
    }

    /// Tries a phrase from an address. It takes a while, on purpose.
    #[must_use]
    pub fn tried(&self, from: IpAddr, phrase: &str, now: Instant) -> Tried {
        if let Some(wait) = lock(&self.tries).begun(from, now) {
            return Tried::Wait(wait);
        }
        if phrase.chars().count() > LONGEST {
            return Tried::Wrong;
        }
        let found = {
            let _one = lock(&self.hashing);
            Hash::of(phrase, self.hash.salt)
        };
        if !found.is_some_and(|found| found.is(&self.hash)) {
            return Tried::Wrong;
        }
        let mut name = [0; 16];
        if getrandom::fill(&mut name).is_err() {
            return Tried::Wrong;
        }
        lock(&self.tries).right(from);
        let name = u128::from_le_bytes(name);
        let mut sessions = lock(&self.sessions);
        sessions.retain(|_, since| now.duration_since(*since) < SESSION);
        if sessions.len() >= SESSIONS
            && let Some(oldest) = sessions.iter().min_by_key(|s| s.1).map(|s| *s.0)
        {
            sessions.remove(&oldest);
        }
        sessions.insert(name, now);
        Tried::In(name)
    }

    /// Whether a session of this name goes on.
    #[must_use]
    pub fn knows(&self, session: u128, now: Instant) -> bool {
        lock(&self.sessions).get(&session).is_some_and(|since| now.duration_since(*since) < SESSION)
    }

    /// Ends a session.
    pub fn ends(&self, session: u128) {
        lock(&self.sessions).remove(&session);
    }
}

impl Hash {
    fn of(phrase: &str, salt: [u8; 16]) -> Option<Self> {
        let params = Params::new(COST.0, COST.1, 1, Some(32)).ok()?;
        let mut hash = [0; 32];
        Argon2::new(Algorithm::Argon2id, Version::V0x13, params).hash_password_into(phrase.trim().as_bytes(), &salt, &mut hash).ok()?;
        Some(Self { salt, hash })
    }

    /// Compared to the end, however soon they differ.
    fn is(&self, other: &Self) -> bool {
        self.hash.iter().zip(&other.hash).fold(0, |differs, (a, b)| differs | (a ^ b)) == 0
    }

    fn written(&self) -> String {
        let hex = |bytes: &[u8]| bytes.iter().map(|b| format!("{b:02x}")).collect::<String>();
        format!("argon2id m={} t={} p=1 {} {}\n", COST.0, COST.1, hex(&self.salt), hex(&self.hash))
    }

    fn read(text: &str) -> Option<Self> {
        let rest = text.strip_prefix(&format!("argon2id m={} t={} p=1 ", COST.0, COST.1))?;
        let (salt, hash) = rest.trim_end().split_once(' ')?;
        Some(Self { salt: bytes(salt)?, hash: bytes(hash)? })
    }
}

fn bytes<const N: usize>(hex: &str) -> Option<[u8; N]> {
    let mut out = [0; N];
    if hex.len() != 2 * N || !hex.is_ascii() {
        return None;
    }
    for (k, byte) in out.iter_mut().enumerate() {
        *byte = u8::from_str_radix(hex.get(2 * k..2 * k + 2)?, 16).ok()?;
    }
    Some(out)
}

/// Writes a file that only its owner can read, at once whole.
fn write_alone(place: &PathBuf, text: &str) -> Result<()> {
    let beside = place.with_extension("new");
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&beside).with_context(|| beside.display().to_string())?;
    file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).with_context(|| beside.display().to_string())?;
    fs::rename(&beside, place).with_context(|| place.display().to_string())
}

/// Tries of late, by address and together.
#[derive(Debug, Default)]
struct Tries {
    by: HashMap<IpAddr, VecDeque<Instant>>,
    all: VecDeque<Instant>,
}

impl Tries {
    /// A try begins; or how long to wait before one may.
    fn begun(&mut self, from: IpAddr, now: Instant) -> Option<Duration> {
        let from = network(from);
        let late = |list: &mut VecDeque<Instant>| list.retain(|at| now.duration_since(*at) < WHILE);
        late(&mut self.all);
        self.by.values_mut().for_each(late);
        self.by.retain(|_, list| !list.is_empty());
        let own = self.by.entry(from).or_default();
        let wait = |list: &VecDeque<Instant>, most: usize| {
            (list.len() >= most).then(|| list.front().map(|at| WHILE.saturating_sub(now.duration_since(*at)))).flatten()
        };
        let must = wait(own, TRIES.0).max(wait(&self.all, TRIES.1));
        if must.is_none() {
            own.push_back(now);
            self.all.push_back(now);
        }
        must
    }

    /// The last try of an address was right: its tries count no more.
    fn right(&mut self, from: IpAddr) {
        if let Some(own) = self.by.remove(&network(from)) {
            let spent = self.all.len().saturating_sub(own.len());
            self.all.truncate(spent);
        }
    }
}

/// Whoever has one address of the newer kind has all of its network of 64 bits.
fn network(from: IpAddr) -> IpAddr {
    match from.to_canonical() {
        IpAddr::V6(six) => IpAddr::V6((u128::from(six) & !u128::from(u64::MAX)).into()),
        four => four,
    }
}

/// A lock, whatever became of its last holder: what it guards is whole between any two statements.
fn lock<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    const HERE: IpAddr = IpAddr::V4(std::net::Ipv4Addr::new(192, 168, 1, 7));

    #[test]
    fn a_phrase_opens_and_no_other_does() {
        let folder = std::env::temp_dir().join(format!("door-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        assert!(Door::kept(&folder).unwrap().is_none());
        assert!(Door::keep(&folder, "short").is_err() && Door::keep(&folder, &"x".repeat(300)).is_err());
        Door::keep(&folder, "four herons on a jetty").unwrap();
        let text = fs::read_to_string(folder.join(FILE)).unwrap();
        assert!(!text.contains("heron"), "the phrase itself is kept nowhere");
        let door = Door::kept(&folder).unwrap().unwrap();
        let now = Instant::now();
        let Tried::In(session) = door.tried(HERE, "four herons on a jetty", now) else { unreachable!("the phrase is right") };
        assert!(door.knows(session, now) && !door.knows(session ^ 1, now) && !door.knows(session, now + SESSION));
        door.ends(session);
        assert!(!door.knows(session, now));
        assert_eq!(door.tried(HERE, "four herons on a jettY", now), Tried::Wrong);
        fs::write(folder.join(FILE), "nonsense").unwrap();
        assert!(Door::kept(&folder).unwrap_err().to_string().contains("pass-phrase"));
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn tries_are_few_and_come_back() {
        let mut tries = Tries::default();
        let now = Instant::now();
        for _ in 0..TRIES.0 {
            assert_eq!(tries.begun(HERE, now), None);
        }
        assert_eq!(tries.begun(HERE, now), Some(WHILE));
        assert_eq!(tries.begun(HERE, now + WHILE), None);
        // A right phrase makes an address new; another address is nobody's fault, until all together are too many.
        tries.right(HERE);
        assert_eq!(tries.begun(HERE, now + WHILE), None);
        let mut together = Tries::default();
        let from = |k: usize| IpAddr::V4(u32::try_from(k).unwrap().into());
        let began = (0..200).filter(|k| together.begun(from(*k), now).is_none()).count();
        assert_eq!(began, TRIES.1);
    }

    #[test]
    fn one_network_is_one_guesser() {
        let six = |text: &str| network(text.parse().unwrap());
        assert_eq!(six("2001:db8::1"), six("2001:db8::2"));
        assert_ne!(six("2001:db8::1"), six("2001:db8:0:1::1"));
        assert_eq!(six("::ffff:192.168.1.7"), HERE);
    }
}
