//! Figures by the clock: speed over the ground, and the part of it made good to windward or to leeward.

use super::{Anchor, INK, LEAST_TEXT, OUTLINE, Picture, Point, ROPE, SEAM};

/// Speed (solid) and speed made good (dashed) in knots by the share of the outing; clock times for the axis. Lines are cut where nothing is known.
#[must_use]
pub fn speeds(rows: &[(f64, f64, Option<f64>)], clock: &[(f64, String)], width: f64, alt: &str) -> Picture {
    const HEIGHT: f64 = 48.0;
    let (left, right, top, foot) = (10.0, width - 3.0, 3.0, HEIGHT - 8.0);
    let mut picture = Picture::new(width, HEIGHT, alt);
    let most = rows.iter().map(|r| r.1).fold(1.0_f64, f64::max).ceil();
    let step = if most > 8.0 {
        4.0
    } else if most > 4.0 {
        2.0
    } else {
        1.0
    };
    let y = |knots: f64| foot - (knots / most).clamp(0.0, 1.0) * (foot - top);
    let x = |share: f64| left + share.clamp(0.0, 1.0) * (right - left);
    let mut level = 0.0;
    while level <= most + 1e-9 {
        picture.line([(left, y(level)), (right, y(level))], "#c3ccc9", SEAM);
        picture.text((left - 2.0, y(level) + 1.2), LEAST_TEXT, Anchor::End, format!("{level:.0}"));
        level += step;
    }
    // A pause of two rows' time cuts a line.
    let usual = rows.windows(2).map(|w| w[1].0 - w[0].0).fold(f64::MAX, f64::min);
    for part in rows.chunk_by(|a, b| b.0 - a.0 <= 2.5 * usual) {
        picture.limb(part.iter().map(|r| (x(r.0), y(r.1))), INK, OUTLINE);
        for known in part.chunk_by(|a, b| a.2.is_some() == b.2.is_some()) {
            let good: Vec<Point> = known.iter().filter_map(|r| Some((x(r.0), y(r.2?.abs())))).collect();
            if good.len() > 1 {
                picture.dashed(good, INK, ROPE, 0.8);
            }
        }
    }
    picture.line([(left, foot), (right, foot)], INK, ROPE);
    for (share, words) in clock {
        picture.line([(x(*share), foot), (x(*share), foot + 1.4)], INK, ROPE);
        let anchor = if *share > 0.97 { Anchor::End } else { Anchor::Middle };
        picture.text((x(*share), foot + 5.6), LEAST_TEXT, anchor, words.clone());
    }
    picture
}
