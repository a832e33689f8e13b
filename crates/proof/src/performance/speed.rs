//! Times against their budgets, against what they were before they were looked at, and against general-purpose optimisers.

use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, anyhow};
use boat::balance::{Boat, CONTROLS, Case, Controls};
use boat::chart::Chart;
use boat::crew::Skill;
use boat::optimum::{Plan, optimum};
use boat::setup::{Leg, LegSetup, Request, SEARCH};
use measure::angle::DEGREE;
use measure::{Length, Outcome, Speed, WindLaw};

use super::general::{Race, cobyla, nelder_mead};
use super::{built, here, of_process, of_thread, pram, quantile, request, write};

/// A setting close-hauled, near which warm balances are taken, and how far off the next one is in each control.
const CLOSE_HAULED: Controls = [47.0 * DEGREE, 9.0 * DEGREE, 0.08, 0.14, 80.0, 50.0, DEGREE, 3.0 * DEGREE, 0.85, 0.0, 0.0, 0.0];
const OFF: Controls = [DEGREE, DEGREE, 0.02, 0.01, 10.0, 10.0, 0.2 * DEGREE, 2.0 * DEGREE, 0.04, 0.5 * DEGREE, 1.0, 10.0];
/// Winds at 2 m of the optima, m/s.
const WINDS: [f64; 3] = [3.5, 6.0, 8.5];
/// The chart: masses, kg, and winds at 2 m, m/s.
const MASSES: [f64; 10] = [26.0, 30.0, 34.0, 38.0, 42.0, 46.0, 50.0, 55.0, 61.0, 68.0];
const CHART_WINDS: [f64; 6] = [2.0, 3.2, 4.6, 6.2, 8.0, 10.0];
/// Equal speed made good: a ten-thousandth, less than a search repeats by.
const EQUAL: f64 = 1e-4;
/// Times a thing is timed.
const TIMES: usize = 21;
const WARM: usize = 400;
/// A squad's size.
const SQUAD: usize = 16;

/// A row of the table, s or MB.
struct Row {
    what: &'static str,
    budget: f64,
    measured: f64,
    /// What the proof measured when it was new; none where it was not asked.
    baseline: Option<f64>,
    unit: (&'static str, f64),
    note: String,
}

const MICROSECONDS: (&str, f64) = ("us", 1e6);
const MILLISECONDS: (&str, f64) = ("ms", 1e3);
const SECONDS: (&str, f64) = ("s", 1.0);
const MEGABYTES: (&str, f64) = ("MB", 1.0);

/// What this proof measured when it was new (2026-11-25), to see what later changes do.
const BASELINE: [Option<f64>; 4] = [Some(418e-6), Some(3.46e-3), Some(12e-3), Some(23.4)];

/// Where the time of a state goes, by hand.
const PROFILE: &str = "
### Where the time goes

Shares of the samples, 1500 a second, of the first 1500 states of the robustness proof, each from cold, built for release, 26 November 2026: before derivatives were our own, sparse ones (see
docs/theory/balance.md; 5.6 s in all), and now (4.3 s).

| part | before | now |
|---|--:|--:|
| strips of the sail: shape, section | 17 % | 20 % |
| joining strips to the sail, derivatives by the chain rule | 20 % | 23 % |
| hull in the water | 17 % | 14 % |
| sines, powers, exponentials and their like | 13 % | 16 % |
| copies | 15 % | 13 % |
| triangles of Jacobians | 6 % | 6 % |
| board and rudder | 2 % | 2 % |
| all else | 10 % | 8 % |
";

/// Writes its part of docs/performance.md; always true: the table says what is met.
pub(crate) fn prove(root: &Path) -> Result<bool> {
    let boat = pram();
    let (warm, bare, handle) = balance(&boat)?;
    let (one, slower) = near(&boat, 1.0)?;
    let (gusts, _) = near(&boat, 1.3)?;
    let races = races(&boat)?;
    let (wall, both) = chart(&boat)?;
    let memory = most_memory(&fs::read_to_string("/proc/self/status").unwrap_or_default());
    let mut rows = vec![
        Row {
            what: "balance, warm",
            budget: 1e-4,
            measured: warm,
            baseline: BASELINE[0],
            unit: MICROSECONDS,
            note: format!(
                "median; every control off at once, from a state with its slopes at hand, which take {:.0} us once; from one without them {:.0} us",
                1e6 * handle,
                1e6 * bare
            ),
        },
        Row {
            what: "optimum in one wind, warm",
            budget: 15e-3,
            measured: one,
            baseline: BASELINE[1],
            unit: MILLISECONDS,
            note: format!("median over {} winds; at worst {:.3} % slower boat than from cold", WINDS.len(), 100.0 * slower),
        },
        Row {
            what: "averaged over gusts, warm",
            budget: 80e-3,
            measured: gusts,
            baseline: BASELINE[2],
            unit: MILLISECONDS,
            note: "median".into(),
        },
        Row {
            what: "class chart 10 x 6 x 3 with bands and costs, cold",
            budget: 30.0,
            measured: 0.5 * both,
            baseline: BASELINE[3],
            unit: SECONDS,
            note: format!("processor time of the process over two cores; {wall:.0} s on the wall beside other work"),
        },
    ];
    if let Some((first, again, most)) = cards(root)? {
        rows.push(Row {
            what: "cards of a squad of sixteen from a chart",
            budget: 1.0,
            measured: again,
            baseline: None,
            unit: SECONDS,
            note: format!("on the wall, program start to PDF; with the beat's chart and doubts to solve first {first:.0} s"),
        });
        rows.push(Row {
            what: "memory of the cards",
            budget: 100.0,
            measured: most,
            baseline: None,
            unit: MEGABYTES,
            note: "at most".into(),
        });
    }
    rows.push(Row {
        what: "memory of this proof",
        budget: 100.0,
        measured: memory,
        baseline: None,
        unit: MEGABYTES,
        note: "at most".into(),
    });
    let mut page = format!(
        "{}, {}. The invented pram, a sailor of 45 kg. Processor time of one thread unless a row says otherwise; ratio is measured over budget.\n\n\
         | | budget | measured | baseline | ratio | |\n|---|--:|--:|--:|--:|---|\n",
        here(),
        built()
    );
    for row in &rows {
        let show = |v: f64| {
            let v = v * row.unit.1;
            if v < 10.0 { format!("{v:.2} {}", row.unit.0) } else { format!("{v:.0} {}", row.unit.0) }
        };
        let baseline = row.baseline.map_or_else(|| "-".to_owned(), show);
        writeln!(
            page,
            "| {} | {} | {} | {baseline} | {:.2} | {} |",
            row.what,
            show(row.budget),
            show(row.measured),
            row.measured / row.budget,
            row.note
        )?;
    }
    page += &raced(&races)?;
    page += PROFILE;
    write(root, "Speed", &page)?;
    Ok(true)
}

/// Median of some times.
fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    quantile(&times, 0.5)
}

fn timed<T>(work: impl FnOnce() -> T) -> (f64, T) {
    let begun = of_thread();
    let done = work();
    (of_thread() - begun, done)
}

/// A balance from a state near by, every control off to and fro: from one with its slopes, from one without, and how long slopes take.
fn balance(boat: &Boat) -> Result<(f64, f64, f64)> {
    let request = request(boat, 5.0, 1.0, false);
    let case = Case { boat, sailor: request.sailor, conditions: request.conditions };
    let Outcome::Solved((state, whole)) = case.solve(&CLOSE_HAULED, None) else { return Err(anyhow!("close-hauled does not solve")) };
    let near = case.near(&CLOSE_HAULED, &state, whole).context("close-hauled has no slopes")?;
    let [mut warm, mut bare, mut handle] = [const { Vec::new() }; 3];
    for k in 0..WARM {
        // Signs from the bits of a counter: each control off one way or the other, in every pattern.
        let p: Controls =
            core::array::from_fn(|i| CLOSE_HAULED[i] + OFF[i] * if (k * 37 + 11) >> (i % CONTROLS) & 1 == 0 { 1.0 } else { -1.0 });
        let (time, solved) = timed(|| case.solve_from(&near, &p));
        if matches!(solved, Outcome::Solved(_)) {
            warm.push(time);
        }
        let (time, solved) = timed(|| case.solve(&p, Some(&state)));
        if matches!(solved, Outcome::Solved(_)) {
            bare.push(time);
        }
        handle.push(timed(|| case.near(&CLOSE_HAULED, &state, whole)).0);
    }
    if warm.len() < WARM || bare.len() < WARM {
        return Err(anyhow!("of {WARM} states near by {} and {} were solved", warm.len(), bare.len()));
    }
    Ok((median(warm), median(bare), median(handle)))
}

/// The best beat from that of a wind a twentieth lighter: the median time, and how much slower the boat is than from cold at worst.
fn near(boat: &Boat, gusts: f64) -> Result<(f64, f64)> {
    let mut times = Vec::new();
    let mut slower: f64 = 0.0;
    let beat = |request: &Request<'_>, known: Option<&LegSetup>| {
        request
            .leg_near(Leg::Beat, 0.0, known)
            .map_err(|status| anyhow!("no beat in {} m/s: {}", request.conditions.wind.at_meter, status.words()))
    };
    for wind in WINDS {
        let known = beat(&request(boat, 0.95 * wind, gusts, false), None)?;
        let here = request(boat, wind, gusts, false);
        let cold = beat(&here, None)?;
        for _ in 0..TIMES {
            let (time, found) = timed(|| beat(&here, Some(&known)));
            slower = slower.max(1.0 - found?.made_good / cold.made_good);
            times.push(time);
        }
    }
    Ok((median(times), slower))
}

/// One wind's beat by our search and by the others.
struct Raced {
    wind: f64,
    ours: (f64, f64),
    warm: f64,
    others: [(&'static str, Race); 2],
}

fn races(boat: &Boat) -> Result<Vec<Raced>> {
    let raced = |wind: f64| -> Result<Raced> {
        let here = request(boat, wind, 1.0, false);
        let plan: Plan<'_> = here.plan(Leg::Beat, here.usual(Leg::Beat, 0.0));
        let search =
            |starts: &[_], known: Option<&_>| optimum(&plan, starts, &SEARCH, known).map_err(|s| anyhow!("{wind} m/s: {}", s.words()));
        let cold: Vec<(f64, _)> = (0..TIMES).map(|_| timed(|| search(&[], None))).collect();
        let time = median(cold.iter().map(|c| c.0).collect());
        let ours = cold.into_iter().next().context("nothing was timed")?.1?;
        let lighter = request(boat, 0.95 * wind, 1.0, false);
        let lighter = lighter.plan(Leg::Beat, here.usual(Leg::Beat, 0.0));
        let known = optimum(&lighter, &[], &SEARCH, None).map_err(|s| anyhow!("{wind} m/s: {}", s.words()))?;
        let warm = median((0..TIMES).map(|_| timed(|| search(&known.winds, Some(&known.curvature)).map(|o| o.value)).0).collect());
        let target = ours.value * (1.0 - EQUAL);
        let mead = nelder_mead(&plan, target).map_err(|e| anyhow!("Nelder-Mead at {wind} m/s: {e}"))?;
        Ok(Raced { wind, ours: (ours.value, time), warm, others: [("Nelder-Mead (argmin)", mead), ("cobyla", cobyla(&plan, target))] })
    };
    WINDS.into_iter().map(raced).collect()
}

fn raced(races: &[Raced]) -> Result<String> {
    let mut text = format!(
        "\n### The same optimum by general-purpose optimisers\n\nOne wind, eight settings, the same balance, each state from the last; from the usual \
         setting, then from three others. Reached: speed made good within {:.2} % of ours with every limit kept. Goal: a hundredth of their time.\n\n\
         | wind m/s | by | made good m/s | time ms | looks | ours over theirs |\n|--:|---|--:|--:|--:|--:|\n",
        100.0 * EQUAL
    );
    for race in races {
        writeln!(text, "| {:.1} | ours, cold | {:.4} | {:.1} | | 1 |", race.wind, race.ours.0, 1e3 * race.ours.1)?;
        writeln!(text, "| {:.1} | ours, from a near wind | {:.4} | {:.1} | | |", race.wind, race.ours.0, 1e3 * race.warm)?;
        for (name, other) in &race.others {
            let (time, note) = match other.reached {
                Some(time) => (time, String::new()),
                None => (other.spent, format!(" (not reached: {:.2} % slower)", 100.0 * (1.0 - other.best / race.ours.0))),
            };
            writeln!(
                text,
                "| {:.1} | {name}{note} | {:.4} | {:.0} | {} | 1/{:.0} cold, 1/{:.0} warm |",
                race.wind,
                other.best,
                1e3 * time,
                other.looks,
                time / race.ours.1,
                time / race.warm
            )?;
        }
    }
    Ok(text)
}

/// The class chart: wall time, and processor time of all its threads.
fn chart(boat: &Boat) -> Result<(f64, f64)> {
    let winds = CHART_WINDS.map(|w| WindLaw::Open.profile(Speed::metres_per_second(w), Length::metres(2.0)));
    let (begun, before) = (Instant::now(), of_process());
    Chart::solved(&request(boat, 5.0, 1.3, true), Skill::Races, &Leg::ALL, &MASSES, &winds, &|| true).context("the chart was stopped")?;
    Ok((begun.elapsed().as_secs_f64(), of_process() - before))
}

/// Most memory of a process by its status, MB.
fn most_memory(status: &str) -> f64 {
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|kb| kb.trim().trim_end_matches("kB").trim().parse::<f64>().ok()).map_or(f64::NAN, |kb| kb / 1024.0)
}

/// Cards of sixteen by the program that lies beside this one: seconds with the chart to solve, from the chart, and most memory, MB. None where
/// the program was not built.
fn cards(root: &Path) -> Result<Option<(f64, f64, f64)>> {
    let here = std::env::current_exe().context("this program does not know where it lies")?;
    let program = here.with_file_name("trimwright");
    if !program.exists() {
        println!("{} is not there: build it, and the cards are timed as well", program.display());
        return Ok(None);
    }
    let folder = here.with_file_name("prove-speed");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    // Twelve invented sailors and the first four of them once more under other names.
    let text = fs::read_to_string(root.join("data/squads/example.toml")).context("cannot read the invented squad")?;
    let sailors: Vec<&str> = text.split("[[sailor]]").skip(1).collect();
    let squad: String = (0..SQUAD)
        .map(|k| {
            let sailor = sailors[k % sailors.len()];
            let again = if k < sailors.len() {
                sailor.to_owned()
            } else {
                sailor.replacen("sailor = \"", "sailor = \"Young ", 1).replacen("boat = \"", "boat = \"New ", 1)
            };
            format!("[[sailor]]{again}")
        })
        .collect();
    let (squad_file, chart_file, pdf) = (folder.join("sixteen.toml"), folder.join("chart.json"), folder.join("cards.pdf"));
    fs::write(&squad_file, squad).context("cannot write the squad")?;
    if chart_file.exists() {
        fs::remove_file(&chart_file).context("cannot remove the old chart")?;
    }
    let run = || -> Result<(f64, f64)> {
        let begun = Instant::now();
        let mut child = Command::new(&program)
            .args(["cards", "--wind", "10", "--day", "today", "--squad"])
            .arg(&squad_file)
            .arg("--chart")
            .arg(&chart_file)
            .arg("--out")
            .arg(&pdf)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .context("trimwright does not start")?;
        let mut most: f64 = 0.0;
        while child.try_wait().context("trimwright was lost")?.is_none() {
            let status = fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
            most = most.max(most_memory(&status));
            std::thread::sleep(Duration::from_millis(5));
        }
        Ok((begun.elapsed().as_secs_f64(), most))
    };
    let (first, most) = run()?;
    let mut again: Vec<f64> = Vec::new();
    for _ in 0..5 {
        again.push(run()?.0);
    }
    Ok(Some((first, median(again), most)))
}
