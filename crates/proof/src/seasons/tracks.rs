//! Seasons from tracks: rehearsed outings of line-ups with a setting swapped, debriefed as any other, their passes weighed by the statistics.

use std::time::Instant;

use anyhow::{Result, bail};
use evidence::effect::effects;
use evidence::passes::{Passes, Row};
use rayon::prelude::*;
use rehearsal::{Kind, Outing, outing};
use track::debrief::Kind as LegKind;

use super::{GAUGES, NOMINAL};
use crate::page::today;
use crate::prove::adapter::debriefed;

/// Seeds that no estimator was tuned on and no other proof judges.
const FROM: u64 = 1001;

/// What came of a season: intervals, those that hold the truth, misses (m/s), passes sailed, found and used, intervals that leave out zero and of these those of
/// the wrong sign.
#[derive(Debug, Default, Clone)]
struct Season {
    intervals: usize,
    held: usize,
    misses: Vec<f64>,
    half_widths: Vec<f64>,
    sailed: usize,
    found: usize,
    finds: usize,
    wrong: usize,
}

/// The passes of one outing as a coach's table has them, and what the setting was truly worth, m/s.
fn table(outing: &Outing, number: usize, gauge: usize, rows: &mut Vec<Row>) -> Result<f64> {
    let debrief = debriefed(outing, false)?;
    let (mut worth, mut count) = (0.0, 0.0);
    for (k, truth) in outing.lineups.iter().enumerate() {
        let overlap = |start: f64, end: f64| end.min(truth.end) - start.max(truth.start);
        let same = |l: &&track::debrief::Lineup| l.boats == truth.boats || l.boats == (truth.boats.1, truth.boats.0);
        let best = debrief.lineups.iter().filter(same).max_by(|a, b| overlap(a.start, a.end).total_cmp(&overlap(b.start, b.end)));
        let Some(found) = best.filter(|l| overlap(l.start, l.end) > 0.5 * (truth.end - truth.start)) else { continue };
        let Some(carries) = truth.carries else { continue };
        let beat = |boat: usize| {
            let legs = &debrief.boats.get(boat)?.legs;
            legs.iter().find(|l| l.kind == Some(LegKind::Beat) && l.start < found.end && l.end > found.start)?.made_good
        };
        let made: Vec<f64> = [beat(found.boats.0), beat(found.boats.1)].into_iter().flatten().collect();
        let level = if made.is_empty() { 1.0 } else { made.iter().sum::<f64>() / made.len() as f64 };
        let (from, to) = ((found.start - outing.start).max(0.0) as usize, (found.end - outing.start).max(0.0) as usize);
        let sailed = &outing.states[truth.boats.0];
        let own = &sailed[from.min(sailed.len())..to.min(sailed.len())];
        worth += outing.setting_effect * own.iter().map(|s| s.made_good()).sum::<f64>() / own.len().max(1) as f64;
        count += 1.0;
        for (boat, side) in [(found.boats.0, 0.5), (found.boats.1, -0.5)] {
            let mut settings = vec![0.0; GAUGES.len()];
            settings[gauge] = f64::from(u8::from(boat == carries));
            let (sailor, vmg) = (format!("{number}.s{boat}"), level + side * found.difference);
            let line = rows.len() as u64 + 2;
            rows.push(Row { line, pass: format!("{number}.{k}"), sailor, boat: String::new(), position: 0.0, wind: None, vmg, settings });
        }
    }
    if count == 0.0 {
        bail!("no pass of an outing of line-ups was found (seed {})", outing.seed);
    }
    Ok(worth / count)
}

fn season(number: u64) -> Result<Season> {
    let (mut season, mut rows, mut worth) = (Season::default(), Vec::new(), Vec::new());
    for gauge in 0..GAUGES.len() {
        let outing = outing(Kind::LineUps, FROM + number * GAUGES.len() as u64 + gauge as u64);
        season.sailed += outing.lineups.iter().filter(|l| l.carries.is_some()).count();
        worth.push(table(&outing, gauge, gauge, &mut rows)?);
    }
    season.found = rows.len() / 2;
    for effect in effects(&Passes { gauges: GAUGES.map(str::to_owned).to_vec(), rows }).value.effects {
        let Some(truth) = GAUGES.iter().position(|g| *g == effect.gauge).and_then(|g| worth.get(g)).copied() else { continue };
        season.intervals += 1;
        season.held += usize::from((effect.low_ms..=effect.high_ms).contains(&truth));
        season.misses.push(effect.vmg_difference_ms - truth);
        season.half_widths.push(0.5 * (effect.high_ms - effect.low_ms));
        let find = effect.low_ms > 0.0 || effect.high_ms < 0.0;
        season.finds += usize::from(find);
        season.wrong += usize::from(find && effect.vmg_difference_ms * truth < 0.0);
    }
    Ok(season)
}

/// Sails and debriefs so many seasons; the page's part, and whether the intervals hold the truth as often as asked. Of few intervals chance alone takes some: three of
/// its standard deviations are let pass below.
pub(super) fn prove(seasons: u64) -> Result<(String, bool)> {
    let begun = Instant::now();
    let all: Vec<Season> = (0..seasons).into_par_iter().map(season).collect::<Result<_>>()?;
    let sum = |of: fn(&Season) -> usize| all.iter().map(of).sum::<usize>();
    let (intervals, held) = (sum(|s| s.intervals), sum(|s| s.held));
    if intervals == 0 {
        bail!("no season from tracks had an interval");
    }
    let share = held as f64 / intervals as f64;
    let misses: Vec<f64> = all.iter().flat_map(|s| s.misses.iter().copied()).collect();
    let n = misses.len() as f64;
    let rms = (misses.iter().map(|m| m * m).sum::<f64>() / n).sqrt();
    let width = all.iter().flat_map(|s| &s.half_widths).sum::<f64>() / n;
    let least = NOMINAL.1 - 3.0 * (NOMINAL.1 * (1.0 - NOMINAL.1) / intervals as f64).sqrt();
    let text = format!(
        "{}. {seasons} seasons of {} outings, each outing four boats in line-ups with one setting swapped between the two of each pair, with the faults of recorders, read as \
         recorders' points and debriefed like any other; whether the wind, the clocks and the passes are found is part of it; {:.0} s.\n\n\
         | | found | wanted |\n|---|--:|--:|\n\
         | passes found, of those sailed | {} of {} | - |\n\
         | intervals that hold the truth | {held} of {intervals}, {share:.3} | {}-{} |\n\
         | mean miss, mm/s | {:+.1} | 0 |\n\
         | root of the mean square miss, mm/s | {:.1} | - |\n\
         | half width of an interval, mean, mm/s | {:.1} | - |\n\
         | intervals that leave out zero; of these with the wrong sign | {}; {} | -; 0 |\n",
        today(),
        GAUGES.len(),
        begun.elapsed().as_secs_f64(),
        sum(|s| s.found),
        sum(|s| s.sailed),
        NOMINAL.1,
        NOMINAL.2,
        1e3 * misses.iter().sum::<f64>() / n,
        1e3 * rms,
        1e3 * width,
        sum(|s| s.finds),
        sum(|s| s.wrong),
    );
    Ok((text, share >= least))
}
