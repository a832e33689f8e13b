//! What holds for any series and any race day.
#![expect(clippy::unwrap_used, reason = "a test stops where a sheet it made itself is refused")]

mod race_day;

use proptest::prelude::*;
use regatta::scoring::{Code, Series, Standing, judge, strangers};
use rust_decimal::Decimal;

/// One race: the boats in the order they finished, and what befell each in that order: 5 did not finish, 6 has a penalty,
/// 7 is disqualified after finishing, any other has her place.
type Race = (Vec<usize>, Vec<u8>);

fn race(boats: usize) -> impl Strategy<Value = Race> {
    (Just((0..boats).collect::<Vec<_>>()).prop_shuffle(), proptest::collection::vec(0..8u8, boats))
}

fn rows(races: &[Race]) -> Vec<String> {
    let mut rows = Vec::new();
    for (number, (order, fates)) in races.iter().enumerate() {
        let mut place = 0;
        for (&boat, fate) in order.iter().zip(fates) {
            place += usize::from(*fate != 5);
            let result = match fate {
                5 => ",DNF".to_owned(),
                6 => format!("{place},SCP"),
                7 => format!("{place},DSQ"),
                _ => format!("{place},"),
            };
            rows.push(format!("{},B{boat},{result}", number + 1));
        }
    }
    rows
}

fn standings(boats: &[String], rows: &[String], exclusions: usize) -> Vec<Standing> {
    let toml = format!("name = \"a series\"\nedition = \"2025-2028\"\nresults = \"r\"\nentries = {boats:?}\nexclusions = {exclusions}\n");
    let text = format!("race,boat,place,code\n{}\n", rows.join("\n"));
    Series::read(&toml, |_| Ok::<_, String>(text.clone())).unwrap().value.standings().unwrap().value.standings
}

fn labels(boats: usize) -> Vec<String> {
    (0..boats).map(|boat| format!("B{boat}")).collect()
}

fn series() -> impl Strategy<Value = (usize, Vec<Race>)> {
    (2..9usize).prop_flat_map(|boats| (Just(boats), proptest::collection::vec(race(boats), 2..7)))
}

proptest! {
    #[test]
    fn the_order_of_rows_and_entries_changes_nothing((boats, races) in series(), seed in any::<u64>()) {
        let (mut entries, mut sheet) = (labels(boats), rows(&races));
        let told = standings(&entries, &sheet, 1);
        let turn = seed as usize % boats;
        entries.rotate_left(turn);
        sheet.reverse();
        sheet.rotate_left(turn);
        prop_assert_eq!(told, standings(&entries, &sheet, 1));
    }

    #[test]
    fn sums_and_ranks_hold((boats, races) in series(), exclusions in 0..3usize) {
        let told = standings(&labels(boats), &rows(&races), exclusions);
        prop_assert_eq!(told.len(), boats);
        for boat in &told {
            prop_assert_eq!(boat.races.iter().map(|race| race.score).sum::<Decimal>(), boat.total);
            let out: Vec<_> = boat.races.iter().filter(|race| race.excluded).collect();
            prop_assert_eq!(boat.total - out.iter().map(|race| race.score).sum::<Decimal>(), boat.net);
            prop_assert_eq!(out.len(), exclusions.min(races.len() - 1));
            let worst_kept = boat.races.iter().filter(|race| !race.excluded).map(|race| race.score).max();
            prop_assert!(out.iter().all(|race| Some(race.score) >= worst_kept));
            prop_assert!(boat.races.iter().all(|race| race.score <= Decimal::from(boats + 1)));
        }
        for pair in told.windows(2) {
            prop_assert!(pair[0].net <= pair[1].net && pair[0].rank <= pair[1].rank);
            let level = pair[0].rank == pair[1].rank;
            let same = pair[0].races.iter().map(|race| race.score).eq(pair[1].races.iter().map(|race| race.score));
            prop_assert_eq!(level, same, "only boats with the same score in every race are level");
        }
    }

    /// A sheet with a column for each race says what one with a row for each boat in each race says, under titles, beside sums, in any order.
    #[test]
    fn a_wide_sheet_is_the_long_one_turned((boats, races) in series(), by in prop::sample::select(vec![',', ';', '\t']), out in 0..9usize) {
        let (entries, long) = (labels(boats), rows(&races));
        let by = by.to_string();
        let races = races.len();
        let head: Vec<String> = (1..=races).map(|race| format!("R{race}")).collect();
        let mut sheet = format!("spring series\n\nRank{by}Sail No{by}{}{by}Nett\n", head.join(&by));
        for (n, boat) in entries.iter().enumerate().rev() {
            let cells: Vec<String> = (1..=races)
                .map(|race| {
                    let row = long.iter().find(|row| row.starts_with(&format!("{race},{boat},"))).unwrap();
                    let mut fields = row.split(',').skip(2);
                    let cell = [fields.next().unwrap(), fields.next().unwrap()].join(" ").trim().to_owned();
                    if race == out % races + 1 { format!("({cell})") } else { cell }
                })
                .collect();
            sheet += &format!("{}{by}{boat}{by}{}{by}99\n", n + 1, cells.join(&by));
        }
        let toml = format!("name = \"a series\"\nedition = \"2025-2028\"\nresults = \"r\"\nentries = {entries:?}\nexclusions = 1\n");
        let wide = Series::read(&toml, |_| Ok::<_, String>(sheet.clone())).unwrap().value.standings().unwrap().value.standings;
        prop_assert_eq!(wide, standings(&entries, &long, 1));
    }

    /// With no code, a race's points are those of its places.
    #[test]
    fn the_points_of_a_race_without_codes_are_those_of_its_places((boats, races) in series()) {
        let plain: Vec<_> = races.into_iter().map(|(order, _)| (order, vec![0; boats])).collect();
        let told = standings(&labels(boats), &rows(&plain), 0);
        for race in 0..plain.len() {
            let sum: Decimal = told.iter().map(|boat| boat.races[race].score).sum();
            prop_assert_eq!(sum, Decimal::from(boats * (boats + 1) / 2));
        }
    }

    #[test]
    fn a_race_nobody_finishes_and_one_more_exclusion_change_no_rank((boats, races) in series()) {
        let (entries, mut sheet) = (labels(boats), rows(&races));
        let before = standings(&entries, &sheet, 1);
        sheet.extend(entries.iter().map(|boat| format!("99,{boat},,DNF")));
        let after = standings(&entries, &sheet, 2);
        let short = |told: &[Standing]| told.iter().map(|boat| (boat.boat.clone(), boat.rank, boat.net)).collect::<Vec<_>>();
        prop_assert_eq!(short(&before), short(&after));
    }

    /// A boat scored DNE counts her last-place score even where another boat would leave it out.
    #[test]
    fn dne_stays((boats, races) in series(), victim in 0..9usize, at in 0..7usize) {
        let (victim, at) = (format!("B{}", victim % boats), (at % races.len() + 1).to_string());
        let sheet: Vec<_> = rows(&races)
            .into_iter()
            .map(|row| if row.starts_with(&format!("{at},{victim},")) { format!("{at},{victim},,DNE") } else { row })
            .collect();
        let told = standings(&labels(boats), &sheet, 1);
        let boat = told.iter().find(|boat| boat.boat == victim).unwrap();
        let dne = boat.races.iter().find(|race| race.code == Some(Code::Dne)).unwrap();
        prop_assert!(!dne.excluded);
        prop_assert_eq!(boat.races.iter().filter(|race| race.excluded).count(), 1);
    }

    #[test]
    fn no_text_stops_the_reader(toml in "\\PC{0,200}", sheet in "(race,boat,place,code,points\n)?([A-Z0-9,.;\" \n]{0,200})", json in "[\\[\\]{}\",:a-z0-9]{0,80}") {
        let _ = judge(&json);
        let _ = Series::read(&toml, |_| Ok::<_, String>(sheet.clone()));
        let good = "name = \"a\"\nedition = \"2021-2024\"\nresults = \"r\"\nentries = [\"A\", \"B\", \"C\"]\n";
        if let Ok(series) = Series::read(good, |_| Ok::<_, String>(sheet.clone())) {
            let _ = series.value.standings();
        }
    }

    /// Cells of any kind under headings of any kind.
    #[test]
    fn no_wide_sheet_stops_the_reader(
        head in proptest::collection::vec("(R[0-9]{1,2}|[0-9]{1,4}|Sat [0-9]|Boat|Sail No|Net|[a-zA-Z0-9 .]{0,6})", 1..6),
        cells in proptest::collection::vec("([0-9]{1,3}|\\([0-9]{1,2}\\)|[A-D]|(DNF|OCS|SCP|RDG|DPI)( ?\\(?[0-9.]{0,4}\\)?)|[0-9]{1,2} (RET|SCP|RDG)|[\\PC]{0,6})?", 0..40),
    ) {
        let rows: Vec<String> = cells.chunks(head.len()).map(|row| row.join(",")).collect();
        let text = format!("{}\n{}\n", head.join(","), rows.join("\n"));
        let entries = ["A", "B", "C", "D"].map(str::to_owned);
        let named = strangers(&text, &entries);
        prop_assert!(named.iter().all(|boat| !entries.contains(boat) && !boat.is_empty()));
        let toml = "name = \"a\"\nedition = \"2021-2024\"\nresults = \"r\"\nentries = [\"A\", \"B\", \"C\", \"D\"]\n";
        if let Err(error) = Series::read(toml, |_| Ok::<_, String>(text.clone())).and_then(|series| series.value.standings()) {
            prop_assert!(!error.remedy.is_empty() && !error.place.is_empty());
        }
    }

    /// Rows that look like a sheet, with any numbers and codes in them: an answer or a refusal in words, never a panic.
    #[test]
    fn no_sheet_stops_the_scoring(rows in proptest::collection::vec((0..3u8, 0..4u8, any::<u32>(), 0..20usize, any::<u32>()), 0..12)) {
        let rows: Vec<_> = rows
            .into_iter()
            .map(|(race, boat, place, code, points)| {
                let place = if place % 3 == 0 { String::new() } else { (place % 5).to_string() };
                let code = Code::ALL.get(code).map_or("", |code| code.letters());
                format!("{race},B{boat},{place},{code},{}", if points % 4 == 0 { String::new() } else { (points % 9).to_string() })
            })
            .collect();
        let text = format!("race,boat,place,code,points\n{}\n", rows.join("\n"));
        let toml = "name = \"a\"\nedition = \"2021-2024\"\nresults = \"r\"\nentries = [\"B0\", \"B1\", \"B2\", \"B3\"]\nstarting_area_rule = true\n";
        match Series::read(toml, |_| Ok::<_, String>(text.clone())).and_then(|series| series.value.standings()) {
            Ok(standings) => prop_assert_eq!(standings.value.standings.len(), 4),
            Err(error) => prop_assert!(!error.remedy.is_empty()),
        }
    }
}
