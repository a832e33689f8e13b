//! The current across the wind: with it abeam, boats on one tack sail faster over the ground than on the other.
//!
//! `log v = own - s (c0 + c1 t) sin(up) / v` on beats, by least squares with Huber's weights (1964). The part along the wind is not
//! estimated: it cannot be told from boat speed and wind speed.

use super::fine::Fine;
use super::look::Looks;
use measure::angle::wrap;
use nalgebra::{Matrix2, Vector2};

/// A current across the wind, to the right of a person facing the wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Across {
    /// m/s at the middle of the outing, and its change from the outing's start to its end.
    pub(crate) middle: f64,
    pub(crate) change: f64,
    /// Standard deviation of the middle value, m/s.
    pub(crate) sd: f64,
    /// Whether it is told from none.
    pub(crate) told: bool,
}

/// Told from none only with this chi-square and size at the middle of the outing (m/s): gusts that favour one tack early and the other
/// late look like a change. From the study of methods.
const SURE: f64 = 25.0;
const LEAST: f64 = 0.10;
/// Residual beyond which a look counts less, in log speed.
const HUBER: f64 = 0.12;

/// The current across the wind; none without beats on both tacks.
pub(crate) fn across(looks: &Looks, fine: &Fine, boats: usize) -> Option<Across> {
    let blocks = looks.blocks().max(1) as f64;
    let rows: Vec<(usize, f64, [f64; 2])> = looks
        .all
        .iter()
        .enumerate()
        .filter(|(i, l)| fine.beat[*i] > 0.5 && l.settled && l.change < 0.2)
        .map(|(_, l)| {
            let tau = wrap(fine.direction[l.block] - l.course);
            let a = -tau.signum() * fine.up.sin() / l.speed.max(0.3);
            (l.boat, l.speed.max(0.05).ln(), [a, a * (l.block as f64 / blocks - 0.5)])
        })
        .collect();
    let sides = |positive: bool| rows.iter().filter(|r| (r.2[0] > 0.0) == positive).count();
    if sides(true) < 15 || sides(false) < 15 {
        return None;
    }
    let mut weight = vec![1.0; rows.len()];
    let mut found = (Vector2::zeros(), Matrix2::identity());
    for _ in 0..4 {
        // Each boat's own speed is projected out.
        let mut means = vec![[0.0; 4]; boats];
        for (r, w) in rows.iter().zip(&weight) {
            let m = &mut means[r.0];
            *m = [m[0] + w, m[1] + w * r.1, m[2] + w * r.2[0], m[3] + w * r.2[1]];
        }
        let centred = |r: &(usize, f64, [f64; 2])| {
            let m = &means[r.0];
            let n = m[0].max(1e-9);
            (r.1 - m[1] / n, Vector2::new(r.2[0] - m[2] / n, r.2[1] - m[3] / n))
        };
        // A current seldom changes by more than it is: a weak prior of 0.3 m/s on both.
        let (mut normal, mut right) = (Matrix2::identity() * 0.02, Vector2::zeros());
        for (r, w) in rows.iter().zip(&weight) {
            let (y, a) = centred(r);
            normal += a * a.transpose() * *w;
            right += a * (y * w);
        }
        let inverse = normal.try_inverse()?;
        let c = inverse * right;
        let (mut square, mut lagged, mut pairs, mut last) = (0.0, 0.0, 0.0, vec![None; boats]);
        for (r, w) in rows.iter().zip(&mut weight) {
            let (y, a) = centred(r);
            let miss = y - a.dot(&c);
            *w = (HUBER / miss.abs().max(1e-9)).min(1.0);
            let small = miss.clamp(-HUBER, HUBER);
            square += small * small;
            if let Some(before) = last[r.0].replace(small) {
                lagged += small * before;
                pairs += 1.0;
            }
        }
        let n = rows.len() as f64;
        let variance = square / (n - boats as f64 - 2.0).max(5.0);
        // Gusts and trim last over several looks.
        let like = (lagged / f64::max(pairs, 1.0) / (square / n).max(1e-9)).clamp(0.0, 0.85);
        let inflated = ((1.0 + like) / (1.0 - like)).max(3.0);
        found = (c, inverse * variance * inflated);
    }
    let (c, covariance) = found;
    let chi = covariance.try_inverse().map_or(0.0, |i| (c.transpose() * i * c)[0]);
    let told = chi > SURE && c[0].abs() > LEAST && c[0].is_finite() && c[0].abs() < 1.5;
    Some(Across { middle: c[0], change: c[1], sd: 1.3 * covariance[(0, 0)].max(0.0).sqrt(), told })
}
