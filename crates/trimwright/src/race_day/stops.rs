//! Where a coach boat stopped: places that may be buoys. `track` judges standing still; here a long stand becomes a place.

use jiff::tz::TimeZone;
use measure::Position;

use crate::outing::{Found, of_file};

/// Shortest stop that is offered, s: a buoy takes longer to lay. Assumed.
const SHORTEST: usize = 20;
/// Moves shorter than this between two stands are one stop, s. Assumed: an anchor line is paid out.
const BETWEEN: usize = 10;
/// The most stops that are offered.
const MOST: usize = 40;

/// A stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// The middle of it.
    pub at: Position,
    /// When it began, UTC seconds.
    pub start: i64,
    /// How long, s.
    pub seconds: usize,
}

/// The stops of a file's tracks, in their order; and why there are none.
///
/// # Errors
/// Why the file holds no track.
pub fn of_track(name: &str, bytes: &[u8], zone: Option<&TimeZone>) -> Result<Vec<Stop>, String> {
    let (found, said) = of_file(name, bytes, zone);
    if found.is_empty() {
        let reasons: Vec<String> = said.iter().map(ToString::to_string).collect();
        return Err(format!(
            "{name}: {}",
            if reasons.is_empty() { "it holds neither buoys nor a track".to_owned() } else { reasons.join("; ") }
        ));
    }
    Ok(found.iter().flat_map(of).take(MOST).collect())
}

fn of(found: &Found) -> Vec<Stop> {
    let smooth = &found.smooth;
    let mut stands: Vec<[usize; 2]> = Vec::new();
    for (i, _) in smooth.standing.iter().enumerate().filter(|(_, still)| **still) {
        match stands.last_mut() {
            Some(last) if i - last[1] <= BETWEEN => last[1] = i + 1,
            _ => stands.push([i, i + 1]),
        }
    }
    let long = stands.into_iter().filter(|[from, to]| to - from >= SHORTEST);
    long.map(|[from, to]| {
        let mean = |of: &[f64]| of[from..to].iter().sum::<f64>() / (to - from) as f64;
        Stop { at: found.plane.position(mean(&smooth.x), mean(&smooth.y)), start: smooth.start + from as i64, seconds: to - from }
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A coach boat at five knots that stands for a minute at three places, as CSV: those three are offered, within what its receiver knows.
    #[test]
    fn three_buoys_laid_are_three_stops() {
        const NEAR: f64 = 5.0;
        let plane = measure::LocalPlane::at(Position::degrees(54.6, -6.4).unwrap());
        let laid = [[0.0, 0.0], [0.0, 300.0], [-150.0, 150.0]];
        let mut text = String::from("time,lat,lon\n");
        let mut t = 0;
        let mut put = |x: f64, y: f64| {
            let p = plane.position(x, y);
            let at = jiff::Timestamp::from_second(1_781_000_000 + t).unwrap();
            t += 1;
            text += &format!("{at},{:.7},{:.7}\n", p.latitude(), p.longitude());
        };
        let mut from = [-100.0, -80.0];
        for to in laid {
            let far = f64::hypot(to[0] - from[0], to[1] - from[1]);
            let steps = (far / 2.6).ceil() as i32;
            (0..steps).for_each(|i| {
                let u = f64::from(i) / f64::from(steps);
                put(from[0] + u * (to[0] - from[0]), from[1] + u * (to[1] - from[1]));
            });
            (0..60).for_each(|_| put(to[0], to[1]));
            from = to;
        }
        (0..40).for_each(|i| put(from[0] - 2.6 * f64::from(i), from[1]));
        let stops = of_track("coach.csv", text.as_bytes(), None).unwrap();
        assert_eq!(stops.len(), 3, "{stops:?}");
        for (stop, at) in stops.iter().zip(laid) {
            let (distance, _) = plane.position(at[0], at[1]).to(stop.at);
            assert!(distance.si() < NEAR && (40..80).contains(&stop.seconds), "{stop:?}");
        }
        assert!(of_track("x.txt", b"nothing", None).is_err());
    }
}
