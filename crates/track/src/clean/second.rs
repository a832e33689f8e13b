//! Points of any rate to one sample a second.
//!
//! The points nearest to a second are averaged, and their means are carried from their mean time to the second, the position by the
//! velocity and the velocity by its change, so that uneven stamps and rates shift nothing.

use super::recorder::Known;
use super::tidy::Point;
use crate::middle::middle;
use measure::counted;

/// Samples around one that its median is taken over, either side.
const AROUND: usize = 4;
/// Farther than this from the running median is a spike, m, beyond what the boat moves. Study of simulated tracks.
const SPIKE: f64 = 15.0;

/// The mean of one second's points.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample {
    /// East, north, m.
    pub(super) at: [f64; 2],
    /// Doppler velocity, m/s.
    pub(super) way: Option<[f64; 2]>,
}

/// One boat's seconds.
#[derive(Debug, Clone)]
pub(super) struct Seconds {
    /// UTC second of the first entry.
    pub(super) start: i64,
    /// A sample for each second that has points.
    pub(super) grid: Vec<Option<Sample>>,
}

#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    count: f64,
    time: f64,
    at: [f64; 2],
    ways: f64,
    way: [f64; 2],
}

/// A second's place on the grid, mean time after it, mean place and mean velocity.
type Mean = (usize, f64, [f64; 2], Option<[f64; 2]>);

/// Reduces points to seconds.
pub(super) fn seconds(points: &[Point], known: &Known, said: &mut Vec<String>) -> Seconds {
    let start = points.first().map_or(0, |p| p.time.round() as i64);
    let mut sums: Vec<(usize, Sum)> = Vec::new();
    for point in points {
        let second = (point.time.round() as i64 - start) as usize;
        if sums.last().is_none_or(|(last, _)| *last != second) {
            sums.push((second, Sum::default()));
        }
        let Some((_, sum)) = sums.last_mut() else { continue };
        sum.count += 1.0;
        sum.time += point.time - (start + second as i64) as f64;
        sum.at = [sum.at[0] + point.at[0], sum.at[1] + point.at[1]];
        if let (true, Some(way)) = (known.doppler, point.way) {
            sum.ways += 1.0;
            sum.way = [sum.way[0] + way[0], sum.way[1] + way[1]];
        }
    }
    // Mean time on the grid, mean place, mean velocity.
    let means: Vec<Mean> = sums
        .iter()
        .map(|(second, s)| {
            let way = (s.ways > 0.0).then(|| [s.way[0] / s.ways, s.way[1] / s.ways]);
            (*second, s.time / s.count, [s.at[0] / s.count, s.at[1] / s.count], way)
        })
        .collect();
    let mut samples: Vec<(usize, Sample)> = (0..means.len())
        .map(|i| {
            let (second, late, at, way) = means[i];
            let (a, b) = (means[i.saturating_sub(1)], means[(i + 1).min(means.len() - 1)]);
            let apart = (b.0 - a.0) as f64 + b.1 - a.1;
            // Over a dropout the difference of neighbours says little of this second.
            let near = apart > 0.5 && apart <= 8.0;
            let rate = |a: [f64; 2], b: [f64; 2]| if near { [(b[0] - a[0]) / apart, (b[1] - a[1]) / apart] } else { [0.0; 2] };
            let carried = |from: [f64; 2], by: [f64; 2]| [from[0] - by[0] * late, from[1] - by[1] * late];
            let change = a.3.zip(b.3).map_or([0.0; 2], |(a, b)| rate(a, b));
            (second, Sample { at: carried(at, way.unwrap_or_else(|| rate(a.2, b.2))), way: way.map(|w| carried(w, change)) })
        })
        .collect();
    let all = samples.len();
    // One spike hides a smaller one beside it.
    for _ in 0..2 {
        samples = within_median(&samples);
    }
    if samples.len() < all {
        said.push(format!("{} far off the track around (spikes): left out", counted(all - samples.len(), "second")));
    }
    let first = samples.first().map_or(0, |s| s.0);
    let mut grid = vec![None; samples.last().map_or(0, |s| s.0 + 1 - first)];
    for (second, sample) in samples {
        grid[second - first] = Some(sample);
    }
    Seconds { start: start + first as i64, grid }
}

/// The samples that are not far from the running median.
fn within_median(samples: &[(usize, Sample)]) -> Vec<(usize, Sample)> {
    (0..samples.len())
        .filter(|&i| {
            let around = &samples[i.saturating_sub(AROUND)..(i + AROUND + 1).min(samples.len())];
            // No farther from all of them than a spike is: then not from their median either.
            let own = samples[i].1.at;
            let off = |axis: usize| around.iter().fold(0.0_f64, |most, s| most.max((s.1.at[axis] - own[axis]).abs()));
            if off(0) + off(1) <= SPIKE {
                return true;
            }
            let middle = |axis: usize| median(around.iter().map(|s| s.1.at[axis]));
            let step = median(around.windows(2).map(|w| (w[1].1.at[0] - w[0].1.at[0]).hypot(w[1].1.at[1] - w[0].1.at[1])));
            // At the ends the median is of one side only, where a moving boat is farther from it.
            let lopsided = if i < AROUND || i + AROUND >= samples.len() { AROUND as f64 * step } else { 0.0 };
            let off = (samples[i].1.at[0] - middle(0)).hypot(samples[i].1.at[1] - middle(1));
            off <= SPIKE + 1.5 * step + lopsided
        })
        .map(|i| samples[i])
        .collect()
}

/// Median of up to nine numbers, held where no heap is asked.
fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut held = [0.0; 2 * AROUND + 1];
    let count = values.zip(&mut held).map(|(value, place)| *place = value).count();
    middle(&mut held[..count])
}
