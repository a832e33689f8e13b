//! A large regatta: 300 boats, 20 races, read and scored.

use regatta::scoring::Series;

const BOATS: usize = 300;
const RACES: usize = 20;

fn main() {
    divan::main();
}

fn regatta() -> (String, String) {
    let boats: Vec<String> = (0..BOATS).map(|boat| format!("B{boat}")).collect();
    let mut rows = String::from("race,boat,place,code,points\n");
    for race in 0..RACES {
        for (at, boat) in boats.iter().enumerate() {
            // 7 and 300 have no common divisor, so every race gives each place once.
            let place = (at * 7 + race * 31) % BOATS + 1;
            let code = ["", "SCP", "DSQ"][if place.is_multiple_of(25) { 1 } else { usize::from(place % 40 == 7) * 2 }];
            rows += &format!("{},{boat},{place},{code},\n", race + 1);
        }
    }
    let toml = format!("name = \"a regatta\"\nedition = \"2025-2028\"\nresults = \"r.csv\"\nentries = {boats:?}\nexclusions = 3\n");
    (toml, rows)
}

#[divan::bench]
fn read_and_score(bencher: divan::Bencher<'_, '_>) {
    let (toml, rows) = regatta();
    bencher.bench(|| Series::read(&toml, |_| Ok::<_, String>(rows.clone())).and_then(|series| series.value.standings()));
}

#[divan::bench]
fn score(bencher: divan::Bencher<'_, '_>) {
    let (toml, rows) = regatta();
    if let Ok(series) = Series::read(&toml, |_| Ok::<_, String>(rows.clone())) {
        bencher.bench(|| series.value.standings());
    }
}
