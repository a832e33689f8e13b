//! What each boat's sailing shows of the wind: its strength by her speed on every leg, its direction by her course on a beat but for a
//! constant on each tack.

use super::told::{Noise, STEP};
use crate::fleet::Fleet;
use measure::angle::wrap;

/// Speeds are compared with the boat's own mean between these angles from the wind, rad, on each tack, and no further than this, as a log.
const SECTORS: [f64; 3] = [1.2, 1.75, 2.4];
const APART: f64 = 0.4;
/// Assumed: a helm and a small sea are forgotten within a quarter of a minute, a wind of her own within a minute. The count set on seeds 301 to
/// 304 by what they told.
pub(super) const STRENGTH: Noise = Noise { short: 10.0, long: 50.0, lasting: 0.5, count: 0.3 };

/// One boat's readings of the wind's strength, the log of her speed about her means in each sector, by second.
pub(super) fn strengths(fleet: &Fleet, boat: usize, angles: &[f64]) -> Vec<f64> {
    let b = &fleet.boats[boat];
    let steady = b.steady();
    let sector = |i: usize| {
        let side = if angles[i] > 0.0 { 0 } else { SECTORS.len() + 1 };
        steady[i].then(|| side + SECTORS.iter().take_while(|s| angles[i].abs() >= **s).count())
    };
    let sectors: Vec<Option<usize>> = (0..fleet.len).map(sector).collect();
    let logs: Vec<f64> = b.speed.iter().map(|v| v.max(0.05).ln()).collect();
    let mut read = vec![f64::NAN; fleet.len];
    let mut means = [[0.0; 2]; 2 * (SECTORS.len() + 1)];
    for i in 1..fleet.len.saturating_sub(STEP - 2) {
        let window = i - 1..i + STEP - 1;
        if let Some(sector) = sectors[i]
            && sectors[window.clone()].iter().all(|s| *s == Some(sector))
        {
            read[i] = logs[window].iter().sum::<f64>() / STEP as f64;
            means[sector] = [means[sector][0] + 1.0, means[sector][1] + read[i]];
        }
    }
    for (read, sector) in read.iter_mut().zip(&sectors) {
        if let Some(sector) = sector {
            *read = (*read - means[*sector][1] / means[*sector][0].max(1.0)).clamp(-APART, APART);
        }
    }
    read
}

/// Beats lie between these angles from the wind, rad, and readings no further than this from a boat's mean.
const BEATS: core::ops::Range<f64> = 0.35..1.2;
const ASIDE: f64 = 0.6;
/// Helms wander for some seconds; what lasts is taken for none, as the wind's own swings last too. Set on seeds 201 to 206 and 301 to 306 by what
/// they told.
pub(super) const DIRECTION: Noise = Noise { short: 5.0, long: 60.0, lasting: 0.0, count: 0.2 };

/// One boat's readings of the wind's direction about their mean, rad, by second; `axis` is about where the wind comes from.
pub(super) fn directions(fleet: &Fleet, axis: f64, boat: usize, angles: &[f64]) -> Vec<f64> {
    let b = &fleet.boats[boat];
    let steady = b.steady();
    let side = |i: usize| (steady[i] && BEATS.contains(&angles[i].abs())).then_some(usize::from(angles[i] > 0.0));
    let sides: Vec<Option<usize>> = (0..fleet.len).map(side).collect();
    let courses: Vec<f64> = b.course.iter().map(|c| wrap(c - axis)).collect();
    let mut read = vec![f64::NAN; fleet.len];
    let mut means = [[0.0; 2]; 2];
    for i in 1..fleet.len.saturating_sub(STEP - 2) {
        let window = i - 1..i + STEP - 1;
        if let Some(side) = sides[i]
            && sides[window.clone()].iter().all(|s| *s == Some(side))
        {
            read[i] = courses[window.clone()].iter().sum::<f64>() / STEP as f64;
            means[side] = [means[side][0] + 1.0, means[side][1] + angles[window].iter().sum::<f64>() / STEP as f64];
        }
    }
    // The wind that is in the angles cancels in each tack's mean.
    for (read, side) in read.iter_mut().zip(&sides) {
        *read += side.map_or(0.0, |side| means[side][1] / means[side][0].max(1.0));
    }
    let (sum, count) = read.iter().filter(|r| r.is_finite()).fold((0.0, 0.0), |s, r| (s.0 + r, s.1 + 1.0));
    read.iter_mut().for_each(|r| *r = (*r - sum / f64::max(count, 1.0)).clamp(-ASIDE, ASIDE));
    read
}
