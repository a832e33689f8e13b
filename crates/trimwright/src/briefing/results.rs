//! A series in a coach's and a child's words: standings, prizes, every exclusion and code explained, and what a correction changed.

use measure::counted;
use regatta::Error;
use regatta::scoring::{BoatChange, Code, RaceChange, RaceScore, Score, Series, Standing, Standings, changes};
use squad::fact::race::Series as SeriesFact;

/// How many of all boats have a prize. Common practice, no source.
const PRIZES: usize = 3;

/// A series scored, with what was doubted.
#[derive(Debug, Clone, PartialEq)]
pub struct Scored {
    /// Its standings.
    pub standings: Standings,
    /// What was dropped, doubted or guessed.
    pub doubts: Vec<String>,
}

impl Scored {
    /// A series as it is kept: its file, and the one sheet of results it names.
    ///
    /// # Errors
    /// What stops it, in a coach's words.
    pub fn of(fact: &SeriesFact) -> Result<Self, Error> {
        let table: toml::Table = toml::from_str(&fact.series_text).unwrap_or_default();
        let sheet = table.get("results").and_then(|r| r.as_str()).unwrap_or_default().to_owned();
        let files = |file: &str| {
            if file == sheet { Ok(fact.results_text.clone()) } else { Err("one sheet of results is kept with a series".to_owned()) }
        };
        let series = Series::read(&fact.series_text, files)?;
        let standings = series.value.standings()?;
        let doubts = series.warnings.iter().chain(&standings.warnings).map(ToString::to_string).collect();
        Ok(Self { standings: standings.value, doubts })
    }
}

/// Results to read or to print.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ResultsPage {
    /// The series.
    pub title: String,
    /// By which rules, and how many races and boats.
    pub about: String,
    /// Who leads, or has won.
    pub verdict: String,
    /// All boats, then each fleet and division.
    pub parts: Vec<Part>,
    /// Prizes: for what, and who.
    pub prizes: Vec<(String, String)>,
    /// The codes that were used, each in words.
    pub codes: Vec<String>,
}

/// The standings of all boats, a fleet or a division.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Part {
    /// Blank for all boats.
    pub name: String,
    /// The races' names.
    pub races: Vec<String>,
    /// The boats, best first.
    pub rows: Vec<Row>,
}

/// A boat.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Row {
    /// Her rank.
    pub rank: usize,
    /// Her label.
    pub boat: String,
    /// Her scores as a results sheet has them, and whether each is left out.
    pub scores: Vec<(String, bool)>,
    /// All of them.
    pub total: String,
    /// Those that count.
    pub net: String,
    /// How a tie was broken; blank where there was none.
    pub tie: String,
    /// Exclusions and codes in words.
    pub explained: String,
}

/// A score as a results sheet has it: "3", "13 DNF", "(7)".
#[must_use]
pub fn score(race: &RaceScore) -> String {
    let code = race.code.map(|code| format!(" {code}")).unwrap_or_default();
    let text = format!("{}{code}", race.score.normalize());
    if race.excluded { format!("({text})") } else { text }
}

/// What a code says she did, paraphrased from rule A10.
const fn did(code: Code) -> &'static str {
    match code {
        Code::Dnc => "did not come to the starting area",
        Code::Dns => "came to the starting area and did not start",
        Code::Ocs => "was over the line at the start and did not come back",
        Code::Zfp => "was over the line in the last minute under the Z flag",
        Code::Ufd => "was over the line in the last minute under the U flag",
        Code::Bfd => "was over the line in the last minute under the black flag",
        Code::Scp => "took a scoring penalty",
        Code::Nsc => "did not sail the course",
        Code::Dnf => "did not finish",
        Code::Ret => "retired",
        Code::Dsq => "was disqualified",
        Code::Dne => "was disqualified, and it cannot be left out",
        Code::Rdg => "was given redress",
        Code::Dpi => "was given a penalty by the protest committee",
    }
}

/// How a code is scored.
const fn scores(code: Code) -> &'static str {
    match code.treatment().score {
        Score::EntriesPlusOne => "one point more than the boats entered",
        Score::LastPlusOne => "one point more than the boats entered, or with A5.3 than those that came to the start",
        Score::Penalty => "her place and a fifth of the points of DNF, never worse than DNF",
        Score::Decided => "the points decided for her, or an average",
    }
}

/// A boat's exclusions and codes.
fn explained(boat: &Standing, races: &[String]) -> String {
    let out: Vec<String> = boat
        .races
        .iter()
        .zip(races)
        .filter(|(race, _)| race.excluded)
        .map(|(race, name)| format!("race {name} ({})", race.score.normalize()))
        .collect();
    let worst = match out.as_slice() {
        [] => None,
        [one] => Some(format!("left out: {one}, the worst that may be")),
        several => Some(format!("left out: {}, the worst that may be", several.join(", "))),
    };
    let coded = boat.races.iter().zip(races).filter_map(|(race, name)| {
        let code = race.code?;
        let points = race.score.normalize();
        Some(format!("race {name}: {code}, {}, {points} {}", did(code), if points == 1.into() { "point" } else { "points" }))
    });
    worst.into_iter().chain(coded).collect::<Vec<_>>().join("; ")
}

fn part(name: &str, races: &[String], boats: &[Standing]) -> Part {
    let rows = boats.iter().map(|boat| Row {
        rank: boat.rank,
        boat: boat.boat.clone(),
        scores: boat.races.iter().map(|race| (score(race), race.excluded)).collect(),
        total: boat.total.normalize().to_string(),
        net: boat.net.normalize().to_string(),
        tie: boat.why.split_once(", tied: ").map_or_else(String::new, |(_, tie)| tie.to_owned()),
        explained: explained(boat, races),
    });
    Part { name: name.to_owned(), races: races.to_vec(), rows: rows.collect() }
}

/// All boats, then each fleet and division; those without a boat are left out.
pub fn parts(standings: &Standings) -> impl Iterator<Item = (&str, &[String], &Vec<Standing>)> {
    let groups =
        standings.fleets.iter().chain(&standings.divisions).map(|group| (group.name.as_str(), group.races.as_slice(), &group.standings));
    [("", standings.races.as_slice(), &standings.standings)].into_iter().chain(groups).filter(|(_, _, boats)| !boats.is_empty())
}

impl ResultsPage {
    /// The page of standings.
    #[must_use]
    pub fn of(standings: &Standings) -> Self {
        let parts: Vec<Part> = parts(standings).map(|(name, races, boats)| part(name, races, boats)).collect();
        let all = standings.standings.len() + standings.fleets.iter().map(|fleet| fleet.standings.len()).sum::<usize>();
        let races = standings.races.len();
        let mut used: Vec<Code> = standings
            .standings
            .iter()
            .chain(standings.fleets.iter().flat_map(|f| &f.standings))
            .flat_map(|boat| boat.races.iter().filter_map(|race| race.code))
            .collect();
        used.sort_unstable();
        used.dedup();
        // All boats, or each fleet: the divisions come after them and have no leader of their own.
        let whole = if standings.fleets.is_empty() { 1 } else { standings.fleets.iter().filter(|f| !f.standings.is_empty()).count() };
        let leads = |part: &Part| {
            let leaders: Vec<&str> = part.rows.iter().filter(|r| r.rank == 1).map(|r| r.boat.as_str()).collect();
            let of = if part.name.is_empty() { String::new() } else { format!("{}: ", part.name) };
            let after = counted(part.races.len(), "race");
            match leaders.as_slice() {
                [] => String::new(),
                _ if part.races.is_empty() => format!("{of}no race sailed."),
                [one] => format!("{of}{one} leads after {after}."),
                several => format!("{of}{} are level after {after}.", several.join(" and ")),
            }
        };
        let verdict = parts.iter().take(whole).map(leads).collect::<Vec<_>>().join(" ");
        let mut prizes = Vec::new();
        for (n, part) in parts.iter().enumerate().filter(|(_, part)| !part.races.is_empty()) {
            let most = if n < whole { PRIZES } else { 1 };
            for row in part.rows.iter().filter(|r| r.rank <= most) {
                let of = if part.name.is_empty() { String::new() } else { format!(", {}", part.name) };
                prizes.push((format!("{}{of}", ordinal(row.rank)), row.boat.clone()));
            }
        }
        Self {
            title: standings.series.clone(),
            about: format!(
                "{}, {}; low points by the Racing Rules of Sailing {}.",
                counted(all, "boat"),
                counted(races, "race"),
                standings.edition
            ),
            verdict,
            parts,
            prizes,
            codes: used.into_iter().map(|code| format!("{code}: {}; scores {}.", did(code), scores(code))).collect(),
        }
    }
}

fn ordinal(rank: usize) -> String {
    match rank {
        1 => "First".to_owned(),
        2 => "Second".to_owned(),
        3 => "Third".to_owned(),
        n => format!("{n}th"),
    }
}

/// A label that no spreadsheet takes for a formula.
#[must_use]
pub fn in_a_cell(label: &str) -> String {
    if label.starts_with(['=', '+', '-', '@', '\t']) { format!("'{label}") } else { label.to_owned() }
}

/// The standings as CSV: fleet or division (blank for all boats), rank, boat, net, total, each race, why.
///
/// # Errors
/// When a row cannot be written.
pub fn sheet(standings: &Standings) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    let races = standings.races.iter().map(|race| format!("race {race}"));
    writer.write_record(["part", "rank", "boat", "net", "total"].map(str::to_owned).into_iter().chain(races).chain(["why".to_owned()]))?;
    for (name, _, boats) in parts(standings) {
        for boat in boats {
            let row = [
                in_a_cell(name),
                boat.rank.to_string(),
                in_a_cell(&boat.boat),
                boat.net.normalize().to_string(),
                boat.total.normalize().to_string(),
            ];
            writer.write_record(row.into_iter().chain(boat.races.iter().map(score)).chain([in_a_cell(&boat.why)]))?;
        }
    }
    writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}

/// What a correction changed, a line for each boat.
#[must_use]
pub fn corrected(before: &Standings, after: &Standings) -> Vec<String> {
    changes(before, after).iter().map(change).collect()
}

fn change(boat: &BoatChange) -> String {
    let was = |pair: &(Option<String>, Option<String>)| match pair {
        (Some(a), Some(b)) if a == b => None,
        (Some(a), Some(b)) => Some(format!("{a} to {b}")),
        (None, Some(b)) => Some(format!("now {b}")),
        (Some(a), None) => Some(format!("no more, was {a}")),
        (None, None) => None,
    };
    let pair = |of: &RaceChange| {
        let text = |score: Option<String>, code: Option<Code>, out: Option<bool>| {
            let text = format!("{}{}", score?, code.map(|c| format!(" {c}")).unwrap_or_default());
            Some(if out == Some(true) { format!("({text})") } else { text })
        };
        let (old, new) = (of.score.0.map(|d| d.normalize().to_string()), of.score.1.map(|d| d.normalize().to_string()));
        (text(old, of.code.0, of.excluded.0), text(new, of.code.1, of.excluded.1))
    };
    let rank = (boat.rank.0.map(|r| r.to_string()), boat.rank.1.map(|r| r.to_string()));
    let net = (boat.net.0.map(|n| n.normalize().to_string()), boat.net.1.map(|n| n.normalize().to_string()));
    let races = boat.races.iter().filter_map(|race| Some(format!("race {}: {}", race.race, was(&pair(race))?)));
    let parts = [was(&rank).map(|r| format!("rank {r}")), was(&net).map(|n| format!("points {n}"))].into_iter().flatten().chain(races);
    let fleet = boat.fleet.as_ref().map_or_else(String::new, |f| format!(" ({f})"));
    format!("{}{fleet}: {}", boat.boat, parts.collect::<Vec<_>>().join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fact(results: &str) -> SeriesFact {
        SeriesFact {
            name: "s".to_owned(),
            series_text: "name = \"s\"\nedition = \"2025-2028\"\nresults = \"r.csv\"\nentries = [\"A\", \"B\", \"C\"]\ndivisions = { junior = [\"C\"] }\n".to_owned(),
            results_text: format!("race,boat,place,code,points\n{results}"),
            day: None,
        }
    }

    /// By hand: A 1 and DNF (4, left out), B 2 and (2: the earliest of equal ones goes), C 3 and 1.
    #[test]
    fn exclusions_codes_and_prizes_are_told() {
        let scored = Scored::of(&fact("1,A,1,,\n1,B,2,,\n1,C,3,,\n2,A,,DNF,\n2,B,2,,\n2,C,1,,\n")).unwrap();
        let page = ResultsPage::of(&scored.standings);
        let all = &page.parts[0];
        let of = |boat: &str| all.rows.iter().find(|r| r.boat == boat).unwrap();
        assert_eq!(of("A").scores, [("1".to_owned(), false), ("(4 DNF)".to_owned(), true)]);
        assert!(
            of("A").explained.contains("left out: race 2 (4)") && of("A").explained.contains("did not finish, 4 points"),
            "{}",
            of("A").explained
        );
        assert!(of("B").explained.contains("left out: race 1 (2)"));
        // A and C have one point each: C won the last race.
        assert!(of("C").rank == 1 && of("C").tie.contains("A8.2"), "{:?}", of("C"));
        assert_eq!(page.prizes.len(), 4);
        assert_eq!(page.prizes[3], ("First, junior".to_owned(), "C".to_owned()));
        assert!(page.codes[0].starts_with("DNF: did not finish"));
        let text = String::from_utf8(sheet(&scored.standings).unwrap()).unwrap();
        assert!(text.starts_with("part,rank,boat,net,total,race 1,race 2,why\n,1,C,1,4,(3),1,"), "{text}");
    }

    /// Two fleets and a division across both: three prizes a fleet, one for the division in each, and who leads each fleet.
    #[test]
    fn fleets_have_their_own_leaders_and_prizes() {
        let text = "name = \"s\"\nedition = \"2025-2028\"\nresults = \"r.csv\"\nentries = [\"A\", \"B\", \"C\", \"D\", \"E\"]\n\
                    [fleets]\ngold = [\"A\", \"B\"]\nsilver = [\"C\", \"D\", \"E\"]\n[divisions]\njunior = [\"B\", \"D\"]\n";
        let rows = "race,boat,place\n1,A,1\n1,B,2\n1,C,1\n1,D,2\n1,E,3\n";
        let fact = SeriesFact { name: "s".to_owned(), series_text: text.to_owned(), results_text: rows.to_owned(), day: None };
        let page = ResultsPage::of(&Scored::of(&fact).unwrap().standings);
        assert_eq!(page.verdict, "gold: A leads after 1 race. silver: C leads after 1 race.");
        assert!(page.about.starts_with("5 boats, 1 race;"), "{}", page.about);
        let prizes: Vec<String> = page.prizes.iter().map(|(what, who)| format!("{what}: {who}")).collect();
        assert_eq!(
            prizes,
            [
                "First, gold: A",
                "Second, gold: B",
                "First, silver: C",
                "Second, silver: D",
                "Third, silver: E",
                "First, gold, junior: B",
                "First, silver, junior: D"
            ]
        );
    }

    #[test]
    fn a_correction_is_told() {
        let before = Scored::of(&fact("1,A,1,,\n1,B,2,,\n1,C,3,,\n")).unwrap().standings;
        let after = Scored::of(&fact("1,A,,OCS,\n1,B,2,,\n1,C,3,,\n")).unwrap().standings;
        let told = corrected(&before, &after);
        assert!(told.iter().any(|t| t == "A: rank 1 to 3; points 1 to 4; race 1: 1 to 4 OCS"), "{told:?}");
        assert_eq!(corrected(&before, &before), Vec::<String>::new());
    }

    #[test]
    fn every_code_has_its_words() {
        let words: Vec<_> = Code::ALL.map(did).to_vec();
        assert!(words.iter().all(|w| !w.is_empty()));
        assert_eq!(words.iter().collect::<std::collections::BTreeSet<_>>().len(), words.len());
    }
}
