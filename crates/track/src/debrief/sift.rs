//! Which tracks take part: one from another place, or a second one of the same boat, would bend what all boats tell together.

use crate::clean::Smooth;
use crate::middle::middle;

/// Farther than this from the others is another water, m: the plane of the outing ends there too.
const ELSEWHERE: f64 = 20_000.0;
/// Two tracks this near each other, m, at nine moments in ten are one boat's: two recorders aboard, or two exports of one. Assumed.
const SAME: f64 = 1.2;
/// Moments compared, s apart, and the fewest that tell.
const EVERY: i64 = 15;
const FEWEST: usize = 6;
/// A boat that stayed within this, m, is told from no other by her place.
const MOVED: f64 = 60.0;
/// The most boats that are debriefed together: more is a mistake in what was named, and would take hours.
const MOST: usize = 300;

/// Empties the tracks that take no part, with the reason for each.
pub(super) fn sift(tracks: &mut [Smooth]) -> Vec<Option<String>> {
    let mut reasons: Vec<Option<String>> = vec![None; tracks.len()];
    let middles: Vec<[f64; 2]> = tracks.iter().map(|t| [middle(&mut t.x.clone()), middle(&mut t.y.clone())]).collect();
    let home = [0, 1].map(|axis| middle(&mut middles.iter().map(|m| m[axis]).collect::<Vec<_>>()));
    for i in 0..tracks.len() {
        let far = (middles[i][0] - home[0]).hypot(middles[i][1] - home[1]);
        reasons[i] = if i >= MOST {
            Some(format!("it is beyond the {MOST} tracks that are debriefed together: name fewer files"))
        } else if far > ELSEWHERE {
            Some(format!("it lies {:.0} km from the other tracks: another outing, left out", far / 1000.0))
        } else {
            (0..i)
                .find(|j| reasons[*j].is_none() && same(&tracks[*j], &tracks[i]))
                .map(|j| format!("it is the same boat's as {}: two recorders or two exports of one; left out", tracks[j].name))
        };
    }
    for (track, _) in tracks.iter_mut().zip(&reasons).filter(|(_, reason)| reason.is_some()) {
        for values in [&mut track.x, &mut track.y, &mut track.vx, &mut track.vy, &mut track.position_variance, &mut track.velocity_variance]
        {
            values.clear();
        }
        for flags in [&mut track.gap, &mut track.standing, &mut track.carried] {
            flags.clear();
        }
    }
    reasons
}

/// Whether two tracks were one boat's.
fn same(a: &Smooth, b: &Smooth) -> bool {
    let (from, to) = (a.start.max(b.start), a.end().min(b.end()));
    let places = |t: i64| Some((a.entry(t)?, b.entry(t)?));
    let moments: Vec<(usize, usize)> =
        (from..to).step_by(EVERY as usize).filter_map(places).filter(|(i, j)| !a.gap[*i] && !b.gap[*j]).collect();
    if moments.len() < FEWEST {
        return false;
    }
    let near = moments.iter().filter(|(i, j)| (a.x[*i] - b.x[*j]).hypot(a.y[*i] - b.y[*j]) < SAME).count();
    let (first, _) = moments[0];
    let moved = moments.iter().any(|(i, _)| (a.x[*i] - a.x[first]).hypot(a.y[*i] - a.y[first]) > MOVED);
    moved && near * 10 >= moments.len() * 9
}
